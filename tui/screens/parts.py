"""The screen of all parts: side by side down the page, who lands with whom, who follows whom."""

from dataclasses import replace
from fractions import Fraction
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.worker import get_current_worker

from composer.arrange import following as following_edits
from composer.arrange.compare import following_words
from composer.arrange.performers import brought_in, taken_out
from composer.check.landing import landing_table
from composer.check.landing_unison import unison_windows
from composer.errors import ComposerError
from composer.score.parts import performed_parts
from composer.score.routine import Following, Likeness, Routine
from composer.timing.beats import BeatSpan
from tui.checking import ONE_AT_A_TIME
from tui.desk import Desk
from tui.screens.act_keys import act_bindings
from tui.screens.asking import Pick
from tui.screens.beside import BesideSheet
from tui.views import going, words
from tui.views.key_lines import key_lines
from tui.views.paper import Line, Piece
from tui.views.parts import (
    PartsPage,
    Together,
    fitted_columns,
    heading_line,
    landing_words,
    next_performer,
    parts_page,
    window_words,
)
from tui.views.parts_keys import PARTS_KEYS, PARTS_READING
from tui.views.rows import Zoom, row_index_at, sheet_rows
from tui.widgets.lines import Lines
from tui.widgets.parts_sheet import PartsSheet
from tui.work import Work


class PartsScreen(BesideSheet):
    """Works on the composing screen's own desk: its performer, its cursor, its undo."""

    BINDINGS: ClassVar[list[BindingType]] = act_bindings(PARTS_KEYS)
    CSS_PATH = "../styles/group.tcss"
    AUTO_FOCUS = "PartsSheet"
    KEYS = PARTS_KEYS
    READING = PARTS_READING
    WHAT = "all parts"

    def __init__(self, desk: Desk, work: Work, **more: Any) -> None:
        super().__init__(desk, work, **more)
        self.message = ""
        self.zoom = Zoom.EIGHTS
        self._together = Together()
        self._page: PartsPage | None = None
        self._first = 0
        """The first performer whose column is in sight."""

    def compose(self) -> ComposeResult:
        yield Lines(id="title")
        yield Lines(id="names")
        yield PartsSheet(id="parts")
        yield Lines(id="place")
        yield Lines(id="keys")
        yield Lines(id="too-small")

    def on_mount(self) -> None:
        self.check_again()

    def check_now(self) -> None:
        super().check_now()
        self._look_together()

    def _look_together(self) -> None:
        """Find out in a thread who lands and who is in unison; an older look is dropped."""
        routine, library = self.desk.routine, self.desk.library

        def look() -> None:
            worker = get_current_worker()
            with ONE_AT_A_TIME:
                if worker.is_cancelled:
                    return
                found = Together(landing_table(routine, library), unison_windows(routine, library))
            if not worker.is_cancelled:
                self.from_thread(self._seen_together, routine, found)

        self.run_worker(look, name="together", group="together", thread=True, exclusive=True)

    def _seen_together(self, routine: Routine, found: Together) -> None:
        if routine is self.desk.routine:
            self._together = found
            self.refresh_sheet()

    # ------------------------------------------------------------------ what is shown

    def refresh_sheet(self) -> None:
        """Draw everything anew after an edit, a zoom, new findings or another size."""
        sheet = self.query_one(PartsSheet)
        width = sheet.scrollable_content_region.width
        if width < 20:
            return
        routine = self.desk.routine
        grid = routine.grid
        names = [performer.name for performer in routine.performers]
        self._first = self._first_in_sight(names, width)
        columns = fitted_columns(names, width, self._first)
        first_beat = min((s.start_beat for s in self._spans()), default=Fraction(0))
        rows = sheet_rows(
            grid, self.zoom, first_beat=min(first_beat, Fraction(0)), lines=sheet.size.height
        )
        self._page = parts_page(
            rows,
            performed_parts(routine),
            columns,
            phrases=[phrase.name for phrase in grid.phrases],
            together=self._together,
            findings={name: found.findings for name, found in self.desk.found_by.items()},
        )
        self.query_one("#names", Lines).show(heading_line(columns, self.desk.performer))
        sheet.show(self._page, self._row(), self.desk.performer)
        self.refresh_words()

    def _spans(self) -> list[BeatSpan]:
        return [p.span for part in self.desk.routine.parts for p in part.placements]

    def _first_in_sight(self, names: list[str], width: int) -> int:
        """Scrolled no further than it takes to see the chosen performer's column."""
        at, many = names.index(self.desk.performer), len(fitted_columns(names, width).names)
        return min(max(self._first, at - many + 1), at)

    def _row(self) -> int:
        assert self._page is not None
        return row_index_at(self._page.rows, self.desk.cursor_beat)

    def refresh_words(self) -> None:
        width = self.size.width
        self.query_one("#title", Lines).show(self.title_line())
        told = words.sentence(self.message, width)[:1] if self.message else ()
        lines = [self._where_line(), self._move_line(), *self._together_lines()]
        self.query_one("#place", Lines).show(*lines[: 4 - len(told)], *told)
        self.query_one("#keys", Lines).show(*key_lines(self.KEYS, self.keys_in_use, width))

    def _where_line(self) -> Line:
        """The place, and how all land on it."""
        grid, beat = self.desk.routine.grid, self.desk.cursor_beat
        index = grid.phrase_index_at(beat)
        told = [grid.place_text(beat), *([] if index is None else [grid.phrases[index].name])]
        landing = landing_words(self._together.at(beat))
        tail = (Piece(f" · {landing}", "note"),) if landing else ()
        return (Piece(f" {' · '.join(told)}", "strong"), *tail)

    def _move_line(self) -> Line:
        """What she does here and from whom she has it."""
        desk = self.desk
        return words.here_line(desk.move_here(), desk.cursor_beat, desk.library, desk.routine)

    def _together_lines(self) -> list[Line]:
        """Who is together here, the most of them first."""
        windows = self._together.windows_at(self.desk.cursor_beat)
        return [(Piece(f" {window_words(w, self.desk.routine)}", "note"),) for w in windows]

    # ------------------------------------------------------------------ moving about

    def go_to(self, beat: Fraction) -> None:
        self.desk.cursor_beat = going.held(self.desk.routine.grid, beat, self._first_beat())
        self.message = ""
        self._cursor_moved()

    def _first_beat(self) -> Fraction:
        return self._page.rows[0].span.start_beat if self._page else Fraction(0)

    def _cursor_moved(self) -> None:
        in_sight = self._page is not None and self.desk.performer in self._page.columns.names
        if not in_sight:
            self.refresh_sheet()
            return
        columns = self._page.columns  # type: ignore[union-attr]
        self.query_one("#names", Lines).show(heading_line(columns, self.desk.performer))
        self.query_one(PartsSheet).set_cursor(self._row(), self.desk.performer)
        self.refresh_words()

    def act(self, name: str) -> None:
        if (beat := self._go(name)) is not None:
            self.go_to(beat)
        else:
            super().act(name)

    def _go(self, name: str) -> Fraction | None:
        """Where an action of moving about leads; None if it is no such action."""
        beat, step = self.desk.cursor_beat, -1 if name.startswith("previous-") else 1
        match name:
            case "next-close" | "previous-close":
                return going.step_among(self._together.all_close_beats, beat, step)
            case "next-unison" | "previous-unison":
                return going.step_among(self._together.window_beats, beat, step)
            case "next-finding" | "previous-finding":
                return self.desk.found.next_beat(beat, step)
        rows = name.endswith("-row") or name.startswith("screen-")
        return going.where_leads(
            name,
            self.desk.routine.grid,
            self._page.rows if self._page else (),
            self._row_beat() if rows else beat,
            screenful=self.query_one(PartsSheet).visible_rows,
        )

    def _row_beat(self) -> Fraction:
        """Where the cursor's row begins: rows are stepped over from there."""
        assert self._page is not None
        return self._page.rows[self._row()].span.start_beat

    def do_next_performer(self) -> None:
        self._choose(next_performer(self.desk.routine, self.desk.performer, 1))

    def do_previous_performer(self) -> None:
        self._choose(next_performer(self.desk.routine, self.desk.performer, -1))

    def _choose(self, performer: str) -> None:
        self.desk.performer = performer
        self.message = ""
        self._cursor_moved()

    def do_zoom_in(self) -> None:
        self._set_zoom(self.zoom + 1)

    def do_zoom_out(self) -> None:
        self._set_zoom(self.zoom - 1)

    def _set_zoom(self, zoom: int) -> None:
        self.zoom = Zoom(min(max(zoom, Zoom.WHOLE), Zoom.BARS))
        self.message = self.zoom.words
        self.refresh_sheet()

    def do_edit(self) -> None:
        self.dismiss(None)

    @on(PartsSheet.CellChosen)
    def follow_mouse(self, message: PartsSheet.CellChosen) -> None:
        assert self._page is not None
        if message.performer:
            self.desk.performer = message.performer
        self.go_to(self._page.rows[message.row].span.start_beat)
        if message.twice:
            self.do_edit()

    # ------------------------------------------------------------------ who is in the piece

    def do_bring_in(self) -> None:
        like = self.desk.performer

        def take(text: str) -> None:
            after = brought_in(self.desk.routine, text, like)
            name = after.performers[-1].name
            self.change_routine(f"{name} comes in", lambda _: after)
            self._choose(name)

        self.ask(f"Who comes in, with the measures and props of {like}", "", take)

    def do_take_out(self) -> None:
        """Ask, as much goes with her; undo brings all of it back."""
        who = self.desk.performer
        after = taken_out(self.desk.routine, who)
        moves = len(self.desk.routine.part(who).placements)
        spots = sum(spot.performer == who for spot in self.desk.routine.spots)

        def take(index: int | None) -> None:
            if index == 0:
                self.change_routine(f"{who} is taken out", lambda _: after)

        question = f"{who} has {moves} moves of her own and {spots} spots"
        rows = [(Piece(f"Take {who} out of the piece"),), (Piece("Leave her in"),)]
        self.app.push_screen(Pick(question, rows, chosen=1), take)

    # ------------------------------------------------------------------ who follows whom

    def _phrase(self) -> tuple[BeatSpan, str]:
        """The phrase under the cursor and what it is called."""
        grid = self.desk.routine.grid
        index = grid.phrase_index_at(self.desk.cursor_beat)
        name = "this stretch" if index is None else grid.phrases[index].name
        return going.phrase_at(grid, self.desk.cursor_beat), name

    def do_follow(self) -> None:
        """Ask for leader, likeness and delay; each question says what is at stake."""
        who, (span, phrase) = self.desk.performer, self._phrase()
        leaders = [p.name for p in self.desk.routine.performers if p.name != who]
        if not leaders:
            raise ComposerError(f"{who} is alone: there is nobody to follow")
        own = following_edits.own_moves_in(self.desk.routine.part(who), span)
        lost = f"; {own} of her own go" if own else ""

        def led(index: int | None) -> None:
            if index is not None:
                self._ask_likeness(leaders[index], span, f"{who} in {phrase}")

        rows = [(Piece(name, "strong"),) for name in leaders]
        self.app.push_screen(Pick(f"{who} in {phrase} follows{lost}", rows), led)

    def _ask_likeness(self, leader: str, span: BeatSpan, what: str) -> None:
        ways = list(Likeness)

        def like(index: int | None) -> None:
            if index is not None:
                self._ask_delay(Following(leader, ways[index], span=span), what)

        rows = [(Piece(str(way), "strong"),) for way in ways]
        self.app.push_screen(Pick(f"{what} follows {leader}", rows), like)

    def _ask_delay(self, following: Following, what: str) -> None:
        def take(text: str) -> None:
            try:
                delay = Fraction(text.strip() or "0")
            except (ValueError, ZeroDivisionError):
                delay = Fraction(-1)
            if delay < 0:
                raise ComposerError(f'beats later are exact, such as 4 or 7/2, not "{text}"')
            self._take_following(replace(following, delay_beats=delay))

        self.ask(f"{what}: so many beats later (0: at once, more: a canon)", "0", take)

    def _take_following(self, following: Following) -> None:
        who = self.desk.performer
        told = f"{who} {following_words(following, self.desk.routine.grid)}"
        self.change_routine(told, lambda r: following_edits.follow(r, who, following))

    def do_own(self) -> None:
        who, (span, phrase) = self.desk.performer, self._phrase()
        self.change_routine(
            f"what {who} follows in {phrase} is her own now",
            lambda r: following_edits.made_own(r, who, span),
        )

    def do_unfollow(self) -> None:
        who, (span, phrase) = self.desk.performer, self._phrase()
        if following_edits.following_at(self.desk.routine, who, self.desk.cursor_beat) is None:
            raise ComposerError(f"{who} follows nobody here")
        self.change_routine(
            f"{who} follows nobody in {phrase}",
            lambda r: following_edits.unfollowed(r, who, span),
        )
