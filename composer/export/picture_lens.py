"""From the room onto the page: square to the plane of the move, in the performer's or the
audience's view, which are mirror images of each other."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from composer.export.choice import View
from composer.motion.body import Body
from composer.motion.kinematics import Floats
from composer.motion.plane import Plane
from composer.moves.perform import Performance

MARGIN_M = 0.10
ROOM_M = 0.75
"""At least so far to either side of the performer is shown, so that figures compare."""

SLANT = (-0.32, -0.18)
"""Where on the page what is nearer to the viewer goes, as shares of its distance: as in a cabinet
projection, whatever lies in one plane keeps its true shape."""

_AXES = {
    Plane.WALL: ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    Plane.WHEEL: ((0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    Plane.FLOOR: ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
}
_VIEW_WORDS = {
    (Plane.WALL, View.PERFORMER): "performer's view: her right is to the right",
    (Plane.WALL, View.AUDIENCE): "audience's view, the mirror image: her right is to the left",
    (Plane.WHEEL, View.PERFORMER): "from her right side: forward is to the right",
    (Plane.WHEEL, View.AUDIENCE): "from her left side: forward is to the left",
    (Plane.FLOOR, View.PERFORMER): "from above: forward is up the page",
    (Plane.FLOOR, View.AUDIENCE): "from above: forward, the audience, is down the page",
}


@dataclass(frozen=True, slots=True)
class Box:
    """A part of the page, in pixels."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Lens:
    """Room metres to page pixels, square to one plane."""

    plane: Plane
    across: tuple[float, float, float]
    up: tuple[float, float, float]
    scale: float
    """Pixels for each metre."""
    x: float
    y: float
    """Where on the page the room's origin comes."""
    slant: tuple[float, float] = (0.0, 0.0)

    def page(self, room_m: Floats) -> Floats:
        """Room points, shape=(n, 3), as page points, shape=(n, 2)."""
        flat = _flat(room_m, np.array([self.across, self.up]), self.slant)
        return np.stack([self.x + self.scale * flat[:, 0], self.y - self.scale * flat[:, 1]], 1)

    def nearness(self, room_m: Floats) -> Floats:
        """How far points lie towards the viewer, past the middle of the performer; shape=(n,)."""
        return np.asarray(room_m @ np.cross(self.across, self.up))


def view_words(plane: Plane, view: View) -> str:
    """From where a picture of that plane is seen."""
    return _VIEW_WORDS[plane, view]


@dataclass(frozen=True, slots=True)
class Extent:
    """What a picture must show, in metres of its own across and up."""

    low: tuple[float, float]
    high: tuple[float, float]

    def with_others(self, others: Iterable["Extent"]) -> "Extent":
        """The smallest extent that holds this one and the others."""
        every = [self, *others]
        left, bottom = (min(extent.low[axis] for extent in every) for axis in (0, 1))
        right, top = (max(extent.high[axis] for extent in every) for axis in (0, 1))
        return Extent((left, bottom), (right, top))


def extent_m(performance: Performance, body: Body, view: View) -> Extent:
    """The whole move and the performer, with a margin."""
    passed = np.linspace(0, 1, 721)
    places = np.concatenate(
        [place for hand in performance.tracks for place in performance.room_places_m(hand, passed)]
    )
    flat = _flat(places, _axes(performance.plane, view), slant_of(performance))
    upright = performance.plane is not Plane.FLOOR
    least = (-ROOM_M, 0.0 if upright else -ROOM_M)
    most = (ROOM_M, body.stature_m if upright else ROOM_M)
    low = np.minimum(least, flat.min(axis=0)) - MARGIN_M
    high = np.maximum(most, flat.max(axis=0)) + MARGIN_M
    return Extent((float(low[0]), float(low[1])), (float(high[0]), float(high[1])))


def fitted_lens(performance: Performance, view: View, box: Box, extent: Extent) -> Lens:
    """A lens that shows the extent as large as fits into the box, in its middle."""
    (left, bottom), (right, top) = extent.low, extent.high
    scale = min(box.width / (right - left), box.height / (top - bottom))
    across, up = _axes(performance.plane, view).tolist()
    return Lens(
        performance.plane,
        tuple(across),
        tuple(up),
        scale,
        box.x + box.width / 2 - (left + right) / 2 * scale,
        box.y + box.height / 2 + (bottom + top) / 2 * scale,
        slant_of(performance),
    )


def slant_of(performance: Performance) -> tuple[float, float]:
    """Aslant where hands have planes of their own or leave them; square otherwise."""
    leaves = any(len(steps) > 1 for steps in performance.depths.values())
    return SLANT if performance.plane is Plane.WHEEL or leaves else (0.0, 0.0)


def _axes(plane: Plane, view: View) -> Floats:
    across, up = (np.array(axis) for axis in _AXES[plane])
    if view is View.AUDIENCE:
        across = -across
        up = -up if plane is Plane.FLOOR else up
    return np.array([across, up])


def _flat(room_m: Floats, axes: Floats, slant: tuple[float, float]) -> Floats:
    nearness = room_m @ np.cross(axes[0], axes[1])
    return np.asarray(room_m @ axes.T + nearness[:, None] * np.array(slant))
