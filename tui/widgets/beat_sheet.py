"""What sheets of beats have in common: rows of lines that scroll, a cursor and a play position."""

from abc import abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.geometry import Region, Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip

from tui.views.paper import Line
from tui.views.rows import Row, row_index_at
from tui.views.sheet import Geometry
from tui.widgets.roles import RoleStyles


class BeatView(Protocol):
    """Rows of beats, each some lines high."""

    @property
    def rows(self) -> tuple[Row, ...]: ...
    @property
    def geometry(self) -> Geometry: ...
    @property
    def height(self) -> int: ...
    def row_of_line(self, line: int) -> tuple[int, int]:
        """The row a line belongs to, and which of its lines it is."""

    def lines_of(self, beat: Fraction) -> tuple[int, int]:
        """The first line of the row a beat stands on, and the line after its last."""


class BeatSheet(RoleStyles, ScrollView, can_focus=True, inherit_bindings=False):
    """The screen gives it a view, the cursor and the play position; a subclass draws the rows."""

    DEFAULT_CSS = (
        "BeatSheet { height: 1fr; scrollbar-size-vertical: 1; overflow-x: hidden;"
        "overflow-y: scroll; }"
    )

    @dataclass
    class BeatChosen(Message):
        """The user pointed at a beat."""

        beat: Fraction
        twice: bool

    class Resized(Message):
        """It has become another number of cells."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.view: BeatView | None = None
        self.strips: dict[int, list[Strip]] = {}
        """Rows that have been drawn, by their number."""
        self.cursor_beat = Fraction(0)
        self.play_beat: Fraction | None = None

    # ------------------------------------------------------------------ what a subclass draws

    @abstractmethod
    def lines_of_row(self, row: int) -> Sequence[Line]:
        """The lines of a row of the view."""

    @abstractmethod
    def with_places(self, strip: Strip, row: int, within: int) -> Strip:
        """Cursor and play position laid over one of a row's lines."""

    # ------------------------------------------------------------------ what the screen gives

    def fit_to_view(self) -> None:
        """Scroll over as many lines as the view has."""
        if self.view is not None:
            self.virtual_size = Size(self.scrollable_content_region.width, self.view.height)

    def set_cursor(self, beat: Fraction) -> None:
        """Move the cursor and bring its row into sight, the lines around it too if they fit."""
        before, self.cursor_beat = self.cursor_beat, beat
        self.refresh_row(before)
        self.refresh_row(beat)
        self.bring_into_sight(beat)

    def set_play_beat(self, beat: Fraction | None) -> None:
        """Show the place that is heard now; nothing is drawn again unless it is another one."""
        if self.view is None or beat == self.play_beat:
            return
        before, self.play_beat = self.play_beat, beat
        for place in (before, beat):
            if place is not None:
                self.refresh_row(place)
        if beat is not None:
            self.bring_into_sight(beat)

    def bring_into_sight(self, beat: Fraction) -> None:
        height = self.scrollable_content_region.height
        if self.view is None or not height:
            return
        top, bottom = self.view.lines_of(beat)
        first = self.scroll_offset.y
        margin = min(2, max(0, (height - (bottom - top)) // 2))
        if top - margin < first:
            self.scroll_to(y=max(0, top - margin), animate=False, force=True, immediate=True)
        elif bottom + margin > first + height:
            target = min(bottom + margin - height, top)
            self.scroll_to(y=target, animate=False, force=True, immediate=True)

    def refresh_row(self, beat: Fraction) -> None:
        """Draw the row of a beat again."""
        if self.view is not None:
            top, bottom = self.view.lines_of(beat)
            self.refresh(Region(0, top - self.scroll_offset.y, self.size.width, bottom - top))

    @property
    def rows(self) -> tuple[Row, ...]:
        return self.view.rows if self.view is not None else ()

    @property
    def visible_rows(self) -> int:
        """How many rows a screenful moves over."""
        if self.view is None:
            return 1
        first = self.view.row_of_line(min(self.scroll_offset.y, self.view.height - 1))[0]
        line = min(self.scroll_offset.y + self.size.height, self.view.height - 1)
        return max(1, self.view.row_of_line(line)[0] - first)

    # ------------------------------------------------------------------ drawing

    def render_line(self, y: int) -> Strip:
        line = y + self.scroll_offset.y
        width = self.scrollable_content_region.width
        if self.view is None or not 0 <= line < self.view.height:
            return Strip.blank(width, self.role_style(""))
        row, within = self.view.row_of_line(line)
        strips = self.strips.get(row)
        if strips is None:
            strips = [self.strip_of(drawn, width) for drawn in self.lines_of_row(row)]
            self.strips[row] = strips
        return self.with_places(strips[within], row, within)

    def stands_on(self, beat: Fraction | None, row: int) -> bool:
        return beat is not None and row == row_index_at(self.rows, beat)

    def notify_style_update(self) -> None:
        super().notify_style_update()
        self.forget_styles()
        self.strips.clear()

    def on_resize(self) -> None:
        self.post_message(self.Resized())

    # ------------------------------------------------------------------ the mouse

    def on_click(self, event: events.Click) -> None:
        if self.view is None:
            return
        line = event.y + self.scroll_offset.y
        if 0 <= line < self.view.height:
            row = self.rows[self.view.row_of_line(line)[0]]
            beat = self.view.geometry.beat_at(row, event.x)
            self.post_message(self.BeatChosen(beat, twice=event.chain > 1))


def styled(strip: Strip, start: int, end: int, style: Style) -> Strip:
    """Some cells of a strip in another style; cells it does not have are left out."""
    parts = list(strip.divide([start, end, strip.cell_length]))
    if len(parts) < 3:
        return strip
    parts[1] = parts[1].apply_style(style)
    return Strip.join(parts)


def signed(strip: Strip, sign: str) -> Strip:
    """A strip with a sign in its first cell."""
    first, rest = strip.divide([1, strip.cell_length])
    style = next((segment.style for segment in first if segment.style), None)
    return Strip.join([Strip([Segment(sign, style)], 1), rest])
