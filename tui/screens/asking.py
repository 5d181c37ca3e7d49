"""Small dialogs: a question with answers, a line of text, a list to pick from."""

from collections.abc import Callable, Sequence
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input

from composer.errors import ComposerError
from tui.views.paper import Line, Piece
from tui.widgets.lines import Lines
from tui.widgets.pick_list import PickList

SHARE_OF_HEIGHT = 0.9
"""As high as a dialog may be: max-height in the style sheet."""
FRAME_ROWS = 4
"""Border, question and keys."""
FEWEST_ROWS, MOST_ROWS = 3, 14
LEAVE: BindingType = Binding("escape", "leave", "Back", show=False, id="dialog-back")


class Pick(ModalScreen[int | None]):
    """A question, lines to pick from; ends with the index of the picked one, None for leaving."""

    BINDINGS: ClassVar[list[BindingType]] = [LEAVE]

    def __init__(
        self,
        question: str,
        rows: Sequence[Line],
        *,
        chosen: int = 0,
        below: Sequence[Sequence[Line]] = (),
    ) -> None:
        super().__init__()
        self._question = question
        self._rows = rows
        self._chosen = chosen
        self._below = below

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog"):
            question = Lines()
            question.show((Piece(f" {self._question}", "title"),))
            yield question
            yield PickList()
            if self._below:
                yield Lines(id="below")
            keys = Lines()
            keys.show((Piece(" enter", "key"), Piece(" take it  "), Piece("esc", "key"),
                       Piece(" leave all as it is")))  # fmt: skip
            yield keys

    def on_mount(self) -> None:
        self.query_one(PickList).show(self._rows, self._chosen)
        if self._below:
            self._show_below(self._chosen)
        self.query_one(PickList).focus()

    def on_resize(self, event: events.Resize) -> None:
        """Question and keys always show; the list gives way to what is shown below it."""
        room = int(event.size.height * SHARE_OF_HEIGHT) - FRAME_ROWS
        below = max((len(lines) for lines in self._below), default=0)
        rows = min(len(self._rows), MOST_ROWS, max(FEWEST_ROWS, room - below))
        self.query_one(PickList).styles.height = max(1, rows)
        if self._below:
            self.query_one("#below").styles.height = max(1, min(below, room - rows))

    @on(PickList.Chosen)
    def follow_bar(self, message: PickList.Chosen) -> None:
        if self._below:
            self._show_below(message.index)

    def _show_below(self, index: int) -> None:
        self.query_one("#below", Lines).show(*self._below[index])

    @on(PickList.Picked)
    def take(self, message: PickList.Picked) -> None:
        if self.is_current:  # a second enter may follow before the first one has closed this
            self.dismiss(message.index)

    def action_leave(self) -> None:
        self.dismiss(None)


class Ask(ModalScreen[str | None]):
    """A line of text; ends with it, None for leaving."""

    BINDINGS: ClassVar[list[BindingType]] = [LEAVE]

    def __init__(self, question: str, value: str = "") -> None:
        super().__init__()
        self._question = question
        self._value = value

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog"):
            question = Lines()
            question.show((Piece(f" {self._question}", "title"),))
            yield question
            yield Input(self._value, compact=True)
            keys = Lines()
            keys.show((Piece(" enter", "key"), Piece(" take it  "), Piece("esc", "key"),
                       Piece(" leave all as it is")))  # fmt: skip
            yield keys

    @on(Input.Submitted)
    def take(self, message: Input.Submitted) -> None:
        if self.is_current:
            self.dismiss(message.value)

    def action_leave(self) -> None:
        self.dismiss(None)


def or_told(
    then: Callable[[str], None], say: Callable[[str], None]
) -> Callable[[str | None], None]:
    """What to do with an answer; what cannot be done with it is told."""

    def answered(text: str | None) -> None:
        if text is None:
            return
        try:
            then(text)
        except ComposerError as error:
            say(str(error))

    return answered
