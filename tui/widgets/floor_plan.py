"""The floor plan: draws a FloorPage and reports whom the mouse takes and where it carries her."""

from dataclasses import dataclass

from textual import events
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from composer.score.floor import Place
from tui.views.floor import FloorPage
from tui.widgets.roles import RoleStyles


class FloorPlan(RoleStyles, Widget, can_focus=True):
    """The screen gives it a page; it draws that and nothing else."""

    DEFAULT_CSS = "FloorPlan { height: 1fr; width: auto; }"

    @dataclass
    class Taken(Message):
        """The user pointed at a performer's name or circle."""

        performer: str

    @dataclass
    class Carried(Message):
        """The user drags a performer; ``dropped`` when she lets go, ``goal`` where she is then."""

        performer: str
        start: Place
        goal: Place
        dropped: bool

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._page: FloorPage | None = None
        self._held = ""
        self._start = self._goal = Place(0.0, 0.0)

    def show(self, page: FloorPage) -> None:
        if page.scale != (self._page.scale if self._page else None):
            self.styles.width = page.scale.columns + 2
        self._page = page
        self.refresh()

    def render_line(self, y: int) -> Strip:
        width = self.size.width
        if self._page is None or y >= len(self._page.lines):
            return Strip.blank(width, self.role_style(""))
        return self.strip_of(self._page.lines[y], width)

    def notify_style_update(self) -> None:
        super().notify_style_update()
        self.forget_styles()

    # ------------------------------------------------------------------ the mouse

    def on_mouse_down(self, event: events.MouseDown) -> None:
        if self._page is None:
            return
        self._held = self._page.performer_at(event.x, event.y)
        if self._held:
            self._start = self._goal = self._page.place_at(event.x, event.y)
            self.capture_mouse()
            self.post_message(self.Taken(self._held))

    def on_mouse_move(self, event: events.MouseMove) -> None:
        if self._page is None or not self._held:
            return
        goal = self._page.place_at(event.x, event.y)
        if goal != self._goal:
            self._goal = goal
            self.post_message(self.Carried(self._held, self._start, goal, dropped=False))

    def on_mouse_up(self) -> None:
        held, self._held = self._held, ""
        if held:
            self.release_mouse()
            if self._goal != self._start:
                self.post_message(self.Carried(held, self._start, self._goal, dropped=True))
