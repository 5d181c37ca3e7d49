"""From a pattern's own plane into the room.

The performer's frame, metres: x to her right, y forward to the audience, z up. A pattern's complex
place across + up i becomes a point of three coordinates.
"""

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from composer.motion.plane import Plane

_AXES = {
    Plane.WALL: ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    Plane.WHEEL: ((0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    Plane.FLOOR: ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
}


def plane_axes(
    plane: Plane, *, facing_turns: Fraction = Fraction(0), tilt_turns: float = 0.0
) -> NDArray[np.float64]:
    """Unit vectors of a plane's across and up directions in the room, shape=(2, 3).

    Parameters
    ----------
    facing_turns : Fraction
        How far the body has turned from facing the audience, counter-clockwise seen from above.
    tilt_turns : float
        How far the plane leans about its across axis; positive takes its up side towards its
        normal (across x up).
    """
    across, up = (np.array(axis) for axis in _AXES[plane])
    normal = np.cross(across, up)
    angle = 2 * np.pi * tilt_turns
    up = np.cos(angle) * up + np.sin(angle) * normal
    turn = 2 * np.pi * float(facing_turns)
    body = np.array(
        [
            [np.cos(turn), -np.sin(turn), 0.0],
            [np.sin(turn), np.cos(turn), 0.0],
            [0.0, 0.0, 1.0],
        ]
    )
    return np.array([body @ across, body @ up])


@dataclass(frozen=True, slots=True)
class PlacedPlane:
    """A pattern's plane as it stands in the room: which one, how turned and tilted, and where."""

    plane: Plane = Plane.WALL
    facing_turns: Fraction = Fraction(0)
    tilt_turns: float = 0.0
    origin_m: tuple[float, float, float] = (0.0, 0.0, 0.0)
    """Where the pattern's own origin lies."""

    @property
    def axes(self) -> NDArray[np.float64]:
        """Across and up in the room, shape=(2, 3)."""
        return _axes_of(self)

    @property
    def normal(self) -> NDArray[np.float64]:
        """Across x up: the axis about which the plane's own counter-clockwise turns, shape=(3,)."""
        return _normal_of(self)

    def place(self, places_m: ArrayLike) -> NDArray[np.float64]:
        """Complex places as room points, shape=(n, 3)."""
        return np.asarray(self.vector(places_m) + np.asarray(self.origin_m))

    def vector(self, vectors: ArrayLike) -> NDArray[np.float64]:
        """Complex velocities or accelerations as room vectors, shape=(n, 3)."""
        flat = np.atleast_1d(np.asarray(vectors, dtype=complex))
        return np.asarray(np.stack([flat.real, flat.imag], axis=-1) @ self.axes)


@lru_cache(maxsize=256)
def _axes_of(placed: PlacedPlane) -> NDArray[np.float64]:
    axes = plane_axes(placed.plane, facing_turns=placed.facing_turns, tilt_turns=placed.tilt_turns)
    axes.flags.writeable = False
    return axes


@lru_cache(maxsize=256)
def _normal_of(placed: PlacedPlane) -> NDArray[np.float64]:
    normal = np.asarray(np.cross(*_axes_of(placed)))
    normal.flags.writeable = False
    return normal


def in_room(
    places: ArrayLike,
    plane: Plane,
    *,
    facing_turns: Fraction = Fraction(0),
    tilt_turns: float = 0.0,
    origin_m: ArrayLike = (0.0, 0.0, 0.0),
) -> NDArray[np.float64]:
    """Complex places (or velocities, with origin 0) of a plane as room vectors, shape=(n, 3)."""
    placed = PlacedPlane(plane, facing_turns, tilt_turns)
    return np.asarray(placed.vector(places) + np.asarray(origin_m, dtype=float))
