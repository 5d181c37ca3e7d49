"""The whole count sheet as a value: what stands on which line; unchanged rows are kept."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate
from typing import TYPE_CHECKING

from composer.timing.grid import MusicGrid
from tui.views.marks import Mark
from tui.views.rows import Row, row_index_at
from tui.views.sheet import (
    Drawn,
    Geometry,
    RowContent,
    block_height,
    heading_words,
    row_contents,
    row_time,
)

if TYPE_CHECKING:
    from tui.views.sound import Sound


@dataclass(frozen=True)
class SheetView:
    """Rows top to bottom and the line each begins on; ``tops`` has one more, the sheet's height."""

    geometry: Geometry
    rows: tuple[Row, ...]
    contents: tuple[RowContent, ...]
    heights: tuple[int, ...]
    tops: tuple[int, ...]
    blank: Sequence[RowContent]
    """The rows without moves that it was filled from."""

    @property
    def height(self) -> int:
        return self.tops[-1]

    def row_of_line(self, line: int) -> tuple[int, int]:
        """The row a line belongs to, and which of its lines it is."""
        row = bisect_right(self.tops, line) - 1
        return row, line - self.tops[row]

    def lines_of(self, beat: Fraction) -> tuple[int, int]:
        """The first line of the row a beat stands on, and the line after its last."""
        row = row_index_at(self.rows, beat)
        return self.tops[row], self.tops[row + 1]


def blank_sheet(
    grid: MusicGrid, rows: tuple[Row, ...], sound: "Sound | None"
) -> tuple[RowContent, ...]:
    """The rows with everything that comes from the music alone."""
    return tuple(_blank(grid, row, sound) for row in rows)


def _blank(grid: MusicGrid, row: Row, sound: "Sound | None") -> RowContent:
    heading = heading_words(grid, row.phrase) if row.phrase is not None else ""
    loudness = onsets = ""
    if sound is not None:
        start, step = float(row.span.start_beat), float(row.cell_beats)
        beats = [start + step * cell for cell in range(row.own_cells + 1)]
        edges_s = grid.tempo_map.seconds_of(beats)
        loudness = sound.loudness_marks(edges_s)[:8]
        onsets = sound.onset_marks(edges_s)[:8]
    return RowContent(
        row, loudness=loudness, onsets=onsets, heading=heading, time=row_time(grid, row)
    )


def filled_sheet(
    blank: Sequence[RowContent],
    moves: Sequence[Drawn],
    marks: Sequence[Mark],
    geometry: Geometry,
    old: SheetView | None = None,
) -> SheetView:
    """Moves and marks written on a blank sheet; rows that equal the old sheet's are kept."""
    rows = tuple(content.row for content in blank)
    before = _old_rows(old, blank, geometry)
    contents, heights = [], []
    for index, (moves_here, marks_here) in enumerate(row_contents(rows, moves, marks)):
        content, height = before[index]
        if content is None or content.moves != moves_here or content.marks != marks_here:
            content = replace(blank[index], moves=moves_here, marks=marks_here)
            height = block_height(content, geometry)
        contents.append(content)
        heights.append(height)
    tops = tuple(accumulate(heights, initial=0))
    return SheetView(geometry, rows, tuple(contents), tuple(heights), tops, blank)


def _old_rows(
    old: SheetView | None, blank: Sequence[RowContent], geometry: Geometry
) -> Sequence[tuple[RowContent | None, int]]:
    """What stood on each row before, and how high; None where the row itself is another."""
    if old is None or old.geometry != geometry:
        return [(None, 0)] * len(blank)
    if old.blank is blank:
        return list(zip(old.contents, old.heights, strict=True))
    more_before = len(old.contents) - len(blank)  # an upbeat may have come or gone
    return [_old_row(old, index + more_before, row) for index, row in enumerate(blank)]


def _old_row(old: SheetView, index: int, blank: RowContent) -> tuple[RowContent | None, int]:
    if index < 0:
        return None, 0
    content = old.contents[index]
    same = content.row == blank.row and content.heading == blank.heading
    same = same and content.loudness == blank.loudness and content.onsets == blank.onsets
    return (content, old.heights[index]) if same else (None, 0)
