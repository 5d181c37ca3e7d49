"""Who performs: her name, body and props, and the day of the performance."""

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen

from composer.errors import ComposerError
from tui.screens.asking import LEAVE, Ask
from tui.views.measures import MEASURES, Who, measure_row
from tui.views.paper import Piece
from tui.widgets.lines import Lines
from tui.widgets.pick_list import PickList


class Measures(ModalScreen[Who | None]):
    """Ends with what was typed, None for leaving all as it is."""

    BINDINGS: ClassVar[list[BindingType]] = [
        LEAVE,
        Binding("ctrl+s,t", "take", "Take them", show=False, id="measures-take"),
    ]

    def __init__(self, who: Who) -> None:
        super().__init__()
        self._who = who

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog"):
            title = Lines()
            title.show((Piece(" Your measures: what fits your arms depends on them", "title"),))
            yield title
            yield PickList()
            yield Lines(id="measure-told")
            keys = Lines()
            keys.show((Piece(" enter", "key"), Piece(" type another  "), Piece("t", "key"),
                       Piece(" take them  "), Piece("esc", "key"),
                       Piece(" leave all as it is")))  # fmt: skip
            yield keys

    def on_mount(self) -> None:
        self.query_one(PickList).styles.height = len(MEASURES)
        self.query_one(PickList).focus()
        self._show("both props alike; what differs by hand stands in the file")

    def _show(self, told: str) -> None:
        pick_list = self.query_one(PickList)
        pick_list.show([measure_row(one, self._who) for one in MEASURES], pick_list.chosen)
        self.query_one("#measure-told", Lines).show((Piece(f" {told}", "note"),))

    @on(PickList.Picked)
    def ask(self, message: PickList.Picked) -> None:
        measure = MEASURES[message.index]

        def typed(text: str | None) -> None:
            if text is None:
                return
            try:
                self._who = measure.typed(self._who, text)
            except ComposerError as error:
                self._show(str(error))
            else:
                self._show("")

        self.app.push_screen(Ask(measure.question), typed)

    def action_take(self) -> None:
        self.dismiss(self._who)

    def action_leave(self) -> None:
        self.dismiss(None)
