"""A few lines of text, each piece coloured by its role."""

from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Size
from textual.strip import Strip
from textual.widget import Widget

from tui.views.paper import Line

ROLES = (
    "title", "quiet", "strong", "key", "error", "warning", "note", "good", "chosen",
    "ruler", "ruler-cursor", "right-hand", "left-hand", "both-hands",
    "right-hand-sign", "left-hand-sign",
)  # fmt: skip

ROLE_CLASSES = {f"lines--{role}" for role in ROLES}
ROLE_CSS = """
    & > .lines--title { text-style: bold; }
    & > .lines--quiet { color: $text-muted; }
    & > .lines--strong { text-style: bold; }
    & > .lines--key { color: $text-accent; text-style: bold; }
    & > .lines--error { color: $text-error; text-style: bold; }
    & > .lines--warning { color: $text-warning; }
    & > .lines--note { color: $text-secondary; }
    & > .lines--good { color: $text-success; }
    & > .lines--ruler { color: $text-muted; }
    & > .lines--ruler-cursor { text-style: bold reverse; }
    & > .lines--right-hand { color: $text-warning; }
    & > .lines--left-hand { color: $text-accent; }
    & > .lines--both-hands { color: $text-success; }
    & > .lines--right-hand-sign { color: $text-warning; text-style: bold reverse; }
    & > .lines--left-hand-sign { color: $text-accent; text-style: bold reverse; }
    & > .lines--chosen { text-style: reverse; }
"""


class RoleStyles:
    """Styles of roles, looked up once; a mix-in for widgets that draw lines."""

    _styles: dict[str, Style]

    def role_style(self: Widget, role: str) -> Style:  # type: ignore[misc]
        styles: dict[str, Style] = self.__dict__.setdefault("_styles", {})
        style = styles.get(role)
        if style is None:
            style = self.rich_style
            if role:
                name = f"lines--{role.replace(' ', '-')}"
                style = style + self.get_component_rich_style(name, partial=True)
            styles[role] = style
        return style

    def strip_of(self: Widget, line: Line, width: int) -> Strip:  # type: ignore[misc]
        segments = [Segment(piece.text, self.role_style(piece.role)) for piece in line]  # type: ignore[attr-defined]
        return Strip(segments).adjust_cell_length(width, self.rich_style)


class Lines(RoleStyles, Widget):
    """Shows the lines it was last given; what does not fit its height is left out."""

    COMPONENT_CLASSES: ClassVar[set[str]] = ROLE_CLASSES
    DEFAULT_CSS = "Lines { height: 1; width: 1fr;" + ROLE_CSS + "}"

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
        return Strip.blank(width, self.rich_style)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        return max(1, len(self._lines))

    def notify_style_update(self) -> None:
        super().notify_style_update()
        self.__dict__.pop("_styles", None)


class Picture(Lines, can_focus=True):
    """Lines that fill their pane and can hold the keys."""

    DEFAULT_CSS = "Picture { height: 1fr; }"
