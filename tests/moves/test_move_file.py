"""A performer's own moves: read as written, or refused with one line that names the place."""

from dataclasses import replace
from fractions import Fraction

import pytest

from composer.errors import MoveFileError
from composer.motion.body import Body, Prop
from composer.moves.lengths import Length, length_from_text
from composer.moves.library import library_from_text, shipped_library
from composer.moves.model import Hybrid, OneHandMove, Relation, relation_from_text
from composer.moves.move_rows import hybrid_text, length_text
from composer.moves.recipe import FlowerRecipe

PLAIN = 'name = "mine"\nwords = "a move"\n'
HOLD = '{ share = "1", hold = ["0", "0"], spin = { from = "down", turns = "1" } }'


def one_hand(rest: str, head: str = PLAIN) -> str:
    return f"[[one_hand]]\n{head}{rest}\n"


def hybrid(rest: str) -> str:
    return f"[[hybrid]]\n{PLAIN}{rest}\n"


def test_a_file_is_added_to_the_shipped_moves():
    text = one_hand('flower = { head_turns = "-3/2", radius = "0.5 arm", tip = "left" }') + (
        '[[hybrid]]\nname = "both"\nwords = "x"\nright = { move = "mine" }\n'
        'left = { move = "Extension", orientation = "1/8" }\nhands = "split opposite"\n'
    )
    library = library_from_text(text, "mine.toml")
    mine, both = library.get("mine"), library.get("both")
    assert isinstance(mine, OneHandMove)
    assert mine.recipe == FlowerRecipe(Fraction(-3, 2), Length(arm=0.5), Fraction(1, 2))
    assert isinstance(both, Hybrid)
    assert both.hands == Relation(Fraction(1, 2), "opposite")
    assert both.left.move is shipped_library().get("extension")
    assert len(library.names()) == len(shipped_library().names()) + 2


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[[one_hand", "mine.toml: not a TOML file"),
        ('[[two_hand]]\nname = "x"', "two_hand: this key is not known"),
        (one_hand(""), "one_hand 1 (mine): a one-hand move takes one of flower and segments"),
        (
            one_hand('flower = { head_turns = -2, radius = "0.5 arm" }'),
            "one_hand 1 (mine), flower, head_turns: write text in quotes",
        ),
        (
            one_hand('flower = { head_turns = "0", radius = "0.5 arm" }'),
            "the head of a flower must turn",
        ),
        (
            one_hand('flower = { head_turns = "-4/2", radius = "0.5 arm" }'),
            "cannot draw a star of 6 points in 2 pieces",
        ),
        (
            one_hand('flower = { head_turns = "6/2", radius = "0.5 arm" }'),
            "cannot draw a star of 4 points in 2 pieces",
        ),
        (
            one_hand('flower = { head_turns = "-2", radius = "half an arm" }'),
            'flower, radius: a length is written like "0.65 arm"',
        ),
        (
            one_hand('flower = { head_turns = "-2", radius = "nan arm" }'),
            "flower, radius: a length is written like",
        ),
        (
            one_hand('flower = { head_turns = "-2", radius = "-0.5 arm" }'),
            "a radius must be finite and not negative",
        ),
        (
            one_hand('flower = { head_turns = "-2", radius = "1.4 arm" }'),
            "beyond the reach of an arm of 0.66 m",
        ),
        (
            one_hand(f"segments = [{HOLD}]", 'name = "triquetra"\nwords = "x"\n'),
            '"triquetra" is taken by another move',
        ),
        (
            one_hand(f"segments = [{HOLD}]", 'name = "Cat-Eye"\nwords = "x"\n'),
            '"Cat-Eye" is taken by another move',
        ),
        (
            one_hand(f'segments = [{HOLD}]\ncautions = ["fast head"]'),
            'no caution is called "fast head"; the nearest are "fast heads"',
        ),
        (
            one_hand('segments = [{ share = "1", hold = ["0", "0"] }]'),
            "segments 1: a segment takes one of spin and swing for the head",
        ),
        (
            one_hand(
                'segments = [{ share = "1", hold = ["0", "0"], line = { from = ["0", "0"], '
                'to = ["0", "0"] }, spin = { from = "down", turns = "1" } }]'
            ),
            "segments 1: a segment takes one of hold, arc and line for the hand",
        ),
        (
            one_hand(
                'segments = [{ share = "1/2", hold = ["0", "0"], '
                'spin = { from = "down", turns = "1" } }]'
            ),
            "the shares of its segments must add up to 1, they give 1/2",
        ),
        (
            one_hand(
                'segments = [{ share = "1/2", hold = ["0", "0"], spin = { from = "down", '
                'turns = "1" } }, { share = "1/2", hold = ["0.1 arm", "0"], '
                'spin = { from = "down", turns = "1" } }]'
            ),
            'one_hand "mine": the hand jumps',
        ),
        (
            one_hand(
                'segments = [{ share = "1", hold = ["0", "0"], '
                'spin = { from = "down", turns = "1/2" } }]'
            ),
            "the tether jumps",
        ),
        (
            one_hand(
                'segments = [{ share = "1", hold = ["0", "0"], '
                'swing = { about = "up", reach = "1/8" } }]'
            ),
            "must say how many beats it lasts",
        ),
        (
            hybrid('right = { move = "triquetre" }\nleft = { move = "box" }\nhands = "split same"'),
            'hybrid "mine", right: no one-hand move is called "triquetre"; the nearest are '
            '"triquetra"',
        ),
        (
            hybrid(
                'right = { move = "crossed cat-eyes" }\nleft = { move = "box" }\n'
                'hands = "split same"'
            ),
            '"crossed cat-eyes" is a hybrid',
        ),
        (
            hybrid('right = { move = "box" }\nleft = { move = "box" }\nhands = "splt same"'),
            'hands: a relation is written like "together same"',
        ),
        (
            hybrid(
                'right = { move = "box" }\nleft = { move = "box" }\nhands = "split same"\n'
                "left_entry = 2"
            ),
            "there is 1 such entry, so none has number 2",
        ),
        (one_hand("flower = { head_turns = '1e99999999', radius = '0.5 arm' }"), "a fraction"),
        (one_hand("flower = { head_turns = '99999999', radius = '0.5 arm' }"), "up to 99"),
        (one_hand("flower = { head_turns = '1/99999999', radius = '0.5 arm' }"), "down to 1/99"),
        (one_hand("flower = { head_turns = '2', radius = '1/0 arm' }"), "divided by 0"),
        (one_hand("flower = 3"), "write a table"),
        (one_hand("segments = 3"), "write a list"),
        ("one_hand = 3", "write a list"),
        (
            hybrid(
                'right = { move = "box" }\nleft = { move = "box" }\nhands = "split same"\n'
                "cycles = [99999999, 1]"
            ),
            "less than or equal to 99",
        ),
        (
            hybrid(
                'right = { move = "pendulum" }\nleft = { move = "short pendulum" }\n'
                'hands = "split same"'
            ),
            "never points 1/2 of a turn from down",
        ),
    ],
)
def test_bad_input_is_one_line_that_names_the_place(text, says):
    with pytest.raises(MoveFileError) as caught:
        library_from_text(text, "mine.toml")
    message = str(caught.value)
    assert message.startswith("mine.toml")
    assert says in message
    assert "\n" not in message


def test_a_gap_that_one_performers_measures_hide_is_found():
    """0.5 arm and 0.596 tether agree to a millimetre for the default body only (arithmetic)."""
    arm, tether = Length(arm=0.5), Length(tether=0.596)
    apart = arm.metres_for(Body(), Prop()) - tether.metres_for(Body(), Prop())
    assert abs(apart) < 1e-3
    segments = (
        'segments = [{ share = "1/2", line = { from = ["0", "0"], to = ["0.5 arm", "0"] }, '
        'spin = { from = "down", turns = "1" } }, { share = "1/2", '
        'line = { from = ["0.596 tether", "0"], to = ["0", "0"] }, '
        'spin = { from = "down", turns = "1" } }]'
    )
    with pytest.raises(MoveFileError, match="the hand jumps"):
        library_from_text(one_hand(segments), "mine.toml")


@pytest.mark.parametrize(
    ("text", "length"),
    [
        ("0", Length()),
        ("0.65 arm", Length(arm=0.65)),
        ("1/2 tether", Length(tether=0.5)),
        ("0.5 arm - 1 tether + 0.1 m", Length(arm=0.5, tether=-1, metres=0.1)),
        ("-1.5 shoulders", Length(shoulders=-1.5)),
        ("1 arm + 1 arm", Length(arm=2)),
    ],
)
def test_lengths_are_sums_of_arms_tethers_shoulders_and_metres(text, length):
    assert length_from_text(text) == length
    assert length_from_text(length_text(length)) == length


@pytest.mark.parametrize(
    "text", ["", "arm", "0.5", "0.5 legs", "0.5 arm 0.1 m", "1/0 arm", "1e3 m"]
)
def test_anything_else_is_no_length(text):
    with pytest.raises(ValueError, match="length"):
        length_from_text(text)


@pytest.mark.parametrize("timing", ["together", "split", "quarter", "three-quarter", "1/3", "5/16"])
@pytest.mark.parametrize("direction", ["same", "opposite"])
def test_relations_read_back_as_written(timing, direction):
    assert str(relation_from_text(f"{timing} {direction}")) == f"{timing} {direction}"


@pytest.mark.parametrize("text", ["", "same", "split", "split sideways", "3/2 same", "1/0 same"])
def test_anything_else_is_no_relation(text):
    with pytest.raises(ValueError, match=r"timing|relation"):
        relation_from_text(text)


@pytest.mark.parametrize("move", shipped_library().hybrids(), ids=lambda move: move.name)
def test_a_hybrid_written_as_a_row_reads_back_as_itself(move):
    renamed = replace(move, name="mine", also=())
    assert library_from_text(hybrid_text(renamed), "mine.toml").get("mine") == renamed
