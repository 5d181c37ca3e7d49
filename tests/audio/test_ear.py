"""The ear's arithmetic, the free beats and the bars that follow from what it hears.

Reference for the layers: scipy.signal.correlate. The chances are made by hand, so that what
follows from them can be said without the ear.
"""

from types import SimpleNamespace

import numpy as np
import pytest
import scipy.signal

from composer.audio import ear
from composer.audio.bar_walk import downbeats_of
from composer.audio.choice import apart_s
from composer.audio.ear import EAR_HZ, Heard
from composer.audio.ear_evidence import BAR_NAMES, LEVEL_NAMES, bars_heard, beats_heard, evidence_of
from composer.audio.free_beats import WALKS, free_beat_times_s


def chances(times_s, seconds, *, high=0.9, low=0.02):
    """Peaks three moments wide, as the ear was taught to give."""
    curve = np.full(round(seconds * EAR_HZ), low)
    at = np.round(np.asarray(times_s) * EAR_HZ).astype(int)
    curve[at - 1] = curve[at + 1] = high / 2
    curve[at] = high
    return curve


@pytest.mark.parametrize("dilation", [1, 2, 16])
def test_a_layer_is_a_correlation_along_time(dilation):
    rng = np.random.default_rng(1)
    x = rng.standard_normal((90, 3)).astype(np.float32)
    weight = rng.standard_normal((5, 3, 2)).astype(np.float32)
    spread = np.zeros((4 * dilation + 1, 3, 2))
    spread[::dilation] = weight
    padded = np.pad(x.astype(float), ((2 * dilation,) * 2, (0, 0)))
    wanted = np.stack(
        [scipy.signal.correlate(padded, spread[:, :, k], mode="valid")[:, 0] for k in range(2)],
        axis=1,
    )
    assert ear._convolved(x, weight, dilation) == pytest.approx(wanted, abs=1e-4)


def test_a_layer_wider_than_the_music_hears_silence_beyond_it():
    weight = np.ones((5, 1, 1), np.float32)
    out = ear._convolved(np.ones((3, 1), np.float32), weight, 8)
    assert out == pytest.approx(np.ones((3, 1)))


def test_listening_in_stretches_is_listening_at_once(monkeypatch):
    rng = np.random.default_rng(2)
    moments = 4000
    features = SimpleNamespace(
        mel=rng.random((2 * moments, ear.MEL_BANDS), dtype=np.float32),
        notes=rng.random((moments, ear.NOTES), dtype=np.float32),
    )
    at_once = ear.heard_in(features)  # type: ignore[arg-type]
    monkeypatch.setattr(ear, "STRETCH", 1500)
    in_parts = ear.heard_in(features)  # type: ignore[arg-type]
    for name in ear.HEARD:
        assert getattr(in_parts, name) == pytest.approx(getattr(at_once, name), abs=1e-5)


def test_the_weights_stay_small():
    from importlib import resources

    names = ("ear_weights.npz", "reading_weights.npz", "phrase_weights.npz")
    folder = resources.files("composer.audio")
    assert sum(len(folder.joinpath(name).read_bytes()) for name in names) < 2_000_000


@pytest.mark.parametrize("seed", range(4))
def test_the_second_walk_follows_uneven_beats_better(seed):
    """Beats whose lengths stray by a fifth, as in rubato."""
    rng = np.random.default_rng(seed)
    gaps_s = 0.6 * np.exp(0.2 * rng.standard_normal(60))
    times_s = 1.0 + np.concatenate([[0], np.cumsum(gaps_s)])
    strict, loose = (free_beat_times_s(chances(times_s, times_s[-1] + 1), walk) for walk in WALKS)
    met = [np.mean(apart_s(times_s, found_s) < 0.07) for found_s in (strict, loose)]
    assert met[1] > max(met[0], 0.75)
    assert len(loose) <= 1.15 * len(times_s)


@pytest.mark.parametrize("walk", WALKS)
def test_free_beats_follow_an_accelerando(walk):
    gaps_s = np.geomspace(0.9, 0.5, 60)
    times_s = 1.0 + np.concatenate([[0], np.cumsum(gaps_s)])
    found_s = free_beat_times_s(chances(times_s, times_s[-1] + 1), walk)
    assert apart_s(times_s, found_s).max() < 0.045
    assert len(found_s) <= len(times_s) + 3


@pytest.mark.parametrize("walk", WALKS)
def test_free_beats_go_on_where_none_are_heard(walk):
    times_s = np.arange(1, 31) * 0.6
    heard = np.delete(times_s, [10, 11, 20])
    found_s = free_beat_times_s(chances(heard, 20), walk)
    assert apart_s(times_s, found_s).max() < 0.05


@pytest.mark.parametrize(
    ("lengths", "meter", "first"),
    [
        ([4] * 30, 4, 0),
        ([4] * 20 + [2] + [4] * 20, 4, 3),
        ([3] * 20 + [4] * 20, 3, 1),
        ([4] * 10 + [3] * 32 + [4] * 10, 4, 2),
        ([7] * 20, 7, 0),
    ],
)
def test_bars_change_their_length_where_downbeats_are_heard(lengths, meter, first):
    downs = np.cumsum([first, *lengths])
    gain = np.full(downs[-1], -3.0)
    gain[downs[:-1]] = 2.5
    train = SimpleNamespace(heard=SimpleNamespace(down_gain=gain))
    reading = SimpleNamespace(train=train, beats_per_bar=meter, first_downbeat=first)
    assert downbeats_of(reading).tolist() == downs[:-1].tolist()  # type: ignore[arg-type]


def test_a_missed_downbeat_does_not_change_the_bars():
    gain = np.full(80, -3.0)
    gain[::4] = 2.0
    gain[20], gain[22], gain[41] = -2.0, 1.0, 1.5
    train = SimpleNamespace(heard=SimpleNamespace(down_gain=gain))
    reading = SimpleNamespace(train=train, beats_per_bar=4, first_downbeat=0)
    assert downbeats_of(reading).tolist() == list(range(0, 80, 4))  # type: ignore[arg-type]


def test_numbers_of_the_ear_favour_the_beats_and_bars_it_hears():
    beats_s = 0.5 + 0.5 * np.arange(64)
    downs = np.zeros(64, bool)
    downs[1::4] = True
    empty = chances([], 34)
    heard = Heard(chances(beats_s, 34), chances(beats_s[downs], 34, high=0.8), empty)
    evidence = evidence_of(heard)
    gaps_s = np.full(64, 0.5)
    level = dict(zip(LEVEL_NAMES, beats_heard(evidence, beats_s, gaps_s).numbers, strict=True))
    beside = beats_heard(evidence, beats_s + 0.25, gaps_s)
    off = dict(zip(LEVEL_NAMES, beside.numbers, strict=True))
    assert level["ear on"] == pytest.approx(0.9)
    assert level["ear half"] == pytest.approx(0.02)
    assert level["ear fit"] > off["ear fit"]
    bars = bars_heard(beats_heard(evidence, beats_s, gaps_s), 4)
    fit = bars[:, BAR_NAMES.index("ear bars fit")]
    assert int(fit.argmax()) == 1
