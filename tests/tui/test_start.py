"""The first frame waits for nothing that it does not show."""

import os
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

from composer.files.routine_file import save_routine

LATER = {
    "numbers of motion": (
        "numpy", "composer.motion.kinematics", "composer.check.moment", "tui.views.motion",
        "tui.views.trying",
    ),
    "the sound": ("av", "miniaudio", "librosa", "scipy", "soundfile"),
    "checks, proposals and remedies": (
        "composer.check.checks", "composer.check.fit", "composer.arrange.effect",
        "composer.arrange.solve", "composer.arrange.remedies", "composer.arrange.place",
        "composer.arrange.compare",
    ),
    "exports": ("composer.export.kinds", "typst", "mido", "PIL"),
    "processes of their own": ("tui.apart", "multiprocessing"),
    "other screens": (
        "tui.screens.floor", "tui.screens.parts", "tui.screens.music", "tui.screens.rehearse",
        "tui.screens.export", "tui.screens.help", "tui.screens.choose_move",
    ),
}  # fmt: skip
"""Each takes 10 to 500 ms to load; together they would more than double the start."""
AT_THE_FIRST_FRAME = """
import sys
from pathlib import Path
from tui.app import PetalbarApp
from tui.opening import open_routine
from tui.screens.compose import ComposeScreen

def stop(screen):
    print("drawn rows:", len(screen.sheet_view.rows), *sys.modules, file=out)
    screen.app.exit()

out = sys.__stdout__
ComposeScreen._begin_work = stop
PetalbarApp(open_routine(Path(sys.argv[1]), Path("journals"))).run(headless=True, size=(200, 50))
"""


def test_what_is_asked_for_later_is_loaded_later(piece: SimpleNamespace, tmp_path: Path) -> None:
    """When the sheet of an opened routine has been drawn, and nothing else begun."""
    save_routine(piece.routine_of(piece.placed(0, 8, "extension")), tmp_path / "piece.toml")
    done = subprocess.run(
        [sys.executable, "-c", AT_THE_FIRST_FRAME, str(tmp_path / "piece.toml")],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])},
        timeout=60,
    )
    assert "drawn rows: " in done.stdout, done.stderr
    loaded = set(done.stdout.split())
    for what, modules in LATER.items():
        assert not set(modules) & loaded, what


def test_without_a_terminal_it_says_what_does_without(tmp_path: Path) -> None:
    result = subprocess.run(
        [sys.executable, "-m", "tui.main", "open", str(tmp_path / "none.toml")],
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
        timeout=60,
    )
    assert result.returncode == 2
    assert "needs a terminal" in result.stderr
    assert result.stderr.count("\n") == 1
