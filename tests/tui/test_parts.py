"""The part switcher and the screen of all parts, by their keys."""

import re
from dataclasses import replace
from fractions import Fraction
from types import SimpleNamespace

import pytest
from textual.pilot import Pilot

from composer.score.routine import Following, Likeness, Part, Performer, Routine
from composer.timing.beats import BeatSpan
from tui.screens.compose import ComposeScreen
from tui.screens.parts import PartsScreen
from tui.views.key_lines import key_help, key_lines
from tui.views.paper import plain
from tui.views.parts_keys import PARTS_KEYS
from tui.widgets.parts_sheet import PartsSheet

from .driving import Opened, press, settled, shown

NAMES = ("Wren", "Lark", "Tern", "Finch")


def group_of(piece: SimpleNamespace, names: tuple[str, ...] = NAMES) -> Routine:
    """The first has moves of her own; the second mirrors her from bar 9 on, 4 beats later."""
    moves = (
        piece.placed(0, 16, "extension"), piece.placed(16, 16, "static spin"),
        piece.placed(32, 16, "triquetra"), piece.placed(48, 16, "static spin"),
    )  # fmt: skip
    span = BeatSpan(Fraction(32), Fraction(32))
    second = Following(names[0], Likeness.MIRRORED, Fraction(4), span)
    first = piece.routine_of(*moves)
    return replace(
        first,
        performers=tuple(Performer(name) for name in names),
        parts=(
            replace(first.parts[0], performer=names[0]),
            Part(names[1], moves[:2], (second,)),
            *(Part(name, moves[:1]) for name in names[2:]),
        ),
    )


def parts_screen(pilot: Pilot[int]) -> PartsScreen:
    screen = pilot.app.screen
    assert isinstance(screen, PartsScreen)
    return screen


def headings(pilot: Pilot[int]) -> list[str]:
    """The names over the columns."""
    return re.split(r"\s{2,}", shown(pilot).splitlines()[1].strip())[1:]


async def test_whose_part_is_chosen_from_what_parts_are_made_of(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(group_of(piece)).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "W")
        text = shown(pilot)
        assert "Wren         4 moves of her own" in text
        assert "Lark         2 moves of her own, follows Wren" in text
        assert "follows Wren mirrored, 4 beats later, from bar 9, count 1" in text
        await press(pilot, "enter")
        screen = pilot.app.screen
        assert isinstance(screen, ComposeScreen)
        assert screen.desk.performer == "Lark"
        await press(pilot, "g", *"10", "enter")
        assert "from Wren, mirrored, 4 beats later" in shown(pilot)
        assert "» follows Wren mirrored, 4 beats later" in shown(pilot)
        await press(pilot, "x")
        assert "taken from Wren's part" in shown(pilot)


@pytest.mark.parametrize("size", [(80, 24), (200, 50)])
async def test_all_parts_stand_side_by_side_with_who_lands_and_who_is_together(
    piece: SimpleNamespace, opened: Opened, size: tuple[int, int]
) -> None:
    async with opened(group_of(piece)).run_test(size=size) as pilot:
        await press(pilot, "A")
        await settled(pilot)
        text = shown(pilot)
        assert all(name in text.splitlines()[1] for name in NAMES)
        first = next(line for line in text.splitlines() if line.startswith("▶  1"))
        assert first.count("┃") == 4
        assert first.count("extension") == 4
        assert "Wren, Lark, Tern, Finch in unison for 16 beats from bar 1" in text
        await press(pilot, "l")
        assert parts_screen(pilot).desk.cursor_beat > 0
        assert "all close here" in shown(pilot)


async def test_twelve_columns_are_scrolled_to_with_the_cursor(
    piece: SimpleNamespace, opened: Opened
) -> None:
    names = tuple(f"Voice {k + 1}" for k in range(12))
    async with opened(group_of(piece, names)).run_test(size=(80, 24)) as pilot:
        await press(pilot, "A")
        await pilot.pause()
        assert headings(pilot) == [f"Voice {k}" for k in range(1, 6)]
        await press(pilot, *["right"] * 5)
        assert headings(pilot) == [f"Voice {k}" for k in range(2, 7)]
        await press(pilot, *["left"] * 6)
        assert headings(pilot)[-1] == "Voice 12"
        assert parts_screen(pilot).desk.performer == "Voice 12"


async def test_the_cursor_goes_by_row_phrase_bar_and_finding_and_back_to_her_part(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(group_of(piece)).run_test(size=(80, 24)) as pilot:
        await press(pilot, "A")
        await settled(pilot)
        for keys, beat in (
            (["down"], 8), (["right_square_bracket"], 32), (["g", "3", "enter"], 8),
            (["up"], 0), (["z", "down"], 4), (["end"], 63), (["home"], 0),
            (["Z", "Z"], 0), (["w"], 32),
        ):  # fmt: skip
            await press(pilot, *keys)
            if keys != ["w"]:
                assert parts_screen(pilot).desk.cursor_beat == beat, keys
        await press(pilot, "g", "9", "enter", "right", "enter")
        screen = pilot.app.screen
        assert isinstance(screen, ComposeScreen)
        assert (screen.desk.performer, screen.desk.cursor_beat) == ("Lark", 32)


async def test_a_phrase_is_made_to_follow_in_canon_and_made_her_own_again(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(group_of(piece)).run_test(size=(80, 24)) as pilot:
        await press(pilot, "A", "right", "right", "f")
        assert "Tern in phrase 1 follows; 1 of her own go" in shown(pilot)
        await press(pilot, "down", "enter", "down", "enter", "backspace", "2", "enter")
        await settled(pilot)
        desk = parts_screen(pilot).desk
        (made,) = desk.routine.part("Tern").following
        assert (made.performer, made.likeness, made.delay_beats) == ("Lark", "mirrored", 2)
        assert made.span == BeatSpan(Fraction(0), Fraction(32))
        assert "3: » ⇄" in shown(pilot)
        await press(pilot, "o")
        assert not desk.routine.part("Tern").following
        assert [p.span.start_beat for p in desk.routine.part("Tern").placements] == [2]
        await press(pilot, "u", "x")
        assert not desk.routine.part("Tern").following
        await press(pilot, "u", "u")
        assert desk.routine == desk.saved


async def test_what_cannot_be_followed_is_told(piece: SimpleNamespace, opened: Opened) -> None:
    async with opened(group_of(piece)).run_test(size=(80, 24)) as pilot:
        await press(pilot, "A", "g", "9", "enter", "f", "enter", "enter", "enter")
        assert "Wren follows Lark follows Wren" in shown(pilot)
        await press(pilot, "f", "enter", "enter", "backspace", *"soon", "enter")
        assert "beats later are exact" in shown(pilot)
        await press(pilot, "o")
        assert "Wren follows nobody here" in shown(pilot)
        assert parts_screen(pilot).desk.routine == parts_screen(pilot).desk.saved


async def test_the_mouse_chooses_row_and_performer(piece: SimpleNamespace, opened: Opened) -> None:
    async with opened(group_of(piece)).run_test(size=(80, 24)) as pilot:
        await press(pilot, "A")
        await pilot.pause()
        page = parts_screen(pilot)._page
        assert page is not None
        row = next(k for k, row in enumerate(page.rows) if row.span.start_beat == 32)
        offset = (page.columns.starts[2] + 4, page.line_of_row[row])
        await pilot.click(PartsSheet, offset=offset)
        await pilot.pause()
        desk = parts_screen(pilot).desk
        assert (desk.performer, desk.cursor_beat) == ("Tern", 32)


async def test_somebody_comes_in_and_goes_again(piece: SimpleNamespace, opened: Opened) -> None:
    async with opened(group_of(piece)).run_test(size=(80, 24)) as pilot:
        await press(pilot, "A", "plus", *"Rook", "enter")
        desk = parts_screen(pilot).desk
        assert desk.performer == "Rook"
        assert headings(pilot) == [*NAMES, "Rook"]
        await press(pilot, "minus", "up", "enter")
        assert [one.name for one in desk.routine.performers] == list(NAMES)
        assert desk.performer in NAMES
        await press(pilot, "u", "u")
        assert desk.routine == desk.saved
        await press(pilot, "minus")
        assert "Lark follows Wren" in shown(pilot)


@pytest.mark.parametrize(
    ("key", "told"), [("A", "What every key does"), ("G", "Everybody into a formation")]
)
async def test_the_command_list_has_what_the_screen_does(
    piece: SimpleNamespace, opened: Opened, key: str, told: str
) -> None:
    async with opened(group_of(piece)).run_test(size=(100, 30)) as pilot:
        await press(pilot, key)
        await press(pilot, "ctrl+p")
        await pilot.press(*told[:12].casefold())
        for _ in range(100):
            await pilot.pause(0.02)
            if told in shown(pilot):
                break
        assert told in shown(pilot)


def test_no_two_actions_share_a_key_or_a_name_and_help_names_them_all() -> None:
    names = [action.name for action in PARTS_KEYS.actions]
    keys = [key for action in PARTS_KEYS.actions for key in action.keys.split(",")]
    assert len(set(names)) == len(names)
    assert len(set(keys)) == len(keys)
    text = "\n".join(plain(line) for line in key_help(PARTS_KEYS, {}))
    assert all(action.words in text for action in PARTS_KEYS.actions)
    lines = " ".join(plain(line) for line in key_lines(PARTS_KEYS, {}, 80))
    assert "q back" in lines
    assert "? help" in lines
