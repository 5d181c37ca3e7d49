"""Standard MIDI File: tempo map, markers at phrases and moves, calls, clicks, downbeats.

Source: Standard MIDI Files 1.0 (RP-001). Times of the file follow the analysed beats, so a
sequencer or a lighting desk that plays it beside the track stays with the music.
"""

import io
from collections.abc import Iterable, Iterator
from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING, Any, TypeAlias

from composer.export.choice import (
    WHOLE,
    Choice,
    chosen_calls,
    chosen_names,
    chosen_span,
    one_line,
    sections,
)
from composer.export.midi_clock import TICKS_PER_QUARTER, MidiClock, midi_clock
from composer.export.staging import Downbeat, part_downbeats
from composer.score.routine import Routine
from composer.timing.beats import BeatSpan

if TYPE_CHECKING:
    from composer.moves.library import Library

Event: TypeAlias = tuple[int, int, Any]
"""Tick, order among events of one tick, message."""

CLICK_CHANNEL = 9
"""Channel 10 of the people: percussion in General MIDI."""
PERFORMER_CHANNELS = tuple(channel for channel in range(16) if channel != CLICK_CHANNEL)
BAR_CLICK_NOTE, BEAT_CLICK_NOTE = 76, 77
"""High and low wood block of General MIDI Level 1's percussion map."""
RIGHT_NOTE, LEFT_NOTE = 67, 60
CLICK_TICKS = TICKS_PER_QUARTER // 8
LONGEST_TEXT_BYTES = 1000


def midi_bytes(
    routine: Routine,
    choice: Choice = WHOLE,
    *,
    clicks: bool = True,
    library: "Library | None" = None,
) -> bytes:
    """A file of format 1.

    Parameters
    ----------
    clicks : bool
        A track with a wood block on every beat.
    library : Library, optional
        Where the moves are; with it each performer gets a track of notes, one for each downbeat
        of her right (G above middle C) and left hand (middle C).

    Raises
    ------
    ExportError
        If the music is slower than a MIDI file can say.
    """
    import mido

    span = chosen_span(routine, choice)
    clock = midi_clock(routine.grid, span, from_track_start=choice.phrase is None)
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS_PER_QUARTER, charset="utf-8")
    file.tracks.append(_track(routine.title, _conductor(routine, choice, clock), clock))
    if clicks:
        file.tracks.append(_track("clicks", _clicks(span, clock), clock))
    if library is not None:
        for number, name in enumerate(chosen_names(routine, choice)):
            downbeats = part_downbeats(routine, name, choice, library)
            channel = PERFORMER_CHANNELS[number % len(PERFORMER_CHANNELS)]
            events = _downbeat_notes(downbeats, channel, clock)
            file.tracks.append(_track(f"{name}: downbeats", events, clock))
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


def _conductor(routine: Routine, choice: Choice, clock: MidiClock) -> Iterator[Event]:
    """Everything about time and words: by the standard it stands in the first track."""
    from mido import MetaMessage

    for signature in clock.signatures:
        yield (
            clock.tick(signature.beat),
            0,
            MetaMessage(
                "time_signature",
                numerator=signature.numerator,
                denominator=signature.denominator,
                clocks_per_click=signature.clocks_per_click,
            ),
        )
    for tempo in clock.tempos:
        message = MetaMessage("set_tempo", tempo=tempo.microseconds_per_quarter)
        yield clock.tick(tempo.beat), 1, message
    for section in sections(routine, choice):
        yield _words(clock.tick(section.span.start_beat), 2, "marker", section.name)
    for call in chosen_calls(routine, choice):
        words = call.words(routine)
        yield _words(clock.tick(call.beat), 3, "marker", words)
        yield _words(clock.tick(call.call_beat), 4, "cue_marker", words)


def _words(tick: int, order: int, kind: str, text: str) -> Event:
    from mido import MetaMessage

    return tick, order, MetaMessage(kind, text=_short(text))


def _short(text: str) -> str:
    """One line of at most LONGEST_TEXT_BYTES in UTF-8, cut between letters."""
    data = one_line(text).encode("utf-8", "replace")[:LONGEST_TEXT_BYTES]
    return data.decode("utf-8", "ignore")


def _clicks(span: BeatSpan, clock: MidiClock) -> Iterator[Event]:
    beat = Fraction(ceil(max(span.start_beat, clock.origin_beat)))
    while beat < span.end_beat:
        on_bar = clock.grid.meter_map.is_downbeat(beat)
        note = BAR_CLICK_NOTE if on_bar else BEAT_CLICK_NOTE
        yield from _note(clock.tick(beat), CLICK_CHANNEL, note, 110 if on_bar else 80)
        beat += 1


def _downbeat_notes(
    downbeats: Iterable[Downbeat], channel: int, clock: MidiClock
) -> Iterator[Event]:
    for downbeat in downbeats:
        note = RIGHT_NOTE if downbeat.hand == "right" else LEFT_NOTE
        yield from _note(clock.tick(downbeat.beat), channel, note, 96)


def _note(tick: int, channel: int, note: int, velocity: int) -> Iterator[Event]:
    from mido import Message

    yield tick, 6, Message("note_on", channel=channel, note=note, velocity=velocity)
    yield tick + CLICK_TICKS, 5, Message("note_off", channel=channel, note=note, velocity=0)


def _track(name: str, events: Iterable[Event], clock: MidiClock) -> Any:
    """A track of events at absolute ticks; only here do ticks become differences."""
    from mido import MetaMessage, MidiTrack

    track = MidiTrack([MetaMessage("track_name", name=_short(name), time=0)])
    reached = 0
    for tick, _, message in sorted(events, key=lambda event: event[:2]):
        track.append(message.copy(time=tick - reached))
        reached = tick
    end = max(clock.tick(clock.end_beat), reached)
    track.append(MetaMessage("end_of_track", time=end - reached))
    return track
