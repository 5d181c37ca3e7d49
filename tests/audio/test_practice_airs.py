"""Folk tunes from ABC, and songs made of them: bars, beats and pick-ups as written."""

from collections import Counter
from fractions import Fraction

import numpy as np
import pytest

from composer.audio.fit.abc_tune import Irregular, Note, air_of
from composer.audio.fit.air_harmony import Chord, Stretch, backed, chords_of, harmonised
from composer.audio.fit.airs_of_abc import gather, known_in, plain_title, read_airs, tunes_of
from composer.audio.fit.practice_airs import AirWriter

REEL = """X:1
T:Handwritten
M:C|
L:1/8
K:D
A|d2 fd c>A (3BAG|{g}f4-f2 "Am"e2|[M:C|]d8|=c4 ^c4|c'2 C,2 D/E/F/G/ A>>B|d8|e8|d6:|
|: z2 d2 f4|d8|d8|d8|d8|d8|d8|[1 e8:|[2 d6 ||
"""
JIG = """X:2
T:Handwritten jig
M:6/8
L:1/8
K:Gm
D|GAB BAG|ABc d3|GAB BAG|A3 D2 D|GAB BAG|ABc d3|GAB AFD|G3 G2:|
"""


def quarters(part):
    return [(float(n.start), float(n.length), n.pitch) for n in part.notes]


def test_abc_is_read_as_bars_of_quarters():
    """The ABC standard: lengths, broken rhythm, tuplets, ties, accidentals to the bar's end."""
    air = air_of(REEL)
    assert (air.title, air.metre, air.tonic, air.sharps) == ("Handwritten", "2/2", 2, 2)
    part = air.parts[0]
    assert (part.pickup, part.bars) == (Fraction(1, 2), 8)
    third = 1 / 3
    assert quarters(part)[:9] == [
        (-0.5, 0.5, 69), (0, 1, 74), (1, 0.5, 78), (1.5, 0.5, 74), (2, 0.75, 73), (2.75, 0.25, 69),
        (3, pytest.approx(third), 71), (pytest.approx(3 + third), pytest.approx(third), 69),
        (pytest.approx(3 + 2 * third), pytest.approx(third), 67),
    ]  # fmt: skip
    assert quarters(part)[9:15] == [
        (4, 3, 78), (7, 1, 76), (8, 4, 74), (12, 2, 72), (14, 2, 73), (16, 1, 85),
    ]  # fmt: skip
    assert quarters(part)[15:22] == [
        (17, 1, 49), (18, 0.25, 62), (18.25, 0.25, 64), (18.5, 0.25, 66), (18.75, 0.25, 67),
        (19, 0.875, 69), (19.875, 0.125, 71),
    ]  # fmt: skip


def test_repeats_and_endings_are_played_in_order():
    air = air_of(REEL)
    assert air.order == (0, 0, 1, 2)
    assert [part.bars for part in air.parts] == [8, 8, 8]
    assert air.parts[1].notes[0] == Note(Fraction(1), Fraction(1), 74)
    assert [part.notes[-1].pitch for part in air.parts[1:]] == [76, 74]


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ("GAB BAG|ABc d3|GAB AFD", "GAB BA|ABc d3|GAB AFD", "metre says"),
        ("A3 D2 D", "A3 D2 D D", "metre says"),
        ("ABc d3|GAB BAG|A3 D2 D|", "", "fewer than eight"),
        ("K:Gm", "K:HP", "key"),
        ("A3 D2 D|", "A3 D2 D|\nM:9/8\n", "metre changes"),
    ],
)
def test_a_tune_without_regular_bars_is_refused(old, new, why):
    assert old in JIG
    text = (
        JIG.replace(old, new).replace("G2:|", "G2||") if "fewer" in why else JIG.replace(old, new)
    )
    with pytest.raises(Irregular, match=why):
        air_of(text)


def test_tunes_are_gathered_without_those_known_elsewhere(tmp_path):
    here, other = tmp_path / "here", tmp_path / "other"
    here.mkdir()
    other.mkdir()
    (here / "a.abc").write_text(REEL + "\n\n" + JIG)
    (other / "b.abc").write_text("X:1\nT:HANDWRITTEN JIG, The -- Jig\nK:C\nCDE\n")
    assert len(tunes_of(REEL + "\n\n" + JIG)) == 2
    counts = gather(here, [other], tmp_path / "airs.json")
    assert counts == Counter({("C|", "kept"): 1, ("6/8", "known elsewhere"): 1})
    (air,) = read_airs(tmp_path / "airs.json")
    assert air == air_of(REEL)


def test_a_melody_is_known_in_another_key_and_metre(tmp_path):
    (tmp_path / "b.abc").write_text(
        "X:1\nT:Other\nM:3/4\nK:Am\nE2|ABc cBA|Bcd e3|ABc cBA|B3E2E|ABc cBA|Bcde3|"
    )
    known = known_in([tmp_path])
    assert known.has(JIG)
    assert not known.has(REEL)


def test_titles_are_compared_without_articles_and_settings():
    assert plain_title("Old Lane, The (2nd Setting)") == plain_title("The OLD LANE -- Reel")


def strokes_s(song, channel=0):
    now_s, times_s = 0.0, []
    for message in song.midi:
        now_s += message.time
        if message.type == "note_on" and message.channel == channel:
            times_s.append(now_s)
    return np.array(times_s)


def even(writer):
    """Nothing but the notes as written."""
    writer.ornaments, writer.wander, writer.jitter_s, writer.gate = 0.0, 0.0, 0.0, 1.0
    writer.bent = ((0.0, 1.0), (0.0, 1.0))
    writer._parts = lambda: [(writer.air, part, Fraction(0)) for part in writer.air.parts[:1]]
    return writer


@pytest.mark.parametrize("seed", range(6))
def test_a_jig_has_two_beats_of_three_eighths(seed):
    """8 bars of 6/8: 16 beats, and the eighth before them is no beat of its own."""
    writer = even(AirWriter(np.random.default_rng(seed), [air_of(JIG)]))
    song = writer.song()
    assert song.beats_per_bar == 2
    assert song.positions == [1, 2] * 8
    beat_s = 60 / writer.bpm
    assert np.diff(song.beats_s) == pytest.approx(np.full(15, beat_s), abs=1e-9)
    times_s = strokes_s(song)
    written = [float(n.start) / 1.5 * beat_s for n in writer.air.parts[0].notes]
    assert times_s - song.beats_s[0] == pytest.approx(np.array(written), abs=0.0006)
    assert song.sections_s == [song.beats_s[0]]


def test_a_quarter_before_a_bar_of_four_is_a_beat_of_its_own():
    text = JIG.replace("6/8", "4/4").replace("K:Gm\nD|", "K:Gm\nD2|")
    body = "GABc d2e2|" * 7 + "G4 G2||"
    air = air_of(text[: text.index("D2|")] + "D2|" + body)
    song = even(AirWriter(np.random.default_rng(1), [air])).song()
    assert song.positions == [4, *[1, 2, 3, 4] * 8]
    assert strokes_s(song)[0] == pytest.approx(song.beats_s[0], abs=0.0006)


def test_a_reel_in_cut_time_is_counted_in_halves_and_in_four_four_in_quarters():
    for seed in range(10):
        cut = AirWriter(np.random.default_rng(seed), [air_of(REEL)])
        common = AirWriter(np.random.default_rng(seed), [air_of(REEL.replace("C|", "4/4"))])
        assert (cut.meter, common.meter) == (2, 4)
        assert 80 <= cut.bpm <= 126


@pytest.mark.parametrize("seed", range(40))
def test_songs_of_airs_know_their_beats_and_phrases(seed):
    """Long enough, places count 1 to the metre, phrases start on downbeats, notes on beats."""
    airs = [air_of(REEL), air_of(JIG), air_of(REEL.replace("C|", "4/4"))]
    song = AirWriter(np.random.default_rng(seed), airs).song()
    beats_s, places = np.array(song.beats_s), np.array(song.positions)
    assert 45 < beats_s[-1] - beats_s[0] < 130
    assert np.all(np.diff(beats_s) > 0.29)
    assert np.array_equal(np.diff(places) % song.beats_per_bar, np.ones(len(places) - 1))
    apart_s = np.abs(np.array(song.sections_s)[:, None] - beats_s[places == 1]).min(axis=1)
    assert apart_s == pytest.approx(np.zeros(len(apart_s)), abs=1e-6)
    downs_s = beats_s[places == 1]
    nearest_s = np.abs(downs_s[:, None] - strokes_s(song)).min(axis=1)
    assert np.mean(nearest_s < 0.02) > 0.8


def test_the_pick_up_of_a_part_ends_the_bar_before_it():
    """The eighth before the repeat sounds in the last bar, and no note runs into it."""
    writer = AirWriter(np.random.default_rng(3), [air_of(JIG)])
    writer.ornaments, writer.gate, writer.way = 0.0, 1.0, "none"
    writer.song()
    sung = sorted((at, at + length) for at, length, channel, *_ in writer.notes if channel == 0)
    starts, ends = np.array(sung).T
    assert np.all(ends[:-1] <= starts[1:] + 1e-9)
    pickup_at = starts[np.searchsorted(starts, 15.5)]
    assert pickup_at == pytest.approx(16 - 1 / 3)


def test_chords_hold_the_notes_and_come_home():
    weights = np.zeros((4, 12))
    weights[0, [2, 6, 9]] = 1
    weights[1, [7, 11, 2]] = 1
    weights[2, [9, 1, 4]] = 1
    weights[3, [2, 9]] = 1
    major = chords_of(2, 2)
    found = harmonised(weights, major)
    assert found == [Chord(2, "major"), Chord(7, "major"), Chord(9, "major"), Chord(2, "major")]
    assert chords_of(9, 0)[0] == Chord(9, "minor")
    assert chords_of(9, 2)[:3] == (Chord(9, "major"), Chord(2, "major"), Chord(7, "major"))
    assert chords_of(3, -3)[0] == Chord(3, "major")
    assert Chord(2, "minor").triad(53) == [53, 57, 62]
    assert Chord(4, "major").bass() == 40
    assert Chord(3, "major").bass() == 51


def test_a_vamp_is_bass_on_the_beats_and_chords_after_them():
    """A jig's chord falls on the third eighth of a beat, a waltz's on the second and third beat."""
    home = Chord(0, "major")
    jig = list(backed("vamp", Stretch(4, 2, home, 1 / 3, inside=True), home))
    assert sorted({at for at, *_ in jig}) == [4, 4 + 2 / 3, 5, 5 + 2 / 3]
    assert [(at, pitch) for at, _, pitch, _ in jig if at % 1 == 0] == [(4, 48), (5, 55)]
    waltz = list(backed("vamp", Stretch(6, 3, home, 0.5, inside=False), home))
    assert sorted({at for at, *_ in waltz}) == [6, 7, 8]
    assert [at for at, _, pitch, _ in waltz if pitch == home.bass()] == [6]
