"""The script that fits the listening weights: invented songs, truths, descent, networks."""

import numpy as np
import pytest

from composer.audio.choice import NETWORK_PARTS, Weights
from composer.audio.fit.descent import Descent, batches, kept
from composer.audio.fit.fit_readings import Example, Settings, f_measure, fit, with_fewer_rivals
from composer.audio.fit.practice_music import invent
from composer.audio.fit.truth import tracks_in, truth_of
from composer.audio.readings import number_names, number_sources


@pytest.mark.parametrize("seed", range(40))
def test_an_invented_song_knows_its_beats_bars_and_phrases(seed):
    """Beats rise, places in the bar count 1 to the metre, and phrases begin on downbeats."""
    song = invent(seed)
    beats_s, places = np.array(song.beats_s), np.array(song.positions)
    assert np.all(np.diff(beats_s) > 0.1)
    assert 60 / np.median(np.diff(beats_s)) == pytest.approx(song.bpm, rel=0.1)
    assert np.all((np.diff(places) == 1) | (places[1:] == 1))
    lengths = np.diff(np.flatnonzero(places == 1))
    assert song.beats_per_bar in np.flatnonzero(np.bincount(lengths) == np.bincount(lengths).max())
    downs_s = beats_s[places == 1]
    apart_s = np.abs(np.array(song.sections_s)[:, None] - downs_s).min(axis=1)
    assert apart_s == pytest.approx(np.zeros(len(apart_s)), abs=1e-6)


def drum_strokes_s(song):
    now_s, strokes_s = 0.0, []
    for message in song.midi:
        now_s += message.time
        if message.type == "note_on" and message.channel == 9:
            strokes_s.append(now_s)
    return np.array(strokes_s)


def test_drums_of_invented_songs_sound_on_their_beats():
    """Where there are drums, most beats carry a stroke within a player's jitter of 25 ms."""
    met = []
    for song in map(invent, range(40)):
        strokes_s, beats_s = drum_strokes_s(song), np.array(song.beats_s)
        if len(strokes_s) > len(beats_s):
            inside_s = beats_s[beats_s > strokes_s[0] - 0.05]
            met.append(np.mean(np.abs(inside_s[:, None] - strokes_s).min(axis=1) < 0.025))
    assert len(met) >= 10
    assert np.median(met) > 0.5


def test_a_seed_always_gives_the_same_song():
    one, two = invent(7), invent(7)
    assert one.beats_s == two.beats_s
    assert [str(m) for m in one.midi] == [str(m) for m in two.midi]


def test_truth_is_read_from_its_text_files(tmp_path):
    (tmp_path / "a.flac").write_bytes(b"")
    (tmp_path / "b.flac").write_bytes(b"")
    (tmp_path / "a.beats.txt").write_text("0.5\t4\n1.0\t1\n1.5\t2\n\n")
    (tmp_path / "a.segments.txt").write_text("1.0\t9.0\tverse\n9.0\t17.0\tchorus\n")
    assert tracks_in(tmp_path) == [tmp_path / "a.flac"]
    truth = truth_of(tmp_path / "a.flac")
    assert truth.beats_s.tolist() == [0.5, 1.0, 1.5]
    assert truth.downbeats_s.tolist() == [1.0]
    assert [p.tolist() for p in truth.phrases_s] == [[1.0, 9.0, 17.0]]


def test_double_tempo_scores_two_thirds():
    """Twice as many beats, all true ones among them: 2 * 20 / (20 + 40) = 2/3."""
    truth_s = np.arange(20) * 0.5
    assert f_measure(truth_s, np.arange(40) * 0.25) == pytest.approx(2 / 3)
    assert f_measure(truth_s, truth_s + 0.069) == 1.0
    assert f_measure(truth_s, truth_s + 0.25) == 0.0


def test_descent_finds_the_bottom_of_a_bowl():
    """Squared distance from (3, -2): the slope is twice the distance."""
    place = np.zeros(2, np.float32)
    descent = Descent([place], rate=0.1, decay=0.0, steps=400)
    for _ in range(400):
        descent.step([2 * (place - np.array([3, -2], np.float32))])
    assert place == pytest.approx([3, -2], abs=0.01)


def test_what_dropout_keeps_is_raised_so_that_the_mean_stays():
    factors = kept(np.random.default_rng(1), 0.25, 100_000)
    assert set(np.unique(factors).tolist()) == {0.0, float(np.float32(1 / 0.75))}
    assert factors.mean() == pytest.approx(1.0, abs=0.01)


def test_batches_hold_everything_once():
    parts = list(batches(np.random.default_rng(2), 10, 4))
    assert [len(p) for p in parts] == [4, 4, 2]
    assert sorted(np.concatenate(parts).tolist()) == list(range(10))


def made_up_track(rng):
    """Ten readings; the right one alone has a high first number."""
    width = len(number_names())
    numbers = rng.normal(0, 1, (10, width)).astype(np.float32)
    right = int(rng.integers(10))
    numbers[right, 0] += 4
    beats = np.zeros(10, np.float32)
    beats[right] = 1
    return Example(numbers, beats, beats)


def test_the_fit_learns_which_number_tells():
    rng = np.random.default_rng(3)
    settings = Settings(networks=1, hidden=8, epochs=30, tracks_a_step=16)
    arrays = fit([made_up_track(rng) for _ in range(400)], settings)
    network = tuple(arrays[f"{name}_0"].astype(float) for name in NETWORK_PARTS)
    weights = Weights(arrays["centre"], arrays["scale"], (network,), float(arrays["sharpness"]))
    fresh = [made_up_track(rng) for _ in range(100)]
    hits = [weights.belief(e.numbers).argmax() == e.quality.argmax() for e in fresh]
    assert np.mean(hits) > 0.8


def test_fewer_rivals_still_hold_the_best():
    rng = np.random.default_rng(4)
    numbers = rng.normal(0, 1, (500, 3)).astype(np.float32)
    beats, bars = rng.uniform(0, 1, (2, 500)).astype(np.float32)
    few = with_fewer_rivals(Example(numbers, beats, bars), rng)
    assert len(few.numbers) < 250
    assert few.quality.max() == (beats + bars).max()


def test_every_number_of_a_reading_has_a_name_and_a_source():
    names, sources = number_names(), number_sources()
    assert len(names) == len(set(names)) == len(sources)
    assert sources[names.index("octave")] == 0
    assert sources[names.index("on low")] == sources[names.index("down accent low")] > 0
    assert sources[names.index("down harmony beat")] == sources[names.index("turn harmony")]
