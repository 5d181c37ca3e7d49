"""A Standard MIDI File as a track: its tempo map and metres are the grid, exactly."""

import contextlib
import itertools
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

from composer.audio.analysis import Analysis
from composer.audio.given import analysis_of_grid
from composer.errors import TrackError
from composer.moves.written import CONTROL
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.meter import FOUR_FOUR, Meter, MeterChange, MeterMap
from composer.timing.tempo_map import Knot, TempoMap

LONGEST_MARKER = 200
"""Letters of a phrase's name in a routine file."""
DEFAULT_TEMPO = 500_000
"""Microseconds a quarter where a file gives no tempo (Standard MIDI Files 1.0)."""


def read_midi_track(path: Path) -> Analysis:
    """Beats, bars and phrases of a MIDI file; markers name the phrases. Tick 0 is beat 0.

    Raises
    ------
    TrackError
        If the file is no Standard MIDI File, counts in frames, or holds no music.
    """
    import mido

    try:
        midi = mido.MidiFile(str(path), charset="latin-1", clip=True)
    except (OSError, ValueError, EOFError, KeyError, IndexError, TypeError):
        raise TrackError(f"{path}: not a Standard MIDI File that can be read") from None
    if midi.ticks_per_beat <= 0 or midi.ticks_per_beat >= 0x8000:
        raise TrackError(f"{path}: counts time in film frames, not in beats; save it with beats")
    events = sorted(_absolute(midi), key=lambda event: event[0])
    last_tick = max((tick for tick, _ in events), default=0)
    if last_tick < midi.ticks_per_beat:
        raise TrackError(f"{path}: holds no music, or under one beat of it")
    metres = _metres(events)
    seconds_at = _seconds(events, midi.ticks_per_beat)
    places = _Places(metres, midi.ticks_per_beat)
    tempo_ticks = [tick for tick, message in events if message.type == "set_tempo"]
    knot_ticks = sorted({0, last_tick, *(t for t, _ in metres), *tempo_ticks})
    knots = [Knot(places.beat(tick), seconds_at(tick)) for tick in knot_ticks if tick <= last_tick]
    changes = tuple(MeterChange(places.beat(tick), meter) for tick, meter in metres)
    markers = {
        places.beat(tick): _marker_words(message.text)
        for tick, message in events
        if message.type == "marker" and tick < last_tick
    }
    phrases = tuple(Phrase(beat, name or "phrase") for beat, name in sorted(markers.items()))
    end = places.beat(last_tick)
    grid = MusicGrid(
        TempoMap(tuple(_straightened(knots))), Fraction(-(-end // 1)), MeterMap(changes), phrases
    )
    return analysis_of_grid(grid, seconds_at(last_tick))


def _marker_words(text: str) -> str:
    """A marker in one line: UTF-8 as programs of today write it, else Latin-1, as RP-001 has it."""
    with contextlib.suppress(UnicodeDecodeError):
        text = text.encode("latin-1").decode("utf-8")
    return " ".join(CONTROL.sub(" ", text).split())[:LONGEST_MARKER].strip()


def _absolute(midi) -> Iterator[tuple[int, Any]]:  # type: ignore[no-untyped-def]
    for track in midi.tracks:
        tick = 0
        for message in track:
            tick += message.time
            yield tick, message


def _metres(events) -> list[tuple[int, Meter]]:  # type: ignore[no-untyped-def]
    """Time signatures in order from tick 0; the last of several on one tick counts."""
    found: dict[int, Meter] = {0: FOUR_FOUR}
    for tick, message in events:
        if message.type == "time_signature":
            try:
                found[tick] = Meter(message.numerator, message.denominator)
            except ValueError:
                continue
    kept: list[tuple[int, Meter]] = []
    for tick, meter in sorted(found.items()):
        if not kept or meter != kept[-1][1]:
            kept.append((tick, meter))
    return kept


def _seconds(events, per_quarter: int):  # type: ignore[no-untyped-def]
    """Exact seconds of a tick through all tempo changes."""
    changes = [(0, DEFAULT_TEMPO)]
    for tick, message in events:
        if message.type == "set_tempo" and message.tempo > 0:
            if tick == changes[-1][0]:
                changes[-1] = (tick, message.tempo)
            else:
                changes.append((tick, message.tempo))

    def seconds(tick: int) -> float:
        total = 0  # microseconds times ticks a quarter: exact
        for i, (start, tempo) in enumerate(changes):
            end = changes[i + 1][0] if i + 1 < len(changes) else tick
            if tick <= start:
                break
            total += (min(tick, end) - start) * tempo
        return total / per_quarter / 1e6

    return seconds


class _Places:
    """Counted beats of ticks, through changes of the beat's length."""

    def __init__(self, metres: list[tuple[int, Meter]], per_quarter: int) -> None:
        self.per_quarter = per_quarter
        self.starts: list[tuple[int, Fraction, Meter]] = []
        for tick, meter in metres:
            self.starts.append((tick, self.beat(tick) if self.starts else Fraction(0), meter))

    def beat(self, tick: int) -> Fraction:
        start_tick, start_beat, meter = max(
            (s for s in self.starts if s[0] <= tick), key=lambda s: s[0]
        )
        quarters = Fraction(tick - start_tick, self.per_quarter)
        return start_beat + quarters / meter.quarters_per_beat


def _straightened(knots: list[Knot]) -> list[Knot]:
    """Knots without those that change nothing, to a tenth of a microsecond."""
    kept = [knots[0]]
    for here, after in itertools.pairwise(knots):
        before = kept[-1]
        share = float((here.beat - before.beat) / (after.beat - before.beat))
        if abs(before.time_s + share * (after.time_s - before.time_s) - here.time_s) > 1e-7:
            kept.append(here)
    return [*kept, knots[-1]]
