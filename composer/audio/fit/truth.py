"""Music with its truth, as folders of sound files with beats and phrases beside them.

FOLDER/TRACK.flac (or .wav, .ogg), TRACK.beats.txt (seconds, tab, place in the bar, 1 the
downbeat) and, where phrases are known, TRACK.segments.txt (start, tab, end, tab, label) and
perhaps a second reading of them, TRACK.segments2.txt.
"""

from collections.abc import Iterable
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


def write_track(
    samples: NDArray[np.float32],
    rate_hz: int,
    beats: Iterable[tuple[float, int]],
    phrases_s: Iterable[tuple[float, float]],
    stem: Path,
) -> None:
    """STEM.flac, its beats (seconds, place in the bar) and its phrases (start, end), if any.

    Samples beyond full scale are turned down.
    """
    import soundfile

    lines = [f"{time_s:.6f}\t{place}\n" for time_s, place in beats]
    spans = [f"{start_s:.6f}\t{end_s:.6f}\tphrase\n" for start_s, end_s in phrases_s]
    stem.with_suffix(".beats.txt").write_text("".join(lines), encoding="utf-8")
    if spans:
        stem.with_suffix(".segments.txt").write_text("".join(spans), encoding="utf-8")
    loudest = max(1.0, float(np.abs(samples).max(initial=0.0)))
    soundfile.write(stem.with_suffix(".flac"), samples / loudest, rate_hz)


def _numbers(path: Path, columns: int) -> Doubles:
    lines = path.read_text(encoding="utf-8").splitlines()
    rows = [line.split("\t")[:columns] for line in lines if line.strip()]
    return np.array(rows, float).reshape(-1, columns)
