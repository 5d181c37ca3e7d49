"""An edit gives a new routine and leaves the old one alone; undo is a list."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.arrange import edits
from composer.arrange.history import start_history
from composer.errors import ComposerError
from composer.moves.perform import Style
from composer.score.routine import (
    CueNote,
    Likeness,
    Part,
    Performer,
    Placement,
    Routine,
    Spot,
    TrackRef,
)
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid
from composer.timing.tempo_map import steady_tempo_map


def at(start: int, length: int, move: str = "extension", hand: str = "both") -> Placement:
    span = BeatSpan(Fraction(start), Fraction(length))
    return Placement(span, move, style=Style(hand=hand))  # type: ignore[arg-type]


def piece(*placements: Placement) -> Routine:
    grid = MusicGrid(steady_tempo_map(120), Fraction(64))
    part = Part("Wren", placements)
    return Routine("Piece", TrackRef("x.ogg"), grid, (Performer("Wren"), Performer("Jay")), (part,))


def spans(routine: Routine, performer: str = "Wren") -> list[tuple[int, int, str]]:
    placed = routine.part(performer).placements
    return [(int(p.span.start_beat), int(p.span.length_beats), p.move) for p in placed]


def test_placing_keeps_time_order_and_the_old_routine() -> None:
    old = piece(at(8, 8))
    new = edits.place(old, "Wren", at(0, 8, "isolation"))
    assert spans(new) == [(0, 8, "isolation"), (8, 8, "extension")]
    assert spans(old) == [(8, 8, "extension")]


def test_placing_over_others_shortens_what_it_cuts_and_drops_what_it_covers() -> None:
    old = piece(at(0, 8, "a"), at(8, 4, "b"), at(12, 8, "c"))
    new = edits.place_over(old, "Wren", at(4, 10, "new"))
    assert spans(new) == [(0, 4, "a"), (4, 10, "new")]


def test_placing_where_another_begins_takes_all_of_its_place() -> None:
    """Nothing of the old one is left before the new; what would be left after it goes too."""
    old = piece(at(0, 8, "a"), at(8, 8, "b"))
    assert spans(edits.place_over(old, "Wren", at(8, 4, "new"))) == [(0, 8, "a"), (8, 4, "new")]
    assert spans(edits.place_over(old, "Wren", at(0, 12, "new"))) == [(0, 12, "new")]


def test_one_hand_does_not_push_the_other_away() -> None:
    old = piece(at(0, 8, "a", "left"))
    new = edits.place_over(old, "Wren", at(0, 8, "b", "right"))
    assert spans(new) == [(0, 8, "a"), (0, 8, "b")]


def test_a_move_is_repeated_as_often_as_it_fits_whole() -> None:
    """Six beats fit twice more into the rest of a 20-beat stretch, the last two beats stay free."""
    new = edits.repeat_until(piece(at(0, 6)), "Wren", 0, Fraction(20))
    assert [start for start, _, _ in spans(new)] == [0, 6, 12]


def test_pasting_mirrored_twice_is_pasting_as_it_was() -> None:
    old = piece(at(0, 4, "a", "right"), at(4, 6, "b"))
    stretch = BeatSpan(Fraction(0), Fraction(8))
    clip = edits.copy_clip(old, "Wren", stretch)
    assert [p.span.length_beats for p in clip.placements] == [4, 4], "cut at the end"
    once = edits.paste_clip(old, "Jay", Fraction(16), clip, Likeness.MIRRORED)
    again = edits.copy_clip(once, "Jay", stretch.shifted(Fraction(16)))
    twice = edits.paste_clip(old, "Jay", Fraction(0), again, Likeness.MIRRORED)
    assert once.part("Jay").placements[0].style.hand == "left"
    assert twice.part("Jay").placements == clip.placements


def test_a_copy_of_a_pinned_move_is_not_pinned() -> None:
    """A pin belongs to a moment of the music, which the copy is not set on."""
    old = piece(replace(at(0, 4), pinned=True))
    clip = edits.copy_clip(old, "Wren", BeatSpan(Fraction(0), Fraction(4)))
    new = edits.paste_clip(old, "Wren", Fraction(8), clip)
    assert [p.pinned for p in new.part("Wren").placements] == [True, False]


@given(st.integers(0, 2), st.fractions(-8, 8, max_denominator=6))
def test_shifting_there_and_back_is_nothing(index: int, by: Fraction) -> None:
    old = piece(at(0, 4, "a"), at(20, 4, "b"), at(40, 4, "c"))
    there = edits.shift(old, "Wren", index, by)
    assert edits.shift(there, "Wren", index, -by) == old


def test_what_cannot_be_is_refused() -> None:
    old = piece(at(0, 4))
    with pytest.raises(ComposerError, match="part of a beat"):
        edits.resize(old, "Wren", 0, Fraction(0))
    with pytest.raises(ComposerError, match="rate"):
        edits.set_rate(old, "Wren", 0, Fraction(0))
    with pytest.raises(IndexError):
        edits.remove(old, "Wren", 1)


def test_spots_and_notes_stay_in_time_order() -> None:
    new = edits.set_spot(piece(), Spot("Wren", Fraction(8), 1, 2))
    new = edits.set_spot(new, Spot("Wren", Fraction(0), 0, 2))
    new = edits.set_spot(new, Spot("Wren", Fraction(8), -1, 2))
    assert [(s.beat, s.x_m) for s in new.spots] == [(0, 0), (8, -1)]
    noted = edits.add_note(
        edits.add_note(new, CueNote(Fraction(9), "b")), CueNote(Fraction(1), "a")
    )
    assert [n.text for n in edits.remove_note(noted, 0).notes] == ["b"]


@given(st.lists(st.sampled_from(["do", "undo", "redo"]), max_size=30))
def test_undo_and_redo_walk_a_list(acts: list[str]) -> None:
    """Against the plainest model there is: a list and a place in it."""
    history, model, here = start_history(piece()), [piece()], 0
    for number, act in enumerate(acts):
        if act == "do":
            changed = edits.place(history.present, "Wren", at(number, 1))
            history = history.do(f"place {number}", changed)
            model, here = [*model[: here + 1], changed], here + 1
        elif act == "undo":
            history, here = history.undo(), max(0, here - 1)
        else:
            history, here = history.redo(), min(len(model) - 1, here + 1)
        assert history.present == model[here]
        assert history.can_undo == (here > 0)
        assert history.can_redo == (here < len(model) - 1)


def test_an_edit_that_changes_nothing_is_not_remembered() -> None:
    history = start_history(piece(at(0, 4)))
    assert history.do("nothing", edits.shift(history.present, "Wren", 0, Fraction(0))) is history
