"""From the composing screen to the others: the music, the rehearsal."""

from abc import abstractmethod
from typing import TYPE_CHECKING

from composer.errors import ComposerError
from tui.screens.asking import Pick
from tui.screens.compose_sound import Sounds

if TYPE_CHECKING:
    from tui.screens.music import MusicScreen
    from tui.views.sound import Sound


class LeadsOn(Sounds):
    """Opens another screen on the same routine; what is playing here stops."""

    _music: "MusicScreen | None" = None
    """As long as it is open."""

    def do_music(self) -> None:
        """Beats, bars and phrases on a screen of their own, which edits this desk."""
        from tui.screens.music import MusicScreen

        self._be_quiet()
        before = self.desk.history
        screen = MusicScreen(
            self.desk, self.work, track=self.track, sound=self.sound, open_device=self.open_device
        )
        self._music = screen

        def back(_: None) -> None:
            self._music = None
            self.after_edit(before)

        self.app.push_screen(screen, back)

    def sound_loaded(self, sound: "Sound") -> None:
        super().sound_loaded(sound)
        if self._music is not None:
            self._music.take_sound(sound)

    def do_floor(self) -> None:
        """Spots and ways on a screen of their own, which edits this desk."""
        from tui.screens.floor import FloorScreen

        self._be_quiet()
        self.app.push_screen(FloorScreen(self.desk, self.work), self._came_back)

    def do_parts(self) -> None:
        """Everybody's parts side by side on a screen of their own, which edits this desk."""
        from tui.screens.parts import PartsScreen

        self._be_quiet()
        self.app.push_screen(PartsScreen(self.desk, self.work), self._came_back)

    def do_part(self) -> None:
        """Choose whose part is shown and edited, from a list of what they are made of."""
        from tui.views.parts import part_choices

        desk = self.desk
        found = [one for known in desk.found_by.values() for one in known.findings]
        choices = part_choices(desk.routine, tuple(dict.fromkeys(found)))
        names = [choice.performer for choice in choices]

        def take(index: int | None) -> None:
            if index is not None:
                desk.performer = names[index]
                self._came_back(None)
                self.say(f"the part of {desk.performer}: {choices[index].words}")

        here = (names.index(desk.performer) + 1) % len(names)
        rows = [choice.row for choice in choices]
        below = [choice.told(desk.routine.performer(choice.performer)) for choice in choices]
        self.app.push_screen(Pick("Whose part", rows, chosen=here, below=below), take)

    def _came_back(self, _: None) -> None:
        """Show what another screen made of the desk; its edits are in the journal already."""
        self.message = ""
        self.refresh_findings()
        self.refresh_sheet()
        self.cursor_moved()
        self.check_again()

    def do_rehearse(self) -> None:
        """Play with calls from the cursor on: the routine as it stands, saved or not."""
        self._be_quiet()
        self.say("getting the music ready to rehearse")
        desk, path, device = self.desk, self.work.path, self.open_device
        routine, performer, beat = desk.routine, desk.performer, desk.cursor_beat
        findings = [one for found in desk.found_by.values() for one in found.findings]

        def get_ready() -> None:
            from tui.rehearsing import rehearse_screen

            try:
                screen = rehearse_screen(
                    routine,
                    path,
                    desk.library,
                    performer=performer,
                    start_beat=beat,
                    findings=findings,
                    open_device=device,
                )
            except ComposerError as error:
                self.from_thread(self.say, str(error))
            else:
                self.from_thread(self.app.push_screen, screen, lambda _: self.say(""))

        self.run_worker(get_ready, name="rehearse", group="rehearse", thread=True, exclusive=True)

    @abstractmethod
    def refresh_findings(self) -> None:
        """Show the findings of the performer anew."""

    @abstractmethod
    def cursor_moved(self) -> None:
        """Let words and panes follow the cursor."""

    def _be_quiet(self) -> None:
        if self.is_playing:
            self.stop_playing()
