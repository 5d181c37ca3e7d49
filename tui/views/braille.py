"""A move's trails as rows of terminal cells, in runs that one style can be given to."""

from dataclasses import dataclass
from itertools import groupby
from typing import Literal, TypeAlias

from composer.export.choice import View
from composer.export.picture_cells import BODY, BOTH, LEFT, NOTHING, RIGHT, Cells, move_cells
from composer.motion.body import Body
from composer.moves.perform import Performance

Role: TypeAlias = Literal["", "body", "right", "left", "both"]
_ROLES: dict[int, Role] = {
    NOTHING: "",
    BODY: "body",
    RIGHT: "right",
    LEFT: "left",
    BOTH: "both",
}


@dataclass(frozen=True, slots=True)
class CellRun:
    """Neighbouring cells of one row that are filled by one thing."""

    text: str
    role: Role


def trail_rows(
    performance: Performance,
    body: Body,
    view: View = View.PERFORMER,
    *,
    columns: int = 60,
    rows: int = 30,
    braille: bool = True,
) -> tuple[tuple[CellRun, ...], ...]:
    """One row of runs for each line; without ``braille`` in plain characters."""
    return cell_runs(
        move_cells(performance, body, view, columns=columns, rows=rows, braille=braille)
    )


def cell_runs(cells: Cells) -> tuple[tuple[CellRun, ...], ...]:
    """Lines of cells parted where what fills them changes."""
    return tuple(
        _row_runs(line, kinds)
        for line, kinds in zip(cells.lines, cells.filled_by.tolist(), strict=True)
    )


def _row_runs(line: str, kinds: list[int]) -> tuple[CellRun, ...]:
    paired = groupby(zip(line, kinds, strict=True), key=lambda cell: cell[1])
    return tuple(CellRun("".join(text for text, _ in run), _ROLES[kind]) for kind, run in paired)
