"""Stage words and plans. Stage right is the right of who faces the audience (theatre usage)."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.export.choice import View
from composer.export.floor_plan import from_above
from composer.score.floor import Place
from composer.score.routine import Stage
from composer.score.stage_words import (
    AREAS,
    area,
    facing_words,
    place_words,
    seen_from_the_other_side,
)

STAGE = Stage(9.0, 6.0)
ROUND = Stage(10.0, 10.0, in_the_round=True)
PLACES = st.builds(Place, st.floats(-20, 20), st.floats(-20, 20))


@pytest.mark.parametrize(
    ("x_m", "y_m", "name"),
    [
        (3, 1, "DSR"), (0, 1, "DSC"), (-3, 1, "DSL"),
        (3, 3, "SR"), (0, 3, "CS"), (-3, 3, "SL"),
        (3, 5, "USR"), (0, 5, "USC"), (-3, 5, "USL"),
    ],
)  # fmt: skip
def test_the_nine_areas(x_m: float, y_m: float, name: str) -> None:
    """BBC Bitesize Drama, "nine stage positions": downstage is nearest to the audience."""
    assert area(Place(x_m, y_m), STAGE) == name
    assert {one for row in AREAS for one in row} >= {name}


@given(PLACES)
def test_the_floor_seen_from_the_other_side_twice_is_the_floor(place: Place) -> None:
    once = seen_from_the_other_side(place, STAGE)
    twice = seen_from_the_other_side(once, STAGE)
    assert twice.x_m == pytest.approx(place.x_m, abs=1e-12)
    assert twice.y_m == pytest.approx(place.y_m, abs=1e-12)


@given(PLACES)
def test_the_performers_plan_is_the_audiences_turned_round(place: Place) -> None:
    audience = from_above(place, STAGE, View.AUDIENCE)
    other = from_above(seen_from_the_other_side(place, STAGE), STAGE, View.PERFORMER)
    assert audience == pytest.approx(other, abs=1e-12)


def test_the_audience_sees_stage_right_on_its_left_and_downstage_below() -> None:
    left, below = from_above(Place(4.5, 0.0), STAGE, View.AUDIENCE)
    assert (left, below) == (0.0, 6.0)
    right, above = from_above(Place(4.5, 0.0), STAGE, View.PERFORMER)
    assert (right, above) == (9.0, 0.0)


def test_in_the_round_the_compass_takes_the_place_of_upstage() -> None:
    """No upstage exists in the round. North up and seen from above, west is to the left."""
    assert place_words(Place(0, 8), ROUND) == "3 m north of the middle"
    assert place_words(Place(2, 5), ROUND) == "2 m west of the middle"
    assert place_words(Place(-1, 4), ROUND) == "1.41 m south-east of the middle"
    assert place_words(Place(0, 5), ROUND) == "in the middle"
    for words in (place_words(Place(3, 9), ROUND), facing_words(Fraction(0), ROUND)):
        assert "stage" not in words


@pytest.mark.parametrize(
    ("x_m", "y_m", "words"),
    [
        (1.5, 2.0, "1.5 m stage right, 2 m upstage"),
        (-1.5, 2.0, "1.5 m stage left, 2 m upstage"),
        (0.0, 3.0, "on the middle line, 3 m upstage"),
        (0.04, 3.0, "on the middle line, 3 m upstage"),
        (0.0, -0.5, "on the middle line, 0.5 m beyond the front edge"),
    ],
)
def test_places_are_told_from_the_middle_of_the_front_edge(
    x_m: float, y_m: float, words: str
) -> None:
    """x runs to the right of who faces the audience, stage right; y upstage (theatre usage)."""
    assert place_words(Place(x_m, y_m), STAGE) == words


@pytest.mark.parametrize(
    ("turns", "plain", "compass"),
    [
        (Fraction(0), "to the audience", "south"),
        (Fraction(1, 4), "1/4 turn to her left", "east"),
        (Fraction(1, 2), "upstage", "north"),
        (Fraction(3, 4), "1/4 turn to her right", "west"),
    ],
)
def test_facings_run_counter_clockwise_from_above(
    turns: Fraction, plain: str, compass: str
) -> None:
    """From south, counter-clockwise on a map with north up, comes east; it is to her left."""
    assert facing_words(turns, STAGE) == plain
    assert facing_words(turns, ROUND) == compass
