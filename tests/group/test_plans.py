"""Floor plans in pictures and cells, and what the screens are given to show and edit them."""

import xml.etree.ElementTree as ElementTree
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from io import BytesIO

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pieces import LIBRARY, four, spot, standing, with_spot
from PIL import Image

from composer.check.checks import check_routine
from composer.check.landing import landing_table
from composer.check.landing_unison import unison_windows
from composer.errors import ComposerError
from composer.export.choice import View
from composer.export.floor_cells import floor_lines, floor_scale
from composer.export.floor_plan import floor_plan, floor_time, floor_times
from composer.export.floor_sheet import WHITE, floor_sheet, paper_plan
from composer.export.picture import Dot, Words
from composer.export.picture_png import picture_png
from composer.export.picture_svg import picture_svg
from composer.score.floor import Place, reach_m, standings
from composer.score.parts import performed_parts
from composer.score.routine import Obstacle, Stage
from tui.views.floor import floor_page, floor_stops, meeting_now, next_stop
from tui.views.floor_edits import (
    FINE_M,
    STEP_M,
    arriving_later,
    carried,
    nudged,
    turned,
    typed_place,
    typed_walk,
    walking_longer,
    with_new_spot,
    with_obstacle,
    with_stage_size,
    without_spot,
)
from tui.views.floor_words import (
    found_here,
    nearest_sentence,
    phrases_line,
    spot_sentence,
    standing_lines,
)
from tui.views.paper import plain
from tui.views.parts import (
    PartsPage,
    Together,
    fitted_columns,
    heading_line,
    next_performer,
    part_choices,
    parts_page,
)
from tui.views.rows import Zoom, sheet_rows

DROP = Fraction(96)
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
    assert [time.beat for time in floor_times(four())] == [0, 48, 96, 160, 168, 176, 184, 192, 208]


def test_a_plan_for_paper_is_grey_on_white() -> None:
    plan = paper_plan(four(), floor_time(four(), DROP), View.AUDIENCE)
    assert plan.ground == WHITE
    inks = {shape.ink for shape in plan.shapes}
    assert all(red == green == blue for red, green, blue in inks)
    assert set(NAMES) <= {one.text for one in plan.shapes if isinstance(one, Words)}


def test_whose_sheet_it_is_has_the_heavy_circle() -> None:
    plan = paper_plan(four(), floor_time(four(), DROP), View.AUDIENCE, marked="Tern")
    widths = [dot.ring_width for dot in circles(plan)]
    assert [width == max(widths) for width in widths] == [name == "Tern" for name in NAMES]


def test_a_name_leaves_the_arrow_to_be_seen() -> None:
    """Lark comes from the front at high tide, from the back in the second round."""
    for beat, comes_from_above in ((96, False), (48, True)):
        plan = floor_plan(four(), floor_time(four(), Fraction(beat)))
        name = next(s for s in plan.shapes if isinstance(s, Words) and s.text == "Lark")
        assert (name.y > circles(plan)[1].y) is comes_from_above


@given(st.floats(-6, 6), st.floats(0.2, 9.8), st.sampled_from(list(View)))
def test_a_cell_of_the_plan_lies_within_half_a_cell_of_its_place(
    x_m: float, y_m: float, view: View
) -> None:
    scale = floor_scale(Stage(13, 10), view, 65, 40)
    back = scale.place(*scale.cell(Place(x_m, y_m)))
    assert abs(back.x_m - x_m) <= scale.column_m / 2 + 1e-9
    assert abs(back.y_m - y_m) <= scale.row_m / 2 + 1e-9


def test_lines_of_the_plan_are_of_one_length_and_plain_ones_are_ascii() -> None:
    lines = floor_lines(four(), Fraction(172), plain=True, columns=50, rows=20)
    assert all(line.isascii() for line in lines)
    inner = lines[1:-1]
    assert len({len(line) for line in inner}) == 1
    for name in NAMES:
        assert any(f"{name[:3]}v" in line for line in inner)


def test_ways_bear_their_beats_in_pictures_and_in_cells() -> None:
    """In the crossing everybody walks 4.4 m in 8 beats; short ways have no room for figures."""
    plan = floor_plan(four(), floor_time(four(), Fraction(176)))
    written = [one.text for one in plan.shapes if isinstance(one, Words)]
    assert written.count("8 beats") == 4
    lines = floor_lines(four(), Fraction(174), plain=True, columns=60, rows=24)
    assert sum(line.count("8") for line in lines) == 4
    short = floor_plan(four(), floor_time(four(), Fraction(48)))
    assert not any("beats" in one.text for one in short.shapes if isinstance(one, Words))


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
        assert at.distance_m(here) < page.scale.row_m
    assert page.performer_at(0, 0) == ""


CLOSE = with_spot(four(), "Lark", 96, x_m=2.6, y_m=4.4)


def test_circles_that_meet_are_drawn_as_such_and_told_with_their_figure() -> None:
    """Lark (2.6, 4.4) is 1.9 m from Wren (3.2, 2.6); two reaches of 1.21 m take 2.42 m."""
    page = floor_page(CLOSE, DROP, selected="Lark")
    drawn = "".join(plain(line) for line in page.lines)
    assert meeting_now(CLOSE, DROP) == (("Wren", "Lark"),)
    assert "×" in drawn
    assert "×" not in "".join(plain(line) for line in floor_page(four(), DROP).lines)
    reach = reach_m(four().performer("Wren"))
    over = 2 * reach - (0.6**2 + 1.8**2) ** 0.5
    told = nearest_sentence(CLOSE, "Lark", DROP)
    assert told == f"Nearest on this beat: Wren, 1.90 m away, circles {over:.2f} m over."


@pytest.mark.parametrize("width", [34, 76])
def test_everybody_has_a_line_with_her_place_and_how_grave_what_is_found_is(width: int) -> None:
    findings = check_routine(CLOSE, LIBRARY)
    lines = standing_lines(CLOSE, DROP, findings, "Lark", width, View.AUDIENCE)
    told = dict(zip(NAMES, map(plain, lines), strict=True))
    assert all(len(text) == width for text in told.values())
    assert told["Lark"].startswith("▸ 2 Lark")
    assert "✖" in told["Lark"]
    assert "✖" in told["Wren"]
    assert "✖" not in told["Finch"]
    assert "3.2" in told["Finch"]
    assert "left" in told["Finch"]


def test_circles_that_meet_for_long_are_told_in_every_phrase_in_which_they_do() -> None:
    """Lark beside Wren from the intro on: nearest while they walk, in the first round's end."""
    beside = with_spot(four(), "Lark", 0, x_m=3.7, y_m=5.9)
    findings = [f for f in check_routine(beside, LIBRARY) if f.rule == "circles meet"]
    assert [four().grid.phrase_index_at(one.beat) for one in findings] == [1]
    told = [found_here(beside, findings, Fraction(beat)) for beat in (0, 16, 48, 96)]
    assert told == [findings, findings, [], []]


def test_the_phrases_are_told_with_the_present_one_marked() -> None:
    whole = plain(phrases_line(four(), DROP, 120))
    assert "▸high tide" in whole
    assert whole.index("intro") < whole.index("▸high tide") < whole.index("ending")
    narrow = plain(phrases_line(four(), DROP, 30))
    assert len(narrow) <= 30
    assert "▸high tide" in narrow


# ------------------------------------------------------------------ edits by hand


@pytest.mark.parametrize("view", list(View))
@pytest.mark.parametrize("step_m", [STEP_M, FINE_M])
def test_keys_move_a_spot_the_way_they_point_on_the_page(view: View, step_m: float) -> None:
    before = floor_page(four(), DROP, view=view)
    moved = four()
    for _ in range(round(1 / step_m)):
        moved = nudged(moved, ["Lark"], DROP, (1, 1), view, step_m)
    here, there = (
        next(one.place for one in standings(r, DROP) if one.performer == "Lark")
        for r in (four(), moved)
    )
    columns = [before.scale.cell(place) for place in (here, there)]
    assert columns[1][0] > columns[0][0]
    assert columns[1][1] > columns[0][1]
    assert here.distance_m(there) == pytest.approx(2**0.5, abs=1e-9)


def test_spots_are_added_turned_walked_to_longer_and_taken_out() -> None:
    added = with_new_spot(four(), "Wren", Fraction(112))
    assert len(added.spots) == len(four().spots) + 1
    assert standings(added, Fraction(130)) == standings(four(), Fraction(130))
    facing = turned(added, ["Wren"], Fraction(112), 3)
    assert standings(facing, Fraction(112))[0].facing_turns == Fraction(3, 8)
    longer = walking_longer(added, ["Wren"], Fraction(112), 2)
    assert {s.travel_beats for s in longer.spots if s.beat == 112} == {6}
    assert without_spot(added, "Wren", Fraction(112)) == four()
    with pytest.raises(ComposerError, match="already"):
        with_new_spot(added, "Wren", Fraction(112))


def test_a_spot_is_reached_later_but_never_on_another_one_nor_before_the_music() -> None:
    later = arriving_later(four(), NAMES, DROP, 2)
    assert [s.beat for s in later.spots if s.performer == "Lark"][:3] == [0, 48, 98]
    assert len(later.spots) == len(four().spots)
    with pytest.raises(ComposerError, match="music begins"):
        arriving_later(four(), ["Lark"], Fraction(0), -1)
    with pytest.raises(ComposerError, match="another spot"):
        arriving_later(four(), ["Lark"], Fraction(176), 8)


def test_a_drag_moves_the_spot_by_the_way_of_the_mouse() -> None:
    dragged = carried(four(), "Lark", DROP, Place(1.0, 5.0), Place(0.0, 5.52))
    lark = next(one.place for one in standings(dragged, DROP) if one.performer == "Lark")
    assert lark == pytest.approx((0.5, 6.5), abs=1e-9)


def test_which_spot_is_moved_is_told_with_the_walk_to_it() -> None:
    """1.4, 4.4 to 1.5, 6.0 is 1.603 m; 16 beats at 120 take 8 s: 0.20 m/s."""
    told = spot_sentence(four(), "Lark", Fraction(112))
    assert told.startswith("Lark's spot of bar 25, count 1: 1.5 m stage right, 6 m upstage")
    assert "1.60 m walked in 16 beats from bar 21, count 1 at 0.20 m/s" in told


def test_places_walks_stages_and_obstacles_are_typed() -> None:
    assert typed_place("-3.2, 2.6") == Place(-3.2, 2.6)
    assert typed_walk("8 3.2") == (Fraction(8), 3.2)
    assert typed_walk("4") == (Fraction(4), None)
    wide = with_stage_size(four(), "15 x 9.5").stage
    assert (wide.width_m, wide.depth_m) == (15, 9.5)
    marked = with_obstacle(four(), "pillar 2.5 4 0.3")
    assert marked.stage.obstacles == (Obstacle("pillar", 2.5, 4, 0.3),)
    assert with_obstacle(marked, "pillar").stage.obstacles == ()


@pytest.mark.parametrize(
    ("read", "text"),
    [
        (typed_place, "3.2"), (typed_place, "nan nan"), (typed_place, "left 3"),
        (typed_walk, "0"), (typed_walk, ""), (typed_walk, "8 -1"), (typed_walk, "inf"),
        (lambda text: with_stage_size(four(), text), "13"),
        (lambda text: with_stage_size(four(), text), "0 x 10"),
        (lambda text: with_obstacle(four(), text), "pillar 2 3"),
        (lambda text: with_obstacle(four(), text), "nothing"),
        (lambda text: with_obstacle(four(), text), ""),
    ],
)  # fmt: skip
def test_what_cannot_be_meant_is_told_in_one_line(read: Callable[[str], object], text: str) -> None:
    with pytest.raises(ComposerError) as told:
        read(text)
    assert "\n" not in str(told.value)


def test_the_lead_steps_through_leavings_arrivals_and_phrases() -> None:
    stops = floor_stops(four())
    assert {0, 40, 48, 80, 96, 128, 144, 160, 168, 176, 184, 192, 208} <= set(stops)
    assert next_stop(four(), Fraction(90), 1) == 96
    assert next_stop(four(), Fraction(0), -1) == 0


def all_parts(width: int = 130) -> PartsPage:
    together = Together(landing_table(four(), LIBRARY), unison_windows(four(), LIBRARY))
    return parts_page(
        sheet_rows(four().grid, Zoom.EIGHTS),
        performed_parts(four()),
        fitted_columns(NAMES, width),
        phrases=[phrase.name for phrase in four().grid.phrases],
        together=together,
    )


def row_at(page: PartsPage, beat: int) -> tuple[str, list[str]]:
    """Gutter and cells of the row that begins on a beat."""
    index = next(k for k, row in enumerate(page.rows) if row.span.start_beat == beat)
    text = plain(page.lines[page.line_of_row[index]])
    cells = [text[start : start + page.columns.width_cells] for start in page.columns.starts]
    return text[: page.columns.starts[0]], cells


def test_all_parts_stand_side_by_side_with_followed_moves_marked() -> None:
    page = all_parts()
    widths = {len(plain(line)) for line in page.lines}
    assert widths == {len(plain(heading_line(page.columns, "Wren")))}
    _, drop = row_at(page, 96)
    assert drop[0][3:].startswith("extension")
    assert drop[1][3:].startswith("» extension")
    assert drop[2][3:].startswith("» ⇄ extension")
    _, verse = row_at(page, 16)
    assert [cell[3:5] for cell in verse[1:]] == ["2:", "3:", "4:"]


def test_landings_and_unison_stand_beside_the_parts() -> None:
    """The canon's figure closes every 4 beats; Lark is a beat late, so only Wren closes at 24."""
    page = all_parts()
    gutter, cells = row_at(page, 24)
    assert gutter.split() == ["7"]
    assert [cell[1] == "C" for cell in cells] == [True, False, False, False]
    assert {cell[0] for cell in cells} == {" "}
    gutter, cells = row_at(page, 208)
    assert gutter.split() == ["53*"]
    assert {cell[:2] for cell in cells} == {"┃C"}


def test_names_of_phrases_stand_between_the_rows_and_lead_to_the_row_below() -> None:
    page = all_parts()
    texts = [plain(line) for line in page.lines]
    line = next(k for k, text in enumerate(texts) if " high tide " in text)
    assert page.rows[page.row_of_line(line)].span.start_beat == 96
    assert page.row_of_line(page.line_of_row[5]) == 5
    assert len(page.lines) == len(page.rows) + len(four().grid.phrases)


def test_narrow_panes_show_some_columns_and_scroll() -> None:
    columns = fitted_columns([f"Voice {k}" for k in range(12)], 80, first=4)
    assert columns.names[0] == "Voice 4"
    assert len(columns.names) == 5
    assert columns.performer_at(0) == ""
    assert columns.performer_at(columns.starts[2] + 1) == columns.names[2]
    assert fitted_columns(["A", "B"], 80, first=9).names == ("A", "B")


def test_the_switcher_tells_what_each_part_is_made_of() -> None:
    choices = {one.performer: one for one in part_choices(four(), check_routine(four(), LIBRARY))}
    assert choices["Wren"].words == "18 moves of her own"
    assert choices["Tern"].words == "3 moves of her own, follows Wren and Lark"
    assert choices["Tern"].stretches[3].startswith("follows Lark mirrored, from bar 25, count 1")
    assert next_performer(four(), "Finch", 1) == "Wren"
    assert next_performer(four(), "Wren", -1) == "Finch"
