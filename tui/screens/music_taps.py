"""Tapping along to a passage."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen

from composer.playback.calibrate import TAP_LEAD_MS
from composer.playback.player import Player, PlayState
from composer.timing.grid import clock_text
from tui.screens.asking import LEAVE
from tui.views.music import tapped_words
from tui.views.paper import Piece
from tui.widgets.lines import Lines

LOOKS_PER_S = 10


class Tap(ModalScreen[tuple[float, ...] | None]):
    """Plays from a place and ends with the track time of each beat tapped; None for leaving.

    People tap ahead of the beat by a constant lead; it is taken off each tap here.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        LEAVE,
        Binding("space,t", "tap", "Tap", show=False, id="tap-tap"),
        Binding("enter", "take", "Fit the beats", show=False, id="tap-take"),
        Binding("r", "again", "Begin again", show=False, id="tap-again"),
    ]

    def __init__(self, player: Player, start_s: float, place: str) -> None:
        super().__init__()
        self._player = player
        self._start_s = start_s
        self._place = place
        self._taps_s: list[float] = []

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog"):
            title = Lines()
            title.show((Piece(f" Tap along from {self._place}", "title"),))
            yield title
            yield Lines(id="details")
            keys = Lines()
            keys.show((Piece(" space", "key"), Piece(" on every beat  "), Piece("enter", "key"),
                       Piece(" done  "), Piece("r", "key"), Piece(" begin again  "),
                       Piece("esc", "key"), Piece(" leave all as it is")))  # fmt: skip
            yield keys

    def on_mount(self) -> None:
        self.action_again()
        self.set_interval(1 / LOOKS_PER_S, self._tell)

    def action_again(self) -> None:
        self._taps_s.clear()
        self._player.seek(self._start_s)
        self._player.play()
        self._tell()

    def action_tap(self) -> None:
        self._taps_s.append(self._player.position_s() + TAP_LEAD_MS / 1000)
        self._tell()

    def _tell(self) -> None:
        notice = self._player.check()
        ended = not notice and self._player.state is PlayState.READY
        heard = "the music has ended" if ended else clock_text(self._player.position_s())
        self.query_one("#details", Lines).show(
            (Piece(f" {heard}", "time"),),
            (Piece(f" {notice or tapped_words(tuple(self._taps_s))}", "strong"),),
            (Piece(f" each tap counts {TAP_LEAD_MS:.0f} ms later: people tap early", "quiet"),),
        )

    def action_take(self) -> None:
        self.dismiss(tuple(self._taps_s))

    def action_leave(self) -> None:
        self.dismiss(None)

    def on_unmount(self) -> None:
        self._player.pause()
