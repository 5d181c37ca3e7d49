"""A move's trails in the cells of a terminal: braille dots, or plain characters.

A braille cell holds 2 x 4 dots (The Unicode Standard, Braille Patterns: U+2800 plus one bit for
each dot), and a terminal's cell is about twice as high as wide, so the dots are square.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from composer.export.choice import View
from composer.export.picture_body import skeleton
from composer.export.picture_lens import Box, Lens, extent_m, fitted_lens
from composer.motion.body import Body
from composer.motion.hands import Hand
from composer.motion.kinematics import Floats
from composer.moves.perform import Performance

DOTS_ACROSS, DOTS_DOWN = 2, 4
_BITS = np.array([[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]])
"""Unicode's bit of each dot of a cell, shape=(4 down, 2 across)."""

NOTHING, BODY, RIGHT, LEFT, BOTH = range(5)
"""What fills a cell; a trail hides the body."""
_PLAIN = {NOTHING: " ", BODY: ".", RIGHT: "*", LEFT: "o", BOTH: "@"}
_FEWEST = 4


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """Lines of text of one length, and what fills each cell, shape=(rows, columns)."""

    lines: tuple[str, ...]
    filled_by: NDArray[np.int8]


class DotCanvas:
    """Dots that lines are drawn on, one layer for each of BODY, RIGHT and LEFT."""

    def __init__(self, columns: int, rows: int) -> None:
        if columns < _FEWEST or rows < _FEWEST:
            raise ValueError(f"a trail needs at least {_FEWEST} x {_FEWEST} cells")
        self.columns, self.rows = columns, rows
        self._layers = np.zeros((3, rows * DOTS_DOWN, columns * DOTS_ACROSS), dtype=bool)

    def draw(self, points: Floats, layer: int, *, dotted: bool = False) -> None:
        """A line through points, shape=(n, 2), in dots from the top left; outside is left out.

        A dotted line takes every other dot of a chessboard, so it stays dotted where it crosses
        itself.
        """
        steps = np.abs(np.diff(points, axis=0)).max(axis=1, initial=0.0)
        counts = np.maximum(1, np.ceil(2 * steps).astype(int))
        along = np.concatenate([np.linspace(0, 1, n, endpoint=False) for n in counts])
        start = np.repeat(points[:-1], counts, axis=0)
        way = np.repeat(np.diff(points, axis=0), counts, axis=0)
        dense = np.concatenate([start + way * along[:, None], points[-1:]])
        across, down = np.floor(dense).astype(int).T
        _, height, width = self._layers.shape
        inside = (across >= 0) & (across < width) & (down >= 0) & (down < height)
        if dotted:
            inside &= (across + down) % 2 == 0
        self._layers[layer - BODY, down[inside], across[inside]] = True

    def cells(self, *, braille: bool = True) -> Cells:
        """What has been drawn, as text."""
        filled = self._filled()
        trails = self._layers[1] | self._layers[2]
        by_cell = _by_cell(np.where(np.kron(filled >= RIGHT, _ONES), trails, self._layers[0]))
        if braille:
            codes = 0x2800 + (by_cell * _BITS).sum(axis=(2, 3))
            lines = tuple("".join(map(chr, row)) for row in codes)
        else:
            lines = tuple("".join(_PLAIN[int(kind)] for kind in row) for row in filled)
        return Cells(lines, filled)

    def _filled(self) -> NDArray[np.int8]:
        body, right, left = (_by_cell(layer).any(axis=(2, 3)) for layer in self._layers)
        filled = np.where(body, BODY, NOTHING)
        filled = np.where(right, RIGHT, filled)
        filled = np.where(left, np.where(right, BOTH, LEFT), filled)
        return filled.astype(np.int8)


_ONES = np.ones((DOTS_DOWN, DOTS_ACROSS), dtype=bool)


def _by_cell(dots: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Dots by cell, shape=(rows, columns, 4, 2)."""
    height, width = dots.shape
    parted = dots.reshape(height // DOTS_DOWN, DOTS_DOWN, width // DOTS_ACROSS, DOTS_ACROSS)
    return parted.swapaxes(1, 2)


def move_cells(
    performance: Performance,
    body: Body,
    view: View = View.PERFORMER,
    *,
    columns: int = 60,
    rows: int = 30,
    braille: bool = True,
) -> Cells:
    """Both heads' trails over one common cycle and the performer's figure, to one scale.

    The right head's trail is a whole line, the left one's is dotted. At 60 x 30 cells this takes a
    few milliseconds.
    """
    canvas = DotCanvas(columns, rows)
    box = Box(0, 0, columns * DOTS_ACROSS, rows * DOTS_DOWN)
    lens = fitted_lens(performance, view, box, extent_m(performance, body, view))
    for joints in skeleton(performance, body):
        canvas.draw(lens.page(joints), BODY)
    for hand in performance.tracks:
        layer = RIGHT if hand is Hand.RIGHT else LEFT
        canvas.draw(_head_points(performance, hand, lens), layer, dotted=hand is Hand.LEFT)
    return canvas.cells(braille=braille)


def _head_points(performance: Performance, hand: Hand, lens: Lens) -> Floats:
    samples = 96 * max(1, round(float(performance.cycle_length_beats))) + 1
    _, heads = performance.room_places_m(hand, np.linspace(0, 1, samples))
    return lens.page(heads)
