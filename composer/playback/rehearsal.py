"""A rehearsal: one routine's music, calls, counts and speed, as the screen and the keys need it.

The screen calls :meth:`Rehearsal.tick` some twenty times a second, and once more after
``wake_in_s`` if that is sooner; everything it shows comes from the answer.
"""

import datetime
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import ceil, floor
from typing import Literal

from composer.audio.clicks import call_sound, click
from composer.playback.clock import TimeSource
from composer.playback.device import OpenDevice
from composer.playback.due import Announced, Call, Caller, TimedCue, calls_of, next_due_s
from composer.playback.mixer import Beeper, Samples, SpokenCues
from composer.playback.player import Player, PlayState
from composer.playback.practice import (
    Passage,
    RunUp,
    SpeedLadder,
    clicks,
    count_in,
    count_of_eight,
    from_here,
    marked_transition,
    nearest_count_beat,
    run_up,
)
from composer.playback.timeline import Entry, Loop, Span
from composer.score.passes import Pass, Transition
from composer.timing.grid import MusicGrid

CallStyle = Literal["text", "tones", "words"]
SAME_COUNT_S = 0.02
ROUNDING_S = 1e-6


@dataclass(frozen=True, slots=True)
class RehearsalSettings:
    """What is heard besides the music. Calls are always given to the screen as text too."""

    calls: CallStyle = "tones"
    count_in_bars: int = 1
    click: bool = False
    count_aloud: bool = False
    """Spoken counts over the music, where there is a voice."""
    muted_hands: frozenset[str] = frozenset()
    """Hands whose own cues are not called: "right", "left"; cues for both hands stay."""
    muted_kinds: frozenset[str] = frozenset()
    music_gain: float = 1.0
    under_calls: float = 0.35
    offset_ms: float = 0.0
    ladder: SpeedLadder | None = None


@dataclass(frozen=True, slots=True)
class Moment:
    """What is heard now, and what has happened since the last look."""

    time_s: float
    beat: float
    bar: int
    count: int
    """Count of the bar, from 1; in a count-in or breath, the count that was last given."""
    counting: bool
    """In a silent run-up: the music begins when ``beat`` reaches its start."""
    state: PlayState
    notice: str
    calls: tuple[Announced, ...]
    passes: int
    """Times the loop has come round since the passage was begun."""
    ended: bool
    wake_in_s: float | None
    """Until the next call is due; None while nothing is."""


@dataclass
class _Progress:
    """What was heard of the passage in hand."""

    passes: int = 0
    marks: list[bool] = field(default_factory=list)
    """Since the speed last changed."""
    span: Span | None = None


class Rehearsal:
    """Plays passages of one routine and tells the screen what is heard.

    Parameters
    ----------
    samples : np.ndarray, shape=(frames, channels), float32
    cues : sequence
        Of everyone who is to be called, such as the score's cue list gives.
    transitions : sequence of Transition
        The places that can be marked.
    """

    def __init__(
        self,
        samples: Samples,
        sample_rate: int,
        grid: MusicGrid,
        cues: Sequence[TimedCue],
        open_device: OpenDevice,
        *,
        transitions: Sequence[Transition] = (),
        now: TimeSource = time.monotonic,
        settings: RehearsalSettings | None = None,
    ) -> None:
        self.player = Player(samples, sample_rate, open_device, now=now)
        self.grid = grid
        self.passage = from_here(grid, Fraction(0))
        self.percent = 100
        self.settings = settings or RehearsalSettings()
        self._cues = tuple(cues)
        self._transitions = tuple(transitions)
        self._words: Mapping[TimedCue, Samples] = {}
        self._count_words: Sequence[Samples] = ()
        self._caller, self._spoken_caller = Caller(), Caller()
        self._pieces = self.player.follow()
        self._progress = _Progress()
        self._start_beat = self.passage.start_beat
        self._run_up = RunUp()
        self._clicks = {
            accented: click(sample_rate, accented=accented) for accented in (False, True)
        }
        self.change(self.settings)

    def change(self, settings: RehearsalSettings) -> None:
        """Put settings into force, also in mid-play."""
        self.settings = settings
        self.player.offset_ms = settings.offset_ms
        self.player.set_gains(music=settings.music_gain, under_calls=settings.under_calls)
        self._set_click()
        self._set_calls()
        self._set_counts()

    def use_cues(self, cues: Sequence[TimedCue]) -> None:
        """Call these from now on: another performer's, another lead."""
        self._cues = tuple(cues)
        self._set_calls()

    def use_voice(
        self, words: Mapping[TimedCue, Samples], count_words: Sequence[Samples] = ()
    ) -> None:
        """Spoken calls and counts, made beforehand by the voice."""
        self._words, self._count_words = words, count_words
        self._set_calls()
        self._set_counts()

    def rehearse(self, passage: Passage) -> None:
        """Begin a passage from its start, after the count-in."""
        self.passage = passage
        self._progress = _Progress()
        self.player.set_loop(self._loop_of(passage))
        self._begin_at(passage.start_beat)

    def toggle(self) -> None:
        """Pause; or go on from the count that was reached, after the count-in.

        At the end of the music, begin the passage again.
        """
        if self.player.state is PlayState.PLAYING:
            self.player.pause()
        elif self.player.position_s() >= self._end_s():
            self.rehearse(self.passage)
        else:
            self._begin_at(nearest_count_beat(self.grid, self.player.position_s()))

    def go_to(self, beat: Fraction) -> None:
        """Move the place; playing goes on from there at once, a pause stays one."""
        if not self.passage.start_beat <= beat < self.passage.end_beat:
            self.passage = from_here(self.grid, beat)
            self.player.set_loop(None)
        self.player.seek(self._seconds(beat))

    def stop_looping(self) -> None:
        """Play on past the end of the loop."""
        self.passage = replace(
            self.passage, end_beat=max(self.grid.end_beat, self.passage.end_beat), loops=False
        )
        self.player.set_loop(None)

    def set_speed(self, percent: int, slowed: Samples | None = None) -> None:
        """Go on at a speed, with samples of the whole track made for it (None at 100)."""
        self.player.set_rendition(percent / 100, slowed)
        if percent != self.percent:
            self._progress.marks.clear()
        self.percent = percent
        self._set_calls()

    def mark(self, clean: bool, at: datetime.datetime) -> Pass | None:
        """The pass to log for the transition heard last; None where there is none to mark."""
        transition = marked_transition(
            self._transitions,
            self.passage,
            self._beat(self.player.position_s()),
            come_round=self._progress.passes > 0,
        )
        if transition is None:
            return None
        self._progress.marks.append(clean)
        return Pass(at, transition, clean, self.percent)

    @property
    def next_percent(self) -> int:
        """The speed that the ladder asks for after the marks so far."""
        ladder = self.settings.ladder
        return ladder.next_percent(self.percent, self._progress.marks) if ladder else self.percent

    def tick(self) -> Moment:
        """What is heard now, and every call made since the last look."""
        notice = self.player.check()
        calls: list[Announced] = []
        for piece in self._pieces():
            calls += self._caller.announce(piece)
            self._progress.passes += piece.entry is Entry.WRAP
            self._progress.span = piece.span
        time_s = self.player.position_s()
        beat = self._beat(time_s)
        bar, count = self._count(time_s, beat)
        return Moment(
            time_s=time_s,
            beat=beat,
            bar=bar,
            count=count,
            counting=self._goal_s(time_s) is not None,
            state=self.player.state,
            notice=notice,
            calls=tuple(calls),
            passes=self._progress.passes,
            ended=self.player.state is PlayState.READY and time_s >= self._end_s(),
            wake_in_s=self._wake_in_s(time_s),
        )

    def close(self) -> None:
        self.player.close()

    def _begin_at(self, beat: Fraction) -> None:
        self._start_beat = beat
        self._run_up = count_in(self.grid, beat, self.settings.count_in_bars)
        self._set_counts()
        self.player.seek(self._seconds(beat), self._run_up.length_s)
        self.player.play()

    def _seconds(self, beat: Fraction) -> float:
        return self.grid.tempo_map.seconds(beat)

    def _end_s(self) -> float:
        return min(self._seconds(self.passage.end_beat), self.player.duration_s - 0.01)

    def _loop_of(self, passage: Passage) -> Loop | None:
        if not passage.loops:
            return None
        breath = run_up(self.grid, passage.start_beat, passage.breath_beats)
        return Loop(
            self._seconds(passage.start_beat), self._seconds(passage.end_beat), breath.length_s
        )

    def _set_click(self) -> None:
        if not self.settings.click:
            self.player.set_layer("click", None)
            return
        first_beat = floor(self.grid.tempo_map.beat_at(0.0))
        beats = clicks(self.grid, first_beat, self.grid.end_beat)
        sounds = [self._clicks[accented] for _, accented in beats]
        self.player.set_layer("click", Beeper([t for t, _ in beats], sounds, in_music=True))

    def _set_counts(self) -> None:
        """Counts of the count-in, and of the breath before the loop comes round."""
        counts: dict[float, Samples] = {}
        breath = run_up(self.grid, self.passage.start_beat, self.passage.breath_beats)
        for beat, before in ((self._start_beat, self._run_up), (self.passage.start_beat, breath)):
            for one in before.counts:
                time_s = self._seconds(beat) - one.before_s
                if all(abs(time_s - other) > SAME_COUNT_S for other in counts):
                    counts[time_s] = self._count_sound(one.eight, one.accented)
        self.player.set_layer("count", Beeper([*counts], [*counts.values()], in_music=False))

        self._set_count_aloud()

    def _set_count_aloud(self) -> None:
        if not (self.settings.count_aloud and self._count_words):
            self.player.set_layer("count aloud", None)
            return
        first_beat = floor(self.grid.tempo_map.beat_at(0.0))
        beats = [Fraction(beat) for beat in range(first_beat, ceil(self.grid.end_beat))]
        sounds = [self._count_sound(count_of_eight(self.grid, beat), False) for beat in beats]
        times_s = [self._seconds(beat) for beat in beats]
        self.player.set_layer("count aloud", Beeper(times_s, sounds, in_music=True))

    def _count_sound(self, number: int, accented: bool) -> Samples:
        if number <= len(self._count_words):
            return self._count_words[number - 1]
        return self._clicks[accented]

    def _set_calls(self) -> None:
        heeded = [cue for cue in self._cues if self._is_called(cue)]
        calls = calls_of(heeded, self.grid.tempo_map)
        self._caller.replace(calls)
        match self.settings.calls:
            case "text":
                sounds: dict[TimedCue, Samples] = {}
            case "tones":
                kinds = {cue.kind for cue in heeded}
                tones = {kind: call_sound(kind, self.player.sample_rate) for kind in kinds}
                sounds = {cue: tones[cue.kind] for cue in heeded}
            case "words":
                sounds = {cue: self._words[cue] for cue in heeded if cue in self._words}
        self._spoken_caller.replace(self._begun_early_enough(calls, sounds))
        pause_frames = self.player.sample_rate // 20
        self.player.set_layer("calls", SpokenCues(self._spoken_caller, sounds, pause_frames))

    def _begun_early_enough(
        self, calls: Sequence[Call], sounds: Mapping[TimedCue, Samples]
    ) -> list[Call]:
        """Long words begin before their call is due, so that they end a beat ahead of it all.

        Words keep their own speed when the music is slowed, so they take less track time then.
        """
        earlier = []
        for call in calls:
            frames = len(sounds.get(call.cue, ()))
            length_s = frames / self.player.sample_rate * self.percent / 100
            over_s = self._seconds(call.cue.beat - 1) - length_s
            earlier.append(
                replace(call, time_s=min(call.time_s, over_s) if frames else call.time_s)
            )
        return sorted(earlier, key=lambda call: call.time_s)

    def _is_called(self, cue: TimedCue) -> bool:
        settings = self.settings
        return cue.hand not in settings.muted_hands and cue.kind not in settings.muted_kinds

    def _goal_s(self, time_s: float) -> float | None:
        """Where the music begins, while a silent run-up leads to it."""
        span = self._progress.span
        if span is None or span.still or span.sounding or time_s >= span.goal_s - ROUNDING_S:
            return None
        return span.goal_s

    def _beat(self, time_s: float) -> float:
        """The beat heard; a run-up keeps the tempo of what follows it."""
        goal_s = self._goal_s(time_s)
        if goal_s is None:
            return self.grid.tempo_map.beat_at(time_s)
        goal_beat = self.grid.tempo_map.beat_at(goal_s)
        bpm = self.grid.tempo_map.bpm_at(Fraction(round(goal_beat * 960), 960))
        return goal_beat - (goal_s - time_s) * bpm / 60

    def _count(self, time_s: float, beat: float) -> tuple[int, int]:
        """Bar and count for the screen."""
        meters = self.grid.meter_map
        goal_s = self._goal_s(time_s)
        if goal_s is None:
            place = meters.position(Fraction(floor(beat + 1e-6)))
            return place.bar, int(place.count)
        start = Fraction(round(self.grid.tempo_map.beat_at(goal_s) * 960), 960)
        beats_per_bar = meters.meter_at(start).beats_per_bar
        place = meters.position(start)
        whole = floor(place.count - Fraction(float(start) - beat) + Fraction(1, 10**6))
        return place.bar + (whole - 1) // beats_per_bar, (whole - 1) % beats_per_bar + 1

    def _wake_in_s(self, time_s: float) -> float | None:
        if self.player.state is not PlayState.PLAYING:
            return None
        due_s = next_due_s(self._caller.listed, time_s)
        return None if due_s is None else (due_s - time_s) / self.player.rate
