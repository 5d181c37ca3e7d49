"""Where the cursor goes: pure steps along the beats of a grid."""

from collections.abc import Sequence
from fractions import Fraction
from math import ceil

from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid
from tui.views.rows import Row, row_index_at


def held(grid: MusicGrid, beat: Fraction, first_beat: Fraction = Fraction(0)) -> Fraction:
    """A beat kept inside the music."""
    last = max(Fraction(ceil(grid.end_beat) - 1), first_beat)
    return min(max(beat, first_beat), last)


def step_count(beat: Fraction, step: int, size_beats: Fraction = Fraction(1)) -> Fraction:
    """To the next or previous multiple of a step; from between two, to the nearer in that way."""
    place = beat / size_beats
    if place.denominator == 1:
        return beat + step * size_beats
    whole = place // 1
    return (whole + 1 if step > 0 else whole) * size_beats


def step_bar(grid: MusicGrid, beat: Fraction, step: int) -> Fraction:
    position = grid.meter_map.position(beat)
    bar = position.bar + step + (1 if step < 0 and position.count > 1 else 0)
    return grid.meter_map.bar_start_beat(bar)


def step_among(places: Sequence[Fraction], beat: Fraction, step: int) -> Fraction:
    """The next or previous of some places in time; the same beat if there is none."""
    if step > 0:
        return min((place for place in places if place > beat), default=beat)
    return max((place for place in places if place < beat), default=beat)


def step_row(rows: tuple[Row, ...], beat: Fraction, step: int) -> Fraction:
    """The beat below or above, as far along its row; a shorter row ends earlier."""
    if not rows:
        return beat
    index = row_index_at(rows, beat)
    target = rows[min(max(index + step, 0), len(rows) - 1)]
    within = beat - rows[index].span.start_beat
    last = target.span.length_beats - target.cell_beats
    return target.span.start_beat + min(within, max(last, Fraction(0)))


def where_leads(
    name: str,
    grid: MusicGrid,
    rows: tuple[Row, ...],
    beat: Fraction,
    *,
    screenful: int,
    size_beats: Fraction = Fraction(1),
) -> Fraction | None:
    """Where an action of moving about leads on a sheet of beats; None if it is no such action.

    Parameters
    ----------
    screenful : int
        Rows that a screen holds.
    size_beats : Fraction
        How far a step from count to count goes.
    """
    phrases = [phrase.start_beat for phrase in grid.phrases]
    match name:
        case "next-count" | "previous-count":
            return step_count(beat, _sign(name), size_beats)
        case "next-row" | "previous-row":
            return step_row(rows, beat, _sign(name))
        case "screen-down" | "screen-up":
            return step_row(rows, beat, screenful if name == "screen-down" else -screenful)
        case "next-bar" | "previous-bar":
            return step_bar(grid, beat, _sign(name))
        case "next-phrase" | "previous-phrase":
            return step_among(phrases, beat, _sign(name))
        case "to-start":
            return Fraction(0)
        case "to-end":
            return grid.end_beat
    return None


def _sign(name: str) -> int:
    return 1 if name.startswith("next-") else -1


def phrase_at(grid: MusicGrid, beat: Fraction) -> BeatSpan:
    """The phrase that holds a beat; what lies before the first phrase counts as one."""
    index = grid.phrase_index_at(beat)
    if index is not None:
        return grid.phrase_span(index)
    end = grid.phrases[0].start_beat if grid.phrases else grid.end_beat
    start = min(beat, Fraction(0))
    return BeatSpan(start, max(end - start, Fraction(1)))
