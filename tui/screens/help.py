"""Help: how the sheet is read, every key, every trade word; narrows while typing."""

from collections.abc import Mapping
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input

from tui.screens.asking import LEAVE
from tui.views.help_text import help_lines
from tui.views.paper import Line, Piece, plain
from tui.widgets.lines import Lines
from tui.widgets.pick_list import PickList

MARK_CELLS = 2


class Help(ModalScreen[None]):
    """Lines to read; typing keeps only those that hold what was typed."""

    BINDINGS: ClassVar[list[BindingType]] = [
        LEAVE,
        Binding("up", "choose(-1)", "Up", show=False, id="help-up"),
        Binding("down", "choose(1)", "Down", show=False, id="help-down"),
        Binding("pageup", "choose(-12)", "Up a screen", show=False, id="help-screen-up"),
        Binding("pagedown", "choose(12)", "Down a screen", show=False, id="help-screen-down"),
    ]

    def __init__(self, keys: Mapping[str, str]) -> None:
        super().__init__()
        self._keys = keys
        self._lines: list[Line] = []

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog wide"):
            title = Lines()
            title.show((Piece(" Help: type a word to look for, esc goes back", "title"),))
            yield title
            yield Input(placeholder="such as: downbeat, paste, split", compact=True)
            yield PickList(empty="nothing here holds that word")

    def on_mount(self) -> None:
        self.query_one(Input).focus()
        self.call_after_refresh(self._fill)

    @property
    def row_cells(self) -> int:
        """The width of a row beside the mark of the list."""
        return self.query_one(PickList).scrollable_content_region.width - MARK_CELLS

    def _fill(self) -> None:
        self._lines = help_lines(self._keys, self.row_cells)
        self.query_one(PickList).show(self._lines)

    @on(Input.Changed)
    def narrow(self, message: Input.Changed) -> None:
        wanted = message.value.casefold().strip()
        lines = [line for line in self._lines if wanted in plain(line).casefold()]
        self.query_one(PickList).show(lines if wanted else self._lines)

    def action_choose(self, step: int) -> None:
        self.query_one(PickList).action_choose(step)

    def action_leave(self) -> None:
        self.dismiss(None)
