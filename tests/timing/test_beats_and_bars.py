"""Beats are exact, bars count from one, and only the tempo map knows seconds."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.timing.beats import (
    BeatSpan,
    beats_text,
    beats_words,
    exact_beats,
    least_common_beats,
    rate_words,
)
from composer.timing.grid import MusicGrid, Phrase, clock_text
from composer.timing.meter import FOUR_FOUR, Meter, MeterChange, MeterMap, meter_from_text
from composer.timing.tempo_map import Knot, TempoMap, steady_tempo_map

FRACTIONS = st.fractions(min_value=-1000, max_value=1000, max_denominator=96)
POSITIVE = st.fractions(min_value=Fraction(1, 12), max_value=64, max_denominator=12)


@given(FRACTIONS)
def test_beats_survive_being_written_and_read(beats: Fraction) -> None:
    assert exact_beats(beats_text(beats)) == beats


@pytest.mark.parametrize("wrong", [0.5, None, True, 1e9])
def test_a_float_is_no_beat(wrong: object) -> None:
    """Fraction(0.1) is not 1/10: binary floating point, IEEE 754."""
    with pytest.raises(TypeError):
        exact_beats(wrong)


@pytest.mark.parametrize("wrong", ["", "one", "1/0", "1//2"])
def test_text_that_is_no_fraction_is_refused(wrong: str) -> None:
    with pytest.raises(ValueError, match="fraction"):
        exact_beats(wrong)


def test_words_for_beats() -> None:
    assert beats_words(Fraction(7, 2)) == "3 1/2 beats"
    assert beats_words(Fraction(1)) == "1 beat"
    assert beats_words(Fraction(0)) == "0 beats"
    assert beats_words(Fraction(-4)) == "-4 beats"


def test_words_for_rates() -> None:
    assert rate_words(Fraction(1)) == "1 downbeat a beat"
    assert rate_words(Fraction(2)) == "2 downbeats a beat"
    assert rate_words(Fraction(1, 2)) == "1 downbeat in 2 beats"
    assert rate_words(Fraction(3, 2)) == "3 downbeats in 2 beats"


def test_touching_spans_do_not_intersect() -> None:
    first = BeatSpan(Fraction(0), Fraction(4))
    assert not first.intersects(BeatSpan(Fraction(4), Fraction(4)))
    assert first.intersects(BeatSpan(Fraction(7, 2), Fraction(4)))
    assert first.contains(Fraction(0))
    assert not first.contains(Fraction(4))


@pytest.mark.parametrize("length", [Fraction(0), Fraction(-1)])
def test_a_span_has_a_length(length: Fraction) -> None:
    with pytest.raises(ValueError, match="positive"):
        BeatSpan(Fraction(0), length)


@pytest.mark.parametrize(
    ("lengths", "together"),
    [((3, 4), 12), ((3, 5), 15), ((12, 16), 48), ((Fraction(3, 2), 4), 12), ((2,), 2)],
)
def test_loops_return_together_at_the_least_common_multiple(lengths, together) -> None:
    """Arithmetic: 3 and 4 meet at 12, 3 and 5 at 15, 12 and 16 at 48."""
    assert least_common_beats(Fraction(x) for x in lengths) == together


@given(st.lists(POSITIVE, min_size=1, max_size=4))
def test_the_common_return_is_a_whole_number_of_every_loop(lengths: list[Fraction]) -> None:
    together = least_common_beats(lengths)
    assert all((together / length).denominator == 1 for length in lengths)


def test_bars_and_counts_start_from_one() -> None:
    """Musical practice: the first downbeat is bar 1, beat 1; an upbeat stands in bar 0."""
    meters = MeterMap()
    assert str(meters.position(Fraction(0))) == "bar 1, count 1"
    assert str(meters.position(Fraction(7))) == "bar 2, count 4"
    assert str(meters.position(Fraction(9, 2))) == "bar 2, count 1 + 1/2"
    assert meters.position(Fraction(-1)).bar == 0
    assert meters.position(Fraction(-1)).count == 4
    assert meters.bar_start_beat(1) == 0
    assert meters.bar_start_beat(2) == 4
    assert meters.bar_start_beat(0) == -4


@given(st.integers(min_value=-5, max_value=400), st.sampled_from([2, 3, 4, 5, 7]))
def test_a_bar_begins_where_its_number_says(bar: int, counts: int) -> None:
    meters = MeterMap((MeterChange(Fraction(0), Meter(counts, 4)),))
    position = meters.position(meters.bar_start_beat(bar))
    assert (position.bar, position.count) == (bar, 1)


def test_bars_go_on_counting_across_a_change_of_metre() -> None:
    meters = MeterMap(
        (
            MeterChange(Fraction(0), FOUR_FOUR),
            MeterChange(Fraction(8), Meter(3, 4)),
            MeterChange(Fraction(13), FOUR_FOUR),
        )
    )
    assert meters.position(Fraction(8)).bar == 3
    assert meters.position(Fraction(11)).bar == 4
    assert meters.position(Fraction(13)).bar == 5, "a bar cut short keeps its number"
    assert meters.bar_length_beats(4) == 2
    assert meters.bar_start_beat(5) == 13
    assert meters.is_downbeat(Fraction(17))
    assert not meters.is_downbeat(Fraction(16))


@pytest.mark.parametrize(
    ("text", "beats", "quarters"),
    [("4/4", 4, 1), ("3/4", 3, 1), ("6/8", 2, Fraction(3, 2)), ("6/8 in 6", 6, Fraction(1, 2)),
     ("12/8", 4, Fraction(3, 2)), ("7/8", 7, Fraction(1, 2)), ("2/2", 2, 2)],
)  # fmt: skip
def test_compound_metres_are_counted_in_dotted_beats(text, beats, quarters) -> None:
    """Common practice of conducting: 6/8 in two, 12/8 in four, unless it is slow."""
    meter = meter_from_text(text)
    assert meter.beats_per_bar == beats
    assert meter.quarters_per_beat == quarters
    assert str(meter) == text


@pytest.mark.parametrize("text", ["", "4", "4/3", "0/4", "x/4", "6/8 in 5", "99/4"])
def test_what_is_no_metre_is_refused_in_one_line(text: str) -> None:
    with pytest.raises(ValueError, match="metre") as caught:
        meter_from_text(text)
    assert "\n" not in str(caught.value)


def test_32_beats_last_16_s_at_120_and_15_s_at_128() -> None:
    """Four eights: exact arithmetic, as aerobics teaching texts count a phrase."""
    assert steady_tempo_map(120).seconds(32) == pytest.approx(16, abs=1e-12)
    assert steady_tempo_map(128, 0.35).seconds(32) == pytest.approx(15.35, abs=1e-12)


@given(
    st.lists(st.floats(min_value=0.2, max_value=2.0), min_size=2, max_size=40),
    st.floats(min_value=-20, max_value=100),
)
def test_beats_and_seconds_undo_each_other(intervals: list[float], beat: float) -> None:
    times = np.cumsum([0.5, *intervals])
    tempo = TempoMap(tuple(Knot(Fraction(i), float(t)) for i, t in enumerate(times)))
    assert tempo.beat_at(float(tempo.seconds_of(beat))) == pytest.approx(beat, abs=1e-9)


def test_a_tempo_map_follows_its_knots_and_goes_on_beyond() -> None:
    tempo = TempoMap((Knot(Fraction(0), 1.0), Knot(Fraction(4), 3.0), Knot(Fraction(8), 7.0)))
    assert tempo.seconds(2) == pytest.approx(2.0, abs=1e-12)
    assert tempo.seconds(6) == pytest.approx(5.0, abs=1e-12)
    assert tempo.seconds(-2) == pytest.approx(0.0, abs=1e-12)
    assert tempo.seconds(10) == pytest.approx(9.0, abs=1e-12)
    assert tempo.bpm_at(0) == pytest.approx(120, abs=1e-9)
    assert tempo.bpm_at(4) == pytest.approx(60, abs=1e-9)
    assert not tempo.is_steady


@pytest.mark.parametrize(
    "knots",
    [
        (),
        (Knot(Fraction(0), 0.0),),
        (Knot(Fraction(0), 0.0), Knot(Fraction(0), 1.0)),
        (Knot(Fraction(0), 1.0), Knot(Fraction(1), 1.0)),
        (Knot(Fraction(0), 0.0), Knot(Fraction(1), float("nan"))),
    ],
)
def test_a_tempo_map_that_does_not_rise_is_refused(knots) -> None:
    with pytest.raises(ValueError, match="knot"):
        TempoMap(knots)


def test_phrases_follow_each_other_and_the_last_ends_with_the_music() -> None:
    grid = MusicGrid(
        steady_tempo_map(120),
        Fraction(48),
        phrases=(Phrase(Fraction(0), "intro"), Phrase(Fraction(16), "verse")),
    )
    assert grid.phrase_span(0) == BeatSpan(Fraction(0), Fraction(16))
    assert grid.phrase_span(1) == BeatSpan(Fraction(16), Fraction(32))
    assert grid.phrase_index_at(Fraction(-1)) is None
    assert grid.phrase_index_at(Fraction(16)) == 1
    assert grid.bar_count == 12
    assert grid.place_text(Fraction(16)) == "bar 5, count 1 (0:08.0)"


@pytest.mark.parametrize(
    ("time_s", "text"),
    [(0, "0:00.0"), (59.96, "1:00.0"), (64.23, "1:04.2"), (-0.5, "-0:00.5"),
     (-0.04, "0:00.0"), (-0.06, "-0:00.1")],
)  # fmt: skip
def test_clock_text_rounds_before_it_splits(time_s: float, text: str) -> None:
    assert clock_text(time_s) == text
