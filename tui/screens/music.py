"""The music screen: beats, bars and phrases put right over the sound, by eye and by ear."""

from collections.abc import Callable
from fractions import Fraction
from math import floor
from pathlib import Path
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from composer.arrange import music
from composer.arrange.moved import correction_words, moved_words
from composer.arrange.music import Extent
from composer.errors import ComposerError
from composer.playback.calibrate import TAP_LEAD_MS
from composer.playback.device import OpenDevice, open_system_device
from composer.playback.player import Player
from composer.score.routine import Routine
from composer.timing.corrections import main_bpm
from composer.timing.meter import Meter, meter_from_text
from tui.desk import Desk
from tui.screens.asking import Ask, Pick
from tui.screens.help import Help
from tui.screens.music_sound import HearsMusic
from tui.screens.music_taps import Tap
from tui.views import going, words
from tui.views.music import MusicView, music_view, standing, standing_words, tapped_words
from tui.views.music_keys import MUSIC_ACTIONS, READING, music_help, music_key_lines, own_name
from tui.views.paper import Line, Piece
from tui.views.rows import Zoom
from tui.views.sound import Sound
from tui.widgets.lines import Lines
from tui.widgets.music_sheet import MusicSheet
from tui.work import Work

SMALLEST = (60, 16)
NUDGE_S = 0.005
METRES = ("4/4", "3/4", "6/8", "6/8 in 6", "2/4", "5/4", "7/8", "9/8", "12/8")
EXTENTS: tuple[tuple[Extent, str], ...] = (
    ("passage", "only where I tapped"),
    ("to the end", "from the first tap to the end"),
    ("all along", "all along"),
)

Change = Callable[[Routine], Routine]


class MusicScreen(HearsMusic):
    """Works on the composing screen's own desk, so its undo holds here too; ends when left."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            action.keys,
            f"act('{action.name}')",
            action.words,
            show=False,
            id=own_name(action),
        )
        for action in MUSIC_ACTIONS
    ]
    CSS_PATH = "../styles/music.tcss"
    AUTO_FOCUS = "MusicSheet"

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
        self.zoom = Zoom.EIGHTS
        self.message = "" if sound else "no analysis of this track is kept: its sound is not drawn"
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
        title = f"{routine.title} · the music · {put_right}"
        self.query_one("#title", Lines).show((Piece(" petalbar ", "title"), Piece(title, "quiet")))
        where = words.where_line(routine, self.desk.cursor_beat, "both")
        told = words.sentence(self.message, width)[:2] if self.message else ()
        fits = (self._fits_line(),) if len(told) < 2 else ()
        self.query_one("#place", Lines).show(where, *fits, *told)
        keys = dict(getattr(self.app, "own_keys", {}))
        self.query_one("#keys", Lines).show(*music_key_lines(keys, width))

    def _fits_line(self) -> Line:
        """How well the beats of the phrase under the cursor meet what is struck."""
        grid = self.desk.routine.grid
        index = grid.phrase_index_at(self.desk.cursor_beat)
        if self.sound is None or index is None:
            return (Piece(" "),)
        found = standing(grid, self.sound, grid.phrase_span(index))
        return (Piece(f" {standing_words(found, grid.phrases[index].name)}", "note"),)

    def say(self, text: str) -> None:
        self.message = text
        self.refresh_words()

    # ------------------------------------------------------------------ the cursor

    def put_cursor(self, beat: Fraction) -> None:
        self.desk.cursor_beat = self._held(beat)
        self.message = ""
        self.query_one(MusicSheet).set_cursor(self.desk.cursor_beat)
        self.refresh_words()

    def _go(self, name: str) -> Fraction | None:
        """Where an action of moving about leads; None if it is no such action."""
        grid, beat = self.desk.routine.grid, self.desk.cursor_beat
        sheet = self.query_one(MusicSheet)
        phrases = [phrase.start_beat for phrase in grid.phrases]
        steps: dict[str, Callable[[], Fraction]] = {
            "next-count": lambda: going.step_count(beat, 1),
            "previous-count": lambda: going.step_count(beat, -1),
            "next-row": lambda: going.step_row(sheet.rows, beat, 1),
            "previous-row": lambda: going.step_row(sheet.rows, beat, -1),
            "screen-down": lambda: going.step_row(sheet.rows, beat, sheet.visible_rows),
            "screen-up": lambda: going.step_row(sheet.rows, beat, -sheet.visible_rows),
            "next-bar": lambda: going.step_bar(grid, beat, 1),
            "previous-bar": lambda: going.step_bar(grid, beat, -1),
            "next-phrase": lambda: going.step_among(phrases, beat, 1),
            "previous-phrase": lambda: going.step_among(phrases, beat, -1),
            "to-start": lambda: Fraction(0),
            "to-end": lambda: grid.end_beat,
        }
        return steps[name]() if name in steps else None

    @on(MusicSheet.BeatChosen)
    def follow_mouse(self, message: MusicSheet.BeatChosen) -> None:
        self.put_cursor(Fraction(floor(message.beat)))

    def _beat_meant(self) -> Fraction:
        """The cursor's beat; while playing, the one that is heard: keys come early as taps do."""
        if not self.is_playing or self.player is None:
            return self.desk.cursor_beat
        heard_s = self.player.position_s() + TAP_LEAD_MS / 1000
        return Fraction(round(self.desk.routine.grid.tempo_map.beat_at(heard_s)))

    # ------------------------------------------------------------------ asking for something

    def action_act(self, name: str) -> None:
        """Do what an action of the table says; what cannot be done is told in one line."""
        try:
            if (beat := self._go(name)) is not None:
                self.put_cursor(beat)
            else:
                getattr(self, f"do_{name.replace('-', '_')}")()
        except ComposerError as error:
            self.say(str(error))

    def _change(self, what: str, change: Change, at_beat: Fraction | None = None) -> None:
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
        self._changed(f"{what}: {told}", at_beat)

    def _change_phrases(self, what: str, change: Change, at_beat: Fraction | None = None) -> None:
        self.desk.take_over(what, change(self.desk.routine))
        self._changed(what, self.desk.cursor_beat if at_beat is None else at_beat)

    def _changed(self, told: str, at_beat: Fraction) -> None:
        """Keep the routine as it now is, draw it and let it be heard."""
        self.message = self.work.record(self.desk.routine, told) or told
        self.desk.cursor_beat = at_beat
        self.lay_click()
        self.refresh_music()

    def do_undo(self) -> None:
        self._back_and_forth(self.desk.undo)

    def do_redo(self) -> None:
        self._back_and_forth(self.desk.redo)

    def _back_and_forth(self, act: Callable[[], str]) -> None:
        before = self.desk.routine
        told = act()
        if self.desk.routine.grid != before.grid:
            told = f"{told}; {moved_words(before, self.desk.routine)}"
        self._changed(told, self.desk.cursor_beat)

    def do_leave(self) -> None:
        if self.player is not None:
            self.player.pause()
        self.dismiss(None)

    def do_help(self) -> None:
        self.app.push_screen(MusicHelp(dict(getattr(self.app, "own_keys", {}))))

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

    # ------------------------------------------------------------------ beats and bars

    def do_one_here(self) -> None:
        beat = self._beat_meant()
        self._change("count 1 is here", lambda r: music.count_one_here(r, beat))

    def do_later(self) -> None:
        self._change("bars a beat later", lambda r: music.shift_bars(r, 1))

    def do_earlier(self) -> None:
        self._change("bars a beat earlier", lambda r: music.shift_bars(r, -1))

    def do_half(self) -> None:
        self._change("bars half a beat later", lambda r: music.shift_bars(r, Fraction(1, 2)))

    def do_bars_from(self) -> None:
        beat = self._beat_meant()
        place = self.desk.routine.grid.place_text(beat)
        self._change(f"bars counted anew from {place}", lambda r: music.bars_from(r, beat))

    def do_nudge_later(self) -> None:
        self._nudge(NUDGE_S)

    def do_nudge_earlier(self) -> None:
        self._nudge(-NUDGE_S)

    def _nudge(self, by_s: float) -> None:
        way = "later" if by_s > 0 else "earlier"
        self._change(f"beats {abs(1000 * by_s):g} ms {way}", lambda r: music.nudge(r, by_s))

    def do_by_ms(self) -> None:
        def shift(text: str) -> None:
            self._nudge(_number(text, "ms", "-12") / 1000)

        self._ask("All beats later by so many ms (earlier: a minus before it)", "", shift)

    def do_align(self) -> None:
        grid, index = self.desk.routine.grid, self.phrase_here()
        name = grid.phrases[index].name
        found = standing(grid, self.sound, grid.phrase_span(index)) if self.sound else None
        if found is None:
            raise ComposerError(standing_words(None, name))
        by_s = round(found.late_ms) / 1000
        if not by_s:
            raise ComposerError(f"the beats of {name} stand on what is struck already")
        self._nudge(by_s)

    def do_double(self) -> None:
        self._change("tempo doubled", lambda r: music.scale_tempo(r, doubled=True))

    def do_halve(self) -> None:
        self._change("tempo halved", lambda r: music.scale_tempo(r, doubled=False))

    def do_hold(self) -> None:
        index = self.phrase_here()
        name = self.desk.routine.grid.phrases[index].name
        self._change_phrases(f"beats of {name} held", lambda r: music.hold_beats(r, index))

    def do_metre(self) -> None:
        now = str(self.desk.routine.grid.meter_map.meter_at(self.desk.cursor_beat))
        metres = list(dict.fromkeys((now, *METRES)))
        rows = [(Piece(metre + _counted(meter_from_text(metre))),) for metre in metres]

        def chosen(index: int | None) -> None:
            if index is not None:
                self._ask_reach(meter_from_text(metres[index]))

        self.app.push_screen(Pick("Metre", rows), chosen)

    def _ask_reach(self, meter: Meter) -> None:
        """Where a metre holds: all along, from this bar on, or in this phrase."""
        grid = self.desk.routine.grid
        bar = max(1, grid.meter_map.position(self.desk.cursor_beat).bar)
        start = grid.meter_map.bar_start_beat(bar)
        span = going.phrase_at(grid, max(self.desk.cursor_beat, Fraction(0)))
        reaches: list[tuple[str, Fraction, Fraction | None]] = [
            ("all along", Fraction(0), None),
            (f"from bar {bar} on", start, None),
            ("in this phrase", max(span.start_beat, Fraction(0)), span.end_beat),
        ]

        def chosen(index: int | None) -> None:
            if index is None:
                return
            where, at, until = reaches[index]
            try:
                self._change(f"{meter} {where}", lambda r: music.set_bars(r, meter, at, until))
            except ComposerError as error:
                self.say(str(error))

        rows = [(Piece(where),) for where, _, _ in reaches]
        self.app.push_screen(Pick(f"{meter}: where?", rows), chosen)

    # ------------------------------------------------------------------ tempo

    def do_split(self) -> None:
        beat, grid = self.desk.cursor_beat, self.desk.routine.grid
        now = f"{grid.tempo_map.bpm_at(beat):.2f}"

        def split(text: str) -> None:
            bpm = _number(text, "beats a minute", now)
            what = f"{bpm:g} beats a minute from {grid.meter_map.position(beat)} on"
            self._change(what, lambda r: music.tempo_from(r, beat, bpm), beat)

        question = f"Beats a minute from {grid.meter_map.position(beat)} to the end"
        self._ask(question, now, split)

    def do_tap(self) -> None:
        if self.is_playing:
            self.stop_playing()

        def tap(player: Player) -> None:
            self.say("")
            player.set_layer("click", None)
            grid, beat = self.desk.routine.grid, self.desk.cursor_beat
            start_s = max(0.0, grid.tempo_map.seconds(beat))
            self.app.push_screen(Tap(player, start_s, grid.place_text(beat)), self._tapped)

        self.with_player(tap)

    def _tapped(self, taps_s: tuple[float, ...] | None) -> None:
        self.lay_click()
        if taps_s is None:
            return
        routine = self.desk.routine
        try:
            fitted = [music.fit_taps(routine, taps_s, extent) for extent, _ in EXTENTS]
        except ComposerError as error:
            self.say(str(error))
            return
        below = [
            (
                (Piece(f" {main_bpm(after.grid):.1f} beats a minute in the longest stretch"),),
                (Piece(f" {moved_words(routine, after)}", "quiet"),),
            )
            for after in fitted
        ]

        def chosen(index: int | None) -> None:
            if index is not None:
                what = f"beats as tapped {EXTENTS[index][1].replace('I', 'you')}"
                self._change(what, lambda _: fitted[index])

        rows = [(Piece(reach),) for _, reach in EXTENTS]
        self.app.push_screen(Pick(f"{tapped_words(taps_s)}. Where?", rows, below=below), chosen)

    # ------------------------------------------------------------------ phrases

    def do_phrase(self) -> None:
        beat = self._beat_meant()
        grid = self.desk.routine.grid

        def begin(text: str) -> None:
            name = text.strip() or f"phrase {len(grid.phrases) + 1}"
            what = f'phrase "{name}" begins at {grid.place_text(beat)}'
            self._change_phrases(what, lambda r: music.new_phrase(r, beat, name), beat)

        self._ask(f"Name of the phrase that begins at {grid.place_text(beat)}", "", begin)

    def do_name(self) -> None:
        index = self.phrase_here()
        old = self.desk.routine.grid.phrases[index].name

        def name(text: str) -> None:
            if text.strip():
                what = f'phrase "{old}" is now "{text.strip()}"'
                self._change_phrases(what, lambda r: music.name_phrase(r, index, text.strip()))

        self._ask("Name of this phrase", old, name)

    def do_remove(self) -> None:
        index = self.phrase_here()
        name = self.desk.routine.grid.phrases[index].name
        self._change_phrases(f'phrase "{name}" removed', lambda r: music.remove_phrase(r, index))

    def do_phrase_later(self) -> None:
        self._move_phrase(lambda start: start + 1)

    def do_phrase_earlier(self) -> None:
        self._move_phrase(lambda start: start - 1)

    def do_phrase_bar_later(self) -> None:
        self._move_phrase(lambda start: going.step_bar(self.desk.routine.grid, start, 1))

    def do_phrase_bar_earlier(self) -> None:
        self._move_phrase(lambda start: going.step_bar(self.desk.routine.grid, start, -1))

    def _move_phrase(self, step: Callable[[Fraction], Fraction]) -> None:
        index, grid = self.phrase_here(), self.desk.routine.grid
        phrase = grid.phrases[index]
        beat = step(phrase.start_beat)
        what = f'phrase "{phrase.name}" begins at {grid.place_text(beat)}'
        self._change_phrases(what, lambda r: music.move_phrase(r, index, beat), beat)

    def do_lock(self) -> None:
        index = self.phrase_here()
        phrase = self.desk.routine.grid.phrases[index]
        what = f'phrase "{phrase.name}" {"let go" if phrase.locked else "locked"}'
        self._change_phrases(what, lambda r: music.lock_phrase(r, index, not phrase.locked))

    def do_lock_all(self) -> None:
        locked = not all(phrase.locked for phrase in self.desk.routine.grid.phrases)
        what = "all phrases locked" if locked else "all phrases let go"
        self._change_phrases(what, lambda r: music.lock_phrases(r, locked))

    # ------------------------------------------------------------------ asking for text

    def _ask(self, question: str, value: str, then: Callable[[str], None]) -> None:
        """Ask for a line of text; what cannot be done with it is told."""

        def answered(text: str | None) -> None:
            if text is None:
                return
            try:
                then(text)
            except ComposerError as error:
                self.say(str(error))

        self.app.push_screen(Ask(question, value), answered)


class MusicHelp(Help):
    """The keys of the music screen, and how it is read."""

    def _fill(self) -> None:
        from tui.widgets.pick_list import PickList

        pick_list = self.query_one(PickList)
        width = pick_list.scrollable_content_region.width
        reading = [line for text in READING for line in words.sentence(text, width)]
        self._lines = [*reading, (), *music_help(self._keys)]
        pick_list.show(self._lines)


def _number(text: str, unit: str, example: str) -> float:
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        raise ComposerError(
            f'a number of {unit} is wanted, such as {example}, not "{text}"'
        ) from None


def _counted(meter: Meter) -> str:
    return f", counted in {meter.beats_per_bar}"
