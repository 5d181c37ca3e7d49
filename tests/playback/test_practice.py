"""Passages, count-ins, the ladder of speeds and the calibration."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.playback.calibrate import (
    FEWEST_TAPS,
    WARM_UP_TAPS,
    Calibration,
    Calibrator,
    calibration_of,
)
from composer.playback.device import HandDevice
from composer.playback.practice import (
    Passage,
    SpeedLadder,
    clicks,
    count_in,
    count_of_eight,
    from_here,
    marked_transition,
    nearest_count_beat,
    phrase_passage,
    run_up,
    transition_passage,
)
from composer.score.passes import Transition
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.meter import Meter, MeterChange, MeterMap
from composer.timing.tempo_map import Knot, TempoMap, steady_tempo_map

FOUR = MusicGrid(
    steady_tempo_map(120),
    Fraction(64),
    phrases=(Phrase(Fraction(0), "A"), Phrase(Fraction(32), "B")),
)
SIX_EIGHT = MusicGrid(
    steady_tempo_map(90), Fraction(64), MeterMap((MeterChange(Fraction(0), Meter(6, 8)),))
)
THREE_THEN_FOUR = MusicGrid(
    TempoMap((Knot(Fraction(0), 0.0), Knot(Fraction(12), 12.0), Knot(Fraction(64), 38.0))),
    Fraction(64),
    MeterMap((MeterChange(Fraction(0), Meter(3, 4)), MeterChange(Fraction(12), Meter(4, 4)))),
)


def numbers(counted):
    return [count.number for count in counted.counts]


def test_two_bars_of_four_before_the_top():
    counted = count_in(FOUR, Fraction(0), 2)
    assert numbers(counted) == [1, 2, 3, 4, 1, 2, 3, 4]
    assert counted.length_s == 4.0
    assert [c.before_s for c in counted.counts] == [4.0, 3.5, 3.0, 2.5, 2.0, 1.5, 1.0, 0.5]
    assert [c.accented for c in counted.counts] == [True, False, False, False] * 2


def test_starting_in_the_middle_of_a_bar_the_count_leads_up_to_it():
    assert numbers(count_in(FOUR, Fraction(18), 1)) == [1, 2, 3, 4, 1, 2]


def test_six_eight_is_counted_in_two():
    assert numbers(count_in(SIX_EIGHT, Fraction(8), 2)) == [1, 2, 1, 2]


def test_the_count_has_the_metre_and_tempo_of_what_follows():
    """Bar 5 begins on beat 12, in four at 120; before it the music is in three at 60."""
    counted = count_in(THREE_THEN_FOUR, Fraction(12), 1)
    assert numbers(counted) == [1, 2, 3, 4]
    assert counted.length_s == 2.0
    assert numbers(count_in(THREE_THEN_FOUR, Fraction(6), 1)) == [1, 2, 3]


def test_no_bars_is_no_count():
    assert count_in(FOUR, Fraction(4), 0).length_s == 0


def test_a_start_between_counts_is_led_up_to_on_the_counts():
    counted = run_up(FOUR, Fraction(5, 2), Fraction(2))
    assert numbers(counted) == [2, 3]
    assert [c.before_s for c in counted.counts] == [0.75, 0.25]


@given(st.integers(0, 63), st.integers(1, 3))
def test_every_count_in_begins_on_a_downbeat_and_holds_whole_bars(start, bars):
    counted = count_in(FOUR, Fraction(start), bars)
    assert counted.counts[0].accented
    assert len(counted.counts) == bars * 4 + start % 4
    assert numbers(counted)[-1] == (start - 1) % 4 + 1


def test_in_bars_of_four_what_is_counted_aloud_are_eights_of_the_phrase():
    """One bar before the second half of an eight is "one two three four", before an eight
    "five six seven eight" (common practice, no source). Phrase B starts on beat 32."""
    assert [c.eight for c in count_in(FOUR, Fraction(32), 1).counts] == [5, 6, 7, 8]
    assert [c.eight for c in count_in(FOUR, Fraction(36), 1).counts] == [1, 2, 3, 4]
    assert [c.eight for c in count_in(FOUR, Fraction(0), 2).counts] == list(range(1, 9))
    assert [c.eight for c in count_in(SIX_EIGHT, Fraction(8), 2).counts] == [1, 2, 1, 2]
    assert [count_of_eight(FOUR, Fraction(b)) for b in (-1, 0, 7, 8, 33)] == [8, 1, 8, 1, 2]


def test_passages_name_their_stretch():
    assert phrase_passage(FOUR, 1) == Passage(Fraction(32), Fraction(64), "B")
    here = from_here(FOUR, Fraction(10))
    assert (here.start_beat, here.end_beat, here.loops) == (10, 64, False)
    one = transition_passage(FOUR, Fraction(16), "a into b", before_beats=Fraction(8))
    assert (one.start_beat, one.end_beat, one.loops) == (8, 20, True)


def test_a_transition_near_either_end_keeps_to_the_music():
    assert transition_passage(FOUR, Fraction(2), "first").start_beat == 0
    assert transition_passage(FOUR, Fraction(63), "last").end_beat == 64
    with pytest.raises(ValueError, match="ends after"):
        Passage(Fraction(4), Fraction(4), "nothing")


def test_clicks_fall_on_the_beats_and_know_the_downbeats():
    found = clicks(THREE_THEN_FOUR, 9, Fraction(17))
    assert [t for t, _ in found] == [9, 10, 11, 12, 12.5, 13, 13.5, 14]
    assert [down for _, down in found] == [True, False, False, True, False, False, False, True]


def test_the_cursor_starts_on_the_beat_it_stands_in():
    assert nearest_count_beat(FOUR, 1.0) == 2
    assert nearest_count_beat(FOUR, 1.49) == 2
    assert nearest_count_beat(FOUR, -0.1) == -1


@pytest.mark.parametrize(
    ("percent", "marks", "following"),
    [
        (70, [], 70),
        (70, [True, True], 70),
        (70, [True, True, True], 75),
        (70, [False, True, True, True], 75),
        (70, [True, True, False], 70),
        (98, [True] * 3, 100),
        (100, [True] * 9, 100),
        (110, [True] * 3, 110),
    ],
)
def test_the_speed_rises_a_step_after_three_clean_passes(percent, marks, following):
    assert SpeedLadder().next_percent(percent, marks) == following


def test_a_mark_is_for_the_transition_heard_last():
    a, b = (Transition("Ada", Fraction(beat), "x", "y") for beat in (8, 16))
    passage = Passage(Fraction(4), Fraction(20), "both")

    def place(beat, come_round):
        return marked_transition([a, b], passage, beat, come_round=come_round)

    assert place(17.5, False) is b
    assert place(9.0, False) is a
    assert place(5.0, False) is None
    assert place(5.0, True) is b
    assert place(3.0, True) is b
    assert place(8.0, True) is a


def test_as_a_loop_comes_round_the_mark_is_still_for_the_pass_before():
    """A transition on the very first beat: heard there for the first time it is the one meant,
    once the loop has come round the last of the pass that has just ended."""
    a, b = (Transition("Ada", Fraction(beat), "x", "y") for beat in (4, 16))
    passage = Passage(Fraction(4), Fraction(20), "both")
    assert marked_transition([a, b], passage, 4.0, come_round=False) is a
    assert marked_transition([a, b], passage, 4.0, come_round=True) is b
    assert marked_transition([a, b], passage, 4.1, come_round=True) is a


# -- calibration ----------------------------------------------------------------------------------


@given(st.floats(-50, 300), st.integers(0, 9))
def test_the_delay_is_found_whatever_the_taps_scatter(delay_ms, seed):
    """Taps scatter by 20 ms, lead by 50 ms, and one is wild; the offset is found to 15 ms."""
    random = np.random.default_rng(seed)
    clicks_s = np.arange(1, 60) * 0.6
    taps_s = clicks_s[:30] + (delay_ms - 50) / 1000 + random.normal(0, 0.02, 30)
    taps_s[11] += 0.17
    found = calibration_of(taps_s, clicks_s)
    if delay_ms - 50 > 215:  # nearer than 40 % of the interval is what can be told apart
        return
    assert found is not None
    assert abs(found.offset_ms - delay_ms) < 15


def test_perfect_taps_on_the_sound_measure_the_lead():
    """Who taps with the click at no delay has, by the rule, a device that lags by her lead."""
    clicks_s = np.arange(20) * 0.5
    found = calibration_of(clicks_s, clicks_s, lead_ms=50)
    assert found is not None
    assert (round(found.offset_ms, 6), found.spread_ms, found.taps) == (50, 0, 18)
    assert found.settled


@pytest.mark.parametrize(
    ("spread_ms", "taps", "settled"),
    [(15, 9, True), (15.1, 9, False), (20, 16, True), (25, 16, False)],
)
def test_the_offset_is_settled_when_its_mean_is_known_to_5_ms(spread_ms, taps, settled):
    """The error of a mean is the spread over the root of the count (statistics)."""
    assert Calibration(100.0, spread_ms, taps).settled is settled


def test_too_few_taps_give_no_answer_yet():
    clicks_s = np.arange(20) * 0.5
    assert calibration_of([], clicks_s) is None
    assert calibration_of(clicks_s[: FEWEST_TAPS + WARM_UP_TAPS - 1], clicks_s) is None
    assert calibration_of(clicks_s + 0.25, clicks_s) is None
    wild = clicks_s[:10] + np.array([0, 0, 0.1, -0.1, 0.1, -0.1, 0.15, -0.15, 0.1, -0.1])
    found = calibration_of(wild, clicks_s)
    assert found is not None
    assert not found.settled


def test_tapping_along_gives_the_delay_of_the_device():
    """A device 180 ms late and a performer who taps on what she hears, 50 ms early."""
    now_s, device = [0.0], HandDevice()
    calibrator = Calibrator(lambda *_: device, now=lambda: now_s[0])
    calibrator.start()
    found = None
    for tick in range(1, 3001):
        device.pull(441)
        now_s[0] = tick / 100
        if tick % 60 == 13 and tick > 60:  # 130 ms after each click as the clock has it
            found = calibrator.tap()
    assert found is not None
    assert abs(found.offset_ms - 180) < 12
    assert found.settled
