"""Work in another process, held back until a test lets it go on: no test races with it."""

import os
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from textual.pilot import Pilot

from tui.apart import _work

FOLDER = "PETALBAR_TEST_HELD"
"""Names, in the environment that the other process inherits, where its marks lie."""


@dataclass(frozen=True)
class Hold:
    """The marks are files, which both processes see."""

    folder: Path

    def hold(self) -> None:
        """What begins from now on waits."""
        self._mark("began").unlink(missing_ok=True)
        self._mark("went-on").unlink(missing_ok=True)
        self._mark("hold").touch()

    def let_go(self) -> None:
        self._mark("hold").unlink()

    async def begun(self, pilot: Pilot[int]) -> None:
        """Until the other process has begun, which then waits."""
        for _ in range(1200):
            if self._mark("began").exists():
                return
            await pilot.pause(0.05)
        raise AssertionError("the work was never begun")

    @property
    def went_on(self) -> bool:
        """Whether the work went on after it was let go."""
        return self._mark("went-on").exists()

    def _mark(self, name: str) -> Path:
        return self.folder / name


def work_when_let(work: Callable[..., Any], values: tuple[object, ...]) -> Any:
    """What the other process does in its turn: waits, then works as ever."""
    folder = Path(os.environ[FOLDER])
    (folder / "began").touch()
    while (folder / "hold").exists():
        time.sleep(0.01)
    (folder / "went-on").touch()
    return _work(work, values)
