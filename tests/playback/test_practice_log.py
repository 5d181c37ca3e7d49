"""The log beside the routine, and the plan that is made of it."""

import datetime
import json
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.check.findings import Finding, Level
from composer.errors import RoutineFileError
from composer.files.practice_log import add_pass, practice_log_path, read_log
from composer.moves.perform import Style
from composer.playback.plan import (
    DayTally,
    difficulty_of,
    fumble_share,
    next_percent,
    practice_plan,
    tallies,
)
from composer.score.passes import Pass, Transition, passes_of, transitions_of
from composer.score.routine import Following, Part, Performer, Placement, Routine, TrackRef
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid
from composer.timing.tempo_map import steady_tempo_map

NOW = datetime.datetime(2026, 5, 20, 18, 0, tzinfo=datetime.UTC)
A = Transition("Ada", Fraction(16), "cascade", "flower")
B = Transition("Ada", Fraction(63, 2), "flower", "cat-eye")


def one(transition=A, clean=True, percent=100, days_ago=0.0, minutes=0):
    at = NOW - datetime.timedelta(days=days_ago) + datetime.timedelta(minutes=minutes)
    return Pass(at, transition, clean, percent)


# -- the file -------------------------------------------------------------------------------------


@given(
    st.lists(
        st.builds(
            Pass,
            st.datetimes(datetime.datetime(2000, 1, 1), timezones=st.just(datetime.UTC)).map(
                lambda at: at.replace(microsecond=0)
            ),
            st.builds(
                Transition,
                st.text(min_size=1).filter(str.strip),
                st.fractions(0, 500, max_denominator=48),
                st.text(),
                st.text(),
            ),
            st.booleans(),
            st.integers(50, 110),
        ),
        max_size=5,
    )
)
def test_what_is_logged_is_read_back(tmp_path_factory, passes):
    path = tmp_path_factory.mktemp("log") / "show.practice.jsonl"
    for made in passes:
        add_pass(path, made)
    log = read_log(path)
    assert log.passes == tuple(passes)
    assert log.unreadable_lines == 0


def test_the_log_stands_beside_the_routine_one_line_of_json_a_pass(tmp_path):
    path = practice_log_path(tmp_path / "show.toml")
    assert path == tmp_path / "show.practice.jsonl"
    add_pass(path, one(B, clean=False, percent=75))
    assert json.loads(path.read_text()) == {
        "at": "2026-05-20T18:00:00+00:00",
        "performer": "Ada",
        "beat": "63/2",
        "from": "flower",
        "to": "cat-eye",
        "clean": False,
        "percent": 75,
    }


@pytest.mark.parametrize("kept", range(1, 60, 7))
def test_a_line_cut_short_by_a_crash_costs_only_itself(tmp_path, kept):
    path = tmp_path / "log.jsonl"
    add_pass(path, one())
    whole = path.read_bytes()
    path.write_bytes(whole + whole[:kept])
    add_pass(path, one(B))
    log = read_log(path)
    assert log.passes == (one(), one(B))
    assert log.unreadable_lines == 1


@pytest.mark.parametrize(
    "line",
    [
        b"[]",
        b"7",
        b"\xff\xfe",
        b"{}",
        b'{"at": "2026-05-20T18:00:00", "performer": "A", "beat": "1", "from": "", "to": "x",'
        b' "clean": true, "percent": 100}',
        b'{"at": "2026-05-20T18:00:00Z", "performer": "A", "beat": 0.1, "from": "", "to": "x",'
        b' "clean": true, "percent": 100}',
        b'{"at": "2026-05-20T18:00:00Z", "performer": "A", "beat": "1", "from": "", "to": "x",'
        b' "clean": "yes", "percent": 100}',
        b'{"at": "2026-05-20T18:00:00Z", "performer": "A", "beat": "1", "from": "", "to": "x",'
        b' "clean": true, "percent": 9000}',
    ],
)
def test_lines_that_are_none_of_ours_are_counted_not_fatal(tmp_path, line):
    path = tmp_path / "log.jsonl"
    path.write_bytes(line + b"\n")
    add_pass(path, one())
    assert read_log(path).passes == (one(),)
    assert read_log(path).unreadable_lines == 1


def test_no_log_is_an_empty_log(tmp_path):
    assert read_log(tmp_path / "none.jsonl").passes == ()


def test_a_log_that_cannot_be_written_or_read_is_one_clear_line(tmp_path):
    with pytest.raises(RoutineFileError, match="cannot be written"):
        add_pass(tmp_path, one())
    with pytest.raises(RoutineFileError, match="cannot be read"):
        read_log(tmp_path)


def test_a_time_without_an_offset_is_refused():
    with pytest.raises(ValueError, match="offset"):
        Pass(datetime.datetime(2026, 5, 20), A, True, 100)


# -- places ---------------------------------------------------------------------------------------


def placed(start, length, move, hand="both"):
    return Placement(BeatSpan(Fraction(start), Fraction(length)), move, style=Style(hand=hand))


def routine(*placements, following=()):
    performers = (Performer("Ada"), Performer("Bo"))
    parts = (Part("Ada", placements), Part("Bo", following=following))
    grid = MusicGrid(steady_tempo_map(120), Fraction(64))
    return Routine("Show", TrackRef("a.wav"), grid, performers, parts)


def test_transitions_are_where_one_move_leads_into_the_next():
    found = transitions_of(routine(placed(0, 8, "cascade"), placed(8, 8, "flower")))
    assert found == (
        Transition("Ada", Fraction(0), "", "cascade"),
        Transition("Ada", Fraction(8), "cascade", "flower"),
    )


def test_each_hand_has_transitions_of_its_own():
    found = transitions_of(
        routine(
            placed(0, 8, "cascade", "right"),
            placed(0, 8, "flower", "left"),
            placed(8, 8, "cat-eye"),
        )
    )
    assert [(t.from_move, t.to_move) for t in found if t.beat == 8] == [
        ("cascade", "cat-eye"),
        ("flower", "cat-eye"),
    ]


def test_a_part_in_canon_has_its_transitions_later():
    found = transitions_of(
        routine(placed(0, 8, "cascade"), following=(Following("Ada", delay_beats=Fraction(4)),))
    )
    assert Transition("Bo", Fraction(4), "", "cascade") in found


def test_passes_stay_with_their_moves_when_the_routine_is_shifted():
    """A was at beat 16; now the same two moves meet at beats 20 and 60."""
    near = Transition("Ada", Fraction(20), "cascade", "flower")
    far = Transition("Ada", Fraction(60), "cascade", "flower")
    found = passes_of([one(A), one(B)], [near, far])
    assert found == {near: (one(A),), far: ()}
    late = one(Transition("Ada", Fraction(41), "cascade", "flower"))
    assert passes_of([late], [near, far]) == {near: (), far: (late,)}


# -- the plan -------------------------------------------------------------------------------------


def test_what_is_fumbled_comes_before_what_is_clean():
    log = [one(A, clean=False), one(A, clean=False), one(A), one(B), one(B), one(B)]
    first, second = practice_plan(log, [A, B], NOW)
    assert (first.transition, second.transition) == (A, B)
    assert first.reason.startswith("fumbled 2 of the last 3 passes")
    assert second.reason.startswith("clean 3 of the last 3 passes")


def test_clean_passes_move_a_transition_down_the_plan():
    log = [one(A, clean=False)] * 2 + [one(B, clean=False), one(B)]
    assert practice_plan(log, [A, B], NOW)[0].transition == A
    log += [one(A, minutes=m) for m in range(1, 7)]
    assert practice_plan(log, [A, B], NOW)[0].transition == B


def test_of_two_new_transitions_the_harder_comes_first_and_says_so():
    first, second = practice_plan([], [A, B], NOW, difficulty={B: 0.9, A: 0.1})
    assert first.transition == B
    assert first.reason == "not practised yet, and a hard one"
    assert second.reason == "not practised yet"
    assert first.percent == 70


def test_what_failed_last_counts_more_than_what_failed_long_ago():
    """A pass counts half as much as one made four passes later (ours): of five marks with one
    fumble the latest weighs 1, the earliest 1/2; one expected pass of even chances is added."""
    weights = sum(0.5 ** (age / 4) for age in range(5))
    late, early = [True] * 4 + [False], [False] + [True] * 4
    assert fumble_share(late, 0.5) == pytest.approx((0.5 + 1.0) / (1 + weights), rel=0, abs=1e-12)
    assert fumble_share(early, 0.5) == pytest.approx((0.5 + 0.5) / (1 + weights), rel=0, abs=1e-12)


def test_what_has_rested_long_comes_back():
    """30 days left: a rest of 15 % is 4 1/2 days. Six days since A, one since B."""
    log = [one(A, days_ago=6)] * 3 + [one(B, days_ago=1)] * 3
    first, second = practice_plan(
        log, [A, B], NOW, performance_date=NOW.date() + datetime.timedelta(days=30)
    )
    assert first.transition == A
    assert "last practised 6 days ago" in first.reason
    assert "last practised" not in second.reason
    assert "30 days left" in first.reason


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (0, "the performance is today"),
        (1, "1 day left and it still fails"),
        (10, "10 days left"),
        (-3, ""),
        (None, ""),
    ],
)
def test_the_date_of_the_performance_is_part_of_the_reason(days, words):
    log = [one(A, clean=False)] * 5
    date = None if days is None else NOW.date() + datetime.timedelta(days=days)
    [proposal] = practice_plan(log, [A], NOW, performance_date=date)
    assert words in proposal.reason
    assert ("left" in proposal.reason) == (days in (1, 10))


def test_close_to_the_date_what_is_clean_is_practised_at_full_speed():
    soon = NOW.date() + datetime.timedelta(days=2)
    [proposal] = practice_plan([one(A, percent=80)], [A], NOW, performance_date=soon)
    assert proposal.percent == 100
    [proposal] = practice_plan([one(A, False, 80)], [A], NOW, performance_date=soon)
    assert proposal.percent == 80


@pytest.mark.parametrize(
    ("log", "percent"),
    [
        ([], 70),
        ([(True, 70)] * 2, 70),
        ([(True, 70)] * 3, 75),
        ([(True, 98)] * 3, 100),
        ([(True, 110)] * 3, 110),
        ([(True, 80), (False, 80)], 80),
        ([(False, 80), (False, 80)], 75),
        ([(False, 50), (False, 50)], 50),
    ],
)
def test_the_speed_proposed_rises_when_sure_and_falls_after_failing(log, percent):
    assert next_percent([one(A, clean, at) for clean, at in log]) == percent


def test_not_yet_clean_at_full_speed_is_said():
    [proposal] = practice_plan([one(A, percent=80)] * 3, [A], NOW)
    assert "clean up to 80 %" in proposal.reason


@given(st.lists(st.booleans(), max_size=20), st.floats(0, 1))
def test_the_share_of_fumbles_is_a_share_and_one_more_clean_pass_lowers_it(marks, difficulty):
    share = fumble_share(marks, difficulty)
    assert 0 <= share <= 1
    assert fumble_share([*marks, True], difficulty) < share or share == 0
    assert fumble_share([*marks, False], difficulty) > share


def test_difficulty_is_that_of_the_gravest_finding_on_the_beat():
    def finding(level, beat):
        return Finding("rule", level, "Ada", Fraction(beat), "message", "why")

    found = difficulty_of(
        [finding(Level.NOTE, 16), finding(Level.ERROR, 16), finding(Level.ERROR, 3)], [A, B]
    )
    assert list(found) == [A]
    assert found[A] > difficulty_of([finding(Level.NOTE, 16)], [A])[A]


def test_tallies_count_by_day():
    log = [one(A, days_ago=2), one(A, False, days_ago=2), one(A), one(A)]
    days = [NOW.date() - datetime.timedelta(days=2), NOW.date()]
    assert tallies(log) == (DayTally(days[0], 1, 1), DayTally(days[1], 2, 0))
