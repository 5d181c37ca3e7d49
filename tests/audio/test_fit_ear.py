"""What the ear is taught, and that its weights mean the same in the program as where it learnt.

Reference for the network: PyTorch, where it is installed; without it that test is skipped.
"""

import numpy as np
import pytest

from composer.audio.ear import EAR_HZ, HEARD, INPUTS, ear_from
from composer.audio.ear import _scores as scores
from composer.audio.fit.fit_ear import (
    LEVELS,
    Settings,
    arrays_of,
    network,
    wanted_of,
    weight_file,
)
from composer.audio.fit.truth import Truth


def test_events_are_wanted_where_they_are_and_half_beside():
    truth = Truth(np.array([10, 20, 30]) / EAR_HZ, np.array([20]) / EAR_HZ, ())
    wanted = wanted_of(truth, 40).astype(float)
    assert wanted[:, HEARD.index("beat")].nonzero()[0].tolist() == [
        9,
        10,
        11,
        19,
        20,
        21,
        29,
        30,
        31,
    ]
    assert wanted[19:22, HEARD.index("downbeat")].tolist() == [0.5, 1.0, 0.5]
    assert not wanted[:, HEARD.index("phrase")].any()


def test_phrases_are_wanted_where_each_begins_but_not_where_the_last_ends():
    phrases = (np.array([5, 25, 38]) / EAR_HZ,)
    wanted = wanted_of(Truth(np.array([5.0]) / EAR_HZ, np.zeros(0), phrases), 40)
    assert np.flatnonzero(wanted[:, HEARD.index("phrase")] == 1).tolist() == [5, 25]


def test_events_beyond_the_ends_are_left_out():
    truth = Truth(np.array([-0.5, 0.0, 39.0, 80.0]) / EAR_HZ, np.zeros(0), ())
    assert np.flatnonzero(wanted_of(truth, 40)[:, 0] == 1).tolist() == [0, 39]


def test_the_program_computes_what_the_network_learnt(tmp_path):
    torch = pytest.importorskip("torch", reason="PyTorch, which the ear learns with")
    settings = Settings(width=8, pairs=3, stem_width=6)
    rng = np.random.default_rng(3)
    centre, scale = rng.random(INPUTS, np.float32), 0.5 + rng.random(INPUTS, np.float32)
    torch.manual_seed(1)
    ear = network(settings, centre, scale)
    given = rng.standard_normal((2, INPUTS, 300)).astype(np.float32)
    for _ in range(30):
        ear(torch.from_numpy(given))
    ear.eval()
    with torch.no_grad():
        wanted = ear(torch.from_numpy(given))[0].numpy().T
    path = tmp_path / "ear.npz"
    np.savez(path, **weight_file([arrays_of(ear)], settings.pairs, levels=127))
    (weights,) = ear_from(path)
    # At the ends the program pads with scaled silence, which the tracks' own silence covers.
    assert scores(given[0].T, weights)[20:-20] == pytest.approx(wanted[20:-20], abs=0.03)


def test_weights_come_back_from_the_file_within_half_a_step(tmp_path):
    rng = np.random.default_rng(5)
    shapes = {"stem_0_w": (3, 4, 6), "stem_1_w": (3, 6, 5), "pair_0_w": (5, 5, 5)}
    shapes |= {"pair_0_v": (5, 5), "readout_w": (5, 3)}
    arrays = {
        name: rng.standard_normal(shape).astype(np.float32) * 10 ** rng.uniform(-3, 1, shape[-1])
        for name, shape in shapes.items()
    }
    sizes = {"stem_0_b": 6, "stem_1_b": 5, "pair_0_b": 5, "pair_0_c": 5, "readout_b": 3}
    arrays |= {name: rng.standard_normal(size) for name, size in sizes.items()}
    path = tmp_path / "ear.npz"
    np.savez(path, **weight_file([arrays, arrays], 1))
    first, second = ear_from(path)
    assert first.stem[0][0] == pytest.approx(second.stem[0][0])
    for name, found in (
        ("stem_0_w", first.stem[0][0]),
        ("pair_0_w", first.pairs[0][0]),
        ("pair_0_v", first.pairs[0][2]),
        ("readout_w", first.readout[0]),
    ):
        wanted = arrays[name]
        step = np.abs(wanted).max(axis=tuple(range(wanted.ndim - 1))) / LEVELS
        assert np.all(np.abs(found - wanted) <= 0.51 * step + 1e-4), name
    assert first.stem[1][1] == pytest.approx(arrays["stem_1_b"], rel=1e-3)
