"""One hand's pattern: where the hand goes and how the head turns about it, exact in angle and time.

A pattern is a closed list of segments. Each takes an exact share of the cycle, moves the hand along
a path (hold, arc or line) and turns the head (spin or swing). Lengths are metres; angles are exact
turns, 0 = +x (the performer's right in the wall plane), counter-clockwise positive, down = 3/4.
Positions in the plane are complex numbers, across + up i.
"""

import itertools
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats: TypeAlias = NDArray[np.float64]
Complexes: TypeAlias = NDArray[np.complex128]

DOWN = Fraction(3, 4)
UP = Fraction(1, 4)
TAU = 2 * np.pi


def unit(turns: ArrayLike) -> Complexes:
    """Unit vectors e^(2 pi i turns), any shape."""
    return np.asarray(np.exp(1j * TAU * np.asarray(turns, dtype=float)))


@dataclass(frozen=True, slots=True)
class Hold:
    """The hand stays at a place."""

    at_m: complex = 0j


@dataclass(frozen=True, slots=True)
class Arc:
    """The hand runs evenly along a circle, through signed exact turns."""

    centre_m: complex
    radius_m: float
    start_turns: Fraction
    turns: Fraction


@dataclass(frozen=True, slots=True)
class Line:
    """The hand runs straight from start to end, evenly, or ``eased``: at rest at both ends.

    Eased travel is half a cosine wave, so a to-and-fro of two eased lines is one smooth swing.
    """

    start_m: complex
    end_m: complex
    eased: bool = False


@dataclass(frozen=True, slots=True)
class Spin:
    """The head turns evenly about the hand, through signed exact turns in the room."""

    start_turns: Fraction
    turns: Fraction


@dataclass(frozen=True, slots=True)
class Swing:
    """The head swings to and fro: about + amplitude * sin(2 pi (start + cycles * share passed)).

    It hangs still at the turning points, where start + cycles * share is 1/4 or 3/4.
    """

    about_turns: Fraction
    amplitude_turns: Fraction
    start: Fraction
    cycles: Fraction


Side: TypeAlias = Literal["before", "after"]
HandPath: TypeAlias = Hold | Arc | Line
HeadMotion: TypeAlias = Spin | Swing


@dataclass(frozen=True, slots=True)
class Segment:
    """A share of the cycle in which hand path and head motion each follow one rule."""

    share: Fraction
    hand: HandPath
    head: HeadMotion


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
        if not (np.isfinite(self.tether_m) and self.tether_m > 0):
            raise ValueError(f"a tether must have a positive length, got {self.tether_m} m")
        if not self.segments:
            raise ValueError("a pattern needs at least one segment")
        if any(segment.share <= 0 for segment in self.segments):
            raise ValueError("every segment takes a positive share of the cycle")
        total = sum((segment.share for segment in self.segments), Fraction(0))
        if total != 1:
            raise ValueError(f"the shares of the segments must add up to 1, got {total}")
        for segment in self.segments:
            _check_path(segment.hand)

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

        Exact in a spin. In a swing the instant is rational only for sines 0, 1/2 and 1 (Niven's
        theorem); other instants are given to 1e-12 of the segment.
        """
        found = [
            TetherPass(start + segment.share * passed, sense)
            for start, segment in zip(self.starts, self.segments, strict=True)
            for passed, sense in _passes(segment.head, direction)
        ]
        return tuple(sorted(found, key=lambda one: one.phase))

    @cached_property
    def is_one_rule(self) -> bool:
        """Whether one hand path and one head motion hold all through, however it may be cut."""
        return all(_carries_on(one, two) for one, two in itertools.pairwise(self.segments))


@dataclass(frozen=True, slots=True)
class TetherPass:
    """An instant at which the tether points in a direction that was asked for."""

    phase: Fraction
    sense: int
    """+1 turning counter-clockwise, -1 clockwise, 0 at the turning point of a swing."""


def _carries_on(one: Segment, two: Segment) -> bool:
    """Whether the second segment goes on as the first did: same paths, same rates, no jump."""
    pace = two.share / one.share
    match one.head, two.head:
        case Spin(), Spin():
            head = (
                two.head.turns == one.head.turns * pace
                and (two.head.start_turns - one.head.start_turns - one.head.turns) % 1 == 0
            )
        case Swing(), Swing():
            head = (
                two.head.cycles == one.head.cycles * pace
                and (two.head.start - one.head.start - one.head.cycles) % 1 == 0
                and two.head.amplitude_turns == one.head.amplitude_turns
                and (two.head.about_turns - one.head.about_turns) % 1 == 0
            )
        case _:
            head = False
    return head and _path_carries_on(one.hand, two.hand, pace)


def _path_carries_on(one: HandPath, two: HandPath, pace: Fraction) -> bool:
    match one, two:
        case Hold(), Hold():
            return abs(one.at_m - two.at_m) < 1e-9
        case Arc(), Arc():
            return (
                abs(one.centre_m - two.centre_m) < 1e-9
                and abs(one.radius_m - two.radius_m) < 1e-9
                and two.turns == one.turns * pace
                and (two.start_turns - one.start_turns - one.turns) % 1 == 0
            )
        case _:
            return False


def _check_path(path: HandPath) -> None:
    if isinstance(path, Arc):
        if not (np.isfinite(path.radius_m) and path.radius_m >= 0):
            raise ValueError(f"a radius must be finite and not negative, got {path.radius_m} m")
        points = [path.centre_m]
    else:
        points = [path.at_m] if isinstance(path, Hold) else [path.start_m, path.end_m]
    if not np.all(np.isfinite(points)):
        raise ValueError(f"places must be finite, got {points}")


def _passes(head: HeadMotion, direction: Fraction) -> list[tuple[Fraction, int]]:
    """Shares in [0, 1) of the segment at which the moving tether points in a direction; sense."""
    if isinstance(head, Spin):
        sense = 1 if head.turns > 0 else -1
        return [(passed, sense) for passed in _spin_passes(head, direction)]
    return _swing_passes(head, direction)


def _spin_passes(head: Spin, direction: Fraction) -> list[Fraction]:
    if head.turns == 0:
        return []
    ahead = direction - head.start_turns if head.turns > 0 else head.start_turns - direction
    first, speed = ahead % 1, abs(head.turns)
    return [(first + k) / speed for k in range(max(0, -(-(speed - first) // 1)))]


def _swing_passes(head: Swing, direction: Fraction) -> list[tuple[Fraction, int]]:
    if head.amplitude_turns == 0 or head.cycles == 0:
        return []
    reach = abs(head.amplitude_turns)
    offset = (direction - head.about_turns + Fraction(1, 2)) % 1 - Fraction(1, 2)
    levels = [
        offset + k for k in range(-int(reach) - 1, int(reach) + 2) if abs(offset + k) <= reach
    ]
    rising = 1 if (head.amplitude_turns > 0) == (head.cycles > 0) else -1
    passes: dict[Fraction, int] = {}
    for level in levels:
        rise = _arcsine_cycles(level / head.amplitude_turns)
        turning = abs(level) == reach
        for angle, sense in ((rise, rising), (Fraction(1, 2) - rise, -rising)):
            for passed in _cycle_passes(angle, head.start, head.cycles):
                passes[passed] = 0 if turning else sense
    return sorted(passes.items())


def _cycle_passes(angle: Fraction, start: Fraction, cycles: Fraction) -> list[Fraction]:
    """Shares in [0, 1) at which start + cycles * share equals the angle, whole cycles apart."""
    low, high = min(start, start + cycles), max(start, start + cycles)
    first = angle + -(-(low - angle) // 1)
    passes = []
    while first <= high:
        share = (first - start) / cycles
        if 0 <= share < 1:
            passes.append(share)
        first += 1
    return passes


_EXACT_ARCSINES = {
    Fraction(0): Fraction(0),
    Fraction(1, 2): Fraction(1, 12),
    Fraction(-1, 2): Fraction(-1, 12),
    Fraction(1): Fraction(1, 4),
    Fraction(-1): Fraction(-1, 4),
}


def _arcsine_cycles(sine: Fraction) -> Fraction:
    """Angle in cycles, in [-1/4, 1/4]; exact where it is rational (Niven's theorem)."""
    exact = _EXACT_ARCSINES.get(sine)
    if exact is not None:
        return exact
    return Fraction(float(np.arcsin(float(sine)) / TAU)).limit_denominator(10**12)


# --------------------------------------------------------------------------- in motion


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
    if phases.ndim != 1 or not np.all(np.isfinite(phases)):
        raise ValueError("phase must be one-dimensional and finite")
    if not (np.isfinite(cycle_s) and cycle_s > 0):
        raise ValueError(f"a cycle lasts a positive time, got {cycle_s} s")
    wrapped = phases - np.floor(phases)
    starts = np.array([float(start) for start in pattern.starts])
    if side == "before":
        wrapped[wrapped == 0] = 1.0
        which = np.searchsorted(starts, wrapped, side="left") - 1
    else:
        which = np.searchsorted(starts, wrapped, side="right") - 1
    hand = np.empty((3, len(wrapped)), dtype=complex)
    tether = np.empty((3, len(wrapped)))
    for index, segment in enumerate(pattern.segments):
        here = which == index
        if here.any():
            share = float(segment.share)
            passed = (wrapped[here] - starts[index]) / share
            scale = np.array([1.0, 1.0 / (share * cycle_s), 1.0 / (share * cycle_s) ** 2])
            hand[:, here] = _hand_path(segment.hand, passed) * scale[:, None]
            tether[:, here] = _head_motion(segment.head, passed) * scale[:, None]
    return assemble(hand, tether, pattern.tether_m)


def assemble(hand: Complexes, tether: Floats, tether_m: float) -> Motion:
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


def _hand_path(path: HandPath, passed: Floats) -> Complexes:
    """Position and its first two derivatives by share passed, shape=(3, n)."""
    zero = np.zeros(len(passed), dtype=complex)
    match path:
        case Hold(at_m=place):
            return np.array([zero + place, zero, zero])
        case Arc(centre_m=centre, radius_m=radius, start_turns=start, turns=turns):
            spoke = radius * unit(float(start) + float(turns) * passed)
            pace = 1j * TAU * float(turns)
            return np.array([centre + spoke, pace * spoke, pace**2 * spoke])
        case Line(start_m=start_m, end_m=end_m, eased=eased):
            way = end_m - start_m
            if not eased:
                return np.array([start_m + way * passed, zero + way, zero])
            cosine, sine = np.cos(np.pi * passed), np.sin(np.pi * passed)
            return np.array(
                [
                    start_m + way * (1 - cosine) / 2,
                    way * np.pi / 2 * sine,
                    way * np.pi**2 / 2 * cosine,
                ]
            )


def _head_motion(head: HeadMotion, passed: Floats) -> Floats:
    """Tether direction in turns and its first two derivatives by share passed, shape=(3, n)."""
    if isinstance(head, Spin):
        turns = float(head.turns)
        zero = np.zeros(len(passed))
        return np.array([float(head.start_turns) + turns * passed, zero + turns, zero])
    reach, pace = float(head.amplitude_turns), TAU * float(head.cycles)
    angle = TAU * (float(head.start) + float(head.cycles) * passed)
    return np.array(
        [
            float(head.about_turns) + reach * np.sin(angle),
            reach * pace * np.cos(angle),
            -reach * pace**2 * np.sin(angle),
        ]
    )
