"""A screen as text that can be kept and compared: its letters, and how each of them looks.

Places that hang on the last digit of a float, trails of dots and rankings, are covered: they are
tested where they are worked out.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain, groupby

from rich.segment import Segment
from rich.style import Style
from textual.app import App
from textual.filter import Monochrome
from textual.pilot import Pilot
from textual.screen import ModalScreen
from textual.widgets import Input

from tui.appearance import DARK, LIGHT

COVER = "▒"
COVERED = "#motion, #trail, #trial, #follow, #choosing, ChooseMove #details"
LETTERS = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
MANNERS = ("bold", "dim", "italic", "underline", "reverse")

Cell = tuple[str, str]
"""A letter, and how it looks in words."""


def cells_of(app: App[object]) -> list[list[Cell]]:
    """What the terminal would show; of a dialog, the dialog alone."""
    update = app.screen._compositor.render_update(full=True, screen_stack=app._background_screens)
    rows = [_row(chain.from_iterable(line)) for line in update.strips]  # type: ignore[union-attr]
    for widget in app.screen.query(COVERED):
        if widget.display and widget.region:
            region = widget.region
            for row in rows[region.y : region.bottom]:
                row[region.x : region.right] = [(COVER, "covered")] * region.width
    if not isinstance(app.screen, ModalScreen):
        return rows
    whole = app.screen.query_one(".dialog").region
    return [row[whole.x : whole.right] for row in rows[whole.y : whole.bottom]]


def _row(segments: Iterable[Segment]) -> list[Cell]:
    return [
        (letter, _look(style or Style()))
        for text, style, control in segments
        if not control
        for letter in text
    ]


def _look(style: Style) -> str:
    front = style.color.name if style.color else "default"
    back = style.bgcolor.name if style.bgcolor else "default"
    return " ".join([front, "on", back, *(one for one in MANNERS if getattr(style, one))])


@dataclass
class Looks:
    """Hands out a letter for each look, in the order they are met."""

    known: dict[str, str]

    def letter(self, look: str) -> str:
        return self.known.setdefault(look, LETTERS[len(self.known)])

    def rows(self, cells: list[list[Cell]]) -> list[str]:
        """Each row as runs: ``a12b3`` is twelve cells of the look a, then three of b."""
        letters = [[self.letter(look) for _, look in row] for row in cells]
        return [
            "".join(f"{letter}{len(list(run))}" for letter, run in groupby(row)) for row in letters
        ]


def described(name: str, text: list[list[Cell]], looks: dict[str, list[list[Cell]]]) -> str:
    """A whole snapshot: the letters once, then the looks in each appearance."""
    lines = [f"# {name}", "", *("".join(letter for letter, _ in row).rstrip() for row in text)]
    for appearance, cells in looks.items():
        assert [[c[0] for c in row] for row in cells] == [[c[0] for c in row] for row in text], (
            f"{appearance} changes more than looks"
        )
        given = Looks({})
        rows = given.rows(cells)
        legend = [f"{letter}: {look}" for look, letter in given.known.items()]
        lines += ["", f"# {appearance}", *legend, *rows]
    return "\n".join(lines) + "\n"


async def picture(pilot: Pilot[int], name: str) -> str:
    """The screen dark, light and without colour."""
    app, looks, grey = pilot.app, {}, Monochrome()
    for line in app.screen.query(Input):
        line.cursor_blink = False
    for theme in (LIGHT, DARK):
        app.theme = theme.name
        await pilot.pause()
        looks[theme.name] = cells_of(app)
    app._filters.append(grey)  # what the app does itself where NO_COLOR is set
    app.theme = LIGHT.name
    app.theme = DARK.name
    await pilot.pause()
    looks["monochrome"] = cells_of(app)
    app._filters.remove(grey)
    return described(name, looks["dark"], looks)
