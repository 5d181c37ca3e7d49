"""Waiting for work in another process: what share is done, how long it takes, and a way out."""

from collections.abc import Callable
from pathlib import Path
from typing import ClassVar, Generic, TypeVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen

from composer.errors import ComposerError
from composer.score.routine import Routine
from tui.apart import Apart, progress_words
from tui.opening import analysed_routine, place_for
from tui.screens.asking import LEAVE
from tui.views.paper import Line, Piece
from tui.widgets.lines import Lines

T = TypeVar("T")
LOOK_EVERY_S = 0.25
BAR_CELLS = 40


class Waiting(ModalScreen[T | ComposerError | None], Generic[T]):
    """Ends with the answer, with what went wrong, or with None if left: then the work ends too."""

    BINDINGS: ClassVar[list[BindingType]] = [LEAVE]

    def __init__(self, what: str, words: str, begin: Callable[[], Apart[T]]) -> None:
        super().__init__()
        self._what = what
        self._words = words
        self._begin = begin
        self._apart: Apart[T] | None = None

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog"):
            yield Lines(id="told")

    def on_mount(self) -> None:
        self.query_one("#told").styles.height = 4
        self._apart = self._begin()
        self._look()
        self.set_interval(LOOK_EVERY_S, self._look)

    def _look(self) -> None:
        apart = self._apart
        assert apart is not None
        self.query_one("#told", Lines).show(
            (Piece(f" {self._what}: {progress_words(apart.share, apart.seconds)}", "title"),),
            bar_line(apart.share),
            (Piece(f" {self._words}", "quiet"),),
            (Piece(" esc", "key"), Piece(" leave")),
        )
        if apart.done and self.is_current:
            answer = _answer_of(apart)
            self.dismiss(answer)

    def action_leave(self) -> None:
        self.dismiss(None)

    def on_unmount(self) -> None:
        if self._apart is not None:
            self._apart.end()


def _answer_of(apart: Apart[T]) -> T | ComposerError:
    try:
        return apart.result()
    except ComposerError as error:
        return error


def bar_line(share: float | None) -> Line:
    """A bar that fills; empty while only getting ready."""
    filled = round(BAR_CELLS * (share or 0.0))
    return (Piece(" " + "█" * filled, "good"), Piece("░" * (BAR_CELLS - filled), "quiet"))


class Listen(Waiting[Routine]):
    """Listens to a new track; ends with the routine that was begun on it."""

    def __init__(self, track: Path) -> None:
        super().__init__(
            f"Listening to {track.name}",
            "beats, bars and phrases; once only, the answer is kept",
            lambda: Apart(analysed_routine, track, place_for(track)),
        )
