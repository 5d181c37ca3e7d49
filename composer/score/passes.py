"""What was practised: the places where one move leads into the next, and how it went there."""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from composer.motion.hands import Hand
from composer.score.parts import PlacedMove, performed_parts
from composer.score.routine import Routine


@dataclass(frozen=True, slots=True)
class Transition:
    """Where a performer goes from one move into the next, or into her first."""

    performer: str
    beat: Fraction
    from_move: str
    """Empty before the first move."""
    to_move: str

    @property
    def words(self) -> str:
        """``"cascade into flower"``, for lists and reasons."""
        return f"{self.from_move} into {self.to_move}" if self.from_move else self.to_move


@dataclass(frozen=True, slots=True)
class Pass:
    """One time through a transition, marked by the performer."""

    at: datetime.datetime
    """When, with its offset from universal time."""
    transition: Transition
    clean: bool
    percent: int
    """Speed of the music."""

    def __post_init__(self) -> None:
        if self.at.tzinfo is None:
            raise ValueError("a pass needs a time with its offset from universal time")
        if not 1 <= self.percent <= 200:
            raise ValueError(f"speed is a percentage, got {self.percent}")


def transitions_of(routine: Routine) -> tuple[Transition, ...]:
    """Every performer's transitions in time order, the entry into her first move among them."""
    found = []
    for performer, moves in performed_parts(routine).items():
        found += _of_performer(performer, moves)
    return tuple(sorted(found, key=lambda t: (t.beat, t.performer)))


def _of_performer(performer: str, moves: Sequence[PlacedMove]) -> list[Transition]:
    before: dict[Hand, str] = {}
    found: dict[Transition, None] = {}
    for move in moves:
        placement = move.placement
        sources = {before.get(hand, "") for hand in placement.hands}
        for source in sorted(sources):
            found[Transition(performer, move.span.start_beat, source, placement.move)] = None
        before |= dict.fromkeys(placement.hands, placement.move)
    return list(found)


def passes_of(
    passes: Iterable[Pass], transitions: Sequence[Transition]
) -> dict[Transition, tuple[Pass, ...]]:
    """The passes of each transition, oldest first, also when the routine was edited since.

    A pass belongs to the transition between the same moves that is nearest to where it was
    made; passes of moves that no longer meet are left out.
    """
    found: dict[Transition, list[Pass]] = {transition: [] for transition in transitions}
    for one in passes:
        alike = [t for t in transitions if _same_moves(t, one.transition)]
        if alike:
            nearest = min(alike, key=lambda t: abs(t.beat - one.transition.beat))
            found[nearest].append(one)
    return {t: tuple(sorted(made, key=lambda one: one.at)) for t, made in found.items()}


def _same_moves(one: Transition, other: Transition) -> bool:
    return (one.performer, one.from_move, one.to_move) == (
        other.performer,
        other.from_move,
        other.to_move,
    )
