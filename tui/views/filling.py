"""Proposals for whole stretches in words: fillings, settled entries, strong moments."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from composer.arrange.effect import Effect
from composer.arrange.moments import StrongMoment
from composer.check.findings import Finding
from composer.moves.library import Library
from composer.score.parts import PlacedMove, performed_part
from composer.score.routine import Placement, Routine
from composer.timing.beats import BeatSpan, beats_words
from composer.timing.grid import MusicGrid
from tui.views.marks import LEVEL_GLYPHS
from tui.views.paper import Line, Piece, shortened
from tui.views.performed import MoveDrawer, style_words
from tui.views.rows import Zoom, sheet_rows
from tui.views.sheet import Geometry, block, move_line_index
from tui.views.sheet_view import blank_sheet, filled_sheet
from tui.views.words import count_pieces

if TYPE_CHECKING:
    from composer.arrange.highlights import Filling
    from composer.arrange.solve import Solution

MOST_ROWS = 8
"""Of the sheet in a preview: sixteen bars of four."""


def bars_words(grid: MusicGrid, span: BeatSpan) -> str:
    """``"bars 9-16"``; a bar is told whole, however little of it is meant."""
    first, last = grid.meter_map.position(span.start_beat), grid.meter_map.position(span.end_beat)
    end_bar = last.bar - (1 if last.count == 1 else 0)
    return f"bar {first.bar}" if end_bar <= first.bar else f"bars {first.bar}-{end_bar}"


def stretch_lines(
    routine: Routine, performer: str, span: BeatSpan, library: Library, width_cells: int
) -> tuple[Line, ...]:
    """The rows of the sheet in a stretch, their moves only."""
    grid, who = routine.grid, routine.performer(performer)
    rows = [
        row
        for row in sheet_rows(grid, Zoom.EIGHTS, first_beat=min(span.start_beat, grid.end_beat))
        if row.span.intersects(span)
    ]
    drawn = MoveDrawer(library).draw(performed_part(routine, performer), who)
    geometry = Geometry(width_cells, Zoom.EIGHTS)
    view = filled_sheet(blank_sheet(grid, tuple(rows), None), drawn, (), geometry)
    lines: list[Line] = []
    for content in view.contents[:MOST_ROWS]:
        first = move_line_index(content)
        lines += block(content, geometry)[first:-1]
    left = len(rows) - MOST_ROWS
    return (*lines, *(((Piece(f"     and {left} rows more", "quiet"),),) if left > 0 else ()))


# ------------------------------------------------------------------ fillings


def filling_row(filling: "Filling") -> Line:
    """A tick, or what it brings; then its moves with their beats."""
    moves = ", ".join(f"{p.move} {float(p.span.length_beats):g}" for p in filling.placements)
    head = count_pieces(filling.adds) if filling.adds else (Piece("✓", "good"),)
    return (*head, Piece(f" {moves}"))


def filling_preview(
    filling: "Filling", performer: str, span: BeatSpan, library: Library, width_cells: int
) -> tuple[Line, ...]:
    """The gravest it brings, and the stretch as it would be."""
    return (
        finding_or_none(filling.adds),
        *stretch_lines(filling.routine, performer, span, library, width_cells),
    )


def finding_or_none(findings: Sequence[Finding]) -> Line:
    if not findings:
        return (Piece(" nothing found in it, nor at its two ends", "good"),)
    worst = max(findings, key=lambda finding: finding.level)
    glyph = LEVEL_GLYPHS[worst.level]
    return (Piece(f" {glyph} {worst.rule}", str(worst.level)), Piece(f": {worst.message}", "quiet"))


# ------------------------------------------------------------------ settling


def settled_row(what: str, found: "Solution", gained: Effect) -> Line:
    """What was free to change, how many moves change, and what goes and comes."""
    count = len(found.changed)
    changes = f"{count} changed" if count else "nothing is better"
    tail = f", takes away {len(gained.removes)}, brings {len(gained.adds)}" if count else ""
    return (Piece(f"{what}: ", "strong"), Piece(changes + tail))


def settled_preview(
    found: "Solution", gained: Effect, grid: MusicGrid, width_cells: int, most_lines: int = 9
) -> tuple[Line, ...]:
    """Whether all is smooth then, or what stands in the way; the changes one by one."""
    lines: list[Line] = [*blocked_lines(found, grid, width_cells), *_gained_lines(gained)]
    room = max(1, most_lines - len(lines))
    for _, new in found.changed[:room]:
        place = grid.meter_map.position(new.span.start_beat)
        text = f" {place.bar}.{place.count} {style_words(new)}"
        lines.append((Piece(shortened(text, width_cells)),))
    left = len(found.changed) - room
    if left > 0:
        lines[-1] = (Piece(f" and {left + 1} more changes", "quiet"),)
    return tuple(lines)


def blocked_lines(found: "Solution", grid: MusicGrid, width_cells: int) -> tuple[Line, ...]:
    """The change that no choice takes smoothly; or that all flow."""
    if found.blocked is None:
        return ((Piece(" every change of moves here is smooth so", "good"),),)
    place = grid.place_text(found.blocked.beat)
    return (
        (Piece(f" ▲ no choice is smooth throughout; what binds is at {place}:", "warning"),),
        (Piece(shortened(f"   {found.blocked.words}", width_cells), "warning"),),
    )


def _gained_lines(gained: Effect) -> list[Line]:
    lines: list[Line] = []
    for title, findings in (("takes away", gained.removes), ("brings", gained.adds)):
        if findings:
            worst = max(findings, key=lambda finding: finding.level)
            text = f"{LEVEL_GLYPHS[worst.level]} {worst.rule}"
            lines.append((Piece(f" {title} ", "quiet"), Piece(text, str(worst.level))))
    return lines


# ------------------------------------------------------------------ strong moments


def moment_row(moment: StrongMoment, grid: MusicGrid, move: PlacedMove | None) -> Line:
    """Where it is, what happens there, and what stands there now."""
    stands = (Piece("free", "quiet"),) if move is None else _stands(move.placement, moment)
    place = grid.place_text(moment.beat)
    return (Piece(f"{place:<28} ", "strong"), Piece(f"{shortened(moment.words, 26):<27}"), *stands)


def _stands(placement: Placement, moment: StrongMoment) -> tuple[Piece, ...]:
    begins = placement.span.start_beat == moment.beat
    pinned = " pinned" if placement.pinned and begins else ""
    return (Piece(f"{'' if begins else 'inside '}{placement.move}{pinned}", "quiet"),)


def length_words(span: BeatSpan) -> str:
    return beats_words(span.length_beats)
