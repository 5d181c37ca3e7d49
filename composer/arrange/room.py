"""How much room a place has, and how long a move had best last in it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import NamedTuple

from composer.arrange.costs import Closing, closing_of
from composer.check.fit import Fit
from composer.motion.hands import Hand
from composer.score.parts import PlacedMove
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid


@dataclass(frozen=True, slots=True)
class Room:
    """A stretch that is free from a place on, to the next move or phrase or the music's end."""

    span: BeatSpan
    bar_beats: Fraction
    """Of the bar in which it begins."""


def room_at(grid: MusicGrid, beat: Fraction, taken: Iterable[Fraction] = ()) -> Room:
    """The room after a beat.

    Parameters
    ----------
    taken : beats
        Starts of what is placed on the hands that are asked about.
    """
    ends = [start for start in taken if start > beat]
    index = grid.phrase_index_at(beat)
    if index is not None:
        ends.append(grid.phrase_span(index).end_beat)
    elif grid.phrases:
        ends.append(grid.phrases[0].start_beat)
    ends.append(max(grid.end_beat, beat + 1))
    bar = grid.meter_map.bar_length_beats(grid.meter_map.position(beat).bar)
    return Room(BeatSpan(beat, min(ends) - beat), bar)


def starts_on(moves: Iterable[PlacedMove], hands: Iterable[Hand]) -> list[Fraction]:
    """Beats on which something begins on any of these hands."""
    wanted = set(hands)
    return [move.span.start_beat for move in moves if wanted & set(move.placement.hands)]


class Lasting(NamedTuple):
    """How long to place a move, and how it then stands."""

    length_beats: Fraction
    closing: Closing


def lasting_in(room: Room, trial: Fit) -> Lasting:
    """The length to give a move in a room; ``trial`` is the move there, whatever its length.

    Two bars, if it closes there (an eight in 4/4: common practice); else the nearest length at
    which it closes with a bar; else one at which it closes; else all the room there is.
    """
    free = room.span.length_beats
    told = with_length(trial, min(2 * room.bar_beats, free))
    if told.closes:
        return _lasting(told)
    for below, above in (told.bar_closing_lengths, told.closing_lengths):
        for length in (above, below):
            if 0 < length <= free:
                return Lasting(length, Closing.CLOSES)
    return stands_after(trial, free)


def stands_after(trial: Fit, length_beats: Fraction) -> Lasting:
    """How a move stands after a given length."""
    return _lasting(with_length(trial, length_beats))


def _lasting(fitted: Fit) -> Lasting:
    return Lasting(fitted.placement.span.length_beats, closing_of(fitted))


def with_length(trial: Fit, length_beats: Fraction) -> Fit:
    """The same move from the same beat on, so many beats long."""
    placed = trial.placement
    span = BeatSpan(placed.span.start_beat, length_beats)
    return replace(trial, placement=replace(placed, span=span))
