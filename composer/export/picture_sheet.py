"""A contact sheet: many moves on one page, each small, named and told in figures."""

from collections.abc import Sequence
from math import ceil

from composer.export.choice import View
from composer.export.picture import QUIET_INK, Picture, Shape, Words
from composer.export.picture_lens import Box, Extent, extent_m, fitted_lens
from composer.export.picture_move import move_shapes
from composer.motion.body import Body
from composer.motion.plane import Plane
from composer.moves.model import Move
from composer.moves.perform import Performance

CELL_PX = 300
CAPTION_PX = 46
HEADER_PX = 64
LIGHT = 0.55
"""Line widths of a cell against a page of its own."""
_PLANE_NOTES = {Plane.WALL: "", Plane.WHEEL: ", seen from the side", Plane.FLOOR: ", from above"}


def contact_sheet(
    shown: Sequence[tuple[Move, Performance]],
    body: Body,
    view: View = View.PERFORMER,
    *,
    columns: int = 6,
    title: str = "Moves",
) -> Picture:
    """All of the moves in rows, in the order given.

    Raises
    ------
    ValueError
        If there is nothing to show or not one column.
    """
    if not shown or columns < 1:
        raise ValueError("a sheet shows at least one move in at least one column")
    columns = min(columns, len(shown))
    step = CELL_PX + CAPTION_PX
    width = columns * CELL_PX
    height = HEADER_PX + ceil(len(shown) / columns) * step
    eyes = "performer's view" if view is View.PERFORMER else "audience's view, the mirror image"
    shapes: list[Shape] = [
        Words(20, 34, title, 22),
        Words(20, 54, f"{eyes}; line: right head, dots: left head", 13, QUIET_INK),
    ]
    extents = _extents(shown, body, view)
    for index, (move, performance) in enumerate(shown):
        row, column = divmod(index, columns)
        x, y = float(column * CELL_PX), float(HEADER_PX + row * step)
        box = Box(x + 4, y + 4, CELL_PX - 8, CELL_PX - 8)
        lens = fitted_lens(performance, view, box, extents[performance.plane])
        shapes += move_shapes(performance, body, lens, numbered=False, light=LIGHT)
        shapes += _caption(move, performance, x, y + CELL_PX)
    names = ", ".join(move.name for move, _ in shown)
    return Picture(width, height, tuple(shapes), title, names)


def _extents(
    shown: Sequence[tuple[Move, Performance]], body: Body, view: View
) -> dict[Plane, Extent]:
    """One extent for each plane, so that performers of a plane are all of one size."""
    found: dict[Plane, Extent] = {}
    for _, performance in shown:
        extent = extent_m(performance, body, view)
        known = found.get(performance.plane, extent)
        found[performance.plane] = extent.with_others([known])
    return found


def _caption(move: Move, performance: Performance, x: float, y: float) -> list[Shape]:
    counts = [str(len(track.downbeats)) for track in performance.tracks.values()]
    downbeats = counts[0] if len(set(counts)) == 1 else " and ".join(counts)
    plural = "" if downbeats == "1" else "s"
    middle = x + CELL_PX / 2
    size = 13 if len(move.name) < 40 else 11
    return [
        Words(middle, y + 14, move.name, size, anchor="middle"),
        Words(
            middle,
            y + 32,
            f"{downbeats} downbeat{plural}{_PLANE_NOTES[performance.plane]}",
            11,
            QUIET_INK,
            "middle",
        ),
    ]
