"""Choosing a move for a place: a list that narrows while typing."""

from collections.abc import Callable
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input

from tui.screens.asking import LEAVE
from tui.views.follow import FollowRow, filtered
from tui.views.paper import Line, Piece
from tui.views.words import follow_line
from tui.widgets.lines import Lines
from tui.widgets.pick_list import PickList


class ChooseMove(ModalScreen[FollowRow | None]):
    """Ends with the row to place, None for leaving.

    ``details`` gives the lines about a row that stand below the list.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        LEAVE,
        Binding("up", "choose(-1)", "Up", show=False, id="choose-up"),
        Binding("down", "choose(1)", "Down", show=False, id="choose-down"),
        Binding("pageup", "choose(-8)", "Up a screen", show=False, id="choose-screen-up"),
        Binding("pagedown", "choose(8)", "Down a screen", show=False, id="choose-screen-down"),
    ]

    def __init__(
        self,
        place: str,
        rows: tuple[FollowRow, ...],
        also: dict[str, tuple[str, ...]],
        details: Callable[[FollowRow], tuple[Line, ...]],
    ) -> None:
        super().__init__()
        self._place = place
        self._all = rows
        self._shown = rows
        self._also = also
        self._details = details

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog wide"):
            title = Lines()
            title.show((Piece(f" What can follow at {self._place}", "title"),))
            yield title
            yield Input(placeholder="type a part of a name", compact=True)
            yield PickList(empty="no move of that name; type less of it")
            yield Lines(id="details")
            keys = Lines()
            keys.show((Piece(" ↑ ↓", "key"), Piece(" choose  "), Piece("enter", "key"),
                       Piece(" place  "), Piece("esc", "key"), Piece(" back")))  # fmt: skip
            yield keys

    def on_mount(self) -> None:
        self._show_rows()
        self.query_one(Input).focus()

    @on(Input.Changed)
    def narrow(self, message: Input.Changed) -> None:
        self._shown = filtered(self._all, message.value, self._also)
        self._show_rows()

    def _show_rows(self) -> None:
        lines = [follow_line(99, row, 30) for row in self._shown]
        self.query_one(PickList).show(lines)
        self._show_details(0)

    def _show_details(self, index: int) -> None:
        lines = self._details(self._shown[index]) if self._shown else ()
        self.query_one("#details", Lines).show(*lines)

    def action_choose(self, step: int) -> None:
        self.query_one(PickList).action_choose(step)

    @on(PickList.Chosen)
    def follow_bar(self, message: PickList.Chosen) -> None:
        self._show_details(message.index)

    @on(PickList.Picked)
    @on(Input.Submitted)
    def take(self) -> None:
        if self._shown and self.is_current:
            self.dismiss(self._shown[self.query_one(PickList).chosen])

    def action_leave(self) -> None:
        self.dismiss(None)
