"""What the parts of the composing screen share: the open routine and how to say something."""

from abc import abstractmethod
from collections.abc import Callable, Mapping
from fractions import Fraction
from pathlib import Path

from composer.arrange.history import History
from composer.check.findings import Finding
from composer.playback.device import OpenDevice, open_system_device
from composer.score.routine import Routine
from tui.desk import Desk
from tui.screens.threaded import ThreadedScreen
from tui.views.found import Found
from tui.work import Work


class ComposeBase(ThreadedScreen):
    """State of the composing screen, and what each part may ask of the whole."""

    def __init__(
        self,
        desk: Desk,
        work: Work,
        *,
        track: Path | None = None,
        open_device: OpenDevice = open_system_device,
        tour: bool = False,
    ) -> None:
        super().__init__()
        self.desk = desk
        self.work = work
        self.track = track
        self.open_device = open_device
        self.message = work.notice
        self.checks_run = False
        """Whether a check of the present routine is under way: its findings are not known yet."""
        self.tour_stop: int | None = 0 if tour else None

    def say(self, text: str) -> None:
        """Show one line about what was done or could not be done."""
        self.message = text
        self.refresh_words()

    def findings_here(self) -> list[Finding]:
        """Findings on the cursor's count, the gravest first."""
        start = self.desk.cursor_beat
        here = self.desk.found.between(start, start + 1)
        return sorted(here, key=lambda finding: -finding.level)

    def change_desk(self, edit: Callable[[Desk], str]) -> None:
        """Do an edit of the desk, and everything that follows from it.

        Raises
        ------
        ComposerError
            If the desk refuses it.
        """
        before = self.desk.history
        self.message = edit(self.desk)
        self.after_edit(before)

    @abstractmethod
    def refresh_words(self) -> None:
        """Tell anew what is under the cursor."""

    @abstractmethod
    def refresh_sheet(self) -> None:
        """Draw the sheet anew."""

    @abstractmethod
    def go_to(self, beat: Fraction) -> None:
        """Put the cursor on a beat."""

    @abstractmethod
    def check_again(self) -> None:
        """Check the routine beside the screen; an older check under way is dropped."""

    @abstractmethod
    def after_edit(self, before: History) -> None:
        """Journal, sheet and checks after the routine may have become another."""

    @abstractmethod
    def checked(self, routine: Routine, found: Mapping[str, Found]) -> None:
        """Take over the findings of a routine, if it is still the present one."""
