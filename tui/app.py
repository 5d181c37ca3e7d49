"""The app: it only chooses screens and holds what outlives them, keys and theme."""

from pathlib import Path
from typing import ClassVar

from textual.app import App
from textual.binding import Binding, BindingType

from composer.errors import ComposerError
from tui.desk import Desk, open_desk
from tui.screens.compose import ComposeScreen
from tui.work import Work, open_work


class PetalbarApp(App[int]):
    """Opens a routine on the composing screen, or the first screen if none is named."""

    CSS_PATH = "styles/petalbar.tcss"
    TITLE = "petalbar"
    ENABLE_COMMAND_PALETTE = True
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+p", "command_palette", "Every command", show=False, id="commands"),
        Binding("ctrl+q", "quit", "Leave", show=False, id="leave-at-once"),
    ]

    def __init__(
        self, desk: Desk | None = None, work: Work | None = None, *, track: Path | None = None
    ) -> None:
        super().__init__()
        self._desk = desk
        self._work = work
        self._track = track
        self.own_keys: dict[str, str] = {}

    def on_mount(self) -> None:
        if self._desk is not None and self._work is not None:
            self.open_desk(self._desk, self._work, self._track)

    def open_desk(self, desk: Desk, work: Work, track: Path | None) -> None:
        self.push_screen(ComposeScreen(desk, work, track=track), lambda _: self.exit(0))


def run_compose(path: Path | None, *, journals: Path | None = None) -> int:
    """Open a routine on the composing screen; gives the exit status.

    Raises
    ------
    ComposerError
        If the routine cannot be opened: before anything is drawn.
    """
    from composer.files.routine_file import load_routine
    from composer.moves.library import shipped_library

    if path is None:
        raise ComposerError("name a routine to open")
    place = journals or default_journals()
    work = open_work(path, place)
    try:
        routine = load_routine(path)
        desk = open_desk(routine, shipped_library(), saved=True)
        app = PetalbarApp(desk, work)
        return app.run() or 0
    finally:
        work.close()


def default_journals() -> Path:
    """Where journals go when the routine's own folder cannot be written."""
    import click

    return Path(click.get_app_dir("petalbar")) / "journals"
