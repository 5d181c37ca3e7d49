"""Dark or light, in a terminal's full or sixteen colours; and signs a plain console can show.

Text keeps a contrast of at least 4.5 to 1 to every ground it stands on (WCAG 2.2, SC 1.4.3).
"""

from collections.abc import Mapping

from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter
from textual.theme import BUILTIN_THEMES, Theme

DARK = Theme(
    "dark",
    primary="#0178D4",
    secondary="#2f7aa8",
    accent="#ffa62b",
    warning="#ffa62b",
    error="#ba3c5b",
    success="#4EBF71",
    foreground="#e0e0e0",
    background="#121212",
    surface="#1e1e1e",
    panel="#242f38",
    variables={
        "text-primary": "#6cb4ee",
        "text-secondary": "#7fb6d6",
        "text-error": "#f0839b",
        "text-muted": "#a8a8a8",
        "text-disabled": "#969ca2",
    },
)
LIGHT = Theme(
    "light",
    primary="#0b5cad",
    secondary="#1f6f8b",
    accent="#8a4b00",
    warning="#8a4b00",
    error="#a3123a",
    success="#176632",
    foreground="#1a1a1a",
    background="#fafafa",
    surface="#f0f0f0",
    panel="#e2e6ea",
    dark=False,
    variables={
        "text-primary": "#0b4f96",
        "text-secondary": "#1b5f78",
        "text-accent": "#7a4200",
        "text-warning": "#7a4200",
        "text-error": "#a3123a",
        "text-success": "#155c2d",
        "text-muted": "#4a4a4a",
        "text-disabled": "#5a5f64",
    },
)
SIXTEEN_DARK = Theme(
    "sixteen-dark",
    primary="ansi_bright_blue",
    secondary="ansi_bright_cyan",
    accent="ansi_bright_yellow",
    warning="ansi_bright_yellow",
    error="ansi_bright_red",
    success="ansi_bright_green",
    foreground="ansi_default",
    background="ansi_default",
    surface="ansi_default",
    panel="ansi_default",
    boost="ansi_default",
    ansi=True,
    variables=BUILTIN_THEMES["ansi-dark"].variables,
)
SIXTEEN_LIGHT = Theme(
    "sixteen-light",
    primary="ansi_blue",
    secondary="ansi_magenta",
    accent="ansi_blue",
    warning="ansi_red",
    error="ansi_red",
    success="ansi_default",
    foreground="ansi_default",
    background="ansi_default",
    surface="ansi_default",
    panel="ansi_default",
    boost="ansi_default",
    dark=False,
    ansi=True,
    variables=BUILTIN_THEMES["ansi-light"].variables,
)
THEMES = (DARK, LIGHT, SIXTEEN_DARK, SIXTEEN_LIGHT)
LIGHT_GROUNDS = ("7", "15")
"""White and bright white: what COLORFGBG ends with in a terminal that says it is light."""


def theme_name(light: bool, few_colours: bool) -> str:
    if few_colours:
        return (SIXTEEN_LIGHT if light else SIXTEEN_DARK).name
    return (LIGHT if light else DARK).name


def terminal_is_light(environment: Mapping[str, str]) -> bool:
    """What the terminal says of its ground; dark where it says nothing."""
    return environment.get("COLORFGBG", "").rpartition(";")[2] in LIGHT_GROUNDS


# ------------------------------------------------------------------ plain signs

PLAIN_TERMINALS = ("linux", "vt100", "vt102", "vt220", "dumb")
"""Consoles whose fonts have letters and little else."""
PLAIN_SIGNS = {
    "·": ".", "…": "~", "–": "-", "—": "-", "→": ">", "←": "<", "↑": "^", "↓": "v",
    "▶": ">", "▸": ">", "◀": "<", "♪": "&", "♩": "*", "»": ">", "○": "o", "●": "o", "•": ".",
    "▲": "!", "■": "#", "□": "o", "◆": "*", "◇": "o", "✓": "+", "✗": "x", "×": "x", "°": "o",
    "┃": "|", "│": "|", "║": "|", "╵": "'", "╷": ",", "┠": "|", "┨": "|", "├": "|", "┤": "|",
    "─": "-", "━": "=", "═": "=", "┄": "-", "╌": "-", "┼": "+", "╋": "+", "┬": "+", "┴": "+",
    "╭": "+", "╮": "+", "╯": "+", "╰": "+", "┌": "+", "┐": "+", "└": "+", "┘": "+",
    "┏": "+", "┓": "+", "┗": "+", "┛": "+", "▁": "_", "▂": "_", "▃": "-", "▄": "=", "▅": "=",
    "▆": "#", "▇": "#", "█": "#", "▀": "#", "▌": "#", "▐": "#", "▎": "|", "▊": "#", "▔": "-",
    "▘": "'", "▝": "'", "▖": ".", "▗": ".", "▛": "#", "▜": "#", "▙": "#", "▟": "#", "▚": "#",
    "▞": "#", "░": ":", "✖": "X", "∙": ".", "╏": "|", "┊": ":", "¦": "|", "⇄": "=", "◔": "c",
    "◑": "D", "↙": "/", "↘": "\\", "↗": "/", "↖": "\\",
}  # fmt: skip
"""Each sign drawn here as one of ASCII; words always stand beside signs."""
BRAILLE = range(0x2800, 0x2900)


def _plain_braille(code: int) -> str:
    """By how many of its eight dots are set, and whether they stand high or low."""
    dots = code - BRAILLE.start
    high, low = dots & 0b00011011, dots & 0b11100100
    if not dots:
        return " "
    if high and low:
        return ":"
    return "'" if high else "."


PLAIN_TABLE = str.maketrans(
    {**PLAIN_SIGNS, **{chr(code): _plain_braille(code) for code in BRAILLE}}
)


class PlainSigns(LineFilter):
    """Shows every sign as one of ASCII."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002
        return [
            Segment(text if text.isascii() else text.translate(PLAIN_TABLE), style, control)
            for text, style, control in segments
        ]
