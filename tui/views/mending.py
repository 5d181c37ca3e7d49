"""A remedy in words: what it changes, what it takes away and brings, the sheet before and after."""

from collections.abc import Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

from composer.check.findings import Finding
from composer.moves.library import Library
from composer.score.parts import performed_part
from composer.score.routine import Routine
from tui.views.marks import LEVEL_GLYPHS
from tui.views.paper import Line, Piece
from tui.views.performed import MoveDrawer
from tui.views.rows import Zoom, row_index_at, sheet_rows
from tui.views.sheet import Geometry, block
from tui.views.sheet_view import blank_sheet, filled_sheet

if TYPE_CHECKING:
    from composer.arrange.remedies import Remedy


def remedy_row(remedy: "Remedy") -> Line:
    """``"enter on downbeat 2"`` and how many findings go and come."""
    tail = f"  takes away {len(remedy.removes)}"
    if remedy.adds:
        tail += f", brings {len(remedy.adds)}"
    return (Piece(remedy.words, "strong"), Piece(tail, "quiet"))


def remedy_preview(
    remedy: "Remedy",
    before: Routine,
    performer: str,
    beat: Fraction,
    library: Library,
    width_cells: int,
) -> tuple[Line, ...]:
    """Findings that go and come, then the row of the place as it is and as it would be."""
    lines: list[Line] = [
        *_finding_lines("takes away", remedy.removes),
        *_finding_lines("brings", remedy.adds),
    ]
    for title, routine in (("as it is", before), ("mended", remedy.routine)):
        lines.append((Piece(f" {title}", "title"),))
        lines += row_lines(routine, performer, beat, library, width_cells)
    return tuple(lines)


def _finding_lines(title: str, findings: Sequence[Finding]) -> list[Line]:
    shown = sorted(findings, key=lambda finding: -finding.level)[:2]
    return [
        (
            Piece(f" {title} ", "quiet"),
            Piece(f"{LEVEL_GLYPHS[finding.level]} {finding.rule}", str(finding.level)),
            Piece(f" {finding.message}", "quiet"),
        )
        for finding in shown
    ]


def row_lines(
    routine: Routine, performer: str, beat: Fraction, library: Library, width_cells: int
) -> tuple[Line, ...]:
    """The eight around a beat with its moves and downbeats, as the sheet has it."""
    grid, who = routine.grid, routine.performer(performer)
    rows = sheet_rows(grid, Zoom.EIGHTS, first_beat=min(beat, Fraction(0)))
    drawn = MoveDrawer(library).draw(performed_part(routine, performer), who)
    geometry = Geometry(width_cells, Zoom.EIGHTS)
    view = filled_sheet(blank_sheet(grid, rows, None), drawn, (), geometry)
    index = row_index_at(rows, beat)
    around = range(max(0, index - 1), index + 1)
    return tuple(
        line
        for row in around
        for line in block(view.contents[row], geometry)[bool(view.contents[row].heading) :]
    )
