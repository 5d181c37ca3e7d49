"""Floor plans in pictures and cells, and what the screens are given to show and edit them."""

import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from fractions import Fraction
from io import BytesIO

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pieces import LIBRARY, four, spot, standing
from PIL import Image

from composer.check.checks import check_routine
from composer.check.landing import landing_table
from composer.export.choice import View
from composer.export.floor_cells import floor_lines, floor_scale
from composer.export.floor_plan import floor_plan, floor_sheet, floor_time, floor_times
from composer.export.picture import Dot, Words
from composer.export.picture_png import picture_png
from composer.export.picture_svg import picture_svg
from composer.score.floor import Place, reach_m, standings
from composer.score.parts import performed_parts
from composer.score.routine import Stage
from tui.views.floor import (
    STEP_M,
    floor_page,
    floor_stops,
    next_stop,
    nudged,
    phrase_stop,
    turned,
    walking_longer,
    with_new_spot,
    with_spot_at,
    without_spot,
)
from tui.views.paper import plain
from tui.views.parts import (
    fitted_columns,
    heading_line,
    next_performer,
    part_choices,
    parts_lines,
)
from tui.views.rows import Zoom, sheet_rows

DROP = Fraction(64)
NAMES = ["Wren", "Lark", "Tern", "Finch"]


def circles(picture: object) -> list[Dot]:
    return [one for one in picture.shapes if isinstance(one, Dot) and one.ring_width]  # type: ignore[attr-defined]


def test_circles_on_the_plan_are_reaches_to_the_floor_s_scale() -> None:
    """13 m of floor are 900 - 2 * 56 pixels; the circles stand and measure so."""
    plan = floor_plan(four(), floor_time(four(), DROP))
    pixels = (900 - 2 * 56) / 13
    drawn = circles(plan)
    assert [dot.radius for dot in drawn] == pytest.approx(
        [reach_m(p) * pixels for p in four().performers], abs=1e-9
    )
    wren, lark = drawn[:2]
    assert (lark.x - wren.x, lark.y - wren.y) == pytest.approx(
        ((3.2 - 1.5) * pixels, -(6 - 2.6) * pixels), abs=1e-9
    )


def test_the_performers_plan_turns_the_page_round() -> None:
    audience, performers = (
        circles(floor_plan(four(), floor_time(four(), DROP), view)) for view in View
    )
    for one, other in zip(audience, performers, strict=True):
        assert one.x + other.x == pytest.approx(900, abs=1e-9)


def test_every_plan_is_told_in_words_with_the_caution_and_no_promise() -> None:
    for time in floor_times(four()):
        plan = floor_plan(four(), time)
        written = [one.text for one in plan.shapes if isinstance(one, Words)]
        assert set(NAMES) <= set(written)
        assert any("Local codes" in text for text in written)
        assert not any("safe" in text.casefold() for text in [*written, plan.description])
        assert all(name in plan.description for name in NAMES)


def test_svg_is_whole_xml_and_png_has_the_plan_s_size() -> None:
    sheet = floor_sheet(four())
    root = ElementTree.fromstring(picture_svg(sheet))
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    plan = floor_plan(four(), floor_time(four(), DROP), width=600)
    with Image.open(BytesIO(picture_png(plan))) as image:
        assert image.size == (plan.width, plan.height)


def test_there_is_a_plan_for_every_arrival() -> None:
    assert [time.beat for time in floor_times(four())] == [0, 64, 104, 112, 120, 128, 144]


@given(st.floats(-6, 6), st.floats(0.2, 9.8), st.sampled_from(list(View)))
def test_a_cell_of_the_plan_lies_within_half_a_cell_of_its_place(
    x_m: float, y_m: float, view: View
) -> None:
    scale = floor_scale(Stage(13, 10), view, 65, 40)
    back = scale.place(*scale.cell(Place(x_m, y_m)))
    assert abs(back.x_m - x_m) <= scale.column_m / 2 + 1e-9
    assert abs(back.y_m - y_m) <= scale.row_m / 2 + 1e-9


def test_lines_of_the_plan_are_of_one_length_and_plain_ones_are_ascii() -> None:
    lines = floor_lines(four(), Fraction(108), plain=True, columns=50, rows=20)
    assert all(line.isascii() for line in lines)
    inner = lines[1:-1]
    assert len({len(line) for line in inner}) == 1
    for name in NAMES:
        assert any(f"{name[:3]}v" in line for line in inner)


def test_facings_point_to_the_audience_wherever_it_is_drawn() -> None:
    spots = [replace(spot("A", 0, 0), facing_turns=Fraction(1, 4))]
    routine = standing(spots, stage=Stage(12, 10))
    audience = "\n".join(floor_lines(routine, DROP, View.AUDIENCE, plain=True))
    performers = "\n".join(floor_lines(routine, DROP, View.PERFORMER, plain=True))
    assert "A>" in audience  # a quarter turn to her left: stage left, the right of the page
    assert "A<" in performers


# ------------------------------------------------------------------ what screens show and edit


def test_a_click_on_a_name_finds_her_and_a_click_on_the_floor_its_place() -> None:
    page = floor_page(four(), DROP, columns=70, rows=30)
    lines = [plain(line) for line in page.lines]
    assert len({len(line) for line in lines}) == 1
    for name in NAMES:
        row = next(k for k, line in enumerate(lines) if f"{name[:3]}↓" in line)
        column = lines[row].index(f"{name[:3]}↓") + 1
        assert page.performer_at(column, row) == name
        at = page.place_at(column, row)
        here = next(one.place for one in standings(four(), DROP) if one.performer == name)
        assert at is not None
        assert at.distance_m(here) < page.scale.row_m
    assert page.place_at(0, 0) is None
    assert page.performer_at(0, 0) == ""


def test_the_chosen_performer_is_marked_and_warnings_are_told_where_she_stands() -> None:
    close = with_spot_at(four(), "Lark", DROP, Place(2.6, 4.4))
    page = floor_page(close, DROP, selected="Lark", findings=check_routine(close, LIBRARY))
    roles = {piece.role for line in page.lines for piece in line}
    assert "ruler cursor" in roles
    told = {plain(line).split(" ")[0]: plain(line) for line in page.told}
    assert "circles meet" in told["Lark"]
    assert "circles meet" in told["Wren"]
    assert "circles meet" not in told["Finch"]


@pytest.mark.parametrize("view", list(View))
def test_keys_move_a_spot_the_way_they_point_on_the_page(view: View) -> None:
    before = floor_page(four(), DROP, view=view)
    moved = nudged(four(), "Lark", DROP, 4, 4, view)
    here, there = (
        next(one.place for one in standings(r, DROP) if one.performer == "Lark")
        for r in (four(), moved)
    )
    columns = [before.scale.cell(place) for place in (here, there)]
    assert columns[1][0] > columns[0][0]
    assert columns[1][1] > columns[0][1]
    assert here.distance_m(there) == pytest.approx(4 * STEP_M * 2**0.5, abs=1e-9)


def test_spots_are_added_turned_walked_to_longer_and_taken_out() -> None:
    added = with_new_spot(four(), "Wren", Fraction(80))
    assert len(added.spots) == len(four().spots) + 1
    assert standings(added, Fraction(100)) == standings(four(), Fraction(100))
    facing = turned(added, "Wren", Fraction(80), 3)
    assert standings(facing, Fraction(80))[0].facing_turns == Fraction(3, 8)
    longer = walking_longer(added, "Wren", Fraction(80), 2)
    assert {s.travel_beats for s in longer.spots if s.beat == 80} == {6}
    assert without_spot(added, "Wren", Fraction(80)) == four()


def test_the_lead_steps_through_arrivals_and_phrases() -> None:
    stops = floor_stops(four())
    assert {0, 56, 64, 96, 104, 112, 120, 128, 144} <= set(stops)
    assert next_stop(four(), Fraction(56), 1) == 64
    assert next_stop(four(), Fraction(0), -1) == 0
    assert phrase_stop(four(), Fraction(70), 1) == 96
    assert phrase_stop(four(), Fraction(70), -1) == 64


def test_all_parts_stand_side_by_side_with_followed_moves_marked() -> None:
    rows = sheet_rows(four().grid, Zoom.EIGHTS)
    columns = fitted_columns(NAMES, 130)
    lines = parts_lines(
        rows,
        performed_parts(four()),
        columns,
        landings=landing_table(four(), LIBRARY),
        cursor=Fraction(20),
    )
    assert len(lines) == len(rows)
    texts = [plain(line) for line in lines]
    assert len({len(text) for text in texts} | {len(plain(heading_line(columns, "Wren")))}) == 1
    drop = next(text for text in texts if text.startswith("  17*"))
    cells = [drop[start : start + columns.width_cells].strip() for start in columns.starts]
    assert cells[0].startswith("extension")
    assert cells[1].startswith("» extension")
    assert cells[2].startswith("» ⇄ extension")
    canon = next(text for text in texts if text.startswith("   5"))
    assert [canon[start : start + 2] for start in columns.starts[1:]] == ["2:", "3:", "4:"]


def test_narrow_panes_show_some_columns_and_scroll() -> None:
    columns = fitted_columns([f"Voice {k}" for k in range(12)], 60, first=4)
    assert columns.names[0] == "Voice 4"
    assert len(columns.names) == 6
    assert columns.performer_at(0) == ""
    assert columns.performer_at(columns.starts[2] + 1) == columns.names[2]
    assert fitted_columns(["A", "B"], 80, first=9).names == ("A", "B")


def test_the_switcher_tells_what_each_part_is_made_of() -> None:
    choices = {one.performer: one for one in part_choices(four(), check_routine(four(), LIBRARY))}
    assert choices["Wren"].words == "14 moves of her own"
    assert "follows Wren mirrored" in choices["Finch"].words
    assert next_performer(four(), "Finch", 1) == "Wren"
    assert next_performer(four(), "Wren", -1) == "Finch"
