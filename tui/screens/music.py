"""The music screen: beats, bars and phrases put right over the sound, by eye and by ear."""

from collections.abc import Callable
from fractions import Fraction
from math import floor
from typing import Any, ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.command import Provider

from composer.arrange.moved import correction_words, moved_words
from composer.errors import ComposerError
from tui.desk import Desk
from tui.palette import ActionCommands
from tui.screens.act_keys import act_bindings
from tui.screens.asking import Ask, Pick
from tui.screens.key_help import KeyHelp
from tui.screens.music_beats import PutsBeatsRight
from tui.screens.music_listening import ListensAnew
from tui.screens.music_phrases import PutsPhrasesRight
from tui.views import going, words
from tui.views.key_lines import key_lines
from tui.views.music import MusicView, music_view, standing, standing_words
from tui.views.music_keys import MUSIC_KEYS, READING
from tui.views.paper import Line, Piece
from tui.views.rows import Zoom
from tui.widgets.lines import Lines
from tui.widgets.music_sheet import MusicSheet
from tui.work import Work

SMALLEST = (60, 16)


class MusicScreen(PutsBeatsRight, PutsPhrasesRight, ListensAnew):
    """Works on the composing screen's own desk, so its undo holds here too; ends when left."""

    BINDINGS: ClassVar[list[BindingType]] = act_bindings(MUSIC_KEYS)
    KEYS = MUSIC_KEYS
    COMMANDS: ClassVar[set[type[Provider] | Callable[[], type[Provider]]]] = {ActionCommands}
    CSS_PATH = "../styles/music.tcss"
    AUTO_FOCUS = "MusicSheet"

    def __init__(self, desk: Desk, work: Work, **more: Any) -> None:
        super().__init__(desk, work, **more)
        self.zoom = Zoom.EIGHTS
        self._view: MusicView | None = None

    def compose(self) -> ComposeResult:
        yield Lines(id="title")
        yield MusicSheet(id="music-sheet")
        yield Lines(id="place")
        yield Lines(id="keys")
        yield Lines(id="too-small")

    # ------------------------------------------------------------------ what is shown

    def on_resize(self, event: events.Resize) -> None:
        width, height = event.size
        self.set_class(width < SMALLEST[0] or height < SMALLEST[1], "-too-small")
        self.query_one("#too-small", Lines).show(
            (Piece(f"petalbar needs {SMALLEST[0]} × {SMALLEST[1]} cells: make the window larger"),)
        )
        self.call_after_refresh(self.refresh_music)

    def refresh_music(self) -> None:
        """Draw everything anew after an edit, a zoom or another size."""
        sheet = self.query_one(MusicSheet)
        width = sheet.scrollable_content_region.width
        if width < 20:
            return
        routine = self.desk.routine
        starts = {p.span.start_beat for part in routine.parts for p in part.placements}
        self._view = music_view(routine.grid, width, self.zoom, self.sound, tuple(sorted(starts)))
        self.desk.cursor_beat = self._held(self.desk.cursor_beat)
        sheet.show(self._view, self.desk.cursor_beat)
        self.refresh_words()

    def _held(self, beat: Fraction) -> Fraction:
        first = self._view.rows[0].span.start_beat if self._view else Fraction(0)
        return going.held(self.desk.routine.grid, beat, first)

    def refresh_words(self) -> None:
        """The lines above and below the sheet."""
        routine, width = self.desk.routine, self.size.width
        count = len(routine.corrections)
        put_right = f"{count} correction{'' if count == 1 else 's'}" if count else "beats as heard"
        cut = " · cut for the stage" if routine.cut is not None else ""
        title = f"{routine.title} · the music · {put_right}{cut}"
        self.query_one("#title", Lines).show((Piece(" petalbar ", "title"), Piece(title, "quiet")))
        where = words.where_line(routine, self.desk.cursor_beat, "both")
        told = words.sentence(self.message, width)[:2] if self.message else ()
        fits = (self._fits_line(),) if len(told) < 2 else ()
        self.query_one("#place", Lines).show(where, *fits, *told)
        keys = dict(getattr(self.app, "own_keys", {}))
        self.query_one("#keys", Lines).show(*key_lines(MUSIC_KEYS, keys, width))

    def _fits_line(self) -> Line:
        """How well the beats of the phrase under the cursor meet what is struck."""
        grid = self.desk.routine.grid
        index = grid.phrase_index_at(self.desk.cursor_beat)
        if self.sound is None or index is None:
            return (Piece(" "),)
        found = standing(grid, self.sound, grid.phrase_span(index))
        return (Piece(f" {standing_words(found, grid.phrases[index].name)}", "note"),)

    # ------------------------------------------------------------------ the cursor

    def put_cursor(self, beat: Fraction) -> None:
        self.desk.cursor_beat = self._held(beat)
        self.message = ""
        self.query_one(MusicSheet).set_cursor(self.desk.cursor_beat)
        self.refresh_words()

    @on(MusicSheet.BeatChosen)
    def follow_mouse(self, message: MusicSheet.BeatChosen) -> None:
        self.put_cursor(Fraction(floor(message.beat)))

    # ------------------------------------------------------------------ asking for something

    def action_act(self, name: str) -> None:
        """Do what an action of the table says; what cannot be done is told in one line."""
        try:
            sheet, grid = self.query_one(MusicSheet), self.desk.routine.grid
            beat = going.where_leads(
                name, grid, sheet.rows, self.desk.cursor_beat, screenful=sheet.visible_rows
            )
            if beat is not None:
                self.put_cursor(beat)
            else:
                getattr(self, f"do_{name.replace('-', '_')}")()
        except ComposerError as error:
            self.say(str(error))

    def do_undo(self) -> None:
        self._back_and_forth(self.desk.undo)

    def do_redo(self) -> None:
        self._back_and_forth(self.desk.redo)

    def _back_and_forth(self, act: Callable[[], str]) -> None:
        before = self.desk.routine
        told = act()
        if self.desk.routine.grid != before.grid:
            told = f"{told}; {moved_words(before, self.desk.routine)}"
        self.changed(told, self.desk.cursor_beat)

    def do_leave(self) -> None:
        if self.player is not None:
            self.player.pause()
        self.dismiss(None)

    def do_help(self) -> None:
        keys = dict(getattr(self.app, "own_keys", {}))
        self.app.push_screen(KeyHelp(MUSIC_KEYS, READING, keys))

    def do_put_right(self) -> None:
        records = self.desk.routine.corrections
        if not records:
            raise ComposerError("nothing was put right yet; phrases you set are locked instead")
        rows = [(Piece(correction_words(record)),) for record in records]
        self.app.push_screen(Pick("Put on any later analysis again, in this order", rows))

    def do_zoom_in(self) -> None:
        self._set_zoom(Zoom.BARS)

    def do_zoom_out(self) -> None:
        self._set_zoom(Zoom.EIGHTS)

    def _set_zoom(self, zoom: Zoom) -> None:
        self.zoom = zoom
        self.message = zoom.words
        self.refresh_music()

    def do_go_to_bar(self) -> None:
        grid = self.desk.routine.grid

        def go(text: str | None) -> None:
            if text is not None and text.strip().isdecimal():
                self.put_cursor(grid.meter_map.bar_start_beat(max(1, int(text))))
            elif text is not None:
                self.say(f'a bar is a number from 1 to {grid.bar_count}, not "{text}"')

        self.app.push_screen(Ask(f"Go to bar (1 to {grid.bar_count})"), go)
