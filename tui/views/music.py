"""The music screen's rows: what is struck, how loud, and where bars, counts and phrases fall."""

from bisect import bisect_right
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from itertools import accumulate
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid
from tui.views.paper import Line, LineWriter, shortened
from tui.views.rows import Row, Zoom, row_index_at, sheet_rows
from tui.views.sheet import GUTTER_CELLS, Geometry, heading_words
from tui.views.sound import LOUDNESS_GLYPHS, Sound

OTHER_TEMPO = 0.005
"""Tempi further apart than this ratio are written out where they change; ours."""
MOST_TEMPI = 40
"""A track played freely changes on every beat: there nothing is written out."""
NEAR_S = 0.07
"""Ours: what is struck this near a beat is meant for it."""
FEWEST_STRUCK = 8
CLEARLY = 0.15
"""Ours: share of the strongest onset from which on a stroke is clear enough to measure by."""


@dataclass(frozen=True)
class MusicView:
    """A grid over its sound, laid out for a width."""

    grid: MusicGrid
    rows: tuple[Row, ...]
    geometry: Geometry
    sound: Sound | None = None
    moves: tuple[Fraction, ...] = ()
    """Beats on which placed moves begin, in time order."""
    tops: tuple[int, ...] = field(init=False)
    """The line each row begins on, and the height of all."""

    def __post_init__(self) -> None:
        heights = (3 if row.phrase is not None else 2 for row in self.rows)
        object.__setattr__(self, "tops", tuple(accumulate(heights, initial=0)))

    @property
    def height(self) -> int:
        return self.tops[-1]

    def row_of_line(self, line: int) -> tuple[int, int]:
        """The row a line belongs to, and which of its lines it is."""
        row = bisect_right(self.tops, line) - 1
        return row, line - self.tops[row]

    def lines_of(self, beat: Fraction) -> tuple[int, int]:
        row = row_index_at(self.rows, beat)
        return self.tops[row], self.tops[row + 1]

    @cached_property
    def tempi(self) -> dict[Fraction, float]:
        """Beats on which another tempo begins, with it."""
        tempo_map = self.grid.tempo_map
        found = {}
        for knot in tempo_map.knots[1:-1]:
            before = tempo_map.bpm_at(knot.beat - Fraction(1, 64))
            after = tempo_map.bpm_at(knot.beat)
            if abs(after / before - 1) > OTHER_TEMPO:
                found[knot.beat] = after
        return found if len(found) <= MOST_TEMPI else {}


def music_view(
    grid: MusicGrid,
    width_cells: int,
    zoom: Zoom,
    sound: Sound | None,
    moves: tuple[Fraction, ...] = (),
) -> MusicView:
    """Rows from the first sound of the track on, so that what comes before beat 0 is seen too."""
    first = min(Fraction(0), Fraction(floor(grid.tempo_map.beat_at(0.0))))
    first = min([first, *(phrase.start_beat for phrase in grid.phrases[:1])])
    return MusicView(
        grid, sheet_rows(grid, zoom, first_beat=first), Geometry(width_cells, zoom), sound, moves
    )


def music_block(view: MusicView, index: int) -> tuple[Line, ...]:
    """The lines of one row: perhaps a phrase's heading, the strokes, the bars and counts."""
    row = view.rows[index]
    lines = (_struck_line(view, row), _count_line(view, row))
    return lines if row.phrase is None else (_heading(view, row.phrase), *lines)


def _heading(view: MusicView, phrase: int) -> Line:
    width = view.geometry.width_cells
    lock = " · locked" if view.grid.phrases[phrase].locked else ""
    writer = LineWriter(width)
    writer.put(0, "═" * width, "heading rule")
    writer.put(2, f" {shortened(heading_words(view.grid, phrase) + lock, width - 6)} ", "heading")
    return writer.line()


def _struck_line(view: MusicView, row: Row) -> Line:
    writer = LineWriter(view.geometry.width_cells)
    writer.put(0, f"{row.label:>6}", "bar")
    if view.sound is None:
        return writer.line()
    counts = np.linspace(0, float(row.span.length_beats), row.own_cells + 1)
    edges_s = view.grid.tempo_map.seconds_of(float(row.span.start_beat) + counts)
    writer.put(7, view.sound.loudness_marks(edges_s)[:8], "sound")
    struck = strokes(view, row)
    writer.put(GUTTER_CELLS, struck, "sound")
    for cell in range(row.own_cells):
        column = view.geometry.column(row, row.span.start_beat + cell * row.cell_beats)
        if _is_whole(row, cell):
            writer.put(column, struck[column - GUTTER_CELLS : column - GUTTER_CELLS + 1], "strong")
    return writer.line()


def strokes(view: MusicView, row: Row) -> str:
    """How strongly something is struck, a glyph a text column, each column centred on its time."""
    assert view.sound is not None
    columns = row.own_cells * view.geometry.cell_width(row)
    each = float(row.cell_beats) / view.geometry.cell_width(row)
    edges = float(row.span.start_beat) + each * (np.arange(columns + 1) - 0.5)
    share = strongest_between(view.sound, view.grid.tempo_map.seconds_of(edges))
    steps = np.minimum(np.ceil(np.sqrt(share) * 8 - 0.5), 8).astype(int)
    return "".join(LOUDNESS_GLYPHS[step] for step in steps)


def strongest_between(sound: Sound, edges_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """The strongest onset between neighbouring times as a share of the track's strongest.

    Returns
    -------
    np.ndarray, shape=(len(edges_s) - 1,)
        0 outside the track.
    """
    onsets = np.append(sound.onset_strength, [0.0])
    last = len(onsets) - 1
    index = np.clip(np.round(edges_s * sound.rate_hz).astype(int), 0, last)
    most = np.maximum.reduceat(onsets, index[:-1])  # one sample where a stretch holds none
    inside = (edges_s[1:] > 0) & (edges_s[:-1] * sound.rate_hz < last)
    return np.where(inside, np.minimum(most / sound.strongest, 1.0), 0.0)


def _is_whole(row: Row, cell: int) -> bool:
    """Whether a cell begins a whole beat: at the closest zoom most do not."""
    return (row.span.start_beat + cell * row.cell_beats).denominator == 1


def _count_line(view: MusicView, row: Row) -> Line:
    writer, grid = LineWriter(view.geometry.width_cells), view.grid
    time_s = grid.tempo_map.seconds(row.span.start_beat)
    minutes, seconds = divmod(round(abs(time_s), 2), 60)
    sign = "-" if time_s <= -0.005 else ""
    writer.put(0, f"{f'{sign}{minutes:.0f}:{seconds:05.2f}':>8}", "time")
    for cell in range(row.own_cells):
        beat = row.span.start_beat + cell * row.cell_beats
        if _is_whole(row, cell):
            _put_count(view, writer, row, beat)
    start = bisect_right(view.moves, row.span.start_beat - Fraction(1, 64))
    for beat in view.moves[start:]:
        if beat >= row.span.end_beat:
            break
        column = view.geometry.column(row, beat)
        writer.put(column + 2, "┠", "move")
    return writer.line()


def _put_count(view: MusicView, writer: LineWriter, row: Row, beat: Fraction) -> None:
    column, position = view.geometry.column(row, beat), view.grid.meter_map.position(beat)
    first = position.count == 1
    if position.count.denominator == 1:
        sign = "┃" if first else "╵"
        writer.put(column, f"{sign}{position.count}", "bar" if first else "count")
    if any(change.start_beat == beat for change in view.grid.meter_map.changes):
        signature = str(view.grid.meter_map.meter_at(beat)).partition(" ")[0]
        writer.put(column + 3, signature, "note")
    if beat in view.tempi:  # its figure stands at the left: there is no room before the next count
        writer.put(column + 2, "♩", "note")
        writer.put(9, f"♩={view.tempi[beat]:.1f}", "note")


# ------------------------------------------------------------------ how well it fits


@dataclass(frozen=True, slots=True)
class Standing:
    """Where the sound is struck against the beats of a stretch: late by so much, spread so far."""

    late_ms: float
    spread_ms: float
    """Half of the strokes lie within this of the middle."""
    struck: int
    beats: int


def standing(grid: MusicGrid, sound: Sound, span: BeatSpan) -> Standing | None:
    """How far the clear strokes near the beats of a stretch lie from them.

    Returns
    -------
    Standing or None
        None with fewer than eight clear strokes.
    """
    beats = np.arange(ceil(span.start_beat), ceil(span.end_beat))
    late_s = [
        late
        for time_s in grid.tempo_map.seconds_of(beats)
        if (late := _stroke_late_s(sound, float(time_s))) is not None
    ]
    if len(late_s) < FEWEST_STRUCK:
        return None
    middle = float(np.median(late_s))
    spread = float(np.median(np.abs(np.array(late_s) - middle)))
    return Standing(1000 * middle, 1000 * spread, len(late_s), len(beats))


def _stroke_late_s(sound: Sound, time_s: float) -> float | None:
    """How long after a time the strongest stroke near it is; a parabola through its top."""
    onsets = sound.onset_strength
    first = round((time_s - NEAR_S) * sound.rate_hz)
    last = round((time_s + NEAR_S) * sound.rate_hz)
    if first < 1 or last + 2 > len(onsets):
        return None
    top = first + int(np.argmax(onsets[first : last + 1]))
    before, here, after = (float(value) for value in onsets[top - 1 : top + 2])
    if here < CLEARLY * sound.strongest or here < max(before, after):
        return None
    bend = before - 2 * here + after
    part = 0.5 * (before - after) / bend if bend else 0.0
    return (top + part) / sound.rate_hz - time_s


def standing_words(found: Standing | None, name: str) -> str:
    """``"verse is struck 6 ms after the beats, half within 3 ms (30 of 32 beats)"``."""
    if found is None:
        return f"{name}: too few clear strokes near the beats to measure by"
    late = round(found.late_ms)
    where = "on" if late == 0 else f"{abs(late)} ms {'after' if late > 0 else 'before'}"
    return (
        f"{name} is struck {where} the beats, half within {found.spread_ms:.0f} ms "
        f"({found.struck} of {found.beats} beats)"
    )


def tapped_words(taps_s: tuple[float, ...]) -> str:
    """``"12 taps: 118.6 beats a minute, half within 14 ms"``."""
    count = len(taps_s)
    if count < 4:
        return f"{count} tap{'' if count == 1 else 's'}; four or more make a tempo"
    number = np.arange(count)
    period_s, start_s = np.polyfit(number, taps_s, 1)
    if period_s <= 0:
        return f"{count} taps at once make no tempo"
    apart = np.abs(np.array(taps_s) - start_s - period_s * number)
    return (
        f"{count} taps: {60 / period_s:.1f} beats a minute, "
        f"half within {1000 * float(np.median(apart)):.0f} ms"
    )
