"""Standard MIDI Files 1.0 (RP-001): bytes of its examples; times as another reader hears them."""

import io
import itertools
from dataclasses import replace
from fractions import Fraction

import mido
import numpy as np
import pretty_midi
import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.errors import ExportError
from composer.export.choice import Choice
from composer.export.midi import BAR_CLICK_NOTE, LEFT_NOTE, RIGHT_NOTE, midi_bytes
from composer.export.midi_clock import midi_clock, quarters_from_zero
from composer.moves.perform import Style
from composer.score.routine import Part, Performer, Placement, Routine, TrackRef
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.meter import Meter, MeterChange, MeterMap
from composer.timing.tempo_map import Knot, TempoMap, steady_tempo_map

from .conftest import played_tempo_map


def bare(grid: MusicGrid) -> Routine:
    return Routine("Bare", TrackRef("bare.ogg"), grid, (Performer("Wren"),))


def read(data: bytes) -> pretty_midi.PrettyMIDI:
    return pretty_midi.PrettyMIDI(io.BytesIO(data))


def events(data: bytes, track: int, kind: str) -> list[tuple[int, mido.MetaMessage]]:
    """Messages of a kind with their absolute ticks."""
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    ticks = itertools.accumulate(message.time for message in file.tracks[track])
    pairs = zip(ticks, file.tracks[track], strict=True)
    return [(tick, message) for tick, message in pairs if message.type == kind]


def click_times_s(data: bytes) -> np.ndarray:
    drums = [i for i in read(data).instruments if i.is_drum]
    return np.array(sorted(note.start for note in drums[0].notes))


def test_the_header_is_the_standards():
    """MThd, length 6, format 1, number of tracks, ticks a quarter with bit 15 clear."""
    data = midi_bytes(bare(MusicGrid(steady_tempo_map(120), Fraction(8))))
    assert data[:14] == bytes.fromhex("4D546864 00000006 0001 0002 03C0")


def test_120_bpm_in_four_four_is_written_in_the_standards_bytes():
    """RP-001: FF 51 03 07 A1 20 is 500 000 us a quarter; FF 58 04 04 02 18 08 is 4/4."""
    data = midi_bytes(bare(MusicGrid(steady_tempo_map(120), Fraction(1200))))
    assert bytes.fromhex("FF 51 03 07 A1 20") in data
    assert bytes.fromhex("FF 58 04 04 02 18 08") in data
    assert data.count(bytes.fromhex("FF 51 03")) == 1  # an even tempo needs saying once


def test_six_eight_clicks_on_dotted_quarters():
    """RP-001's own example: FF 58 04 06 03 24 08, 36 MIDI clocks a click."""
    grid = MusicGrid(
        steady_tempo_map(80), Fraction(24), MeterMap((MeterChange(Fraction(0), Meter(6, 8)),))
    )
    data = midi_bytes(bare(grid))
    assert bytes.fromhex("FF 58 04 06 03 24 08") in data
    # 80 dotted quarters a minute are 120 quarters
    assert bytes.fromhex("FF 51 03 07 A1 20") in data


def test_every_track_ends_with_the_end_of_track_event(duo, library):
    data = midi_bytes(duo, library=library)
    at, ends = 14, []
    while at < len(data):
        assert data[at : at + 4] == b"MTrk"
        length = int.from_bytes(data[at + 4 : at + 8], "big")
        ends.append(data[at + 8 + length - 3 : at + 8 + length])
        at += 8 + length
    assert ends == [bytes.fromhex("FF 2F 00")] * 4


VARIABLE_LENGTH = {
    0x00: "00", 0x40: "40", 0x7F: "7F", 0x80: "81 00", 0x2000: "C0 00", 0x3FFF: "FF 7F",
    0x4000: "81 80 00", 0x100000: "C0 80 00", 0x1FFFFF: "FF FF 7F", 0x200000: "81 80 80 00",
    0x8000000: "C0 80 80 00", 0xFFFFFFF: "FF FF FF 7F",
}  # fmt: skip
"""RP-001's own table of example numbers."""


@pytest.mark.parametrize("ticks", [number for number in VARIABLE_LENGTH if number])
def test_waits_are_the_standards_variable_length_numbers(ticks):
    """A phrase begins so many ticks after the start, at 960 a quarter; no event lies between."""
    beat = Fraction(ticks, 960)
    grid = MusicGrid(steady_tempo_map(60), beat + 1, phrases=(Phrase(beat, "here"),))
    data = midi_bytes(bare(grid), clicks=False)
    before, found, _ = data.partition(bytes.fromhex(f"{VARIABLE_LENGTH[ticks]} FF 06 04") + b"here")
    assert found
    assert before[-1] < 0x80, "no longer number ends so"
    assert [tick for tick, m in events(data, 0, "marker") if m.text == "here"] == [ticks]


@pytest.mark.parametrize("bpm", [174.0, 140.0, 128.0])
def test_whole_microseconds_drift_less_than_a_millisecond_in_five_minutes(bpm):
    """RP-001's tempo is whole microseconds a quarter: 0.36 ms in 5 minutes at 174, 0.30 at 140 and
    none at 128 (arithmetic); a click may stand half a tick of 960 a quarter beside its beat."""
    beats = int(300 * bpm / 60)
    data = midi_bytes(bare(MusicGrid(steady_tempo_map(bpm), Fraction(beats))))
    np.testing.assert_allclose(click_times_s(data), np.arange(beats) * 60 / bpm, rtol=0, atol=0.001)


@pytest.mark.parametrize("first_s", [0.0, 0.0004, 0.35, 0.62, 3.9, -0.2])
@pytest.mark.parametrize("bpm", [174.0, 140.0, 97.3])
def test_beats_of_a_steady_track_stay_within_2_ms_for_10_minutes(first_s, bpm):
    beats = int(600 * bpm / 60)
    grid = MusicGrid(steady_tempo_map(bpm, first_s), Fraction(beats))
    first_heard = 0 if first_s >= 0 else -int(np.floor(first_s * bpm / 60))
    expected_s = first_s + np.arange(first_heard, beats) * 60 / bpm
    got_s = click_times_s(midi_bytes(bare(grid)))[-len(expected_s) :]
    np.testing.assert_allclose(got_s, expected_s, rtol=0, atol=0.002)


def test_beats_of_a_played_track_stay_within_2_ms_for_10_minutes():
    tempo_map = played_tempo_map(0.81, 1200)
    grid = MusicGrid(tempo_map, Fraction(1200))
    expected_s = [knot.time_s for knot in tempo_map.knots[:1200]]
    got_s = click_times_s(midi_bytes(bare(grid)))[-1200:]
    np.testing.assert_allclose(got_s, expected_s, rtol=0, atol=0.002)


def test_bar_lines_stand_on_the_music_s_bars():
    """An upbeat of 1.7 beats before beat 0: the reader's downbeats are at beats 0, 4, 8 ..."""
    grid = MusicGrid(steady_tempo_map(120, 0.85), Fraction(16))
    downbeats_s = read(midi_bytes(bare(grid))).get_downbeats()
    heard = downbeats_s[np.argmin(abs(downbeats_s - 0.85)) :][:4]
    np.testing.assert_allclose(heard, [0.85, 2.85, 4.85, 6.85], rtol=0, atol=0.002)


def test_a_change_of_metre_that_cuts_a_bar_short_keeps_later_bars_on_the_music():
    """Two bars of 4/4, one cut to three beats, then 3/4: bars at 0, 4, 8, 11, 14 beats."""
    meters = MeterMap(
        (MeterChange(Fraction(0), Meter(4, 4)), MeterChange(Fraction(11), Meter(3, 4)))
    )
    grid = MusicGrid(steady_tempo_map(60), Fraction(17), meters)
    downbeats_s = read(midi_bytes(bare(grid))).get_downbeats()
    np.testing.assert_allclose(downbeats_s[:5], [0, 4, 8, 11, 14], rtol=0, atol=0.002)


def test_the_bar_click_is_the_high_wood_block(solo):
    """General MIDI Level 1 percussion: 76 high, 77 low wood block; bars of four in 4/4."""
    notes = events(midi_bytes(solo), 1, "note_on")
    heard = [message.note for _, message in notes]
    assert heard[-32:] == ([76, 77, 77, 77] * 8)
    assert BAR_CLICK_NOTE == 76


def test_phrases_and_calls_are_markers_and_cue_points_in_the_first_track(solo):
    data = midi_bytes(solo)
    lead_in = 960  # 0.35 s are less than a beat at 120 bpm, so one beat stands before beat 0
    markers = [(tick - lead_in, m.text) for tick, m in events(data, 0, "marker")]
    assert (0, "opening") in markers
    assert (16 * 960, "lift") in markers
    assert (28 * 960, "light: blue wash") in markers
    calls = [(tick - lead_in, m.text) for tick, m in events(data, 0, "cue_marker")]
    assert (4 * 960, "triquetra") in calls  # a bar before its beat 8
    assert bytes.fromhex("FF 06") in data
    assert bytes.fromhex("FF 07") in data


def test_letters_of_every_script_survive(duo):
    texts = [m.text for _, m in events(midi_bytes(duo), 0, "cue_marker")]
    assert any('Ash "the, comma" --> ערב 🔥: ' in text for text in texts)


def test_each_hand_sounds_on_its_downbeats(solo, library):
    """A triquetra passes down twice a turn (|p| = 2): at rate 1 a downbeat on every beat."""
    data = midi_bytes(solo, library=library)
    notes = events(data, 2, "note_on")
    right = [tick / 960 - 1 for tick, m in notes if m.note == RIGHT_NOTE]
    assert [beat for beat in right if 8 <= beat < 16] == list(range(8, 16))
    left = [tick / 960 - 1 for tick, m in notes if m.note == LEFT_NOTE]
    assert [beat for beat in left if 8 <= beat < 16] == list(range(8, 16))


@pytest.mark.parametrize(("hand", "note"), [("right", RIGHT_NOTE), ("left", LEFT_NOTE)])
def test_one_hand_alone_sounds_its_own_note(solo, library, hand, note):
    """G above middle C for the right hand, middle C for the left."""
    alone = Placement(BeatSpan(Fraction(0), Fraction(8)), "extension", style=Style(hand=hand))
    data = midi_bytes(replace(solo, parts=(Part("Wren", (alone,)),)), library=library)
    assert {m.note for _, m in events(data, 2, "note_on")} == {note}
    assert note == {"right": 67, "left": 60}[hand]


def test_every_track_lasts_as_long_as_the_music(solo, library):
    """32 beats after a beat of lead-in, though the last downbeat is on beat 31."""
    file = mido.MidiFile(file=io.BytesIO(midi_bytes(solo, library=library)), charset="utf-8")
    lasts = [sum(message.time for message in track) for track in file.tracks]
    assert lasts == [33 * 960] * 3


def test_an_upbeat_of_dotted_beats_is_counted_in_quarters():
    """Two beats of 6/8 in two before beat 0 are three quarters, two of them after it three more."""
    meters = MeterMap(
        (MeterChange(Fraction(0), Meter(6, 8)), MeterChange(Fraction(4), Meter(4, 4)))
    )
    assert [quarters_from_zero(meters, Fraction(beat)) for beat in (-2, 0, 2, 4, 6)] == [
        -3, 0, 3, 6, 8,
    ]  # fmt: skip


def test_rounding_of_the_tempo_is_taken_back_and_never_adds_up():
    """Half a microsecond a quarter over 64 beats, then corrected: under 0.04 ms after 20 minutes of
    174, where it would have added up to 1.4 ms (arithmetic)."""
    end = Fraction(174 * 20)
    clock = midi_clock(
        MusicGrid(steady_tempo_map(174), end), BeatSpan(Fraction(0), end), from_track_start=True
    )
    assert abs(_played_s(clock, end) - 1200) < 0.00004


def test_a_move_that_ends_inside_a_cycle_sounds_up_to_its_end(solo, library):
    """Beats 24 to 31 1/2 of one downbeat a beat: eight, the last on beat 31."""
    notes = events(midi_bytes(solo, library=library), 2, "note_on")
    right = [tick / 960 - 1 for tick, m in notes if m.note == RIGHT_NOTE]
    assert [beat for beat in right if beat >= 24] == list(range(24, 32))


def test_a_phrase_starts_its_own_clock(solo):
    data = midi_bytes(solo, Choice(phrase=1))
    np.testing.assert_allclose(click_times_s(data), np.arange(16) * 0.5, rtol=0, atol=0.002)


def test_music_slower_than_midi_can_say_is_refused():
    """Three bytes of microseconds end at 16.777215 s a quarter, 3.58 beats a minute."""
    grid = MusicGrid(steady_tempo_map(3.5), Fraction(8))
    with pytest.raises(ExportError, match=r"3\.6 beats a minute"):
        midi_bytes(bare(grid))


@given(
    st.lists(st.floats(0.2, 1.5), min_size=8, max_size=60),
    st.floats(-3.0, 5.0),
)
def test_tempo_events_never_leave_the_grid(steps_s, first_s):
    """Summing ticks x microseconds, as a player does, gives back every knot from the start on."""
    times_s = first_s + np.concatenate([[0.0], np.cumsum(steps_s)])
    tempo_map = TempoMap(tuple(Knot(Fraction(i), float(t)) for i, t in enumerate(times_s)))
    if times_s[-1] <= 2.0:
        return
    end = Fraction(len(steps_s))
    grid = MusicGrid(tempo_map, end)
    clock = midi_clock(grid, BeatSpan(Fraction(0), end), from_track_start=True)
    for beat, time_s in enumerate(times_s):
        # the first beat after the start may be stretched by less than a quarter of a beat
        if beat >= clock.origin_beat + 1:
            assert abs(_played_s(clock, Fraction(beat)) - time_s) < 0.002


def _played_s(clock, beat: Fraction) -> float:
    goal, time_s = clock.tick(beat), 0.0
    starts = [clock.tick(tempo.beat) for tempo in clock.tempos]
    for tempo, start, end in zip(clock.tempos, starts, [*starts[1:], goal], strict=True):
        ticks = max(0, min(end, goal) - start) if start < goal else 0
        time_s += ticks / 960 * tempo.microseconds_per_quarter / 1e6
    return time_s


def test_twelve_performers_never_play_on_the_drum_channel(solo, library):
    """Channel 10 (9 from zero) is percussion in General MIDI."""
    people = tuple(Performer(f"P{i}") for i in range(12))
    parts = tuple(Part(p.name, solo.parts[0].placements) for p in people)
    data = midi_bytes(replace(solo, performers=people, parts=parts, spots=()), library=library)
    channels = [events(data, 2 + i, "note_on")[0][1].channel for i in range(12)]
    assert len(set(channels)) == 12
    assert 9 not in channels
