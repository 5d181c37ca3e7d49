"""Words to read from across a room: as large as fits, and plain where blocks would not do."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.views.big_words import QUARTERS, SMALLEST_ROWS, big_lines


@given(
    st.text(alphabet="abcdefghij -'0123456789", min_size=1, max_size=40),
    st.integers(10, 200),
    st.integers(1, 20),
)
def test_words_stay_inside_their_cells(text: str, columns: int, rows: int) -> None:
    lines = big_lines(text, columns, rows)
    assert len(lines) <= rows
    assert all(len(line) <= columns for line in lines)


def test_more_room_makes_larger_words() -> None:
    heights = [len(big_lines("triquetra", 200, rows)) for rows in (4, 8, 12)]
    assert heights == sorted(heights)
    assert heights[0] < heights[-1]


@pytest.mark.parametrize(("one", "other"), [("8", "3"), ("1", "7"), ("5", "6"), ("left", "right")])
def test_different_words_look_different(one: str, other: str) -> None:
    assert big_lines(one, 40, 4) != big_lines(other, 40, 4)


def test_blocks_where_they_fit_and_plain_letters_where_not() -> None:
    assert set("".join(big_lines("stall", 80, 6))) <= set(QUARTERS)
    assert big_lines("stall", 80, SMALLEST_ROWS - 1) == ("stall",)
    assert big_lines("灯籠の動き", 80, 6) == ("灯籠の動き",), (
        "a script the block font does not have"
    )
    assert big_lines("", 80, 6) == ()
