"""The music screen's larger steps: listening anew, and the cut to stage length."""

from dataclasses import replace
from pathlib import Path

from composer.arrange.moved import correction_words, moved_lines
from composer.arrange.music import relisten
from composer.errors import ComposerError
from composer.files.music_file import content_hash
from composer.timing.grid import MusicGrid, clock_text
from tui.apart import Apart
from tui.opening import heard_grid
from tui.screens.asking import Pick
from tui.screens.compose_sound import kept_sound
from tui.screens.listen import Waiting
from tui.screens.music_base import MusicBase
from tui.screens.music_cut import CutMusic
from tui.screens.music_cut_sound import CutSound
from tui.views.cutting import CutPlan
from tui.views.paper import Line, Piece, shortened
from tui.views.sound import Sound

MOST_LINES = 11
LINE_CELLS = 72


class ListensAnew(MusicBase):
    """Each shows what would change and is one step of the history."""

    def take_sound(self, sound: Sound) -> None:
        """Draw the sound, which was not known before."""
        self.sound = sound
        self.refresh_music()

    # ------------------------------------------------------------------ listening anew

    def do_listen(self) -> None:
        track = self.track
        if track is None:
            raise ComposerError(
                f"{self.desk.routine.track.file} is not there, so it cannot be listened to; "
                "put the music beside the routine"
            )

        def heard(answer: tuple[MusicGrid, float] | ComposerError | None) -> None:
            if isinstance(answer, ComposerError):
                self.say(str(answer))
            elif answer is not None:
                self._offer(track, *answer)

        self.app.push_screen(
            Waiting(
                f"Listening to {track.name}",
                "what you put right is put on the answer again; nothing changes unasked",
                lambda: Apart(heard_grid, track),
            ),
            heard,
        )

    def _offer(self, track: Path, grid: MusicGrid, duration_s: float) -> None:
        """Show what would move, and take it if so wished."""
        sound = kept_sound(track)
        if sound is not None:
            self.take_sound(sound)
        before = self.desk.routine
        again = relisten(before, grid)
        ref = replace(before.track, sha256=content_hash(track), duration_s=duration_s)
        after = replace(again.routine, track=ref)
        if after.grid == before.grid:
            self.say("heard as it stands here: nothing changes")
            return
        told = [(Piece(f" {shortened(text, LINE_CELLS)}"),) for text in moved_lines(before, after)]
        told += [
            (Piece(f" ▲ no longer fits: {correction_words(one)}: {why}", "warning"),)
            for one, why in again.refused
        ]
        if before.track.sha256 not in ("", ref.sha256):
            told.insert(0, (Piece(" ▲ other music than the routine was made on", "warning"),))

        def take(index: int | None) -> None:
            if index == 0:
                self.change("listened anew", lambda _: after)
            else:
                self.say("left as it was")

        rows = [(Piece("Take it: moves keep their beats"),), (Piece("Leave all as it is"),)]
        below: list[tuple[Line, ...]] = [tuple(told[:MOST_LINES])] * 2
        question = "Heard anew; this is what would change"
        self.app.push_screen(Pick(question, rows, below=below), take)

    # ------------------------------------------------------------------ the cut

    def do_cut(self) -> None:
        """Phrases kept, dropped or repeated until the music has the length of the stage."""

        def take(plan: CutPlan | None) -> None:
            if plan is None:
                return
            try:
                self.change_phrases(_cut_words(plan), plan.applied)
            except ComposerError as error:
                self.say(str(error))

        sound = CutSound(self.track, self.open_device)
        self.app.push_screen(CutMusic(self.desk.routine, sound), take)


def _cut_words(plan: CutPlan) -> str:
    if plan.is_whole:
        return "the music is played whole"
    kept = sum(times > 0 for times in plan.times)
    return f"cut to {clock_text(plan.length_s)}: {kept} of {len(plan.times)} phrases are played"
