"""Lengths that let a move close on the music."""

from dataclasses import dataclass, replace
from fractions import Fraction

from composer.check.fit import fit
from composer.moves.library import Library
from composer.score.routine import Performer, Placement
from composer.timing.beats import BeatSpan, beats_words
from composer.timing.grid import MusicGrid

USUAL_BEATS = Fraction(8)
"""An eight: what the trade counts in (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Length:
    """How long to place a move, and how it then fits."""

    length_beats: Fraction
    closes: bool
    words: str


def usual_length(
    placement: Placement,
    library: Library,
    performer: Performer,
    grid: MusicGrid,
    room_beats: Fraction,
) -> Length:
    """The length to give a move where it is placed, with so much room after it.

    About an eight, if it closes there; else the nearest length at which it closes with a bar; else
    one at which it closes; else what room there is.

    Raises
    ------
    UnknownName, CannotEnter
        If the move is not in the library or cannot be performed as placed.
    """
    trial = replace(
        placement, span=BeatSpan(placement.span.start_beat, min(USUAL_BEATS, room_beats))
    )
    told = fit(trial, library, performer, grid)
    if told.closes:
        return _closing(grid, trial.span)
    for below, above in (told.bar_closing_lengths, told.closing_lengths):
        for length in (above, below):
            if 0 < length <= room_beats:
                return _closing(grid, BeatSpan(trial.span.start_beat, length))
    missing = told.cycle_beats - room_beats
    return Length(room_beats, False, f"stays open, {beats_words(missing)} short")


def _closing(grid: MusicGrid, span: BeatSpan) -> Length:
    where = "with a bar" if grid.meter_map.is_downbeat(span.end_beat) else "inside a bar"
    words = f"closes {where} after {beats_words(span.length_beats)}"
    return Length(span.length_beats, True, words)


def room_after(grid: MusicGrid, beat: Fraction, starts: list[Fraction]) -> Fraction:
    """Beats from a place to the next of these starts, the end of its phrase or of the music."""
    ends = [*starts, grid.end_beat]
    index = grid.phrase_index_at(beat)
    if index is not None:
        ends.append(grid.phrase_span(index).end_beat)
    return min((end for end in ends if end > beat), default=beat + 1) - beat


def phrase_at(grid: MusicGrid, beat: Fraction) -> BeatSpan:
    """The phrase that holds a beat; what lies before the first phrase counts as one."""
    index = grid.phrase_index_at(beat)
    if index is not None:
        return grid.phrase_span(index)
    end = grid.phrases[0].start_beat if grid.phrases else grid.end_beat
    start = min(beat, Fraction(0))
    return BeatSpan(start, max(end - start, Fraction(1)))
