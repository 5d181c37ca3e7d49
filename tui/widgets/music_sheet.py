"""The music sheet: draws a MusicView line by line, the cursor and the play position over it."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from rich.style import Style
from textual import events
from textual.message import Message
from textual.strip import Strip

from tui.views.music import MusicView, music_block
from tui.views.paper import Line
from tui.widgets.beat_sheet import BeatSheet, signed, styled


class MusicSheet(BeatSheet):
    """Cursor and play position lie over single columns: what is heard is told finely."""

    view: MusicView | None
    _dragged: int | None = None
    """The phrase whose heading the mouse holds."""

    @dataclass
    class PhraseDropped(Message):
        """The heading of a phrase was dragged to a beat."""

        phrase: int
        beat: Fraction

    def show(self, view: MusicView, cursor_beat: Fraction) -> None:
        self.view, self.cursor_beat = view, cursor_beat
        self.strips.clear()
        self.fit_to_view()
        self.refresh()
        self.bring_into_sight(cursor_beat)

    def lines_of_row(self, row: int) -> Sequence[Line]:
        assert self.view is not None
        return music_block(self.view, row)

    def with_places(self, strip: Strip, row: int, within: int) -> Strip:
        """Over the strokes and the counts; each is also a sign at the left."""
        under_heading = within - (len(self.strips[row]) - 2)
        if under_heading < 0:
            return strip
        if self.stands_on(self.cursor_beat, row):
            strip = self._over(strip, row, self.cursor_beat, Style(reverse=True))
            strip = signed(strip, "▶") if under_heading == 0 else strip
        if self.play_beat is not None and self.stands_on(self.play_beat, row):
            strip = self._over(strip, row, self.play_beat, Style(reverse=True, bold=True))
            strip = signed(strip, "♪") if under_heading == 1 else strip
        return strip

    def _over(self, strip: Strip, row: int, beat: Fraction, style: Style) -> Strip:
        assert self.view is not None
        start = self.view.geometry.column(self.view.rows[row], beat)
        return styled(strip, start, start + 1, style)

    # ------------------------------------------------------------------ dragging a phrase's start

    def on_mouse_down(self, event: events.MouseDown) -> None:
        line = event.y + self.scroll_offset.y
        if self.view is not None and 0 <= line < self.view.height:
            row, within = self.view.row_of_line(line)
            phrase = self.rows[row].phrase
            if within == 0 and phrase is not None:
                self._dragged = phrase
                self.capture_mouse()

    def on_mouse_up(self, event: events.MouseUp) -> None:
        if self._dragged is None or self.view is None:
            return
        self.release_mouse()
        phrase, self._dragged = self._dragged, None
        line = min(max(event.y + self.scroll_offset.y, 0), self.view.height - 1)
        row = self.rows[self.view.row_of_line(line)[0]]
        if row.phrase != phrase:
            beat = self.view.geometry.beat_at(row, event.x)
            self.post_message(self.PhraseDropped(phrase, beat))
