"""A place on the timeline at which something is to follow, worked out once for all moves."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from composer.arrange.costs import Ending, ending_of
from composer.arrange.room import Room, room_at, starts_on
from composer.arrange.ways import Neighbour, left_edge, neighbours
from composer.check.hand_change import TimeAllowed
from composer.check.limits import Limit, limits_for
from composer.check.physics import beat_lengths_s
from composer.check.transitions import LONGEST_REST_BEATS, time_allowed
from composer.motion.hands import Hand
from composer.moves.library import Library
from composer.moves.perform import WhichHand
from composer.score.parts import PlacedMove, performed_part
from composer.score.routine import Performer, Placement, Routine
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid

LATELY_MOVES = 6
"""A move that is among so many before a place is no news there."""


@dataclass(frozen=True, eq=False)
class Place:
    """Where something is to follow, with what is the same for every move tried there."""

    routine: Routine
    library: Library
    performer: Performer
    beat: Fraction
    hand: WhichHand
    length_beats: Fraction | None

    @property
    def grid(self) -> MusicGrid:
        return self.routine.grid

    @property
    def hands(self) -> tuple[Hand, ...]:
        return tuple(Hand) if self.hand == "both" else (Hand(self.hand),)

    @cached_property
    def moves(self) -> tuple[PlacedMove, ...]:
        return performed_part(self.routine, self.performer.name)

    @cached_property
    def limits(self) -> Mapping[str, Limit]:
        return limits_for(self.performer)

    @cached_property
    def before(self) -> tuple[Neighbour, ...]:
        """What each hand comes from; nothing where it has rested too long to be led."""
        last: dict[Hand, Placement] = {}
        for move in self.moves:
            if move.span.start_beat < self.beat:
                ended = cut_at(move.placement, self.beat)
                last |= {hand: ended for hand in move.placement.hands if hand in self.hands}
        near = {
            hand: placement
            for hand, placement in last.items()
            if self.beat - placement.span.end_beat <= LONGEST_REST_BEATS
        }
        return neighbours(near, left_edge, self.library, self.performer, self.grid)

    @cached_property
    def room(self) -> Room:
        return room_at(self.grid, self.beat, starts_on(self.moves, self.hands))

    @cached_property
    def came_from(self) -> str:
        return self.before[0].way.done.move.name if self.before else ""

    @cached_property
    def rates(self) -> tuple[Fraction, ...]:
        """The rate that goes on, and one downbeat a beat."""
        told = [before.edge.placement.rate for before in self.before]
        return tuple(dict.fromkeys((*told, Fraction(1))))

    @cached_property
    def facing_turns(self) -> Fraction:
        return self.before[0].edge.placement.facing_turns if self.before else Fraction(0)

    @cached_property
    def lately(self) -> frozenset[str]:
        names = [m.placement.move for m in self.moves if m.span.start_beat < self.beat]
        return frozenset(names[-LATELY_MOVES:])

    @cached_property
    def _endings(self) -> dict[Fraction, Ending]:
        return {}

    def ending(self, span: BeatSpan) -> Ending:
        known = self._endings.get(span.end_beat)
        if known is None:
            known = self._endings[span.end_beat] = ending_of(span, self.grid)
        return known

    @cached_property
    def _beat_lengths_s(self) -> dict[Fraction, tuple[float, float]]:
        return {}

    def beat_lengths_s(self, beats: Fraction) -> tuple[float, float]:
        """Shortest and longest beat of so many from the place on, in seconds."""
        known = self._beat_lengths_s.get(beats)
        if known is None:
            known = beat_lengths_s(BeatSpan(self.beat, beats), self.grid)
            self._beat_lengths_s[beats] = known
        return known

    @cached_property
    def _times(self) -> dict[tuple[int, Fraction], TimeAllowed]:
        return {}

    def time(self, number: int, after: Placement) -> TimeAllowed:
        """The time that the change from one of the moves before has."""
        late = min(after.span.length_beats, Fraction(1))
        known = self._times.get((number, late))
        if known is None:
            first = self.before[number].edge.placement
            known = self._times[number, late] = time_allowed(first, after, self.grid)
        return known


def cut_at(placement: Placement, beat: Fraction) -> Placement:
    """The placement ended at a beat, if it lasts longer."""
    span = placement.span
    if span.end_beat <= beat:
        return placement
    return replace(placement, span=BeatSpan(span.start_beat, beat - span.start_beat))
