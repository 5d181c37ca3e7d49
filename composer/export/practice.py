"""Sound to practise to: the music slower or faster with its pitch kept, count-in, clicks, calls."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

import numpy as np
from numpy.typing import NDArray

from composer.audio.clicks import call_sound, click
from composer.audio.stretch import FASTEST, SLOWEST, stretched
from composer.errors import ExportError
from composer.export.choice import (
    WHOLE,
    Call,
    Choice,
    chosen_calls,
    chosen_span,
    sections,
)
from composer.score.routine import Routine
from composer.timing.beats import BeatSpan

Samples = NDArray[np.float32]

MUSIC_GAIN = 0.6
"""Ours: leaves room for clicks and calls to be heard over the music."""
EDGE_S = 0.005
"""Fade where the music is cut into, so that it does not crack."""
RUN_UP_S = 0.5
"""Ours: music before and after a phrase that is stretched with it, as the blocks overlap."""
LONGEST_S = 1800.0
"""Ours: what is worked on at once in memory."""


@dataclass(frozen=True, slots=True)
class Practice:
    """How the sound is wanted.

    Raises
    ------
    ExportError
        If the speed or a length is out of bounds.
    """

    speed: float = 1.0
    """1 as played; 0.5 to 1.1."""
    clicks: bool = True
    calls: bool = True
    count_in_beats: int | None = None
    """None: one bar."""
    by_phrase: bool = False
    """Each phrase on its own, counted in, with a gap after it."""
    gap_s: float = 3.0

    def __post_init__(self) -> None:
        if not SLOWEST <= self.speed <= FASTEST:
            raise ExportError(
                f"practice runs at {100 * SLOWEST:.0f} to {100 * FASTEST:.0f} % of the speed, "
                f"not at {100 * self.speed:g} %"
            )
        if not 0 <= self.gap_s <= 60:
            raise ExportError(f"a gap lasts 0 to 60 s, not {self.gap_s:g} s")
        if self.count_in_beats is not None and not 0 <= self.count_in_beats <= 64:
            raise ExportError(f"a count-in has 0 to 64 beats, not {self.count_in_beats}")


def practice_sound(
    routine: Routine,
    samples: Samples,
    sample_rate_hz: int,
    choice: Choice = WHOLE,
    practice: Practice = Practice(),
) -> Samples:
    """The sound as samples, shape=(m, channels), within full scale.

    Clicks and calls are laid over the stretched music at the stretched times of their beats, so
    they stay sharp and exact to a sample at any speed.

    Raises
    ------
    ExportError
        If it would last longer than half an hour.
    """
    pieces = tuple(_pieces(routine, choice, len(samples) / sample_rate_hz, practice))
    _check_length(pieces, practice.speed)
    stage = _stage(routine, samples, sample_rate_hz, pieces, practice.speed)
    calls = chosen_calls(routine, choice) if practice.calls else ()
    made = []
    for piece in pieces:
        made.append(stage.piece(piece, calls, practice))
        if practice.by_phrase:
            gap = round(practice.gap_s * sample_rate_hz)
            made.append(np.zeros((gap, samples.shape[1]), np.float32))
    whole = made[0] if len(made) == 1 else np.concatenate(made)
    peak = max(whole.max(initial=0.0), -whole.min(initial=0.0))
    if peak > 1.0:
        whole /= peak
    return whole


@dataclass(frozen=True, slots=True)
class _Piece:
    """A stretch that is practised in one go; seconds of the track as played."""

    span: BeatSpan
    music_start_s: float
    music_end_s: float


def _pieces(
    routine: Routine, choice: Choice, music_s: float, practice: Practice
) -> Iterator[_Piece]:
    seconds = routine.grid.tempo_map.seconds
    if not practice.by_phrase and choice.phrase is None:
        yield _Piece(chosen_span(routine, choice), 0.0, music_s)
        return
    spans = [section.span for section in sections(routine, choice)]
    for span in spans if practice.by_phrase else [chosen_span(routine, choice)]:
        start_s = min(max(0.0, seconds(span.start_beat)), music_s)
        yield _Piece(span, start_s, min(max(start_s, seconds(span.end_beat)), music_s))


def _check_length(pieces: tuple[_Piece, ...], speed: float) -> None:
    length_s = sum(p.music_end_s - p.music_start_s for p in pieces) / speed
    if length_s > LONGEST_S:
        raise ExportError(
            f"{length_s / 60:.0f} minutes of practice sound are too much at once, "
            f"{LONGEST_S / 60:.0f} are the most; take a phrase with --phrase, or cut the music"
        )


def _stage(
    routine: Routine, samples: Samples, rate_hz: int, pieces: tuple[_Piece, ...], speed: float
) -> "_Stage":
    """What the pieces need of the music, stretched in one go."""
    first = max(0, round((min(p.music_start_s for p in pieces) - RUN_UP_S) * rate_hz))
    last = round((max(p.music_end_s for p in pieces) + RUN_UP_S) * rate_hz)
    return _Stage(routine, stretched(samples[first:last], rate_hz, speed), first / rate_hz, rate_hz)


@dataclass(frozen=True)
class _Stage:
    """The stretched music, and what is laid over it."""

    routine: Routine
    music: Samples
    music_from_s: float
    """Where in the track, as played, the stretched music begins."""
    sample_rate_hz: int

    def piece(self, piece: _Piece, calls: tuple[Call, ...], practice: Practice) -> Samples:
        """Silence for the count-in, the music, and clicks and calls over both."""
        rate, speed = self.sample_rate_hz, practice.speed
        count_in = self._count_in(piece.span, practice)
        first_s = min([piece.music_start_s, *(self._time_s(b, piece.span) for b in count_in)])
        lead = round((piece.music_start_s - first_s) / speed * rate)
        start = round((piece.music_start_s - self.music_from_s) / speed * rate)
        end = round((piece.music_end_s - self.music_from_s) / speed * rate)
        music = self.music[start:end]
        out = np.zeros((lead + len(music), music.shape[1]), np.float32)
        np.multiply(music, np.float32(MUSIC_GAIN), out=out[lead:])
        _soften(out[lead:], rate)

        def at(beat: Fraction) -> int:
            return max(0, round((self._time_s(beat, piece.span) - first_s) / speed * rate))

        beats = list(count_in)
        if practice.clicks:
            last = ceil(piece.span.end_beat)
            beats += [Fraction(b) for b in range(ceil(piece.span.start_beat), last)]
        for beat in beats:
            accented = self.routine.grid.meter_map.is_downbeat(beat)
            _lay(out, at(beat), click(rate, accented=accented))
        for kind, beat in _said(calls, piece.span):
            _lay(out, at(beat), call_sound(kind, rate))
        return out

    def _count_in(self, span: BeatSpan, practice: Practice) -> list[Fraction]:
        """The beats that are counted before the first beat of the piece."""
        first = max(Fraction(ceil(span.start_beat)), Fraction(0))
        bar = self.routine.grid.meter_map.meter_at(first).beats_per_bar
        count = bar if practice.count_in_beats is None else practice.count_in_beats
        return [first - back for back in range(count, 0, -1)]

    def _time_s(self, beat: Fraction, span: BeatSpan) -> float:
        """Seconds of the track; the count-in keeps the tempo of the first beat of the piece."""
        tempo_map = self.routine.grid.tempo_map
        first = max(Fraction(ceil(span.start_beat)), Fraction(0))
        if beat >= first:
            return tempo_map.seconds(beat)
        return tempo_map.seconds(first) - float(first - beat) * 60 / tempo_map.bpm_at(first)


def _said(calls: tuple[Call, ...], span: BeatSpan) -> list[tuple[str, Fraction]]:
    """Kind and moment of every call for the piece, each once whoever it is for."""
    return list(
        dict.fromkeys((call.kind, call.call_beat) for call in calls if span.contains(call.beat))
    )


def _lay(out: Samples, at: int, sound: Samples) -> None:
    room = out[at : at + len(sound)]
    room += sound[: len(room), None]


def _soften(music: Samples, sample_rate_hz: int) -> None:
    count = min(round(EDGE_S * sample_rate_hz), len(music) // 2)
    ramp = np.linspace(0, 1, count, endpoint=False, dtype=np.float32)[:, None]
    music[:count] *= ramp
    music[len(music) - count :] *= ramp[::-1]


def practice_words(practice: Practice) -> str:
    """For the comment tag: ``"practice at 75 % with clicks and calls"``."""
    extras = [word for word, on in (("clicks", practice.clicks), ("calls", practice.calls)) if on]
    with_words = f" with {' and '.join(extras)}" if extras else ""
    by_phrase = ", phrase by phrase" if practice.by_phrase else ""
    return f"practice at {100 * practice.speed:g} %{with_words}{by_phrase}"
