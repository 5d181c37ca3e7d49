"""A collection of folk tunes in ABC, kept as one file of notes for ``practice_airs`` to play.

Tunes that music for judging may hold are left out, whatever their title there.
"""

import json
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np

from composer.audio.fit.abc_tune import Air, Irregular, Note, Part, air_of, pitches_of

TICKS_PER_QUARTER = 480
RUN_STEPS, SHARE_OF_RUNS = 10, 0.09
"""Two tunes are one when they share more of their runs of melody steps than that."""
WORDS_OF_A_SETTING = re.compile(r"\b(the|an?|\d*(st|nd|rd|th)?|first|second|third|setting|no)\b")

Run = tuple[int, ...]


def tunes_of(text: str) -> list[str]:
    """The text of each tune of an ABC file."""
    return ["X:" + tune for tune in re.split(r"(?m)^X:", text)[1:]]


def _tunes_in(folder: Path) -> Iterator[str]:
    for path in sorted(folder.glob("*.abc")):
        yield from tunes_of(path.read_text(encoding="utf-8", errors="replace"))


def plain_title(title: str) -> str:
    """A title as it may be compared: no articles, kinds, settings or signs."""
    title = re.split(r" -- |\(", title.lower())[0]
    return re.sub(r"[^a-z]", "", WORDS_OF_A_SETTING.sub("", title))


def titles_of(tune: str) -> list[str]:
    return re.findall(r"(?m)^T:(.*)$", tune)


def runs_of(tune: str) -> set[Run]:
    """All runs of so many melody steps in a row, in semitones: the same in every key."""
    steps = np.diff(pitches_of(tune)).tolist()
    return {tuple(steps[k : k + RUN_STEPS]) for k in range(len(steps) - RUN_STEPS + 1)}


@dataclass(frozen=True)
class Known:
    """Tunes that are not to be learnt: their plain titles, and who has a run of intervals."""

    titles: set[str]
    tunes_with: dict[Run, set[int]]

    def has(self, tune: str) -> bool:
        """Whether a tune is known by its title, or by its melody under whatever title and key."""
        if {plain_title(title) for title in titles_of(tune)} & self.titles:
            return True
        runs = runs_of(tune)
        met = Counter(number for run in runs for number in self.tunes_with.get(run, ()))
        return max(met.values(), default=0) > SHARE_OF_RUNS * len(runs)


def known_in(folders: Iterable[Path]) -> Known:
    """All tunes in folders of ABC files."""
    tunes = [tune for folder in folders for tune in _tunes_in(folder)]
    titles = {plain_title(title) for tune in tunes for title in titles_of(tune)} - {""}
    tunes_with: dict[Run, set[int]] = {}
    for number, tune in enumerate(tunes):
        for run in runs_of(tune):
            tunes_with.setdefault(run, set()).add(number)
    return Known(titles, tunes_with)


def gather(folder: Path, without: Iterable[Path], into: Path) -> Counter[tuple[str, str]]:
    """Leave the tunes of a folder of ABC files in one JSON file.

    Tunes that occur in a folder of ``without``, by title or by melody, are left out.

    Returns
    -------
    Counter
        Of (metre, "kept" or why the tune was dropped).
    """
    known = known_in(without)
    counts: Counter[tuple[str, str]] = Counter()
    airs = []
    for tune in _tunes_in(folder):
        fate = "known elsewhere"
        if not known.has(tune):
            try:
                airs.append(air_of(tune))
                fate = "kept"
            except Irregular as reason:
                fate = str(reason)
        metre = re.search(r"(?m)^M:\s*(\S+)", tune)
        counts[metre[1] if metre else "", fate] += 1
    into.write_text(json.dumps([_plain(air) for air in airs], separators=(",", ":")) + "\n")
    return counts


def _plain(air: Air) -> dict[str, object]:
    parts = [
        {
            "pickup": _ticks(part.pickup),
            "bars": part.bars,
            "notes": [[_ticks(n.start), _ticks(n.length), n.pitch] for n in part.notes],
        }
        for part in air.parts
    ]
    kept = {"title": air.title, "metre": air.metre, "tonic": air.tonic, "sharps": air.sharps}
    return {**kept, "parts": parts, "order": list(air.order)}


def _ticks(quarters: Fraction) -> int:
    return round(quarters * TICKS_PER_QUARTER)


def read_airs(path: Path) -> list[Air]:
    """The tunes of a file that ``gather`` left."""
    return [
        Air(
            tune["title"],
            tune["metre"],
            tune["tonic"],
            tune["sharps"],
            tuple(
                Part(
                    Fraction(part["pickup"], TICKS_PER_QUARTER),
                    part["bars"],
                    tuple(
                        Note(
                            Fraction(start, TICKS_PER_QUARTER),
                            Fraction(length, TICKS_PER_QUARTER),
                            pitch,
                        )
                        for start, length, pitch in part["notes"]
                    ),
                )
                for part in tune["parts"]
            ),
            tuple(tune["order"]),
        )
        for tune in json.loads(path.read_text(encoding="utf-8"))
    ]
