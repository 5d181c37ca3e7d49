"""What to practise next, with the reason; enter loops it at the proposed speed."""

import datetime
from collections.abc import Sequence
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen

from composer.check.findings import Finding
from composer.playback.plan import difficulty_of, practice_plan, tallies
from composer.score.passes import Pass, Transition, passes_of
from tui.screens.asking import LEAVE
from tui.views import words
from tui.views.paper import Piece
from tui.views.planning import plan_line
from tui.widgets.lines import Lines
from tui.widgets.pick_list import PickList

WHY_ROWS, MARK_CELLS = 3, 2


class PracticePlan(ModalScreen[tuple[Transition, int] | None]):
    """Ends with the transition to loop and its speed in percent, None for leaving."""

    BINDINGS: ClassVar[list[BindingType]] = [LEAVE]

    def __init__(
        self,
        passes: Sequence[Pass],
        transitions: Sequence[Transition],
        findings: Sequence[Finding],
        now: datetime.datetime,
        *,
        performance_date: datetime.date | None,
        unreadable_lines: int,
    ) -> None:
        super().__init__()
        self._passes = passes_of(passes, transitions)
        self._unreadable_lines = unreadable_lines
        self._plan = practice_plan(
            passes,
            transitions,
            now,
            performance_date=performance_date,
            difficulty=difficulty_of(findings, transitions),
        )

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog wide"):
            title = Lines()
            lost = f"; {self._unreadable_lines} lines of the log could not be read"
            asked = " What to practise next: enter loops it, esc goes back"
            title.show((Piece(asked + (lost if self._unreadable_lines else ""), "title"),))
            yield title
            yield PickList(empty=" nothing is placed yet, so there is nothing to practise")
            yield Lines(id="why")

    def on_mount(self) -> None:
        self.query_one(PickList).focus()
        self.call_after_refresh(self._fill)

    def _fill(self) -> None:
        rows = self.query_one(PickList)
        width = rows.scrollable_content_region.width - MARK_CELLS
        rows.show([plan_line(p, tallies(self._passes[p.transition]), width) for p in self._plan])
        self._say_why(0)

    @on(PickList.Chosen)
    def follow_bar(self, message: PickList.Chosen) -> None:
        self._say_why(message.index)

    def _say_why(self, index: int) -> None:
        """The whole of a line, with its reason: rows are cut at the edge."""
        if index < len(self._plan):
            why = self.query_one("#why", Lines)
            one = self._plan[index]
            text = f"{one.transition.words}, at {one.percent} %: {one.reason}"
            why.show(*words.sentence(text, why.size.width)[:WHY_ROWS])

    @on(PickList.Picked)
    def pick(self, message: PickList.Picked) -> None:
        if message.index < len(self._plan) and self.is_current:
            proposal = self._plan[message.index]
            self.dismiss((proposal.transition, proposal.percent))

    def action_leave(self) -> None:
        self.dismiss(None)
