"""How late the sound is: tap along with a click."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen

from composer.playback.calibrate import FEWEST_TAPS, Calibration, Calibrator
from composer.playback.device import OpenDevice
from tui.screens.asking import LEAVE
from tui.views.paper import Piece
from tui.widgets.lines import Lines


class Calibrate(ModalScreen[float | None]):
    """Ends with the offset in ms, None for leaving it as it was."""

    BINDINGS: ClassVar[list[BindingType]] = [
        LEAVE,
        Binding("space", "tap", "Tap", id="calibrate-tap"),
        Binding("enter", "take", "Take it", id="calibrate-take"),
    ]

    def __init__(self, open_device: OpenDevice) -> None:
        super().__init__()
        self._calibrator = Calibrator(open_device)
        self._found: Calibration | None = None
        self._taps = 0

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog"):
            title = Lines()
            title.show((Piece(" Tap space on every click, a dozen times or more.", "title"),))
            yield title
            yield Lines(id="details")

    def on_mount(self) -> None:
        self._calibrator.start()
        self._tell()

    def on_unmount(self) -> None:
        self._calibrator.close()

    def action_tap(self) -> None:
        self._taps += 1
        self._found = self._calibrator.tap()
        self._tell()

    def _tell(self) -> None:
        found = self._found
        if notice := self._calibrator.player.check():
            words = notice
        elif found is None:
            words = f"{self._taps} taps; at least {FEWEST_TAPS + 2} are needed"
        else:
            steady = "steady enough" if found.settled else "tap on, it still scatters"
            words = (
                f"the sound comes {found.offset_ms:.0f} ms late; {found.taps} taps count, "
                f"spread {found.spread_ms:.0f} ms: {steady}"
            )
        self.query_one("#details", Lines).show(
            (Piece(f" {words}"),), (Piece(" enter takes it, esc leaves it as it was", "quiet"),)
        )

    def action_take(self) -> None:
        self.dismiss(None if self._found is None else self._found.offset_ms)

    def action_leave(self) -> None:
        self.dismiss(None)
