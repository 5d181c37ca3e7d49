"""Numbers by which readings of a pulse are told apart, on made music and by hand."""

import numpy as np
import pytest
from made_music import RATE_HZ, clicks

from composer.audio.analyse import pulses_of
from composer.audio.curves import curves_of
from composer.audio.features import features_of
from composer.audio.readings import (
    beat_trains,
    nearness,
    number_names,
    place_of,
    readings_of,
    start_place,
)


@pytest.mark.parametrize(
    ("at_s", "place"),
    [(1.0, 0.0), (1.25, 0.5), (2.0, 2.0), (0.0, -2.0), (0.9, -0.2), (3.5, 5.0), (3.25, 4.5)],
)
def test_a_time_is_counted_in_beats_also_before_the_first_and_after_the_last(
    at_s: float, place: float
) -> None:
    """Beats 0.5 s apart from 1.0 to 3.0 s (arithmetic)."""
    assert place_of(at_s, np.arange(1.0, 3.01, 0.5)) == pytest.approx(place, abs=1e-9)


def test_between_uneven_beats_a_time_is_counted_in_its_own_beat() -> None:
    assert place_of(2.5, np.array([0.0, 1.0, 2.0, 4.0, 5.0])) == pytest.approx(2.25)


def test_nearness_is_one_on_every_multiple_and_nothing_between() -> None:
    assert [nearness(k, 4) for k in (-4.0, 0.0, 8.0)] == [1.0, 1.0, 1.0]
    assert nearness(2.0, 4) == pytest.approx(0.0, abs=1e-12)
    for place in (0.1, 0.9):
        assert nearness(place, 1, 0.1) == pytest.approx(np.exp(-1))


@pytest.mark.parametrize(("lead_s", "begun"), [(0.0, True), (0.25, False), (0.11, False)])
def test_a_file_that_begins_with_a_beat_is_known_from_its_first_sample(
    lead_s: float, begun: bool
) -> None:
    """Clicks of one strength every half second: only the beats on them can begin with the file."""
    sound = clicks(lead_s + 0.5 * np.arange(60), 31.0)
    features = features_of(sound[:, None], RATE_HZ)
    curves = curves_of(features)
    trains = [t for p in pulses_of(features, curves) for t in beat_trains(p, curves)]
    met = [
        t
        for t in trains
        if abs(t.bpm / 120 - 1) < 0.01
        and np.median(np.abs((t.times_s - lead_s + 0.25) % 0.5 - 0.25)) < 0.02
    ]
    assert met
    off = abs((lead_s + 0.25) % 0.5 - 0.25)
    for train in met:
        assert abs((start_place(train.times_s) + 0.5) % 1 - 0.5) * 0.5 == pytest.approx(
            off, abs=0.005
        )
        rows = np.stack([r.numbers for r in readings_of(train, curves) if r.beats_per_bar == 4])
        named = dict(zip(number_names(), rows.T, strict=True))
        assert named["start on beat"] == pytest.approx(np.full(4, float(begun)), abs=0.1)
        assert sorted(named["start on down"]) == pytest.approx([0, 0, 0, float(begun)], abs=0.1)
