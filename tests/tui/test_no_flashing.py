"""The rehearsal view never flashes: WCAG 2.x, SC 2.3.1, three flashes in any second at most."""

from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest

from composer.files.routine_file import load_routine
from composer.score.cues import cue_list
from composer.score.parts import performed_part
from tui.views.paper import Line
from tui.views.rehearsing import phrase_line, stage_lines, standing

ROUTINE = load_routine(Path(__file__).parents[2] / "routines" / "lantern_quay.toml")
MOVES, CUES = performed_part(ROUTINE, "Wren"), cue_list(ROUTINE, "Wren")
LOOKS_PER_S = 30
FASTEST_BPM = 240


def cells(lines: tuple[Line, ...], columns: int) -> list[tuple[bool, str]]:
    """Whether each cell is inked, and in which role."""
    shown = []
    for line in lines:
        row = [(mark != " ", piece.role) for piece in line for mark in piece.text]
        shown += [*row, *[(False, "")] * columns][:columns]
    return shown


@pytest.mark.parametrize(("columns", "rows"), [(80, 18), (200, 44)])
@pytest.mark.parametrize("first_beat", [2.0, 12.0, 60.0])
def test_no_cell_of_the_rehearsal_flashes_more_than_three_times_a_second(
    columns: int, rows: int, first_beat: float
) -> None:
    """A flash is a pair of opposing changes: at 240 beats a minute a mark that lit on every beat
    would flash four times a second. Each cell is followed for two seconds."""
    looks = []
    for k in range(2 * LOOKS_PER_S):
        beat = first_beat + k / LOOKS_PER_S * FASTEST_BPM / 60
        place = ROUTINE.grid.meter_map.position(Fraction(int(beat)))
        seen = standing(
            ROUTINE.grid, MOVES, CUES, beat, bar=place.bar, count=int(place.count), counting=False
        )
        lines = (*stage_lines(seen, columns, rows), phrase_line(seen, columns))
        looks.append(cells(lines, columns))
    changes = [
        sum(before != after for before, after in pairwise(cell))
        for cell in zip(*looks, strict=True)
    ]
    assert max(changes) > 0, "the countdown runs"
    assert max(changes) // 2 <= 2 * 3
