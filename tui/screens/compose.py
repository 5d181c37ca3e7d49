"""The composing screen: the count sheet with its panes. It owns the state; widgets draw it."""

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import Screen
from textual.timer import Timer

from composer.arrange.history import History
from composer.check.findings import Finding
from composer.errors import ComposerError
from composer.moves.perform import Style
from composer.score.routine import Likeness, Routine
from tui.actions import ACTIONS
from tui.desk import Desk
from tui.screens.asking import Ask, Pick
from tui.screens.choose_move import ChooseMove
from tui.views import going, words
from tui.views.follow import FollowRow, follow_rows
from tui.views.marks import finding_marks, placed_marks, routine_marks
from tui.views.paper import Line, Piece
from tui.views.performed import MoveDrawer
from tui.views.rows import Zoom, row_index_at, sheet_rows
from tui.views.sheet import Geometry, RowContent, ruler
from tui.views.sheet_view import SheetView, blank_sheet, filled_sheet
from tui.views.sound import Sound
from tui.widgets.count_sheet import CountSheet
from tui.widgets.lines import Lines
from tui.widgets.pick_list import PickList
from tui.work import Work, read_again

SMALLEST = (60, 16)
PANE_DELAY_S = 0.12
"""Panes that follow the cursor wait until it has stood still for so long."""

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


class ComposeScreen(Screen[None]):
    """Ends when the user leaves; the app decides what comes then."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *(
            Binding(action.keys, f"act('{action.name}')", action.words, show=False, id=action.name)
            for action in ACTIONS
        ),
        Binding("escape", "back_to_sheet", "Back to the sheet", show=False, id="back"),
    ]
    AUTO_FOCUS = "CountSheet"

    def __init__(self, desk: Desk, work: Work, *, track: Path | None = None) -> None:
        super().__init__()
        self.desk = desk
        self.work = work
        self.track = track
        self.zoom = Zoom.EIGHTS
        self.message = work.notice
        self.follow: tuple[FollowRow, ...] = ()
        self._sound: Sound | None = None
        self._view: SheetView | None = None
        self._drawer = MoveDrawer(desk.library)
        self._blank: tuple[RowContent, ...] = ()
        self._blank_key: tuple[object, ...] = ()
        self._pane_timer: Timer | None = None
        self._shown_pane = ""

    def compose(self) -> ComposeResult:
        yield Lines(id="title")
        with Horizontal(id="desk"):
            with Vertical(id="paper"):
                yield Lines(id="ruler")
                yield CountSheet(id="sheet")
            with Vertical(id="panes"):
                with Vertical(id="follow-pane", classes="pane"):
                    yield PickList(id="follow", empty="nothing in the library fits here")
                with Vertical(id="findings-pane", classes="pane"):
                    yield PickList(id="findings", empty="no findings")
        yield Lines(id="place")
        yield Lines(id="keys")
        yield Lines(id="too-small")

    def on_mount(self) -> None:
        self.query_one("#follow-pane").border_title = "what can follow"
        self.query_one("#findings-pane").border_title = "findings"
        self.set_interval(1.0, self._look_after_files)
        self.refresh_findings()
        self.cursor_moved()

    # ------------------------------------------------------------------ drawing what there is

    def on_resize(self, event: events.Resize) -> None:
        width, height = event.size
        small = width < SMALLEST[0] or height < SMALLEST[1]
        self.set_class(small, "-too-small")
        self.set_class(width >= 120, "-wide")
        text = (
            f"petalbar needs {SMALLEST[0]} × {SMALLEST[1]} cells, this window has "
            f"{width} × {height}: make it larger"
        )
        self.query_one("#too-small", Lines).show((Piece(text),))
        self.call_after_refresh(self.refresh_sheet)

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
            *finding_marks(desk.own_findings),
            *placed_marks(desk.moves),
            *routine_marks(desk.routine, desk.performer),
        ]
        marks.sort(key=lambda mark: mark.beat)
        drawn = self._drawer.draw(desk.moves, performer)
        self._view = filled_sheet(self._blank_rows(sheet), drawn, marks, geometry, self._view)
        sheet.show(self._view)
        self.refresh_words()
        sheet.set_cursor(desk.cursor_beat)

    def _blank_rows(self, sheet: CountSheet) -> tuple[RowContent, ...]:
        """Rows without moves; made anew only when the music, zoom or height changed."""
        grid = self.desk.routine.grid
        first = min((move.span.start_beat for move in self.desk.moves), default=Fraction(0))
        lines = max(4, sheet.size.height)
        first = min(first, Fraction(0))
        key = (id(grid), self.zoom, first, lines, id(self._sound))
        if key != self._blank_key:
            rows = sheet_rows(grid, self.zoom, first_beat=first, lines=lines)
            self._blank = blank_sheet(grid, rows, self._sound)
            self._blank_key = key
        return self._blank

    def refresh_words(self) -> None:
        """Title, ruler and the lines below the sheet."""
        desk, width = self.desk, self.size.width
        state = "saved" if desk.is_saved else "not saved"
        self.query_one("#title", Lines).show(
            words.title_line(desk.routine, desk.performer, state, desk.own_findings)
        )
        self.query_one("#keys", Lines).show(
            words.key_line([a for a in ACTIONS if a.short], self.keys_in_use, width)
        )
        self.query_one("#place", Lines).show(
            words.where_line(desk.routine, desk.cursor_beat, desk.hands), self._second_line()
        )
        if self._view is not None:
            row = self._view.rows[row_index_at(self._view.rows, desk.cursor_beat)]
            count = int(desk.routine.grid.meter_map.position(row.span.start_beat).count)
            line = ruler(row, self._view.geometry, desk.cursor_beat, count)
            self.query_one("#ruler", Lines).show(line)

    def _second_line(self) -> Line:
        """A message about the last action; else what stands under the cursor, findings first."""
        if self.message:
            return (Piece(f" {self.message}", "strong"),)
        found = self.findings_here()
        here = words.here_line(self.desk.move_here(), self.desk.cursor_beat, self.desk.library)
        if not found:
            return here
        return (*here, Piece(" "), *words.finding_line(found[0], len(found) - 1))

    def findings_here(self) -> list[Finding]:
        """Findings on the cursor's count, the gravest first."""
        start = self.desk.cursor_beat
        here = [f for f in self.desk.own_findings if start <= f.beat < start + 1]
        return sorted(here, key=lambda finding: -finding.level)

    @property
    def keys_in_use(self) -> dict[str, str]:
        """Keys by the name of the action, where a keys file changed them."""
        return dict(getattr(self.app, "own_keys", {}))

    # ------------------------------------------------------------------ the cursor

    def go_to(self, beat: Fraction) -> None:
        first = self._view.rows[0].span.start_beat if self._view else Fraction(0)
        self.desk.cursor_beat = going.held(self.desk.routine.grid, beat, first)
        self.message = ""
        self.query_one(CountSheet).set_cursor(self.desk.cursor_beat)
        self.cursor_moved()

    def cursor_moved(self) -> None:
        self.refresh_words()
        if self._pane_timer is not None:
            self._pane_timer.stop()
        self._pane_timer = self.set_timer(PANE_DELAY_S, self.refresh_panes)

    def _go(self, name: str) -> Fraction | None:
        """Where an action of moving about leads; None if it is no such action."""
        desk, grid, beat = self.desk, self.desk.routine.grid, self.desk.cursor_beat
        rows = self._view.rows if self._view else ()
        size = Fraction(1, 4) if self.zoom is Zoom.COUNTS else Fraction(1)
        screenful = self.query_one(CountSheet).visible_rows
        phrases = [phrase.start_beat for phrase in grid.phrases]
        starts = [move.span.start_beat for move in desk.moves]
        found = [finding.beat for finding in desk.own_findings]
        steps: dict[str, Callable[[], Fraction]] = {
            "next-count": lambda: going.step_count(beat, 1, size),
            "previous-count": lambda: going.step_count(beat, -1, size),
            "next-row": lambda: going.step_row(rows, beat, 1),
            "previous-row": lambda: going.step_row(rows, beat, -1),
            "screen-down": lambda: going.step_row(rows, beat, screenful),
            "screen-up": lambda: going.step_row(rows, beat, -screenful),
            "next-bar": lambda: going.step_bar(grid, beat, 1),
            "previous-bar": lambda: going.step_bar(grid, beat, -1),
            "next-phrase": lambda: going.step_among(phrases, beat, 1),
            "previous-phrase": lambda: going.step_among(phrases, beat, -1),
            "next-move": lambda: going.step_among(starts, beat, 1),
            "previous-move": lambda: going.step_among(starts, beat, -1),
            "next-finding": lambda: going.step_among(found, beat, 1),
            "previous-finding": lambda: going.step_among(found, beat, -1),
            "to-start": lambda: Fraction(0),
            "to-end": lambda: grid.end_beat,
        }
        return steps[name]() if name in steps else None

    @on(CountSheet.BeatChosen)
    def follow_mouse(self, message: CountSheet.BeatChosen) -> None:
        self.go_to(message.beat)
        if message.twice:
            self.action_act("choose")

    # ------------------------------------------------------------------ asking for something

    def action_act(self, name: str) -> None:
        """Do what an action of the table says; what cannot be done is told in one line."""
        try:
            if name in EDITS:
                self._edit(EDITS[name])
            elif (beat := self._go(name)) is not None:
                self.go_to(beat)
            elif name.startswith("place-"):
                self._place_number(int(name.removeprefix("place-")))
            else:
                getattr(self, f"do_{name.replace('-', '_')}")()
        except ComposerError as error:
            self.say(str(error))

    def say(self, text: str) -> None:
        """Show one line about what was done or could not be done."""
        self.message = text
        self.refresh_words()

    def _edit(self, edit: Callable[[Desk], str]) -> None:
        before = self.desk.history
        self.message = edit(self.desk)
        self._after_edit(before)

    def _after_edit(self, before: History) -> None:
        """Journal, sheet and checks after the routine may have become another."""
        if self.desk.history.present is not before.present:
            trouble = self.work.record(self.desk.routine, self.message)
            if trouble:
                self.message = trouble
            self.check_again()
        self.refresh_sheet()
        self.cursor_moved()

    def do_choose(self) -> None:
        desk = self.desk
        rows = self._follow_rows()
        also = {name: tuple(desk.library.get(name).also) for name in desk.library.names()}
        place = desk.routine.grid.place_text(desk.cursor_beat)
        self.app.push_screen(ChooseMove(place, rows, also, self._move_details), self._place_row)

    def _place_row(self, row: FollowRow | None) -> None:
        if row is not None:
            self._edit(lambda desk: desk.place(row.placement))

    def _place_number(self, number: int) -> None:
        self.follow = self._follow_rows()
        if number > len(self.follow):
            raise ComposerError(f"there is no number {number} among what can follow")
        self._place_row(self.follow[number - 1])

    def _follow_rows(self) -> tuple[FollowRow, ...]:
        desk = self.desk
        style = Style(hand=desk.hands)
        return follow_rows(desk.routine, desk.library, desk.performer, desk.cursor_beat, style)

    def _move_details(self, row: FollowRow) -> tuple[Line, ...]:
        move = self.desk.library.get(row.name)
        also = f" Also: {', '.join(move.also)}." if move.also else ""
        return ((Piece(f" {move.words}{also}", "quiet"),), (Piece(f" {row.reason}", "good"),))

    def do_zoom_in(self) -> None:
        self._set_zoom(self.zoom + 1)

    def do_zoom_out(self) -> None:
        self._set_zoom(self.zoom - 1)

    def _set_zoom(self, zoom: int) -> None:
        self.zoom = Zoom(min(max(zoom, 0), len(Zoom) - 1))
        self.message = self.zoom.words
        self.refresh_sheet()

    def do_go_to_bar(self) -> None:
        grid = self.desk.routine.grid

        def go(text: str | None) -> None:
            if text is None:
                return
            if not text.strip().isdecimal():
                self.say(f'a bar is a number from 1 to {grid.bar_count}, not "{text}"')
            else:
                self.go_to(grid.meter_map.bar_start_beat(max(1, int(text))))

        self.app.push_screen(Ask(f"Go to bar (1 to {grid.bar_count})"), go)

    def do_note(self) -> None:
        move = self.desk.move_here()
        if move is None:
            raise ComposerError("no move is under the cursor to write a note on")

        def write(text: str | None) -> None:
            if text is not None:
                self._edit(lambda desk: desk.write_note(text))

        self.app.push_screen(Ask("A note on this move", move.placement.notes), write)

    def do_performer(self) -> None:
        names = [performer.name for performer in self.desk.routine.performers]
        self.desk.performer = names[(names.index(self.desk.performer) + 1) % len(names)]
        self.message = f"the part of {self.desk.performer}"
        self.refresh_findings()
        self.refresh_sheet()

    def do_history(self) -> None:
        history = self.desk.history
        rows = [(Piece(step.words),) for step in history.steps]

        def go(index: int | None) -> None:
            if index is not None:
                self._edit(lambda desk: desk.go_back_to(index))

        self.app.push_screen(Pick("Go back to", rows, chosen=history.at), go)

    # ------------------------------------------------------------------ panes

    def refresh_panes(self) -> None:
        """What can follow at the cursor; only when it can be seen."""
        if self.has_class("-wide") or self._shown_pane == "follow-pane":
            self.follow = self._follow_rows()
            lines = [words.follow_line(i, row) for i, row in enumerate(self.follow, 1)]
            self.query_one("#follow", PickList).show(lines)

    def refresh_findings(self) -> None:
        found = self.desk.own_findings
        rows = [words.finding_row(self.desk.routine, finding) for finding in found]
        pick_list = self.query_one("#findings", PickList)
        pick_list.show(rows, pick_list.chosen)

    @on(PickList.Picked, "#follow")
    def place_followed(self, message: PickList.Picked) -> None:
        self._place_number(message.index + 1)
        self.query_one(CountSheet).focus()

    @on(PickList.Chosen, "#findings")
    @on(PickList.Picked, "#findings")
    def jump_to_finding(self, message: PickList.Picked | PickList.Chosen) -> None:
        self.go_to(self.desk.own_findings[message.index].beat)
        if isinstance(message, PickList.Picked):
            self.action_back_to_sheet()

    def do_next_pane(self) -> None:
        """The next pane gets the keys; in a narrow window it is shown for that time."""
        panes = [pane.id or "" for pane in self.query(".pane")]
        focused = next((p.id for p in self.query(".pane") if p.has_focus_within), "")
        index = panes.index(focused) + 1 if focused else 0
        if index >= len(panes):
            self.action_back_to_sheet()
            return
        self._show_pane(panes[index])

    def _show_pane(self, name: str) -> None:
        self._shown_pane = name
        for pane in self.query(".pane"):
            pane.set_class(pane.id == name, "-shown")
        self.set_class(bool(name), "-pane")
        if name:
            self.query_one(f"#{name}").query("PickList").first().focus()
        self.refresh_panes()
        self.call_after_refresh(self.refresh_sheet)

    def action_back_to_sheet(self) -> None:
        self.query_one(CountSheet).focus()
        if self._shown_pane:
            self._show_pane("")

    # ------------------------------------------------------------------ checks

    def check_again(self) -> None:
        """Check the routine beside the screen; an older check under way is dropped."""
        from tui.checking import check_later

        check_later(self, self.desk.routine, self.desk.library)

    def checked(self, routine: Routine, findings: tuple[Finding, ...]) -> None:
        if routine is self.desk.routine:
            self.desk.findings = findings
            self.refresh_findings()
            self.refresh_sheet()

    # ------------------------------------------------------------------ files

    def _look_after_files(self) -> None:
        """Each second: the journal down to the disk."""
        try:
            self.work.journal.sync()
        except OSError as error:
            self.say(f"edits are not kept beside the file ({error.strerror}): save elsewhere")

    def do_save(self) -> None:
        if self.work.changed_on_disk():
            self._ask_about_changed_file()
        else:
            self._save()

    def _save(self) -> None:
        self.work.save(self.desk.routine)
        self.work.saved()
        self.desk.saved = self.desk.routine
        self.say(f"saved {self.work.path.name}")

    def _ask_about_changed_file(self) -> None:
        answers = ["Keep mine: write over the other", "Take the other: mine stays in undo"]

        def answer(index: int | None) -> None:
            try:
                if index == 0:
                    self._save()
                elif index == 1:
                    other = read_again(self.work)
                    self._edit(lambda desk: desk.take_over("took the file from the disk", other))
                    self.desk.saved = self.desk.routine
            except ComposerError as error:
                self.say(str(error))

        question = f"{self.work.path.name} was changed by another program"
        self.app.push_screen(Pick(question, [(Piece(text),) for text in answers]), answer)

    def do_quit(self) -> None:
        if self.desk.is_saved:
            self.work.saved()
            self.dismiss(None)
            return
        answers = ["Save and leave", "Leave; offer these edits next time", "Give the edits up"]

        def answer(index: int | None) -> None:
            if index is None:
                return
            try:
                if index == 0:
                    self._save()
                elif index == 2:
                    self.work.saved()
                self.dismiss(None)
            except ComposerError as error:
                self.say(str(error))

        self.app.push_screen(
            Pick("There are unsaved edits", [(Piece(a),) for a in answers]), answer
        )
