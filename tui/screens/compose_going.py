"""The composing screen's cursor: where keys and mouse lead it, and how close the sheet is seen."""

from abc import abstractmethod
from fractions import Fraction

from textual import on

from tui.screens.asking import Ask
from tui.screens.compose_base import ComposeBase
from tui.views import going
from tui.views.rows import Zoom
from tui.views.sheet_view import SheetView
from tui.widgets.count_sheet import CountSheet


class GoesAbout(ComposeBase):
    """Moves about by count, row, bar, phrase, move, finding and screen."""

    zoom = Zoom.EIGHTS
    sheet_view: SheetView | None = None
    """What the sheet shows now."""

    def go_to(self, beat: Fraction) -> None:
        first = self.sheet_view.rows[0].span.start_beat if self.sheet_view else Fraction(0)
        self.desk.cursor_beat = going.held(self.desk.routine.grid, beat, first)
        self.message = ""
        self.query_one(CountSheet).set_cursor(self.desk.cursor_beat)
        self.cursor_moved()

    def where_leads(self, name: str) -> Fraction | None:
        """Where an action of moving about leads; None if it is no such action."""
        desk, beat = self.desk, self.desk.cursor_beat
        match name:
            case "next-move" | "previous-move":
                starts = [move.span.start_beat for move in desk.moves]
                return going.step_among(starts, beat, 1 if name == "next-move" else -1)
            case "next-finding" | "previous-finding":
                return desk.found.next_beat(beat, 1 if name == "next-finding" else -1)
        return going.where_leads(
            name,
            desk.routine.grid,
            self.sheet_view.rows if self.sheet_view else (),
            beat,
            screenful=self.query_one(CountSheet).visible_rows,
            size_beats=Fraction(1, 4) if self.zoom is Zoom.COUNTS else Fraction(1),
        )

    @on(CountSheet.BeatChosen)
    def follow_mouse(self, message: CountSheet.BeatChosen) -> None:
        self.go_to(message.beat)
        if message.twice:
            self.do_choose()

    @abstractmethod
    def cursor_moved(self) -> None:
        """Let words and panes follow the cursor."""

    @abstractmethod
    def do_choose(self) -> None:
        """Choose a move for the cursor's place."""

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

    def do_zoom_in(self) -> None:
        self._set_zoom(self.zoom + 1)

    def do_zoom_out(self) -> None:
        self._set_zoom(self.zoom - 1)

    def _set_zoom(self, zoom: int) -> None:
        self.zoom = Zoom(min(max(zoom, 0), len(Zoom) - 1))
        self.message = self.zoom.words
        self.refresh_sheet()
