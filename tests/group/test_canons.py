"""Canons told apart, holes in followed parts measured, interruptions found: by hand on beats."""

from dataclasses import replace
from fractions import Fraction

from composer.check.checks import check_routine
from composer.check.findings import Finding
from composer.check.group_canon import canons
from composer.moves.library import shipped_library
from composer.moves.perform import Style
from composer.score.routine import Following, Part, Performer, Placement, Routine, TrackRef
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid
from composer.timing.tempo_map import steady_tempo_map

LIBRARY = shipped_library()


def span(start: int, length: int) -> BeatSpan:
    return BeatSpan(Fraction(start), Fraction(length))


def placed(start: int, length: int, move: str = "static spin", hand: str = "both") -> Placement:
    return Placement(span(start, length), move, style=Style(hand=hand))  # type: ignore[arg-type]


def follows(delay: int, during: BeatSpan | None = None) -> Following:
    return Following("A", delay_beats=Fraction(delay), span=during)


def group(*parts: Part) -> Routine:
    grid = MusicGrid(steady_tempo_map(120), Fraction(64))
    performers = tuple(Performer(part.performer) for part in parts)
    return Routine("Group", TrackRef("x.ogg"), grid, performers, parts)


def found(routine: Routine, rule: str) -> list[Finding]:
    return [one for one in check_routine(routine, LIBRARY) if one.rule == rule]


LEADER = Part("A", tuple(placed(8 * k, 8) for k in range(6)))


def test_stretches_that_only_touch_are_two_canons_and_those_that_overlap_are_one() -> None:
    for start, count in ((16, 2), (15, 1)):
        routine = group(
            LEADER,
            Part("B", (), (follows(4, span(8, 8)),)),
            Part("C", (), (follows(2, span(start, 8)),)),
        )
        assert len(canons(routine)) == count


def left_out(*own: Placement, hand: str = "both") -> list[float]:
    """Follows from beat 4 on, so that the leader's move from 0 to 10 is left out: six beats."""
    lead = Part("A", (placed(0, 10, hand=hand),))
    routine = group(lead, Part("B", own, (follows(0, span(4, 40)),)))
    return [float(one.measured or 0) for one in found(routine, "followed move is left out")]


def test_a_hole_is_as_long_as_no_hand_that_was_meant_has_anything() -> None:
    """Six beats are left out; own moves in it are taken off once, however they overlap."""
    assert left_out() == [6]
    assert left_out(placed(4, 2)) == [4]
    assert left_out(placed(4, 4, hand="right"), placed(6, 2, hand="left")) == [2]
    assert left_out(placed(4, 6)) == []
    assert left_out(placed(4, 6, hand="left"), hand="right") == [6], "the other hand fills nothing"


def test_a_move_of_ones_own_interrupts_a_canon_but_no_unison() -> None:
    """Who does the same at once and then something else just does something else."""
    own = placed(10, 2)
    canon, unison = (group(LEADER, Part("B", (own,), (follows(delay),))) for delay in (4, 0))
    assert [one.performer for one in found(canon, "canon is interrupted")] == ["B"]
    assert not found(unison, "canon is interrupted")
    before = replace(own, span=span(0, 4))
    entered = group(LEADER, Part("B", (before,), (follows(4),)))
    assert not found(entered, "canon is interrupted"), "until she comes in it is her own time"
