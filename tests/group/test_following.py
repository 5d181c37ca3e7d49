"""Who follows whom is edited by stretches; followed moves are worked out, never copied unasked."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pieces import LIBRARY, four

from composer.arrange.following import (
    follow,
    following_at,
    leader_words,
    made_own,
    unfollowed,
)
from composer.errors import ComposerError
from composer.export.choice import Choice
from composer.export.sheet import sheet_data
from composer.score.parts import performed_part
from composer.score.routine import Following, Likeness, Routine
from composer.timing.beats import BeatSpan
from tui.views.followed import following_marks, how_followed


def span(start: int, beats: int) -> BeatSpan:
    return BeatSpan(Fraction(start), Fraction(beats))


DROP, BUILD = span(96, 32), span(44, 4)


def taken(routine: Routine, name: str, during: BeatSpan) -> list[tuple[Fraction, str, str]]:
    return [
        (move.span.start_beat, move.placement.move, move.written_by)
        for move in performed_part(routine, name)
        if during.contains(move.span.start_beat)
    ]


def test_a_phrase_follows_another_and_her_own_moves_there_go() -> None:
    done = follow(four(), "Lark", Following("Wren", span=BUILD))
    assert taken(done, "Lark", BUILD) == [(44, "static spins at both sides", "Wren")]
    assert all(not BUILD.contains(p.span.start_beat) for p in done.part("Lark").placements)
    assert len(done.part("Lark").placements) == len(four().part("Lark").placements) - 1


def test_a_pinned_move_of_her_own_stays_in_a_followed_stretch() -> None:
    part = four().part("Lark")
    pinned = tuple(
        replace(p, pinned=True) if p.span.start_beat == 45 else p for p in part.placements
    )
    done = follow(four().with_part(replace(part, placements=pinned)), "Lark",
                  Following("Wren", span=BUILD))  # fmt: skip
    assert taken(done, "Lark", BUILD) == [(45, "static spins at both sides", "Lark")]


def test_whom_she_followed_around_the_stretch_she_follows_still() -> None:
    """Lark follows Wren from 96 for 32; Tern in its middle 8 leaves 16 before and 8 after."""
    done = follow(four(), "Lark", Following("Finch", span=span(112, 8)))
    spans = [
        (one.performer, one.span.start_beat, one.span.length_beats)
        for one in done.part("Lark").following
        if one.span is not None and one.span.intersects(DROP)
    ]
    assert spans == [("Wren", 48, 64), ("Finch", 112, 8), ("Wren", 120, 128)]


def test_a_stretch_that_goes_on_in_the_same_way_is_one() -> None:
    """Lark follows Wren at once over three stretches that meet, from 48 to 248."""
    done = follow(four(), "Lark", Following("Wren", span=BUILD))
    last = done.part("Lark").following[-1]
    assert last.span == span(44, 204)


def test_parts_in_a_circle_are_refused_with_the_chain_named() -> None:
    with pytest.raises(ComposerError, match="Wren follows Finch follows Wren"):
        follow(four(), "Wren", Following("Finch", span=DROP))


def test_followed_moves_are_made_her_own_as_she_performs_them() -> None:
    before = [m.placement for m in performed_part(four(), "Tern")]
    done = made_own(four(), "Tern", DROP)
    assert [m.placement for m in performed_part(done, "Tern")] == before
    assert {who for _, _, who in taken(done, "Tern", DROP)} == {"Tern"}
    assert following_at(done, "Tern", Fraction(100)) is None
    with pytest.raises(ComposerError, match="follows nobody here"):
        made_own(done, "Tern", DROP)


@given(st.integers(0, 244), st.integers(1, 100), st.sampled_from(["Lark", "Tern", "Finch"]))
def test_nobody_is_followed_over_the_stretch_and_nothing_else_changes(
    start: int, beats: int, name: str
) -> None:
    stretch = span(start, beats)
    done = unfollowed(four(), name, stretch)
    for beat in range(248):
        now = following_at(done, name, Fraction(beat))
        was = following_at(four(), name, Fraction(beat))
        if stretch.contains(Fraction(beat)):
            assert now is None
        else:
            assert (now and replace(now, span=None)) == (was and replace(was, span=None))
    assert done.part(name).placements == four().part(name).placements


def test_where_a_move_comes_from_is_told_with_how() -> None:
    def told(name: str, beat: int) -> str:
        moves = performed_part(four(), name)
        return how_followed(four(), next(m for m in moves if m.span.start_beat == beat))

    assert told("Lark", 17) == "from Wren, 1 beat later"
    assert told("Tern", 96) == "from Lark, who has it from Wren, mirrored"
    assert told("Finch", 96) == "from Wren, mirrored"
    assert told("Wren", 96) == ""
    marks = {mark.at: mark.words for mark in following_marks(four(), "Finch")}
    assert marks[19.0].startswith("follows Wren unison, 3 beats later")


def test_the_count_sheet_says_with_whom_a_move_is_done() -> None:
    def told(name: str, beat: int) -> str:
        moves = performed_part(four(), name)
        return leader_words(four(), next(m for m in moves if m.span.start_beat == beat))

    assert told("Lark", 17) == "1 beat after Wren"
    assert told("Finch", 208) == "with Wren"
    assert told("Wren", 208) == ""
    data = sheet_data(four(), LIBRARY, (), Choice("Tern"), paper="a4", pages=("counts",))
    details = [
        box["detail"]
        for section in data["parts"][0]["sections"]
        for eight in section["eights"]
        for box in eight["boxes"]
    ]
    assert any(detail.startswith("16 beats, 2 beats after Wren") for detail in details)
    assert any(detail.startswith("mirrored, 16 beats, with Lark") for detail in details)


def test_a_following_without_a_stretch_is_refused() -> None:
    with pytest.raises(ValueError, match="stretch"):
        follow(four(), "Lark", Following("Wren", Likeness.MIRRORED))
