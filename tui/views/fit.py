"""Lengths that let a move close on the music."""

from dataclasses import dataclass
from fractions import Fraction

from composer.timing.beats import BeatSpan, beats_words, least_common_beats
from composer.timing.grid import MusicGrid

USUAL_BEATS = Fraction(8)
"""An eight: what the trade counts in (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Fit:
    """How long to place a move, and how it then fits."""

    length_beats: Fraction
    closes: bool
    words: str


def fit_from(grid: MusicGrid, beat: Fraction, cycle_beats: Fraction, room_beats: Fraction) -> Fit:
    """The length to give a move with this cycle at a beat, with so much room after it.

    Whole cycles that end on a bar, about an eight long, come first; then whole cycles; then what
    room there is.
    """
    bar = Fraction(grid.meter_map.meter_at(beat).beats_per_bar)
    to_bar = least_common_beats((cycle_beats, bar))
    if to_bar <= room_beats:
        wanted = min(USUAL_BEATS, room_beats)
        times = max(1, -(-wanted // to_bar))
        times = times if times * to_bar <= room_beats else times - 1
        length = to_bar * max(1, times)
        return Fit(length, True, f"closes on the bar after {beats_words(length)}")
    times = room_beats // cycle_beats
    if times >= 1:
        length = cycle_beats * times
        return Fit(length, True, f"closes after {beats_words(length)}, inside the bar")
    open_by = cycle_beats - room_beats
    return Fit(room_beats, False, f"stays open by {beats_words(open_by)}")


def room_after(grid: MusicGrid, beat: Fraction, starts: list[Fraction]) -> Fraction:
    """Beats from a place to the next of these starts, the end of its phrase or of the music."""
    ends = [start for start in starts if start > beat]
    index = grid.phrase_index_at(beat)
    if index is not None:
        ends.append(grid.phrase_span(index).end_beat)
    ends.append(max(grid.end_beat, beat + 1))
    return min(ends) - beat


def phrase_at(grid: MusicGrid, beat: Fraction) -> BeatSpan:
    """The phrase that holds a beat; the whole music where there are no phrases."""
    index = grid.phrase_index_at(beat)
    if index is not None:
        return grid.phrase_span(index)
    first = grid.phrases[0].start_beat if grid.phrases else grid.end_beat
    start = min(beat, Fraction(0))
    return BeatSpan(start, max(first - start, Fraction(1)))
