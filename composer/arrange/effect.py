"""What an edit does to the findings: which it removes, which it adds, looked at where it touches.

Only moves that an edit changes are judged again, with their neighbours on both sides; the rest of
the routine is judged as it was.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from typing import NamedTuple, TypeAlias

from composer.check.checks import check_part, finds_any
from composer.check.findings import Finding, Level
from composer.motion.hands import Hand
from composer.moves.library import Library
from composer.score.parts import PlacedMove, performed_parts
from composer.score.routine import Performer, Routine

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

    @property
    def gain(self) -> float:
        """Weight of what goes less weight of what comes."""
        return weight_of(self.removes) - weight_of(self.adds)


def weight_of(findings: Sequence[Finding]) -> float:
    """How much findings weigh together, each by its level."""
    return sum(WEIGHTS[finding.level] for finding in findings)


def effect(before: Routine, after: Routine, library: Library) -> Effect:
    """Compare the findings of two routines on the same grid, where their moves differ."""
    return Standing(before, library).effect(after)


class Standing:
    """A routine of which many edits are tried: where they touch, it is itself judged only once."""

    def __init__(self, routine: Routine, library: Library) -> None:
        self._routine, self._library = routine, library
        self._parts = performed_parts(routine)
        self._looked_at: dict[tuple[str, int, int], _LookedAt] = {}

    def effect(self, after: Routine) -> Effect:
        """What the edit that leads to ``after`` does to the findings."""
        removes: list[Finding] = []
        adds: list[Finding] = []
        for performer, old, moves in self._touched(after):
            new = check_part(moves, self._library, performer, self._routine.grid)
            removes += _without(old.findings, _gravest(new))
            adds += _without(new, old.gravest)
        return Effect(tuple(removes), tuple(adds))

    def leaves_or_worsens(self, after: Routine, finding: Finding) -> bool:
        """Whether a finding stays, or another as grave comes: most edits fall at the first such."""
        return any(
            finds_any(
                moves,
                self._library,
                performer,
                self._routine.grid,
                partial(_is_as_bad, than=finding, known=old.gravest),
            )
            for performer, old, moves in self._touched(after)
        )

    def _touched(
        self, after: Routine
    ) -> Iterator[tuple[Performer, "_LookedAt", Sequence[PlacedMove]]]:
        """Whose moves are others: what was found there, and the moves there now."""
        parts = performed_parts(after)
        for performer in self._routine.performers:
            name = performer.name
            start, old_end, new_end = changed_stretch(self._parts[name], parts[name])
            if not start == old_end == new_end:
                old = self._at(performer, start, old_end)
                yield (
                    performer,
                    old,
                    parts[name][old.first : _last(parts[name], old.first, new_end)],
                )

    def _at(self, performer: Performer, start: int, end: int) -> "_LookedAt":
        key = performer.name, start, end
        if key not in self._looked_at:
            moves = self._parts[performer.name]
            first = _first(moves, start)
            seen = moves[first : _last(moves, first, end)]
            found = check_part(seen, self._library, performer, self._routine.grid)
            self._looked_at[key] = _LookedAt(first, found, _gravest(found))
        return self._looked_at[key]


class _LookedAt(NamedTuple):
    """Where an edit touches, before it."""

    first: int
    """The first move that is looked at; those before a change are the same after it."""
    findings: tuple[Finding, ...]
    gravest: Mapping[Key, int]


def _is_as_bad(finding: Finding, *, than: Finding, known: Mapping[Key, int]) -> bool:
    if finding.key == than.key:
        return True
    return finding.level >= than.level and known.get(finding.key, 0) < finding.level


def changed_stretch(old: Sequence[PlacedMove], new: Sequence[PlacedMove]) -> tuple[int, int, int]:
    """Where two lists of moves differ: start in both, end in the old, end in the new."""
    shortest = min(len(old), len(new))
    start = 0
    while start < shortest and _is_same(old[start], new[start]):
        start += 1
    tail = 0
    while tail < shortest - start and _is_same(old[-1 - tail], new[-1 - tail]):
        tail += 1
    return start, len(old) - tail, len(new) - tail


def _is_same(one: PlacedMove, other: PlacedMove) -> bool:
    return one.placement is other.placement or one.placement == other.placement


def _first(moves: Sequence[PlacedMove], start: int) -> int:
    """The first of the moves before a change that either hand comes from."""
    first, hands = start, set(Hand)
    while first > 0 and (hands or start - first < NEIGHBOURS or _reach_past(moves, first)):
        first -= 1
        hands -= set(moves[first].placement.hands)
    return first


def _last(moves: Sequence[PlacedMove], first: int, end: int) -> int:
    """The end of the moves after a change that either hand goes on to."""
    last, hands = end, set(Hand)
    ends = max((move.span.end_beat for move in moves[first:end]), default=Fraction(0))
    while last < len(moves) and (
        hands or last - end < NEIGHBOURS or moves[last].span.start_beat < ends
    ):
        hands -= set(moves[last].placement.hands)
        last += 1
    return last


def _reach_past(moves: Sequence[PlacedMove], first: int) -> bool:
    """Whether an earlier move lasts into the first that is looked at."""
    here = moves[first].span.start_beat
    return any(move.span.end_beat > here for move in moves[max(0, first - 8) : first])


def _without(some: Sequence[Finding], known: Mapping[Key, int]) -> list[Finding]:
    """Findings that are not, or only less gravely, among those known."""
    return [finding for finding in some if known.get(finding.key, 0) < finding.level]


def _gravest(findings: Sequence[Finding]) -> dict[Key, int]:
    known: dict[Key, int] = {}
    for finding in findings:
        known[finding.key] = max(finding.level, known.get(finding.key, 0))
    return known
