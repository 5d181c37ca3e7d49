"""What the parts of the rehearsal screen share."""

from abc import abstractmethod

from composer.files.settings_file import Settings
from composer.files.track import Track
from composer.playback.device import OpenDevice
from composer.playback.rehearsal import Rehearsal
from composer.score.cues import Cue
from tui.screens.threaded import ThreadedScreen


class RehearseBase(ThreadedScreen):
    """State of the rehearsal screen, and what each part may ask of the whole."""

    rehearsal: Rehearsal
    track: Track
    kept: Settings
    cues: tuple[Cue, ...]
    open_device: OpenDevice
    has_sound: bool
    """Whether a device of this machine plays; else time runs on in silence."""

    @abstractmethod
    def say(self, text: str) -> None:
        """Show one line about what was done or could not be done."""

    @abstractmethod
    def look(self) -> None:
        """Ask what is heard, and show it if it differs from what is shown."""
