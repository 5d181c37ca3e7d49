"""Everybody's parts as values: the list to switch between them, and all of them side by side."""

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from composer.arrange.compare import following_words
from composer.check.findings import Finding, Level
from composer.check.landing import LandingRow
from composer.score.parts import PlacedMove
from composer.score.routine import Routine
from tui.views.marks import LEVEL_GLYPHS
from tui.views.paper import Line, LineWriter, Piece, shortened
from tui.views.rows import Row
from tui.views.words import count_pieces

GUTTER_CELLS = 6
"""Bar number and a mark where all close."""
NARROWEST_CELLS = 8
FOLLOWED, GOES_ON, MIRRORED = "»", "¦", "⇄"


@dataclass(frozen=True, slots=True)
class PartChoice:
    """A performer as the part switcher lists her."""

    performer: str
    words: str
    """What her part is made of: her own moves and whom she follows."""
    counts: tuple[Piece, ...]


def part_choices(routine: Routine, findings: Sequence[Finding]) -> tuple[PartChoice, ...]:
    """Every performer with what her part is made of and how much is found about it."""
    return tuple(
        PartChoice(
            performer.name,
            part_words(routine, performer.name),
            count_pieces([one for one in findings if one.is_about(performer.name)]),
        )
        for performer in routine.performers
    )


def part_words(routine: Routine, performer: str) -> str:
    """``"14 moves of her own; follows Wren mirrored from bar 17, count 1 to bar 25, count 1"``."""
    part = routine.part(performer)
    words = []
    if part.placements:
        count = len(part.placements)
        words.append(f"{count} move{'' if count == 1 else 's'} of her own")
    words += [following_words(one, routine.grid) for one in part.following]
    return "; ".join(words) or "nothing yet"


def next_performer(routine: Routine, performer: str, step: int) -> str:
    """The performer after or before one, going round."""
    names = [one.name for one in routine.performers]
    return names[(names.index(performer) + step) % len(names)]


# ------------------------------------------------------------------ side by side


@dataclass(frozen=True, slots=True)
class Columns:
    """Where each shown performer's column begins; those that do not fit are scrolled to."""

    names: tuple[str, ...]
    starts: tuple[int, ...]
    width_cells: int

    def performer_at(self, column: int) -> str:
        """Whose column a cell lies in; empty in the gutter."""
        index = bisect_right(self.starts, column) - 1
        return self.names[index] if index >= 0 else ""


def fitted_columns(names: Sequence[str], width_cells: int, first: int = 0) -> Columns:
    """As many columns as a width holds, from the ``first`` performer on."""
    room = max(NARROWEST_CELLS, width_cells - GUTTER_CELLS)
    many = max(1, min(len(names), room // NARROWEST_CELLS))
    first = min(max(0, first), len(names) - many)
    each = room // many
    shown = tuple(names[first : first + many])
    return Columns(shown, tuple(GUTTER_CELLS + each * k for k in range(many)), each)


def heading_line(columns: Columns, selected: str) -> Line:
    """The names over their columns."""
    writer = LineWriter(GUTTER_CELLS + columns.width_cells * len(columns.names))
    writer.put(0, "bar", "quiet")
    for name, start in zip(columns.names, columns.starts, strict=True):
        role = "ruler cursor" if name == selected else "strong"
        writer.put(start, shortened(name, columns.width_cells - 1), role)
    return writer.line()


def parts_lines(
    rows: Sequence[Row],
    parts: Mapping[str, Sequence[PlacedMove]],
    columns: Columns,
    *,
    landings: Sequence[LandingRow] = (),
    findings: Sequence[Finding] = (),
    cursor: Fraction | None = None,
) -> tuple[Line, ...]:
    """One line for each row of the sheet: what each performer begins or goes on with there.

    A followed move bears the sign FOLLOWED, one done as its mirror image MIRRORED, one that goes on
    from the row before GOES_ON; a warning or an error stands at the end of its column.
    ``*`` in the gutter: all close where the row begins.
    """
    width = GUTTER_CELLS + columns.width_cells * len(columns.names)
    closing = {row.beat for row in landings if row.all_close}
    dealt = {name: _by_row(rows, parts.get(name, ())) for name in columns.names}
    marks = {name: _marks_by_row(rows, findings, name) for name in columns.names}
    lines = []
    for index, row in enumerate(rows):
        writer = LineWriter(width)
        here = cursor is not None and row.span.contains(cursor)
        all_close = "*" if row.span.start_beat in closing else ""
        writer.put(0, f"{row.label:>4}{all_close}", "ruler cursor" if here else "quiet")
        for name, start in zip(columns.names, columns.starts, strict=True):
            words, role = _cell(row, dealt[name][index])
            mark = marks[name].get(index)
            room = columns.width_cells - 1 - (2 if mark else 0)
            writer.put(start, shortened(words, room), role)
            if mark:
                at = start + columns.width_cells - 2
                writer.put(at, LEVEL_GLYPHS[mark], str(mark))
        lines.append(writer.line())
    return tuple(lines)


def _by_row(rows: Sequence[Row], moves: Sequence[PlacedMove]) -> list[list[PlacedMove]]:
    dealt: list[list[PlacedMove]] = [[] for _ in rows]
    starts = [float(row.span.start_beat) for row in rows]
    for move in moves:
        start, end = float(move.span.start_beat), float(move.span.end_beat)
        index = max(0, bisect_right(starts, start) - 1)
        while index < len(rows) and starts[index] < end:
            dealt[index].append(move)
            index += 1
    return dealt


def _marks_by_row(rows: Sequence[Row], findings: Sequence[Finding], name: str) -> dict[int, Level]:
    """The gravest warning or error about a performer in each row."""
    starts = [float(row.span.start_beat) for row in rows]
    found: dict[int, Level] = {}
    for one in findings:
        if one.level > Level.NOTE and one.is_about(name):
            index = max(0, bisect_right(starts, float(one.beat)) - 1)
            found[index] = max(one.level, found.get(index, one.level))
    return found


def _cell(row: Row, moves: Sequence[PlacedMove]) -> tuple[str, str]:
    """What a performer's cell of a row says; where several begin, all of them in order."""
    begun = [move for move in moves if row.span.contains(move.span.start_beat)]
    if not begun:
        if not moves:
            return "", ""
        return f"{GOES_ON} {moves[-1].placement.move}", "quiet"
    words = "; ".join(_words(row, move) for move in begun)
    followed = all(move.written_by != move.performer for move in begun)
    return words, "followed move name" if followed else "move name"


def _words(row: Row, move: PlacedMove) -> str:
    placement = move.placement
    passed = move.span.start_beat - row.span.start_beat
    count = f"{passed + 1}: " if passed else ""
    sign = f"{FOLLOWED} " if move.written_by != move.performer else ""
    mirrored = f"{MIRRORED} " if placement.style.mirrored else ""
    return f"{count}{sign}{mirrored}{placement.move}"
