"""Hand and head at the instant at which a placed move begins or ends, as vectors of the room."""

from fractions import Fraction
from functools import lru_cache
from math import atan2, cos, hypot, pi, sin
from typing import Literal, NamedTuple, TypeAlias

import numpy as np

from composer.check.performed import Performed
from composer.motion.hands import Hand
from composer.motion.kinematics import motion_at
from composer.motion.placed_plane import plane_axes
from composer.motion.plane import Plane
from composer.motion.state import HandState, hand_state
from composer.moves.perform import Performance

TAU = 2 * pi
Vector: TypeAlias = tuple[float, float, float]
Side: TypeAlias = Literal["before", "after"]


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
        pace = 1 / cycle_s
        hand_m, velocity, tether, spin, axis, tether_m = self
        return Moment(hand_m, scaled(velocity, pace), tether, scaled(spin, pace), axis, tether_m)


def moment(
    done: Performed, hand: Hand, passed: Fraction, facing: Fraction, cycle_s: float, side: Side
) -> Moment:
    """One hand of a performed move after a share of its common cycle.

    Parameters
    ----------
    facing : Fraction
        How far the body has turned from facing the audience.
    cycle_s : float
        Seconds the common cycle lasts at the tempo there.
    side : "before" or "after"
        At a joint of the pattern, the motion that ends there or the one that begins.
    """
    return _moment(done, hand, passed, facing, side).in_time(cycle_s)


def state(
    done: Performed, hand: Hand, passed: Fraction, facing: Fraction, cycle_s: float
) -> HandState:
    """The same instant as the motion core's own value: what a blend is made between."""
    performance = done.performance
    plane = performance.placed_plane(hand, facing)
    return hand_state(performance.tracks[hand], passed, cycle_s, plane)


@lru_cache(maxsize=50_000)
def _moment(done: Performed, hand: Hand, passed: Fraction, facing: Fraction, side: Side) -> Moment:
    """The moment with rates per cycle."""
    performance = done.performance
    plane = performance.placed_plane(hand, facing)
    here = hand_state(performance.tracks[hand], passed, 1.0, plane, side=side)
    if performance.depths.get(hand):
        return moment_of(here, *_out_of_plane(performance, hand, passed, facing, side))
    return moment_of(here)


NOWHERE: Vector = (0.0, 0.0, 0.0)


def moment_of(state: HandState, out: Vector = NOWHERE, out_velocity: Vector = NOWHERE) -> Moment:
    """A moment in the room from a state in its plane.

    Parameters
    ----------
    out, out_velocity : vector
        How far the hand is out of the plane, and how fast it goes out; room metres and m/s.
    """
    axes = _axes(state.plane.plane, state.plane.facing_turns, state.plane.tilt_turns)
    across, up, normal = axes
    angle = TAU * state.tether_turns
    return Moment(
        plus(plus(state.plane.origin_m, out), _in_room(state.position_m, axes)),
        plus(out_velocity, _in_room(state.velocity_m_s, axes)),
        plus(scaled(across, cos(angle)), scaled(up, sin(angle))),
        scaled(normal, state.tether_rate),
        normal,
        state.tether_m,
    )


@lru_cache(maxsize=1_000)
def _axes(plane: Plane, facing_turns: Fraction, tilt_turns: float) -> tuple[Vector, Vector, Vector]:
    """Across, up and normal of a plane in the room."""
    axes = plane_axes(plane, facing_turns=facing_turns, tilt_turns=tilt_turns)
    across, up = ((x, y, z) for x, y, z in axes.tolist())
    return across, up, cross(across, up)


def _in_room(place: complex, axes: tuple[Vector, Vector, Vector]) -> Vector:
    return plus(scaled(axes[0], place.real), scaled(axes[1], place.imag))


_STEP = 1e-4
"""Share of a cycle: the way out of the plane is eased, so a short chord tells its speed."""


def _out_of_plane(
    performance: Performance, hand: Hand, passed: Fraction, facing: Fraction, side: Side
) -> tuple[Vector, Vector]:
    """How far a hand is out of its plane, and how fast it goes out per cycle, in the room."""
    here = float(passed)
    shares = np.array([here, here - _STEP if side == "before" else here + _STEP]) % 1.0
    track = performance.tracks[hand]
    flat = motion_at(track.pattern, float(track.offset) + track.cycles * shares).hand_m
    room, _ = performance.room_places_m(hand, shares, facing)
    out = room - performance.placed_plane(hand, facing).place(flat)
    velocity = (out[1] - out[0]) / (-_STEP if side == "before" else _STEP)
    (x, y, z), (vx, vy, vz) = out[0].tolist(), velocity.tolist()
    return (x, y, z), (vx, vy, vz)


# ------------------------------------------------------------------ three numbers at a time


def scaled(a: Vector, by: float) -> Vector:
    return a[0] * by, a[1] * by, a[2] * by


def plus(a: Vector, b: Vector) -> Vector:
    return a[0] + b[0], a[1] + b[1], a[2] + b[2]


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
