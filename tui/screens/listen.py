"""Listening to a new track: analysis in another process, told second by second."""

import contextlib
import multiprocessing
import sys
import time
from concurrent.futures import Future, ProcessPoolExecutor
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen

from composer.errors import ComposerError
from composer.score.routine import Routine
from tui.opening import analysed_routine, place_for
from tui.screens.asking import LEAVE
from tui.views.paper import Piece
from tui.widgets.lines import Lines

LOOK_EVERY_S = 0.25


class Listen(ModalScreen[Routine | ComposerError | None]):
    """Ends with the routine that was begun on the track, what went wrong, or None if left."""

    BINDINGS: ClassVar[list[BindingType]] = [LEAVE]

    def __init__(self, track: Path) -> None:
        super().__init__()
        self._track = track
        self._began = time.monotonic()
        self._pool: ProcessPoolExecutor | None = None
        self._answer: Future[Routine] | None = None

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog"):
            yield Lines(id="told")

    def on_mount(self) -> None:
        # While the screen is drawn, stderr has no handle of its own that a child could be given.
        with contextlib.redirect_stderr(sys.__stderr__):
            self._pool = ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn"))
            place = place_for(self._track)
            self._answer = self._pool.submit(analysed_routine, self._track, place)
        self._look()
        self.set_interval(LOOK_EVERY_S, self._look)

    def _look(self) -> None:
        passed_s = int(time.monotonic() - self._began)
        told = self.query_one("#told", Lines)
        told.styles.height = 3
        told.show(
            (Piece(f" Listening to {self._track.name}: {passed_s} s", "title"),),
            (Piece(" beats, bars and phrases; once only, the answer is kept", "quiet"),),
            (Piece(" esc", "key"), Piece(" leave")),
        )
        if self._answer is not None and self._answer.done() and self.is_current:
            self.dismiss(self._result(self._answer))

    def _result(self, answer: "Future[Routine]") -> Routine | ComposerError:
        try:
            return answer.result()
        except ComposerError as error:
            return error
        except Exception as error:
            return ComposerError(f"{self._track.name} could not be listened to: {error}")

    def action_leave(self) -> None:
        self.dismiss(None)

    def on_unmount(self) -> None:
        if self._pool is None:
            return
        processes = list((self._pool._processes or {}).values())
        self._pool.shutdown(wait=False, cancel_futures=True)
        for process in processes:
            process.terminate()
