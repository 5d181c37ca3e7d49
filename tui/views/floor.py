"""The floor plan as a value: lines of cells with roles, and what lies under a cell."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, groupby

from composer.export.choice import View
from composer.export.floor_cells import (
    Cell,
    FloorScale,
    edge_words,
    floor_cells,
    floor_scale,
)
from composer.score.floor import Place, reach_m, standings, ways
from composer.score.routine import Routine
from tui.views.going import step_among
from tui.views.paper import Line, Piece

MEETING = "×"
"""Drawn where a ring runs that another one meets."""


@dataclass(frozen=True)
class FloorPage:
    """One moment of the floor, drawn."""

    beat: Fraction
    view: View
    lines: tuple[Line, ...]
    """Top edge, the cells between two side edges, bottom edge, each of one length."""
    scale: FloorScale
    cells: tuple[tuple[Cell, ...], ...]

    def performer_at(self, column: int, line: int) -> str:
        """Whose name or circle stands in a cell of the page; empty where nobody's does."""
        column, row = column - 1, line - 2
        if not (0 <= row < self.scale.rows and 0 <= column < self.scale.columns):
            return ""
        for reach in (0, 1):
            for cell in self.cells[row][max(0, column - reach) : column + reach + 1]:
                if cell.role == "performer":
                    return cell.performer
        return self.cells[row][column].performer

    def place_at(self, column: int, line: int) -> Place:
        """The place in the middle of a cell of the page, beside the floor too."""
        return self.scale.place(column - 1, line - 2)


def floor_page(
    routine: Routine,
    beat: Fraction,
    *,
    view: View = View.AUDIENCE,
    columns: int = 64,
    rows: int = 24,
    selected: str = "",
) -> FloorPage:
    """The floor on a beat in so many cells, edges included.

    Parameters
    ----------
    selected : str
        The performer whose name and circle are drawn as chosen.
    """
    scale = floor_scale(routine.stage, view, columns - 2, rows - 4)
    cells = floor_cells(routine, beat, scale)
    meeting = {name for pair in meeting_now(routine, beat) for name in pair}
    lines = _framed(cells, scale, selected, meeting)
    return FloorPage(beat, view, lines, scale, cells)


def meeting_now(routine: Routine, beat: Fraction) -> tuple[tuple[str, str], ...]:
    """Everybody after another whose circles meet on a beat."""
    reach = {one.name: reach_m(one) for one in routine.performers}
    return tuple(
        (one.performer, other.performer)
        for one, other in combinations(standings(routine, beat), 2)
        if one.place.distance_m(other.place) < reach[one.performer] + reach[other.performer]
    )


def _framed(
    cells: Sequence[Sequence[Cell]], scale: FloorScale, selected: str, meeting: set[str]
) -> tuple[Line, ...]:
    width = scale.columns + 2
    top, bottom = (words.center(width) for words in edge_words(scale.stage, scale.view))
    side = Piece("│", "quiet")
    return (
        (Piece(top, "remark"),),
        (Piece(f"┌{'─' * scale.columns}┐", "quiet"),),
        *((side, *_pieces(line, selected, meeting), side) for line in cells),
        (Piece(f"└{'─' * scale.columns}┘", "quiet"),),
        (Piece(bottom, "remark"),),
    )


ROLES = {
    "floor": "",
    "middle": "quiet",
    "circle": "quiet",
    "walk": "remark",
    "obstacle": "warning",
    "performer": "strong",
}
CHOSEN_ROLES = {"circle": "key", "walk": "key", "performer": "ruler cursor"}


def _pieces(line: Sequence[Cell], selected: str, meeting: set[str]) -> Line:
    def drawn(cell: Cell) -> tuple[str, str]:
        if cell.role == "circle" and cell.performer in meeting:
            return MEETING, "error"
        chosen = bool(selected) and cell.performer == selected
        return cell.letter, CHOSEN_ROLES[cell.role] if chosen else ROLES[cell.role]

    return tuple(
        Piece("".join(letter for letter, _ in group), role)
        for role, group in groupby(map(drawn, line), lambda one: one[1])
    )


# ------------------------------------------------------------------ stepping through


def floor_stops(routine: Routine) -> tuple[Fraction, ...]:
    """The beats to step through: where phrases begin and where somebody leaves or arrives."""
    edges = {edge for way in ways(routine).values() for edge in way.edges}
    starts = {phrase.start_beat for phrase in routine.grid.phrases}
    return tuple(sorted({Fraction(0), *edges, *starts}))


def next_stop(routine: Routine, beat: Fraction, step: int) -> Fraction:
    """The next stop or the one before; the same beat where there is none."""
    return step_among(floor_stops(routine), beat, step)
