"""What changed in words; two versions in one. The merge obeys the laws of any three-way merge."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pieces import four, with_spot

from composer.arrange import edits
from composer.arrange.compare import changes
from composer.arrange.merge import merge
from composer.errors import ComposerError
from composer.score.routine import CueNote, Following, Likeness, Performer, Placement, Routine
from composer.timing.beats import BeatSpan


def words(before: Routine, after: Routine) -> dict[str, list[str]]:
    told: dict[str, list[str]] = {}
    for one in changes(before, after):
        told.setdefault(one.performer, []).append(one.words)
    return told


def renamed(routine: Routine, index: int, move: str) -> Routine:
    old = edits.placement_at(routine, "Wren", index)
    return edits.change(routine, "Wren", index, replace(old, move=move))


def test_nothing_is_told_of_two_equal_versions() -> None:
    assert changes(four(), four()) == ()


def test_moves_times_and_spots_are_told_part_by_part() -> None:
    edited = renamed(four(), 9, "triquetra")
    edited = edits.shift(edited, "Lark", 1, Fraction(1))
    edited = edits.resize(edited, "Tern", 0, Fraction(16))
    edited = with_spot(edited, "Finch", 96, x_m=-3.7)
    edited = edits.add_note(edited, CueNote(Fraction(100), "smoke", "light"))
    assert words(four(), edited) == {
        "": ['bar 26, count 1: light "smoke" is new'],
        "Wren": ["bar 25, count 1: triquetra instead of extension with triquetra"],
        "Lark": ["static spins at both sides moved from bar 12, count 2 to bar 12, count 3"],
        "Tern": ["bar 1, count 1: static spins at both sides, 16 beats instead of 18 beats"],
        "Finch": ["bar 25, count 1: the spot moved 0.50 m, to 3.7 m stage left, 2.6 m upstage"],
    }


def test_a_changed_canon_and_a_changed_stage_are_told() -> None:
    part = four().part("Lark")
    first = replace(part.following[0], delay_beats=Fraction(2))
    edited = four().with_part(replace(part, following=(first, *part.following[1:])))
    edited = replace(edited, stage=replace(edited.stage, depth_m=9.0))
    told = words(four(), edited)
    assert told[""] == ["the stage: depth_m is 9.0, it was 10.0"]
    assert [line.split(",")[:2] for line in told["Lark"]] == [
        ["no longer follows Wren unison", " 1 beat later"],
        ["now follows Wren unison", " 2 beats later"],
    ]


def test_who_came_and_who_went_is_told() -> None:
    more = replace(four(), performers=(*four().performers, Performer("Rook")))
    assert words(four(), more) == {"Rook": ["is new, with 0 moves of her own"]}
    assert words(more, four()) == {"Rook": ["is no longer in the piece"]}


EDITS = {
    "Wren's move": lambda r: renamed(r, 9, "triquetra"),
    "Wren's last move": lambda r: edits.restyle(r, "Wren", 17, mirrored=True),
    "Lark's length": lambda r: edits.resize(r, "Lark", 0, Fraction(16)),
    "Tern's canon": lambda r: r.with_part(
        replace(r.part("Tern"), following=r.part("Tern").following[1:])
    ),
    "Finch's spot": lambda r: with_spot(r, "Finch", 96, x_m=-3.5),
    "a light": lambda r: edits.add_note(r, CueNote(Fraction(100), "blue", "light")),
    "the title": lambda r: replace(r, title="Five on the Quay"),
    "the margin": lambda r: replace(r, stage=replace(r.stage, margin_m=0.4)),
    "the depth": lambda r: replace(r, stage=replace(r.stage, depth_m=12.0)),
    "Wren's arm": lambda r: replace(
        r,
        performers=(
            replace(r.performers[0], body=replace(r.performers[0].body, arm_m=0.7)),
            *r.performers[1:],
        ),
    ),
}
SOME = st.sets(st.sampled_from(sorted(EDITS)), max_size=5)


def edited(names: set[str]) -> Routine:
    routine = four()
    for name in sorted(names):
        routine = EDITS[name](routine)
    return routine


@settings(max_examples=50, deadline=None)
@given(SOME, SOME)
def test_changes_to_different_things_go_together_whoever_made_them(
    one: set[str], other: set[str]
) -> None:
    """Edits that touch different things commute; what both did alike is done once."""
    merged = merge(four(), edited(one), edited(other))
    assert merged.conflicts == ()
    assert merged.routine is not None
    assert changes(edited(one | other), merged.routine) == ()


@settings(max_examples=20, deadline=None)
@given(SOME)
def test_merging_with_an_unchanged_version_gives_the_changed_one(names: set[str]) -> None:
    for versions in ((edited(names), four()), (four(), edited(names))):
        merged = merge(four(), *versions)
        assert merged.routine is not None
        assert changes(edited(names), merged.routine) == ()


def two_titles(routine: Routine) -> tuple[Routine, Routine]:
    return replace(routine, title="One"), replace(routine, title="Two")


CONFLICTS = {
    "one move renamed twice": (
        (renamed(four(), 9, "triquetra"), renamed(four(), 9, "diamond")),
        ("Wren", 96),
    ),
    "one move taken out, and made shorter": (
        (edits.remove(four(), "Wren", 9), edits.resize(four(), "Wren", 9, Fraction(8))),
        ("Wren", 96),
    ),
    "one move moved to two places": (
        tuple(edits.shift(four(), "Lark", 1, Fraction(by)) for by in (90, 60)),
        ("Lark", 105),
    ),
    "two new moves in one bar": (
        tuple(
            edits.place(four(), "Lark", Placement(BeatSpan(Fraction(100), Fraction(4)), move))
            for move in ("diamond", "box")
        ),
        ("Lark", 100),
    ),
    "one spot moved twice": (
        (with_spot(four(), "Lark", 96, x_m=1.0), with_spot(four(), "Lark", 96, x_m=1.2)),
        ("Lark", 96),
    ),
    "one spot put on two beats": (
        (
            with_spot(four(), "Lark", 96, beat=Fraction(92)),
            with_spot(four(), "Lark", 96, beat=Fraction(112)),
        ),
        ("Lark", 92),
    ),
    "two lights on one beat": (
        tuple(edits.add_note(four(), CueNote(Fraction(100), t, "light")) for t in ("red", "blue")),
        ("", 100),
    ),
    "two titles": (two_titles(four()), ("", None)),
    "one performer followed in two ways": (
        tuple(
            four().with_part(
                replace(
                    four().part("Lark"),
                    following=(
                        *four().part("Lark").following[:3],
                        Following("Wren", how, span=BeatSpan(Fraction(128), Fraction(120))),
                    ),
                )
            )
            for how in (Likeness.MIRRORED, Likeness.HANDS_SWAPPED)
        ),
        ("Lark", 128),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(CONFLICTS))
def test_a_conflict_is_named_by_bar_and_performer_and_nothing_is_chosen(name: str) -> None:
    (one, other), (performer, beat) = CONFLICTS[name]
    merged = merge(four(), one, other)
    assert merged.routine is None
    assert [(c.performer, c.beat) for c in merged.conflicts] == [(performer, beat)]
    assert merged.conflicts[0].words
    turned = merge(four(), other, one)
    assert {(c.performer, c.beat) for c in turned.conflicts} == {(performer, beat)}


@pytest.mark.parametrize("name", sorted(CONFLICTS))
def test_with_a_preferred_side_its_version_is_taken_and_the_conflict_still_told(name: str) -> None:
    (one, other), _ = CONFLICTS[name]
    with_more = EDITS["Finch's spot"]
    for prefer, version in (("one", one), ("other", other)):
        merged = merge(four(), one, with_more(other), prefer)  # type: ignore[arg-type]
        assert merged.routine is not None
        assert merged.conflicts
        assert changes(with_more(version), merged.routine) == ()


def test_no_change_of_either_side_is_lost_while_there_is_no_conflict() -> None:
    """Every item that one brought in is there, and none that one took out."""
    one = edits.place_over(
        four(), "Wren", Placement(BeatSpan(Fraction(192), Fraction(16)), "mirrored extensions")
    )
    other = edits.remove(four(), "Wren", 0)
    merged = merge(four(), one, other).routine
    assert merged is not None
    placements = merged.part("Wren").placements
    assert {
        p for p in one.part("Wren").placements if p not in four().part("Wren").placements
    } <= set(placements)
    assert four().part("Wren").placements[0] not in placements


def test_a_performer_who_was_taken_out_and_changed_is_a_conflict() -> None:
    without = replace(
        four(),
        performers=four().performers[:3],
        parts=four().parts[:3],
        spots=tuple(s for s in four().spots if s.performer != "Finch"),
    )
    merged = merge(four(), without, EDITS["Finch's spot"](four()))
    assert [(c.performer, c.beat) for c in merged.conflicts] == [("Finch", None)]
    untouched = merge(four(), without, EDITS["Wren's move"](four()))
    assert untouched.routine is not None
    assert [p.name for p in untouched.routine.performers] == ["Wren", "Lark", "Tern"]


def test_versions_that_cannot_stand_together_are_refused_in_one_line() -> None:
    """One takes Finch out, the other has Lark follow her: neither touched the other's thing."""
    without = replace(
        four(),
        performers=four().performers[:3],
        parts=four().parts[:3],
        spots=tuple(s for s in four().spots if s.performer != "Finch"),
    )
    lark = four().part("Lark")
    follows = four().with_part(replace(lark, following=(Following("Finch"),)))
    with pytest.raises(ComposerError, match=r"do not go together.*Finch"):
        merge(four(), without, follows)
