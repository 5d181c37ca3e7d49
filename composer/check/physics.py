"""Whether arm and prop can do a move at the tempo of its stretch."""

from collections.abc import Mapping
from fractions import Fraction

import numpy as np

from composer.check.demands import HandDemand, demands
from composer.check.findings import Level
from composer.check.limits import Limit, limits_for
from composer.check.performed import Performed
from composer.motion.hands import Hand
from composer.score.routine import Performer
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid


def demands_in(
    done: Performed, performer: Performer, span: BeatSpan, rate: Fraction, grid: MusicGrid
) -> Mapping[Hand, HandDemand]:
    """What the move asks of each hand at a rate in a stretch of the music."""
    shortest_s, longest_s = beat_lengths_s(span, grid)
    cycle = float(done.performance.cycle_beats(rate))
    return demands(done, performer.body, performer.props, cycle * shortest_s, cycle * longest_s)


def is_possible(
    done: Performed,
    performer: Performer,
    span: BeatSpan,
    rate: Fraction,
    grid: MusicGrid,
    limits: Mapping[str, Limit] | None = None,
) -> bool:
    """Whether nothing the move asks of arm or prop there reaches a warning."""
    table = limits or limits_for(performer)
    return all(
        not table[figure.limit].passed(Level.WARNING, figure.measured)
        for demand in demands_in(done, performer, span, rate, grid).values()
        for figure in demand.figures()
    )


def beat_lengths_s(span: BeatSpan, grid: MusicGrid) -> tuple[float, float]:
    """Shortest and longest beat of a stretch, in seconds."""
    if grid.tempo_map.is_steady:
        beat_s = 60 / grid.tempo_map.bpm_at(span.start_beat)
        return beat_s, beat_s
    knots = grid.tempo_map.knots
    start, end = float(span.start_beat), float(span.end_beat)
    known = np.clip([start, end], float(knots[0].beat) - 1, float(knots[-1].beat) + 1)
    edges = np.unique(np.concatenate([[start, end], np.arange(*known), known]))
    lengths = np.diff(grid.tempo_map.seconds_of(edges)) / np.diff(edges)
    return float(lengths.min()), float(lengths.max())
