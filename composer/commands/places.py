"""Places in a routine as they are typed: bars and counts, both from 1."""

import re
from fractions import Fraction

from composer.errors import ComposerError
from composer.score.routine import Performer, Routine
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid


def beat_typed(grid: MusicGrid, text: str) -> Fraction:
    """The beat of ``"9"`` (bar 9, count 1), ``"9.3"`` or ``"9.5/2"`` (the "and" of two).

    Raises
    ------
    ComposerError
        If the text is no place, or the bar has no such count or lies outside the music.
    """
    match = re.fullmatch(r"(\d{1,6})(?:\.(\d{1,4})(?:/(\d{1,4}))?)?", text.strip())
    if match is None or (match[3] and int(match[3]) == 0):
        raise ComposerError(
            f'a place is a bar, such as 9, or bar and count, such as 9.3, not "{text}"'
        )
    bar = bar_typed(grid, int(match[1]))
    count = Fraction(int(match[2] or 1), int(match[3] or 1))
    length = grid.meter_map.bar_length_beats(bar)
    if not 1 <= count < length + 1:
        raise ComposerError(f"bar {bar} has counts from 1 to {length}, no count {count}")
    return grid.meter_map.bar_start_beat(bar) + count - 1


def bar_typed(grid: MusicGrid, bar: int) -> int:
    """The bar, if the music has it.

    Raises
    ------
    ComposerError
        If it has not.
    """
    if not 1 <= bar <= grid.bar_count:
        raise ComposerError(f"the music has bars 1 to {grid.bar_count}, no bar {bar}")
    return bar


def bars_typed(grid: MusicGrid, first: int, last: int) -> BeatSpan:
    """The stretch from the start of one bar to the end of another, or of the music.

    Raises
    ------
    ComposerError
        If a bar is outside the music or the last comes before the first.
    """
    bar_typed(grid, first)
    bar_typed(grid, last)
    if last < first:
        raise ComposerError(f"--to {last} lies before --from {first}; give the earlier bar first")
    start = grid.meter_map.bar_start_beat(first)
    end = min(grid.meter_map.bar_start_beat(last + 1), grid.end_beat)
    return BeatSpan(start, end - start)


def performer_typed(routine: Routine, name: str | None) -> Performer:
    """The performer of that name; the only one if none is named.

    Raises
    ------
    ComposerError
        If there are several and none is named.
    UnknownName
        If there is no such performer.
    """
    if name is not None:
        return routine.performer(name)
    if len(routine.performers) > 1:
        known = ", ".join(one.name for one in routine.performers)
        raise ComposerError(f"say for whom with --performer: the routine has {known}")
    return routine.performers[0]
