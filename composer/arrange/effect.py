"""What an edit does to the findings: which it removes, which it adds, looked at where it touches.

Only moves that an edit changes are judged again, with their neighbours on both sides; the rest of
the routine is judged as it was.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias

from composer.check.checks import check_part
from composer.check.findings import Finding, Level
from composer.motion.hands import Hand
from composer.moves.library import Library
from composer.score.parts import PlacedMove, performed_parts
from composer.score.routine import Routine

Key: TypeAlias = tuple[str, str, Fraction, Hand | None]
"""As Finding.key."""

NEIGHBOURS = 2
"""Moves on each side of a change that are looked at, at the least."""

WEIGHTS = {Level.NOTE: 1.0, Level.WARNING: 8.0, Level.ERROR: 30.0}
"""Ours: a warning outweighs any few notes, an error any few warnings."""


@dataclass(frozen=True, slots=True)
class Effect:
    """The findings an edit takes away and those it brings."""

    removes: tuple[Finding, ...]
    """Gone, or less grave than it was."""
    adds: tuple[Finding, ...]
    """New, or graver than it was."""
    left: frozenset[Key]
    """Keys of what is still found where the edit touches."""

    @property
    def gain(self) -> float:
        """Weight of what goes less weight of what comes."""
        return weight_of(self.removes) - weight_of(self.adds)

    def worst_added(self) -> Level | None:
        return max((finding.level for finding in self.adds), default=None)


def weight_of(findings: Sequence[Finding]) -> float:
    """How much findings weigh together, each by its level."""
    return sum(WEIGHTS[finding.level] for finding in findings)


def effect(before: Routine, after: Routine, library: Library) -> Effect:
    """Compare the findings of two routines on the same grid, where their moves differ."""
    old_parts, new_parts = performed_parts(before), performed_parts(after)
    removes: list[Finding] = []
    adds: list[Finding] = []
    left: set[Key] = set()
    for performer in before.performers:
        old, new = old_parts[performer.name], new_parts[performer.name]
        start, old_end, new_end = changed_stretch(old, new)
        if start == old_end == new_end:
            continue
        judged = [
            check_part(_window(moves, start, end), library, performer, before.grid)
            for moves, end in ((old, old_end), (new, new_end))
        ]
        removes += _without(judged[0], judged[1])
        adds += _without(judged[1], judged[0])
        left |= {finding.key for finding in judged[1]}
    return Effect(tuple(removes), tuple(adds), frozenset(left))


def changed_stretch(old: Sequence[PlacedMove], new: Sequence[PlacedMove]) -> tuple[int, int, int]:
    """Where two lists of moves differ: start in both, end in the old, end in the new."""
    shortest = min(len(old), len(new))
    start = 0
    while start < shortest and old[start].placement == new[start].placement:
        start += 1
    tail = 0
    while tail < shortest - start and old[-1 - tail].placement == new[-1 - tail].placement:
        tail += 1
    return start, len(old) - tail, len(new) - tail


def _window(moves: Sequence[PlacedMove], start: int, end: int) -> Sequence[PlacedMove]:
    """The changed moves, and on each side those of either hand that they follow or lead to."""
    first, hands = start, set(Hand)
    while first > 0 and (hands or start - first < NEIGHBOURS or _reach_past(moves, first)):
        first -= 1
        hands -= set(moves[first].placement.hands)
    last, hands = end, set(Hand)
    ends = max((move.span.end_beat for move in moves[first:end]), default=Fraction(0))
    while last < len(moves) and (
        hands or last - end < NEIGHBOURS or moves[last].span.start_beat < ends
    ):
        hands -= set(moves[last].placement.hands)
        last += 1
    return moves[first:last]


def _reach_past(moves: Sequence[PlacedMove], first: int) -> bool:
    """Whether an earlier move lasts into the first of the window."""
    here = moves[first].span.start_beat if first < len(moves) else None
    return here is not None and any(
        move.span.end_beat > here for move in moves[max(0, first - 8) : first]
    )


def _without(some: Sequence[Finding], others: Sequence[Finding]) -> list[Finding]:
    """Findings that are not, or only less gravely, among the others."""
    known: dict[Key, int] = {}
    for finding in others:
        known[finding.key] = max(finding.level, known.get(finding.key, 0))
    return [finding for finding in some if known.get(finding.key, 0) < finding.level]
