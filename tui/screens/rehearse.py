"""The rehearsal screen: the track plays, the next move is called, passes are marked."""

import datetime
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.timer import Timer

from composer.check.findings import Finding
from composer.check.performed import CannotEnter, performed
from composer.errors import UnknownName
from composer.export.choice import View
from composer.files.practice_log import practice_log_path
from composer.files.settings_file import Settings
from composer.files.track import Track
from composer.moves.library import Library
from composer.playback.clock import TimeSource
from composer.playback.device import OpenDevice
from composer.playback.player import PlayState
from composer.playback.practice import from_here, phrase_passage
from composer.playback.rehearsal import Moment, Rehearsal
from composer.score.cues import Cue, cue_list
from composer.score.parts import PlacedMove, performed_part
from composer.score.passes import transitions_of
from composer.score.routine import Routine
from tui.screens.key_help import KeyHelp
from tui.screens.rehearse_hearing import Hearing, heard
from tui.screens.rehearse_practising import Practising
from tui.views.key_lines import key_lines
from tui.views.motion import frame, trail_of
from tui.views.paper import Line, Piece, shortened
from tui.views.rehearse_keys import READING, REHEARSE_ACTIONS, REHEARSE_KEYS
from tui.views.rehearsing import (
    FEWEST_COLUMNS,
    FEWEST_ROWS,
    TRAIL_FROM_COLUMNS,
    Standing,
    phrase_line,
    stage_lines,
    standing,
)
from tui.widgets.lines import Lines, Picture

FRAMES_PER_S = 20
SOONEST_S = 0.004
ASKS = {
    "play": "play_or_pause",
    "before": "step_move(-1)",
    "next": "step_move(1)",
    "slower": "speed(-1)",
    "faster": "speed(1)",
    "phrase": "loop_phrase",
    "link": "loop_link",
    "on": "play_on",
    "clean": "mark(True)",
    "fumbled": "mark(False)",
    "plan": "plan",
    "leave": "leave",
    "help": "help",
    "click": "click",
    "calls": "calls",
    "performer": "performer",
    "ladder": "ladder",
    "count-in": "count_in",
    "counts": "count_aloud",
    "mute": "mute",
    "calibrate": "calibrate",
    "resume": "resume",
}
"""What the screen does for each action of its table."""


class RehearseScreen(Hearing, Practising):
    """Plays one routine for one performer at a time. All keys lie under one hand and the arrows."""

    CSS_PATH = "../styles/rehearse.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(one.keys, ASKS[one.name], one.words, show=False, id=REHEARSE_KEYS.own_name(one))
        for one in REHEARSE_ACTIONS
    ]

    def __init__(
        self,
        routine: Routine,
        library: Library,
        track: Track,
        open_device: OpenDevice,
        *,
        routine_path: Path,
        cache: Path,
        performer: str = "",
        findings: tuple[Finding, ...] = (),
        settings: Settings | None = None,
        start_beat: Fraction = Fraction(0),
        notice: str = "",
        has_sound: bool = True,
        now: Callable[[], datetime.datetime] = lambda: datetime.datetime.now().astimezone(),
        clock: TimeSource = time.monotonic,
    ) -> None:
        super().__init__()
        self.routine, self.library, self.track = routine, library, track
        self.findings = findings
        self.performer = routine.performer(performer or routine.performers[0].name).name
        self.open_device, self.has_sound = open_device, has_sound
        self.log_path = practice_log_path(routine_path)
        self.cache = cache
        self._start_beat = start_beat
        self.now = now
        self.message = notice
        self.kept = settings or Settings()
        self.transitions = tuple(
            t for t in transitions_of(routine) if t.performer == self.performer
        )
        self.rehearsal = Rehearsal(
            track.samples,
            track.sample_rate_hz,
            routine.grid,
            (),
            open_device,
            transitions=self.transitions,
            now=clock,
            settings=heard(self.kept),
        )
        self._take_performer(self.performer)
        self._timer: Timer | None = None
        self._shown: tuple[object, ...] = ()

    # ------------------------------------------------------------------ what is shown

    def compose(self) -> ComposeResult:
        yield Lines(id="title")
        with Horizontal(id="stage"):
            yield Picture(id="words")
            yield Picture(id="trail")
        with Vertical(id="below"):
            yield Lines(id="phrase")
            yield Lines(id="message")
            yield Lines(id="keys")
        yield Lines(id="too-small")

    def on_mount(self) -> None:
        self.query_one("#too-small", Lines).show(
            (Piece(f" at least {FEWEST_COLUMNS} by {FEWEST_ROWS} characters are needed", "title"),)
        )
        self._timer = self.set_interval(1 / FRAMES_PER_S, self.look)
        self.rehearsal.go_to(self._start_beat)

    def on_resize(self, event: events.Resize) -> None:
        small = event.size.width < FEWEST_COLUMNS or event.size.height < FEWEST_ROWS
        self.set_class(small, "-too-small")
        self.set_class(event.size.width >= TRAIL_FROM_COLUMNS, "-wide")
        self._shown = ()
        self.call_after_refresh(self.look)

    def on_unmount(self) -> None:
        self.rehearsal.close()

    def look(self) -> None:
        """Ask what is heard, and show it if it differs from what is shown.

        Under a dialog it is asked too: passes go on being counted, a lost device is noticed.
        """
        moment = self.rehearsal.tick()
        if not self.is_current or self.query_one("#words", Picture).size.width == 0:
            return
        if moment.wake_in_s is not None and moment.wake_in_s < 1 / FRAMES_PER_S:
            self.set_timer(max(SOONEST_S, moment.wake_in_s), self.look)
        seen = standing(
            self.routine.grid,
            self._moves,
            self.cues,
            moment.beat,
            bar=moment.bar,
            count=moment.count,
            counting=moment.counting,
        )
        shown = (
            seen,
            moment.state,
            moment.notice,
            moment.passes,
            self.message,
            self._percent_words,
        )
        if shown == self._shown:
            return
        self._shown = shown
        self._show(seen, moment)

    def _show(self, seen: Standing, moment: Moment) -> None:
        self.query_one("#title", Lines).show(self._title(moment))
        words = self.query_one("#words", Picture)
        words.show(*stage_lines(seen, words.size.width, words.size.height))
        self._show_trail(moment.beat)
        columns = self.size.width
        self.query_one("#phrase", Lines).show(phrase_line(seen, columns))
        message = moment.notice or self.message
        self.query_one("#message", Lines).show(
            (Piece(f" {shortened(message, columns - 2)}", "note"),)
        )
        self.query_one("#keys", Lines).show(*key_lines(REHEARSE_KEYS, self._own_keys, columns))

    def _title(self, moment: Moment) -> Line:
        state = {
            PlayState.PLAYING: "playing",
            PlayState.READY: "paused",
            PlayState.LOST: "sound lost, enter tries again",
        }[moment.state]
        passage = self.rehearsal.passage
        loop = f"loop, pass {moment.passes + 1}" if passage.loops else "no loop"
        words = f" {state} · {self._percent_words} · {loop} · {passage.name}"
        whose = f" · {self.performer} · {self.routine.title}"
        return (Piece(shortened(words + whose, self.size.width - 1), "title"),)

    @property
    def _percent_words(self) -> str:
        return f"{self.rehearsal.percent} %"

    @property
    def _own_keys(self) -> dict[str, str]:
        return dict(getattr(self.app, "own_keys", {}))

    def _show_trail(self, beat: float) -> None:
        """The trails of the next move, drawn still: it is to be read at a glance."""
        trail = self.query_one("#trail", Picture)
        if not self.has_class("-wide") or trail.size.height < 6:
            return
        later = [m for m in self._moves if m.span.start_beat > beat]
        move = later[0] if later else (self._moves[-1] if self._moves else None)
        if move is None:
            trail.show()
            return
        who = self.routine.performer(self.performer)
        try:
            done = performed(move.placement, who, self.library).performance
        except (UnknownName, CannotEnter) as error:
            trail.show((Piece(f" {error}", "warning"),))
            return
        drawn = trail_of(done, who.body, View.PERFORMER, trail.size.width, trail.size.height - 1)
        heading = (Piece(f" {shortened(move.placement.move, trail.size.width - 2)}", "title"),)
        trail.show(heading, *frame(drawn, 0.0))

    # ------------------------------------------------------------------ performers and cues

    def _take_performer(self, name: str) -> None:
        self.performer = name
        self._moves: tuple[PlacedMove, ...] = performed_part(self.routine, name)
        self.cues: tuple[Cue, ...] = cue_list(self.routine, name)
        self.rehearsal.use_cues(self.cues)

    def action_performer(self) -> None:
        names = [p.name for p in self.routine.performers]
        self._take_performer(names[(names.index(self.performer) + 1) % len(names)])
        self.say(f"cues of {self.performer}")

    def say(self, text: str) -> None:
        self.message = text
        self.look()

    # ------------------------------------------------------------------ playing

    def action_play_or_pause(self) -> None:
        self.message = ""
        self.rehearsal.toggle()
        self.look()

    def action_resume(self) -> None:
        if self.rehearsal.player.state is PlayState.LOST and self.rehearsal.player.resume():
            self.say("sound again")

    def action_step_move(self, step: int) -> None:
        """To the start of the move after or before the beat that is heard."""
        beat = self.rehearsal.tick().beat
        starts = sorted({Fraction(0), *(m.span.start_beat for m in self._moves)})
        later = [start for start in starts if start > beat + 0.5]
        earlier = [start for start in starts if start < beat - 1.5]
        goal = later[:1] if step > 0 else earlier[-1:]
        self.rehearsal.go_to(goal[0] if goal else starts[0 if step < 0 else -1])
        self.look()

    def action_loop_phrase(self) -> None:
        index = self.routine.grid.phrase_index_at(self._beat())
        if index is None:
            self.say("there is no phrase here to loop")
        else:
            self.rehearsal.rehearse(phrase_passage(self.routine.grid, index))
            self.say(f"looping {self.routine.grid.phrases[index].name}")

    def action_loop_link(self) -> None:
        """Loop the change of moves that is nearest."""
        beat = self._beat()
        nearest = min(self.transitions, key=lambda t: abs(t.beat - beat), default=None)
        if nearest is None:
            self.say("no change of moves is placed yet")
        else:
            self.loop_transition(nearest)

    def action_play_on(self) -> None:
        if self.rehearsal.passage.loops:
            self.rehearsal.stop_looping()
            self.say("playing on")
        else:
            self.rehearsal.rehearse(from_here(self.routine.grid, self._beat()))
            self.look()

    def _beat(self) -> Fraction:
        return Fraction(int(self.rehearsal.tick().beat + 0.01))

    def action_help(self) -> None:
        self.app.push_screen(KeyHelp(REHEARSE_KEYS, READING, self._own_keys))

    def action_leave(self) -> None:
        self.dismiss(None)
