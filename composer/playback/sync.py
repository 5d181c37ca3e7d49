"""Keeps lights, sound desks and other machines in time with what is heard.

Each output is told the pieces of the timeline as they are heard and sends what falls in them.
A thread of its own wakes for the next message, so that messages go out when they are due and
not when the screen happens to look.
"""

import threading
from collections.abc import Sequence
from fractions import Fraction
from math import ceil, floor
from typing import Protocol

from composer.errors import DeviceError
from composer.playback.due import Caller, TimedCue, calls_of, next_due_s
from composer.playback.midi import (
    CLOCK,
    CLOCKS_PER_QUARTER,
    CONTINUE,
    LAST_SIXTEENTH,
    SIXTEENTHS_PER_QUARTER,
    START,
    STOP,
    FrameRate,
    frame_at,
    frames_in_hour,
    full_frame,
    quarter_frame,
    song_position,
    time_code,
)
from composer.playback.player import Player, PlayState
from composer.playback.ports import MidiPort, OscTarget
from composer.playback.timeline import Entry, Piece
from composer.timing.grid import MusicGrid

CLOCKS_PER_SIXTEENTH = CLOCKS_PER_QUARTER // SIXTEENTHS_PER_QUARTER
NEAR = 1e-6
"""Rounding of float beats: a pulse this near, in pulses, is there."""
LONGEST_SLEEP_S = 0.02
PIECES_PER_FRAME, FRAMES_PER_CODE = 4, 2


class SyncOutput(Protocol):
    """Something that is told what is heard."""

    def hear(self, piece: Piece) -> None: ...

    def next_s(self, after_s: float) -> float | None:
        """Track time of the next message after a time; None if none is to come."""
        ...

    def stop(self) -> None:
        """Nothing more will be heard."""
        ...


class QuarterCount:
    """Quarter notes since beat 0, through changes of metre: a beat of 6/8 in two is 3/2."""

    def __init__(self, grid: MusicGrid) -> None:
        self._tempo_map = grid.tempo_map
        changes = grid.meter_map.changes
        self._rows: list[tuple[Fraction, Fraction, Fraction]] = []
        quarter = Fraction(0)
        for index, change in enumerate(changes):
            self._rows.append((change.start_beat, quarter, change.meter.quarters_per_beat))
            if index + 1 < len(changes):
                beats = changes[index + 1].start_beat - change.start_beat
                quarter += beats * change.meter.quarters_per_beat

    def quarter_at(self, time_s: float) -> float:
        beat = self._tempo_map.beat_at(time_s)
        row = next((row for row in reversed(self._rows) if row[0] <= beat), self._rows[0])
        return float(row[1]) + (beat - float(row[0])) * float(row[2])

    def time_s(self, quarter: Fraction) -> float:
        row = next((row for row in reversed(self._rows) if row[1] <= quarter), self._rows[0])
        return self._tempo_map.seconds(row[0] + (quarter - row[1]) / row[2])


class MidiClockOutput:
    """Timing clock, song position, start, continue and stop.

    A slave starts on the first clock after Start or Continue, and a song position counts whole
    sixteenths: so after a jump the position of the next sixteenth is sent at once, and the
    clock begins there.
    """

    def __init__(self, grid: MusicGrid, port: MidiPort) -> None:
        self._count = QuarterCount(grid)
        self._port = port
        self._pulse: int | None = None
        """The next clock to send, counted from beat 0; None while stopped."""

    def hear(self, piece: Piece) -> None:
        if piece.span.still or not piece.span.sounding or piece.entry is not Entry.ON:
            self.stop()
        if piece.span.still or not piece.span.sounding:
            return
        if self._pulse is None:
            self._locate(piece.from_s)
        while self._pulse is not None and self._time_s(self._pulse) < piece.to_s:
            self._port.send(CLOCK)
            self._pulse += 1

    def stop(self) -> None:
        if self._pulse is not None:
            self._port.send(STOP)
            self._pulse = None

    def next_s(self, after_s: float) -> float | None:  # noqa: ARG002  the count knows the place
        return None if self._pulse is None else self._time_s(self._pulse)

    def _time_s(self, pulse: int) -> float:
        return self._count.time_s(Fraction(pulse, CLOCKS_PER_QUARTER))

    def _locate(self, time_s: float) -> None:
        quarter = self._count.quarter_at(time_s)
        sixteenth = max(0, ceil(quarter * SIXTEENTHS_PER_QUARTER - NEAR))
        if sixteenth > LAST_SIXTEENTH:
            return
        if sixteenth == 0:
            self._port.send(START)
        else:
            self._port.send(song_position(sixteenth))
            self._port.send(CONTINUE)
        self._pulse = sixteenth * CLOCKS_PER_SIXTEENTH


class TimeCodeOutput:
    """MIDI time code of the track time, from an hour of the user's choice on."""

    def __init__(
        self, port: MidiPort, rate: FrameRate = FrameRate.VIDEO_25, first_hour: int = 1
    ) -> None:
        if not 0 <= first_hour <= 22:
            raise ValueError(f"time code begins at an hour from 0 to 22, got {first_hour}")
        self._port, self._rate = port, rate
        self._first_frame = first_hour * frames_in_hour(rate)
        self._piece: int | None = None
        """The next quarter frame, counted from track time 0; None while stopped."""

    def hear(self, piece: Piece) -> None:
        if piece.span.still or not piece.span.sounding:
            self.stop()
            return
        if self._piece is None or piece.entry is not Entry.ON:
            self._locate(piece.from_s)
        while self._piece is not None and self._time_s(self._piece) < piece.to_s:
            self._port.send(self._quarter_frame(self._piece))
            self._piece += 1

    def next_s(self, after_s: float) -> float | None:  # noqa: ARG002  the count knows the place
        return None if self._piece is None else self._time_s(self._piece)

    def stop(self) -> None:
        self._piece = None

    def _locate(self, time_s: float) -> None:
        """A full message, then quarter frames from the next even frame on, where codes begin."""
        frame = max(0, frame_at(time_s, self._rate))
        self._port.send(full_frame(time_code(self._first_frame + frame, self._rate)))
        codes = ceil(max(0.0, time_s) * float(self._rate.exact) / FRAMES_PER_CODE - NEAR)
        self._piece = codes * PIECES_PER_FRAME * FRAMES_PER_CODE

    def _time_s(self, piece: int) -> float:
        return float(Fraction(piece, PIECES_PER_FRAME) / self._rate.exact)

    def _quarter_frame(self, piece: int) -> bytes:
        code, part = divmod(piece, PIECES_PER_FRAME * FRAMES_PER_CODE)
        frame = self._first_frame + code * FRAMES_PER_CODE
        return quarter_frame(part, time_code(frame, self._rate))


class OscOutput:
    """One message for each beat, call and cue, and for starting and stopping.

    ==================  =============================================================
    /petalbar/play      place in seconds, speed (1 is the music's own)
    /petalbar/stop      place in seconds
    /petalbar/beat      bar, count, beats a minute as heard
    /petalbar/call      performer, kind, words, beats until it happens
    /petalbar/cue       performer, kind, words: it happens now
    ==================  =============================================================
    """

    def __init__(
        self, grid: MusicGrid, cues: Sequence[TimedCue], target: OscTarget, sample_rate: int
    ) -> None:
        self._grid, self._target, self._sample_rate = grid, target, sample_rate
        self._caller = Caller(calls_of(cues, grid.tempo_map))
        self._moments = sorted(calls_of(cues, grid.tempo_map), key=lambda call: call.cue_s)
        self._playing = False
        self._reached_s = 0.0

    def hear(self, piece: Piece) -> None:
        self._tell_play(piece)
        for made in self._caller.announce(piece):
            cue = made.call.cue
            ahead = cue.beat - cue.call_beat
            self._target.send("/petalbar/call", [*_words_of(cue), float(ahead)])
        if piece.span.sounding and not piece.span.still:
            self._tell_beats(piece)
            for call in self._moments:
                if piece.from_s <= call.cue_s < piece.to_s:
                    self._target.send("/petalbar/cue", _words_of(call.cue))

    def next_s(self, after_s: float) -> float | None:
        """The next beat or call, whichever is sooner."""
        beat = Fraction(floor(self._grid.tempo_map.beat_at(after_s) + NEAR) + 1)
        beat_s = self._grid.tempo_map.seconds(beat)
        call_s = next_due_s(self._caller.listed, after_s)
        return beat_s if call_s is None else min(beat_s, call_s)

    def stop(self) -> None:
        if self._playing:
            self._target.send("/petalbar/stop", [self._reached_s])
            self._playing = False

    def _tell_play(self, piece: Piece) -> None:
        if piece.span.still:
            self.stop()
        elif not self._playing or piece.entry is not Entry.ON:
            self._target.send("/petalbar/play", [piece.from_s, self._rate(piece)])
            self._playing = True
        self._reached_s = piece.to_s

    def _rate(self, piece: Piece) -> float:
        return piece.span.step_s * self._sample_rate

    def _tell_beats(self, piece: Piece) -> None:
        tempo_map = self._grid.tempo_map
        first = ceil(tempo_map.beat_at(piece.from_s) - NEAR)
        beat = Fraction(first)
        while tempo_map.seconds(beat) < piece.to_s:
            if tempo_map.seconds(beat) >= piece.from_s:
                place = self._grid.meter_map.position(beat)
                bpm = tempo_map.bpm_at(beat) * self._rate(piece)
                self._target.send("/petalbar/beat", [place.bar, int(place.count), bpm])
            beat += 1


def _words_of(cue: TimedCue) -> list[str]:
    return [cue.performer, cue.kind, cue.text]


class SyncThread:
    """Tells outputs what a player is heard playing, until it is closed."""

    def __init__(self, player: Player, outputs: Sequence[SyncOutput]) -> None:
        self._player, self._outputs = player, outputs
        self._pieces = player.follow()
        self._closing = threading.Event()
        self.notice = ""
        self._thread = threading.Thread(target=self._run, name="sync", daemon=True)
        self._thread.start()

    def close(self) -> None:
        self._closing.set()
        self._thread.join(timeout=1.0)

    def _run(self) -> None:
        try:
            while not self._closing.wait(self._sleep_s()):
                for piece in self._pieces():
                    for output in self._outputs:
                        output.hear(piece)
            for output in self._outputs:
                output.stop()
        except DeviceError as error:
            self.notice = str(error)

    def _sleep_s(self) -> float:
        if self._player.state is not PlayState.PLAYING:
            return LONGEST_SLEEP_S
        position_s, rate = self._player.position_s(), self._player.rate
        nexts = [output.next_s(position_s) for output in self._outputs]
        waits = [(next_s - position_s) / rate for next_s in nexts if next_s is not None]
        return min(max(min(waits, default=LONGEST_SLEEP_S), 0.0002), LONGEST_SLEEP_S)
