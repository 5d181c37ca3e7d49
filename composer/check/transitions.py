"""From one placed move into the next: what changes, how hard that is, and the way between.

States are compared at the boundary itself, so whatever runs on evenly costs nothing. What does
not has the *time allowed*: half a beat on each side of the boundary, never more than half of
either move; or, where nothing is placed between the moves, the whole rest. A rest longer than
:data:`LONGEST_REST_BEATS` is a stop and a new start, not a transition.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, lru_cache
from math import cos, pi, sin
from typing import Literal

from composer.check.change import Change, change
from composer.check.hand_change import TimeAllowed
from composer.check.limits import Limit, limits_for
from composer.check.moment import Vector, moment, state
from composer.check.performed import Performed, performed
from composer.motion.blend import Blend, blend
from composer.motion.hands import Hand
from composer.motion.state import HandState
from composer.moves.library import Library
from composer.score.parts import PlacedMove
from composer.score.routine import Performer, Placement
from composer.timing.grid import MusicGrid

START = Fraction(0)
HALF_BEAT = Fraction(1, 2)
LONGEST_REST_BEATS = Fraction(4)
"""A bridge between two moves takes one to four beats (common practice)."""


@dataclass(frozen=True)
class Transition(Change):
    """A change between two placed moves of one performer."""

    before: PlacedMove
    after: PlacedMove
    _done: tuple[Performed, Performed]
    _cycle_s: tuple[float, float]

    @property
    def beat(self) -> Fraction:
        """Where the move before ends."""
        return self.before.span.end_beat

    @cached_property
    def blends(self) -> Mapping[Hand, Blend]:
        """The way of each hand through the time allowed, with its peak speeds."""
        first, second = self.before.placement, self.after.placement
        early, late = window_beats(first, second)
        ways = {}
        for hand in self.hands:
            leaves = self._state(0, hand, first.span.length_beats - early)
            enters = self._state(1, hand, late)
            ways[hand] = blend(leaves, enters, self.time.seconds)
        return ways

    def _state(self, which: Literal[0, 1], hand: Hand, beats_from_start: Fraction) -> HandState:
        placement = (self.before, self.after)[which].placement
        done = self._done[which]
        passed = done.share_passed(beats_from_start, placement.rate)
        return state(done, hand, passed, placement.facing_turns, self._cycle_s[which])


def transition(
    before: PlacedMove,
    after: PlacedMove,
    library: Library,
    performer: Performer,
    grid: MusicGrid,
    *,
    hands: Collection[Hand] = tuple(Hand),
    limits: Mapping[str, Limit] | None = None,
) -> Transition:
    """Compare what one placed move leaves with what the next one enters, hand by hand.

    Of ``hands`` only those that take part in both moves are compared. ``limits`` is the
    performer's table, given where many transitions are compared.

    Raises
    ------
    UnknownName, CannotEnter
        If a move is not in the library or cannot be performed as placed.
    ValueError
        If the second move begins before the first ends.
    """
    first, second = before.placement, after.placement
    done = performed(first, performer, library), performed(second, performer, library)
    time = time_allowed(first, second, grid)
    cycle_s = (
        _cycle_s(done[0], first, 60 / grid.tempo_map.bpm_before(first.span.end_beat)),
        _cycle_s(done[1], second, 60 / grid.tempo_map.bpm_at(second.span.start_beat)),
    )
    facing = first.facing_turns, second.facing_turns
    passed = done[0].share_passed(first.span.length_beats, first.rate)
    moments = {
        hand: (
            moment(done[0], hand, passed, facing[0], cycle_s[0], "before"),
            moment(done[1], hand, START, facing[1], cycle_s[1], "after"),
        )
        for hand in done[0].hands
        if hand in done[1].hands and hand in hands
    }
    across = _across(facing[0]), _across(facing[1])
    turned = float(facing[1] - facing[0])
    judged = change(moments, time, turned, limits or limits_for(performer), across=across)
    return Transition(
        judged.time, judged.hands, judged.body_turns, judged.judged, before, after, done, cycle_s
    )


def window_beats(before: Placement, after: Placement) -> tuple[Fraction, Fraction]:
    """How much of the end of one move and of the start of the next the change may take.

    Raises
    ------
    ValueError
        If the second begins before the first ends.
    """
    rest = after.span.start_beat - before.span.end_beat
    if rest < 0:
        raise ValueError(f"the moves overlap by {-rest} beats; there is no boundary between them")
    if rest > 0:
        return Fraction(0), Fraction(0)
    return _half(before), _half(after)


def _half(placement: Placement) -> Fraction:
    """Half a beat, or half of a move that is shorter than a beat."""
    length = placement.span.length_beats
    return HALF_BEAT if length >= 1 else length / 2


def time_allowed(before: Placement, after: Placement, grid: MusicGrid) -> TimeAllowed:
    """The stretch in which the change has to happen; see the head of this module."""
    early, late = window_beats(before, after)
    start_beat, end_beat = before.span.end_beat - early, after.span.start_beat + late
    seconds = grid.tempo_map.seconds(end_beat) - grid.tempo_map.seconds(start_beat)
    beats = float(end_beat - start_beat)
    if early == late == 0:
        return TimeAllowed(beats, seconds, rest_beats=beats, rest_s=seconds)
    return TimeAllowed(beats, seconds, rest_beats=0.0, rest_s=0.0)


def _cycle_s(done: Performed, placement: Placement, beat_s: float) -> float:
    return float(done.performance.cycle_beats(placement.rate)) * beat_s


@lru_cache(maxsize=1_000)
def _across(facing_turns: Fraction) -> Vector:
    angle = 2 * pi * float(facing_turns)
    return cos(angle), sin(angle), 0.0
