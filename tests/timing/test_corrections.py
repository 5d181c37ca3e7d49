"""Corrections of the grid. Expected values are arithmetic on beats and seconds, by hand."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.timing.corrections import (
    Correction,
    apply_correction,
    apply_corrections,
    lock_of,
)
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.meter import Meter
from composer.timing.phrase_changes import (
    add_phrase,
    lock_phrase,
    move_phrase,
    remove_phrase,
    rename_phrase,
)
from composer.timing.regrid import (
    bars_from_here,
    double_tempo,
    downbeat_here,
    fit_to_taps,
    halve_tempo,
    main_bpm,
    set_meter,
    shift_downbeat,
    shift_time,
    tempo_level,
)
from composer.timing.tempo_map import Knot, TempoMap, steady_tempo_map

THREE_FOUR = Meter(3, 4)


def grid(bpm: float = 120, first_s: float = 1.0, beats: int = 128) -> MusicGrid:
    """120 bpm puts beat b at 1 + b/2 seconds."""
    return MusicGrid(
        steady_tempo_map(bpm, first_s),
        Fraction(beats),
        phrases=(Phrase(Fraction(0), "A"), Phrase(Fraction(32), "B"), Phrase(Fraction(64), "A'")),
    )


def phrase_times(g: MusicGrid) -> list[float]:
    return [g.tempo_map.seconds(p.start_beat) for p in g.phrases]


def test_shifting_the_downbeat_moves_beat_0_and_the_phrases_with_it():
    moved = shift_downbeat(grid(), 1)
    assert moved.tempo_map.seconds(0) == pytest.approx(1.5, abs=1e-12)
    assert phrase_times(moved) == pytest.approx([1.5, 17.5, 33.5], abs=1e-9)


def test_a_half_beat_shift_puts_beats_on_the_former_off_beats():
    moved = shift_downbeat(grid(), Fraction(1, 2))
    assert moved.tempo_map.seconds(0) == pytest.approx(1.25, abs=1e-12)


def test_a_locked_phrase_keeps_its_time_when_the_downbeat_moves():
    moved = shift_downbeat(lock_phrase(grid(), 1), 1)
    assert phrase_times(moved)[1] == pytest.approx(17.0, abs=1e-9)


@given(by=st.fractions(-8, 8, max_denominator=4))
def test_shifting_there_and_back_changes_nothing(by):
    assert shift_downbeat(shift_downbeat(grid(beats=256), by), -by) == grid(beats=256)


def test_double_and_half_tempo_keep_every_phrase_at_its_time():
    for change, bpm in ((double_tempo, 240), (halve_tempo, 60)):
        changed = change(grid())
        assert changed.tempo_map.bpm_at(0) == pytest.approx(bpm, abs=1e-9)
        assert phrase_times(changed) == pytest.approx([1.0, 17.0, 33.0], abs=1e-9)
    assert halve_tempo(double_tempo(grid())) == grid()


def test_double_and_half_tempo_keep_every_change_of_metre_at_its_time():
    """Three-four from beat 32, at 17 s: beat 64 of twice as many, 16 of half as many."""
    changed = set_meter(grid(), THREE_FOUR, at=32)
    for change, beat in ((double_tempo, 64), (halve_tempo, 16)):
        made = change(changed)
        assert [one.start_beat for one in made.meter_map.changes] == [0, beat]
        assert made.tempo_map.seconds(beat) == pytest.approx(17.0, abs=1e-9)


@pytest.mark.parametrize(
    ("heard", "wanted", "becomes"), [(120, 64, 60), (60, 124, 120), (87, 174, 174)]
)
def test_the_tempo_level_nearest_to_a_wish_is_a_doubling_or_halving(heard, wanted, becomes):
    assert main_bpm(tempo_level(grid(heard), wanted)) == pytest.approx(becomes, abs=1e-9)


def test_an_impossible_tempo_is_refused():
    with pytest.raises(ValueError, match="between 20 and 400"):
        tempo_level(grid(), 4000)


def test_three_four_over_a_passage_then_the_old_metre_again():
    """From beat 32 to 44 four bars of three: 8 bars of four, 4 of three, then four again."""
    changed = set_meter(grid(), THREE_FOUR, at=32, until=44).meter_map
    assert [changed.bar_start_beat(bar) for bar in (8, 9, 10, 12, 13, 14)] == [
        28,
        32,
        35,
        41,
        44,
        48,
    ]
    assert changed.meter_at(Fraction(43)) == THREE_FOUR
    assert changed.meter_at(Fraction(44)) == Meter(4, 4)


def test_a_metre_before_beat_0_or_backwards_is_refused():
    with pytest.raises(ValueError, match="beat 0"):
        set_meter(grid(), THREE_FOUR, at=-4)
    with pytest.raises(ValueError, match="after it begins"):
        set_meter(grid(), THREE_FOUR, at=8, until=8)


@pytest.mark.parametrize("beat", range(12))
def test_downbeat_here_makes_the_beat_a_downbeat_by_the_shorter_way(beat):
    """The beat sounds at 1 + beat/2 s; afterwards a downbeat sounds then, beat 0 moved by <= 2."""
    moved = downbeat_here(grid(), beat)
    time_s = 1 + beat / 2
    now = Fraction(round(moved.tempo_map.beat_at(time_s)))
    assert moved.meter_map.is_downbeat(now)
    assert abs(moved.tempo_map.seconds(0) - 1.0) <= 1.0 + 1e-9


def test_bars_from_here_cut_the_bar_before_short():
    changed = bars_from_here(grid(), 34)
    starts = [changed.meter_map.bar_start_beat(bar) for bar in (8, 9, 10, 11)]
    assert starts == [28, 32, 34, 38]


def test_shifting_time_moves_every_beat_alike():
    assert shift_time(grid(), 0.025).tempo_map.seconds(8) == pytest.approx(5.025, abs=1e-12)


def test_phrases_are_added_moved_renamed_and_removed():
    changed = add_phrase(grid(), 48, "break")
    assert [p.name for p in changed.phrases] == ["A", "B", "break", "A'"]
    assert changed.phrases[2].locked
    changed = move_phrase(changed, 2, 52)
    assert changed.phrases[2].start_beat == 52
    assert rename_phrase(changed, 0, "intro").phrases[0].name == "intro"
    assert len(remove_phrase(changed, 1).phrases) == 3
    with pytest.raises(ValueError, match="past its neighbour"):
        move_phrase(changed, 1, 64)


def taps_at(bpm: float, start_s: float, count: int, jitter_s: float = 0.0) -> list[float]:
    noise = np.random.default_rng(5).normal(0, jitter_s, count) if jitter_s else np.zeros(count)
    return (start_s + 60 / bpm * np.arange(count) + noise).tolist()


def test_taps_over_the_whole_track_set_tempo_and_phase():
    """128 bpm from 2 s: 40 taps with 20 ms of scatter give the tempo within 0.2 %."""
    fitted = fit_to_taps(grid(), taps_at(128, 2.0, 40, 0.020), whole=True)
    assert fitted.tempo_map.bpm_at(0) == pytest.approx(128, abs=0.3)
    assert (fitted.tempo_map.beat_at(2.0) + 0.5) % 1 == pytest.approx(0.5, abs=0.04)


def test_taps_over_a_passage_leave_the_rest_alone():
    """At 16 to 24 s the music ran faster; 150 bpm tapped there gives 20 beats in 8 s, not 16."""
    fitted = fit_to_taps(grid(), taps_at(150, 16.0, 21))
    assert fitted.tempo_map.seconds(10) == pytest.approx(6.0, abs=1e-9)
    assert fitted.tempo_map.bpm_at(35) == pytest.approx(150, abs=1e-6)
    assert fitted.tempo_map.beat_at(24.0) - fitted.tempo_map.beat_at(16.0) == pytest.approx(20)
    assert fitted.end_beat == 128 + 4
    assert phrase_times(fitted)[2] == pytest.approx(33.0, abs=0.2)


def test_metres_after_a_passage_that_is_counted_anew_keep_their_time():
    """As above, four beats more are counted before three-four begins on beat 64, at 33 s."""
    fitted = fit_to_taps(set_meter(grid(), THREE_FOUR, at=64), taps_at(150, 16.0, 21))
    assert [change.start_beat for change in fitted.meter_map.changes] == [0, 68]
    assert fitted.tempo_map.seconds(68) == pytest.approx(33.0, abs=0.2)


@pytest.mark.parametrize("late_s", [-0.04, 0.03])
@pytest.mark.parametrize("start_beat", [8, 80])
def test_taps_beside_the_beat_move_no_beat_outside_the_passage(start_beat, late_s):
    """The map's last knot lies at beat 64, before the later passage or after the earlier one."""
    fitted = fit_to_taps(grid(), taps_at(120, 1 + start_beat / 2 + late_s, 17))
    for beat in range(128):
        inside = start_beat <= beat <= start_beat + 16
        wanted = 1 + beat / 2 + (late_s if inside else 0.0)
        assert fitted.tempo_map.seconds(beat) == pytest.approx(wanted, abs=1e-6)


def test_a_missing_and_a_double_tap_do_no_harm():
    taps = taps_at(120, 1.0, 24)
    del taps[7]
    taps.insert(12, taps[12] - 0.02)
    assert fit_to_taps(grid(100), taps, whole=True).tempo_map.bpm_at(0) == pytest.approx(
        120, abs=0.3
    )


@pytest.mark.parametrize("lead_s", [0.02, 0.05, 0.08])
def test_early_tapping_moves_the_beats_but_not_their_distance(lead_s):
    """Taps lead by 20 to 80 ms (Repp, Psychon. Bull. Rev. 12 (2005) 969, from memory): the mean
    offset is to be corrected, not the interval."""
    fitted = fit_to_taps(grid(), taps_at(120, 1.0 - lead_s, 32), whole=True)
    assert fitted.tempo_map.seconds(0) == pytest.approx(1.0 - lead_s, abs=1e-6)
    assert fitted.tempo_map.bpm_at(0) == pytest.approx(120, abs=1e-6)


@pytest.mark.parametrize("taps", [[], [1.0, 1.5, 2.0], [1.0, 1.01, 1.02, 1.03], [0, 20, 40, 60]])
def test_taps_that_make_no_tempo_are_refused(taps):
    with pytest.raises(ValueError):
        fit_to_taps(grid(), taps)


CORRECTIONS = (
    Correction("tempo level", bpm=128),
    Correction("downbeat", time_s=1.5),
    Correction("metre", time_s=17.5, meter=THREE_FOUR),
    Correction("phrase", time_s=25.1, name="turn"),
    Correction("no phrase", time_s=33.4),
)


def test_records_apply_alike_to_the_wrong_octave_of_the_same_music():
    """Heard at 240, 120 or 60, the corrected downbeats are the same moments."""
    right = apply_corrections(grid(120), CORRECTIONS[:2])
    wrong = apply_corrections(double_tempo(grid(120)), CORRECTIONS[:2])
    for bar in (1, 2, 9):
        beat_right, beat_wrong = (g.meter_map.bar_start_beat(bar) for g in (right, wrong))
        assert right.tempo_map.seconds(beat_right) == pytest.approx(
            wrong.tempo_map.seconds(beat_wrong), abs=1e-9
        )


def test_applying_the_records_again_changes_nothing_further():
    once = apply_corrections(grid(), CORRECTIONS)
    assert apply_corrections(once, CORRECTIONS) == once


def test_a_new_phrase_begins_on_the_nearest_bar_line():
    """25.1 s is beat 48.2; bar 13 begins on beat 48, at 25 s; 26.6 s is beat 51.2, near bar 14."""
    for time_s, beat in ((25.1, 48), (25.9, 48), (26.6, 52)):
        changed = apply_correction(grid(), Correction("phrase", time_s=time_s, name="turn"))
        assert next(p for p in changed.phrases if p.name == "turn").start_beat == beat


def test_locked_beats_stay_where_they_were_through_another_analysis():
    """Locked at 120 bpm from 9 to 17 s; a later analysis 30 ms off must not move them."""
    record = lock_of(grid(), Fraction(16), Fraction(32))
    other = MusicGrid(
        TempoMap((Knot(Fraction(0), 1.03), Knot(Fraction(128), 65.09))), Fraction(128)
    )
    locked = apply_correction(other, record)
    for beat in range(16, 33):
        assert locked.tempo_map.seconds(beat) == pytest.approx(1 + beat / 2, abs=1e-6)
    assert locked.tempo_map.seconds(0) == pytest.approx(1.03, abs=1e-9)


def test_a_removed_phrase_stays_if_it_is_locked():
    held = replace(grid(), phrases=tuple(replace(p, locked=True) for p in grid().phrases))
    assert apply_correction(held, Correction("no phrase", time_s=17.0)) == held


@pytest.mark.parametrize(("off_beats", "stays"), [(7, False), (-7, False), (8, True), (-8, True)])
def test_the_phrase_that_begins_within_two_bars_joins_the_one_before(off_beats, stays):
    """B begins on beat 32, at 17 s; two bars of four are eight beats of half a second."""
    told = Correction("no phrase", time_s=17.0 + off_beats / 2)
    names = [phrase.name for phrase in apply_correction(grid(), told).phrases]
    assert names == (["A", "B", "A'"] if stays else ["A", "A'"])


def test_a_correction_of_the_metre_needs_one():
    with pytest.raises(ValueError, match="needs a metre"):
        apply_correction(grid(), Correction("metre", time_s=0.0))
