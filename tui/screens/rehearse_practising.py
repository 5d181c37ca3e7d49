"""Practising: speed with the pitch kept, passes marked, and the plan of what to do next."""

import datetime
from collections.abc import Callable, Sequence
from pathlib import Path

from textual import work
from textual.timer import Timer

from composer.check.findings import Finding
from composer.errors import ComposerError
from composer.files.practice_log import add_pass, read_log
from composer.playback.mixer import Samples
from composer.playback.practice import transition_passage
from composer.score.passes import Pass, Transition
from composer.score.routine import Routine
from tui.screens.rehearse_base import RehearseBase

SPEED_STEP, SLOWEST, FASTEST = 5, 50, 110
SETTLED_S = 0.4
"""A speed is made when so long no other was asked for: several steps are made as one."""


class Practising(RehearseBase):
    """The keys that loop, slow down, mark and plan."""

    routine: Routine
    transitions: Sequence[Transition]
    findings: tuple[Finding, ...]
    log_path: Path
    cache: Path
    _asked_percent: int | None = None
    """The speed that is being made."""
    _speed_timer: Timer | None = None
    now: Callable[[], datetime.datetime]

    def loop_transition(self, transition: Transition) -> None:
        passage = transition_passage(self.routine.grid, transition.beat, transition.words)
        self.rehearsal.rehearse(passage)
        self.say(f"looping {transition.words}; c clean, x fumbled after each pass")

    # ------------------------------------------------------------------ speed

    def action_speed(self, step: int) -> None:
        """A step from the speed asked for last, be it made yet or not."""
        wanted = (self._asked_percent or self.rehearsal.percent) + step * SPEED_STEP
        self.change_speed(min(FASTEST, max(SLOWEST, wanted)))

    def change_speed(self, percent: int) -> None:
        if self._speed_timer is not None:
            self._speed_timer.stop()
        self.workers.cancel_group(self, "slow-down")
        self._asked_percent = percent
        if percent in (100, self.rehearsal.percent):
            self._speed_made(percent, None)
        else:
            self.say(f"making {percent} %, the pitch kept")
            self._speed_timer = self.set_timer(SETTLED_S, lambda: self._slow_down(percent))

    def _speed_made(self, percent: int, made: Samples | None) -> None:
        if percent != self._asked_percent:
            return  # another was asked for meanwhile
        self._asked_percent = None
        if percent != self.rehearsal.percent:
            self.rehearsal.set_speed(percent, made)
        self.say("full speed" if percent == 100 else f"{percent} % of the speed")

    def _speed_failed(self, why: str) -> None:
        self._asked_percent = None
        self.say(why)

    @work(thread=True, exclusive=True, group="slow-down")
    def _slow_down(self, percent: int) -> None:
        from textual.worker import get_current_worker

        from composer.playback.slowdown import slowed

        here = get_current_worker()

        def tell(share: float) -> None:
            if not here.is_cancelled:
                self.from_thread(self.say, f"making {percent} %: {share:.0%}")

        try:
            made = slowed(
                self.track.samples,
                self.track.sample_rate_hz,
                self.track.sha256,
                percent,
                self.cache,
                progress=tell,
                cancelled=lambda: here.is_cancelled,
            )
        except ComposerError as error:
            self.from_thread(self._speed_failed, str(error))
            return
        if made is not None and not here.is_cancelled:
            self.from_thread(self._speed_made, percent, made)

    # ------------------------------------------------------------------ marks and plan

    def action_mark(self, clean: bool) -> None:
        self.look()  # so that a loop that has just come round counts
        one = self.rehearsal.mark(clean, self.now())
        if one is None:
            self.say("nothing has been passed yet that could be marked")
            return
        self._log(one)
        faster = self.rehearsal.next_percent
        word = "clean" if clean else "fumbled"
        self.say(f"{word}: {one.transition.words}, at {one.percent} %")
        if faster != self.rehearsal.percent:
            self.change_speed(faster)

    def _log(self, one: Pass) -> None:
        try:
            add_pass(self.log_path, one)
        except ComposerError as error:
            self.say(str(error))

    def action_plan(self) -> None:
        from tui.screens.practice_plan import PracticePlan

        try:
            log = read_log(self.log_path)
        except ComposerError as error:
            self.say(str(error))
            return
        plan = PracticePlan(
            log.passes,
            self.transitions,
            self.findings,
            self.now(),
            performance_date=self.routine.performance_date,
            unreadable_lines=log.unreadable_lines,
        )

        def chosen(answer: tuple[Transition, int] | None) -> None:
            if answer is not None:
                self.loop_transition(answer[0])
                self.change_speed(answer[1])

        self.app.push_screen(plan, chosen)
