"""Every screen as it was last looked at, in two sizes: dark, light and without colour.

A difference is either a fault or wished for. Look at it; if it is wished for, write the snapshots
anew (DEVELOPERS.md says how) and look at the difference again before it is kept.
"""

import datetime
import os
from collections.abc import Awaitable, Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import pytest
from textual.app import App
from textual.pilot import Pilot

from composer.files.routine_file import load_routine, save_routine
from composer.moves.library import shipped_library
from composer.playback.device import HandDevice
from composer.score.routine import Following, Likeness, Part, Routine, Spot
from tui.app import PetalbarApp
from tui.opening import open_routine
from tui.rehearsal_app import RehearsalApp
from tui.rehearsing import rehearse_screen

from .driving import settled
from .picture import picture

KEPT = Path(__file__).parent / "snapshots"
WRITE = os.environ.get("SNAPSHOTS") == "write"
SIZES = ((80, 24), (200, 50))
NOON = datetime.datetime(2027, 3, 1, 12, tzinfo=datetime.UTC)

Way = Callable[[Pilot[int]], Awaitable[None]]


def evening(piece: SimpleNamespace) -> Routine:
    """Two performers; one move stays open on its bar, one hand rests, spots change."""
    first = piece.routine_of(
        piece.placed(0, 8, "static spin"),
        piece.placed(8, 7, "triquetra"),
        piece.placed(16, 8, "extension", hand="right", notes="lamp up"),
        piece.placed(32, 16, "isolation"),
    )
    mirrored = Following("Wren", Likeness.MIRRORED)
    return replace(
        first,
        parts=(first.parts[0], Part("Ash", (), (mirrored,))),
        spots=(Spot("Wren", Fraction(0), -2.0, 3.0), Spot("Ash", Fraction(0), 2.0, 3.0)),
    )


def keys(*names: str) -> Way:
    """The way to a screen by keys alone."""

    async def go(pilot: Pilot[int]) -> None:
        for name in names:
            await pilot.press(name)
            await settled(pilot)

    return go


SCREENS: dict[str, Way] = {
    "sheet": keys("home"),
    "sheet_pane": keys("home", "tab"),
    "sheet_finding": keys("home", "n"),
    "sheet_whole": keys("Z", "Z"),
    "choose": keys("home", "enter"),
    "mend": keys("home", "n", "i"),
    "help": keys("question_mark"),
    "history": keys("home", "p", "y"),
    "leave_unsaved": keys("home", "p", "q"),
    "music": keys("home", "M"),
    "floor": keys("home", "G"),
    "parts": keys("home", "A"),
    "take_away": keys("X"),
    "measures": keys("B"),
    "part": keys("home", "W"),
    "cut": keys("home", "M", "k"),
}
"""What is kept, by its file's name."""
REHEARSING = {"rehearsal": (), "plan": ("g",), "lateness": ("v",), "rehearsal_help": ("f1",)}
"""The same for the rehearsal: the keys that lead there."""


def compare(name: str, found: str) -> None:
    kept = KEPT / f"{name}.txt"
    if WRITE:
        KEPT.mkdir(exist_ok=True)
        kept.write_text(found, encoding="utf-8")
    assert found == kept.read_text(encoding="utf-8"), f"{name} looks otherwise"


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("name", SCREENS)
async def test_screens_of_an_open_routine(
    piece: SimpleNamespace,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    name: str,
    size: tuple[int, int],
) -> None:
    monkeypatch.chdir(tmp_path)
    save_routine(evening(piece), Path("evening.toml"))
    app = PetalbarApp(open_routine(Path("evening.toml"), tmp_path / "journals"))
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        await SCREENS[name](pilot)
        full = f"{name}_{size[0]}x{size[1]}"
        compare(full, await picture(pilot, full))


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("name", REHEARSING)
async def test_screens_of_a_rehearsal(
    piece: SimpleNamespace,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    name: str,
    size: tuple[int, int],
) -> None:
    monkeypatch.chdir(tmp_path)
    path = Path("evening.toml")
    save_routine(evening(piece), path)
    screen = rehearse_screen(
        load_routine(path),
        path,
        shipped_library(),
        open_device=lambda _rate, _channels: HandDevice(),
        clock=lambda: 100.0,
    )
    screen.now = lambda: NOON
    async with RehearsalApp(screen).run_test(size=size) as pilot:
        await settled(pilot)
        screen.say("")
        await pilot.press(*REHEARSING[name])
        await settled(pilot)
        full = f"{name}_{size[0]}x{size[1]}"
        compare(full, await picture(pilot, full))


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
async def test_the_first_screen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    monkeypatch.chdir(tmp_path)
    app: App[int] = PetalbarApp()
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        full = f"first_{size[0]}x{size[1]}"
        compare(full, await picture(pilot, full))


def test_no_snapshot_is_kept_that_nothing_shows() -> None:
    names = {*SCREENS, *REHEARSING, "first"}
    wanted = {f"{name}_{width}x{height}.txt" for name in names for width, height in SIZES}
    assert {path.name for path in KEPT.iterdir()} == wanted
