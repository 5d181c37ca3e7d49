"""Small routines for the screen's tests, written out by hand."""

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import pytest

from composer.files.routine_file import save_routine
from composer.moves.perform import Style
from composer.score.routine import Part, Performer, Placement, Routine, TrackRef
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.meter import Meter, MeterChange, MeterMap
from composer.timing.tempo_map import steady_tempo_map
from tui import apart
from tui.app import PetalbarApp
from tui.opening import open_routine

from .held import FOLDER, Hold, work_when_let


def grid_of(beats: int, *, phrase: int = 32, meter: str = "4/4", bpm: float = 120.0) -> MusicGrid:
    upper, _, lower = meter.partition("/")
    return MusicGrid(
        steady_tempo_map(bpm),
        Fraction(beats),
        meter_map=MeterMap((MeterChange(Fraction(0), Meter(int(upper), int(lower))),)),
        phrases=tuple(
            Phrase(Fraction(start), f"phrase {number}")
            for number, start in enumerate(range(0, beats, phrase), 1)
        ),
    )


def placed(at: int, beats: int, move: str, hand: str = "both", **more: object) -> Placement:
    style = Style(hand=hand)  # type: ignore[arg-type]
    return Placement(BeatSpan(Fraction(at), Fraction(beats)), move, style=style, **more)  # type: ignore[arg-type]


def routine_of(*placements: Placement, beats: int = 64, **grid: object) -> Routine:
    return Routine(
        "Evening piece",
        TrackRef("evening.ogg"),
        grid_of(beats, **grid),  # type: ignore[arg-type]
        (Performer("Wren"), Performer("Ash")),
        (Part("Wren", placements),),
    )


@pytest.fixture
def piece() -> SimpleNamespace:
    """Builders of small routines: ``grid_of``, ``placed`` and ``routine_of``."""
    return SimpleNamespace(grid_of=grid_of, placed=placed, routine_of=routine_of)


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Settings, state and cache of the tests lie apart from the user's."""
    for name in ("CONFIG", "STATE", "CACHE"):
        monkeypatch.setenv(f"XDG_{name}_HOME", str(tmp_path / name.lower()))


@pytest.fixture(autouse=True)
def usual_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """The screen looks the same wherever the tests are run."""
    monkeypatch.setenv("TERM", "xterm-256color")
    for name in ("NO_COLOR", "COLORFGBG"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def opened(tmp_path: Path) -> Callable[..., PetalbarApp]:
    """Saves a routine and gives an app that has it open, its config folder an empty one."""

    def open_app(routine: Routine, **more: object) -> PetalbarApp:
        path = tmp_path / "piece.toml"
        save_routine(routine, path)
        return PetalbarApp(open_routine(path, tmp_path / "journals"), **more)  # type: ignore[arg-type]

    return open_app


@pytest.fixture
def held(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Hold:
    """Work apart, such as exports and listening, is held back at its begin."""
    folder = tmp_path / "held"
    folder.mkdir()
    monkeypatch.setenv(FOLDER, str(folder))
    monkeypatch.setattr(apart, "_work", work_when_let)
    hold = Hold(folder)
    hold.hold()
    return hold
