"""The moves of a part worked out in metres, ready to be drawn, listed and sounded."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike, NDArray

from composer.errors import UnknownName
from composer.export.choice import Choice, View, chosen_moves
from composer.motion.hands import Hand
from composer.moves.library import Library
from composer.moves.perform import Performance, perform
from composer.score.parts import PlacedMove
from composer.score.routine import Routine


@dataclass(frozen=True)
class StagedMove:
    """A placed move and its motion; None where no library can tell it."""

    placed: PlacedMove
    performance: Performance | None

    @property
    def cycle_beats(self) -> Fraction:
        """Beats of the common cycle as placed; the whole placement where the motion is unknown."""
        if self.performance is None:
            return self.placed.span.length_beats
        return self.performance.cycle_beats(self.placed.placement.rate)

    def places_m(
        self, hand: Hand, beats: ArrayLike, view: View
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]] | None:
        """Hand and head from the floor under the performer at some beats, each shape=(n, 3).

        None if the hand takes no part in the move. She sees her own planes turn with her, so her
        view leaves the facing out.
        """
        if self.performance is None or hand not in self.performance.tracks:
            return None
        start = float(self.placed.span.start_beat)
        passed = (np.asarray(beats, dtype=float) - start) / float(self.cycle_beats)
        turns = self.placed.placement.facing_turns if view is View.AUDIENCE else Fraction(0)
        return self.performance.room_places_m(hand, passed, turns)


@dataclass(frozen=True, slots=True)
class Downbeat:
    """A tether passing straight down."""

    beat: Fraction
    hand: Hand
    move: str


def staged_moves(
    routine: Routine, performer: str, choice: Choice, library: Library
) -> tuple[StagedMove, ...]:
    """A performer's moves in the stretch chosen, each with its motion."""
    person = routine.performer(performer)
    staged = []
    for placed in chosen_moves(routine, performer, choice):
        try:
            move = library.get(placed.placement.move)
            performance = perform(move, placed.placement.style, person.body, person.props)
        except (UnknownName, ValueError):
            staged.append(StagedMove(placed, None))  # a finding says so; the sheet names the move
        else:
            staged.append(StagedMove(placed, performance))
    return tuple(staged)


def downbeats(move: StagedMove) -> tuple[Downbeat, ...]:
    """Every downbeat of each hand inside the placement, in time order, exact."""
    return tuple(sorted(_downbeats(move), key=lambda found: (found.beat, found.hand)))


def _downbeats(move: StagedMove) -> Iterator[Downbeat]:
    if move.performance is None:
        return
    span, cycle = move.placed.span, move.cycle_beats
    for hand, track in move.performance.tracks.items():
        shares = track.downbeats
        for turn in range(int(span.length_beats / cycle) + 1):
            for share in shares:
                beat = span.start_beat + (turn + share) * cycle
                if beat < span.end_beat:
                    yield Downbeat(beat, hand, move.placed.placement.move)


def part_downbeats(
    routine: Routine, performer: str, choice: Choice, library: Library
) -> tuple[Downbeat, ...]:
    """A performer's downbeats in time order."""
    found = [
        downbeat
        for move in staged_moves(routine, performer, choice, library)
        for downbeat in downbeats(move)
    ]
    return tuple(sorted(found, key=lambda downbeat: (downbeat.beat, downbeat.hand)))
