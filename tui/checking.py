"""Checks beside the screen, in a thread of their own; and the analysis of the track likewise."""

from typing import TYPE_CHECKING

from textual.worker import get_current_worker

from composer.moves.library import Library
from composer.score.routine import Routine

if TYPE_CHECKING:
    from tui.screens.compose import ComposeScreen


def check_later(screen: "ComposeScreen", routine: Routine, library: Library) -> None:
    """Check a routine and hand the findings to the screen, unless a newer check has begun."""

    def check() -> None:
        try:
            from composer.check.checks import check_routine
        except ModuleNotFoundError:
            return

        findings = check_routine(routine, library)
        if not get_current_worker().is_cancelled:
            screen.app.call_from_thread(screen.checked, routine, findings)

    screen.run_worker(check, name="check", group="check", thread=True, exclusive=True)
