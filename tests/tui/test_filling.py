"""Whole stretches: filled from the free counts, settled, and highlights pinned that stay."""

from dataclasses import replace
from fractions import Fraction
from types import SimpleNamespace

import pytest

from composer.arrange.moments import strong_moments
from composer.arrange.solve import Freed, solve_span
from composer.check.checks import check_routine
from composer.files.journal import recover
from composer.files.move_library import load_library
from composer.score.repertoire import Firmness
from composer.timing.beats import BeatSpan
from composer.timing.grid import Accent
from tui.screens.asking import Pick
from tui.screens.choose_move import ChooseMove
from tui.screens.compose import ComposeScreen
from tui.views.filling import bars_words, settled_preview, stretch_lines
from tui.views.paper import plain
from tui.widgets.pick_list import PickList

from .driving import Opened, desk_of, moves_of, press, settled, shown

LIBRARY = load_library()

# ------------------------------------------------------------------ filling


async def test_a_free_stretch_is_filled_whole_in_one_step_between_what_stands(
    piece: SimpleNamespace, opened: Opened, tmp_path: object
) -> None:
    before = [(0, 8, "static spin"), (40, 8, "static spin")]
    routine = piece.routine_of(*(piece.placed(*one) for one in before))
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "down", "down", "0")
        await settled(pilot)
        assert isinstance(pilot.app.screen, Pick)
        assert "To fill bars 3-10, 32 beats" in shown(pilot)
        assert len(pilot.app.screen.query_one(PickList).rows) >= 5
        assert moves_of(pilot) == before, "nothing is placed before it is taken"
        await press(pilot, "down", "enter")
        filled = moves_of(pilot)
        assert [one for one in filled if one in before] == before
        ends = [start + length for start, length, _ in filled]
        assert [start for start, _, _ in filled] == [0, *ends[:-1]], "no gap, no overlap"
        assert desk_of(pilot).cursor_beat == 48, "on the next free count"
        kept = recover(tmp_path / ".piece.toml.journal")  # type: ignore[operator]
        assert kept is not None
        assert kept.routine == desk_of(pilot).routine
        await press(pilot, "u")
        assert moves_of(pilot) == before


async def test_escape_leaves_the_stretch_free(piece: SimpleNamespace, opened: Opened) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "0")
        await settled(pilot)
        await press(pilot, "escape")
        assert moves_of(pilot) == []


async def test_from_a_move_the_next_free_stretch_is_meant_and_then_the_one_after(
    piece: SimpleNamespace, opened: Opened
) -> None:
    """Free are beats 8 to 24, and 32 to 64 behind the second move."""
    app = opened(piece.routine_of(piece.placed(0, 8, "extension"), piece.placed(24, 8, "diamond")))
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "0")
        await settled(pilot)
        assert "To fill bars 3-6" in shown(pilot)
        await press(pilot, "enter")
        assert desk_of(pilot).cursor_beat == 32
        await press(pilot, "0")
        await settled(pilot)
        assert "To fill bars 9-16" in shown(pilot)
        await press(pilot, "enter")
        assert "nothing is free after it" in shown(pilot)
        await press(pilot, "0")
        await settled(pilot)
        assert "nothing is free from here on" in shown(pilot)


async def test_what_stays_free_after_a_filling_is_not_told_against_it(
    piece: SimpleNamespace, opened: Opened
) -> None:
    routine = piece.routine_of(piece.placed(120, 8, "diamond"), beats=128)
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "0")
        await settled(pilot)
        assert "To fill bars 1-8" in shown(pilot)
        rows = [plain(row) for row in pilot.app.screen.query_one(PickList).rows]
        assert rows[0].startswith("✓")


async def test_fillings_are_made_of_her_repertoire(
    piece: SimpleNamespace, opened: Opened, tmp_path: object
) -> None:
    mine = ("static spin", "extension", "isolation", "triquetra", "diamond", "pendulum", "box")
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        for name in mine:
            desk_of(pilot).having.mark(
                tmp_path / "piece.toml",  # type: ignore[operator]
                LIBRARY,
                "Wren",
                name,
                Firmness.RELIABLE,
            )
        await press(pilot, "0")
        await settled(pilot)
        await press(pilot, "enter")
        assert {move for _, _, move in moves_of(pilot)} <= set(mine)


@pytest.mark.parametrize(
    ("placed", "cursor", "span"),
    [
        ([], 40, (32, 64)),  # 32 bars free: the phrase
        ([(0, 8), (56, 8)], 20, (8, 56)),  # twelve bars over a phrase end: between the moves
        ([(0, 36)], 40, (36, 64)),  # from the move's end to the phrase's
    ],
)
def test_the_stretch_is_what_is_free_or_the_phrase_of_it(
    piece: SimpleNamespace, placed: list[tuple[int, int]], cursor: int, span: tuple[int, int]
) -> None:
    from tui.desk import open_desk

    routine = piece.routine_of(*(piece.placed(a, b, "extension") for a, b in placed), beats=128)
    desk = open_desk(routine, LIBRARY, saved=True)
    desk.cursor_beat = Fraction(cursor)
    found = desk.free_stretch(16)
    assert (found.start_beat, found.end_beat) == span


def test_a_preview_shows_the_moves_row_by_row(piece: SimpleNamespace) -> None:
    routine = piece.routine_of(piece.placed(0, 8, "extension"), piece.placed(8, 8, "isolation"))
    lines = stretch_lines(routine, "Wren", BeatSpan(Fraction(0), Fraction(16)), LIBRARY, 72)
    assert [plain(line).split()[0] for line in lines] == ["1", "3"]
    assert "┠extension" in plain(lines[0])
    assert "┠isolation" in plain(lines[1])


def test_bars_of_a_stretch_in_words(piece: SimpleNamespace) -> None:
    grid = piece.grid_of(64)
    assert bars_words(grid, BeatSpan(Fraction(4), Fraction(4))) == "bar 2"
    assert bars_words(grid, BeatSpan(Fraction(4), Fraction(5))) == "bars 2-3"


# ------------------------------------------------------------------ settling


def rough(piece: SimpleNamespace) -> object:
    """A diamond out of a triquetra one downbeat off: another entry takes it better."""
    return piece.routine_of(
        piece.placed(0, 8, "extension"),
        piece.placed(8, 8, "triquetra"),
        piece.placed(16, 12, "diamond"),
        piece.placed(28, 4, "isolation"),
    )


async def test_entries_are_settled_over_the_phrase_pins_staying(
    piece: SimpleNamespace, opened: Opened
) -> None:
    routine = rough(piece)
    part = routine.part("Wren")
    pinned = replace(part.placements[1], pinned=True)
    routine = routine.with_part(
        replace(part, placements=(part.placements[0], pinned, *part.placements[2:]))
    )
    span = BeatSpan(Fraction(0), Fraction(32))
    wanted = solve_span(routine, LIBRARY, "Wren", span, Freed(mirror=True))
    assert wanted.changed
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "S")
        await settled(pilot)
        assert "pinned moves staying as they are" in shown(pilot)
        assert len(pilot.app.screen.query_one(PickList).rows) == 5
        pick_list = pilot.app.screen.query_one(PickList)
        await press(pilot, *["up"] * pick_list.chosen, "down", "enter")
        after = desk_of(pilot).routine
        assert after == wanted.routine
        assert after.part("Wren").placements[1] == pinned
        rows = [(p.span, p.move) for p in after.part("Wren").placements]
        assert rows == [(p.span, p.move) for p in routine.part("Wren").placements]
        await press(pilot, "u")
        assert desk_of(pilot).routine == routine


async def test_what_binds_is_told_where_no_choice_is_smooth(
    piece: SimpleNamespace, opened: Opened
) -> None:
    routine = rough(piece)
    span = BeatSpan(Fraction(0), routine.grid.end_beat)
    blocked = solve_span(routine, LIBRARY, "Wren", span).blocked
    assert blocked is not None
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "S")
        await settled(pilot)
        text = shown(pilot)
        assert "no choice is smooth throughout" in text
        assert blocked.words[:40] in text


def test_a_smooth_whole_is_said_to_be_so(piece: SimpleNamespace) -> None:
    routine = piece.routine_of(piece.placed(0, 8, "extension"), piece.placed(8, 8, "extension"))
    span = BeatSpan(Fraction(0), Fraction(16))
    found = solve_span(routine, LIBRARY, "Wren", span)
    from composer.arrange.effect import effect

    gained = effect(routine, found.routine, LIBRARY)
    lines = settled_preview(found, gained, routine.grid, 72)
    assert "every change of moves here is smooth" in plain(lines[0])


async def test_with_nothing_placed_there_is_nothing_to_settle(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "S")
        assert "no move is placed yet" in shown(pilot)


# ------------------------------------------------------------------ highlights


def struck(piece: SimpleNamespace) -> object:
    """A drop on beat 32, 16 s into a track of 120 to the minute; a hit on beat 8."""
    grid = piece.grid_of(64)
    accents = (Accent(4.0, "hit", 0.5), Accent(16.01, "drop", 1.0))
    phrases = (grid.phrases[0], replace(grid.phrases[1], energy=0.9))
    return replace(piece.routine_of(), grid=replace(grid, accents=accents, phrases=phrases))


def test_the_strongest_moment_is_the_drop_that_begins_a_loud_phrase(
    piece: SimpleNamespace,
) -> None:
    moments = strong_moments(struck(piece).grid)
    assert [one.beat for one in moments] == [32, 8]
    assert moments[0].words == "phrase 2 begins, drop"


def test_what_sounds_between_beats_is_no_moment_of_a_beat(piece: SimpleNamespace) -> None:
    grid = replace(piece.grid_of(64), accents=(Accent(4.25, "hit", 1.0),))
    assert strong_moments(grid) == ()


async def test_a_best_move_is_pinned_to_the_strongest_moment_and_stays_there(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(struck(piece)).run_test(size=(80, 24)) as pilot:
        await press(pilot, "H")
        assert "phrase 2 begins, drop" in shown(pilot)
        await press(pilot, "enter")
        await settled(pilot)
        assert isinstance(pilot.app.screen, ChooseMove)
        await press(pilot, *"isol", "enter")
        (placement,) = desk_of(pilot).routine.part("Wren").placements
        assert placement.pinned
        assert placement.span.start_beat == 32
        # nothing moves it or covers it, until it is let go
        desk_of(pilot).cursor_beat = Fraction(32)
        for keys in (["greater_than_sign"], ["less_than_sign"], ["enter", "enter"]):
            await press(pilot, *keys)
            await settled(pilot)
            assert desk_of(pilot).routine.part("Wren").placements == (placement,)
            assert "is pinned to bar 9, count 1" in shown(pilot)
            desk_of(pilot).cursor_beat = Fraction(32)
        await press(pilot, "p", "greater_than_sign")
        assert moves_of(pilot)[0][0] == 33


async def test_fillings_go_between_the_highlights(piece: SimpleNamespace, opened: Opened) -> None:
    routine = piece.routine_of(
        piece.placed(0, 8, "extension", pinned=True), piece.placed(32, 8, "diamond", pinned=True)
    )
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "down", "0")
        await settled(pilot)
        await press(pilot, "enter")
        kept = [p for p in desk_of(pilot).routine.part("Wren").placements if p.pinned]
        assert kept == list(routine.part("Wren").placements)
        assert [
            f for f in check_routine(desk_of(pilot).routine, LIBRARY) if f.rule == "overlap"
        ] == []


async def test_music_without_anything_that_stands_out_says_so(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "H")
        assert "nothing in this music stands out" in shown(pilot)
        assert isinstance(pilot.app.screen, ComposeScreen)


@pytest.mark.parametrize("pinned", [True, False])
async def test_where_nothing_mends_a_pinned_move_is_told_of(
    piece: SimpleNamespace, opened: Opened, monkeypatch: pytest.MonkeyPatch, pinned: bool
) -> None:
    """Seven beats leave a triquetra open; here nothing is found that mends it."""
    monkeypatch.setattr("composer.arrange.remedies.remedies_for", lambda *_: ())
    routine = piece.routine_of(
        piece.placed(0, 7, "triquetra", pinned=pinned), piece.placed(8, 8, "triquetra")
    )
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "home", "n", "i")
        await settled(pilot)
        assert "nothing tried here mends it" in shown(pilot)
        assert ("is pinned and was not touched" in " ".join(shown(pilot).split())) is pinned
