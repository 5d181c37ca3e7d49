"""Invented dance music and the synthesiser that plays it: the truth lies where the sound is."""

import itertools

import mido
import numpy as np
import pytest

from composer.audio.features import SAMPLE_HZ
from composer.audio.fit.practice_band import BandWriter
from composer.audio.fit.practice_dance import DANCE_STYLES, DanceWriter
from composer.audio.fit.practice_machine import machine_sound, notes_of
from composer.audio.fit.practice_riffs import varied
from composer.audio.fit.practice_voices import Level, Voice, drum_sounds, oscillator, resonant
from composer.audio.fit.practice_writer import TICKS_PER_S, Song


def song_of_strokes(times_s, pitch=36, channel=9, length_s=0.1):
    """A song with one stroke at each time, which are its beats too."""
    track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=1_000_000)])
    now = 0
    for time_s in times_s:
        for kind, tick in (
            ("note_on", round(time_s * TICKS_PER_S)),
            ("note_off", round((time_s + length_s) * TICKS_PER_S)),
        ):
            message = mido.Message(kind, channel=channel, note=pitch, velocity=100)
            track.append(message.copy(time=tick - now))
            now = tick
    midi = mido.MidiFile(ticks_per_beat=TICKS_PER_S)
    midi.tracks.append(track)
    places = [k % 4 + 1 for k in range(len(times_s))]
    return Song("a", 120.0, 4, midi, list(times_s), places, [times_s[0]], sound="machine")


def first_sound_s(samples, near_s, within_s=0.02):
    """When the level first passes a tenth of the peak around a time."""
    start = round((near_s - within_s) * SAMPLE_HZ)
    part = np.abs(samples[start : round((near_s + within_s) * SAMPLE_HZ)])
    return (start + int(np.argmax(part > 0.1 * part.max()))) / SAMPLE_HZ


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("pitch", [36, 38, 42, 76])
def test_strokes_sound_at_their_beats(seed, pitch):
    """Two seconds apart, so that nothing rings into the next: within 3 ms, never early."""
    times_s = [0.5, 2.5, 4.5]
    samples = machine_sound(song_of_strokes(times_s, pitch), np.random.default_rng(seed), 20.0)
    late_s = [first_sound_s(samples, t) - t for t in times_s]
    assert min(late_s) > -0.0005
    assert max(late_s) < 0.003


def test_notes_are_read_with_their_times_and_strengths():
    notes = notes_of(song_of_strokes([0.25, 1.0], pitch=60, channel=2, length_s=0.5))
    assert [(n.start_s, n.channel, n.pitch, n.velocity) for n in notes] == [
        (0.25, 2, 60, 100),
        (1.0, 2, 60, 100),
    ]
    assert [n.length_s for n in notes] == pytest.approx([0.5, 0.5])


@pytest.mark.parametrize("style", DANCE_STYLES, ids=lambda style: style.name)
def test_a_track_of_each_style_knows_its_beats_bars_and_sections(style):
    """Beats are even, places count the bar, sections begin on downbeats four bars or more apart."""
    for seed in range(3):
        song = DanceWriter(np.random.default_rng(seed), style).song()
        assert song.sound == "machine"
        assert style.bpm[0] - 0.5 <= song.bpm <= style.bpm[1] + 0.5
        beats_s, places = np.array(song.beats_s), np.array(song.positions)
        assert np.diff(beats_s) == pytest.approx(60 / song.bpm)
        assert np.array_equal(np.diff(places) % style.beats_per_bar, np.ones(len(places) - 1))
        downs_s, sections_s = beats_s[places == 1], np.array(song.sections_s)
        assert np.abs(sections_s[:, None] - downs_s).min(axis=1).max() < 1e-6
        bars = np.diff(sections_s) * song.bpm / 60 / style.beats_per_bar
        assert len(sections_s) >= 3
        assert bars.min() > 3.999


@pytest.mark.parametrize("style", DANCE_STYLES, ids=lambda style: style.name)
def test_the_arrangement_changes_where_a_section_begins(style):
    """Other instruments sound than before; a roll may hide the change of one of five."""
    changes = []
    for seed in range(11, 16):
        song = DanceWriter(np.random.default_rng(seed), style).song()
        notes, edges = notes_of(song), [*song.sections_s, song.beats_s[-1]]
        spans = [
            {
                (n.channel, n.pitch if n.channel == 9 else 0)
                for n in notes
                if first + 0.6 < n.start_s < last - 0.6
            }
            for first, last in itertools.pairwise(edges)
        ]
        changes += [before != after for before, after in itertools.pairwise(spans)]
    assert np.mean(changes) >= 0.8


def test_swing_moves_only_the_places_between():
    """Swung sixteenths: beats and half beats stay, the second sixteenth comes late."""
    writer = DanceWriter(np.random.default_rng(0), DANCE_STYLES[0])
    writer.swing = 0.6
    assert writer._swung(3.0) == 3.0
    assert writer._swung(3.5) == 3.5
    assert writer._swung(3.25) == pytest.approx(3.3)
    assert writer._swung(3.75) == pytest.approx(3.8)


def test_the_same_generator_gives_the_same_samples():
    one, two = (
        machine_sound(DanceWriter(np.random.default_rng(5)).song(), np.random.default_rng(6), 20.0)
        for _ in range(2)
    )
    other = machine_sound(
        DanceWriter(np.random.default_rng(5)).song(), np.random.default_rng(7), 20.0
    )
    assert np.array_equal(one, two)
    assert not np.array_equal(one, other)


def test_a_band_can_be_played_and_nothing_passes_full_scale():
    for seed in range(4):
        song = BandWriter(np.random.default_rng(seed)).song()
        samples = machine_sound(song, np.random.default_rng(seed), longest_s=15.0)
        assert samples.dtype == np.float32
        assert len(samples) == 15 * SAMPLE_HZ
        assert 0.3 < np.abs(samples).max() <= 1.0


def test_a_voice_plays_its_pitch():
    """A4 for a second: the strongest bin of a one-second spectrum is 440 Hz, and it ends."""
    for wave in ("sine", "triangle", "saw", "square"):
        sound = Voice(wave, Level(sustain=1.0)).play(69, 1.0)
        spectrum = np.abs(np.fft.rfft(sound[:SAMPLE_HZ]))
        assert np.argmax(spectrum) == 440
        assert abs(float(sound[-1])) < 0.01


def test_a_saw_is_free_of_mirrored_tones():
    """At 3 kHz the harmonics below 11 kHz are 3, 6 and 9 kHz; the fourth would mirror to 10.05."""
    saw = oscillator("saw", 3000.0, SAMPLE_HZ, 0.0, 0.5)
    spectrum = np.abs(np.fft.rfft(saw))
    naive = np.abs(np.fft.rfft(2 * (3000 / SAMPLE_HZ * np.arange(SAMPLE_HZ) % 1) - 1))
    assert spectrum[10050] < 0.5 * naive[10050]
    assert spectrum[3000] > 0.8 * naive[3000]


def test_the_resonant_filter_peaks_at_its_corner():
    """At the corner the gain is q; two octaves up it falls by about 24 dB."""
    impulse = np.zeros(SAMPLE_HZ, np.float32)
    impulse[0] = 1
    gain = np.abs(np.fft.rfft(resonant(impulse, 500.0, 4.0)))
    assert gain[500] == pytest.approx(4.0, rel=0.01)
    assert gain[10] == pytest.approx(1.0, rel=0.01)
    assert gain[2000] == pytest.approx(1 / 16, rel=0.15)


def test_a_kit_gives_one_sound_to_a_drum():
    kit = drum_sounds(np.random.default_rng(3))
    assert np.array_equal(kit(36), kit(36))
    assert not np.array_equal(kit(42)[:200], kit(46)[:200])


def test_many_tracks_begin_with_their_first_beat():
    """As a music program writes them: the first beat at 0 s, unless something leads in."""
    writers = [DanceWriter(np.random.default_rng(seed)) for seed in range(12)]
    firsts_s = [writer.song().beats_s[0] for writer in writers]
    assert firsts_s == pytest.approx([writer.lead_s for writer in writers], abs=1e-9)
    assert 0 < sum(first < 1e-9 for first in firsts_s) < len(firsts_s)


def test_a_varied_pattern_keeps_what_makes_it_its_own():
    """The first kick and the claps stay; an even kick loses nothing; new claps are weak."""
    rng = np.random.default_rng(3)
    broken, even, clap = "x.....x...x.....", "x...x...x...x...", "....x.......x..."
    for _ in range(200):
        assert varied(rng, broken, "kick")[0] == "x"
        four = varied(rng, even, "kick")
        assert four[::4] == "xxxx"
        claps = varied(rng, clap, "clap")
        assert [i for i, c in enumerate(claps) if c == "x"] == [4, 12]
    told = {varied(rng, part, "kick") for part in (broken, even) for _ in range(50)}
    assert len(told) > 20
    assert {len(pattern) for pattern in told} == {16}
