"""Hand and head in motion: places, speeds and accelerations of a pattern at any instants.

The numbers behind the exact patterns. Lengths are metres, angles turns, positions in the plane
complex numbers, across + up i.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import isfinite
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from composer.motion.hands import HandTrack
from composer.motion.pattern import (
    TAU,
    Arc,
    HandPath,
    HeadMotion,
    Hold,
    Line,
    Pattern,
    Segment,
    Side,
    Spin,
)

Floats: TypeAlias = NDArray[np.float64]
Complexes: TypeAlias = NDArray[np.complex128]


def unit(turns: ArrayLike) -> Complexes:
    """Unit vectors e^(2 pi i turns), any shape."""
    angle = TAU * np.asarray(turns, dtype=float)
    vectors = np.empty(angle.shape, dtype=complex)  # twice as quick as a complex exponential
    vectors.real, vectors.imag = np.cos(angle), np.sin(angle)
    return vectors


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


def track_motion(
    track: HandTrack, passed: ArrayLike, *, cycle_s: float = 1.0, side: Side = "after"
) -> Motion:
    """Hand and head of a track after shares of the common cycle, which lasts ``cycle_s``."""
    phases = float(track.offset) + track.cycles * np.atleast_1d(np.asarray(passed, dtype=float))
    return motion_at(track.pattern, phases, cycle_s=cycle_s / track.cycles, side=side)


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
