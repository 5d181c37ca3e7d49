"""What pieces of text mean, and how each meaning looks: one table for every widget that draws.

Colours are the theme's, by name, so they change with it, light or dark. Colour is never the only
sign: R, L and B, glyphs and words say the same.
"""

from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.strip import Strip
from textual.widget import Widget

from tui.views.paper import Line

QUIET, PLAIN = "text-muted", ""
LOOKS: dict[str, tuple[str, str]] = {
    "title": (PLAIN, "bold"),
    "strong": (PLAIN, "bold"),
    "quiet": (QUIET, ""),
    "key": ("text-accent", "bold"),
    "good": ("text-success", ""),
    "error": ("text-error", "bold"),
    "warning": ("text-warning", ""),
    "note": ("text-secondary", ""),
    "remark": ("text-secondary", ""),
    "ruler": (QUIET, ""),
    "ruler cursor": (PLAIN, "bold reverse"),
    "bar": (PLAIN, "bold"),
    "time": (QUIET, ""),
    "count": (QUIET, ""),
    "sound": (QUIET, ""),
    "heading": ("text-primary", "bold"),
    "heading rule": ("primary", ""),
    "move": (QUIET, ""),
    "move name": (PLAIN, "bold"),
    "move again": (QUIET, "italic"),
    "followed move": ("text-disabled", ""),
    "followed move name": (QUIET, "italic"),
    "followed move again": ("text-disabled", "italic"),
    "right hand": ("text-warning", ""),
    "left hand": ("text-primary", ""),
    "both hands": ("text-success", ""),
    "right hand sign": ("text-warning", "bold reverse"),
    "left hand sign": ("text-primary", "bold reverse"),
}
"""Theme colour (empty: that of plain text) and manner of each role."""


def look(role: str, variables: dict[str, str], plain: Style) -> Style:
    """The style of a role on the background of ``plain``, by a theme's variables.

    Raises
    ------
    KeyError
        If there is no such role.
    """
    variable, manner = LOOKS[role.replace("-", " ")]
    style = plain + Style.parse(manner) if manner else plain
    value = variables.get(variable, "")
    if not value:
        return style
    if value.startswith("ansi_"):  # a terminal's own colour cannot be mixed with its ground
        name, _, weaker = value.partition(" ")
        return style + Style(color=Color.parse(name).rich_color, dim=bool(weaker) or None)
    if not value.startswith("auto"):
        return style + Style(color=Color.parse(value).rich_color)
    share = float(value.removeprefix("auto").strip().removesuffix("%") or 100) / 100
    back = Color.from_rich_color(plain.bgcolor) if plain.bgcolor else Color(0, 0, 0)
    return style + Style(color=back.blend(back.get_contrast_text(1.0), share, 1.0).rich_color)


class RoleStyles:
    """A mix-in that works out styles of roles once, and turns lines into strips."""

    def role_style(self: Widget, role: str) -> Style:  # type: ignore[misc]
        styles: dict[str, Style] = self.__dict__.setdefault("_role_styles", {})
        style = styles.get(role)
        if style is None:
            plain = self.rich_style
            style = look(role, self.app.theme_variables, plain) if role else plain
            styles[role] = style
        return style

    def strip_of(self: Widget, line: Line, width: int) -> Strip:  # type: ignore[misc]
        segments = [Segment(piece.text, self.role_style(piece.role)) for piece in line]  # type: ignore[attr-defined]
        plain = self.role_style("")  # type: ignore[attr-defined]
        return Strip(segments).adjust_cell_length(width, plain).simplify()

    def forget_styles(self) -> None:
        """Work styles out again, after another theme."""
        self.__dict__.pop("_role_styles", None)
