"""The composing screen's remedies: found beside the screen, shown before and after, then taken."""

from typing import TYPE_CHECKING

from textual.worker import get_current_worker

from composer.check.findings import Finding
from composer.errors import ComposerError
from composer.score.routine import Routine
from tui.checking import ONE_AT_A_TIME
from tui.screens.asking import Pick
from tui.screens.compose_base import ComposeBase
from tui.views.paper import Line
from tui.widgets.pick_list import PickList

if TYPE_CHECKING:
    from composer.arrange.remedies import Remedy

PREVIEW_CELLS = 74


class Mends(ComposeBase):
    """Offers remedies of the finding under the cursor, or of the one chosen in its list."""

    def do_mend(self) -> None:
        finding = self._finding_to_mend()
        routine, library = self.desk.routine, self.desk.library
        self.say(f"looking for what mends: {finding.rule}")

        def look() -> None:
            from composer.arrange.remedies import remedies_for  # here: it is not needed to start

            with ONE_AT_A_TIME:
                found = remedies_for(routine, library, finding)
            if not get_current_worker().is_cancelled:
                self.from_thread(self._offer, routine, finding, found)

        self.run_worker(look, name="mend", group="mend", thread=True, exclusive=True)

    def _finding_to_mend(self) -> Finding:
        findings = self.query_one("#findings", PickList)
        if findings.has_focus and self.desk.found.findings:
            return self.desk.found.findings[findings.chosen]
        here = self.findings_here()
        if not here and self.checks_run:
            raise ComposerError("the checks are still running; try again in a moment")
        if not here:
            raise ComposerError("no finding is on this count; n goes to the next one")
        return here[0]

    def _offer(self, routine: Routine, finding: Finding, found: "tuple[Remedy, ...]") -> None:
        if routine is not self.desk.routine:
            return
        if not found:
            pinned = any(
                move.placement.pinned and move.span.start_beat <= finding.beat <= move.span.end_beat
                for move in self.desk.moves
            )
            hint = "; a move here is pinned and was not touched" if pinned else ""
            self.say(f"nothing tried here mends it: {finding.rule}{hint}")
            return
        from tui.views.mending import remedy_row

        self.say("")
        rows = [remedy_row(remedy) for remedy in found]
        below = [self._preview(remedy, routine, finding) for remedy in found]

        def take(index: int | None) -> None:
            if index is not None and routine is self.desk.routine:
                before = self.desk.history
                words = f"mended {finding.rule}: {found[index].words}"
                self.message = self.desk.take_over(words, found[index].routine)
                self.after_edit(before)

        self.app.push_screen(Pick(f"To mend: {finding.rule}", rows, below=below), take)

    def _preview(self, remedy: "Remedy", before: Routine, finding: Finding) -> tuple[Line, ...]:
        """The floor before and after where other spots mend it, else the row of the sheet."""
        from composer.arrange.floor_remedies import FLOOR_RULES
        from tui.views.floor_words import floor_preview
        from tui.views.mending import remedy_preview

        if finding.rule in FLOOR_RULES:
            return floor_preview(remedy, before, finding, PREVIEW_CELLS)
        who, beat = finding.performer, finding.beat
        return remedy_preview(remedy, before, who, beat, self.desk.library, PREVIEW_CELLS)
