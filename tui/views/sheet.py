"""The count sheet as lines of text: what stands on each row, worked out without a terminal.

A row of the sheet is a block of lines: a heading where a phrase begins, the moves (one line, or one
for each hand where the hands differ), the downbeats of both hands, then marks with their words.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import inf

from composer.motion.hands import Hand
from composer.timing.beats import beats_words
from composer.timing.grid import MusicGrid, clock_text
from tui.views.marks import Mark
from tui.views.paper import Line, LineWriter, shortened
from tui.views.rows import Row, Zoom

GUTTER_CELLS = 16
"""Bar number or time, and eight marks of the sound."""
MOST_MARK_LINES = 4


@dataclass(frozen=True, eq=False)
class Drawn:
    """A placed move as the sheet shows it."""

    start_beat: Fraction
    end_beat: Fraction
    words: str
    hands: tuple[Hand, ...]
    own: bool = True
    """Written in this part, not followed from another's."""
    find_downbeats: Callable[[], tuple[tuple[Fraction, Hand], ...]] = tuple

    @cached_property
    def extent(self) -> tuple[float, float]:
        """Start and end as floats, as rows have them."""
        return float(self.start_beat), float(self.end_beat)

    @cached_property
    def downbeats(self) -> tuple[tuple[Fraction, Hand], ...]:
        """Beats of the timeline on which each hand's tether hangs; worked out when first shown."""
        return self.find_downbeats()


@dataclass(frozen=True, slots=True)
class RowContent:
    """Everything that stands on one row, to be compared and drawn."""

    row: Row
    moves: tuple[Drawn, ...] = ()
    marks: tuple[Mark, ...] = ()
    loudness: str = ""
    onsets: str = ""
    heading: str = ""
    time: str = ""


@dataclass(frozen=True, slots=True)
class Geometry:
    """Where beats stand across a sheet of a given width."""

    width_cells: int
    zoom: Zoom

    def cell_width(self, row: Row) -> int:
        return max(1, (self.width_cells - GUTTER_CELLS) // row.cells)

    def column(self, row: Row, beat: Fraction | float) -> int:
        """The text column of a beat on a row."""
        passed = (float(beat) - row.at) / float(row.cell_beats)
        return GUTTER_CELLS + int(passed * self.cell_width(row) + 1e-9)

    def beat_at(self, row: Row, column: int) -> Fraction:
        """The cell that a column of a row lies in, as the beat it begins on."""
        cell = (column - GUTTER_CELLS) // self.cell_width(row)
        inside = min(max(cell, 0), row.own_cells - 1)
        return row.span.start_beat + inside * row.cell_beats


def row_contents(
    rows: Sequence[Row], moves: Sequence[Drawn], marks: Sequence[Mark]
) -> list[tuple[tuple[Drawn, ...], tuple[Mark, ...]]]:
    """Moves and marks dealt out to the rows they stand on; both come in time order."""
    nexts = [*(row.at for row in rows[1:]), inf]
    moves_on: list[list[Drawn]] = [[] for _ in rows]
    marks_on: list[list[Mark]] = [[] for _ in rows]
    index = 0
    for move in moves:
        start, end = move.extent
        while nexts[index] <= start:
            index += 1
        moves_on[index].append(move)
        goes_on = index
        while nexts[goes_on] < end:
            goes_on += 1
            moves_on[goes_on].append(move)
    index = 0
    for mark in marks:
        while nexts[index] <= mark.at:
            index += 1
        marks_on[index].append(mark)
    return list(zip(map(tuple, moves_on), map(tuple, marks_on), strict=True))


def block(content: RowContent, geometry: Geometry) -> tuple[Line, ...]:
    """The lines of one row, top to bottom."""
    if geometry.zoom is Zoom.WHOLE:
        return (_whole_line(content, geometry),)
    lines = [_heading_line(content, geometry)] if content.heading else []
    lines += _move_lines(content, geometry)
    lines.append(_downbeat_line(content, geometry))
    return (*lines, *_mark_lines(content, geometry))


def block_height(content: RowContent, geometry: Geometry) -> int:
    """How many lines :func:`block` gives; only the marks are laid out for it."""
    if geometry.zoom is Zoom.WHOLE:
        return 1
    height = 2 + bool(content.heading) + _hands_differ(content)
    return height + (len(_packed_marks(content, geometry)) if content.marks else 0)


def move_line_index(content: RowContent) -> int:
    """Which line of a block is its first line of moves."""
    return 1 if content.heading else 0


def heading_words(grid: MusicGrid, index: int) -> str:
    """``"verse · bars 9-16 · 32 beats"``."""
    phrase, span = grid.phrases[index], grid.phrase_span(index)
    first = grid.meter_map.position(span.start_beat)
    last = grid.meter_map.position(span.end_beat)
    end_bar = last.bar - (1 if last.count == 1 else 0)
    bars = f"bar {first.bar}" if end_bar <= first.bar else f"bars {first.bar}-{end_bar}"
    start = "" if first.count == 1 else f" from count {first.count}"
    return f"{phrase.name} · {bars}{start} · {beats_words(span.length_beats)}"


def row_time(grid: MusicGrid, row: Row) -> str:
    return clock_text(grid.tempo_map.seconds(row.span.start_beat)).rpartition(".")[0]


def ruler(row: Row, geometry: Geometry, cursor_beat: Fraction, first_count: int = 1) -> Line:
    """The line above the sheet: the counts of the row the cursor is on, its own in brackets."""
    writer = LineWriter(geometry.width_cells)
    writer.put(0, "  bar  sound", "ruler")
    cursor_cell = (cursor_beat - row.span.start_beat) // row.cell_beats
    words = ("1", "e", "&", "a") if geometry.zoom is Zoom.COUNTS else None
    for cell in range(row.own_cells):
        column = GUTTER_CELLS + cell * geometry.cell_width(row)
        text = words[cell] if words else str(cell + first_count)
        if cell == cursor_cell:
            writer.put(column - 1, f"[{text}]", "ruler cursor")
        else:
            writer.put(column, text, "ruler")
    return writer.line()


# ------------------------------------------------------------------ the lines of a block


def _heading_line(content: RowContent, geometry: Geometry) -> Line:
    writer = LineWriter(geometry.width_cells)
    writer.put(0, "═" * geometry.width_cells, "heading rule")
    writer.put(2, f" {shortened(content.heading, geometry.width_cells - 6)} ", "heading")
    return writer.line()


def _hands_differ(content: RowContent) -> bool:
    return any(len(move.hands) == 1 for move in content.moves)


def _move_lines(content: RowContent, geometry: Geometry) -> list[Line]:
    if not _hands_differ(content):
        return [_move_line(content, geometry, None)]
    return [_move_line(content, geometry, hand) for hand in (Hand.RIGHT, Hand.LEFT)]


def _move_line(content: RowContent, geometry: Geometry, hand: Hand | None) -> Line:
    writer = LineWriter(geometry.width_cells)
    if hand is not Hand.LEFT:
        writer.put(0, f"{content.row.label:>6}", "bar")
        writer.put(7, content.loudness, "sound")
    if hand is not None:
        writer.put(GUTTER_CELLS - 1, "R" if hand is Hand.RIGHT else "L", f"{hand} hand")
    for move in content.moves:
        if hand is None or hand in move.hands:
            ditto = hand is Hand.LEFT and len(move.hands) == 2
            _put_move(writer, content.row, geometry, move, '"' if ditto else move.words)
    return writer.line()


def _put_move(writer: LineWriter, row: Row, geometry: Geometry, move: Drawn, words: str) -> None:
    begins_at, ends_at = move.extent
    start = geometry.column(row, max(begins_at, row.at))
    end = geometry.column(row, min(ends_at, row.until))
    role = "move" if move.own else "followed move"
    writer.put(start, "─" * (end - start), role)
    if begins_at >= row.at:
        writer.put(start, "┠", role)
        writer.put(start + 1, shortened(words, end - start - 1), role + " name")
    else:
        writer.put(start, "┄" + shortened(f" {words} ", end - start - 2), role + " again")
    if ends_at <= row.until and end - start > len(words) + 1:
        writer.put(end - 1, "┤", role)


def _downbeat_line(content: RowContent, geometry: Geometry) -> Line:
    writer = LineWriter(geometry.width_cells)
    row = content.row
    writer.put(0, f"{content.time:>6}", "time")
    writer.put(7, content.onsets, "sound")
    for cell in range(row.own_cells):
        writer.put(GUTTER_CELLS + cell * geometry.cell_width(row), "·", "count")
    hands_at: dict[int, set[Hand]] = {}
    for move in content.moves:
        for beat, hand in move.downbeats:
            if row.at <= float(beat) < row.until:
                hands_at.setdefault(geometry.column(row, beat), set()).add(hand)
    for column, hands in hands_at.items():
        if len(hands) == 2:
            writer.put(column, "B", "both hands")
        else:
            (hand,) = hands
            writer.put(column, "R" if hand is Hand.RIGHT else "L", f"{hand} hand")
    return writer.line()


def _mark_lines(content: RowContent, geometry: Geometry) -> list[Line]:
    return [writer.line() for writer in _packed_marks(content, geometry)]


def _packed_marks(content: RowContent, geometry: Geometry) -> list[LineWriter]:
    """Marks under the beats they belong to, packed into as few lines as they fit."""
    width = geometry.width_cells
    writers: list[LineWriter] = []
    left_out = 0
    for mark in content.marks:
        column = geometry.column(content.row, max(mark.at, content.row.at))
        start, text = _mark_text(mark, column, width)
        end = start + len(text)
        free = next((w for w in writers if w.is_free(start - 1, end + 1)), None)
        if free is None and len(writers) < MOST_MARK_LINES:
            free = LineWriter(width)
            writers.append(free)
        if free is None:
            left_out += 1
        else:
            free.put(start, text, mark.role)
    if left_out:
        writers[-1].put(0, f"+{left_out} more", "warning")
    return writers


def _mark_text(mark: Mark, column: int, width: int) -> tuple[int, str]:
    """Words to the right of the glyph, or to its left where the line would run out."""
    room = width - column
    if len(mark.words) + 2 <= room or room >= column - GUTTER_CELLS:
        return column, f"{mark.glyph} {shortened(mark.words, room - 2)}"
    words = shortened(mark.words, column - GUTTER_CELLS - 1)
    return column - len(words) - 1, f"{words} {mark.glyph}"


def _whole_line(content: RowContent, geometry: Geometry) -> Line:
    writer = LineWriter(geometry.width_cells)
    row = content.row
    writer.put(0, f"{row.label:>6}", "bar")
    if content.heading:
        name = content.heading.partition(" · ")[0]
        writer.put(7, shortened(name, GUTTER_CELLS - 8), "heading")
    else:
        writer.put(7, content.loudness, "sound")
    for cell in range(row.own_cells):
        writer.put(GUTTER_CELLS + cell * geometry.cell_width(row), "·", "count")
    for move in content.moves:
        _put_move(writer, row, geometry, move, move.words)
    for mark in reversed(content.marks):
        if mark.role != "remark":
            writer.put(geometry.column(row, mark.at), mark.glyph, mark.role)
    return writer.line()
