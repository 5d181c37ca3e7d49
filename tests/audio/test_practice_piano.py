"""Invented music that is not even: bars of several metres, tempi that change, a free player."""

import numpy as np
import pytest

from composer.audio.fit.practice_changes import ChangingTuneWriter
from composer.audio.fit.practice_piano import PianoWriter
from composer.audio.fit.practice_writer import Writer


def plain_writer():
    """120 beats a minute, the first one at 1 s, nothing left to chance."""
    writer = Writer(np.random.default_rng(1), "plain", (120, 120), 4)
    writer.bpm, writer.lead_s, writer.jitter_s, writer.spread_s = 120.0, 1.0, 0.0, 0.0
    return writer


def struck_s(song):
    now_s, times_s = 0.0, []
    for message in song.midi:
        now_s += message.time
        if message.type == "note_on":
            times_s.append(now_s)
    return np.array(times_s)


def test_bars_may_change_their_metre():
    """Two bars of three, one of four, one of two, at half a second a beat."""
    song = plain_writer().finish(4, [0, 2], [3, 3, 4, 2])
    assert song.positions == [1, 2, 3, 1, 2, 3, 1, 2, 3, 4, 1, 2]
    assert song.beats_s == pytest.approx(1.0 + 0.5 * np.arange(12))
    assert song.sections_s == pytest.approx([1.0, 4.0])
    assert song.beats_per_bar == 3
    assert song.bpm == pytest.approx(120)


def test_an_upbeat_counts_towards_the_first_bar():
    writer = plain_writer()
    writer.upbeat_beats = 1
    song = writer.finish(2, [0], [3, 4])
    assert song.positions == [3, 1, 2, 3, 1, 2, 3, 4]
    assert song.sections_s == pytest.approx([1.5])


def test_a_fermata_lengthens_just_its_beat():
    writer = plain_writer()
    writer.note(3.0, 0.9, 0, 60, 80)
    writer.note(4.0, 0.9, 0, 60, 80)
    writer.stretch(3, 4, 2.5)
    song = writer.finish(2, [0])
    assert np.diff(song.beats_s) == pytest.approx([0.5, 0.5, 0.5, 1.25, 0.5, 0.5, 0.5])
    assert struck_s(song) == pytest.approx([2.5, 3.75], abs=0.001)


def test_a_ritardando_grows_and_adds_to_the_tempo_of_its_section():
    """Beats 4 to 7 at half the tempo, the last three of them from there on to twice as long."""
    writer = plain_writer()
    writer.stretch(4, 8, 2.0)
    writer.stretch(5, 8, 1.0, 4.0)
    song = writer.finish(3, [0])
    lengths = [0.5, 0.5, 0.5, 0.5, 1.0, 1.0, 2.0, 4.0, 0.5, 0.5, 0.5]
    assert np.diff(song.beats_s) == pytest.approx(lengths)


def test_a_short_upbeat_has_room_before_the_first_beat():
    writer = plain_writer()
    writer.lead_s = 0.0
    writer.note(-0.5, 0.4, 0, 60, 80)
    song = writer.finish(1, [0])
    assert struck_s(song) == pytest.approx([0.05], abs=0.001)
    assert song.beats_s[0] == pytest.approx(0.30)


def bar_lengths(song):
    return np.diff(np.flatnonzero(np.array(song.positions) == 1))


@pytest.mark.parametrize("seed", range(20))
def test_a_changing_tune_has_bars_of_several_lengths(seed):
    song = ChangingTuneWriter(np.random.default_rng(seed)).song()
    places = np.array(song.positions)
    assert len(set(bar_lengths(song).tolist())) >= 2
    assert np.all((np.diff(places) == 1) | (places[1:] == 1))
    assert np.all(np.diff(song.beats_s) > 0.1)


@pytest.mark.parametrize("seed", range(30))
def test_a_piano_piece_sounds_on_its_beats(seed):
    """All notes after 0; most beats struck, by melodies up to 25 ms early and spread chords."""
    writer = PianoWriter(np.random.default_rng(seed))
    song = writer.song()
    beats_s, notes_s = np.array(song.beats_s), struck_s(song)
    assert notes_s.min() > 0
    assert 55 < beats_s[-1] < 200
    apart_s = np.abs(beats_s[:, None] - notes_s).min(axis=1)
    assert np.mean(apart_s < 0.04) > 0.65
    downs_s = beats_s[np.array(song.positions) == 1]
    assert set(song.sections_s) <= set(downs_s.tolist())


def test_nothing_is_struck_while_a_chord_is_held():
    """Between the beat under a fermata and the next phrase."""
    held = 0
    for seed in range(30):
        writer = PianoWriter(np.random.default_rng(seed))
        writer.song()
        starts = np.array([note[0] for note in writer.notes])
        for played in writer.passages:
            if played.held_beat is not None:
                inside = (starts > played.held_beat + 0.01) & (starts < played.passage.end - 0.3)
                assert not inside.any()
                held += 1
    assert held > 10


def test_a_free_tempo_is_as_free_as_players_are():
    """Spread of successive beat lengths, as logarithms: in the middle 0.03 to 0.12, at most 0.3.

    Common practice, no source. The edges are studies played evenly and pieces with fermatas.
    """
    spreads = []
    for seed in range(40):
        beats_s = PianoWriter(np.random.default_rng(seed)).song().beats_s
        spreads.append(np.diff(np.log(np.diff(beats_s))).std())
    assert 0.03 < np.median(spreads) < 0.12
    assert np.percentile(spreads, 95) < 0.3


def test_a_key_that_is_struck_again_is_let_go_before():
    """So that the end of the earlier note does not cut the later one short."""
    writer = plain_writer()
    writer.note(0.0, 1.5, 0, 60, 80)
    writer.note(1.0, 1.0, 0, 60, 80)
    song = writer.finish(1, [0])
    now_s, seen = 0.0, []
    for message in song.midi:
        now_s += message.time
        if message.type in ("note_on", "note_off"):
            seen.append((message.type, pytest.approx(now_s, abs=0.001)))
    assert seen == [("note_on", 1.0), ("note_off", 1.5), ("note_on", 1.5), ("note_off", 2.0)]
