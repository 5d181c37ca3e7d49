"""What pieces of text mean, and how each meaning looks: one table for every widget that draws.

Colour is never the only sign: R, L and B, glyphs and words say the same.
"""

from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from textual.widget import Widget

from tui.views.paper import Line

ROLE_RULES = {
    "title": "text-style: bold;",
    "strong": "text-style: bold;",
    "quiet": "color: $text-muted;",
    "key": "color: $text-accent; text-style: bold;",
    "good": "color: $text-success;",
    "error": "color: $text-error; text-style: bold;",
    "warning": "color: $text-warning;",
    "note": "color: $text-secondary;",
    "remark": "color: $text-secondary;",
    "ruler": "color: $text-muted;",
    "ruler-cursor": "text-style: bold reverse;",
    "bar": "text-style: bold;",
    "time": "color: $text-muted;",
    "count": "color: $text-muted;",
    "sound": "color: $text-muted;",
    "heading": "color: $text-primary; text-style: bold;",
    "heading-rule": "color: $primary;",
    "move": "color: $text-muted;",
    "move-name": "text-style: bold;",
    "move-again": "color: $text-muted; text-style: italic;",
    "followed-move": "color: $text-disabled;",
    "followed-move-name": "color: $text-muted; text-style: italic;",
    "followed-move-again": "color: $text-disabled; text-style: italic;",
    "right-hand": "color: $text-warning;",
    "left-hand": "color: $text-accent;",
    "both-hands": "color: $text-success;",
    "right-hand-sign": "color: $text-warning; text-style: bold reverse;",
    "left-hand-sign": "color: $text-accent; text-style: bold reverse;",
}

ROLE_CLASSES = {f"role--{role}" for role in ROLE_RULES}
ROLE_CSS = "".join(f"& > .role--{role} {{ {rules} }}\n" for role, rules in ROLE_RULES.items())


class RoleStyles:
    """A mix-in that looks styles of roles up once, and turns lines into strips."""

    def role_style(self: Widget, role: str) -> Style:  # type: ignore[misc]
        styles: dict[str, Style] = self.__dict__.setdefault("_role_styles", {})
        style = styles.get(role)
        if style is None:
            style = self.rich_style
            if role:
                name = f"role--{role.replace(' ', '-')}"
                style = style + self.get_component_rich_style(name, partial=True)
            styles[role] = style
        return style

    def strip_of(self: Widget, line: Line, width: int) -> Strip:  # type: ignore[misc]
        segments = [Segment(piece.text, self.role_style(piece.role)) for piece in line]  # type: ignore[attr-defined]
        return Strip(segments).adjust_cell_length(width, self.rich_style).simplify()

    def forget_styles(self) -> None:
        """Look styles up again, after another theme."""
        self.__dict__.pop("_role_styles", None)
