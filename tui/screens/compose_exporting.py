"""The composing screen's exports: made in a process of their own, while she works on."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.timer import Timer

from composer.errors import ComposerError
from tui.screens.compose_base import ComposeBase

if TYPE_CHECKING:  # exports are loaded when one is asked for
    from tui.apart import Apart
    from tui.views.taking import TakePlan

LOOK_EVERY_S = 0.25


@dataclass
class Export:
    """One that is being made."""

    plan: "TakePlan"
    apart: "Apart[int]"
    timer: Timer

    @property
    def words(self) -> str:
        from tui.apart import progress_words

        share = progress_words(self.apart.share, self.apart.seconds)
        return f"making {self.plan.target.name}: {share}"


class TakesOut(ComposeBase):
    """One export at a time; it goes on when its screen is left, and its end is told."""

    making: Export | None = None
    made_words: str = ""
    """How the last one ended."""

    def do_export(self) -> None:
        """Everything that can be taken out of the routine, as it stands, saved or not."""
        from tui.screens.export import ExportScreen

        def back(_: None) -> None:
            self.say(self.making_words or self.made_words)

        self.made_words = ""
        screen = ExportScreen(
            self, self.desk.routine, self.work.path, has_track=self.track is not None
        )
        self.app.push_screen(screen, back)

    @property
    def making_words(self) -> str:
        """What is being made and how far it is; empty while nothing is."""
        return self.making.words if self.making else ""

    def begin_export(self, plan: "TakePlan") -> None:
        """Begin to make one.

        Raises
        ------
        ComposerError
            If another is being made.
        """
        from tui.apart import Apart
        from tui.exporting import make_export

        if self.making is not None:
            raise ComposerError(f"{self.making_words}; wait for it or cancel it first")
        values = (plan.routine, plan.routine_path, plan.kind_name, plan.choice, plan.wishes)
        apart = Apart(make_export, *values, plan.target)
        self.made_words = ""
        self.making = Export(plan, apart, self.set_interval(LOOK_EVERY_S, self._look_at_export))

    def _look_at_export(self) -> None:
        from tui.views.taking import size_words

        if self.making is None or not self.making.apart.done:
            return
        target = self.making.plan.target
        try:
            size = self.making.apart.result()
        except ComposerError as error:
            self._export_ended(f"{target.name}: {error}")
        else:
            self._export_ended(f"written: {target.resolve()}, {size_words(size)}")

    def cancel_export(self) -> None:
        """End what is being made: nothing is written then."""
        if self.making is not None:
            self._export_ended(f"{self.making.plan.target.name} was cancelled; nothing is written")

    def _export_ended(self, words: str) -> None:
        assert self.making is not None
        self.making.timer.stop()
        self.making.apart.end()
        self.making = None
        self.made_words = words
        self.say(words)

    def on_unmount(self) -> None:
        if self.making is not None:
            self.making.apart.end()
