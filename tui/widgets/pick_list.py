"""A list of lines to pick from; only the lines in sight are drawn."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.style import Style
from textual import events
from textual.binding import Binding, BindingType
from textual.geometry import Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip

from tui.views.paper import Line, Piece
from tui.widgets.roles import RoleStyles


class PickList(RoleStyles, ScrollView, can_focus=True, inherit_bindings=False):
    """Draws rows and reports which one is chosen, and which one is picked."""

    DEFAULT_CSS = "PickList { height: 1fr; scrollbar-size-vertical: 1; overflow-x: hidden; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "choose(-1)", "Up", show=False, id="list-up"),
        Binding("down", "choose(1)", "Down", show=False, id="list-down"),
        Binding("pageup", "choose(-8)", "Up a screen", show=False, id="list-screen-up"),
        Binding("pagedown", "choose(8)", "Down a screen", show=False, id="list-screen-down"),
        Binding("enter", "pick", "Pick", show=False, id="list-pick"),
    ]

    @dataclass
    class Chosen(Message):
        """The bar was moved to a row."""

        list: "PickList"
        index: int

        @property
        def control(self) -> "PickList":
            return self.list

    @dataclass
    class Picked(Message):
        """A row was asked for."""

        list: "PickList"
        index: int

        @property
        def control(self) -> "PickList":
            return self.list

    def __init__(
        self, *, id: str | None = None, empty: str = "", always_barred: bool = False
    ) -> None:
        """``always_barred``: the bar is seen though the keys go elsewhere, to a line of text."""
        super().__init__(id=id)
        self._always_barred = always_barred
        self._rows: Sequence[Line] = ()
        self._empty = empty
        self.chosen = 0

    def show(self, rows: Sequence[Line], chosen: int = 0, *, empty: str | None = None) -> None:
        """Draw these rows with the bar on one of them."""
        self._rows = rows
        self._empty = self._empty if empty is None else empty
        self.chosen = min(max(chosen, 0), max(0, len(rows) - 1))
        self.virtual_size = Size(self.scrollable_content_region.width, len(rows))
        self._into_sight()
        self.refresh()

    @property
    def rows(self) -> Sequence[Line]:
        return self._rows

    def action_choose(self, step: int) -> None:
        if self._rows:
            self.chosen = min(max(self.chosen + step, 0), len(self._rows) - 1)
            self._into_sight()
            self.refresh()
            self.post_message(self.Chosen(self, self.chosen))

    def action_pick(self) -> None:
        if self._rows:
            self.post_message(self.Picked(self, self.chosen))

    def _into_sight(self) -> None:
        first, height = self.scroll_offset.y, self.scrollable_content_region.height
        if self.chosen < first:
            self.scroll_to(y=self.chosen, animate=False, force=True, immediate=True)
        elif height and self.chosen >= first + height:
            self.scroll_to(y=self.chosen - height + 1, animate=False, force=True, immediate=True)

    def render_line(self, y: int) -> Strip:
        width = self.scrollable_content_region.width
        index = y + self.scroll_offset.y
        if not self._rows and y == 0:
            return self.strip_of((Piece(f" {self._empty}", "quiet"),), width)
        if not 0 <= index < len(self._rows):
            return Strip.blank(width, self.role_style(""))
        is_chosen = index == self.chosen
        is_seen = self.has_focus or self._always_barred
        mark = Piece("▸ " if is_chosen else "  ")
        strip = self.strip_of((mark, *self._rows[index]), width)
        return strip.apply_style(Style(reverse=True)) if is_chosen and is_seen else strip

    def on_click(self, event: events.Click) -> None:
        index = event.y + self.scroll_offset.y
        if 0 <= index < len(self._rows):
            self.chosen = index
            self.refresh()
            self.post_message(self.Chosen(self, index))
            if event.chain > 1:
                self.post_message(self.Picked(self, index))

    def on_resize(self) -> None:
        self._into_sight()

    def on_focus(self) -> None:
        self.refresh()

    def on_blur(self) -> None:
        self.refresh()

    def notify_style_update(self) -> None:
        super().notify_style_update()
        self.forget_styles()
