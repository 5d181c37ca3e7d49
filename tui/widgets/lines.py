"""A few lines of text, each piece coloured by its role."""

from textual.geometry import Size
from textual.strip import Strip
from textual.widget import Widget

from tui.views.paper import Line
from tui.widgets.roles import RoleStyles


class Lines(RoleStyles, Widget):
    """Shows the lines it was last given; what does not fit its height is left out."""

    DEFAULT_CSS = "Lines { height: 1; width: 1fr; }"

    def __init__(self, *, id: str | None = None, classes: str | None = None) -> None:
        super().__init__(id=id, classes=classes)
        self._lines: tuple[Line, ...] = ()

    @property
    def lines(self) -> tuple[Line, ...]:
        return self._lines

    def show(self, *lines: Line) -> None:
        if lines == self._lines:
            return
        other_height = len(lines) != len(self._lines) and self.styles.is_auto_height
        self._lines = lines
        self.refresh(layout=other_height)

    def render_line(self, y: int) -> Strip:
        width = self.size.width
        if y < len(self._lines):
            return self.strip_of(self._lines[y], width)
        return Strip.blank(width, self.role_style(""))

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        return max(1, len(self._lines))

    def notify_style_update(self) -> None:
        super().notify_style_update()
        self.forget_styles()


class Picture(Lines, can_focus=True):
    """Lines that fill their pane and can hold the keys."""

    DEFAULT_CSS = "Picture { height: 1fr; }"
