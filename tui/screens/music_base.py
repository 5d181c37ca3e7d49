"""What the parts of the music screen share: the desk, and how a correction is taken."""

from abc import abstractmethod
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

from composer.arrange.moved import moved_words
from composer.errors import ComposerError
from composer.playback.device import OpenDevice, open_system_device
from composer.score.routine import Routine
from tui.desk import Desk
from tui.screens.asking import Ask, or_told
from tui.screens.threaded import ThreadedScreen
from tui.views.sound import Sound
from tui.work import Work

Change = Callable[[Routine], Routine]


class MusicBase(ThreadedScreen):
    """State of the music screen, and what each part may ask of the whole."""

    def __init__(
        self,
        desk: Desk,
        work: Work,
        *,
        track: Path | None = None,
        sound: Sound | None = None,
        open_device: OpenDevice = open_system_device,
    ) -> None:
        super().__init__()
        self.desk = desk
        self.work = work
        self.track = track
        self.sound = sound
        self.open_device = open_device
        self.message = "" if sound else "the sound is not drawn yet; A listens for it"

    def say(self, text: str) -> None:
        """Show one line about what was done or could not be done."""
        self.message = text
        self.refresh_words()

    @abstractmethod
    def refresh_words(self) -> None: ...

    @abstractmethod
    def refresh_music(self) -> None: ...

    @abstractmethod
    def put_cursor(self, beat: Fraction) -> None: ...

    @abstractmethod
    def lay_click(self) -> None:
        """Let the click follow the beats as they are now."""

    @abstractmethod
    def beat_meant(self) -> Fraction:
        """The cursor's beat, or the one that is heard while the music plays."""

    def phrase_here(self) -> int:
        """The phrase under the cursor.

        Raises
        ------
        ComposerError
            If there is none.
        """
        index = self.desk.routine.grid.phrase_index_at(self.desk.cursor_beat)
        if index is None:
            raise ComposerError("no phrase is under the cursor; p begins one here")
        return index

    # ------------------------------------------------------------------ taking corrections

    def change(self, what: str, change: Change, at_beat: Fraction | None = None) -> None:
        """Take a corrected routine; the cursor stays at its place in the sound."""
        before = self.desk.routine
        after = change(before)
        if after == before:
            self.say(f"{what}: nothing changes")
            return
        self.desk.take_over(what, after)
        if at_beat is None:
            time_s = before.grid.tempo_map.seconds(self.desk.cursor_beat)
            at_beat = Fraction(round(after.grid.tempo_map.beat_at(time_s)))
        same = after.grid == before.grid
        told = "it was so, and is kept so" if same else moved_words(before, after)
        self.changed(f"{what}: {told}", at_beat)

    def change_phrases(self, what: str, change: Change, at_beat: Fraction | None = None) -> None:
        self.desk.take_over(what, change(self.desk.routine))
        self.changed(what, self.desk.cursor_beat if at_beat is None else at_beat)

    def changed(self, told: str, at_beat: Fraction) -> None:
        """Keep the routine as it now is, draw it and let it be heard."""
        self.message = self.work.record(self.desk.routine, told) or told
        self.desk.cursor_beat = at_beat
        self.lay_click()
        self.refresh_music()

    def ask(self, question: str, value: str, then: Callable[[str], None]) -> None:
        """Ask for a line of text; what cannot be done with it is told."""
        self.app.push_screen(Ask(question, value), or_told(then, self.say))
