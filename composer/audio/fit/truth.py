"""Music with its truth, as folders of sound files with beats and phrases beside them.

FOLDER/TRACK.flac (or .wav, .ogg), TRACK.beats.txt (seconds, tab, place in the bar, 1 the
downbeat) and, where phrases are known, TRACK.segments.txt (start, tab, end, tab, label) and
perhaps a second reading of them, TRACK.segments2.txt.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Doubles = NDArray[np.float64]

SOUND_SUFFIXES = (".flac", ".wav", ".ogg")


@dataclass(frozen=True)
class Truth:
    """What is known about a track, in seconds."""

    beats_s: Doubles
    downbeats_s: Doubles
    """Empty where the bars are not known."""
    phrases_s: tuple[Doubles, ...]
    """For each reading of the phrases, where they begin and where the last one ends."""


def tracks_in(folder: Path) -> list[Path]:
    """The sound files of a folder that have their beats beside them, by name."""
    return sorted(
        path
        for path in folder.iterdir()
        if path.suffix in SOUND_SUFFIXES and path.with_suffix(".beats.txt").exists()
    )


def truth_of(path: Path) -> Truth:
    rows = _numbers(path.with_suffix(".beats.txt"), 2)
    spans = [
        _numbers(path.with_suffix(suffix), 2)
        for suffix in (".segments.txt", ".segments2.txt")
        if path.with_suffix(suffix).exists()
    ]
    return Truth(
        rows[:, 0], rows[rows[:, 1] == 1, 0], tuple(np.unique(span) for span in spans if len(span))
    )


def _numbers(path: Path, columns: int) -> Doubles:
    lines = path.read_text(encoding="utf-8").splitlines()
    rows = [line.split("\t")[:columns] for line in lines if line.strip()]
    return np.array(rows, float).reshape(-1, columns)
