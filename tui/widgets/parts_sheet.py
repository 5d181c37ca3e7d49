"""All parts side by side: draws a PartsPage, the cursor over it, and reports where one points."""

from dataclasses import dataclass

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.geometry import Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip

from tui.views.parts import PartsPage
from tui.widgets.roles import RoleStyles


class PartsSheet(RoleStyles, ScrollView, can_focus=True, inherit_bindings=False):
    """The screen gives it a page and the cell of the cursor."""

    DEFAULT_CSS = (
        "PartsSheet { height: 1fr; scrollbar-size-vertical: 1; overflow-x: hidden;"
        "overflow-y: scroll; }"
    )

    @dataclass
    class CellChosen(Message):
        """The user pointed at a row of a performer's part, or at no performer's."""

        row: int
        performer: str
        twice: bool

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._page: PartsPage | None = None
        self._row, self._performer = 0, ""

    def show(self, page: PartsPage, row: int, performer: str) -> None:
        self._page = page
        self.virtual_size = Size(self.scrollable_content_region.width, len(page.lines))
        self.set_cursor(row, performer)

    def set_cursor(self, row: int, performer: str) -> None:
        """Put the cursor on a row of a performer's part and bring it into sight."""
        self._row, self._performer = row, performer
        self.refresh()
        height = self.scrollable_content_region.height
        if self._page is None or not height:
            return
        line, first = self._page.line_of_row[row], self.scroll_offset.y
        margin = min(2, height // 3)
        if line - margin < first:
            self.scroll_to(y=max(0, line - margin), animate=False, force=True, immediate=True)
        elif line + margin >= first + height:
            self.scroll_to(y=line + margin - height + 1, animate=False, force=True, immediate=True)

    @property
    def visible_rows(self) -> int:
        """How many rows a screenful moves over."""
        return max(1, self.size.height - 3)

    def render_line(self, y: int) -> Strip:
        line = y + self.scroll_offset.y
        width = self.scrollable_content_region.width
        if self._page is None or not 0 <= line < len(self._page.lines):
            return Strip.blank(width, self.role_style(""))
        strip = self.strip_of(self._page.lines[line], width)
        if line != self._page.line_of_row[self._row]:
            return strip
        columns = self._page.columns
        if self._performer in columns.names:
            start = columns.starts[columns.names.index(self._performer)]
            cuts = [start, start + columns.width_cells - 1, strip.cell_length]
            parts = list(strip.divide(cuts))
            parts[1] = parts[1].apply_style(Style(reverse=True))
            strip = Strip.join(parts)
        _, rest = strip.divide([1, strip.cell_length])
        return Strip.join([Strip([Segment("▶", self.role_style("key"))], 1), rest])

    def notify_style_update(self) -> None:
        super().notify_style_update()
        self.forget_styles()

    def on_click(self, event: events.Click) -> None:
        if self._page is None:
            return
        line = event.y + self.scroll_offset.y
        if 0 <= line < len(self._page.lines):
            row = self._page.row_of_line(line)
            performer = self._page.columns.performer_at(event.x)
            self.post_message(self.CellChosen(row, performer, twice=event.chain > 1))
