"""Analyses that need no listening: beats or a tempo map are given."""

from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from composer.audio.analysis import ENVELOPE_HZ, Alternative, Analysis, Confidence
from composer.audio.bars import meter_map_of
from composer.audio.even_grid import robust_line
from composer.timing.grid import MusicGrid
from composer.timing.meter import FOUR_FOUR, Meter
from composer.timing.tempo_map import Knot, TempoMap

EVEN_S = 0.010
"""Beats this close to one even grid are taken to be even; lists are often rounded to 10 ms."""


def analysis_of_grid(grid: MusicGrid, duration_s: float) -> Analysis:
    """The analysis that says exactly what a grid says, with full confidence."""
    beats = np.arange(0, float(grid.end_beat))
    beats_s = grid.tempo_map.seconds_of(beats)
    downs = [int(b) for b in beats if grid.meter_map.is_downbeat(Fraction(int(b)))]
    phrase_s = [grid.tempo_map.seconds(p.start_beat) for p in grid.phrases]
    bpm = float(60 / np.median(np.diff(beats_s))) if len(beats_s) > 1 else 120.0
    silent = np.zeros(int(duration_s * ENVELOPE_HZ), np.float32)
    return Analysis(
        grid=grid,
        beats_s=beats_s,
        downbeats_s=grid.tempo_map.seconds_of(downs),
        boundaries_s=np.array(phrase_s[1:]),
        bpm=bpm,
        steady=grid.tempo_map.is_steady,
        residual_ms=0.0,
        confidence=Confidence(1.0, 1.0, 1.0 if phrase_s else 0.0),
        alternatives=(Alternative(2 * bpm, "double", 0.0), Alternative(bpm / 2, "half", 0.0)),
        beat_confidence=np.ones(len(beats_s), np.float32),
        loudness_db=silent,
        onset_strength=silent,
        duration_s=duration_s,
        notes=("beats were given, not heard",),
    )


def grid_of_beats(beats_s: NDArray[np.float64], positions: list[int]) -> MusicGrid:
    """A grid from beat times and their places in the bar (1 is the downbeat, 0 unknown).

    Raises
    ------
    ValueError
        If there are under two beats or they do not rise.
    """
    if len(beats_s) < 2 or np.any(np.diff(beats_s) <= 0):
        raise ValueError("at least two beats are needed, each later than the one before")
    downs = [i for i, position in enumerate(positions) if position == 1] or [0]
    lengths = np.diff(downs)
    usual = int(np.bincount(lengths).argmax()) if len(lengths) else 4
    meter = Meter(usual, 4) if 1 <= usual <= 32 else FOUR_FOUR
    zero = downs[0]
    index = np.arange(len(beats_s), dtype=float)
    period, start = robust_line(index, beats_s, np.ones(len(beats_s)))
    even = bool(np.max(np.abs(beats_s - start - period * index)) < EVEN_S)
    at = [0, len(beats_s) - 1] if even else range(len(beats_s))
    times = start + period * index if even else beats_s
    knots = tuple(Knot(Fraction(i - zero), float(times[i])) for i in at)
    bars = [d - zero for d in downs if d >= zero]
    return MusicGrid(
        TempoMap(knots), Fraction(max(1, len(beats_s) - zero)), meter_map_of(bars, meter)
    )
