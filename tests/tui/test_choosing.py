"""What can follow: filters in a performer's terms, the motion on trial, the repertoire's marks."""

from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from composer.arrange.keeping import Keeping
from composer.errors import RoutineFileError
from composer.export.choice import View
from composer.files.move_library import load_library
from composer.files.repertoire_file import load_repertoires
from composer.motion.family import is_unit_circle
from composer.motion.hands import Hand
from composer.score.parts import PlacedMove, performed_part
from composer.score.repertoire import Firmness
from tui.having import Having
from tui.screens.choose_move import ChooseMove
from tui.screens.compose import ComposeScreen
from tui.views.follow import follow_rows
from tui.views.paper import plain
from tui.views.trying import tried_at, tried_lines
from tui.widgets.lines import Lines
from tui.widgets.pick_list import PickList

from .driving import Opened, compose_screen, desk_of, moves_of, press, settled, shown

LIBRARY = load_library()


def listed(pilot: object) -> list[str]:
    return [plain(row) for row in pilot.app.screen.query_one(PickList).rows]  # type: ignore[attr-defined]


# ------------------------------------------------------------------ filters


async def test_a_filter_ranks_anew_and_keeps_only_what_stays_in_its_family(
    piece: SimpleNamespace, opened: Opened
) -> None:
    """Unit circle: every hand path has an isolation's size (DOMAIN.md, section 3)."""
    app = opened(piece.routine_of(piece.placed(0, 8, "isolation")))
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "down", "enter", "3")
        await settled(pilot)
        assert "3✓unit circle" in shown(pilot)
        dialog = pilot.app.screen
        assert isinstance(dialog, ChooseMove)
        assert 0 < len(dialog.rows) < len(LIBRARY.names())
        for row in dialog.rows:
            tried = dialog.attempt(row)
            assert all(is_unit_circle(t.pattern) for t in tried.performance.tracks.values())
        await press(pilot, "3")
        await settled(pilot)
        assert len(dialog.rows) == len(LIBRARY.names())
        assert "3✓" not in shown(pilot)


@pytest.mark.parametrize(
    ("key", "keeping"),
    [
        ("1", Keeping.HEADS),
        ("2", Keeping.HANDS),
        ("3", Keeping.UNIT_CIRCLE),
        ("4", Keeping.ONE_HAND),
    ],
)
async def test_each_key_asks_for_what_it_says(
    piece: SimpleNamespace, opened: Opened, key: str, keeping: Keeping
) -> None:
    routine = piece.routine_of(piece.placed(0, 8, "isolation"))
    wanted = follow_rows(routine, LIBRARY, "Wren", Fraction(8), "both", keeps=[keeping])
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "down", "enter", key)
        await settled(pilot)
        assert [row.name for row in pilot.app.screen.rows] == [row.name for row in wanted]
        assert pilot.app.screen.query_one("Input").value == ""


async def test_letters_narrow_and_the_keys_of_the_dialog_are_not_typed(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "enter", *"anti-spin")
        assert all("anti-spin" in LIBRARY.get(row.name).name or LIBRARY.get(row.name).also
                   for row in pilot.app.screen.rows)  # fmt: skip
        await press(pilot, "asterisk", "5")
        assert pilot.app.screen.query_one("Input").value == "anti-spin"


# ------------------------------------------------------------------ the repertoire


async def test_one_key_steps_through_how_firmly_she_has_a_move_and_keeps_it_in_its_file(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    path = tmp_path / "piece.repertoire.toml"
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "enter", *"isolation", "asterisk")
        name = pilot.app.screen.rows[0].name
        for firmness, glyph in zip(Firmness, "◔◑●", strict=True):
            assert load_repertoires(path, LIBRARY)["Wren"].of_move(name) is firmness
            assert listed(pilot)[0].startswith(f"{glyph} {name}")
            assert f"{glyph} {firmness}" in shown(pilot)
            await press(pilot, "asterisk")
        assert load_repertoires(path, LIBRARY)["Wren"].of_move(name) is None
        assert not listed(pilot)[0].startswith(("◔", "◑", "●"))


async def test_only_mine_leaves_what_she_has(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        having = desk_of(pilot).having
        for name in ("isolation", "diamond"):
            having.mark(tmp_path / "piece.toml", LIBRARY, "Wren", name, Firmness.READY)
        await press(pilot, "enter", "5")
        assert {row.name for row in pilot.app.screen.rows} == {"isolation", "diamond"}
        await press(pilot, "escape", "enter")
        assert len(pilot.app.screen.rows) == 2, "it is remembered for the next place"


async def test_the_move_under_the_cursor_is_marked_from_the_sheet(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    app = opened(piece.routine_of(piece.placed(0, 8, "extension")))
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "asterisk", "asterisk")
        assert "Wren: extension: ◑ reliable" in shown(pilot)
        found = load_repertoires(tmp_path / "piece.repertoire.toml", LIBRARY)
        assert found["Wren"].of_move("extension") is Firmness.RELIABLE
        await press(pilot, "down", "asterisk")
        assert "no move is under the cursor" in shown(pilot)


async def test_a_repertoire_that_is_broken_is_told_and_never_written_over(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    broken = tmp_path / "piece.repertoire.toml"
    broken.write_text("format = 1\n[[performer]]\n")
    app = opened(piece.routine_of(piece.placed(0, 8, "extension")))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert "piece.repertoire.toml" in shown(pilot)
        await press(pilot, "asterisk")
        assert "piece.repertoire.toml" in shown(pilot)
        assert broken.read_text() == "format = 1\n[[performer]]\n"


def test_marks_leave_what_others_wrote_meanwhile_and_move_with_another_name(tmp_path: Path) -> None:
    here, there = tmp_path / "here.toml", tmp_path / "there.toml"
    mine, other = Having(), Having()
    mine.mark(here, LIBRARY, "Wren", "isolation", Firmness.READY)
    other.load(here, LIBRARY)
    other.mark(here, LIBRARY, "Ash", "diamond", Firmness.LEARNING)
    mine.mark(here, LIBRARY, "Wren", "extension", Firmness.LEARNING)
    kept = load_repertoires(tmp_path / "here.repertoire.toml", LIBRARY)
    assert kept["Ash"].of_move("diamond") is Firmness.LEARNING
    assert dict(kept["Wren"].moves) == {
        "isolation": Firmness.READY, "extension": Firmness.LEARNING
    }  # fmt: skip
    mine.mark(there, LIBRARY, "Wren", "diamond", Firmness.READY)
    moved = load_repertoires(tmp_path / "there.repertoire.toml", LIBRARY)["Wren"]
    assert set(moved.moves) == {"isolation", "extension", "diamond"}


def test_a_repertoire_that_cannot_be_written_marks_nothing(tmp_path: Path) -> None:
    having = Having()
    with pytest.raises(RoutineFileError, match="cannot be written"):
        having.mark(tmp_path / "no" / "x.toml", LIBRARY, "Wren", "isolation", Firmness.READY)
    assert having.firmness("Wren", "isolation") is None


# ------------------------------------------------------------------ the motion on trial


def tried(piece: SimpleNamespace, *before: object, move: str = "extension") -> object:
    routine = piece.routine_of(*before)
    moves = performed_part(routine, "Wren")
    placed = PlacedMove(piece.placed(8, 8, move), "Wren", "Wren", -1)
    return tried_at(routine, LIBRARY, moves, placed)


def test_the_motion_runs_unbroken_from_the_move_before_over_into_the_move(
    piece: SimpleNamespace,
) -> None:
    """No hand or head leaps: what a beat's hundredth moves is bounded by the head's speed.

    Heads of an isolation and an extension at 120 to the minute run at most 2 pi (R + L) a half
    second, under 15 m/s: less than 8 cm in a hundredth of a beat.
    """
    trial = tried(piece, piece.placed(0, 8, "isolation"))
    begin, end = trial.span
    assert (begin, end) == (Fraction(6), Fraction(16))
    beats = [begin + (end - begin) * Fraction(k, 1000) for k in range(1000)]
    for hand in Hand:
        for which in (0, 1):
            way = np.concatenate([trial.places(beat)[hand][which] for beat in beats])
            assert np.linalg.norm(np.diff(way, axis=0), axis=1).max() < 0.08


def test_it_begins_at_the_move_itself_where_nothing_goes_before(piece: SimpleNamespace) -> None:
    trial = tried(piece)
    assert trial.span == (Fraction(8), Fraction(16))
    assert trial.way_m == ()
    assert trial.words(Fraction(8)) == "beat 1 of 8"


def test_a_move_that_it_would_cut_into_ends_before_it(piece: SimpleNamespace) -> None:
    trial = tried(piece, piece.placed(0, 16, "isolation"))
    assert trial.before.span.end_beat == 8
    assert trial.words(Fraction(6)) == "out of isolation"
    assert trial.words(Fraction(8)) == "going over"


def test_the_two_views_of_it_are_mirror_images(piece: SimpleNamespace) -> None:
    trial = tried(piece, move="extension")
    pictures = [tried_lines(trial, 0.3, view, 33, 14) for view in View]
    signs = []
    for lines in pictures:
        rows = [plain(line) for line in lines[:-1]]
        signs.append({(y, row.index("L")) for y, row in enumerate(rows) if "L" in row})
    (y0, x0), (y1, x1) = signs[0].pop(), signs[1].pop()
    assert y0 == y1
    assert abs(x0 + x1 - 32) <= 1


@pytest.mark.parametrize("size", [(80, 24), (200, 50)])
async def test_the_move_under_the_bar_is_seen_in_motion(
    piece: SimpleNamespace, opened: Opened, size: tuple[int, int]
) -> None:
    app = opened(piece.routine_of(piece.placed(0, 8, "isolation")))
    async with app.run_test(size=size) as pilot:
        await press(pilot, "down", "enter")
        await pilot.pause(0.3)
        first = [plain(line) for line in pilot.app.screen.query_one("#trial", Lines).lines]
        assert "isolation" in first[-1] or "going over" in first[-1]
        await pilot.pause(0.4)
        later = [plain(line) for line in pilot.app.screen.query_one("#trial", Lines).lines]
        assert first != later, "it moves by itself"
        await press(pilot, "down")
        await pilot.pause(0.3)
        assert "Both hands" in shown(pilot) or pilot.app.screen.query_one("#details", Lines).lines


async def test_escape_places_nothing_and_enter_what_is_under_the_bar(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "enter", "escape")
        assert moves_of(pilot) == []
        await press(pilot, "enter", "down", "down")
        wanted = pilot.app.screen.rows[2].name
        await press(pilot, "enter")
        assert [move for _, _, move in moves_of(pilot)] == [wanted]
        assert isinstance(pilot.app.screen, ComposeScreen)


async def test_marks_stand_in_the_pane_of_a_wide_window(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(piece.routine_of()).run_test(size=(200, 50)) as pilot:
        await pilot.pause(0.6)
        await settled(pilot)
        await press(pilot, "tab", "asterisk")
        rows = pilot.app.screen.query_one("#follow", PickList).rows
        assert "◔" in plain(rows[0])
        assert "◔ learning" in shown(pilot)
        assert compose_screen(pilot).follow[0].name in shown(pilot)


async def test_the_way_into_a_move_is_marked_where_one_follows_straight_on(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    routine = piece.routine_of(
        piece.placed(0, 8, "extension"), piece.placed(8, 8, "isolation"), piece.placed(24, 8, "box")
    )
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "down", "ampersand")
        assert "extension into isolation: ◔ learning" in shown(pilot)
        had = load_repertoires(tmp_path / "piece.repertoire.toml", LIBRARY)["Wren"]
        assert had.of_transition("extension", "isolation") is Firmness.LEARNING
        for keys in (["up", "ampersand"], ["end", "up", "up", "up", "ampersand"]):
            await press(pilot, *keys)
            assert "follows straight on another" in shown(pilot)
