"""The floor screen: spots moved by keys and mouse, findings and remedies, one history for all."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import pytest
from textual.pilot import Pilot

from composer.files.journal import recover
from composer.files.routine_file import load_routine
from composer.score.routine import Obstacle, Performer, Routine, Spot, Stage
from tui.screens.compose import ComposeScreen
from tui.screens.floor import FloorScreen
from tui.views.floor_keys import FLOOR_KEYS
from tui.views.key_lines import key_help, key_lines
from tui.views.paper import plain
from tui.widgets.floor_plan import FloorPlan
from tui.widgets.pick_list import PickList

from .driving import Opened, press, settled, shown

NAMES = ("Wren", "Lark", "Tern", "Finch")


def group_of(piece: SimpleNamespace, count: int = 4, apart_m: float = 3.0) -> Routine:
    """Some who stand in a row, 3 m upstage, and walk 2 m upstage for the second phrase."""
    names = NAMES if count <= 4 else tuple(f"Voice {k + 1}" for k in range(count))
    spots = []
    for k, name in enumerate(names[:count]):
        x_m = apart_m * ((count - 1) / 2 - k)
        spots += [
            Spot(name, Fraction(0), x_m, 3.0),
            Spot(name, Fraction(32), x_m, 5.0, travel_beats=Fraction(8)),
        ]
    whole = piece.placed(0, 64, "static spin")
    first = piece.routine_of(whole)
    return replace(
        first,
        performers=tuple(Performer(name) for name in names[:count]),
        parts=tuple(
            replace(first.part("Wren"), performer=name) if name != "Wren" else first.part("Wren")
            for name in names[:count]
        ),
        stage=Stage(apart_m * count + 4, 9.0, obstacles=(Obstacle("pillar", 0.0, 8.0, 0.3),)),
        spots=tuple(sorted(spots, key=lambda spot: spot.beat)),
    )


def floor_screen(pilot: Pilot[int]) -> FloorScreen:
    screen = pilot.app.screen
    assert isinstance(screen, FloorScreen)
    return screen


async def on_the_floor(pilot: Pilot[int], *keys: str) -> None:
    """From the composing screen to the floor, and there some keys."""
    await press(pilot, "G")
    await pilot.pause()
    await press(pilot, *keys)


def spot_of(pilot: Pilot[int], name: str, beat: int) -> Spot:
    routine = pilot.app.screen_stack[-1].desk.routine  # type: ignore[attr-defined]
    return next(s for s in routine.spots if (s.performer, s.beat) == (name, beat))


@pytest.mark.parametrize("size", [(80, 24), (200, 50)])
async def test_the_floor_shows_names_facings_circles_edge_and_obstacles(
    piece: SimpleNamespace, opened: Opened, size: tuple[int, int]
) -> None:
    async with opened(group_of(piece)).run_test(size=size) as pilot:
        await on_the_floor(pilot)
        await settled(pilot)
        text = shown(pilot)
        for name in NAMES:
            assert f"{name[:3]}↓" in text
            assert name in text
        for sign in ("audience", "upstage", "·", "#", "▸phrase 1", "nothing is found"):
            assert sign in text
        assert "Wren's spot of bar 1, count 1" in text


@pytest.mark.parametrize(
    ("keys", "place"),
    [
        (["right"], (4.25, 3.0)),
        (["left"], (4.75, 3.0)),
        (["up", "up"], (4.5, 3.5)),
        (["shift+down"], (4.5, 2.95)),
        (["a", "right"], (4.75, 3.0)),
        (["enter", *["backspace"] * 5, *"4 2", "enter"], (4.0, 2.0)),
    ],
)
async def test_keys_move_the_spot_as_the_page_lies_and_undo_takes_it_back(
    piece: SimpleNamespace, opened: Opened, keys: list[str], place: tuple[float, float]
) -> None:
    """Seen by the audience stage right is on the left of the page."""
    async with opened(group_of(piece)).run_test(size=(80, 24)) as pilot:
        await on_the_floor(pilot, *keys)
        spot = spot_of(pilot, "Wren", 0)
        assert (spot.x_m, spot.y_m) == pytest.approx(place, abs=1e-9)
        while floor_screen(pilot).desk.history.can_undo:
            await press(pilot, "u")
        assert (spot_of(pilot, "Wren", 0).x_m, spot_of(pilot, "Wren", 0).y_m) == (4.5, 3.0)


async def test_facing_walk_and_arrival_have_keys_and_words(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(group_of(piece)).run_test(size=(80, 24)) as pilot:
        await on_the_floor(pilot, "right_square_bracket", "j", "comma", "plus", "minus", "minus")
        lark = spot_of(pilot, "Lark", 32)
        assert (lark.facing_turns, lark.travel_beats) == (Fraction(1, 8), 7)
        assert "walked to in 7 beats" in shown(pilot)
        await press(pilot, "less_than_sign", "less_than_sign")
        assert spot_of(pilot, "Lark", 30).travel_beats == 7
        await press(pilot, "x")
        routine = floor_screen(pilot).desk.routine
        assert [s.beat for s in routine.spots if s.performer == "Lark"] == [0]


async def test_phrases_and_stops_are_stepped_through(
    piece: SimpleNamespace, opened: Opened
) -> None:
    """All leave on beat 24 and arrive on 32, where the second phrase begins."""
    async with opened(group_of(piece)).run_test(size=(80, 24)) as pilot:
        await on_the_floor(pilot, "right_square_bracket")
        assert floor_screen(pilot).desk.cursor_beat == 32
        assert "▸phrase 2" in shown(pilot)
        await press(pilot, "left_curly_bracket")
        assert floor_screen(pilot).desk.cursor_beat == 24
        await press(pilot, "g", "8", "enter")
        assert floor_screen(pilot).desk.cursor_beat == 28
        assert "↓∙ 4.50 right" in shown(pilot)


async def test_a_spot_of_her_own_changes_only_this_phrase(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(group_of(piece)).run_test(size=(80, 24)) as pilot:
        await on_the_floor(pilot, "g", "5", "enter", "s", "up")
        assert spot_of(pilot, "Wren", 16).y_m == pytest.approx(3.25, abs=1e-9)
        assert spot_of(pilot, "Wren", 0).y_m == 3.0
        await press(pilot, "s")
        assert "already" in shown(pilot)


async def test_a_spot_that_lets_circles_meet_is_found_and_mended_after_a_look(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    async with opened(group_of(piece)).run_test(size=(80, 24)) as pilot:
        await on_the_floor(pilot, "right_square_bracket", "j", *["left"] * 4)
        await settled(pilot)
        assert "✖" in shown(pilot)
        assert "×" in shown(pilot)
        assert "circles meet" in shown(pilot)
        await press(pilot, "home", "n", "i")
        await settled(pilot)
        text = shown(pilot)
        assert "To mend: circles meet" in text
        assert "as it is" in text
        assert "mended" in text
        assert "takes away ✖ circles meet" in text
        await press(pilot, "enter")
        await settled(pilot)
        assert "nothing is found about the floor" in shown(pilot)
        kept = recover(floor_screen(pilot).work.journal.path)
        assert kept is not None
        assert kept.routine.spots == floor_screen(pilot).desk.routine.spots
        await press(pilot, "ctrl+s")
        await settled(pilot)
        assert "· saved ·" in shown(pilot)
        assert load_routine(tmp_path / "piece.toml").spots == kept.routine.spots


async def test_what_was_done_on_the_floor_is_undone_on_the_sheet(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(group_of(piece)).run_test(size=(80, 24)) as pilot:
        await on_the_floor(pilot, "j", "up", "q")
        screen = pilot.app.screen
        assert isinstance(screen, ComposeScreen)
        assert screen.desk.performer == "Lark"
        await press(pilot, "u")
        assert spot_of(pilot, "Lark", 0).y_m == 3.0
        assert "undone: Lark's spot" in shown(pilot)


@pytest.mark.parametrize("keys", [["down", "down"], ["up"]])
async def test_a_formation_is_looked_at_and_taken_with_its_walk(
    piece: SimpleNamespace, opened: Opened, keys: list[str]
) -> None:
    async with opened(group_of(piece)).run_test(size=(80, 24)) as pilot:
        await on_the_floor(pilot, "g", "5", "enter", "f", *keys)
        assert "as it is" in shown(pilot)
        await press(pilot, "enter", "backspace", *"12 3.5", "enter")
        here = [s for s in floor_screen(pilot).desk.routine.spots if s.beat == 16]
        assert {s.travel_beats for s in here} == {12}
        assert len(here) == 4
        assert len(floor_screen(pilot).desk.history.steps) == 2
        await press(pilot, "f", "escape")
        assert len(floor_screen(pilot).desk.history.steps) == 2


async def test_arrows_can_move_everybody(piece: SimpleNamespace, opened: Opened) -> None:
    async with opened(group_of(piece)).run_test(size=(80, 24)) as pilot:
        await on_the_floor(pilot, "e", "up")
        assert {spot_of(pilot, name, 0).y_m for name in NAMES} == {3.25}
        assert {spot_of(pilot, name, 32).y_m for name in NAMES} == {5.0}


async def test_the_mouse_takes_a_name_and_carries_it(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(group_of(piece)).run_test(size=(200, 50)) as pilot:
        await on_the_floor(pilot)
        page = floor_screen(pilot).query_one(FloorPlan)._page
        assert page is not None
        lines = [plain(line) for line in page.lines]
        row = next(k for k, line in enumerate(lines) if "Ter↓" in line)
        column = lines[row].index("Ter↓") + 1
        await pilot.mouse_down(FloorPlan, offset=(column, row))
        await pilot.hover(FloorPlan, offset=(column + 6, row - 3))
        await pilot.pause()
        assert floor_screen(pilot).desk.performer == "Tern"
        assert not floor_screen(pilot).desk.history.can_undo
        await pilot.mouse_up(FloorPlan, offset=(column + 6, row - 3))
        await pilot.pause()
        moved = spot_of(pilot, "Tern", 0)
        scale = page.scale
        assert moved.x_m == pytest.approx(-1.5 - 6 * scale.column_m, abs=0.026)
        assert moved.y_m == pytest.approx(3.0 + 3 * scale.row_m, abs=0.026)
        assert len(floor_screen(pilot).desk.history.steps) == 2


async def test_twelve_fit_a_narrow_window_by_scrolling(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(group_of(piece, 12, 2.8)).run_test(size=(80, 24)) as pilot:
        await on_the_floor(pilot)
        await settled(pilot)
        assert "Voice 1 " in shown(pilot)
        await press(pilot, *["j"] * 11)
        assert "Voice 12" in shown(pilot)
        assert "Voice 12's spot" in shown(pilot)


async def test_size_and_obstacles_are_typed_and_nonsense_is_told(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(group_of(piece)).run_test(size=(80, 24)) as pilot:
        await on_the_floor(pilot, "o", *"lamp 1 2 0.2", "enter")
        assert floor_screen(pilot).desk.routine.stage.obstacles[-1].name == "lamp"
        await press(pilot, "o", *"lamp", "enter")
        assert [o.name for o in floor_screen(pilot).desk.routine.stage.obstacles] == ["pillar"]
        await press(pilot, "S", *["backspace"] * 9, *"wide", "enter")
        assert "a floor is wide and deep" in shown(pilot)
        await press(pilot, "9")
        assert "there are only 4 performers" in shown(pilot)


async def test_everybody_walks_while_the_time_runs(piece: SimpleNamespace, opened: Opened) -> None:
    async with opened(group_of(piece)).run_test(size=(80, 24)) as pilot:
        await on_the_floor(pilot, "g", "7", "enter", "space")
        await pilot.pause(0.35)
        assert floor_screen(pilot).desk.cursor_beat > 24
        await press(pilot, "space")
        assert floor_screen(pilot).desk.cursor_beat.denominator == 1


async def test_the_list_of_findings_leads_to_its_place(
    piece: SimpleNamespace, opened: Opened
) -> None:
    group = group_of(piece)
    close = tuple(
        replace(s, x_m=2.0) if (s.performer, s.beat) == ("Wren", 32) else s for s in group.spots
    )
    async with opened(replace(group, spots=close)).run_test(size=(80, 24)) as pilot:
        await on_the_floor(pilot)
        await settled(pilot)
        await press(pilot, "tab")
        assert floor_screen(pilot).query_one(PickList).has_focus
        await press(pilot, "enter")
        screen = floor_screen(pilot)
        assert screen.desk.cursor_beat == screen.floor_findings[0].beat
        assert screen.query_one(FloorPlan).has_focus


async def test_too_small_a_window_says_how_large_it_must_be(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(group_of(piece)).run_test(size=(60, 18)) as pilot:
        await on_the_floor(pilot)
        assert "needs 60 × 19" in shown(pilot)
        await pilot.resize_terminal(60, 19)
        await pilot.pause()
        assert "Wre↓" in shown(pilot)


def test_no_two_actions_share_a_key_or_a_name_and_help_names_them_all() -> None:
    names = [action.name for action in FLOOR_KEYS.actions]
    keys = [key for action in FLOOR_KEYS.actions for key in action.keys.split(",")]
    assert len(set(names)) == len(names)
    assert len(set(keys)) == len(keys)
    text = "\n".join(plain(line) for line in key_help(FLOOR_KEYS, {}))
    assert all(action.words in text for action in FLOOR_KEYS.actions)
    lines = " ".join(plain(line) for line in key_lines(FLOOR_KEYS, {}, 80))
    assert "q back" in lines
    assert "? help" in lines
