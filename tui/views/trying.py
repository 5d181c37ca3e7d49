"""A move in motion at its place: the end of what goes before, the way over, then the move."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property, lru_cache

import numpy as np

from composer.check.performed import performed
from composer.check.transitions import LONGEST_REST_BEATS, Transition, transition, window_beats
from composer.errors import ComposerError
from composer.export.choice import View
from composer.motion.hands import Hand
from composer.motion.kinematics import Floats
from composer.moves.library import Library
from composer.moves.perform import Performance
from composer.score.parts import PlacedMove, begun_before, move_before
from composer.score.routine import Performer, Placement, Routine
from composer.score.same import Same
from tui.views.motion import frame_of, trail_of
from tui.views.paper import Line, Piece, shortened

LEAD_BEATS = Fraction(2)
"""So much of the move before is shown."""
MOST_BEATS = Fraction(8)
"""So much of the move itself is shown before it begins again."""
WAY_POINTS = 24

Places = dict[Hand, tuple[Floats, Floats]]
"""Hand and head in the room, each shape=(1, 3), as seen with the body of the move on trial."""


@dataclass(frozen=True, eq=False)
class Tried:
    """A move, placed or only tried, with what it comes out of."""

    routine: Routine
    library: Library
    move: PlacedMove
    before: PlacedMove | None

    @property
    def _who(self) -> Performer:
        return self.routine.performer(self.move.performer)

    @cached_property
    def performance(self) -> Performance:
        return performed(self.move.placement, self._who, self.library).performance

    @cached_property
    def change(self) -> Transition | None:
        """How it is come into; None where nothing leads into it."""
        if self.before is None:
            return None
        try:
            return transition(self.before, self.move, self.library, self._who, self.routine.grid)
        except (ComposerError, ValueError):
            return None

    @cached_property
    def span(self) -> tuple[Fraction, Fraction]:
        """The beats of the timeline that are shown, over and over."""
        start = self.move.span.start_beat
        begin = self.before.span.end_beat - LEAD_BEATS if self.before and self.change else start
        return begin, start + min(self.move.span.length_beats, MOST_BEATS)

    @cached_property
    def window(self) -> tuple[Fraction, Fraction]:
        """Between which beats the hands go over from the one into the other."""
        start = self.move.span.start_beat
        if self.before is None or self.change is None:
            return start, start
        early, late = window_beats(self.before.placement, self.move.placement)
        return self.before.span.end_beat - early, start + late

    @property
    def seconds(self) -> float:
        """How long the shown beats last in the music."""
        begin, end = self.span
        tempo_map = self.routine.grid.tempo_map
        return tempo_map.seconds(end) - tempo_map.seconds(begin)

    def places(self, beat: Fraction) -> Places:
        """Where hands and heads are at a beat of the timeline."""
        first, last = self.window
        if self.before is not None and beat < first:
            before = performed(self.before.placement, self._who, self.library).performance
            return self._performed(self.before.placement, before, beat)
        if self.change is not None and beat < last:
            share = float((beat - first) / (last - first))
            return {
                hand: self._turned_back(*self._blended(hand, np.array([share])))
                for hand in self.change.blends
            }
        return self._performed(self.move.placement, self.performance, beat)

    def _performed(self, placement: Placement, performance: Performance, beat: Fraction) -> Places:
        passed = (beat - placement.span.start_beat) / performance.cycle_beats(placement.rate)
        facing = placement.facing_turns - self.move.placement.facing_turns
        return {
            hand: performance.room_places_m(hand, [float(passed)], facing)
            for hand in performance.tracks
        }

    def _blended(self, hand: Hand, shares: Floats) -> tuple[Floats, Floats]:
        assert self.change is not None
        blend = self.change.blends[hand]
        motion = blend.room_motion_at(shares * blend.duration_s)
        return motion.hand_m, motion.head_m

    def _turned_back(self, hand_m: Floats, head_m: Floats) -> tuple[Floats, Floats]:
        """As seen by the body of the move on trial, which may not face the audience."""
        angle = -2 * np.pi * float(self.move.placement.facing_turns)
        turn = np.array(
            [
                [np.cos(angle), -np.sin(angle), 0.0],
                [np.sin(angle), np.cos(angle), 0.0],
                [0.0, 0.0, 1.0],
            ]
        )
        return hand_m @ turn.T, head_m @ turn.T

    @cached_property
    def way_m(self) -> tuple[Floats, ...]:
        """Room points of each head on the way over."""
        if self.change is None:
            return ()
        shares = np.linspace(0.0, 1.0, WAY_POINTS)
        return tuple(
            self._turned_back(*self._blended(hand, shares))[1] for hand in self.change.blends
        )

    def words(self, beat: Fraction) -> str:
        """What is seen at a beat: ``"out of diamond"``, ``"going over"``, ``"beat 3 of 8"``."""
        first, last = self.window
        if self.before is not None and beat < first:
            return f"out of {self.before.placement.move}"
        if beat < last:
            return "going over"
        number = int(beat - self.move.span.start_beat) + 1
        return f"beat {number} of {float(self.move.span.length_beats):g}"


def tried_at(
    routine: Routine, library: Library, moves: Sequence[PlacedMove], move: PlacedMove
) -> Tried:
    """A move among a performer's moves, placed or not; those it would cut into end before it."""
    from composer.arrange.place import cut_at  # here: the first frame does without

    start = move.span.start_beat
    earlier = [
        other
        if other.span.end_beat <= start
        else replace(other, placement=cut_at(other.placement, start))
        for other in begun_before(moves, start)
    ]
    before = move_before(earlier, move)
    near = before is not None and start - before.span.end_beat <= LONGEST_REST_BEATS
    return _tried(Same(routine), Same(library), move, before if near else None)


@lru_cache(maxsize=8)
def _tried(
    routine: Same[Routine], library: Same[Library], move: PlacedMove, before: PlacedMove | None
) -> Tried:
    """Kept, since it is drawn many times a second."""
    return Tried(routine.value, library.value, move, before)


def tried_lines(
    tried: Tried, share: float, view: View, columns: int, rows: int
) -> tuple[Line, ...]:
    """The picture after a share of what is shown has passed, and a line that says what is seen.

    Raises
    ------
    CannotEnter
        If the move cannot be performed so.
    """
    begin, end = tried.span
    beat = begin + (end - begin) * Fraction(share).limit_denominator(10_000)
    words: Line = (Piece(shortened(f" {tried.words(beat)}", columns), "quiet"),)
    if rows < 4 or columns < 8:
        return (words,)
    body = tried.routine.performer(tried.move.performer).body
    trail = trail_of(tried.performance, body, view, columns, rows - 1)
    places: Mapping[Hand, tuple[Floats, Floats]] = tried.places(beat)
    way_m = tried.way_m if beat < tried.window[1] else ()
    return (*frame_of(trail, places, way_m), words)
