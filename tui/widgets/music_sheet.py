"""The music sheet: draws a MusicView line by line, the cursor and the play position over it."""

from dataclasses import dataclass
from fractions import Fraction

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.geometry import Region, Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip

from tui.views.music import MusicView, music_block
from tui.views.rows import Row, row_index_at
from tui.widgets.roles import RoleStyles


class MusicSheet(RoleStyles, ScrollView, can_focus=True, inherit_bindings=False):
    """The screen gives it a view, the cursor and the play position; it draws them."""

    DEFAULT_CSS = (
        "MusicSheet { height: 1fr; scrollbar-size-vertical: 1; overflow-x: hidden;"
        "overflow-y: scroll; }"
    )

    @dataclass
    class BeatChosen(Message):
        """The user pointed at a beat."""

        beat: Fraction

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._view: MusicView | None = None
        self._strips: dict[int, list[Strip]] = {}
        self._cursor_beat = Fraction(0)
        self._play_beat: Fraction | None = None

    def show(self, view: MusicView, cursor_beat: Fraction) -> None:
        self._view, self._cursor_beat = view, cursor_beat
        self._strips.clear()
        self.virtual_size = Size(self.scrollable_content_region.width, view.height)
        self.refresh()
        self.bring_into_sight(cursor_beat)

    def set_cursor(self, beat: Fraction) -> None:
        before, self._cursor_beat = self._cursor_beat, beat
        self._refresh_row(before)
        self._refresh_row(beat)
        self.bring_into_sight(beat)

    def set_play_beat(self, beat: Fraction | None) -> None:
        """Show the column that is heard now; nothing is redrawn unless it is another one."""
        if self._view is None or beat == self._play_beat:
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
            self.scroll_to(y=bottom + margin - height, animate=False, force=True, immediate=True)

    @property
    def rows(self) -> tuple[Row, ...]:
        return self._view.rows if self._view is not None else ()

    @property
    def visible_rows(self) -> int:
        """How many rows a screenful moves over."""
        return max(1, self.size.height // 2 - 1)

    # ------------------------------------------------------------------ drawing

    def render_line(self, y: int) -> Strip:
        line = y + self.scroll_offset.y
        width = self.scrollable_content_region.width
        if self._view is None or not 0 <= line < self._view.height:
            return Strip.blank(width, self.rich_style)
        row, within = self._view.row_of_line(line)
        strips = self._strips.get(row)
        if strips is None:
            strips = [self.strip_of(drawn, width) for drawn in music_block(self._view, row)]
            self._strips[row] = strips
        return self._with_places(strips[within], row, within - (len(strips) - 2))

    def _with_places(self, strip: Strip, row: int, within: int) -> Strip:
        """Cursor and play position laid over the lines, each also as a sign at the left."""
        assert self._view is not None
        if within < 0:
            return strip
        rows = self._view.rows
        if row == row_index_at(rows, self._cursor_beat):
            strip = self._over(strip, row, self._cursor_beat, Style(reverse=True))
            strip = _replaced(strip, "▶") if within == 0 else strip
        if self._play_beat is not None and row == row_index_at(rows, self._play_beat):
            strip = self._over(strip, row, self._play_beat, Style(reverse=True, bold=True))
            strip = _replaced(strip, "♪") if within == 1 else strip
        return strip

    def _over(self, strip: Strip, row: int, beat: Fraction, style: Style) -> Strip:
        assert self._view is not None
        start = self._view.geometry.column(self._view.rows[row], beat)
        parts = list(strip.divide([start, start + 1, strip.cell_length]))
        if len(parts) < 3:
            return strip
        parts[1] = parts[1].apply_style(style)
        return Strip.join(parts)

    def _refresh_row(self, beat: Fraction) -> None:
        if self._view is not None:
            top, bottom = self._view.lines_of(beat)
            self.refresh(Region(0, top - self.scroll_offset.y, self.size.width, bottom - top))

    def notify_style_update(self) -> None:
        super().notify_style_update()
        self.forget_styles()
        self._strips.clear()

    def on_click(self, event: events.Click) -> None:
        if self._view is None:
            return
        line = event.y + self.scroll_offset.y
        if 0 <= line < self._view.height:
            row = self._view.rows[self._view.row_of_line(line)[0]]
            self.post_message(self.BeatChosen(self._view.geometry.beat_at(row, event.x)))


def _replaced(strip: Strip, sign: str) -> Strip:
    """The first cell of a line with a sign in it."""
    parts = list(strip.divide([1, strip.cell_length]))
    style = next((segment.style for segment in parts[0] if segment.style), None)
    return Strip.join([Strip([Segment(sign, style)], 1), parts[1]])
