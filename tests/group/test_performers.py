"""Who comes into the piece and who goes, with all that is hers."""

from dataclasses import replace

import pytest
from pieces import four

from composer.arrange.performers import MOST_PERFORMERS, brought_in, taken_out
from composer.errors import ComposerError
from composer.score.parts import performed_parts


def test_who_comes_in_has_measures_and_props_of_another_and_nothing_to_do() -> None:
    more = brought_in(four(), "  Rook ", "Wren")
    assert [one.name for one in more.performers] == ["Wren", "Lark", "Tern", "Finch", "Rook"]
    assert replace(more.performer("Rook"), name="Wren") == four().performer("Wren")
    assert performed_parts(more)["Rook"] == ()
    assert (more.parts, more.spots) == (four().parts, four().spots)


@pytest.mark.parametrize("name", ["", "  ", "Wren", "a" * 41, "Ro\x1bok"])
def test_a_name_that_is_none_or_is_taken_is_refused(name: str) -> None:
    with pytest.raises(ComposerError):
        brought_in(four(), name, "Wren")


def test_a_piece_has_twelve_at_the_most() -> None:
    """Issue of the group: parts for 1 to 12 performers."""
    piece = four()
    while len(piece.performers) < MOST_PERFORMERS:
        piece = brought_in(piece, f"Voice {len(piece.performers)}", "Wren")
    with pytest.raises(ComposerError, match="at most 12"):
        brought_in(piece, "Rook", "Wren")


def test_who_goes_takes_part_spots_and_cues_along() -> None:
    less = taken_out(four(), "Finch")
    assert [one.name for one in less.performers] == ["Wren", "Lark", "Tern"]
    assert {spot.performer for spot in less.spots} == {"Wren", "Lark", "Tern"}
    before, after = performed_parts(four()), performed_parts(less)
    assert all(after[name] == before[name] for name in after)


def test_whom_others_follow_and_who_is_alone_does_not_go() -> None:
    with pytest.raises(ComposerError, match="Lark and Tern and Finch follow Wren"):
        taken_out(four(), "Wren")
    with pytest.raises(ComposerError, match="Tern follows Lark"):
        taken_out(four(), "Lark")
    alone = taken_out(taken_out(taken_out(four(), "Finch"), "Tern"), "Lark")
    with pytest.raises(ComposerError, match="only performer"):
        taken_out(alone, "Wren")
