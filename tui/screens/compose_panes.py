"""The composing screen's panes: what can follow, the motion, the findings."""

from fractions import Fraction

from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.timer import Timer
from textual.worker import get_current_worker

from composer.errors import ComposerError
from composer.export.choice import View
from composer.score.parts import PlacedMove
from composer.score.routine import Placement
from tui.screens.compose_base import ComposeBase
from tui.views import words
from tui.views.follow import FollowRow, follow_line, follow_rows
from tui.views.found import LazyLines
from tui.views.motion_state import MotionState
from tui.views.paper import Line
from tui.widgets.count_sheet import CountSheet
from tui.widgets.lines import Lines, Picture
from tui.widgets.pick_list import PickList

MOTION_DELAY_S, FOLLOW_DELAY_S = 0.12, 0.35
"""Panes wait until the cursor has stood still for so long; ranking what can follow takes a tenth
of a second of work, which is not to fall between two quick keys."""
SLOW_FRAMES_PER_S = 15
SLOW_TURNS_PER_S = 0.4
"""Slow enough to follow a head with the eye."""


class ShowsPanes(ComposeBase):
    """All three panes beside the sheet in a wide window; one below it in a narrow one."""

    follow: tuple[FollowRow, ...] = ()
    _follow_key: tuple[object, ...] = ()
    motion: MotionState = MotionState()
    _candidate: Placement | None = None
    """What the bar in the list of what can follow stands on, to be shown in motion."""
    _pane_timers: tuple[Timer, ...] = ()
    _slow_timer: Timer | None = None
    _shown_pane: str = ""

    def compose_panes(self) -> ComposeResult:
        with Vertical(id="panes"):
            with Vertical(id="follow-pane", classes="pane"):
                yield PickList(id="follow", empty="nothing in the library fits here")
            with Vertical(id="motion-pane", classes="pane"):
                yield Picture(id="motion")
            with Vertical(id="findings-pane", classes="pane"):
                yield PickList(id="findings", empty="no findings")
                yield Lines(id="finding")

    def name_panes(self) -> None:
        for name, title in (
            ("follow", "what can follow"),
            ("motion", "motion"),
            ("findings", "findings"),
        ):
            self.query_one(f"#{name}-pane").border_title = title

    def sees_pane(self, name: str) -> bool:
        return self.has_class("-wide") or self._shown_pane == name

    # ------------------------------------------------------------------ following the cursor

    def panes_later(self) -> None:
        """Let the panes follow once the cursor has come to rest."""
        for timer in self._pane_timers:
            timer.stop()
        self._pane_timers = (
            self.set_timer(MOTION_DELAY_S, self._motion_at_cursor),
            self.set_timer(FOLLOW_DELAY_S, self._follow_cursor),
        )

    def refresh_panes(self) -> None:
        self._motion_at_cursor()
        self._follow_cursor()

    def _motion_at_cursor(self) -> None:
        self._candidate = None
        self.motion = self.motion.at_start()
        self.refresh_motion()

    def _follow_cursor(self) -> None:
        """Rank, seen or not: the list and the keys 1 to 9 then answer at once."""
        if self._follow_key != self._key_here():
            self._follow_later()

    def _key_here(self) -> tuple[object, ...]:
        desk = self.desk
        return (id(desk.routine), desk.performer, desk.cursor_beat, desk.hands)

    def _rank(self) -> tuple[FollowRow, ...]:
        desk = self.desk
        return follow_rows(
            desk.routine,
            desk.library,
            desk.performer,
            desk.cursor_beat,
            desk.hands,
            repertoire=self.desk.having.of(desk.performer),
        )

    def follow_now(self) -> tuple[FollowRow, ...]:
        """What can follow at the cursor, ranked at once if it has not been yet."""
        if self._follow_key != self._key_here():
            self._followed(self._key_here(), self._rank())
        return self.follow

    def follow_if_known(self) -> tuple[FollowRow, ...] | None:
        """What can follow at the cursor, if it has been ranked."""
        return self.follow if self._follow_key == self._key_here() else None

    def _follow_later(self) -> None:
        """Rank what can follow in a thread; a cursor that has moved on drops the answer."""
        key = self._key_here()

        def rank() -> None:
            rows = self._rank()
            if not get_current_worker().is_cancelled:
                self.from_thread(self._followed, key, rows)

        self.run_worker(rank, name="follow", group="follow", thread=True, exclusive=True)

    def _followed(self, key: tuple[object, ...], rows: tuple[FollowRow, ...]) -> None:
        if key != self._key_here():
            return
        self._follow_key, self.follow = key, rows
        performer = self.desk.performer

        def line(index: int) -> Line:
            firmness = self.desk.having.firmness(performer, rows[index].name)
            return follow_line(index + 1, rows[index], firmness)

        self.query_one("#follow", PickList).show(LazyLines(len(rows), line))

    def refresh_findings(self) -> None:
        found, routine = self.desk.found.findings, self.desk.routine
        rows = LazyLines(len(found), lambda index: words.finding_row(routine, found[index]))
        pick_list = self.query_one("#findings", PickList)
        pick_list.show(rows, pick_list.chosen)
        self._show_finding(pick_list.chosen)

    def _show_finding(self, index: int) -> None:
        found = self.desk.found.findings
        lines = words.finding_details(self.desk.routine, found[index]) if found else ()
        self.query_one("#finding", Lines).show(*lines)

    # ------------------------------------------------------------------ the motion

    def motion_move(self) -> PlacedMove | None:
        """What the motion pane shows: the candidate in the list, else the move at the cursor."""
        if self._candidate is not None:
            return PlacedMove(self._candidate, self.desk.performer, self.desk.performer, -1)
        return self.desk.move_here()

    def refresh_motion(self, move: PlacedMove | None = None) -> None:
        """Show a move in motion; by default the one the pane is about."""
        if not self.sees_pane("motion-pane"):
            return
        from tui.views.motion_pane import motion_lines

        pane, desk = self.query_one("#motion", Lines), self.desk
        move = move or self.motion_move()
        start = move.span.start_beat if move is not None else desk.cursor_beat
        try:
            lines = motion_lines(
                desk.routine,
                desk.library,
                desk.moves,
                move,
                desk.found.between(start, start + 1),
                self.motion,
                columns=pane.size.width,
                rows=pane.size.height,
            )
        except ComposerError as error:
            lines = words.sentence(str(error), pane.size.width)
        pane.show(*lines)

    def show_motion_at(self, beat: float) -> None:
        at = Fraction(beat).limit_denominator(192)
        here = self.desk.moves_at(at)
        if here:
            self.motion = self.motion.at_beat(at)
            self.refresh_motion(here[0])

    def do_step(self, step: int = 1) -> None:
        move = self.motion_move()
        if move is None:
            raise ComposerError("no move is under the cursor to be shown in motion")
        from tui.views.motion_pane import step_from

        performer = self.desk.routine.performer(self.desk.performer)
        self.motion = step_from(self.motion, move.placement, self.desk.library, performer, step)
        if not self.sees_pane("motion-pane"):
            self.show_pane("motion-pane")
        self.refresh_motion()

    def do_step_back(self) -> None:
        self.do_step(-1)

    def do_audience(self) -> None:
        other = View.AUDIENCE if self.motion.view is View.PERFORMER else View.PERFORMER
        self.motion = self.motion.seen_from(other)
        self.say(f"motion in the {other}'s view")
        self.refresh_motion()

    def do_animate(self) -> None:
        """Run the motion slowly, or let it stand."""
        if self._slow_timer is not None:
            self._slow_timer.stop()
            self._slow_timer = None
            return
        if not self.sees_pane("motion-pane"):
            self.show_pane("motion-pane")
        self._slow_timer = self.set_interval(1 / SLOW_FRAMES_PER_S, self._run_slowly)

    def _run_slowly(self) -> None:
        """From the end of the move before over into the move and through it, then again."""
        from tui.views.motion_pane import turned_beats
        from tui.views.trying import tried_at

        move, desk = self.motion_move(), self.desk
        if move is None:
            return
        performer = desk.routine.performer(desk.performer)
        turns = SLOW_TURNS_PER_S / SLOW_FRAMES_PER_S
        try:
            beats = turned_beats(move.placement, desk.library, performer, turns)
            begin, end = tried_at(desk.routine, desk.library, desk.moves, move).span
        except ComposerError:
            return
        start = move.span.start_beat
        beat = start + self.motion.beats_into(move.placement) + beats
        self.motion = self.motion.at_beats_in((beat if beat < end else begin) - start)
        self.refresh_motion()

    # ------------------------------------------------------------------ lists

    @on(PickList.Chosen, "#follow")
    def try_followed(self, message: PickList.Chosen) -> None:
        self._candidate = self.follow[message.index].placement
        self.motion = self.motion.at_start()
        self.refresh_motion()

    @on(PickList.Chosen, "#findings")
    @on(PickList.Picked, "#findings")
    def jump_to_finding(self, message: PickList.Picked | PickList.Chosen) -> None:
        self.go_to(self.desk.found.findings[message.index].beat)
        self._show_finding(message.index)
        if isinstance(message, PickList.Picked):
            self.action_back_to_sheet()

    # ------------------------------------------------------------------ which pane has the keys

    def do_next_pane(self) -> None:
        """The next pane gets the keys; in a narrow window it is shown for that time."""
        panes = [pane.id or "" for pane in self.query(".pane")]
        focused = next((p.id for p in self.query(".pane") if p.has_focus_within), "")
        index = panes.index(focused) + 1 if focused else 0
        if index >= len(panes):
            self.action_back_to_sheet()
            return
        self.show_pane(panes[index])

    def show_pane(self, name: str) -> None:
        """Show a pane and give it the keys; an empty name leaves only the sheet."""
        self._shown_pane = name
        for pane in self.query(".pane"):
            pane.set_class(pane.id == name, "-shown")
        self.set_class(bool(name), "-pane")
        if name:
            self.query_one(f"#{name.removesuffix('-pane')}").focus()
        self.call_after_refresh(self.refresh_panes)

    def action_back_to_sheet(self) -> None:
        self.query_one(CountSheet).focus()
        if self._shown_pane:
            self.show_pane("")
