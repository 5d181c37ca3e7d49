"""The pull in the tether along a pattern as it is drawn, and the hand that would really draw it.

A drawing turns the head evenly; a real head is also heavy. These functions say where the drawn
motion would let a tether go slack and by how much the hand must leave its drawn path to help.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from composer.motion.body import Prop
from composer.motion.gravity import G
from composer.motion.kinematics import Floats, Motion, motion_at, segment_motion, unit
from composer.motion.measures import AtPhase, highest
from composer.motion.pattern import TAU, Pattern
from composer.motion.placed_plane import PlacedPlane
from composer.motion.room import in_the_room

WALL = PlacedPlane()
_HUGE = 1e12


def gravity_in(plane: PlacedPlane) -> complex:
    """The part of gravity that lies in a plane, across + up i, m/s^2."""
    across, up = plane.axes
    return complex(-G * across[2], -G * up[2])


def pull_n(motion: Motion, prop: Prop, plane: PlacedPlane = WALL) -> Floats:
    """Pull along the tether, m (g - a) . u with u from hand to head; negative: it would be slack.

    For a rigid prop a negative pull is a push. Weight across the plane is left out: something
    else must carry it, such as a cone in the floor plane.
    """
    along = np.conj(unit(motion.tether_turns)) * (gravity_in(plane) - motion.head_acceleration)
    return np.asarray(prop.head_mass_kg * along.real)


def sideways_n(motion: Motion, prop: Prop, plane: PlacedPlane = WALL) -> Floats:
    """Force across the tether that the drawn motion asks for; a tether cannot give it."""
    across = np.conj(unit(motion.tether_turns)) * (motion.head_acceleration - gravity_in(plane))
    return np.asarray(prop.head_mass_kg * across.imag)


@dataclass(frozen=True, slots=True)
class Tension:
    """Pull along one cycle in newtons, and the phases between which a tether would hang slack."""

    lowest_n: AtPhase
    highest_n: AtPhase
    slack: tuple[tuple[float, float], ...]
    """(from, to); to is above 1 where the stretch runs over the cycle's end. Rigid props: none."""

    @property
    def is_taut(self) -> bool:
        return not self.slack


def tension(pattern: Pattern, prop: Prop, *, cycle_s: float, plane: PlacedPlane = WALL) -> Tension:
    """Least and greatest pull in a pattern at a tempo, and where the tether goes slack."""

    def pull(motion: Motion) -> Floats:
        return pull_n(_at_tempo(motion, cycle_s), prop, plane)

    low = highest(pattern, lambda motion: -pull(motion))
    slack = _slack(pattern, prop, cycle_s, plane) if prop.is_tether and low.value > 0 else ()
    return Tension(AtPhase(-low.value, low.phase), highest(pattern, pull), slack)


@dataclass(frozen=True, slots=True)
class TautCycles:
    """Cycle lengths between which a pattern stays taut; ``longest_s`` is inf where any length is.

    Slower than the longest the weight falls in; quicker than the shortest the hand outruns it.
    """

    shortest_s: float
    longest_s: float


def taut_cycles(pattern: Pattern, plane: PlacedPlane = WALL) -> TautCycles | None:
    """For which cycle lengths a pattern, as drawn, never goes slack; None if for none.

    At cycle length c the pull per mass is g . u - a . u / c^2 with a counted per cycle.
    """
    gravity = gravity_in(plane)

    def parts(motion: Motion) -> tuple[Floats, Floats]:
        spoke = np.conj(unit(motion.tether_turns))
        return (spoke * gravity).real, -(spoke * motion.head_acceleration).real

    def need_quick(motion: Motion) -> Floats:
        """1/c^2 at least this, where weight pulls the head in."""
        weight, swing = parts(motion)
        return np.asarray(np.where(weight < 0, -weight / np.maximum(swing, 1 / _HUGE), 0.0))

    def need_slow(motion: Motion) -> Floats:
        """c^2 at least this, where the hand's own way pulls the head in."""
        weight, swing = parts(motion)
        return np.asarray(np.where(swing < 0, -swing / np.maximum(weight, 1 / _HUGE), 0.0))

    quick, slow = highest(pattern, need_quick).value, highest(pattern, need_slow).value
    longest = 1 / np.sqrt(quick) if quick > 1e-15 else np.inf
    shortest = float(np.sqrt(max(slow, 0.0)))
    return TautCycles(shortest, float(longest)) if shortest <= longest else None


# ------------------------------------------------------------------ the hand a drawing asks for


@dataclass(frozen=True, slots=True)
class Driver:
    """The hand that makes a free head follow a path, shape=(n, 3), and the pull in its tether."""

    hand_m: Floats
    pull_n: Floats


def driving_hand(
    head_m: NDArray[np.float64],
    head_acceleration: NDArray[np.float64],
    *,
    length_m: float,
    mass_kg: float,
) -> Driver:
    """The only hand path that draws a given head path with a tether: hand = head + L u.

    u = (a + g e_z)/|a + g e_z| points from head to hand, the pull is m |a + g e_z|.

    References
    ----------
    K. Sreenath, N. Michael, V. Kumar, ICRA 2013: a slung load is differentially flat.
    """
    needed = np.asarray(head_acceleration, dtype=float) + np.array([0.0, 0.0, G])
    size = np.linalg.norm(needed, axis=1)
    if np.any(size < 1e-9):
        raise ValueError("a head in free fall pulls no tether straight: it tells nothing of a hand")
    return Driver(np.asarray(head_m + length_m * needed / size[:, None]), mass_kg * size)


def hand_correction_m(
    pattern: Pattern, phase: Floats, *, cycle_s: float, plane: PlacedPlane = WALL
) -> Floats:
    """From the drawn hand to the one that would really draw the head's path, shape=(n, 3).

    Small for fast heads: about g/w^2 for a still hand and w radians a second.
    """
    room = in_the_room(motion_at(pattern, phase, cycle_s=cycle_s), plane)
    driver = driving_hand(
        room.head_m, room.head_acceleration, length_m=pattern.tether_m, mass_kg=1.0
    )
    return np.asarray(driver.hand_m - room.hand_m)


def sideways_share_bound(
    radius_m: float, tether_m: float, ratio: float, hand_turns_per_s: float
) -> float:
    """Most that the sideways force of an even drawing can be of the pull of its spin.

    (R w^2 + g) / (n^2 w^2 L): the hand's own acceleration and gravity against the head's.
    """
    w2 = (TAU * hand_turns_per_s) ** 2
    return (radius_m * w2 + G) / (ratio**2 * w2 * tether_m)


# ------------------------------------------------------------------ within


def _at_tempo(motion: Motion, cycle_s: float) -> Motion:
    """A motion counted per cycle with its accelerations in seconds: what the pull depends on."""
    return Motion(
        motion.hand_m,
        motion.hand_velocity / cycle_s,
        motion.hand_acceleration / cycle_s**2,
        motion.tether_turns,
        motion.tether_rate / cycle_s,
        motion.tether_acceleration / cycle_s**2,
        motion.head_m,
        motion.head_velocity / cycle_s,
        motion.head_acceleration / cycle_s**2,
    )


def _slack(
    pattern: Pattern, prop: Prop, cycle_s: float, plane: PlacedPlane
) -> tuple[tuple[float, float], ...]:
    """Stretches with a negative pull, their ends found by halving."""
    found: list[tuple[float, float]] = []
    for index, (start, segment) in enumerate(zip(pattern.starts, pattern.segments, strict=True)):

        def pull(passed: Floats, index: int = index) -> Floats:
            return pull_n(segment_motion(pattern, index, passed, cycle_s=cycle_s), prop, plane)

        for low, high in _negative_stretches(pull, np.linspace(0.0, 1.0, 721)):
            share = float(segment.share)
            found.append((float(start) + low * share, float(start) + high * share))
    return _joined(found)


def _negative_stretches(
    pull: Callable[[Floats], Floats], grid: Floats
) -> list[tuple[float, float]]:
    negative = pull(grid) < 0
    edges = np.flatnonzero(negative[1:] != negative[:-1])
    low, high = grid[edges], grid[edges + 1]
    for _ in range(50):
        middle = (low + high) / 2
        as_low = (pull(middle) < 0) == negative[edges]
        low, high = np.where(as_low, middle, low), np.where(as_low, high, middle)
    cuts = [0.0, *((low + high) / 2), 1.0]
    first = bool(negative[0])
    return [
        (float(cuts[k]), float(cuts[k + 1])) for k in range(len(cuts) - 1) if first == (k % 2 == 0)
    ]


def _joined(found: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Stretches that touch made one, across joints and the end of the cycle."""
    joined: list[tuple[float, float]] = []
    for low, high in found:
        if joined and low - joined[-1][1] < 1e-9:
            joined[-1] = (joined[-1][0], high)
        else:
            joined.append((low, high))
    if len(joined) > 1 and joined[0][0] < 1e-9 and joined[-1][1] > 1 - 1e-9:
        first = joined.pop(0)
        joined[-1] = (joined[-1][0], 1 + first[1])
    return tuple(joined)
