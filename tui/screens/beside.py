"""What the floor and the parts screens share: they work on the composing screen's own desk.

The same history, journal, findings and file, so that undo, save and checks are one and the same
wherever an edit is made.
"""

from collections.abc import Callable, Mapping
from typing import ClassVar

from textual import events
from textual.command import Provider
from textual.timer import Timer

from composer.arrange.history import History
from composer.errors import ComposerError
from composer.score.routine import Routine
from tui.palette import ActionCommands
from tui.screens.asking import Ask, or_told
from tui.screens.compose_files import KeepsFiles
from tui.screens.compose_mending import Mends
from tui.screens.key_help import KeyHelp
from tui.views import words
from tui.views.found import Found
from tui.views.key_lines import KeyTable
from tui.views.paper import Line, Piece
from tui.widgets.lines import Lines

CHECKING = (Piece("checking", "quiet"),)
CHECK_DELAY_S = 0.08
"""The frame that shows an edit comes first; then the checks begin."""


class BesideSheet(KeepsFiles, Mends):
    """Ends when the user goes back; a subclass draws and names its actions ``do_...``."""

    COMMANDS: ClassVar[set[type[Provider] | Callable[[], type[Provider]]]] = {ActionCommands}
    KEYS: ClassVar[KeyTable]
    READING: ClassVar[tuple[str, ...]]
    SMALLEST: ClassVar[tuple[int, int]] = (60, 19)
    WHAT: ClassVar[str]
    """What is shown here, for the title."""
    _check_timer: Timer | None = None

    # ------------------------------------------------------------------ drawing

    def on_resize(self, event: events.Resize) -> None:
        width, height = event.size
        small = width < self.SMALLEST[0] or height < self.SMALLEST[1]
        self.set_class(small, "-too-small")
        text = (
            f"petalbar needs {self.SMALLEST[0]} × {self.SMALLEST[1]} cells here, this window has "
            f"{width} × {height}: make it larger"
        )
        self.query_one("#too-small", Lines).show((Piece(text),))
        if not small:
            self.call_after_refresh(self.refresh_sheet)

    def title_line(self) -> Line:
        desk = self.desk
        state = "saved" if desk.is_saved else "not saved"
        counts = CHECKING if self.checks_run and not desk.found.findings else desk.found.counts
        head = f"{desk.routine.title} · {self.WHAT} · {desk.performer} · {state} · "
        return (Piece(" petalbar ", "title"), Piece(head, "quiet"), *counts)

    def message_lines(self, most: int) -> tuple[Line, ...]:
        return words.sentence(self.message, self.size.width)[:most] if self.message else ()

    @property
    def keys_in_use(self) -> dict[str, str]:
        return dict(getattr(self.app, "own_keys", {}))

    # ------------------------------------------------------------------ asking for something

    def action_act(self, name: str) -> None:
        """Do what an action of the table says; what cannot be done is told in one line."""
        try:
            self.act(name)
        except ComposerError as error:
            self.say(str(error))

    def act(self, name: str) -> None:
        getattr(self, f"do_{name.replace('-', '_')}")()

    def change_routine(self, told: str, change: Callable[[Routine], Routine]) -> None:
        """Take an edited routine as one step of the history."""
        before = self.desk.history
        after = change(self.desk.routine)
        self.message = f"{told}: nothing changes"
        if after != self.desk.routine:
            self.message = self.desk.take_over(told, after)
        self.after_edit(before)

    def after_edit(self, before: History) -> None:
        """Journal, checks and what is drawn, after the routine may have become another."""
        if self.desk.history.present is not before.present:
            trouble = self.work.record(self.desk.routine, self.message)
            self.message = trouble or self.message
            self.check_again()
        self.refresh_sheet()

    def do_undo(self) -> None:
        self._back_and_forth(self.desk.undo)

    def do_redo(self) -> None:
        self._back_and_forth(self.desk.redo)

    def _back_and_forth(self, step: Callable[[], str]) -> None:
        before = self.desk.history
        self.message = step()
        self.after_edit(before)

    def do_leave(self) -> None:
        self.dismiss(None)

    def do_help(self) -> None:
        self.app.push_screen(KeyHelp(self.KEYS, self.READING, self.keys_in_use))

    def ask(self, question: str, value: str, then: Callable[[str], None]) -> None:
        """Ask for a line of text; what cannot be done with it is told."""
        self.app.push_screen(Ask(question, value), or_told(then, self.say))

    def do_go_to_bar(self) -> None:
        grid = self.desk.routine.grid

        def go(text: str) -> None:
            if not text.strip().isdecimal():
                raise ComposerError(f'a bar is a number from 1 to {grid.bar_count}, not "{text}"')
            self.go_to(grid.meter_map.bar_start_beat(max(1, int(text))))

        self.ask(f"Go to bar (1 to {grid.bar_count})", "", go)

    # ------------------------------------------------------------------ checks

    def check_again(self) -> None:
        """Check the routine once no other edit has come for a moment."""
        self.checks_run = True
        if self._check_timer is not None:
            self._check_timer.stop()
        self._check_timer = self.set_timer(CHECK_DELAY_S, self.check_now)

    def check_now(self) -> None:
        """Check the routine beside the screen; an older check under way is dropped."""
        from tui.checking import check_later

        check_later(self, self.desk.routine, self.desk.library)

    def checked(self, routine: Routine, found: Mapping[str, Found]) -> None:
        """Take over findings, unless the routine has become another meanwhile."""
        if routine is self.desk.routine:
            self.checks_run = False
            self.desk.found_by = found
            self.refresh_sheet()
