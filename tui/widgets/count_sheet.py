"""The count sheet: draws a SheetView line by line and reports where the mouse points."""

from dataclasses import dataclass
from fractions import Fraction

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.geometry import Region, Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip

from tui.views.rows import Row, row_index_at
from tui.views.sheet import block, move_line_index
from tui.views.sheet_view import SheetView
from tui.widgets.roles import RoleStyles


class CountSheet(RoleStyles, ScrollView, can_focus=True, inherit_bindings=False):
    """The screen gives it a view, the cursor and the play position; it draws them."""

    DEFAULT_CSS = (
        "CountSheet { height: 1fr; scrollbar-size-vertical: 1; overflow-x: hidden;"
        "overflow-y: scroll; }"
    )

    @dataclass
    class BeatChosen(Message):
        """The user pointed at a beat."""

        beat: Fraction
        twice: bool

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._view: SheetView | None = None
        self._strips: dict[int, list[Strip]] = {}
        self._cursor_beat = Fraction(0)
        self._play_beat: Fraction | None = None

    # ------------------------------------------------------------------ what the screen gives

    def show(self, view: SheetView) -> None:
        """Draw this view; rows that are the same value as before keep their strips."""
        old, self._view = self._view, view
        if old is None or old.geometry != view.geometry:
            self._strips.clear()
        else:
            kept = {
                row: strips
                for row, strips in self._strips.items()
                if row < len(view.contents) and view.contents[row] is old.contents[row]
            }
            self._strips = kept
        self.virtual_size = Size(self.scrollable_content_region.width, view.height)
        if old is not None and old.geometry == view.geometry and old.tops == view.tops:
            self._refresh_changed(old, view)
        else:
            self.refresh()

    def _refresh_changed(self, old: SheetView, view: SheetView) -> None:
        """Draw again only the rows in sight that became other values."""
        first, height = self.scroll_offset.y, self.size.height
        for row, (before, after) in enumerate(zip(old.contents, view.contents, strict=True)):
            top = view.tops[row] - first
            if before is not after and -view.heights[row] < top < height:
                self.refresh(Region(0, top, self.size.width, view.heights[row]))

    def set_cursor(self, beat: Fraction) -> None:
        """Move the cursor and bring its row into sight, the lines around it too if they fit."""
        before, self._cursor_beat = self._cursor_beat, beat
        self._refresh_row(before)
        self._refresh_row(beat)
        self.bring_into_sight(beat)

    def set_play_beat(self, beat: Fraction | None) -> None:
        """Show the cell that is being played; nothing is redrawn unless it changes."""
        if beat == self._play_beat:
            return
        before, self._play_beat = self._play_beat, beat
        for place in (before, beat):
            if place is not None:
                self._refresh_row(place)
        if beat is not None:
            self.bring_into_sight(beat)

    def bring_into_sight(self, beat: Fraction) -> None:
        height = self.scrollable_content_region.height
        if self._view is None or not height:
            return
        top, bottom = self._view.lines_of(beat)
        first = self.scroll_offset.y
        margin = min(2, max(0, (height - (bottom - top)) // 2))
        if top - margin < first:
            self.scroll_to(y=max(0, top - margin), animate=False, force=True, immediate=True)
        elif bottom + margin > first + height:
            target = min(bottom + margin - height, top)
            self.scroll_to(y=target, animate=False, force=True, immediate=True)

    @property
    def rows(self) -> tuple[Row, ...]:
        return self._view.rows if self._view is not None else ()

    @property
    def visible_rows(self) -> int:
        """How many rows a screenful moves over."""
        if self._view is None:
            return 1
        first = self._view.row_of_line(min(self.scroll_offset.y, self._view.height - 1))[0]
        line = min(self.scroll_offset.y + self.size.height, self._view.height - 1)
        return max(1, self._view.row_of_line(line)[0] - first)

    # ------------------------------------------------------------------ drawing

    def render_line(self, y: int) -> Strip:
        line = y + self.scroll_offset.y
        width = self.scrollable_content_region.width
        if self._view is None or not 0 <= line < self._view.height:
            return Strip.blank(width, self.rich_style)
        row, within = self._view.row_of_line(line)
        strips = self._strips.get(row)
        if strips is None:
            lines = block(self._view.contents[row], self._view.geometry)
            strips = [self.strip_of(drawn, width) for drawn in lines]
            self._strips[row] = strips
        return self._with_places(strips[within], row, within)

    def _with_places(self, strip: Strip, row: int, within: int) -> Strip:
        """Cursor and play position laid over a line, each also as a sign in the margin."""
        assert self._view is not None
        content = self._view.contents[row]
        first = move_line_index(content)
        if not first <= within < self._view.heights[row]:
            return strip
        if row == row_index_at(self._view.rows, self._cursor_beat):
            strip = self._over(strip, row, self._cursor_beat, Style(reverse=True), within - first)
            if within == first:
                strip = _replaced(strip, 0, "▶")
        if self._play_beat is not None and row == row_index_at(self._view.rows, self._play_beat):
            strip = self._over(strip, row, self._play_beat, Style(bold=True, underline=True), 0)
            if within == first:
                strip = _replaced(strip, 0, "♪")
        return strip

    def _over(self, strip: Strip, row: int, beat: Fraction, style: Style, within: int) -> Strip:
        if within > 1:
            return strip
        assert self._view is not None
        geometry, here = self._view.geometry, self._view.rows[row]
        start = geometry.column(here, beat)
        end = max(start + 1, start + geometry.cell_width(here) - 1)
        parts = list(strip.divide([start, end, strip.cell_length]))
        parts[1] = parts[1].apply_style(style)
        return Strip.join(parts)

    def _refresh_row(self, beat: Fraction) -> None:
        if self._view is None:
            return
        top, bottom = self._view.lines_of(beat)
        y = top - self.scroll_offset.y
        self.refresh(Region(0, y, self.size.width, bottom - top))

    def notify_style_update(self) -> None:
        super().notify_style_update()
        self.forget_styles()
        self._strips.clear()

    # ------------------------------------------------------------------ the mouse

    def on_click(self, event: events.Click) -> None:
        if self._view is None:
            return
        line = event.y + self.scroll_offset.y
        if 0 <= line < self._view.height:
            row, _ = self._view.row_of_line(line)
            beat = self._view.geometry.beat_at(self._view.rows[row], event.x)
            self.post_message(self.BeatChosen(beat, twice=event.chain > 1))


def _replaced(strip: Strip, at_cell: int, sign: str) -> Strip:
    parts = list(strip.divide([at_cell, at_cell + 1, strip.cell_length]))
    style = next((segment.style for segment in parts[1] if segment.style), None)
    return Strip.join([parts[0], Strip([Segment(sign, style)], 1), parts[2]])
