"""How the count sheet is divided: which beats stand on which row, at each zoom."""

import itertools
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import IntEnum
from fractions import Fraction
from math import ceil

from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid


class Zoom(IntEnum):
    """From the whole routine on one screen to single counts."""

    WHOLE = 0
    EIGHTS = 1
    BARS = 2
    COUNTS = 3

    @property
    def words(self) -> str:
        return ("whole routine", "an eight a row", "a bar a row", "a count a row")[self]


@dataclass(frozen=True, slots=True)
class Row:
    """Beats that stand side by side; ``cells`` is how many a full row has."""

    span: BeatSpan
    cell_beats: Fraction
    cells: int
    label: str
    phrase: int | None = None
    """The phrase that begins with this row."""
    at: float = field(init=False, repr=False, compare=False)
    until: float = field(init=False, repr=False, compare=False)
    """Its start and end as floats: beats a row apart are never mistaken for each other, and
    floats compare 20 times faster."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", float(self.span.start_beat))
        object.__setattr__(self, "until", float(self.span.end_beat))

    @property
    def own_cells(self) -> int:
        return ceil(self.span.length_beats / self.cell_beats)


def sheet_rows(
    grid: MusicGrid, zoom: Zoom, *, first_beat: Fraction = Fraction(0), lines: int = 20
) -> tuple[Row, ...]:
    """The rows of the sheet in time order; bars and phrases always begin where a cell begins.

    Parameters
    ----------
    first_beat : Fraction
        Where the first thing to show begins: before 0 if something stands in the upbeat.
    lines : int
        How many rows the whole routine may take at the widest zoom.
    """
    if zoom is Zoom.WHOLE:
        return _whole(grid, first_beat, lines)
    return tuple(_rows(grid, zoom, first_beat, bars_a_row=0))


def _whole(grid: MusicGrid, first_beat: Fraction, lines: int) -> tuple[Row, ...]:
    for bars_a_row in (4, 8, 16, 32, 64):
        rows = tuple(_rows(grid, Zoom.WHOLE, first_beat, bars_a_row))
        if len(rows) <= lines:
            break
    return rows


def _rows(grid: MusicGrid, zoom: Zoom, first_beat: Fraction, bars_a_row: int) -> Iterator[Row]:
    phrase_at = {phrase.start_beat: index for index, phrase in enumerate(grid.phrases)}
    meter_map = grid.meter_map
    bar = min(1, meter_map.position(first_beat).bar)
    last_bar = max(grid.bar_count, bar)
    while bar <= last_bar:
        start = meter_map.bar_start_beat(bar)
        counts = meter_map.meter_at(start).beats_per_bar
        bars = bars_a_row or (max(1, 8 // counts) if zoom is Zoom.EIGHTS else 1)
        end_bar = bar + 1
        while end_bar < min(bar + bars, last_bar + 1) and _goes_on(
            grid, end_bar, counts, phrase_at
        ):
            end_bar += 1
        end = meter_map.bar_start_beat(end_bar)
        for cut_start, cut_end in _cut_at(start, end, phrase_at):
            span, phrase = BeatSpan(cut_start, cut_end - cut_start), phrase_at.get(cut_start)
            if zoom is Zoom.COUNTS:
                yield from _count_rows(grid, span, phrase)
            else:
                cell = Fraction(counts) if zoom is Zoom.WHOLE else Fraction(1)
                cells = bars if zoom is Zoom.WHOLE else bars * counts
                yield Row(span, cell, cells, _label(grid, cut_start), phrase)
        bar = end_bar


def _goes_on(grid: MusicGrid, bar: int, counts: int, phrase_at: dict[Fraction, int]) -> bool:
    """Whether a bar belongs on the row before: as many counts, and no phrase begins with it."""
    start = grid.meter_map.bar_start_beat(bar)
    return start not in phrase_at and grid.meter_map.meter_at(start).beats_per_bar == counts


def _label(grid: MusicGrid, beat: Fraction) -> str:
    position = grid.meter_map.position(beat)
    return str(position.bar) if position.count == 1 else f"{position.bar}.{position.count}"


def _cut_at(
    start: Fraction, end: Fraction, cuts: dict[Fraction, int]
) -> list[tuple[Fraction, Fraction]]:
    edges = [start, *sorted(cut for cut in cuts if start < cut < end), end]
    return list(itertools.pairwise(edges))


def _count_rows(grid: MusicGrid, span: BeatSpan, phrase: int | None) -> Iterator[Row]:
    beat = span.start_beat
    while beat < span.end_beat:
        position = grid.meter_map.position(beat)
        length = min(Fraction(1), span.end_beat - beat)
        label = f"{position.bar}.{position.count}"
        yield Row(BeatSpan(beat, length), Fraction(1, 4), 4, label, phrase)
        beat, phrase = beat + length, None


def row_index_at(rows: tuple[Row, ...], beat: Fraction) -> int:
    """The row a beat stands on; the first or last one for beats outside the sheet."""
    index = bisect_right(rows, beat, key=lambda row: row.span.start_beat) - 1
    return min(max(index, 0), len(rows) - 1)
