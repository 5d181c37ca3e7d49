"""Composing by keyboard: each job done with keys, and read from the screen as text."""

from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import pytest

from composer.files.journal import recover
from composer.files.routine_file import load_routine
from tui.views.paper import plain
from tui.widgets.count_sheet import CountSheet
from tui.widgets.lines import Lines
from tui.widgets.pick_list import PickList

from .driving import Opened, compose_screen, moves_of, press, settled, shown


async def test_a_move_is_chosen_by_typing_and_placed_with_enter(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "enter", *"triq", "enter")
        assert moves_of(pilot) == [(0, 8, "triquetra")]
        assert "┠triquetra" in shown(pilot)
        assert compose_screen(pilot).desk.cursor_beat == 8


async def test_two_keys_place_two_moves_one_after_the_other(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(piece.routine_of()).run_test(size=(200, 50)) as pilot:
        await press(pilot, "1", "1")
        assert [start for start, _, _ in moves_of(pilot)] == [0, 8]


async def test_escape_places_nothing(piece: SimpleNamespace, opened: Opened) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "enter", "escape")
        assert moves_of(pilot) == []


@pytest.mark.parametrize(
    ("keys", "after"),
    [
        (["plus"], (8, 9)),
        (["minus", "minus"], (8, 6)),
        (["greater_than_sign"], (9, 8)),
        (["less_than_sign", "less_than_sign"], (6, 8)),
    ],
)
async def test_a_move_is_lengthened_shortened_and_shifted(
    piece: SimpleNamespace, opened: Opened, keys: list[str], after: tuple[int, int]
) -> None:
    app = opened(piece.routine_of(piece.placed(8, 8, "extension")))
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "down", *keys)
        assert moves_of(pilot) == [(*after, "extension")]
        await press(pilot, *["u"] * len(keys))
        assert moves_of(pilot) == [(8, 8, "extension")]
        await press(pilot, *["U"] * len(keys))
        assert moves_of(pilot) == [(*after, "extension")]


async def test_a_move_is_removed_and_comes_back(piece: SimpleNamespace, opened: Opened) -> None:
    app = opened(piece.routine_of(piece.placed(0, 8, "extension")))
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "delete")
        assert moves_of(pilot) == []
        assert "not saved" in shown(pilot)
        await press(pilot, "u")
        assert moves_of(pilot) == [(0, 8, "extension")]
        assert "· saved ·" in shown(pilot)


async def test_what_cannot_be_done_is_told_in_one_line(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "delete")
        assert "no move is under the cursor" in shown(pilot)
        await press(pilot, "u")
        assert "there is nothing to undo" in shown(pilot)
        await press(pilot, "v")
        assert "nothing is copied" in shown(pilot)


@pytest.mark.parametrize(
    ("keys", "beat"),
    [
        (["right", "right"], 2),
        (["right", "left", "left"], 0),
        (["down"], 8),
        (["right_square_bracket"], 32),
        (["right_square_bracket", "left_square_bracket"], 0),
        (["shift+right"], 4),
        (["end"], 63),
        (["end", "home"], 0),
        (["g", "5", "enter"], 16),
    ],
)
async def test_the_cursor_goes_by_count_row_bar_and_phrase(
    piece: SimpleNamespace, opened: Opened, keys: list[str], beat: int
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, *keys)
        assert compose_screen(pilot).desk.cursor_beat == beat


async def test_the_ruler_and_the_place_line_say_where_the_cursor_is(
    piece: SimpleNamespace, opened: Opened
) -> None:
    """Beat 36 at 120 to the minute: bar 10, count 1, 18 seconds."""
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "right_square_bracket", "shift+right")
        assert "bar 10, count 1 (0:18.0) · phrase 2, 5 of 32" in shown(pilot)
        ruler = plain(pilot.app.screen.query_one("#ruler", Lines).lines[0])
        assert "[5]" in ruler


async def test_a_phrase_is_copied_and_pasted_mirrored(
    piece: SimpleNamespace, opened: Opened
) -> None:
    app = opened(
        piece.routine_of(piece.placed(0, 8, "triquetra"), piece.placed(16, 8, "isolation", "left"))
    )
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "c", "right_square_bracket", "V")
        part = compose_screen(pilot).desk.routine.part("Wren").placements
        assert [int(p.span.start_beat) for p in part] == [0, 16, 32, 48]
        assert part[2].style.mirrored
        assert part[3].style.hand == "right"


async def test_a_move_is_repeated_until_its_phrase_ends(
    piece: SimpleNamespace, opened: Opened
) -> None:
    app = opened(piece.routine_of(piece.placed(8, 8, "extension")))
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "down", "f")
        assert [start for start, _, _ in moves_of(pilot)] == [8, 16, 24]


async def test_hands_rate_entry_and_relation_are_changed_in_place(
    piece: SimpleNamespace, opened: Opened
) -> None:
    app = opened(piece.routine_of(piece.placed(0, 8, "triquetra")))
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "s", "m", "r", "e", "o", "p", "d")
        placement = compose_screen(pilot).desk.routine.part("Wren").placements[0]
        style = placement.style
        assert (style.swapped, style.mirrored, style.entry) == (True, True, 2)
        assert placement.rate == Fraction(3, 2)
        assert str(style.relation) == "together same"
        assert placement.pinned
        assert placement.facing_turns == Fraction(1, 4)
        assert "triquetra, mirrored, swapped" in shown(pilot)


async def test_a_move_for_one_hand_leaves_the_other_hands_move(
    piece: SimpleNamespace, opened: Opened
) -> None:
    app = opened(piece.routine_of(piece.placed(0, 8, "extension", "left")))
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "b", "enter", *"isol", "enter")
        hands = [p.style.hand for p in compose_screen(pilot).desk.routine.part("Wren").placements]
        assert sorted(hands) == ["left", "right"]


async def test_saving_writes_the_file_and_clears_the_journal(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "1")
        found = recover(tmp_path / ".piece.toml.journal")
        assert found is not None
        assert found.routine == compose_screen(pilot).desk.routine
        await press(pilot, "ctrl+s")
        await pilot.app.workers.wait_for_complete()
        await pilot.pause()
        assert load_routine(tmp_path / "piece.toml") == compose_screen(pilot).desk.routine
        assert not (tmp_path / ".piece.toml.journal").exists()
        assert "saved piece.toml" in shown(pilot)


async def test_a_file_changed_elsewhere_is_not_written_over_unasked(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        path = tmp_path / "piece.toml"
        other = path.read_text().replace("Evening piece", "Morning piece")
        path.write_text(other)
        await press(pilot, "1", "ctrl+s")
        assert "changed by another program" in shown(pilot)
        await press(pilot, "escape")
        assert path.read_text() == other
        await press(pilot, "ctrl+s", "down", "enter")
        assert compose_screen(pilot).desk.routine.title == "Morning piece"
        await press(pilot, "u")
        assert len(moves_of(pilot)) == 1


async def test_the_history_is_read_and_gone_back_to(piece: SimpleNamespace, opened: Opened) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "1", "1", "y")
        rows = [plain(row) for row in pilot.app.screen.query_one(PickList).rows]
        assert rows[0] == "opened"
        assert [row.startswith("placed") for row in rows] == [False, True, True]
        await press(pilot, "up", "up", "enter")
        assert moves_of(pilot) == []


@pytest.mark.parametrize("size", [(59, 24), (80, 15), (20, 5)])
async def test_a_window_that_is_too_small_says_so_in_one_line(
    piece: SimpleNamespace, opened: Opened, size: tuple[int, int]
) -> None:
    async with opened(piece.routine_of()).run_test(size=size) as pilot:
        await pilot.pause()
        lines = [line for line in shown(pilot).splitlines() if line.strip()]
        assert len(lines) == 1
        assert lines[0].startswith("petalbar needs 60")
        await pilot.resize_terminal(80, 24)
        await pilot.pause()
        assert "bar 1, count 1" in shown(pilot)


async def test_zoom_goes_from_the_whole_to_single_counts(
    piece: SimpleNamespace, opened: Opened
) -> None:
    app = opened(piece.routine_of(piece.placed(0, 8, "extension")))
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "Z")
        assert "whole routine" in shown(pilot)
        await press(pilot, "z", "z", "z")
        assert "a count a row" in shown(pilot)
        assert "1.2" in shown(pilot)
        await press(pilot, "right")
        assert compose_screen(pilot).desk.cursor_beat == Fraction(1, 4)


async def test_a_click_puts_the_cursor_on_the_count_under_the_mouse(
    piece: SimpleNamespace, opened: Opened
) -> None:
    """At 80 columns less the scroll bar a count is 7 cells: column 16 + 2 * 7 is count 3."""
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        lines = shown(pilot).splitlines()[2:]  # below title and ruler
        second_row = next(i for i, line in enumerate(lines) if line[:6] == "     3")
        await pilot.click(CountSheet, offset=(31, second_row))
        await pilot.pause()
        assert compose_screen(pilot).desk.cursor_beat == 10


async def test_the_part_of_another_performer_is_shown(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "P", "1")
        assert compose_screen(pilot).desk.performer == "Ash"
        assert len(compose_screen(pilot).desk.routine.part("Ash").placements) == 1
