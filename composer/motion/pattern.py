"""One hand's pattern: where the hand goes and how the head turns about it, exact in angle and time.

A pattern is a closed list of segments. Each takes an exact share of the cycle, moves the hand along
a path (hold, arc or line) and turns the head (spin or swing). Lengths are metres; angles are exact
turns, 0 = +x (the performer's right in the wall plane), counter-clockwise positive, down = 3/4.
Positions in the plane are complex numbers, across + up i.
"""

import itertools
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import isfinite
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from composer.motion.passes import is_at_rest, passes, tether_at
from composer.motion.segment import (
    DOWN,
    TAU,
    UP,
    Arc,
    Complexes,
    Floats,
    HandPath,
    HeadMotion,
    Hold,
    Line,
    Segment,
    Side,
    Spin,
    Swing,
    carries_on,
    check_path,
    unit,
)

__all__ = [
    "DOWN",
    "TAU",
    "UP",
    "Arc",
    "Complexes",
    "Floats",
    "HandPath",
    "HeadMotion",
    "Hold",
    "Line",
    "Motion",
    "Pattern",
    "Segment",
    "Side",
    "Spin",
    "Swing",
    "TetherPass",
    "assemble",
    "instant",
    "motion_at",
    "segment_motion",
    "unit",
]


@dataclass(frozen=True)
class Pattern:
    """A closed cycle of one hand and one prop in one plane.

    Raises
    ------
    ValueError
        If the shares do not add up to 1, a length is not finite and positive, or a radius is
        negative.
    """

    segments: tuple[Segment, ...]
    tether_m: float

    def __post_init__(self) -> None:
        if not (isfinite(self.tether_m) and self.tether_m > 0):
            raise ValueError(f"a tether must have a positive length, got {self.tether_m} m")
        if not self.segments:
            raise ValueError("a pattern needs at least one segment")
        if any(segment.share <= 0 for segment in self.segments):
            raise ValueError("every segment takes a positive share of the cycle")
        total = sum((segment.share for segment in self.segments), Fraction(0))
        if total != 1:
            raise ValueError(f"the shares of the segments must add up to 1, got {total}")
        for segment in self.segments:
            check_path(segment.hand)

    @cached_property
    def starts(self) -> tuple[Fraction, ...]:
        """Phase at which each segment begins."""
        starts = [Fraction(0)]
        for segment in self.segments[:-1]:
            starts.append(starts[-1] + segment.share)
        return tuple(starts)

    @cached_property
    def hand_turns(self) -> Fraction:
        """Net turns of the hand along its arcs in one cycle, signed."""
        arcs = (s.hand.turns for s in self.segments if isinstance(s.hand, Arc))
        return sum(arcs, Fraction(0))

    @cached_property
    def head_turns(self) -> Fraction:
        """Net turns of the head in the room in one cycle, signed; swings that return add 0."""
        spins = (s.head.turns for s in self.segments if isinstance(s.head, Spin))
        return sum(spins, Fraction(0))

    @cached_property
    def downbeats(self) -> tuple[Fraction, ...]:
        """Phases in [0, 1), rising, at which the tether points straight down while turning.

        Exact wherever the instant is rational; see :meth:`tether_passes`.
        """
        return tuple(sorted({found.phase for found in self.tether_passes(DOWN)}))

    def tether_passes(self, direction: Fraction) -> "tuple[TetherPass, ...]":
        """When in one cycle, and in which sense, the tether points in a direction while turning.

        A tether that turns to the direction and rests there passes it once, on arriving.
        Exact in a spin. In a swing the instant is rational only for sines 0, 1/2 and 1 (Niven's
        theorem); other instants are given to 1e-12 of the segment.
        """
        return self._down_passes if direction == DOWN else self._passes(direction)

    @cached_property
    def _down_passes(self) -> "tuple[TetherPass, ...]":
        """Kept: whatever sets hands against each other and counts beats begins with these."""
        return self._passes(DOWN)

    def _passes(self, direction: Fraction) -> "tuple[TetherPass, ...]":
        found: list[TetherPass] = []
        for index, (start, segment) in enumerate(zip(self.starts, self.segments, strict=True)):
            before = self.segments[index - 1].head
            if is_at_rest(segment.head) and not is_at_rest(before):
                place, _ = tether_at(segment.head, Fraction(0))
                if (place - direction) % 1 == 0:
                    found.append(TetherPass(start, tether_at(before, Fraction(1))[1]))
            for passed, sense in passes(segment.head, direction):
                if passed > 0 or not is_at_rest(before):
                    found.append(TetherPass(start + segment.share * passed, sense))
        return tuple(sorted(found, key=lambda one: one.phase))

    def tether_at(self, phase: Fraction) -> tuple[Fraction, int]:
        """Direction of the tether in turns, and the sense it turns in: +1, -1, or 0 at rest.

        At a joint the later segment holds.
        """
        phase = phase % 1
        index = bisect_right(self.starts, phase) - 1
        segment = self.segments[index]
        return tether_at(segment.head, (phase - self.starts[index]) / segment.share)

    @cached_property
    def is_one_rule(self) -> bool:
        """Whether one hand path and one head motion hold all through, however it may be cut."""
        return all(carries_on(one, two) for one, two in itertools.pairwise(self.segments))


@dataclass(frozen=True, slots=True)
class TetherPass:
    """An instant at which the tether points in a direction that was asked for."""

    phase: Fraction
    sense: int
    """+1 turning counter-clockwise, -1 clockwise, 0 at the turning point of a swing."""


@dataclass(frozen=True, slots=True)
class Motion:
    """A pattern at some instants: complex (across + up i) metres, m/s, m/s^2; tether in turns.

    ``tether_turns`` is the tether's direction from hand to head, not wrapped; ``tether_rate`` and
    ``tether_acceleration`` are in turns/s and turns/s^2.
    """

    hand_m: Complexes
    hand_velocity: Complexes
    hand_acceleration: Complexes
    tether_turns: Floats
    tether_rate: Floats
    tether_acceleration: Floats
    head_m: Complexes
    head_velocity: Complexes
    head_acceleration: Complexes


def motion_at(
    pattern: Pattern, phase: ArrayLike, *, cycle_s: float = 1.0, side: Side = "after"
) -> Motion:
    """Hand and head at any phases of the cycle, with analytic velocities and accelerations.

    Parameters
    ----------
    phase : array_like, shape=(n,)
        Cycles passed since the start; wrapped into one cycle.
    cycle_s : float
        Seconds a cycle lasts; with 1.0 the rates are per cycle.
    side : "after" or "before"
        Which limit to take at a joint: of the segment that begins there, or of the one that ends.

    Raises
    ------
    ValueError
        If ``phase`` is not one-dimensional and finite or ``cycle_s`` is not positive.

    Notes
    -----
    head = hand + L e^(2 pi i theta); its derivatives follow by the chain rule.
    """
    phases = np.atleast_1d(np.asarray(phase, dtype=float))
    if phases.ndim != 1 or not np.isfinite(phases).all():
        raise ValueError("phase must be one-dimensional and finite")
    _check_length(cycle_s)
    wrapped = phases - np.floor(phases)
    if side == "before":
        wrapped[wrapped == 0] = 1.0
    if len(pattern.segments) == 1:
        hand, tether = _at_tempo(pattern.segments[0], wrapped, cycle_s)
        return assemble(hand, tether, pattern.tether_m)
    starts = np.array([float(start) for start in pattern.starts])
    which = np.searchsorted(starts, wrapped, side="left" if side == "before" else "right") - 1
    hands = np.empty((3, len(wrapped)), dtype=complex)
    tethers = np.empty((3, len(wrapped)))
    for index, segment in enumerate(pattern.segments):
        here = which == index
        if here.any():
            passed = (wrapped[here] - starts[index]) / float(segment.share)
            hands[:, here], tethers[:, here] = _at_tempo(segment, passed, cycle_s)
    return assemble(hands, tethers, pattern.tether_m)


def instant(
    pattern: Pattern, phase: Fraction, *, cycle_s: float = 1.0, side: Side = "after"
) -> tuple[tuple[complex, complex, complex], tuple[float, float, float]]:
    """Hand (m, m/s, m/s^2) and tether (turns, turns/s, turns/s^2) at one exact phase.

    The same as :func:`motion_at` gives there, many times as quick.

    Raises
    ------
    ValueError
        If ``cycle_s`` is not positive.
    """
    _check_length(cycle_s)
    wrapped = phase % 1
    if side == "before" and wrapped == 0:
        wrapped = Fraction(1)
    pick = bisect_left if side == "before" else bisect_right
    index = pick(pattern.starts, wrapped) - 1
    segment = pattern.segments[index]
    passed = np.float64(float((wrapped - pattern.starts[index]) / segment.share))
    hand, tether = _at_tempo(segment, passed, cycle_s)
    place, velocity, acceleration = (complex(value) for value in hand)
    turns, rate, change = (float(value) for value in tether)
    return (place, velocity, acceleration), (turns, rate, change)


def _check_length(cycle_s: float) -> None:
    if not (isfinite(cycle_s) and cycle_s > 0):
        raise ValueError(f"a cycle lasts a positive time, got {cycle_s} s")


def segment_motion(
    pattern: Pattern, index: int, passed: ArrayLike, *, cycle_s: float = 1.0
) -> Motion:
    """:func:`motion_at` within one segment, by the share of it passed, ends included."""
    shares = np.atleast_1d(np.asarray(passed, dtype=float))
    hand, tether = _at_tempo(pattern.segments[index], shares, cycle_s)
    return assemble(hand, tether, pattern.tether_m)


_Passed: TypeAlias = Floats | np.float64
"""Shares of a segment that have passed: many, or one."""
_Rates: TypeAlias = tuple[Any, Any, Any]
"""A value and its first two derivatives, shaped as what has passed; complex of a hand."""


def _at_tempo(segment: Segment, passed: _Passed, cycle_s: float) -> tuple[_Rates, _Rates]:
    """Hand and tether, each with two derivatives in seconds; shaped as what has passed."""
    pace = 1.0 / (float(segment.share) * cycle_s)
    place, velocity, acceleration = _hand_path(segment.hand, passed)
    turns, rate, change = _head_motion(segment.head, passed)
    if pace == 1.0:
        return (place, velocity, acceleration), (turns, rate, change)
    square = pace**2
    return (place, velocity * pace, acceleration * square), (turns, rate * pace, change * square)


def assemble(
    hand: Sequence[Complexes] | Complexes, tether: Sequence[Floats] | Floats, tether_m: float
) -> Motion:
    """Chain rule from hand (position, velocity, acceleration) and tether angle (same, in turns)."""
    turns, rate, acceleration = tether
    arm = tether_m * unit(turns)
    omega, alpha = TAU * rate, TAU * acceleration
    return Motion(
        hand_m=hand[0],
        hand_velocity=hand[1],
        hand_acceleration=hand[2],
        tether_turns=turns,
        tether_rate=rate,
        tether_acceleration=acceleration,
        head_m=hand[0] + arm,
        head_velocity=hand[1] + 1j * omega * arm,
        head_acceleration=hand[2] + (1j * alpha - omega**2) * arm,
    )


def _hand_path(path: HandPath, passed: _Passed) -> _Rates:
    """Position and its first two derivatives by share passed."""
    zero = passed * 0j
    match path:
        case Hold(at_m=place):
            return zero + place, zero, zero
        case Arc(centre_m=centre, radius_m=radius, start_turns=start, turns=turns):
            spoke = unit(float(start) + float(turns) * passed) * radius
            pace = 1j * TAU * float(turns)
            velocity = spoke * pace
            return spoke + centre, velocity, velocity * pace
        case Line(start_m=start_m, end_m=end_m, eased=False):
            way = end_m - start_m
            return start_m + way * passed, zero + way, zero
        case Line(start_m=start_m, end_m=end_m, part=(begin, finish)):
            way, pace = end_m - start_m, np.pi * float(finish - begin)
            angle = np.pi * float(begin) + pace * passed
            cosine, sine = np.cos(angle), np.sin(angle)
            half = way / 2
            return start_m + half * (1 - cosine), half * pace * sine, half * pace**2 * cosine


def _head_motion(head: HeadMotion, passed: _Passed) -> _Rates:
    """Tether direction in turns and its first two derivatives by share passed."""
    zero = passed * 0.0
    if isinstance(head, Spin):
        turns = float(head.turns)
        return float(head.start_turns) + turns * passed, zero + turns, zero
    reach, pace = float(head.amplitude_turns), TAU * float(head.cycles)
    angle = TAU * (float(head.start) + float(head.cycles) * passed)
    swing = reach * np.sin(angle)
    return (
        float(head.about_turns) + swing,
        reach * pace * np.cos(angle),
        swing * -(pace**2),
    )
