"""The count sheet: draws a SheetView; rows that did not change are not drawn again."""

from collections.abc import Sequence
from fractions import Fraction

from rich.style import Style
from textual.geometry import Region
from textual.strip import Strip

from tui.views.paper import Line
from tui.views.sheet import block, move_line_index
from tui.views.sheet_view import SheetView
from tui.widgets.beat_sheet import BeatSheet, signed, styled


class CountSheet(BeatSheet):
    """Cursor and play position lie over whole counts of the lines of moves."""

    view: SheetView | None

    def show(self, view: SheetView) -> None:
        """Draw this view; rows that are the same value as before keep their strips."""
        old, self.view = self.view, view
        if old is None or old.geometry != view.geometry:
            self.strips.clear()
        else:
            self.strips = {
                row: strips
                for row, strips in self.strips.items()
                if row < len(view.contents) and view.contents[row] is old.contents[row]
            }
        self.fit_to_view()
        if old is not None and old.geometry == view.geometry and old.tops == view.tops:
            self._refresh_changed(old, view)
        else:
            self.refresh()

    def _refresh_changed(self, old: SheetView, view: SheetView) -> None:
        """Draw again only the rows in sight that became other values."""
        first, height = self.scroll_offset.y, self.size.height
        for row, (before, after) in enumerate(zip(old.contents, view.contents, strict=True)):
            top = view.tops[row] - first
            if before is not after and -view.heights[row] < top < height:
                self.refresh(Region(0, top, self.size.width, view.heights[row]))

    def lines_of_row(self, row: int) -> Sequence[Line]:
        assert self.view is not None
        return block(self.view.contents[row], self.view.geometry)

    def with_places(self, strip: Strip, row: int, within: int) -> Strip:
        """Each is also a sign in the margin."""
        assert self.view is not None
        first = move_line_index(self.view.contents[row])
        if not first <= within < self.view.heights[row]:
            return strip
        if self.stands_on(self.cursor_beat, row) and within - first <= 1:
            strip = self._over(strip, row, self.cursor_beat, Style(reverse=True))
            strip = signed(strip, "▶") if within == first else strip
        if self.play_beat is not None and self.stands_on(self.play_beat, row):
            strip = self._over(strip, row, self.play_beat, Style(bold=True, underline=True))
            strip = signed(strip, "♪") if within == first else strip
        return strip

    def _over(self, strip: Strip, row: int, beat: Fraction, style: Style) -> Strip:
        assert self.view is not None
        geometry, here = self.view.geometry, self.view.rows[row]
        start = geometry.column(here, beat)
        return styled(strip, start, max(start + 1, start + geometry.cell_width(here) - 1), style)
