"""From one placed move into the next: what changes, how hard that is, and the way between.

States are compared at the boundary itself, so whatever runs on evenly costs nothing. What does
not has the *time allowed*: half a beat on each side of the boundary, never more than half of
either move; or, where nothing is placed between the moves, the whole rest. A rest longer than
:data:`LONGEST_REST_BEATS` is a stop and a new start, not a transition.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import cos, pi, sin

from composer.check.change import Change, change
from composer.check.hand_change import TimeAllowed
from composer.check.limits import Limit, limits_for
from composer.check.moment import Performed, Vector, moment, performed, state
from composer.motion.blend import Blend, blend
from composer.motion.hands import Hand
from composer.moves.library import Library
from composer.score.parts import PlacedMove
from composer.score.routine import Performer, Placement
from composer.timing.grid import MusicGrid

HALF_BEAT = Fraction(1, 2)
LONGEST_REST_BEATS = Fraction(4)
"""A bridge between two moves takes one to four beats (common practice)."""


@dataclass(frozen=True)
class Transition(Change):
    """A change between two placed moves of one performer."""

    before: PlacedMove
    after: PlacedMove
    beat: Fraction
    """Where the move before ends."""
    _done: tuple[Performed, Performed]
    _cycle_s: tuple[float, float]

    @cached_property
    def blends(self) -> Mapping[Hand, Blend]:
        """The way of each hand through the time allowed, with its peak speeds."""
        early, late = window_beats(self.before.placement, self.after.placement)
        placements = self.before.placement, self.after.placement
        at = placements[0].span.length_beats - early, late
        ways = {}
        for hand in self.hands:
            leaves, enters = (
                state(done, hand, placement, beats, cycle_s)
                for done, placement, beats, cycle_s in zip(
                    self._done, placements, at, self._cycle_s, strict=True
                )
            )
            ways[hand] = blend(leaves, enters, self.time.seconds)
        return ways


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
    placements = before.placement, after.placement
    first, second = placements
    done = (
        performed(first, performer, library),
        performed(second, performer, library),
    )
    beat = first.span.end_beat
    time = time_allowed(first, second, grid)
    cycle_s = (
        _cycle_s(done[0], first, _beat_s_before(beat, grid)),
        _cycle_s(done[1], second, 60 / grid.tempo_map.bpm_at(second.span.start_beat)),
    )
    shared = [hand for hand in done[0].hands if hand in done[1].hands and hand in hands]
    moments = {
        hand: (
            moment(done[0], hand, first, first.span.length_beats, cycle_s[0], "before"),
            moment(done[1], hand, second, Fraction(0), cycle_s[1], "after"),
        )
        for hand in shared
    }
    facing = float(second.facing_turns - first.facing_turns)
    across = _across(float(first.facing_turns)), _across(float(second.facing_turns))
    parts = change(moments, time, facing, limits or limits_for(performer), across=across)
    return Transition(
        time=parts.time,
        hands=parts.hands,
        body_turns=parts.body_turns,
        judged=parts.judged,
        before=before,
        after=after,
        beat=beat,
        _done=done,
        _cycle_s=cycle_s,
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
    return (
        min(HALF_BEAT, before.span.length_beats / 2),
        min(HALF_BEAT, after.span.length_beats / 2),
    )


def time_allowed(before: Placement, after: Placement, grid: MusicGrid) -> TimeAllowed:
    """The stretch in which the change has to happen; see the head of this module."""
    early, late = window_beats(before, after)
    start_beat, end_beat = before.span.end_beat - early, after.span.start_beat + late
    start_s, end_s = grid.tempo_map.seconds_of([float(start_beat), float(end_beat)]).tolist()
    rest = after.span.start_beat - before.span.end_beat
    seconds = end_s - start_s
    return TimeAllowed(
        float(end_beat - start_beat), seconds, float(rest), seconds if rest > 0 else 0.0
    )


def _beat_s_before(beat: Fraction, grid: MusicGrid) -> float:
    """Seconds a beat lasts just before a beat: a knot may stand on it."""
    return 60 / grid.tempo_map.bpm_at(beat - Fraction(1, 1000))


def _cycle_s(done: Performed, placement: Placement, beat_s: float) -> float:
    return float(done.performance.cycle_beats(placement.rate)) * beat_s


def _across(facing_turns: float) -> Vector:
    angle = 2 * pi * facing_turns
    return cos(angle), sin(angle), 0.0
