"""The composing screen: the count sheet with its panes. It owns the state; widgets draw it."""

from collections.abc import Callable, Mapping
from fractions import Fraction
from operator import attrgetter
from typing import Any, ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.command import Provider
from textual.containers import Horizontal, Vertical
from textual.geometry import Size
from textual.timer import Timer

from composer.arrange.history import History
from composer.errors import ComposerError
from composer.score.routine import Likeness, Routine
from tui.desk import Desk
from tui.palette import ActionCommands
from tui.screens.act_keys import act_bindings
from tui.screens.asking import Ask, Pick
from tui.screens.compose_choosing import Chooses
from tui.screens.compose_exporting import TakesOut
from tui.screens.compose_files import KeepsFiles
from tui.screens.compose_filling import Fills
from tui.screens.compose_going import GoesAbout
from tui.screens.compose_mending import Mends
from tui.screens.compose_ways import LeadsOn
from tui.views import words
from tui.views.followed import following_marks
from tui.views.found import Found
from tui.views.key_lines import COMPOSE_KEYS, key_lines
from tui.views.marks import placed_marks, routine_marks
from tui.views.paper import Line, Piece
from tui.views.performed import MoveDrawer
from tui.views.rows import Zoom, row_index_at, sheet_rows
from tui.views.sheet import Geometry, RowContent, ruler
from tui.views.sheet_view import blank_sheet, filled_sheet
from tui.views.tour import next_stop, tour_lines
from tui.widgets.count_sheet import CountSheet
from tui.widgets.lines import Lines
from tui.work import Work

SMALLEST = (60, 16)
TALL_CELLS, WIDE_CELLS = 32, 120
"""In a window this high there is room for two lines of keys, in one this wide for the panes."""

CHECK_DELAY_S = 0.08
"""The frame that shows an edit comes first; then the checks begin."""
CHECKING = (Piece("checking", "quiet"),)

EDITS: dict[str, Callable[[Desk], str]] = {
    "remove": Desk.remove,
    "undo": Desk.undo,
    "redo": Desk.redo,
    "longer": lambda desk: desk.lengthen(Fraction(1)),
    "shorter": lambda desk: desk.lengthen(Fraction(-1)),
    "later": lambda desk: desk.shift(Fraction(1)),
    "earlier": lambda desk: desk.shift(Fraction(-1)),
    "fill": Desk.fill_phrase,
    "copy": Desk.copy_phrase,
    "copy-move": Desk.copy_move,
    "paste": lambda desk: desk.paste(Likeness.UNISON),
    "paste-mirrored": lambda desk: desk.paste(Likeness.MIRRORED),
    "swap": Desk.swap_hands,
    "mirror": Desk.mirror,
    "entry": lambda desk: desk.next_entry(1),
    "entry-back": lambda desk: desk.next_entry(-1),
    "faster": lambda desk: desk.change_rate(1),
    "slower": lambda desk: desk.change_rate(-1),
    "relation": Desk.next_relation,
    "turn": Desk.turn_figure,
    "face": Desk.turn_body,
    "pin": Desk.pin,
    "hands": Desk.next_hands,
}


class ComposeScreen(KeepsFiles, Mends, Chooses, Fills, GoesAbout, TakesOut, LeadsOn):
    """Ends when the user leaves; the app decides what comes then."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *act_bindings(COMPOSE_KEYS),
        Binding("escape", "back_to_sheet", "Back to the sheet", show=False, id="back"),
    ]
    KEYS = COMPOSE_KEYS
    AUTO_FOCUS = "CountSheet"
    COMMANDS: ClassVar[set[type[Provider] | Callable[[], type[Provider]]]] = {ActionCommands}

    def __init__(self, desk: Desk, work: Work, **more: Any) -> None:
        super().__init__(desk, work, **more)
        self._at_work = False
        """Whether what stands beside the sheet has been begun."""
        self._check_timer: Timer | None = None
        self._drawer = MoveDrawer(desk.library)
        self._blank: tuple[RowContent, ...] = ()
        self._blank_key: tuple[object, ...] = ()

    def compose(self) -> ComposeResult:
        self._fit_into(self.app.size)
        yield Lines(id="title")
        with Horizontal(id="desk"):
            with Vertical(id="paper"):
                yield Lines(id="ruler")
                yield CountSheet(id="sheet")
            yield from self.compose_panes()
        yield Lines(id="tour")
        yield Lines(id="place")
        yield Lines(id="keys")
        yield Lines(id="too-small")

    def on_mount(self) -> None:
        self.name_panes()
        self._load_repertoires()
        self._show_tour()
        self.checks_run = True
        self.refresh_findings()
        self.refresh_words()
        self.set_interval(1.0, self.look_after_files)
        self.call_after_refresh(self.offer_recovery)

    def _begin_work(self) -> None:
        """What stands beside the sheet, once the sheet itself is seen."""
        self.load_sound()
        self.check_again()
        self.panes_later()

    def _load_repertoires(self) -> None:
        try:
            self.desk.having.load(self.work.path, self.desk.library)
        except ComposerError as error:
            self.message = str(error)

    # ------------------------------------------------------------------ drawing what there is

    def on_resize(self, event: events.Resize) -> None:
        width, height = event.size
        self._fit_into(event.size)
        text = (
            f"petalbar needs {SMALLEST[0]} × {SMALLEST[1]} cells, this window has "
            f"{width} × {height}: make it larger"
        )
        self.query_one("#too-small", Lines).show((Piece(text),))

    @on(CountSheet.Resized)
    def _sheet_resized(self) -> None:
        self.refresh_sheet()
        if not self._at_work:
            self._at_work = True
            self.call_after_refresh(self._begin_work)

    def _fit_into(self, size: Size) -> None:
        """Choose what a window of that size has room for."""
        width, height = size
        room = {
            "-too-small": width < SMALLEST[0] or height < SMALLEST[1],
            "-wide": width >= WIDE_CELLS,
            "-tall": height >= TALL_CELLS,
        }
        self.update_classes(room, update=self.is_mounted)

    def refresh_sheet(self) -> None:
        """Draw the sheet anew after an edit, a zoom, new findings or another size."""
        sheet = self.query_one(CountSheet)
        width = sheet.scrollable_content_region.width
        if width < 20:
            return
        desk = self.desk
        performer = desk.routine.performer(desk.performer)
        geometry = Geometry(width, self.zoom)
        marks = [
            *desk.found.marks,
            *placed_marks(desk.moves),
            *routine_marks(desk.routine, desk.performer),
            *following_marks(desk.routine, desk.performer),
        ]
        marks.sort(key=attrgetter("at"))
        drawn = self._drawer.draw(desk.moves, performer)
        self.sheet_view = filled_sheet(
            self._blank_rows(sheet), drawn, marks, geometry, self.sheet_view
        )
        sheet.show(self.sheet_view)
        self.refresh_words()
        sheet.set_cursor(desk.cursor_beat)

    def _blank_rows(self, sheet: CountSheet) -> tuple[RowContent, ...]:
        """Rows without moves; made anew only when the music, zoom or height changed."""
        grid = self.desk.routine.grid
        moves, lines = self.desk.moves, max(4, sheet.size.height)
        first = min(moves[0].span.start_beat, Fraction(0)) if moves else Fraction(0)
        key = (id(grid), self.zoom, first, lines if self.zoom is Zoom.WHOLE else 0, id(self.sound))
        if key != self._blank_key:
            same_rows = key[:-1] == self._blank_key[:-1]
            rows = (
                tuple(content.row for content in self._blank)
                if same_rows
                else sheet_rows(grid, self.zoom, first_beat=first, lines=lines)
            )
            self._blank = blank_sheet(grid, rows, self.sound)
            self._blank_key = key
        return self._blank

    def refresh_words(self) -> None:
        """Title, ruler and the lines below the sheet."""
        desk, width = self.desk, self.app.size.width
        state = "saved" if desk.is_saved else "not saved"
        self.query_one("#title", Lines).show(
            words.title_line(
                desk.routine,
                desk.performer,
                state,
                CHECKING if self.checks_run and not desk.found.findings else desk.found.counts,
                self.listening_words,
            )
        )
        self.query_one("#keys", Lines).show(*key_lines(COMPOSE_KEYS, self.keys_in_use, width))
        self.query_one("#place", Lines).show(
            words.where_line(desk.routine, desk.cursor_beat, desk.hands),
            *self._lines_here(width),
        )
        if self.sheet_view is not None:
            row = self.sheet_view.rows[row_index_at(self.sheet_view.rows, desk.cursor_beat)]
            count = int(desk.routine.grid.meter_map.position(row.span.start_beat).count)
            line = ruler(row, self.sheet_view.geometry, desk.cursor_beat, count)
            self.query_one("#ruler", Lines).show(line)

    def _lines_here(self, width: int) -> tuple[Line, ...]:
        """What stands at the cursor; then the last message, or the gravest finding there."""
        desk, found = self.desk, self.findings_here()
        here = words.here_line(desk.move_here(), desk.cursor_beat, desk.library, desk.routine)
        told: tuple[Line, ...] = ()
        if self.message:
            told = words.sentence(self.message, width)
        elif found:
            told = words.finding_lines(found[0], len(found) - 1, width)
        return told if len(told) > 1 else (here, *told)

    @property
    def keys_in_use(self) -> dict[str, str]:
        """Keys by the name of the action, where a keys file changed them."""
        return dict(getattr(self.app, "own_keys", {}))

    def cursor_moved(self) -> None:
        self.refresh_words()
        self.panes_later()

    # ------------------------------------------------------------------ asking for something

    def action_act(self, name: str) -> None:
        """Do what an action of the table says; what cannot be done is told in one line."""
        if self.tour_stop is not None:
            self.tour_stop = next_stop(self.tour_stop, name)
            self._show_tour()
        try:
            if name in EDITS:
                self.change_desk(EDITS[name])
            elif (beat := self.where_leads(name)) is not None:
                self.go_to(beat)
            elif name.startswith("place-"):
                self.place_number(int(name.removeprefix("place-")))
            else:
                getattr(self, f"do_{name.replace('-', '_')}")()
        except ComposerError as error:
            self.say(str(error))

    def after_edit(self, before: History) -> None:
        """Journal, sheet and checks after the routine may have become another."""
        if self.desk.history.present is not before.present:
            trouble = self.work.record(self.desk.routine, self.message)
            if trouble:
                self.message = trouble
            self.check_again()
        self.refresh_sheet()
        self.panes_later()

    def _show_tour(self) -> None:
        line = self.query_one("#tour", Lines)
        line.display = self.tour_stop is not None
        if self.tour_stop is not None:
            line.show(*tour_lines(self.tour_stop))

    def do_end_tour(self) -> None:
        self.tour_stop = None
        self._show_tour()

    def do_note(self) -> None:
        move = self.desk.move_here()
        if move is None:
            raise ComposerError("no move is under the cursor to write a note on")

        def write(text: str | None) -> None:
            if text is not None:
                self.change_desk(lambda desk: desk.write_note(text))

        self.app.push_screen(Ask("A note on this move", move.placement.notes), write)

    def do_performer(self) -> None:
        names = [performer.name for performer in self.desk.routine.performers]
        self.desk.performer = names[(names.index(self.desk.performer) + 1) % len(names)]
        self.message = f"the part of {self.desk.performer}"
        self.refresh_findings()
        self.refresh_sheet()

    def do_measures(self) -> None:
        """Name, body and props of the performer; everything is checked anew for them."""
        from tui.screens.measures import Measures
        from tui.views.measures import Who

        desk = self.desk
        old, date = desk.routine.performer(desk.performer), desk.routine.performance_date

        def take(who: Who | None) -> None:
            if who is None:
                return
            try:
                self.change_desk(lambda desk: desk.measure(old.name, who.performer, who.date))
                desk.having.rename(self.work.path, desk.library, old.name, who.performer.name)
            except ComposerError as error:
                self.say(str(error))

        self.app.push_screen(Measures(Who(old, date)), take)

    def do_help(self) -> None:
        from tui.screens.help import Help

        self.app.push_screen(Help(self.keys_in_use))

    def do_history(self) -> None:
        history = self.desk.history
        rows = [(Piece(step.words),) for step in history.steps]

        def go(index: int | None) -> None:
            if index is not None:
                self.change_desk(lambda desk: desk.go_back_to(index))

        self.app.push_screen(Pick("Go back to", rows, chosen=history.at), go)

    # ------------------------------------------------------------------ checks

    def check_again(self) -> None:
        self.checks_run = True
        if self._check_timer is not None:
            self._check_timer.stop()
        self._check_timer = self.set_timer(CHECK_DELAY_S, self._check)

    def _check(self) -> None:
        from tui.checking import check_later

        check_later(self, self.desk.routine, self.desk.library)

    def checked(self, routine: Routine, found: Mapping[str, Found]) -> None:
        """Take over findings, unless the routine has become another meanwhile."""
        if routine is self.desk.routine:
            self.checks_run = False
            self.desk.found_by = found
            self.refresh_findings()
            self.refresh_sheet()
