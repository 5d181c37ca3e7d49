"""Every check of a routine at once, each move and each boundary judged only once.

What has been judged is kept by the values it depends on: after an edit only the edited move and
its neighbours are judged again, as long as grid and library are the same objects.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from typing import TypeAlias

from composer.check.findings import Finding, Level
from composer.check.fit_words import fit_findings
from composer.check.group import group_findings
from composer.check.limits import limit_faults, limits_for
from composer.check.performed import CannotEnter
from composer.check.transition_words import transition_findings
from composer.check.transitions import LONGEST_REST_BEATS, transition
from composer.errors import UnknownName
from composer.motion.hands import Hand
from composer.moves.library import Library
from composer.score.parts import PlacedMove, performed_parts
from composer.score.routine import Performer, Placement, Routine
from composer.score.same import Same
from composer.timing.beats import beats_words
from composer.timing.grid import MusicGrid

Pair: TypeAlias = tuple[int, int]
Followed: TypeAlias = tuple[Hand | None, ...]
"""For which hands one move follows another; None where it does so whatever the hand."""
WHICHEVER: Followed = (None, Hand.RIGHT, Hand.LEFT)
MOST_KEPT = 50_000
"""Judgements kept for one performer before all are forgotten."""


def check_routine(routine: Routine, library: Library) -> tuple[Finding, ...]:
    """Everything that is found about every performer's moves and the group, in time order.

    Raises
    ------
    ComposerError
        If parts follow each other in a circle.
    """
    parts = performed_parts(routine)
    found = [(_in_order(one), one) for one in group_findings(routine, parts, library)]
    for name, moves in parts.items():
        desk = _desk(Same(routine.grid), Same(library), routine.performer(name))
        found += desk.placed(moves)
    found.sort(key=_place)
    return tuple(finding for _, finding in found)


def check_part(
    moves: Sequence[PlacedMove], library: Library, performer: Performer, grid: MusicGrid
) -> tuple[Finding, ...]:
    """The findings of one performer's moves in time order, such as a proposal's."""
    return tuple(sorted(_desk(Same(grid), Same(library), performer).check(moves), key=_in_order))


def finds_any(
    moves: Sequence[PlacedMove],
    library: Library,
    performer: Performer,
    grid: MusicGrid,
    wanted: Callable[[Finding], bool],
) -> bool:
    """Whether one of those findings is wanted; no more is judged than it takes to know."""
    return any(map(wanted, _desk(Same(grid), Same(library), performer).check(moves)))


Place: TypeAlias = tuple[float, int, str, str, str]
"""Where a finding stands among others: by time, the gravest first."""


def _in_order(finding: Finding) -> Place:
    hand = finding.hand or ""
    return float(finding.beat), -finding.level, finding.performer, finding.rule, hand


def _place(placed: tuple[Place, Finding]) -> Place:
    return placed[0]


class _Kept:
    """Findings that are judged already; they name the moves by index, which edits may shift."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        self._findings = findings
        self._placed = [(_in_order(one), one) for one in findings]
        self._indexes: tuple[int, ...] = ()

    def placed(self, indexes: tuple[int, ...]) -> list[tuple[Place, Finding]]:
        """The findings with their places, which no shift of indexes changes."""
        if self._placed and self._placed[0][1].indexes != indexes:
            places = (place for place, _ in self._placed)
            self._placed = list(zip(places, self.at(indexes), strict=True))
        return self._placed

    def at(self, indexes: tuple[int, ...]) -> tuple[Finding, ...]:
        if self._findings and self._indexes != indexes:
            self._findings = tuple(one.at(indexes) for one in self._findings)
            self._indexes = indexes
        return self._findings


@dataclass
class _Desk:
    """One performer's judgements on one grid with one library."""

    grid: MusicGrid
    library: Library
    performer: Performer
    _numbers: dict[Placement, int] = field(default_factory=dict)
    _seen: dict[int, tuple[Placement, int]] = field(default_factory=dict)
    _alone: dict[int, _Kept] = field(default_factory=dict)
    _between: dict[tuple[int, int, Followed], _Kept] = field(default_factory=dict)
    _later: dict[tuple[int, int], bool] = field(default_factory=dict)
    _last: tuple[Sequence[PlacedMove], list[tuple[Place, Finding]]] | None = None
    """The last moves that were checked, and what was found: most edits change one part only."""

    def __post_init__(self) -> None:
        self.limits = limits_for(self.performer)

    def check(self, moves: Sequence[PlacedMove]) -> Iterator[Finding]:
        """The findings one by one, each judged when it is asked for, before any other check."""
        yield from self._limit_faults()
        for kept, indexes in self._judged(moves):
            yield from kept.at(indexes)

    def placed(self, moves: Sequence[PlacedMove]) -> list[tuple[Place, Finding]]:
        """The same with their places; the same list again while the moves are the same object."""
        last = self._last
        if last is None or last[0] is not moves:
            found = [(_in_order(one), one) for one in self._limit_faults()]
            for kept, indexes in self._judged(moves):
                found += kept.placed(indexes)
            self._last = last = moves, found
        return last[1]

    def _judged(self, moves: Sequence[PlacedMove]) -> Iterator[tuple[_Kept, tuple[int, ...]]]:
        """What is judged of each move alone, then of each two that follow each other."""
        self._forget_if_full()
        numbers = [self._number(move.placement) for move in moves]
        for index, (number, move) in enumerate(zip(numbers, moves, strict=True)):
            kept = self._alone.get(number)
            if kept is None:
                kept = self._alone[number] = _Kept(self._judge_one(move.placement))
            yield kept, (index,)
        for pair, hands in self._pairs(moves, numbers).items():
            key = numbers[pair[0]], numbers[pair[1]], hands
            kept = self._between.get(key)
            if kept is None:
                judged = self._judge_two(moves[pair[0]], moves[pair[1]], hands)
                kept = self._between[key] = _Kept(judged)
            yield kept, pair

    def _forget_if_full(self) -> None:
        if len(self._between) > MOST_KEPT:
            for kept in (self._numbers, self._seen, self._alone, self._between, self._later):
                kept.clear()
        elif len(self._seen) > MOST_KEPT:
            self._seen.clear()

    def _number(self, placement: Placement) -> int:
        """The same number for equal placements; the same object is not compared again."""
        known = self._seen.get(id(placement))
        if known is not None and known[0] is placement:
            return known[1]
        number = self._numbers.setdefault(placement, len(self._numbers))
        self._seen[id(placement)] = placement, number
        return number

    def _pairs(self, moves: Sequence[PlacedMove], numbers: list[int]) -> dict[Pair, Followed]:
        """Which moves follow which: for each hand, and (None) for whichever hand moves.

        The move before is the one that lasts longest so far, so that overlaps are seen.
        """
        found: dict[Pair, Followed] = {}
        last: dict[Hand | None, int] = {}
        run: int | None = None  # the move before of both hands, while moves of both follow in a row
        for index, move in enumerate(moves):
            if run is not None and move.placement.style.hand == "both":
                found[run, index] = WHICHEVER
                run = index if self._ends_later(moves, numbers, run, index) else run
                continue
            if run is not None:
                last = dict.fromkeys(WHICHEVER, run)
            for hand in (None, *move.placement.hands):
                before = last.get(hand)
                if before is not None:
                    found[before, index] = (*found.get((before, index), ()), hand)
                if before is None or self._ends_later(moves, numbers, before, index):
                    last[hand] = index
            run = index if all(last.get(hand) == index for hand in WHICHEVER) else None
        return found

    def _ends_later(
        self, moves: Sequence[PlacedMove], numbers: list[int], one: int, two: int
    ) -> bool:
        key = numbers[one], numbers[two]
        later = self._later.get(key)
        if later is None:
            later = self._later[key] = moves[two].span.end_beat > moves[one].span.end_beat
        return later

    def _judge_one(self, placement: Placement) -> tuple[Finding, ...]:
        try:
            return fit_findings(
                placement, self.library, self.performer, self.grid, limits=self.limits
            )
        except UnknownName as error:
            rule, message = "unknown move", str(error)
        except CannotEnter as error:
            rule, message = "move cannot be done so", f"{placement.move}: {error}"
        why = "Nothing about it can be checked, drawn or rehearsed."
        return (
            Finding(
                rule,
                Level.ERROR,
                self.performer.name,
                placement.span.start_beat,
                message,
                why,
                moves=(placement.move,),
            ),
        )

    def _judge_two(
        self, before: PlacedMove, after: PlacedMove, followed: Followed
    ) -> tuple[Finding, ...]:
        """What is found between two moves that follow each other."""
        rest = after.span.start_beat - before.span.end_beat
        hands = [hand for hand in followed if hand is not None]
        if rest < 0:
            return tuple(self._overlap(before, after, hand) for hand in hands)
        gap = tuple(self._gap(before, after, rest)) if None in followed else ()
        if rest > LONGEST_REST_BEATS or not hands:
            return gap
        try:
            compared = transition(
                before,
                after,
                self.library,
                self.performer,
                self.grid,
                hands=hands,
                limits=self.limits,
            )
        except (UnknownName, CannotEnter):
            return gap  # told by the move itself
        return (*gap, *transition_findings(compared))

    def _limit_faults(self) -> Iterator[Finding]:
        for _, fault in limit_faults(self.performer):
            yield Finding(
                "limit not usable",
                Level.WARNING,
                self.performer.name,
                Fraction(0),
                fault,
                "The shipped limit is used instead.",
            )

    def _overlap(self, before: PlacedMove, after: PlacedMove, hand: Hand) -> Finding:
        names = before.placement.move, after.placement.move
        shared = min(before.span.end_beat, after.span.end_beat) - after.span.start_beat
        return Finding(
            "moves overlap",
            Level.ERROR,
            self.performer.name,
            after.span.start_beat,
            f"{names[0]} and {names[1]} both want the {hand} hand for {beats_words(shared)}",
            "A hand does one thing at a time.",
            moves=names,
            hand=hand,
            measured=float(shared),
            unit="beats",
        )

    def _gap(self, before: PlacedMove, after: PlacedMove, rest: Fraction) -> Iterator[Finding]:
        limit = self.limits["gap"]
        level = limit.level(float(rest))
        if level is not None:
            yield Finding(
                "nothing is placed",
                level,
                self.performer.name,
                before.span.end_beat,
                f"no move for {beats_words(rest)} after {before.placement.move}",
                "A rest is seen; leave it where the music rests, or fill it.",
                moves=(before.placement.move, after.placement.move),
                measured=float(rest),
                limit=limit.at(level),
                unit=limit.unit,
            )


@lru_cache(maxsize=64)
def _desk(grid: Same[MusicGrid], library: Same[Library], performer: Performer) -> _Desk:
    return _Desk(grid.value, library.value, performer)
