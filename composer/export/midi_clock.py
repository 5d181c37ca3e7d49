"""Beats as MIDI ticks, and the tempo events that make those ticks sound when the beats do.

Source of the layout: Standard MIDI Files 1.0 (RP-001): tempo is whole microseconds a quarter.
"""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import floor

from composer.errors import ExportError
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid
from composer.timing.meter import Meter, MeterMap

TICKS_PER_QUARTER = 960
LARGEST_TEMPO_US = 0xFFFFFF
"""Microseconds a quarter take three bytes."""
LONGEST_STRETCH_BEATS = 64
"""A steady stretch is looked at anew after so many beats: rounding to 1 us cannot add up past
64 quarters x 0.5 us (x 1.5 in compound metres) before it is taken back."""
SHORTEST_BEAT_SHARE = Fraction(1, 4)
"""A piece of a beat before the first whole one that is shorter than this joins that beat."""
UNHEARD_BEAT_SHARE = Fraction(1, 1000)
"""The same for a piece before beat 0, which itself may not move: under 2 ms at any usual tempo."""


@dataclass(frozen=True, slots=True)
class Signature:
    """A time signature event: FF 58 04 nn dd cc bb."""

    beat: Fraction
    numerator: int
    denominator: int
    clocks_per_click: int


@dataclass(frozen=True, slots=True)
class TempoEvent:
    beat: Fraction
    microseconds_per_quarter: int


@dataclass(frozen=True)
class MidiClock:
    """The stretch of a grid that a file covers; tick 0 sounds at ``zero_s`` of the track."""

    grid: MusicGrid
    origin_beat: Fraction
    """The beat that tick 0 stands for."""
    end_beat: Fraction
    zero_s: float

    def tick(self, beat: Fraction) -> int:
        """Tick of a beat, rounded once from its exact place; nothing lies before tick 0."""
        quarters = self._quarters(beat) - self._quarters(self.origin_beat)
        return max(0, round(quarters * TICKS_PER_QUARTER))

    def _quarters(self, beat: Fraction) -> Fraction:
        """Quarter notes from beat 0 to a beat, across changes of metre."""
        return quarters_from_zero(self.grid.meter_map, beat)

    @cached_property
    def tempos(self) -> tuple[TempoEvent, ...]:
        """Tempo events whose sum never leaves the grid by more than LONGEST_STRETCH_BEATS allow.

        Raises
        ------
        ExportError
            If the music is slower than a MIDI file can say.
        """
        events: list[TempoEvent] = []
        reached_s = self.zero_s
        for (beat, _), (next_beat, next_s) in itertools.pairwise(self._points()):
            quarters = self._quarters(next_beat) - self._quarters(beat)
            tempo_us = max(1, round((next_s - reached_s) * 1e6 / float(quarters)))
            if tempo_us > LARGEST_TEMPO_US:
                raise ExportError(
                    f"MIDI cannot say a tempo below 3.6 beats a minute, as near beat {beat}; "
                    "correct the tempo of the music first"
                )
            reached_s += tempo_us * float(quarters) / 1e6
            if not events or events[-1].microseconds_per_quarter != tempo_us:
                events.append(TempoEvent(beat, tempo_us))
        return tuple(events)

    def _points(self) -> list[tuple[Fraction, float]]:
        """Beats at which the tempo may change, and when they sound."""
        first = floor(self.origin_beat) + 1
        beats = {knot.beat for knot in self.grid.tempo_map.knots}
        beats |= {change.start_beat for change in self.grid.meter_map.changes}
        inside = sorted(b for b in beats | {Fraction(first)} if first <= b < self.end_beat)
        beats_all = [self.origin_beat, *inside, self.end_beat]
        dense = [self.origin_beat]
        for beat, next_beat in itertools.pairwise(beats_all):
            dense += _steps(beat, next_beat)
        points = [(beat, self.grid.tempo_map.seconds(beat)) for beat in dense]
        points[0] = (self.origin_beat, self.zero_s)
        return points

    @cached_property
    def signatures(self) -> tuple[Signature, ...]:
        """Time signatures; bars that the start or a change of metre cuts short get their own."""
        return tuple(_signatures(self.grid.meter_map, self.origin_beat, self.end_beat))


def midi_clock(grid: MusicGrid, span: BeatSpan, *, from_track_start: bool) -> MidiClock:
    """The clock of a file that starts with the track, or with the stretch itself."""
    if not from_track_start:
        zero_s = grid.tempo_map.seconds(span.start_beat)
        return MidiClock(grid, span.start_beat, span.end_beat, zero_s)
    sounding = Fraction(grid.tempo_map.beat_at(0.0)).limit_denominator(10**6)
    piece = -sounding % 1
    origin = Fraction(floor(sounding))
    shortest = SHORTEST_BEAT_SHARE if origin + 1 != 0 else UNHEARD_BEAT_SHARE
    if 0 < piece < shortest:
        origin += 1
    return MidiClock(grid, origin, max(span.end_beat, origin + 1), 0.0)


def quarters_from_zero(meter_map: MeterMap, beat: Fraction) -> Fraction:
    """Quarter notes from beat 0 to a beat; before beat 0 the first metre is carried back."""
    changes = meter_map.changes
    if beat <= 0:
        return beat * changes[0].meter.quarters_per_beat
    quarters = Fraction(0)
    ends = [change.start_beat for change in changes[1:]]
    for change, end in itertools.zip_longest(changes, ends):
        stop = beat if end is None else min(beat, end)
        if stop > change.start_beat:
            quarters += (stop - change.start_beat) * change.meter.quarters_per_beat
    return quarters


def _steps(beat: Fraction, next_beat: Fraction) -> Iterator[Fraction]:
    while next_beat - beat > LONGEST_STRETCH_BEATS:
        beat += LONGEST_STRETCH_BEATS
        yield beat
    yield next_beat


def _signatures(
    meter_map: MeterMap, origin_beat: Fraction, end_beat: Fraction
) -> Iterator[Signature]:
    position = meter_map.position(origin_beat)
    beat = origin_beat
    bar = position.bar
    if position.count != 1:
        next_bar = meter_map.bar_start_beat(bar + 1)
        yield _signature(beat, meter_map.meter_at(beat), next_bar - beat)
        beat, bar = next_bar, bar + 1
    last: tuple[Meter, Fraction] | None = None
    while beat < end_beat:
        meter = meter_map.meter_at(beat)
        length = meter_map.bar_length_beats(bar)
        if last != (meter, length):
            yield _signature(beat, meter, length)
            last = (meter, length)
        beat, bar = beat + length, bar + 1


def _signature(beat: Fraction, meter: Meter, length_beats: Fraction) -> Signature:
    """A signature for a bar of so many beats: of the metre itself if the bar is whole."""
    counts = Fraction(meter.numerator) * length_beats / meter.beats_per_bar
    denominator = meter.denominator
    while counts.denominator != 1 and denominator < 64:
        counts, denominator = counts * 2, denominator * 2
    numerator = min(255, max(1, round(counts)))
    return Signature(beat, numerator, denominator, round(24 * meter.quarters_per_beat))
