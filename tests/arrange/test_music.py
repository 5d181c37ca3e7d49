"""Corrections of the music under a routine. Expected values are arithmetic, by hand."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.arrange import music
from composer.arrange.moved import correction_words, moved_lines, moved_words
from composer.errors import ComposerError
from composer.score.routine import Part, Performer, Placement, Routine, TrackRef
from composer.timing.beats import BeatSpan
from composer.timing.corrections import Correction
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.meter import Meter
from composer.timing.regrid import double_tempo, shift_downbeat
from composer.timing.tempo_map import Knot, TempoMap


def grid_at(bpm: float = 120.0, first_s: float = 1.0, beats: int = 128) -> MusicGrid:
    """120 puts beat b at 1 + b/2 seconds."""
    return MusicGrid(
        TempoMap(
            (Knot(Fraction(0), first_s), Knot(Fraction(beats), first_s + 60 * beats / bpm)),
        ),
        Fraction(beats),
        phrases=(
            Phrase(Fraction(0), "A"),
            Phrase(Fraction(32), "B"),
            Phrase(Fraction(64), "A'"),
        ),
    )


def routine_on(grid: MusicGrid, *at_beats: int) -> Routine:
    moves = tuple(Placement(BeatSpan(Fraction(b), Fraction(8)), "extension") for b in at_beats)
    return Routine(
        "Piece", TrackRef("piece.ogg"), grid, (Performer("Wren"),), (Part("Wren", moves),)
    )


def starts_s(routine: Routine) -> list[float]:
    return [routine.grid.tempo_map.seconds(p.span.start_beat) for p in routine.parts[0].placements]


def phrase_times(routine: Routine) -> dict[str, float]:
    return {p.name: routine.grid.tempo_map.seconds(p.start_beat) for p in routine.grid.phrases}


# ------------------------------------------------------------------ placements keep their beats


@pytest.mark.parametrize(
    ("change", "times_s"),
    [
        (lambda r: music.shift_bars(r, 1), [1.5, 9.5]),
        (lambda r: music.shift_bars(r, -1), [0.5, 8.5]),
        (lambda r: music.shift_bars(r, Fraction(1, 2)), [1.25, 9.25]),
        (lambda r: music.nudge(r, 0.025), [1.025, 9.025]),
        (lambda r: music.scale_tempo(r, doubled=True), [1.0, 5.0]),
        (lambda r: music.scale_tempo(r, doubled=False), [1.0, 17.0]),
        (lambda r: music.set_bars(r, Meter(3, 4)), [1.0, 9.0]),
        (lambda r: music.tempo_from(r, Fraction(8), 60.0), [1.0, 13.0]),
    ],
)
def test_placements_keep_their_beats_and_sound_with_the_music(change, times_s):
    """Moves on beats 0 and 16 at 120 from 1 s; at 60 from beat 8 (5 s) beat 16 is 8 s later."""
    before = routine_on(grid_at(), 0, 16)
    after = change(before)
    assert after.parts == before.parts
    assert starts_s(after) == pytest.approx(times_s, abs=1e-6)


def test_what_moved_is_told_in_seconds():
    before = routine_on(grid_at(), 0, 16, 32)
    assert moved_words(before, music.shift_bars(before, 1)) == "3 moves sound 0.50 s later"
    assert moved_words(before, music.nudge(before, -0.012)) == "3 moves sound 0.012 s earlier"
    assert moved_words(before, music.set_bars(before, Meter(3, 4))) == "no move sounds elsewhere"
    slower = music.tempo_from(before, Fraction(16), 60.0)
    assert moved_words(before, slower) == "1 of 3 moves sound 8.00 s later"


def test_moves_that_move_unalike_are_told_with_the_furthest():
    """At 60 from beat 16 on, beat 24 sounds 4 s later and beat 32, in bar 9, 8 s."""
    before = routine_on(grid_at(), 0, 24, 32)
    words = moved_words(before, music.tempo_from(before, Fraction(16), 60.0))
    assert words == "2 of 3 moves sound 4.00 s later to 8.00 s later, most in bar 9"


def test_moves_left_beyond_the_music_are_told():
    """Halved, 128 beats are 64: of moves on 0, 56 and 96 the last begins after the music."""
    before = routine_on(grid_at(), 0, 56, 96)
    words = moved_words(before, music.scale_tempo(before, doubled=False))
    assert words.endswith("; 1 move now after the music")


def test_locked_phrases_left_inside_a_bar_are_told():
    locked = music.lock_phrases(routine_on(grid_at(), 0), locked=True)
    words = moved_words(locked, music.shift_bars(locked, 1))
    assert words.endswith("; 3 locked phrases kept their time, off the bar now")


def test_without_moves_the_bars_are_told():
    before = routine_on(grid_at())
    assert moved_words(before, music.shift_bars(before, 1)) == "32 bars sound 0.50 s later"


# ------------------------------------------------------------------ tempo and taps


def test_a_split_leaves_the_beats_before_it_and_ends_with_the_music():
    """From beat 64 (33 s) to 65 s at 90: 48 beats of 2/3 s instead of 64."""
    split = music.tempo_from(routine_on(grid_at()), Fraction(64), 90.0).grid
    assert [split.tempo_map.seconds(b) for b in (0, 32, 63)] == pytest.approx(
        [1.0, 17.0, 32.5], abs=1e-6
    )
    assert split.tempo_map.seconds(70) == pytest.approx(33 + 6 * 2 / 3, abs=1e-6)
    assert split.end_beat == 64 + 48


def test_taps_hold_for_a_passage_to_the_end_or_all_along():
    """Tapped at 125 (0.48 s) from 33 s; beat 96 of the old grid is at 49 s."""
    taps = (33 + 0.48 * np.arange(17)).tolist()
    base = routine_on(grid_at())
    passage, end, whole = (
        music.fit_taps(base, taps, extent).grid for extent in ("passage", "to the end", "all along")
    )
    assert passage.tempo_map.bpm_at(70) == pytest.approx(125, abs=1e-6)
    assert passage.tempo_map.seconds(passage.end_beat) == pytest.approx(65.0, abs=1e-6)
    assert passage.tempo_map.bpm_at(passage.end_beat - 4) == pytest.approx(120, abs=1e-6)
    assert end.tempo_map.bpm_at(end.end_beat - 4) == pytest.approx(125, abs=1e-6)
    assert end.tempo_map.seconds(32) == pytest.approx(17.0, abs=1e-6)
    assert whole.tempo_map.bpm_at(4) == pytest.approx(125, abs=1e-6)


def test_phrases_stay_where_they_are_heard_when_taps_change_the_beats():
    """Heard at 100 but played at 120: B began at 20.2 s. At 120 the bar line nearest is 21 s.

    From 1 s bars of 2 s begin at 1, 3, ... 19, 21: 20.2 lies nearer to 21.
    """
    base = routine_on(grid_at(bpm=100, beats=108))
    tapped = music.fit_taps(base, (1 + 0.5 * np.arange(40)).tolist(), "all along")
    assert phrase_times(base)["B"] == pytest.approx(20.2, abs=1e-9)
    assert phrase_times(tapped)["B"] == pytest.approx(21.0, abs=1e-6)
    assert tapped.grid.meter_map.is_downbeat(tapped.grid.phrases[1].start_beat)


@pytest.mark.parametrize(
    "act",
    [
        lambda r: music.fit_taps(r, [1.0, 1.5, 2.0], "passage"),
        lambda r: music.fit_taps(r, [], "to the end"),
        lambda r: music.tempo_from(r, Fraction(8), 500.0),
        lambda r: music.tempo_from(r, Fraction(126), 120.0),
        lambda r: music.nudge(r, float("nan")),
        lambda r: music.nudge(r, 61.0),
        lambda r: music.set_bars(r, Meter(3, 4), Fraction(8), Fraction(8)),
        lambda r: music.set_bars(r, Meter(3, 4), Fraction(-4)),
        lambda r: music.move_phrase(r, 1, Fraction(64)),
        lambda r: music.move_phrase(r, 2, Fraction(128)),
        lambda r: music.new_phrase(r, Fraction(32), "again"),
        lambda r: music.new_phrase(r, Fraction(-40), "before"),
        lambda r: music.scale_tempo(
            music.scale_tempo(r, doubled=True), doubled=True
        ),  # 120, 240, 480
    ],
)
def test_what_makes_no_sense_is_told_not_done(act):
    with pytest.raises(ComposerError):
        act(routine_on(grid_at()))


# ------------------------------------------------------------------ phrases


def test_the_first_phrase_joins_the_one_after_it_any_other_the_one_before():
    base = routine_on(grid_at())
    first = music.remove_phrase(base, 0).grid.phrases
    assert [(p.name, p.start_beat) for p in first] == [("B", 0), ("A'", 64)]
    second = music.remove_phrase(base, 1).grid
    assert second.phrase_span(0) == BeatSpan(Fraction(0), Fraction(64))


def test_the_only_phrase_stays():
    one = replace(grid_at(), phrases=(Phrase(Fraction(0), "A"),))
    with pytest.raises(ComposerError, match="only phrase"):
        music.remove_phrase(routine_on(one), 0)


# ------------------------------------------------------------------ records


def test_records_that_make_each_other_idle_become_one():
    base = routine_on(grid_at())
    shifted = music.shift_bars(music.shift_bars(base, 1), 1)
    assert shifted.corrections == (Correction("downbeat", time_s=2.0),)
    nudged = music.nudge(music.nudge(base, 0.005), 0.01)
    assert [c.time_s for c in nudged.corrections] == pytest.approx([0.015], abs=1e-9)
    assert music.nudge(music.nudge(base, 0.005), -0.005).corrections == ()


def test_every_record_reads_as_words():
    records = [
        Correction("tempo level", bpm=128),
        Correction("downbeat", time_s=1.5),
        Correction("bars from here", time_s=61.0),
        Correction("metre", time_s=17.5, meter=Meter(3, 4)),
        Correction("time shift", time_s=-0.02),
        Correction("taps", taps_s=(1.0, 1.5, 2.0, 2.5)),
        Correction("taps all along", taps_s=(1.0, 1.5, 2.0, 2.5)),
        Correction("phrase", time_s=25.1, name="turn"),
        Correction("no phrase", time_s=33.4),
        Correction("lock", time_s=3.0, taps_s=(3.0, 3.5)),
    ]
    words = [correction_words(record) for record in records]
    assert words[1] == "count 1 at 0:01.5"
    assert words[3] == "3/4 from 0:17.5"
    assert words[4] == "all beats 0.020 s earlier"
    assert len(set(words)) == len(words)


# ------------------------------------------------------------------ another analysis


def test_an_unchanged_analysis_changes_nothing():
    base = routine_on(grid_at(), 0, 16)
    again = music.relisten(base, grid_at())
    assert again.routine == base
    assert again.refused == ()


def test_corrections_are_applied_to_the_fresh_analysis():
    """The track really begins its bars at 1.5 s; each analysis hears them at 1 s."""
    put_right = music.set_bars(music.shift_bars(routine_on(grid_at(), 0, 16), 1), Meter(3, 4))
    again = music.relisten(put_right, grid_at()).routine
    assert again.grid == put_right.grid
    assert starts_s(again) == pytest.approx([1.5, 9.5], abs=1e-6)


def test_the_tempo_level_stays_even_if_the_fresh_analysis_hears_twice_as_many():
    base = routine_on(grid_at(), 0, 16)
    again = music.relisten(base, double_tempo(grid_at())).routine
    assert starts_s(again) == pytest.approx([1.0, 9.0], abs=1e-6)


@pytest.mark.parametrize("bars", [-2, 1, 3])
def test_bars_keep_their_numbers_when_the_fresh_first_downbeat_is_another(bars):
    """Beat 0 lies some bars of 2 s elsewhere in the fresh analysis; the music is the same."""
    fresh = shift_downbeat(grid_at(), 4 * bars)
    again = music.relisten(routine_on(grid_at(), 0, 16), fresh).routine
    assert starts_s(again) == pytest.approx([1.0, 9.0], abs=1e-6)


def test_a_metre_keeps_its_place_when_bars_are_numbered_as_before():
    """Three four from beat 32 (17 s) of a grid whose beat 0 a fresh analysis puts 2 bars later."""
    base = music.set_bars(routine_on(grid_at()), Meter(3, 4), Fraction(32))
    again = music.relisten(base, shift_downbeat(grid_at(), 8)).routine.grid
    assert again.meter_map.meter_at(Fraction(31)) == Meter(4, 4)
    assert again.meter_map.meter_at(Fraction(32)) == Meter(3, 4)
    assert again.tempo_map.seconds(32) == pytest.approx(17.0, abs=1e-6)


def test_locked_phrases_survive_with_name_and_lock_and_push_heard_ones_aside():
    """B was moved to beat 36 (19 s) and named; the fresh analysis hears it at 32 again."""
    base = music.name_phrase(music.move_phrase(routine_on(grid_at()), 1, Fraction(36)), 1, "chorus")
    fresh = replace(grid_at(), phrases=(*grid_at().phrases, Phrase(Fraction(96), "C")))
    phrases = music.relisten(base, fresh).routine.grid.phrases
    assert [(p.name, p.start_beat, p.locked) for p in phrases] == [
        ("A", 0, False),
        ("chorus", 36, True),
        ("A'", 64, False),
        ("C", 96, False),
    ]


def test_no_heard_phrase_is_added_where_all_are_locked():
    base = music.lock_phrases(routine_on(grid_at()), locked=True)
    fresh = replace(grid_at(), phrases=(Phrase(Fraction(16), "X"), Phrase(Fraction(96), "Y")))
    assert music.relisten(base, fresh).routine.grid.phrases == base.grid.phrases


def test_a_phrase_moved_far_leaves_no_heard_one_behind():
    base = music.move_phrase(routine_on(grid_at()), 1, Fraction(48))
    phrases = music.relisten(base, grid_at()).routine.grid.phrases
    assert [p.start_beat for p in phrases] == [0, 48, 64]


def test_a_removed_phrase_stays_away():
    base = music.remove_phrase(routine_on(grid_at()), 1)
    assert [p.name for p in music.relisten(base, grid_at()).routine.grid.phrases] == ["A", "A'"]


def test_held_beats_stay_to_the_microsecond():
    base = music.hold_beats(routine_on(grid_at()), 1)
    drifting = grid_at(bpm=120.2)
    again = music.relisten(base, drifting).routine.grid
    for beat in range(32, 65):
        assert again.tempo_map.seconds(beat) == pytest.approx(1 + beat / 2, abs=1e-6)


def test_a_correction_that_no_longer_fits_is_told_and_kept():
    bad = Correction("taps", taps_s=(1.0, 1.01, 1.02, 1.03))
    base = replace(routine_on(grid_at()), corrections=(bad,))
    again = music.relisten(base, grid_at())
    assert again.refused[0][0] == bad
    assert "apart" in again.refused[0][1]
    assert again.routine.corrections == (bad,)


def test_lines_tell_tempo_bars_phrases_and_moves():
    before = routine_on(grid_at(), 0, 16)
    after = music.new_phrase(music.shift_bars(before, 1), Fraction(96), "coda")
    assert moved_lines(before, after) == (
        "tempo 120.00 beats a minute, as it was",
        "32 bars, as before",
        "bar 1 begins at 0:01.5, 0.50 s later",
        "2 moves sound 0.50 s later",
        'phrase "A" begins 0.50 s later: bar 1, count 1 (0:01.5)',
        'phrase "B" begins 0.50 s later: bar 9, count 1 (0:17.5)',
        'phrase "A\'" begins 0.50 s later: bar 17, count 1 (0:33.5)',
        'phrase "coda" is new: bar 25, count 1 (0:49.5)',
    )


ACTS = [
    lambda r, _: music.shift_bars(r, 1),
    lambda r, _: music.shift_bars(r, -1),
    lambda r, n: music.count_one_here(r, Fraction(n)),
    lambda r, n: music.bars_from(r, Fraction(n)),
    lambda r, n: music.nudge(r, n / 1000),
    lambda r, _: music.scale_tempo(r, doubled=False),
    lambda r, n: music.set_bars(r, Meter(3, 4), r.grid.meter_map.bar_start_beat(1 + n // 8)),
    lambda r, n: music.remove_phrase(r, n % len(r.grid.phrases)),
    lambda r, n: music.move_phrase(r, min(1, len(r.grid.phrases) - 1), Fraction(n + 1)),
    lambda r, n: music.new_phrase(r, Fraction(n), "new"),
    lambda r, n: music.hold_beats(r, n % len(r.grid.phrases)),
    lambda r, n: music.tempo_from(r, Fraction(n), 118.0),
]


@given(st.lists(st.tuples(st.sampled_from(ACTS), st.integers(1, 60)), min_size=1, max_size=8))
def test_any_run_of_corrections_keeps_placements_and_can_be_applied_again(run):
    """Undone, a correction leaves the routine it found; applied again, locked phrases hold."""
    base = routine = routine_on(grid_at(), 0, 16, 40)
    for act, number in run:
        try:
            routine = act(routine, number)
        except ComposerError:
            continue
    assert routine.parts == base.parts
    again = music.relisten(routine, base.grid).routine
    assert again.parts == base.parts
    end_s = again.grid.tempo_map.seconds(again.grid.end_beat)
    locked = {p.name for p in routine.grid.phrases if p.locked} if end_s > 60 else set()
    assert locked <= {p.name for p in again.grid.phrases}
