"""The first frame waits for nothing that it does not show."""

import subprocess
import sys
from pathlib import Path

LATER = {
    "the sound": ("av", "miniaudio", "librosa", "scipy", "soundfile"),
    "checks, proposals and remedies": (
        "composer.check.checks", "composer.arrange.effect", "composer.arrange.solve",
        "composer.arrange.remedies", "composer.arrange.place", "composer.arrange.compare",
    ),
    "exports": ("composer.export.kinds", "typst", "mido", "PIL"),
    "processes of their own": ("tui.apart", "multiprocessing"),
    "other screens": (
        "tui.screens.floor", "tui.screens.parts", "tui.screens.music", "tui.screens.rehearse",
        "tui.screens.export", "tui.screens.help", "tui.screens.choose_move",
    ),
}  # fmt: skip
"""Each takes 10 to 500 ms to load; together they would more than double the start."""


def test_what_is_asked_for_later_is_loaded_later() -> None:
    code = "import sys, tui.app; print(*sys.modules)"
    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout.split()
    for what, modules in LATER.items():
        assert not set(modules) & set(loaded), what


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
