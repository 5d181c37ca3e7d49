"""Measures of any pattern, simple or assembled from parts: lengths, areas, speeds and when.

Closed forms of the simple family stand in ``trochoid``; these integrate or search and agree with
them. All speeds and accelerations are from analytic derivatives.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Literal, TypeAlias

import numpy as np

from composer.motion.kinematics import Complexes, Floats, Motion, motion_at, segment_motion
from composer.motion.pattern import Pattern
from composer.motion.quadrature import integral
from composer.motion.search import local_peaks
from composer.motion.trochoid import SAME_M, trochoid_of

Point: TypeAlias = Literal["hand", "head"]


@dataclass(frozen=True, slots=True)
class AtPhase:
    """A value and the phase of the cycle at which it is reached."""

    value: float
    phase: float


# ------------------------------------------------------------------ the drawn figure


def path_length_m(pattern: Pattern, point: Point = "head") -> float:
    """Way of the head (or hand) in one cycle, to 1e-9 m."""
    return integral(
        lambda phase: np.abs(_velocity(motion_at(pattern, phase), point)), _edges(pattern)
    )


def signed_area_m2(pattern: Pattern, point: Point = "head") -> float:
    """Area the head (or hand) goes round in one cycle, counter-clockwise positive.

    Green's theorem: half the integral of x dy - y dx; a part gone round twice counts twice.
    """

    def swept(phase: Floats) -> Floats:
        motion = motion_at(pattern, phase)
        return np.asarray(np.imag(np.conj(_place(motion, point)) * _velocity(motion, point)) / 2)

    return integral(swept, _edges(pattern))


def winding_number(pattern: Pattern, about_m: complex = 0j, point: Point = "head") -> int | None:
    """Turns about a place in one cycle, counter-clockwise positive; None if it runs through it."""
    places = _place(_dense(pattern), point) - about_m
    if nearest_to_m(pattern, about_m, point).value < 1e-9:
        return None
    angles = np.angle(np.append(places[1:], places[0]) / places)
    return round(float(np.sum(angles)) / (2 * np.pi))


def turning_number(pattern: Pattern, point: Point = "head") -> int | None:
    """Turns of the heading in one cycle, corners by the smaller angle; None if it ever stops."""
    if slowest(pattern, point).value < 1e-6:
        return None
    total = 0.0
    last: complex | None = None
    for index in range(len(pattern.segments)):
        passed = np.linspace(0.0, 1.0, samples(pattern, index))
        velocity = _velocity(segment_motion(pattern, index, passed), point)
        if last is not None:
            total += float(np.angle(velocity[0] / last))
        total += float(np.sum(np.angle(velocity[1:] / velocity[:-1])))
        last = complex(velocity[-1])
    first = _velocity(segment_motion(pattern, 0, [0.0]), point)[0]
    return round((total + float(np.angle(first / last))) / (2 * np.pi))


def furthest_from_m(pattern: Pattern, place_m: complex = 0j, point: Point = "head") -> AtPhase:
    """Greatest distance from a place, such as the shoulder: what reach and clearance ask."""
    return highest(pattern, lambda motion: np.abs(_place(motion, point) - place_m))


def nearest_to_m(pattern: Pattern, place_m: complex = 0j, point: Point = "head") -> AtPhase:
    """Least distance from a place."""
    low = highest(pattern, lambda motion: -np.abs(_place(motion, point) - place_m))
    return AtPhase(-low.value, low.phase)


@dataclass(frozen=True, slots=True)
class Symmetry:
    """After ``phase`` of the cycle the figure goes on as from its start, turned by ``turns``."""

    phase: Fraction
    turns: Fraction


@lru_cache(maxsize=512)
def symmetries(pattern: Pattern, *, most: int = 24) -> tuple[Symmetry, ...]:
    """The shares of a cycle after which hand and head go on as at the start, only turned.

    Exact for the simple family: k / |p - q| of a closure. For any other pattern shares k/m up to
    m = ``most`` are tried on the motion itself. Phase 0, which always fits, is left out.
    """
    shape = trochoid_of(pattern)
    if shape is not None and shape.petals:
        count = shape.petals * shape.closures
        return tuple(
            Symmetry(
                Fraction(k, count), shape.direction * Fraction(k * shape.hand_turns, count) % 1
            )
            for k in range(1, count)
        )
    shares = sorted({Fraction(k, m) for m in range(2, most + 1) for k in range(1, m)})
    phases = np.arange(64) / 64 + 0.37 / 64  # off any joint of a plain share
    passed = np.add.outer([0.0, *map(float, shares)], phases)
    motion = motion_at(pattern, passed.ravel())
    hand, head = (places.reshape(passed.shape) for places in (motion.hand_m, motion.head_m))
    tether = motion.tether_turns.reshape(passed.shape)[:, 0]
    found = []
    for index, share in enumerate(shares, 1):
        turns = Fraction(float((tether[index] - tether[0]) % 1.0)).limit_denominator(1000)
        if _is_turned((hand[0], head[0]), (hand[index], head[index]), float(turns)):
            found.append(Symmetry(share, turns % 1))
    return tuple(found)


def symmetry_order(pattern: Pattern) -> int:
    """By how many different turns, none included, the motion maps to itself."""
    return len({symmetry.turns for symmetry in symmetries(pattern)} | {Fraction(0)})


def _is_turned(
    here: tuple[Complexes, Complexes], there: tuple[Complexes, Complexes], turns: float
) -> bool:
    """Whether hand and head go the same ways there as here, turned by so much and carried."""
    spoke = np.exp(2j * np.pi * turns)
    shift = there[0][0] - spoke * here[0][0]
    return all(
        bool(np.abs(later - (spoke * first + shift)).max() <= SAME_M)
        for first, later in zip(here, there, strict=True)
    )


# ------------------------------------------------------------------ speeds


def fastest(pattern: Pattern, point: Point = "head", *, cycle_s: float = 1.0) -> AtPhase:
    """Peak speed in m/s and its phase."""
    peak = highest(pattern, lambda motion: np.abs(_velocity(motion, point)))
    return AtPhase(peak.value / cycle_s, peak.phase)


def slowest(pattern: Pattern, point: Point = "head", *, cycle_s: float = 1.0) -> AtPhase:
    """Least speed in m/s and its phase; 0 at a cusp or stall."""
    low = highest(pattern, lambda motion: -np.abs(_velocity(motion, point)))
    return AtPhase(-low.value / cycle_s, low.phase)


def hardest(pattern: Pattern, point: Point = "head", *, cycle_s: float = 1.0) -> AtPhase:
    """Peak acceleration in m/s^2 and its phase; corners, where it has no bound, left out."""
    peak = highest(pattern, lambda motion: np.abs(_acceleration(motion, point)))
    return AtPhase(peak.value / cycle_s**2, peak.phase)


def fastest_spin(pattern: Pattern, *, cycle_s: float = 1.0) -> AtPhase:
    """Fastest turning of the tether, turns/s without its sign."""
    peak = highest(pattern, lambda motion: np.abs(motion.tether_rate))
    return AtPhase(peak.value / cycle_s, peak.phase)


def curvature(motion: Motion, point: Point = "head") -> Floats:
    """Curvature of the path, 1/m, left bends positive; infinite or nan where the point stops."""
    velocity, acceleration = _velocity(motion, point), _acceleration(motion, point)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.imag(np.conj(velocity) * acceleration) / np.abs(velocity) ** 3)


def highest(pattern: Pattern, value: Callable[[Motion], Floats]) -> AtPhase:
    """Greatest value over one cycle of a quantity continuous within each segment, and its phase.

    Both limits count at a joint. Every local peak of a dense sampling is narrowed down by golden
    section; the first of equal peaks is given.
    """
    best = AtPhase(-np.inf, 0.0)
    for index, segment in enumerate(pattern.segments):

        def at(passed: Floats, index: int = index) -> Floats:
            return value(segment_motion(pattern, index, passed))

        passed, reached = local_peaks(at, np.linspace(0.0, 1.0, samples(pattern, index)))
        top = float(reached.max())
        if top > best.value + 1e-12 * max(1.0, abs(top)):
            first = float(passed[reached >= top - 1e-12 * max(1.0, abs(top))].min())
            best = AtPhase(top, float(pattern.starts[index]) + first * float(segment.share))
    return best


# ------------------------------------------------------------------ sampling


def _edges(pattern: Pattern) -> list[float]:
    return [*(float(start) for start in pattern.starts), 1.0]


def samples(pattern: Pattern, index: int) -> int:
    """Samples of a segment: fine enough that each petal of hand against head is seen."""
    segment = pattern.segments[index]
    turns = sum(
        abs(float(getattr(part, name, 0)))
        for part in (segment.hand, segment.head)
        for name in ("turns", "cycles", "amplitude_turns")
    )
    return 97 + int(96 * turns)


def _dense(pattern: Pattern) -> Motion:
    phases = [
        float(start) + float(segment.share) * np.linspace(0, 1, samples(pattern, index))[:-1]
        for index, (start, segment) in enumerate(zip(pattern.starts, pattern.segments, strict=True))
    ]
    return motion_at(pattern, np.concatenate(phases))


def _place(motion: Motion, point: Point) -> Complexes:
    return motion.hand_m if point == "hand" else motion.head_m


def _velocity(motion: Motion, point: Point) -> Complexes:
    return motion.hand_velocity if point == "hand" else motion.head_velocity


def _acceleration(motion: Motion, point: Point) -> Complexes:
    return motion.hand_acceleration if point == "hand" else motion.head_acceleration
