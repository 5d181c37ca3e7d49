"""Taking out: what can be made of a routine, for whom, of what, and into which file."""

from pathlib import Path
from typing import ClassVar, Protocol

from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.command import Provider
from textual.containers import Vertical
from textual.screen import Screen

from composer.errors import ComposerError
from composer.score.routine import Routine
from tui.actions import Action
from tui.palette import ActionCommands
from tui.screens.act_keys import act_bindings
from tui.screens.asking import Ask, Pick
from tui.screens.key_help import KeyHelp
from tui.views.key_lines import KeyTable, key_lines
from tui.views.paper import Piece
from tui.views.taking import NAMES, TakePlan, kind_row, plan_rows
from tui.views.words import sentence
from tui.widgets.lines import Lines
from tui.widgets.pick_list import PickList

LOOK_EVERY_S = 0.25
WHAT, MAKE = "What is taken out", "Making it"
EXPORT_KEYS = KeyTable(
    (
        Action("make", "enter", "Make it", MAKE, "make it"),
        Action("performer", "p", "For everybody, or for one", WHAT, "for whom"),
        Action("next-phrase", "right,f", "Next phrase, or the whole", WHAT, "phrase"),
        Action("previous-phrase", "left,F", "Phrase before", WHAT),
        Action("view", "v", "Seen by the audience, or by the performer", WHAT, "view"),
        Action("format", "o", "Another format, where there are several", WHAT, "format"),
        Action("name", "e", "Type the name of the file", WHAT, "file name"),
        Action("leave", "q,escape", "Back to the moves", MAKE, "back"),
        Action("cancel", "x", "Cancel what is being made", MAKE, "cancel"),
        Action("help", "question_mark,f1", "What every key does", MAKE, "help"),
        Action("paper", "s", "Another size of paper", WHAT, "paper"),
        Action("faster", "plus,equals_sign", "Practice a step faster", WHAT, "speed"),
        Action("slower", "minus", "Practice a step slower", WHAT),
        Action("clicks", "c", "Practice and MIDI with clicks, or without", WHAT, "clicks"),
        Action("calls", "l", "Practice with calls, or without", WHAT, "calls"),
        Action("pieces", "b", "Practice phrase by phrase, or in one go", WHAT, "by phrase"),
    ),
    (WHAT, MAKE),
    prefix="export-",
    pairs={"next-phrase": "← →", "faster": "+ -"},
)
EXPORT_READING = (
    "↑ ↓ choose what to make; the lines below tell for whom, of what, and into which file.",
    "It is made of the routine as it stands now, saved or not, cut as for the stage if it has a "
    "cut. Nothing is written over unasked, and never half a file.",
    "You may go back to the moves while it is made; how it ended is told there.",
)


class Maker(Protocol):
    """Makes what was chosen, one at a time, and goes on when the screen is left."""

    made_words: str
    """How the last one ended."""

    @property
    def making_words(self) -> str:
        """What is being made and how far it is; empty while nothing is."""

    def begin_export(self, plan: TakePlan) -> None:
        """Begin to make one; ComposerError if another is being made."""

    def cancel_export(self) -> None:
        """End what is being made: nothing is written then."""


class ExportScreen(Screen[None]):
    """Chooses; the composing screen makes it, so that leaving here stops nothing."""

    KEYS = EXPORT_KEYS
    COMMANDS: ClassVar[set[type[Provider]]] = {ActionCommands}  # type: ignore[assignment]
    BINDINGS: ClassVar[list[BindingType]] = act_bindings(
        EXPORT_KEYS,
        wanted=lambda action: action.name != "make",  # the list picks it
    )
    CSS_PATH = "../styles/export.tcss"

    def __init__(self, maker: Maker, routine: Routine, path: Path, *, has_track: bool) -> None:
        super().__init__()
        self._maker = maker
        self.plan = TakePlan(routine, path)
        self._has_track = has_track
        self._told = ""

    def compose(self) -> ComposeResult:
        yield Lines(id="title")
        with Vertical(id="export"):
            yield PickList(id="kinds")
            yield Lines(id="plan")
        yield Lines(id="told")
        yield Lines(id="keys")

    def on_mount(self) -> None:
        title = f"{self.plan.routine.title} · to take away"
        self.query_one("#title", Lines).show((Piece(" petalbar ", "title"), Piece(title, "quiet")))
        kinds = self.query_one("#kinds", PickList)
        kinds.show([kind_row(name) for name in NAMES], NAMES.index(self.plan.kind_name))
        kinds.focus()
        self.set_interval(LOOK_EVERY_S, self._show_told)

    def on_resize(self, event: events.Resize) -> None:
        own = dict(getattr(self.app, "own_keys", {}))
        self.query_one("#keys", Lines).show(*key_lines(EXPORT_KEYS, own, event.size.width))
        self._show()

    def _show(self) -> None:
        self.query_one("#plan", Lines).show(*plan_rows(self.plan, self._has_track))
        self._show_told()

    def _show_told(self) -> None:
        texts = [self._maker.making_words or self._maker.made_words, self._told]
        lines = [line for text in texts if text for line in sentence(text, self.size.width)]
        self.query_one("#told", Lines).show(*lines[:3])

    def tell(self, text: str) -> None:
        self._told, self._maker.made_words = text, ""
        self._show_told()

    def change(self, plan: TakePlan) -> None:
        self.plan = plan
        self._told = ""
        self._show()

    # ------------------------------------------------------------------ what is asked for

    @on(PickList.Chosen)
    def follow_bar(self, message: PickList.Chosen) -> None:
        self.change(self.plan.of_kind(NAMES[message.index]))

    @on(PickList.Picked)
    def make_picked(self) -> None:
        self.action_act("make")

    def action_act(self, name: str) -> None:
        """Do what an action of the table says; what cannot be done is told in one line."""
        if not self.is_current:
            return
        try:
            getattr(self, f"do_{name.replace('-', '_')}")()
        except ComposerError as error:
            self.tell(str(error))

    def do_performer(self) -> None:
        self.change(self.plan.next_performer())

    def do_next_phrase(self) -> None:
        self.change(self.plan.next_phrase(1))

    def do_previous_phrase(self) -> None:
        self.change(self.plan.next_phrase(-1))

    def do_view(self) -> None:
        self.change(self.plan.other_view())

    def do_paper(self) -> None:
        self.change(self.plan.other_paper())

    def do_format(self) -> None:
        self.change(self.plan.next_format())

    def do_faster(self) -> None:
        self.change(self.plan.faster(1))

    def do_slower(self) -> None:
        self.change(self.plan.faster(-1))

    def do_clicks(self) -> None:
        self.change(self.plan.other_clicks())

    def do_calls(self) -> None:
        self.change(self.plan.other_calls())

    def do_pieces(self) -> None:
        self.change(self.plan.other_pieces())

    def do_name(self) -> None:
        def name(text: str | None) -> None:
            if text is None:
                return
            try:
                self.change(self.plan.into(text))
            except ComposerError as error:
                self.tell(str(error))

        self.app.push_screen(Ask("File to write", str(self.plan.target)), name)

    def do_make(self) -> None:
        """Make it; a file that is there already is not written over unasked."""
        target = self.plan.target
        if not target.exists():
            self._make()
            return

        def answer(index: int | None) -> None:
            if index == 0:
                self._make()
            elif index == 1:
                self.do_name()

        rows = [(Piece("Write over it"),), (Piece("Type another name"),)]
        self.app.push_screen(Pick(f"{target.name} exists already", rows, chosen=1), answer)

    def _make(self) -> None:
        from composer.commands.writing import check_target
        from composer.export.kinds import kind_named

        plan = self.plan
        music = plan.routine_path.parent / plan.routine.track.file
        try:
            check_target(plan.target, force=True, made_from=(plan.routine_path, music))
            kind_named(plan.kind_name, plan.target.name)
            self._maker.begin_export(plan)
        except ComposerError as error:
            self.tell(str(error))
        self._show_told()

    def do_cancel(self) -> None:
        if not self._maker.making_words:
            raise ComposerError("nothing is being made")
        self._maker.cancel_export()
        self._show_told()

    def do_help(self) -> None:
        keys = dict(getattr(self.app, "own_keys", {}))
        self.app.push_screen(KeyHelp(EXPORT_KEYS, EXPORT_READING, keys))

    def do_leave(self) -> None:
        self.dismiss(None)
