"""One move on a page of its own: named, its marks explained, a scale, and whose view it is."""

from textwrap import wrap

import numpy as np

from composer.export.choice import View
from composer.export.picture import QUIET_INK, Picture, Shape, Stroke, Words
from composer.export.picture_lens import Box, Lens, extent_m, fitted_lens, view_words
from composer.export.picture_move import meeting_beats, move_shapes
from composer.motion.body import Body
from composer.moves.measure_words import count_words
from composer.moves.model import Move
from composer.moves.perform import Performance

SIDE_PX = 900
"""The side at which letters and lines have the sizes written here; others are to scale."""
LETTERS_A_LINE = 115
TITLE_LETTERS = 52
"""Longer names are set smaller."""


def move_picture(
    move: Move,
    performance: Performance,
    body: Body,
    view: View = View.PERFORMER,
    *,
    side: int = SIDE_PX,
) -> Picture:
    """The move on a page ``side`` pixels wide and somewhat higher."""
    unit = side / SIDE_PX
    box = Box(0, 110 * unit, side, side - 110 * unit)
    lens = fitted_lens(performance, view, box, extent_m(performance, body, view))
    footer = _footer(performance, view)
    shapes = (
        *move_shapes(performance, body, lens, numbered=True, light=unit),
        *_scale_bar(lens, side, unit),
        *_header(move, unit),
        *(
            Words(28 * unit, side + (20 + 24 * row) * unit, line, 14 * unit, QUIET_INK)
            for row, line in enumerate(footer)
        ),
    )
    height = side + round((24 * len(footer) + 16) * unit)
    return Picture(side, height, shapes, move.name, f"{move.words} {'; '.join(footer)}")


def _header(move: Move, unit: float) -> list[Shape]:
    size = 28 * min(1.0, TITLE_LETTERS / len(move.name))
    return [
        Words(28 * unit, 46 * unit, move.name, size * unit),
        *(
            Words(28 * unit, (72 + 20 * row) * unit, line, 15 * unit, QUIET_INK)
            for row, line in enumerate(wrap(move.words, LETTERS_A_LINE))
        ),
    ]


def _scale_bar(lens: Lens, side: int, unit: float) -> list[Shape]:
    length = 0.5 * lens.scale
    right, y = side - 28 * unit, side - 8 * unit
    bar = np.array([[right - length, y], [right, y]])
    return [
        Stroke(bar, QUIET_INK, 1.5 * unit),
        Words(right - length / 2, y - 7 * unit, "0.5 m", 12 * unit, QUIET_INK, "middle"),
    ]


def _footer(performance: Performance, view: View) -> tuple[str, ...]:
    lines = [
        view_words(performance.plane, view),
        "line: right head; dots at even times: left head; grey: hands' paths",
        "triangle: downbeats of the right, square: of the left, with their counts; "
        "filled and open circle: where they begin",
    ]
    beats = meeting_beats(performance)
    if beats:
        counts = ", ".join(count_words(beat) for beat in beats)
        lines.append(f"crossed ring: the heads meet, on counts {counts}")
    return tuple(lines)
