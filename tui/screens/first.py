"""The first screen: what to begin with."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.message import Message
from textual.screen import Screen

from tui.opening import is_routine, openable
from tui.screens.asking import Ask, Pick
from tui.screens.help import Help
from tui.views.paper import Line, Piece
from tui.views.words import sentence
from tui.widgets.lines import Lines
from tui.widgets.pick_list import PickList

CHOICES = (
    ("tour", "A tour of two minutes", "the demo, with a hint for each step"),
    ("demo", "The demo", "a routine on a track that comes with the program"),
    ("open", "Open music or a routine", "an audio file begins a new routine on its beats"),
    ("help", "Help", "how the sheet is read, every key, the trade's words"),
    ("leave", "Leave", ""),
)


class FirstScreen(Screen[None]):
    """Reports what was chosen to the app, which opens it."""

    CSS_PATH = "../styles/first.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("q,escape", "leave", "Leave", show=False, id="first-leave")
    ]

    @dataclass
    class Chosen(Message):
        """A routine or a track is to be opened; None: the demo."""

        path: Path | None
        tour: bool = False

    def __init__(self, own_keys: Mapping[str, str]) -> None:
        super().__init__()
        self._own_keys = own_keys

    def compose(self) -> ComposeResult:
        with Vertical(id="first"):
            yield Lines(id="welcome")
            yield PickList(id="choices")
            yield Lines(id="first-message")
            yield Lines(id="first-keys")

    def on_mount(self) -> None:
        self.query_one("#welcome", Lines).show(
            (),
            (
                Piece("  petalbar", "title"),
                Piece(" · prop spinning on the beats of music", "quiet"),
            ),
            (Piece("  Find the beats, place moves on them, see what fits and what wrenches."),),
            (),
        )
        rows = [
            (Piece(f"{title:<26}", "strong"), Piece(words, "quiet")) for _, title, words in CHOICES
        ]
        self.query_one("#choices", PickList).show(rows)
        self.query_one("#choices").focus()
        self.query_one("#first-keys", Lines).show(
            (Piece(" ↑ ↓", "key"), Piece(" choose  "), Piece("enter", "key"), Piece(" take  "),
             Piece("ctrl+p", "key"), Piece(" every command  "), Piece("q", "key"), Piece(" leave"))
        )  # fmt: skip

    def tell(self, text: str) -> None:
        """One line about what could not be done."""
        lines = sentence(text, self.size.width)
        self.query_one("#first-message", Lines).show(*lines)

    @on(PickList.Picked, "#choices")
    def take(self, message: PickList.Picked) -> None:
        match CHOICES[message.index][0]:
            case "tour":
                self.post_message(self.Chosen(None, tour=True))
            case "demo":
                self.post_message(self.Chosen(None))
            case "open":
                self._ask_what_to_open()
            case "help":
                self.app.push_screen(Help(self._own_keys))
            case _:
                self.action_leave()

    def _ask_what_to_open(self) -> None:
        """The routines and the music of this folder to pick from, and any other path to type."""
        found = openable(Path())
        if not found:
            self._ask_path()
            return
        rows: list[Line] = [
            (
                Piece(f"{path.name:<40} ", "strong"),
                Piece("a routine" if is_routine(path) else "music", "quiet"),
            )
            for path in found
        ]
        rows.append((Piece("another: type its path"),))

        def picked(index: int | None) -> None:
            if index == len(found):
                self._ask_path()
            elif index is not None:
                self._open(str(found[index]))

        self.app.push_screen(Pick(f"What is in {Path().resolve()}", rows), picked)

    def _ask_path(self) -> None:
        self.app.push_screen(Ask("Path of an audio file or a routine"), self._open)

    def _open(self, text: str | None) -> None:
        if text and text.strip():
            self.post_message(self.Chosen(Path(text.strip()).expanduser()))

    def action_leave(self) -> None:
        self.app.exit(0)
