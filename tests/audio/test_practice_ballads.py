"""Invented pop songs: where their chords, beats and phrases lie, and that sections come back."""

from dataclasses import replace

import numpy as np
import pytest

from composer.audio.fit.practice_ballad_parts import VOICE, Chord, read_loop
from composer.audio.fit.practice_ballads import BalladWriter, Material
from composer.audio.fit.practice_styles import MAJOR


def struck_s(song):
    now_s, times_s = 0.0, []
    for message in song.midi:
        now_s += message.time
        if message.type == "note_on":
            times_s.append(now_s)
    return np.array(times_s)


def plain_writer(bpm=60.0):
    """In C major and 4/4, played exactly, the first beat at 1 s."""
    for seed in range(100):
        writer = BalladWriter(np.random.default_rng(seed))
        if writer.meter == 4 and not writer.ternary:
            writer.bpm, writer.lead_s, writer.jitter_s, writer.spread_s = bpm, 1.0, 0.0, 0.0
            writer.wander, writer.ritard, writer.scale, writer.key = 0.0, 0.0, MAJOR, 0
            writer.marked_bars, writer.inserts = 0, False
            return writer
    raise AssertionError


def test_a_loop_names_degree_kind_and_bass():
    assert read_loop("0 4/6 2! 4s") == [(0, "", None), (4, "", 6), (2, "!", None), (4, "s", None)]


def test_tones_of_chords_in_c_major():
    writer = plain_writer()
    assert writer.tones(Chord(0, 4, 0, 0), 60, 3) == [60, 64, 67]
    assert writer.tones(Chord(0, 4, 0, 4, "s"), 60, 3) == [60, 62, 67]
    assert writer.tones(Chord(0, 4, 0, 2, "!"), 60, 4) == [62, 64, 68, 71]
    assert writer.root(Chord(0, 4, 0, 4, "", 6), 36, bass=True) == 47


@pytest.mark.parametrize(
    ("rate", "close", "expected"),
    [
        (1, "plain", [(0, 0), (4, 4), (8, 5), (12, 3)]),
        (0.5, "plain", [(0, 0), (4, 0), (8, 4), (12, 4)]),
        (2, "plain", [(0, 0), (2, 4), (4, 5), (6, 3), (8, 0), (10, 4), (12, 5), (14, 3)]),
        (1.5, "plain", [(0, 0), (4, 4), (6, 5), (8, 3), (12, 0), (14, 4)]),
        (1, "turn", [(0, 0), (4, 4), (8, 5), (12, 4), (14, 4)]),
        (1, "home", [(0, 0), (4, 4), (8, 5), (12, 0)]),
        (1, "quicker", [(0, 0), (4, 4), (8, 5), (10, 3), (12, 0), (14, 4)]),
    ],
)
def test_chords_change_with_the_bar_or_in_its_middle(rate, close, expected):
    chords = plain_writer().lay_chords([4, 4, 4, 4], "0 4 5 3", rate, close)
    assert [(chord.at, chord.degree) for chord in chords] == expected


def test_a_bar_of_two_is_one_bar():
    """At 60 beats a minute: three bars of four and one of two, and the same again."""
    writer = plain_writer()
    meters = (4, 4, 4, 2)
    chords = writer.lay_chords(meters, "0 4 5 3", 1, "plain")
    line = [(0.0, 1.0, 0), (1.5, 2.0, 2)]
    materials = {"A": Material(meters, chords, [(0.0, line)], closes=False)}
    song = writer.perform(["A", "A"], materials, {"A": writer.setting("A")})
    assert song.positions == [1, 2, 3, 4, 1, 2, 3, 4, 1, 2, 3, 4, 1, 2] * 2
    assert song.beats_s == pytest.approx(1.0 + np.arange(28))
    assert song.sections_s == pytest.approx([1.0, 15.0])
    voice = [note[0] for note in writer.notes if note[2] == VOICE]
    assert voice == [0.0, 1.5, 14.0, 15.5]


def test_a_pick_up_of_two_notes_is_an_upbeat_of_one_beat():
    writer = plain_writer()
    chords = writer.lay_chords([4, 4], "0 4", 1, "plain")
    line = [(-1.0, 0.5, 0), (-0.5, 0.5, 1), (0.0, 3.0, 2)]
    materials = {"A": Material((4, 4), chords, [(0.0, line)], closes=False)}
    song = writer.perform(["A"], materials, {"A": writer.setting("A")})
    assert song.positions == [4, 1, 2, 3, 4, 1, 2, 3, 4]
    assert song.sections_s == pytest.approx([2.0])
    assert struck_s(song)[0] == pytest.approx(1.0, abs=0.001)


@pytest.mark.parametrize(("unit", "expected"), [(0.25, [1.0, 1.3, 1.5, 1.8]), (0.5, [1.0, 1.6])])
def test_the_shortest_notes_swing(unit, expected):
    writer = plain_writer()
    writer.swing, writer.taste = 0.6, replace(writer.taste, unit=unit)
    for place in np.arange(0, 1, unit).tolist():
        writer.note(place, 0.1, VOICE, 60, 80)
    assert struck_s(writer.finish(1, [0])) == pytest.approx(expected, abs=0.001)


def test_long_sections_may_be_marked_every_eight_bars():
    writer = plain_writer()
    writer.marked_bars = 8
    materials = {"A": writer.material(16), "B": writer.material(9)}
    settings = {name: writer.setting(name) for name in materials}
    song = writer.perform(["A", "B", "A"], materials, settings)
    assert np.array(song.sections_s) - song.sections_s[0] == pytest.approx([0, 32, 64, 100, 132])


@pytest.mark.parametrize("seed", range(40))
def test_a_song_is_counted_and_sounds_on_its_bars(seed):
    """All notes after 0, most downbeats struck, phrases on downbeats two bars or more apart."""
    writer = BalladWriter(np.random.default_rng(seed))
    song = writer.song()
    beats_s, places, notes_s = np.array(song.beats_s), np.array(song.positions), struck_s(song)
    assert notes_s.min() > 0
    assert 60 < beats_s[-1] < 175
    assert np.all((np.diff(places) == 1) | (places[1:] == 1))
    downs_s = beats_s[places == 1]
    apart_s = np.abs(downs_s[:, None] - notes_s).min(axis=1)
    assert np.mean(apart_s < 0.03) > 0.97
    bars = [downs_s.tolist().index(start) for start in song.sections_s]
    assert np.diff([*bars, len(downs_s)]).min() >= 2


@pytest.mark.parametrize("seed", range(40))
def test_a_voice_keeps_to_the_parts_of_the_beat(seed):
    """Quarters of it, or thirds; the lines are about an octave and a half wide."""
    writer = BalladWriter(np.random.default_rng(seed))
    lines = [line for _ in range(6) for _, line in writer.material(8).lines]
    places = np.array([note[0] for line in lines for note in line])
    parts = 3 if writer.ternary else 4
    assert places * parts == pytest.approx(np.round(places * parts))
    assert all(length > 0.1 for line in lines for _, length, _ in line)
    steps = [step for line in lines for _, _, step in line]
    assert -3 <= min(steps) <= max(steps) <= 8


@pytest.mark.parametrize("seed", range(10))
def test_a_section_that_comes_back_has_the_same_voice(seed):
    writer = BalladWriter(np.random.default_rng(seed))
    material = writer.material(8)
    setting = writer.setting("A")
    beats = sum(material.meters)
    writer.perform(["A", "A"], {"A": material}, {"A": setting})
    voice = np.array(sorted({note[0] for note in writer.notes if note[2] == VOICE}))
    half = len(voice) // 2
    assert voice[half:] - beats == pytest.approx(voice[:half])


def test_slow_songs_are_as_common_as_quick_ones_and_have_as_quick_notes():
    """Notes of the voice last 0.2 to 0.8 s in the middle, at 56 to 75 as at 108 to 140."""
    slow, quick = [], []
    for seed in range(120):
        writer = BalladWriter(np.random.default_rng(seed))
        writer.song()
        starts = np.array(sorted({n[0] for n in writer.notes if n[2] == VOICE}))
        gap_s = float(np.median(np.diff(starts))) * 60 / writer.bpm
        if writer.bpm < 75 and not writer.ternary:
            slow.append(gap_s)
        elif writer.bpm > 108:
            quick.append(gap_s)
    assert 0.7 < len(slow) / len(quick) < 2.2
    assert 0.2 < np.median(slow) < 0.8
    assert 0.2 < np.median(quick) < 0.8
