"""The app: it only chooses screens and holds what outlives them, keys and messages."""

import contextlib
import gc
import os
import sys
import tempfile
import traceback
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import App, SystemCommand
from textual.binding import Binding, BindingType
from textual.filter import LineFilter
from textual.screen import Screen

from composer.errors import ComposerError
from composer.files.keys_file import KEYS_FILE, load_keys, user_folder
from composer.files.music_file import check_music_file
from composer.files.screen_file import SCREEN_FILE, load_light, save_light
from composer.playback.device import OpenDevice, open_system_device
from composer.score.routine import Routine
from tui.appearance import PLAIN_TERMINALS, THEMES, PlainSigns, terminal_is_light, theme_name
from tui.keys import own_keys
from tui.opening import Opened, begin_routine, is_begun, is_routine, open_routine, place_for
from tui.screens.compose import ComposeScreen

if TYPE_CHECKING:  # loaded when it is shown
    from tui.screens.first import FirstScreen

SWITCH_S = 0.0005
"""Threads that check and rank let the screen in after so long; Python's usual 5 ms are felt."""


class PetalbarApp(App[int]):
    """Begins with an opened routine, with a track to listen to, or with the first screen."""

    CSS_PATH = "styles/petalbar.tcss"
    TITLE = "petalbar"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+p", "command_palette", "Every command", show=False, id="commands"),
        Binding("ctrl+l", "light_or_dark", "Light or dark screen", show=False, id="light"),
    ]

    def __init__(
        self,
        opened: Opened | None = None,
        *,
        track: Path | None = None,
        tour: bool = False,
        open_device: OpenDevice = open_system_device,
    ) -> None:
        super().__init__()
        self._opened = opened
        self._track = track
        self._tour = tour
        self._open_device = open_device
        self._notices: tuple[str, ...] = ()
        self.own_keys: dict[str, str] = {}
        self.fault = ""
        """One line about a fault of the program that ended it."""
        self._light = terminal_is_light(os.environ)
        self._plain_signs = os.environ.get("TERM", "") in PLAIN_TERMINALS
        for theme in THEMES:
            self.register_theme(theme)

    def on_mount(self) -> None:
        self._load_keys()
        self._load_light()
        self.begin()

    def begin(self) -> None:
        """Show the first screen of this run."""
        if self._opened is not None:
            self.show_opened(self._opened, tour=self._tour)
        elif self._track is not None:
            self.listen_to(self._track)
        else:
            self._show_first()

    def _load_keys(self) -> None:
        try:
            sorted_out = own_keys(load_keys(user_folder() / KEYS_FILE))
        except ComposerError as error:
            self._notices = (str(error),)
            return
        self.own_keys, self._notices = dict(sorted_out.keys), sorted_out.notices
        self.set_keymap(self.own_keys)

    # ------------------------------------------------------------------ appearance

    def _load_light(self) -> None:
        try:
            chosen = load_light(user_folder() / SCREEN_FILE)
        except ComposerError as error:
            self._notices = (*self._notices, str(error))
        else:
            self._light = self._light if chosen is None else chosen
        self._use_theme()

    def _use_theme(self) -> None:
        self.theme = theme_name(self._light, self.console.color_system == "standard")

    def action_light_or_dark(self) -> None:
        """Turn the screen light or dark, and keep it so."""
        self._light = not self._light
        self._use_theme()
        try:
            save_light(self._light, user_folder() / SCREEN_FILE)
        except ComposerError as error:
            self.notify(str(error), severity="warning")

    def get_system_commands(self, screen: Screen[Any]) -> Iterable[SystemCommand]:  # noqa: ARG002
        """Commands of no screen in particular."""
        yield SystemCommand(
            "Light or dark screen",
            "ctrl+l turns it, and keeps it so",
            self.action_light_or_dark,
        )

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Also plain signs, for consoles that can show no others."""
        plain = [PlainSigns()] if self._plain_signs else []
        return [*super().get_line_filters(), *plain]

    # ------------------------------------------------------------------ opening

    def show_opened(self, opened: Opened, *, tour: bool = False) -> None:
        """Put an opened routine on the composing screen; the app ends when that is left."""
        if self._notices and not opened.work.notice:
            opened.work.notice = self._notices[0]
        screen = ComposeScreen(
            opened.desk,
            opened.work,
            track=opened.track,
            open_device=self._open_device,
            tour=tour,
        )

        def left(_: None) -> None:
            screen.work.close()
            self.exit(0)

        self.push_screen(screen, left)

    def open_path(self, path: Path) -> None:
        """Open a routine, or listen to a track; what stands in the way is told."""
        try:
            if is_routine(path):
                self.show_opened(open_routine(path))
            else:
                check_music_file(path)
                self.listen_to(path)
        except ComposerError as error:
            self._tell(str(error))

    def open_demo(self, *, tour: bool = False) -> None:
        from tui.demo_folder import lay_out

        try:
            _, routine = lay_out(Path("demo_output"))
            self.show_opened(open_routine(routine), tour=tour)
        except ComposerError as error:
            self._tell(str(error))

    def listen_to(self, track: Path) -> None:
        """Begin a routine on a track, or open the one that stands beside it."""
        from tui.screens.listen import Listen

        place = place_for(track)
        if is_begun(place):
            self.open_path(place)
            return

        def heard(answer: Routine | ComposerError | None) -> None:
            if isinstance(answer, Routine):
                try:
                    self.show_opened(begin_routine(answer, place, track))
                except ComposerError as error:
                    self._tell(str(error))
            else:
                self._tell(str(answer) if answer else "left while listening")

        self.push_screen(Listen(track), heard)

    def _show_first(self) -> None:
        from tui.screens.first import FirstScreen

        self.push_screen(FirstScreen(self.own_keys))

    def on_first_screen_chosen(self, message: "FirstScreen.Chosen") -> None:
        if message.path is None:
            self.open_demo(tour=message.tour)
        else:
            self.open_path(message.path)

    def _tell(self, text: str) -> None:
        from tui.screens.first import FirstScreen

        if not isinstance(self.screen, FirstScreen):
            self.push_screen(first := FirstScreen(self.own_keys))
            self.call_after_refresh(first.tell, text)
        else:
            self.screen.tell(text)

    # ------------------------------------------------------------------ faults of our own

    def _fatal_error(self) -> None:
        """End with one line; what a developer needs goes into a file."""
        report = Path(tempfile.gettempdir()) / f"petalbar-fault-{os.getpid()}.txt"
        with contextlib.suppress(OSError):
            report.write_text(traceback.format_exc(), encoding="utf-8")
        self.fault = (
            "stopped on a fault of its own; your edits are kept and offered when you open the "
            f"routine again; what happened is written in {report}"
        )
        self._close_messages_no_wait()


def run_compose(path: Path | None, *, tour: bool = False) -> int:
    """Open a routine or a track on the composing screen; gives the exit status.

    Raises
    ------
    ComposerError
        If it cannot be opened, or there is no terminal: before anything is drawn.
    """
    in_browser = "TEXTUAL_DRIVER" in os.environ
    if not in_browser and not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise ComposerError(
            'composing needs a terminal, or a browser: "petalbar browser" serves one; '
            '"petalbar check" and "petalbar follow" do without'
        )
    if path is None:
        app = PetalbarApp()
    elif is_routine(path):
        app = PetalbarApp(open_routine(path), tour=tour)
    else:
        check_music_file(path)
        app = PetalbarApp(track=path)
    sys.setswitchinterval(SWITCH_S)
    gc.freeze()
    gc.enable()
    with quiet_libraries():
        status = app.run() or 0
    if app.fault:
        raise ComposerError(app.fault)
    return status


@contextlib.contextmanager
def quiet_libraries() -> Iterator[None]:
    """Keep what audio libraries print away from the screen: it is drawn on another handle.

    Sound libraries write on handle 2, where the screen is drawn too.
    """
    screen = sys.__stderr__
    if screen is None or not screen.isatty():
        yield
        return
    handle = os.dup(2)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    with os.fdopen(handle, "w", encoding=screen.encoding) as real:
        os.dup2(nowhere, 2)
        sys.__stderr__ = real  # type: ignore[misc]
        try:
            yield
        finally:
            os.dup2(handle, 2)
            sys.__stderr__ = screen  # type: ignore[misc]
            os.close(nowhere)
