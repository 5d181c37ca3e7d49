"""The best entries and turns for moves whose order is settled: exact dynamic programming.

Going through the moves in time order, of all beginnings that leave the hands in the same ways only
the cheapest can be part of the best whole, so nothing is lost by forgetting the others
(R. Bellman, Dynamic Programming, 1957).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import product
from typing import NamedTuple, TypeAlias

from composer.arrange import edits
from composer.arrange.candidates import RELATIONS
from composer.arrange.costs import comfort_of
from composer.arrange.ways import (
    Edge,
    Way,
    distinct_ways,
    entered_edge,
    left_edge,
    meet,
    way_of,
)
from composer.check.change import Change, Kind
from composer.check.limits import limits_for
from composer.check.performed import CannotEnter
from composer.check.physics import beat_lengths_s
from composer.check.transition_words import RULES
from composer.check.transitions import LONGEST_REST_BEATS
from composer.errors import UnknownName
from composer.motion.hands import Hand
from composer.moves.library import Library
from composer.moves.model import Relation
from composer.moves.perform import Style
from composer.score.parts import PlacedMove, performed_part
from composer.score.routine import Performer, Placement, Routine
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid

QUARTERS = tuple(Fraction(k, 4) for k in range(4))
CHANGED_COST = 0.02
"""Of every choice that is not as it was written, so that nothing changes without a gain (ours)."""


@dataclass(frozen=True, slots=True)
class Freed:
    """What may be chosen anew, besides the entry of every move."""

    turns: tuple[Fraction, ...] = QUARTERS
    """By how much each figure may be turned from how it is written."""
    mirror: bool = False
    relation: bool = False
    """Whether the hands may go together or split, same or opposite."""


@dataclass(frozen=True, slots=True)
class Boundary:
    """Where one move goes over into the next, and what decides how it does."""

    beat: Fraction
    moves: tuple[str, str]
    kind: Kind
    cost: float
    figure: str
    """Name of the limit that decides; empty where nothing changes."""
    measured: float
    unit: str
    hand: Hand | None

    @property
    def words(self) -> str:
        """``"static spin to diamond: hand has far to go, left hand, 2.1 m/s"``."""
        text = f"{self.moves[0]} to {self.moves[1]}: "
        if not self.figure:
            return f"{text}goes on unbroken"
        whose = "" if self.hand is None else f", {self.hand} hand"
        return f"{text}{RULES[self.figure][0]}{whose}, {self.measured:.2g} {self.unit}"


@dataclass(frozen=True, slots=True)
class Solution:
    """The moves of a span in the ways of least total cost."""

    routine: Routine
    cost: float
    cost_as_written: float
    changed: tuple[tuple[Placement, Placement], ...]
    """As written, and as chosen."""
    boundaries: tuple[Boundary, ...]
    """Everywhere that a move of the span is entered or left."""
    blocked: Boundary | None
    """The first boundary that no choice takes smoothly, however the moves before it are done;
    None where a choice exists that is smooth throughout."""


def solve_span(
    routine: Routine,
    library: Library,
    performer: str,
    span: BeatSpan,
    freed: Freed = Freed(),
) -> Solution:
    """Choose entry and turn of every move that begins in a span, at the least total cost.

    The cost is that of all transitions into, between and out of these moves, of what arm and prop
    find uncomfortable, and :data:`CHANGED_COST` for every change. Pinned moves, moves that follow
    another's part and moves outside the span stay as they are.

    Raises
    ------
    UnknownName
        If there is no such performer.
    """
    who = routine.performer(performer)
    seats = _seats(routine, library, who, span, freed)
    table = _Table(seats, who, routine.grid)
    best = table.best()
    written = table.total([seat.written for seat in seats])
    changed = [
        (seat.move, seat.choices[choice].placement)
        for seat, choice in zip(seats, best.choices, strict=True)
        if choice != seat.written
    ]
    solved = routine
    for move, new in changed:
        solved = edits.change(solved, performer, move.index, new)
    return Solution(
        solved,
        best.cost,
        written,
        tuple((move.placement, new) for move, new in changed),
        tuple(table.boundary(meeting) for meeting in table.meetings(best.choices)),
        table.blocked(),
    )


class _Choice(NamedTuple):
    """One way to do a placed move, with its states at both ends and what it costs by itself."""

    placement: Placement
    enters: Edge
    leaves: Edge
    cost: float


@dataclass(frozen=True, eq=False)
class _Seat:
    """A placed move and the ways to do it; one only where it is held as it is."""

    move: PlacedMove
    choices: tuple[_Choice, ...]
    written: int
    """Which of the choices stands in the routine."""


def _seats(
    routine: Routine, library: Library, who: Performer, span: BeatSpan, freed: Freed
) -> list[_Seat]:
    """The moves of the span and, on each side, the nearest of every hand."""
    moves = performed_part(routine, who.name)
    inside = [index for index, move in enumerate(moves) if span.contains(move.span.start_beat)]
    if not inside:
        return []
    found = []
    for index in _with_neighbours(moves, inside):
        move = moves[index]
        own = move.written_by == who.name and not move.placement.pinned
        try:
            seat = _seat(
                move, library, who, routine.grid, freed if own and index in inside else None
            )
        except (UnknownName, CannotEnter):
            continue
        found.append(seat)
    return found


def _with_neighbours(moves: Sequence[PlacedMove], inside: list[int]) -> list[int]:
    wanted = set(inside)
    for order in (range(inside[0] - 1, -1, -1), range(inside[-1] + 1, len(moves))):
        hands = set(Hand)
        for index in order:
            if hands & set(moves[index].placement.hands):
                wanted.add(index)
                hands -= set(moves[index].placement.hands)
            if not hands:
                break
    return sorted(wanted)


def _seat(
    move: PlacedMove, library: Library, who: Performer, grid: MusicGrid, freed: Freed | None
) -> _Seat:
    written = way_of(move.placement, library, who)
    ways = [written]
    if freed is not None:
        styles = (written.style, *_styles(move.placement.style, freed))
        ways += distinct_ways(move.placement.move, styles, library, who)
    choices: dict[Style, _Choice] = {}
    for way in ways:
        choices.setdefault(way.style, _choice(move.placement, way, who, grid))
    return _Seat(move, tuple(choices.values()), 0)


def _styles(style: Style, freed: Freed) -> Iterator[Style]:
    mirrors = (style.mirrored, not style.mirrored) if freed.mirror else (style.mirrored,)
    relations: tuple[Relation | None, ...] = (style.relation,)
    if freed.relation and style.hand == "both":
        relations = tuple(dict.fromkeys((style.relation, None, *RELATIONS)))
    for mirrored, relation, turns in product(mirrors, relations, freed.turns):
        turned = (style.orientation_turns + turns) % 1
        yield replace(style, mirrored=mirrored, relation=relation, orientation_turns=turned)


def _choice(placement: Placement, way: Way, who: Performer, grid: MusicGrid) -> _Choice:
    chosen = replace(placement, style=way.style)
    beats_s = beat_lengths_s(placement.span, grid)
    cost = comfort_of(way.done, who, placement.rate, beats_s).cost
    cost += CHANGED_COST * changes_of(placement.style, way.style)
    return _Choice(chosen, entered_edge(chosen, way, grid), left_edge(chosen, way, grid), cost)


def changes_of(written: Style, chosen: Style) -> int:
    """How many choices differ from what was written."""
    names = ("entry", "relation", "orientation_turns", "mirrored")
    return sum(getattr(written, name) != getattr(chosen, name) for name in names)


# ------------------------------------------------------------------ going through the moves

_Hands: TypeAlias = tuple[tuple[int, int] | None, ...]
"""For right and left: which seat the hand was last in, and in which of its choices."""


class _Meeting(NamedTuple):
    """Two seats in their choices that follow each other, for some hands."""

    first: tuple[int, int]
    second: tuple[int, int]
    hands: tuple[Hand, ...]


class _Best(NamedTuple):
    cost: float
    choices: tuple[int, ...]


@dataclass(eq=False)
class _Table:
    seats: Sequence[_Seat]
    performer: Performer
    grid: MusicGrid
    _changes: dict[_Meeting, Change] = field(default_factory=dict)

    def best(self) -> _Best:
        """The choices of least total cost, the cheapest beginning kept for each state of hands."""
        kept: dict[_Hands, _Best] = {(None, None): _Best(0.0, ())}
        for number, seat in enumerate(self.seats):
            after: dict[_Hands, _Best] = {}
            for hands, begun in kept.items():
                for choice in range(len(seat.choices)):
                    cost = begun.cost + self.step(hands, number, choice)
                    moved = self.moved(hands, number, choice)
                    if moved not in after or cost < after[moved].cost:
                        after[moved] = _Best(cost, (*begun.choices, choice))
            kept = after
        return min(kept.values(), key=lambda best: best.cost)

    def total(self, choices: Sequence[int]) -> float:
        """The cost of given choices."""
        hands: _Hands = (None, None)
        cost = 0.0
        for number, choice in enumerate(choices):
            cost += self.step(hands, number, choice)
            hands = self.moved(hands, number, choice)
        return cost

    def step(self, hands: _Hands, number: int, choice: int) -> float:
        """What it costs to go on with a choice of a seat."""
        own = self.seats[number].choices[choice].cost
        return own + sum(self.change(m).cost for m in self._into(hands, number, choice))

    def moved(self, hands: _Hands, number: int, choice: int) -> _Hands:
        taken = self.seats[number].move.placement.hands
        return tuple(
            (number, choice) if hand in taken else was
            for hand, was in zip(Hand, hands, strict=True)
        )

    def _into(self, hands: _Hands, number: int, choice: int) -> Iterator[_Meeting]:
        """What meets where a seat is entered; hands that overlap or have rested long are free."""
        placed = self.seats[number].move
        sources: dict[tuple[int, int], list[Hand]] = {}
        for hand, was in zip(Hand, hands, strict=True):
            if was is not None and hand in placed.placement.hands:
                sources.setdefault(was, []).append(hand)
        for was, own in sources.items():
            rest = placed.span.start_beat - self.seats[was[0]].move.span.end_beat
            if 0 <= rest <= LONGEST_REST_BEATS:
                yield _Meeting(was, (number, choice), tuple(own))

    def meetings(self, choices: Sequence[int]) -> Iterator[_Meeting]:
        hands: _Hands = (None, None)
        for number, choice in enumerate(choices):
            yield from self._into(hands, number, choice)
            hands = self.moved(hands, number, choice)

    def change(self, meeting: _Meeting) -> Change:
        known = self._changes.get(meeting)
        if known is None:
            first, second = (
                self.seats[seat].choices[choice] for seat, choice in (meeting.first, meeting.second)
            )
            known = self._changes[meeting] = meet(
                first.leaves,
                second.enters,
                limits_for(self.performer),
                self.grid,
                hands=meeting.hands,
            )
        return known

    def blocked(self) -> Boundary | None:
        """The first boundary where every smooth beginning comes to an end."""
        smooth: set[_Hands] = {(None, None)}
        for number, seat in enumerate(self.seats):
            after: set[_Hands] = set()
            tried: list[_Meeting] = []
            for hands in smooth:
                for choice in range(len(seat.choices)):
                    rough = [
                        meeting
                        for meeting in self._into(hands, number, choice)
                        if self.change(meeting).level is not None
                    ]
                    tried += rough
                    if not rough:
                        after.add(self.moved(hands, number, choice))
            if not after:
                return self.boundary(min(tried, key=lambda meeting: self.change(meeting).cost))
            smooth = after
        return None

    def boundary(self, meeting: _Meeting) -> Boundary:
        before, after = (self.seats[seat].move for seat, _ in (meeting.first, meeting.second))
        found = self.change(meeting)
        hardest = found.hardest
        return Boundary(
            before.span.end_beat,
            (before.placement.move, after.placement.move),
            found.kind,
            found.cost,
            hardest.limit.name if hardest else "",
            hardest.measured if hardest else 0.0,
            hardest.limit.unit if hardest else "",
            hardest.hand if hardest else None,
        )
