"""The music screen's beats, bars and tempo."""

from fractions import Fraction

from composer.arrange import music
from composer.arrange.moved import moved_words
from composer.arrange.music import Extent
from composer.errors import ComposerError
from composer.playback.player import Player
from composer.timing.meter import Meter, meter_from_text
from composer.timing.regrid import main_bpm
from tui.screens.asking import Pick
from tui.screens.music_sound import HearsMusic
from tui.screens.music_taps import Tap
from tui.views import going
from tui.views.music import standing, standing_words, tapped_words
from tui.views.paper import Piece

NUDGE_S = 0.005
METRES = ("4/4", "3/4", "6/8", "6/8 in 6", "2/4", "5/4", "7/8", "9/8", "12/8")
EXTENTS: tuple[tuple[Extent, str], ...] = (
    ("passage", "only where I tapped"),
    ("to the end", "from the first tap to the end"),
    ("all along", "all along"),
)


class PutsBeatsRight(HearsMusic):
    """Shifts, nudges, scales, splits and taps; every change is heard at once."""

    def do_one_here(self) -> None:
        beat = self.beat_meant()
        self.change("count 1 is here", lambda r: music.count_one_here(r, beat))

    def do_later(self) -> None:
        self.change("bars a beat later", lambda r: music.shift_bars(r, 1))

    def do_earlier(self) -> None:
        self.change("bars a beat earlier", lambda r: music.shift_bars(r, -1))

    def do_half(self) -> None:
        self.change("bars half a beat later", lambda r: music.shift_bars(r, Fraction(1, 2)))

    def do_bars_from(self) -> None:
        beat = self.beat_meant()
        place = self.desk.routine.grid.place_text(beat)
        self.change(f"bars counted anew from {place}", lambda r: music.bars_from(r, beat))

    def do_nudge_later(self) -> None:
        self._nudge(NUDGE_S)

    def do_nudge_earlier(self) -> None:
        self._nudge(-NUDGE_S)

    def _nudge(self, by_s: float) -> None:
        way = "later" if by_s > 0 else "earlier"
        self.change(f"beats {abs(1000 * by_s):g} ms {way}", lambda r: music.nudge(r, by_s))

    def do_by_ms(self) -> None:
        def shift(text: str) -> None:
            self._nudge(_number(text, "ms", "-12") / 1000)

        self.ask("All beats later by so many ms (earlier: a minus before it)", "", shift)

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
        self.change("tempo doubled", lambda r: music.scale_tempo(r, doubled=True))

    def do_halve(self) -> None:
        self.change("tempo halved", lambda r: music.scale_tempo(r, doubled=False))

    def do_hold(self) -> None:
        index = self.phrase_here()
        name = self.desk.routine.grid.phrases[index].name
        self.change_phrases(f"beats of {name} held", lambda r: music.hold_beats(r, index))

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
                self.change(f"{meter} {where}", lambda r: music.set_bars(r, meter, at, until))
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
            self.change(what, lambda r: music.tempo_from(r, beat, bpm), beat)

        question = f"Beats a minute from {grid.meter_map.position(beat)} to the end"
        self.ask(question, now, split)

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
                self.change(what, lambda _: fitted[index])

        rows = [(Piece(reach),) for _, reach in EXTENTS]
        self.app.push_screen(Pick(f"{tapped_words(taps_s)}. Where?", rows, below=below), chosen)


def _number(text: str, unit: str, example: str) -> float:
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        raise ComposerError(
            f'a number of {unit} is wanted, such as {example}, not "{text}"'
        ) from None


def _counted(meter: Meter) -> str:
    return f", counted in {meter.beats_per_bar}"
