"""Checks beside the screen, in a thread of their own."""

import datetime
import threading
from typing import TYPE_CHECKING

from textual.worker import get_current_worker

from composer.moves.library import Library
from composer.score.routine import Routine
from tui.views.found import found_by_performer

if TYPE_CHECKING:
    from tui.screens.compose_base import ComposeBase

ONE_AT_A_TIME = threading.Lock()
"""Held by whoever judges moves: what has been judged is kept in one place for all."""


def check_later(screen: "ComposeBase", routine: Routine, library: Library) -> None:
    """Check a routine and hand the findings to the screen, unless a newer check has begun."""
    had = screen.desk.having.everybody

    def check() -> None:
        from composer.check.checks import check_routine
        from composer.check.readiness import readiness_findings

        worker = get_current_worker()
        with ONE_AT_A_TIME:
            if worker.is_cancelled:
                return
            findings = [
                *check_routine(routine, library),
                *readiness_findings(routine, had, library, datetime.date.today()),
            ]
        findings.sort(key=lambda finding: (float(finding.beat), -finding.level))
        found = found_by_performer(findings, [one.name for one in routine.performers])
        if not worker.is_cancelled:
            screen.from_thread(screen.checked, routine, found)

    screen.run_worker(check, name="check", group="check", thread=True, exclusive=True)
