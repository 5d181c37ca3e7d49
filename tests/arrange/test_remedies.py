"""Every remedy that is offered was tried: it mends its finding and brings nothing as grave."""

import random
from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest

from composer.arrange.candidates import Seat, shared_boundary, swapped_order
from composer.arrange.effect import Effect, changed_stretch, effect
from composer.arrange.remedies import remedies_for
from composer.check.checks import check_routine
from composer.check.findings import Finding, Level
from composer.moves.library import shipped_library
from composer.moves.perform import Style
from composer.score.parts import performed_part
from composer.score.routine import (
    Following,
    Likeness,
    Part,
    Performer,
    Placement,
    Routine,
    TrackRef,
)
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.tempo_map import steady_tempo_map

LIBRARY = shipped_library()
GRID = MusicGrid(
    steady_tempo_map(120, 0.5),
    Fraction(96),
    phrases=tuple(Phrase(Fraction(b), f"phrase {b}") for b in (0, 32, 64)),
)


def at(start: float, length: float, move: str, **style: object) -> Placement:
    span = BeatSpan(Fraction(start), Fraction(length))
    return Placement(span, move, style=Style(**style))  # type: ignore[arg-type]


def piece(*placements: Placement, **more: object) -> Routine:
    performer = Performer("Wren")
    part = Part("Wren", placements)
    return Routine("Piece", TrackRef("x.ogg"), GRID, (performer,), (part,), **more)  # type: ignore[arg-type]


def found(routine: Routine, rule: str) -> Finding:
    return next(one for one in check_routine(routine, LIBRARY) if one.rule == rule)


def levels(routine: Routine) -> dict[object, int]:
    """The gravest level of every finding's key, by the whole check."""
    gravest: dict[object, int] = {}
    for one in check_routine(routine, LIBRARY):
        gravest[one.key] = max(one.level, gravest.get(one.key, 0))
    return gravest


def assert_holds(routine: Routine, finding: Finding, **more: int) -> int:
    """Apply every remedy and check the whole routine again, from nothing; how many there were."""
    before = levels(routine)
    remedies = remedies_for(routine, LIBRARY, finding, **more)
    for remedy in remedies:
        after = check_routine(remedy.routine, LIBRARY)
        assert finding.key not in {one.key for one in after}, remedy.words
        for one in after:
            new = before.get(one.key, 0) < one.level
            assert not new or one.level < finding.level, f"{remedy.words} brings {one.message}"
    return len(remedies)


def random_routine(choose: random.Random) -> Routine:
    """Moves set down without a thought: every kind of fault turns up."""
    names = LIBRARY.names()
    placements, beat = [], Fraction(0)
    while beat < 28:
        length = Fraction(choose.choice([1, 2, 3, 4, 5, 6, 8, 8, 9, 12]))
        style = Style(
            entry=choose.choice([1, 1, 1, 2, 3]),
            mirrored=choose.random() < 0.2,
            hand=choose.choice(["both", "both", "both", "right", "left"]),  # type: ignore[arg-type]
        )
        span = BeatSpan(beat, length)
        rate = choose.choice([Fraction(1), Fraction(1), Fraction(1, 2), Fraction(2)])
        placements.append(Placement(span, choose.choice(names), rate, style))
        beat += length + choose.choice([0, 0, 0, 0, -1, 2])
    return piece(*placements)


@pytest.mark.parametrize("start", range(0, 200, 25))
def test_remedies_of_random_routines_mend_and_bring_nothing_as_grave(start: int) -> None:
    """Two hundred routines in all; the whole check is the judge, not the remedies' own effect."""
    offered = 0
    for number in range(start, start + 25):
        routine = random_routine(random.Random(number))
        grave = [one for one in check_routine(routine, LIBRARY) if one.level >= Level.WARNING]
        if grave:
            finding = random.Random(number).choice(grave)
            offered += assert_holds(routine, finding, tries=40, limit=2)
    assert offered > 0


def test_a_flower_cut_short_is_given_its_whole_length_or_a_filler() -> None:
    """Three downbeats a cycle: 8 beats are 2 2/3 cycles; 6, 9 and 12 close (arithmetic)."""
    routine = piece(at(0, 8, "mirrored diamonds"), at(8, 8, "mirrored diamonds", entry=3))
    finding = found(routine, "does not close")
    remedies = remedies_for(routine, LIBRARY, finding, limit=50)
    assert any("6 beats" in remedy.words for remedy in remedies)
    assert any(remedy.kind == "rate" for remedy in remedies)
    assert assert_holds(routine, finding) > 0


def test_an_overlap_is_cut_where_the_next_move_begins() -> None:
    routine = piece(at(0, 10, "static spin"), at(8, 8, "static spin"))
    remedies = remedies_for(routine, LIBRARY, found(routine, "moves overlap"))
    words = [remedy.words for remedy in remedies]
    assert "end static spin where static spin begins, after 8 beats" in words
    assert "begin static spin 2 beats later" in words


def test_a_wrong_entry_is_put_right() -> None:
    """Leaving and entering the same figure where it stands is smooth; elsewhere it jumps."""
    routine = piece(at(0, 12, "mirrored diamonds"), at(12, 12, "mirrored diamonds", entry=2))
    grave = [one for one in check_routine(routine, LIBRARY) if one.beat == 12]
    assert grave
    best = remedies_for(routine, LIBRARY, max(grave, key=lambda one: one.level))[0]
    assert best.kind == "entry"
    changed = best.routine.part("Wren").placements
    assert changed[0].style.entry == changed[1].style.entry


def test_a_pinned_move_is_never_touched() -> None:
    first, second = at(0, 8, "mirrored diamonds"), at(8, 12, "mirrored diamonds")
    routine = piece(first, replace(second, pinned=True))
    finding = found(routine, "does not close")
    remedies = remedies_for(routine, LIBRARY, finding, limit=50)
    assert remedies
    for remedy in remedies:
        assert replace(second, pinned=True) in remedy.routine.part("Wren").placements


def test_an_unknown_name_is_mended_by_the_nearest() -> None:
    routine = piece(at(0, 8, "static spinn"))
    remedies = remedies_for(routine, LIBRARY, found(routine, "unknown move"))
    assert remedies[0].words == "static spin instead of static spinn"


def test_a_followed_move_is_mended_where_it_is_written() -> None:
    """The follower's part holds no moves of its own; the leader's is the one to change."""
    lead = Part("Wren", (at(0, 8, "mirrored diamonds"), at(8, 8, "mirrored diamonds", entry=3)))
    follower = Part("Jay", (), (Following("Wren", Likeness.MIRRORED),))
    routine = Routine(
        "Duo", TrackRef("x"), GRID, (Performer("Wren"), Performer("Jay")), (lead, follower)
    )
    finding = next(
        one
        for one in check_routine(routine, LIBRARY)
        if one.performer == "Jay" and one.rule == "does not close"
    )
    remedies = remedies_for(routine, LIBRARY, finding)
    assert remedies
    for remedy in remedies:
        assert remedy.routine.part("Jay") == follower
        assert remedy.routine.part("Wren") != lead


def test_an_effect_is_the_difference_of_two_whole_checks() -> None:
    """Looked at only where it touches, against the whole check before and after."""
    choose = random.Random(7)
    for _ in range(20):
        old = random_routine(choose)
        placements = list(old.part("Wren").placements)
        index = choose.randrange(len(placements))
        placements[index] = replace(placements[index], move="static spin", style=Style())
        new = old.with_part(Part("Wren", tuple(placements)))
        seen = effect(old, new, LIBRARY)
        before, after = levels(old), levels(new)
        gone = {key for key, level in before.items() if after.get(key, 0) < level}
        come = {key for key, level in after.items() if before.get(key, 0) < level}
        assert {one.key for one in seen.removes} == gone
        assert {one.key for one in seen.adds} == come


def seats(*placements: Placement) -> list[Seat]:
    routine = piece(*placements)
    return [Seat(routine, LIBRARY, routine.performers[0], index) for index in range(2)]


def test_a_boundary_moves_both_moves_and_leaves_no_hole() -> None:
    """What one gives the other takes; what is left of either is never nothing."""
    before, after = seats(at(0, 8, "static spin"), at(8, 2, "isolation"))
    moved = list(shared_boundary(before, after))
    ends = []
    for one in moved:
        first, second = one.routine.part("Wren").placements
        assert first.span.end_beat == second.span.start_beat
        assert second.span.end_beat == 10
        ends.append(int(first.span.end_beat))
    assert sorted(ends) == [4, 6, 7, 9]


def test_only_moves_of_the_same_hands_change_places() -> None:
    """Where one is of one hand, the other would be asked for twice at once, or not at all."""
    before, after = seats(at(0, 8, "static spin"), at(8, 4, "isolation"))
    (swapped,) = swapped_order(before, after)
    first, second = swapped.routine.part("Wren").placements
    assert [(one.move, one.span.start_beat, one.span.length_beats) for one in (first, second)] == [
        ("isolation", 0, 8), ("static spin", 8, 4),
    ]  # fmt: skip
    assert not list(swapped_order(*seats(at(0, 8, "stall"), at(8, 4, "isolation", hand="left"))))
    assert not list(swapped_order(*seats(at(0, 8, "stall"), at(8, 4, "stall", entry=1))))


def test_the_first_ways_out_are_of_different_kinds() -> None:
    """No more than two alike while others are to be had."""
    routine = piece(at(0, 8, "mirrored diamonds"), at(8, 8, "mirrored diamonds", entry=3))
    finding = found(routine, "does not close")
    every = Counter(one.kind for one in remedies_for(routine, LIBRARY, finding, limit=50))
    first = Counter(one.kind for one in remedies_for(routine, LIBRARY, finding, limit=5))
    assert len(every) >= 2
    assert max(every.values()) > 2
    varied = sum(min(2, count) for count in every.values())
    assert sum(min(2, count) for count in first.values()) == min(5, varied)


def test_what_an_edit_brings_is_taken_off_what_it_mends() -> None:
    """By the table a warning weighs 8, a note 1: a warning for two notes is a gain of 6."""

    def finding(level: Level) -> Finding:
        return Finding("rule", level, "Wren", Fraction(0), "message", "why.")

    note, warning = finding(Level.NOTE), finding(Level.WARNING)
    assert Effect((warning,), (note, note)).gain == 6
    assert Effect((), (finding(Level.ERROR),)).gain == -30


def test_where_two_parts_differ() -> None:
    moves = performed_part(piece(*(at(8 * i, 8, "static spin") for i in range(5))), "Wren")
    assert changed_stretch(moves, moves) == (5, 5, 5)
    assert changed_stretch(moves, moves[:2] + moves[3:]) == (2, 3, 2)
