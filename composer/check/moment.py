"""Hand and head at the instant at which a placed move begins or ends, as vectors of the room."""

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import atan2, hypot, pi
from typing import Generic, Literal, NamedTuple, TypeAlias, TypeVar

import numpy as np

from composer.errors import ComposerError
from composer.motion.hands import Hand
from composer.motion.pattern import Floats, motion_at
from composer.motion.state import HandState, hand_state
from composer.moves.library import Library
from composer.moves.model import Move
from composer.moves.perform import Performance, Style, perform
from composer.score.routine import Performer, Placement

T = TypeVar("T")
TAU = 2 * pi
Vector: TypeAlias = tuple[float, float, float]
Side: TypeAlias = Literal["before", "after"]


class CannotEnter(ComposerError):
    """The move exists but cannot be performed as the placement asks."""


@dataclass(frozen=True, eq=False)
class Performed:
    """A move as one performer does it in one style; one object for requests of one performer."""

    move: Move
    performance: Performance

    @property
    def hands(self) -> tuple[Hand, ...]:
        return tuple(self.performance.tracks)


def performed(placement: Placement, performer: Performer, library: Library) -> Performed:
    """The placement's move in metres.

    Raises
    ------
    UnknownName
        If the library has no such move; the nearest names are told.
    CannotEnter
        If the move has no such entry, or a length comes out impossible for this body.
    """
    return _performed(Same(library), placement.move, placement.style, Same(performer))


class Same(Generic[T]):
    """A value told from others by being that very object: for what is too large to compare."""

    __slots__ = ("value",)

    def __init__(self, value: T) -> None:
        self.value = value

    def __hash__(self) -> int:
        return id(self.value)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and self.value is other.value


@lru_cache(maxsize=20_000)
def _performed(
    library: Same[Library], name: str, style: Style, performer: Same[Performer]
) -> Performed:
    move = library.value.get(name)
    by = performer.value
    try:
        return Performed(move, perform(move, style, by.body, by.props))
    except ValueError as error:
        raise CannotEnter(str(error)) from None


class Moment(NamedTuple):
    """One hand and its head at an instant, in the room; metres, seconds, turns."""

    hand_m: Vector
    hand_velocity: Vector
    tether: Vector
    """Unit vector from hand to head."""
    spin: Vector
    """Turns/s along the axis they run about, right-handed."""
    axis: Vector
    """Unit vector the plane's counter-clockwise turns about, also where the head rests."""
    tether_m: float

    @property
    def head_velocity(self) -> Vector:
        about = cross(self.spin, self.tether)
        reach = TAU * self.tether_m
        hand = self.hand_velocity
        return (
            hand[0] + reach * about[0],
            hand[1] + reach * about[1],
            hand[2] + reach * about[2],
        )

    @property
    def spin_turns_s(self) -> float:
        return length(self.spin)

    def in_time(self, cycle_s: float) -> "Moment":
        """A moment whose rates are per cycle, with a cycle of so many seconds."""
        return self._replace(
            hand_velocity=scaled(self.hand_velocity, 1 / cycle_s),
            spin=scaled(self.spin, 1 / cycle_s),
        )


def moment(
    done: Performed,
    hand: Hand,
    placement: Placement,
    beats_from_start: Fraction,
    cycle_s: float,
    side: Side,
) -> Moment:
    """One hand of a placed move so many beats after its start.

    Parameters
    ----------
    cycle_s : float
        Seconds the common cycle lasts at the tempo there.
    side : "before" or "after"
        At a joint of the pattern, the motion that ends there or the one that begins.
    """
    passed = beats_from_start / done.performance.cycle_beats(placement.rate) % 1
    return _moment(done, hand, passed, placement.facing_turns, side).in_time(cycle_s)


def state(
    done: Performed, hand: Hand, placement: Placement, beats_from_start: Fraction, cycle_s: float
) -> HandState:
    """The same instant as the motion core's own value: what a blend is made between."""
    performance = done.performance
    passed = beats_from_start / performance.cycle_beats(placement.rate) % 1
    plane = performance.placed_plane(hand, placement.facing_turns)
    return hand_state(performance.tracks[hand], passed, cycle_s, plane)


@lru_cache(maxsize=50_000)
def _moment(done: Performed, hand: Hand, passed: Fraction, facing: Fraction, side: Side) -> Moment:
    """The moment with rates per cycle."""
    performance = done.performance
    plane = performance.placed_plane(hand, facing)
    here = hand_state(performance.tracks[hand], passed, 1.0, plane, side=side)
    hand_room, head_room = performance.room_places_m(hand, [float(passed)], facing)
    velocity = plane.vector([here.velocity_m_s])[0]
    if performance.depths.get(hand):
        velocity = velocity + _velocity_out_of_plane(performance, hand, passed, facing, side)
    return moment_of(
        hand_room[0], velocity, (head_room - hand_room)[0], here.tether_rate, plane.normal
    )


def moment_of(
    hand_m: Floats,
    velocity: Floats,
    arm: Floats,
    spin_rate: float,
    normal: Floats,
) -> Moment:
    """A moment from room vectors of shape (3,): ``arm`` runs from hand to head."""
    tether_m = float(np.linalg.norm(arm))
    return Moment(
        _plain(hand_m),
        _plain(velocity),
        _plain(arm / tether_m),
        _plain(spin_rate * normal),
        _plain(normal),
        tether_m,
    )


def _plain(vector: Floats) -> Vector:
    x, y, z = vector.tolist()
    return x, y, z


_STEP = 1e-4
"""Share of a cycle: the way out of the plane is eased, so a short chord tells its speed."""


def _velocity_out_of_plane(
    performance: Performance, hand: Hand, passed: Fraction, facing: Fraction, side: Side
) -> Floats:
    start = float(passed) - (_STEP if side == "before" else 0.0)
    shares = np.array([start, start + _STEP]) % 1.0
    track = performance.tracks[hand]
    flat = motion_at(track.pattern, float(track.offset) + track.cycles * shares).hand_m
    room, _ = performance.room_places_m(hand, shares, facing)
    outwards = room - performance.placed_plane(hand, facing).place(flat)
    return np.asarray((outwards[1] - outwards[0]) / _STEP)


# ------------------------------------------------------------------ three numbers at a time


def scaled(a: Vector, by: float) -> Vector:
    return a[0] * by, a[1] * by, a[2] * by


def minus(a: Vector, b: Vector) -> Vector:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


def dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vector, b: Vector) -> Vector:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def length(a: Vector) -> float:
    return hypot(*a)


def angle_turns(a: Vector, b: Vector) -> float:
    """Angle between two vectors, 0 to 1/2 turn."""
    return atan2(length(cross(a, b)), dot(a, b)) / TAU


def angle_about(axis: Vector, a: Vector, b: Vector) -> float:
    """Signed angle from a to b about a unit axis, in turns from -1/2 to 1/2."""
    return atan2(dot(axis, cross(a, b)), dot(a, b)) / TAU


def line_angle_turns(a: Vector, b: Vector) -> float:
    """Angle between two lines along unit vectors, 0 to 1/4 turn."""
    angle = angle_turns(a, b)
    return min(angle, 0.5 - angle)
