"""The app that shows a rehearsal and nothing else."""

from tui.app import PetalbarApp
from tui.screens.rehearse import RehearseScreen


class RehearsalApp(PetalbarApp):
    """Only the rehearsal screen: what ``petalbar rehearse`` shows."""

    ENABLE_COMMAND_PALETTE = False

    def __init__(self, screen: RehearseScreen) -> None:
        super().__init__()
        self._only = screen

    def begin(self) -> None:
        self.push_screen(self._only, lambda _: self.exit(0))
