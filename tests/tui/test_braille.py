"""Trails in terminal cells: the dots of Unicode's braille patterns, and plain characters."""

import itertools

import numpy as np
import pytest

from composer.export.choice import View
from composer.export.picture_cells import BODY, LEFT, RIGHT, DotCanvas, move_cells
from composer.motion.body import Body, Prop
from composer.moves.library import shipped_library
from composer.moves.perform import Style, perform
from tui.views.braille import CellRun, cell_runs, trail_rows

PROPS = (Prop(), Prop())


def performed(name, **style):
    return perform(shipped_library().get(name), Style(**style), Body(), PROPS)


@pytest.mark.parametrize(
    ("across", "down", "character"),
    [
        (0, 0, "⠁"), (0, 1, "⠂"), (0, 2, "⠄"), (0, 3, "⡀"),
        (1, 0, "⠈"), (1, 1, "⠐"), (1, 2, "⠠"), (1, 3, "⢀"),
    ],
)  # fmt: skip
def test_each_dot_is_its_bit(across, down, character):
    """The Unicode Standard, Braille Patterns: dots 1-3 and 7 down the left, 4-6 and 8 the right."""
    canvas = DotCanvas(4, 4)
    canvas.draw(np.array([[across + 0.5, down + 0.5]] * 2), RIGHT)
    lines = canvas.cells().lines
    assert lines[0][0] == character
    assert set("".join(lines)) == {character, "⠀"}


def test_a_level_line_fills_its_row_of_dots():
    canvas = DotCanvas(4, 4)
    canvas.draw(np.array([[0.5, 0.5], [7.5, 0.5]]), RIGHT)
    assert canvas.cells().lines[0] == "⠉⠉⠉⠉"


def test_a_dotted_line_has_every_other_dot():
    canvas = DotCanvas(4, 4)
    canvas.draw(np.array([[0.5, 0.5], [7.5, 0.5]]), LEFT, dotted=True)
    assert canvas.cells().lines[0] == "⠁⠁⠁⠁"


def test_a_trail_hides_the_body_and_places_outside_are_left_out():
    canvas = DotCanvas(4, 4)
    canvas.draw(np.array([[0.5, 0.5], [0.5, 15.5]]), BODY)
    canvas.draw(np.array([[-30.0, 0.5], [30.0, 0.5]]), RIGHT)
    cells = canvas.cells()
    assert cells.filled_by[0].tolist() == [RIGHT] * 4
    assert cells.lines[0] == "⠉⠉⠉⠉"
    assert cells.filled_by[:, 0].tolist() == [RIGHT, BODY, BODY, BODY]


@pytest.mark.parametrize("braille", [True, False])
@pytest.mark.parametrize(("columns", "rows"), [(40, 20), (60, 30), (100, 40)])
def test_a_trail_is_as_large_as_asked_for(columns, rows, braille):
    cells = move_cells(
        performed("extension with triquetra"), Body(), columns=columns, rows=rows, braille=braille
    )
    assert len(cells.lines) == rows
    assert {len(line) for line in cells.lines} == {columns}
    assert cells.filled_by.shape == (rows, columns)
    allowed = {chr(0x2800 + code) for code in range(256)} if braille else set(" .*o@")
    assert set("".join(cells.lines)) <= allowed


def test_an_extension_is_round_in_square_dots():
    """Cells are twice as high as wide, a cell holds 2 x 4 dots: as many dots across as down."""
    cells = move_cells(performed("extension", hand="right"), Body(), columns=80, rows=40)
    rows, columns = np.nonzero(cells.filled_by == RIGHT)
    across, down = np.ptp(columns) * 2, np.ptp(rows) * 4
    assert abs(int(across) - int(down)) <= 4


def test_the_audience_sees_the_mirror_image():
    one = move_cells(
        performed("triquetra pointing right", hand="right"), Body(), columns=80, rows=40
    )
    other = move_cells(
        performed("triquetra pointing right", hand="right"),
        Body(),
        View.AUDIENCE,
        columns=80,
        rows=40,
    )
    middle = 40
    ours = np.nonzero(one.filled_by == RIGHT)[1]
    theirs = np.nonzero(other.filled_by == RIGHT)[1]
    assert abs((ours.max() - middle) - (middle - 1 - theirs.min())) <= 1


def test_rows_part_where_the_filling_changes_and_join_to_the_lines():
    performance = performed("extension with triquetra")
    cells = move_cells(performance, Body(), columns=40, rows=20)
    rows = trail_rows(performance, Body(), columns=40, rows=20)
    assert ["".join(run.text for run in row) for row in rows] == list(cells.lines)
    for row in rows:
        assert all(one.role != two.role for one, two in itertools.pairwise(row))
    roles = {run.role for row in rows for run in row}
    assert roles == {"", "body", "right", "left", "both"}


def test_an_empty_canvas_is_one_run_a_row():
    assert cell_runs(DotCanvas(4, 4).cells()) == ((CellRun("⠀" * 4, ""),),) * 4


def test_too_small_a_canvas_is_refused():
    with pytest.raises(ValueError, match="4 x 4"):
        DotCanvas(3, 20)
