"""The way from one motion into another: a smooth path of hand and tether between two states.

The hand runs along the quintic that starts and ends with the given places, velocities and
accelerations: of all such paths it has the least integrated squared jerk (T. Flash, N. Hogan,
J. Neurosci. 5 (1985) 1688). The tether's angle follows a quintic of its own. Where the two states
lie in different planes, the plane itself swings over, at rest at both ends.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.polynomial import polynomial
from numpy.typing import ArrayLike, NDArray

from composer.motion.kinematics import Floats, Motion, assemble
from composer.motion.pattern import TAU
from composer.motion.room import RoomMotion
from composer.motion.state import HandState

SAME_PLANE_TURNS = 1e-9
"""Planes closer than this are one plane."""


@dataclass(frozen=True, slots=True)
class Peak:
    """The largest value of a quantity along a blend, and when it comes."""

    value: float
    time_s: float


@dataclass(frozen=True, eq=False)
class Blend:
    """One hand on its way from ``before`` to ``after``; times run from 0 to ``duration_s``.

    Made by :func:`blend`. ``tether_turned`` is how far the tether turns on the way, in turns,
    signed in the plane of ``before``; ``plane_turns`` how far its plane swings over, 0 if not.
    """

    before: HandState
    after: HandState
    duration_s: float
    tether_turned: float
    plane_turns: float
    _hand: Floats
    """Room coordinates by powers of the share passed, shape=(6, 3)."""
    _tether: Floats
    """Turns by powers of the share passed, shape=(6,)."""
    _hinge: Floats
    """Unit vector the plane swings about, shape=(3,)."""

    @property
    def changes_plane(self) -> bool:
        return self.plane_turns > SAME_PLANE_TURNS

    def motion_at(self, times_s: ArrayLike) -> Motion:
        """Hand and head in the plane of ``before`` at some times, shape=(n,).

        Raises
        ------
        ValueError
            If a time is outside the blend, or the two states do not share one plane: then only
            :meth:`room_motion_at` can tell.
        """
        if not self.in_one_plane:
            raise ValueError("the blend leaves its plane; ask for its motion in the room")
        passed = self._passed(times_s)
        across, up = self.before.plane.axes
        rows = [_values(self._hand, passed, k) / self.duration_s**k for k in range(3)]
        rows[0] = rows[0] - np.array(self.before.plane.origin_m)
        hand = np.array([row @ across + 1j * (row @ up) for row in rows])
        return assemble(hand, self._tether_rows(passed), self.before.tether_m)

    def room_motion_at(self, times_s: ArrayLike) -> RoomMotion:
        """Hand and head in the room at some times."""
        passed = self._passed(times_s)
        hand = [_values(self._hand, passed, k) / self.duration_s**k for k in range(3)]
        arm, arm_velocity, arm_acceleration = self._arm(passed)
        return RoomMotion(
            hand_m=hand[0],
            hand_velocity=hand[1],
            hand_acceleration=hand[2],
            head_m=hand[0] + arm,
            head_velocity=hand[1] + arm_velocity,
            head_acceleration=hand[2] + arm_acceleration,
        )

    @cached_property
    def in_one_plane(self) -> bool:
        """Whether both states lie in one plane of the room, offset included."""
        apart = np.subtract(self.after.plane.origin_m, self.before.plane.origin_m)
        return not self.changes_plane and abs(float(apart @ self.before.plane.normal)) < 1e-9

    @cached_property
    def peak_hand_speed(self) -> Peak:
        """Fastest of the hand, m/s: exact, from the roots of a polynomial."""
        return self._peak_length(1)

    @cached_property
    def peak_hand_acceleration(self) -> Peak:
        """Largest acceleration of the hand, m/s^2."""
        return self._peak_length(2)

    @cached_property
    def peak_spin_change(self) -> Peak:
        """Largest change of the tether's rate, turns/s^2, without its sign."""
        return self._peak_turns(2)

    @cached_property
    def peak_spin(self) -> Peak:
        """Fastest turning of the tether, turns/s, without its sign."""
        return self._peak_turns(1)

    @cached_property
    def reverses(self) -> bool:
        """Whether the tether's turning changes its direction on the way, the ends included."""
        rates = self._rate_extremes()
        return bool(rates.min() < -1e-9 and rates.max() > 1e-9)

    def _passed(self, times_s: ArrayLike) -> Floats:
        times = np.atleast_1d(np.asarray(times_s, dtype=float))
        slack = 1e-9 * self.duration_s
        if not np.all((times >= -slack) & (times <= self.duration_s + slack)):
            raise ValueError(f"times run from 0 to {self.duration_s} s within the blend")
        return times / self.duration_s

    def _tether_rows(self, passed: Floats) -> Floats:
        return np.array([_values(self._tether, passed, k) / self.duration_s**k for k in range(3)])

    def _arm(self, passed: Floats) -> tuple[Floats, Floats, Floats]:
        """Tether vector and its derivatives while its plane swings: turning about two axes."""
        turns, rate, change = self._tether_rows(passed)
        swing = [
            TAU * self.plane_turns * _values(_EASE, passed, k) / self.duration_s**k
            for k in range(3)
        ]
        across, up = (_rotate(axis, self._hinge, swing[0]) for axis in self.before.plane.axes)
        normal = np.cross(across, up)
        angle = TAU * turns[:, None]
        arm = self.before.tether_m * (np.cos(angle) * across + np.sin(angle) * up)
        omega, alpha = TAU * rate[:, None], TAU * change[:, None]
        hinge_rate, hinge_change = (row[:, None] * self._hinge for row in swing[1:])
        spin = hinge_rate + omega * normal
        spin_change = hinge_change + alpha * normal + omega * np.cross(hinge_rate, normal)
        velocity = np.cross(spin, arm)
        return arm, velocity, np.cross(spin_change, arm) + np.cross(spin, velocity)

    def _peak_length(self, order: int) -> Peak:
        derived = polynomial.polyder(self._hand, order, axis=0)
        squared = np.zeros(2 * len(derived) - 1)
        for column in derived.T:
            squared += np.convolve(column, column)
        passed = _candidates(polynomial.polyder(squared))
        lengths = np.linalg.norm(_values(self._hand, passed, order), axis=1)
        best = int(np.argmax(lengths))
        return Peak(
            float(lengths[best]) / self.duration_s**order, float(passed[best]) * self.duration_s
        )

    def _peak_turns(self, order: int) -> Peak:
        passed = _candidates(polynomial.polyder(self._tether, order + 1))
        sizes = np.abs(_values(self._tether, passed, order)) / self.duration_s**order
        best = int(np.argmax(sizes))
        return Peak(float(sizes[best]), float(passed[best]) * self.duration_s)

    def _rate_extremes(self) -> Floats:
        passed = _candidates(polynomial.polyder(self._tether, 2))
        return _values(self._tether, passed, 1) / self.duration_s


def blend(
    before: HandState, after: HandState, duration_s: float, *, whole_turns: int | None = None
) -> Blend:
    """A smooth way from one state into another.

    Parameters
    ----------
    whole_turns : int, optional
        How many whole turns to add to the shortest counter-clockwise way (0 to 1 turn) of the
        tether; negative the other way round. Left out, the number that keeps the tether's mean
        rate nearest to the mean of the two rates.

    Raises
    ------
    ValueError
        If the duration is not positive or the two states have tethers of different lengths.
    """
    if not (np.isfinite(duration_s) and duration_s > 0):
        raise ValueError(f"a blend lasts a positive time, got {duration_s} s")
    if abs(before.tether_m - after.tether_m) > 1e-9:
        raise ValueError(
            f"one prop has one length: {before.tether_m} m before, {after.tether_m} m after"
        )
    hinge, plane_angle, sense = _plane_change(before, after)
    end_turns = _end_direction(before, after, hinge, plane_angle)
    part = (end_turns - before.tether_turns) % 1.0
    rate_after = sense * after.tether_rate
    if whole_turns is None:
        wanted = (before.tether_rate + rate_after) / 2 * duration_s
        whole_turns = round(wanted - part)
    turned = part + whole_turns
    tether = _quintic(
        np.array([before.tether_turns, before.tether_rate, before.tether_acceleration]),
        np.array([before.tether_turns + turned, rate_after, sense * after.tether_acceleration]),
        duration_s,
    )
    hand = _quintic(_hand_rows(before), _hand_rows(after), duration_s)
    return Blend(before, after, duration_s, turned, plane_angle / TAU, hand, tether, hinge)


def _hand_rows(state: HandState) -> Floats:
    vectors = [state.velocity_m_s, state.acceleration_m_s2]
    return np.vstack([state.plane.place([state.position_m]), state.plane.vector(vectors)])


def _plane_change(before: HandState, after: HandState) -> tuple[Floats, float, int]:
    """Hinge, angle in radians, and +1 if the after plane's own sense of turning is kept, else -1.

    A plane may swing over either way; the way that changes the spin least is taken. A wall spin
    led round the body one way comes out forwards in the wheel plane, the other way backwards.
    """
    start, end = before.plane.normal, after.plane.normal
    keep = abs(after.tether_rate - before.tether_rate)
    flip = abs(-after.tether_rate - before.tether_rate)
    sense = -1 if flip < keep - 1e-9 else 1
    if abs(abs(float(start @ end)) - 1) < 1e-12:
        sense = 1 if float(start @ end) > 0 else -1
        return np.array([0.0, 0.0, 1.0]), 0.0, sense
    goal = sense * end
    hinge = np.cross(start, goal)
    size = float(np.linalg.norm(hinge))
    return hinge / size, float(np.arctan2(size, start @ goal)), sense


def _end_direction(before: HandState, after: HandState, hinge: Floats, angle: float) -> float:
    """Where the tether ends, in turns of the plane of ``before`` after it has swung over."""
    direction = after.plane.vector([np.exp(1j * TAU * after.tether_turns)])[0]
    across, up = (_rotate(axis, hinge, np.array([angle]))[0] for axis in before.plane.axes)
    return float(np.arctan2(direction @ up, direction @ across) / TAU)


def _rotate(vector: Floats, axis: Floats, angles: Floats) -> Floats:
    """A vector turned about a unit axis by each angle, shape=(n, 3) (Rodrigues' formula)."""
    cosine, sine = np.cos(angles)[:, None], np.sin(angles)[:, None]
    along = float(axis @ vector) * axis
    return np.asarray(along + cosine * (vector - along) + sine * np.cross(axis, vector))


def _quintic(start: Floats, end: Floats, duration_s: float) -> Floats:
    """Coefficients by powers of the share passed, from (value, rate, change) at both ends."""
    scale = np.array([1.0, duration_s, duration_s**2]).reshape((3,) + (1,) * (start.ndim - 1))
    (p0, v0, a0), (p1, v1, a1) = start * scale, end * scale
    gap, speed_gap, change_gap = p1 - p0 - v0 - a0 / 2, v1 - v0 - a0, a1 - a0
    return np.array(
        [
            p0,
            v0,
            a0 / 2,
            10 * gap - 4 * speed_gap + change_gap / 2,
            -15 * gap + 7 * speed_gap - change_gap,
            6 * gap - 3 * speed_gap + change_gap / 2,
        ]
    )


_EASE = np.array([0.0, 0.0, 0.0, 10.0, -15.0, 6.0])
"""Minimum-jerk share of a way: at rest at both ends (Flash and Hogan 1985)."""


def _values(coefficients: Floats, passed: Floats, order: int) -> Floats:
    """A derivative of the polynomial(s) at shares passed, shape=(n,) or (n, 3)."""
    derived = polynomial.polyder(coefficients, order, axis=0) if order else coefficients
    powers = passed[:, None] ** np.arange(len(derived))
    return np.asarray(powers @ derived)


def _candidates(slope: NDArray[np.floating[Any]]) -> Floats:
    """Both ends and the slope's zeros inside: where a quantity may peak."""
    trimmed = polynomial.polytrim(slope, tol=1e-12 * max(1e-300, float(np.abs(slope).max())))
    roots = polynomial.polyroots(trimmed)
    inside = roots.real[(np.abs(roots.imag) < 1e-6) & (roots.real > 0) & (roots.real < 1)]
    return np.concatenate([[0.0, 1.0], inside])
