"""From readings to bars and knots, and from curves to moments: by hand, without any listening."""

from fractions import Fraction
from types import SimpleNamespace

import numpy as np
import pytest

from composer.audio import choice
from composer.audio.accents import peak_time_s
from composer.audio.bars import meter_map_of, meter_of, tempo_map_of
from composer.audio.choice import relation_of
from composer.audio.features import BANDS, FRAME_HZ
from composer.audio.given import grid_of_beats
from composer.audio.pulse import Pulse, PulseSpan
from composer.timing.meter import FOUR_FOUR, Meter


@pytest.mark.parametrize("top", [10.0, 10.3, 9.6])
def test_a_peak_lies_at_the_top_of_the_parabola_through_its_neighbours(top: float) -> None:
    """Exact for a parabola (geometry); beside the ends the frame itself is taken."""
    curve = 5.0 - (np.arange(20) - top) ** 2
    assert peak_time_s(curve, int(np.argmax(curve))) == pytest.approx(top / FRAME_HZ, abs=1e-12)
    assert peak_time_s(curve[10:], 0) == 0.0


def reading(beats: int, *, thirds: float = 0.0, half: float = 0.0) -> SimpleNamespace:
    """A reading in which each beat sounds at its thirds or at its half so strongly."""
    slots = np.zeros((len(BANDS), 16, 6))
    slots[:, :, [2, 4]], slots[:, :, 3] = thirds, half
    train = SimpleNamespace(slots=slots, pulses_per_beat=2.0, bpm=90.0)
    return SimpleNamespace(beats_per_bar=beats, train=train)


@pytest.mark.parametrize(
    ("beats", "thirds", "half", "meter"),
    [
        (2, 1.0, 0.1, Meter(6, 8)),
        (3, 1.0, 0.1, Meter(9, 8)),
        (4, 1.0, 0.1, Meter(12, 8)),
        (4, 0.1, 1.0, Meter(4, 4)),
        (3, 0.1, 1.0, Meter(3, 4)),
        (5, 1.0, 0.1, Meter(5, 4)),
    ],
)
def test_beats_in_three_are_dotted_quarters(
    beats: int, thirds: float, half: float, meter: Meter
) -> None:
    """Compound metres: two, three or four dotted beats are 6/8, 9/8, 12/8 (musical practice)."""
    found = meter_of(reading(beats, thirds=thirds, half=half))  # type: ignore[arg-type]
    assert found == meter
    assert found.beats_per_bar == beats


def test_bars_of_other_lengths_change_the_metre_and_back() -> None:
    """Bars of 4, 4, 3, 4 and 4 beats."""
    found = meter_map_of([0, 4, 8, 11, 15, 19], FOUR_FOUR)
    starts = [found.bar_start_beat(bar) for bar in range(1, 7)]
    assert starts == [0, 4, 8, 11, 15, 19]
    assert [found.meter_at(Fraction(beat)).beats_per_bar for beat in (4, 8, 11)] == [4, 3, 4]


def test_a_bar_of_three_among_bars_of_six_eight_is_nine_eight() -> None:
    """Bars of 2, 2, 3 and 2 dotted quarters; of eighths, seven and five are 7/8 and 5/8."""
    found = meter_map_of([0, 2, 4, 7, 9], Meter(6, 8))
    assert [str(found.meter_at(Fraction(beat))) for beat in (0, 4, 7)] == ["6/8", "9/8", "6/8"]
    found = meter_map_of([0, 7, 12], Meter(7, 8))
    assert [str(found.meter_at(Fraction(beat))) for beat in (0, 7)] == ["7/8", "5/8"]


def test_exact_stretches_need_a_knot_at_each_end_and_loose_ones_on_every_beat() -> None:
    """A pulse a beat: 0 to 4 even, 5 to 9 single clicks, 10 to 14 even again."""
    even, loose = 0.5 * np.arange(5), 0.55 * np.arange(5)
    times = np.concatenate([even, 2.6 + loose, 5.4 + even])
    spans = (PulseSpan(0, 4, True), PulseSpan(5, 9, False), PulseSpan(10, 14, True))
    train = SimpleNamespace(times_s=times, first_pulse=0.0, pulses_per_beat=1.0)
    found = tempo_map_of(train, Pulse(times, spans, 1.0), first_downbeat=2)  # type: ignore[arg-type]
    assert [int(knot.beat) for knot in found.knots] == [-2, 2, 3, 4, 5, 6, 7, 8, 12]
    assert [knot.time_s for knot in found.knots] == pytest.approx(
        times[[0, 4, 5, 6, 7, 8, 9, 10, 14]], abs=1e-12
    )


def test_beats_before_the_first_downbeat_that_is_given_are_the_upbeat() -> None:
    """Two beats of upbeat, then bars of three."""
    grid = grid_of_beats(0.5 * np.arange(14), [2, 3, 1, 2, 3, 1, 2, 3, 1, 2, 3, 1, 2, 3])
    assert grid.tempo_map.seconds(0) == pytest.approx(1.0, abs=1e-9)
    assert grid.meter_map.meter_at(Fraction(0)).beats_per_bar == 3
    assert grid.end_beat == 12


def test_what_shares_beats_and_bars_with_the_believed_reading_adds_to_its_belief(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Bars of eight whose lines are all bar lines of the four agree with it; bars of four that
    begin elsewhere share its beats only, and another train of beats shares neither."""
    pulse = SimpleNamespace(exact=True)
    here, other = (SimpleNamespace(bpm=bpm, pulse=pulse) for bpm in (120.0, 90.0))
    told = [(here, 4, 0, 0.4), (here, 8, 4, 0.2), (here, 8, 6, 0.1), (here, 4, 2, 0.15),
            (here, 3, 0, 0.05), (other, 4, 0, 0.1)]  # fmt: skip
    readings = [
        SimpleNamespace(train=train, beats_per_bar=beats, first_downbeat=first, numbers=[share])
        for train, beats, first, share in told
    ]
    monkeypatch.setattr(choice, "beat_trains", lambda *_: [here, other])
    monkeypatch.setattr(
        choice, "readings_of", lambda train, _: [r for r in readings if r.train is train]
    )
    weights = SimpleNamespace(belief=lambda numbers: numbers[:, 0])
    found = choice.choose_reading([pulse], None, weights)  # type: ignore[arg-type]
    assert found.reading is readings[0]
    assert found.beat_belief == pytest.approx(0.9, abs=1e-12)
    assert found.bar_belief == pytest.approx(0.6, abs=1e-12)
    assert [(one.bpm, one.relation) for one in found.alternatives] == [
        (90.0, "other"), (240.0, "double"), (60.0, "half"),
    ]  # fmt: skip


def test_the_same_beats_of_another_pulse_agree_with_the_believed_ones() -> None:
    """Beats 10 ms off are the same ones, at twice the tempo or half a beat off they are not."""
    times_s = 0.5 * np.arange(40)
    best = SimpleNamespace(pulse=SimpleNamespace(), times_s=times_s)
    twice_s = 0.25 * np.arange(80)
    for found_s, same in (
        (times_s + 0.01, True),
        (times_s + 0.25, False),
        (twice_s, False),
        (times_s[::2], False),
    ):
        train = SimpleNamespace(pulse=SimpleNamespace(), times_s=found_s)
        assert choice._beats_agree(train, best) is same  # type: ignore[arg-type]
    train = SimpleNamespace(pulse=SimpleNamespace(), times_s=times_s[1:] + 0.01)
    whole = SimpleNamespace(train=best, beats_per_bar=4, first_downbeat=1)
    for first, same in ((0, True), (1, False)):
        reading = SimpleNamespace(train=train, beats_per_bar=4, first_downbeat=first)
        assert choice._bars_agree(reading, whole) is same  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("ratio", "words"),
    [(2.0, "double"), (0.5, "half"), (3.0, "triple"), (1 / 3, "third"), (1.5, "three halves"),
     (2 / 3, "two thirds"), (2.07, "double"), (2.1, "other")],
)  # fmt: skip
def test_tempi_within_four_per_cent_are_one(ratio: float, words: str) -> None:
    """Accuracy 1 counts a tempo within 4 %: Gouyon et al., IEEE TASLP 14 (2006) 1832 (from
    memory)."""
    assert relation_of(ratio) == words


def test_the_most_believed_beats_win_though_their_bars_are_in_doubt() -> None:
    """Beats at 120 with four likely bars are believed more than beats at 240 with one."""
    slow, fast = (
        SimpleNamespace(pulse=SimpleNamespace(), times_s=gap_s * np.arange(80))
        for gap_s in (0.5, 0.25)
    )
    readings = [
        SimpleNamespace(train=slow, beats_per_bar=4, first_downbeat=first) for first in range(4)
    ]
    readings.append(SimpleNamespace(train=fast, beats_per_bar=4, first_downbeat=0))
    belief = np.array([0.1, 0.15, 0.2, 0.15, 0.4])
    best = choice._most_believed(readings, belief)  # type: ignore[arg-type]
    assert (best.train, best.first_downbeat) == (slow, 2)


def test_beats_that_change_their_tempo_agree_with_the_same_beats_of_another_pulse() -> None:
    """A tempo told as a median lies on either side of the change; the pace overall does not."""
    times_s = np.cumsum([0.5] * 39 + [0.4] * 41)
    one, other = (
        SimpleNamespace(pulse=SimpleNamespace(), times_s=times, bpm=60 / np.median(np.diff(times)))
        for times in (times_s[:77], times_s[3:] + 0.01)
    )
    assert abs(one.bpm / other.bpm - 1) > 0.1
    assert choice._beats_agree(one, other)  # type: ignore[arg-type]
