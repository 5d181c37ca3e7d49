"""Invented four-part music: where its phrases begin and rest, how its voices lead."""

import itertools

import numpy as np
import pytest

from composer.audio.fit.practice_hymn_kinds import METRES, MINUET_METRES
from composer.audio.fit.practice_hymns import HymnWriter
from composer.audio.fit.practice_minuets import BASS, TUNE, MinuetWriter
from composer.audio.fit.practice_part_writing import Chord, Place, Tonality, progression, voiced
from composer.audio.fit.practice_styles import MAJOR, MINOR

C_MAJOR = Tonality(0, MAJOR)
MINUETS = {metre.name: metre for metre in MINUET_METRES}
METRE = {metre.name: metre for metre in METRES}


def struck_s(song):
    now_s, times_s = 0.0, []
    for message in song.midi:
        now_s += message.time
        if message.type == "note_on":
            times_s.append(now_s)
    return np.array(times_s)


def plain_hymn(metre, pickup, bpm):
    """Four even phrases of four bars, each with the same pick-up; the first beat 1 s in."""

    class Plain(HymnWriter):
        def _drawn_metre(self, _rng):
            return METRE[metre]

        def _phrases(self, form):
            rhythm = np.random.default_rng(1)
            return {
                letter: self.phrase(4, pickup, rhythm, last=letter == form[-1])
                for letter in sorted(set(form))
            }

    writer = Plain(np.random.default_rng(5))
    writer.bpm, writer.lead_s, writer.wander, writer.jitter_s = bpm, 1.0, 0.0, 0.0
    writer.even, writer.spread_s = True, 0.0
    return writer


def test_a_pick_up_of_one_beat_in_three():
    """At 60 beats a minute: an upbeat at 1 s, bars of three, phrases of twelve beats."""
    song = plain_hymn("three", 1, 60.0).song()
    assert song.positions[:8] == [3, 1, 2, 3, 1, 2, 3, 1]
    assert song.beats_s == pytest.approx(1.0 + np.arange(len(song.beats_s)))
    assert song.sections_s == pytest.approx(2.0 + 12 * np.arange(len(song.sections_s)))
    assert struck_s(song).min() == pytest.approx(1.0, abs=0.001)


def test_a_pick_up_of_half_a_beat_in_alla_breve():
    """Half-note beats of 1 s: the quarter before them at 0.5 s is part of no counted beat."""
    song = plain_hymn("alla breve", 1, 60.0).song()
    assert song.positions[:5] == [1, 2, 1, 2, 1]
    assert song.beats_s[:3] == pytest.approx([1.0, 2.0, 3.0])
    assert struck_s(song).min() == pytest.approx(0.5, abs=0.001)
    assert np.diff(song.sections_s) == pytest.approx([8.0] * (len(song.sections_s) - 1))


def test_an_eighth_before_six_eighths():
    song = plain_hymn("six eighths", 1, 60.0).song()
    assert song.positions[:4] == [1, 2, 1, 2]
    assert song.beats_s[0] - struck_s(song).min() == pytest.approx(1 / 3, abs=0.001)


@pytest.mark.parametrize("seed", range(30))
@pytest.mark.parametrize("kind", [HymnWriter, MinuetWriter])
def test_four_parts_sound_on_their_beats(kind, seed):
    song = kind(np.random.default_rng(seed)).song()
    beats_s, notes_s = np.array(song.beats_s), struck_s(song)
    assert notes_s.min() > 0
    assert 45 < beats_s[-1] < 140
    places = np.array(song.positions)
    downs_s = beats_s[places == 1]
    apart_s = np.abs(downs_s[:, None] - notes_s).min(axis=1)
    # All but where two bars of three are one of three twos, or a chord is held over.
    assert np.mean(apart_s < 0.03) > 0.7
    assert set(song.sections_s) <= set(downs_s.tolist())
    starts = np.searchsorted(downs_s, song.sections_s)
    assert np.all(np.diff(starts) >= 2)
    assert np.all((np.diff(places) == 1) | (places[1:] == 1))


def test_phrases_rest_on_strong_beats():
    """And their last chord lasts longer than most; in even songs all notes are alike."""
    for seed in range(40):
        writer = HymnWriter(np.random.default_rng(seed))
        song = writer.song()
        bar = writer.metre.beats
        assert {close % bar for close in writer.closes} <= {0, bar / 2}
        strengths = {m.velocity for m in song.midi if m.type == "note_on"}
        assert len(strengths) == 1 or not writer.even


def composed(seed, count=6):
    writer = HymnWriter(np.random.default_rng(seed))
    return [writer.phrase(4, 1, writer.rng, last=True) for _ in range(count)]


def parallels(voices):
    """How many steps have two voices that move in parallel fifths, octaves or unisons."""
    found = 0
    for before, after in itertools.pairwise(voices):
        found += any(
            after[a] != before[a]
            and after[b] != before[b]
            and (before[b] - before[a]) % 12 == (after[b] - after[a]) % 12
            and (after[b] - after[a]) % 12 in (0, 7)
            for a, b in itertools.combinations(range(4), 2)
        )
    return found


def test_voices_hardly_move_in_parallel_fifths_or_octaves():
    phrases = [phrase for seed in range(25) for phrase in composed(seed)]
    steps = sum(len(phrase.voices) - 1 for phrase in phrases)
    assert steps > 1000
    assert sum(parallels(phrase.voices) for phrase in phrases) < 0.02 * steps
    moves = np.concatenate([np.abs(np.diff(phrase.voices[:, 3])) for phrase in phrases])
    assert np.mean(moves <= 2) > 0.6


def test_harmony_changes_over_the_bar_line():
    """No chord goes from a weak beat on to the next downbeat; the upbeat of a phrase may."""
    same = total = 0
    for phrase in (phrase for seed in range(25) for phrase in composed(seed)):
        for before, after in itertools.pairwise(phrase.chords):
            if after.place.strength == 3 and before.place.at >= 0:
                same += before.degree == after.degree
                total += 1
    assert total > 300
    assert same < 0.03 * total


def test_an_authentic_cadence_has_the_dominant_before_its_strong_beat():
    places = [Place(at, 1.0, 3 if at % 4 == 0 else 2 - at % 2) for at in range(9)]
    for seed in range(30):
        rng = np.random.default_rng(seed)
        chords = progression(rng, places, "authentic")
        assert [chord.degree for chord in chords[-2:]] == [4, 0]
        assert len(chords) == len(places)
        voices = voiced(rng, chords, C_MAJOR, np.full(9, 67.0))
        assert voices[-1, 0] % 12 == 0
        assert voices[-2, 0] % 12 == 7
        assert np.all(np.diff(voices, axis=1) >= 0)


def test_minor_has_its_leading_note_under_dominants():
    a_minor, place = Tonality(9, MINOR), Place(0, 1, 3)
    assert a_minor.tones(Chord(place, 4)) == [4, 8, 11]
    assert a_minor.tones(Chord(place, 2)) == [0, 4, 7]
    assert a_minor.tones(Chord(place, 4, seventh=True)) == [4, 8, 11, 2]
    assert a_minor.beside(69, 1, 0) == 71
    assert a_minor.beside(69, -1, 4) == 68


def test_a_waltzing_accompaniment_has_its_bass_on_the_first_beat():
    """And its chords on the others; the upbeat belongs to the tune alone."""
    writer = MinuetWriter(np.random.default_rng(3))
    writer.metre, writer.accompaniment = MINUETS["minuet"], "after beats"
    writer.favourites, writer.upbeat_chords = np.array([1.0, 0.0, 0.0]), False
    writer.motif = [(1, 1, 1), (2, 1), (1, 0.5, 0.5, 1)]
    phrase = writer.phrase(4, 1, np.random.default_rng(1), last=True)
    lower = [note for note in phrase.notes if note.voice != TUNE]
    basses = {note.at for note in lower if note.voice == BASS}
    assert {0, 3, 6, 9} <= basses <= {0, 3, 6, 8, 9}
    assert {1, 2, 4, 5, 7} <= {note.at for note in lower if note.voice != BASS}
    assert min(note.at for note in lower) == 0
    assert min(note.at for note in phrase.notes) == -1
