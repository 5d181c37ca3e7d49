"""Ways between highlights: whole fillings for a free stretch between two placed moves.

A beam search from the left end: at every beat on which moves may end, the best beginnings that
got there are kept, not too many of which begin or end alike, and each is carried on by the ways
nearest to the state it left, in the lengths that suit. Every filling that is given was checked in
place with both neighbours. Nothing that is placed is touched, pinned or not.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from math import ceil
from typing import NamedTuple

import numpy as np

from composer.arrange import edits
from composer.arrange.effect import effect
from composer.arrange.place import LATELY_MOVES
from composer.arrange.stretch import Lasts, Stretch
from composer.arrange.ways import Edge
from composer.check.findings import Finding, Level
from composer.check.limits import limits_for
from composer.check.moment import TAU, Moment
from composer.errors import ComposerError
from composer.motion.hands import Hand
from composer.motion.kinematics import Floats
from composer.moves.library import Library
from composer.score.parts import performed_part
from composer.score.repertoire import Repertoire
from composer.score.routine import Placement, Routine
from composer.timing.beats import BeatSpan, beats_words

MOST_BARS = 16
BEAM = 15
"""Beginnings kept that end with a bar; inside a bar a third of them."""
ALIKE = 2
"""Of those kept, so many may begin with one move, and so many end with one."""
NEAREST = 24
"""So many ways are compared exactly from each state, those that lead on from it best."""
AGAIN_COST = 3.0
"""For a move that the filling has already; half of that if it is seen shortly before or after."""
AHEAD = 3
"""So many moves before the end of the stretch, what stands behind it begins to count."""
MOST_CHECKED = 24
NOTHING_PLACED = "nothing is placed"
"""What is free after the stretch was so before."""
FEWEST_MOVES = 4
"""A repertoire of fewer moves than this is eked out with the rest of the library."""


@dataclass(frozen=True, slots=True)
class Filling:
    """Moves that fill the stretch, tried in place."""

    placements: tuple[Placement, ...]
    routine: Routine
    """With the filling in it."""
    cost: float
    removes: tuple[Finding, ...]
    adds: tuple[Finding, ...]
    """What the filling itself is found to do, and what comes at its two ends."""

    @property
    def words(self) -> str:
        """``"static spin for 8 beats, diamond for 12 beats"``."""
        return ", ".join(
            f"{one.move} for {beats_words(one.span.length_beats)}" for one in self.placements
        )

    @property
    def is_clean(self) -> bool:
        """Whether it brings nothing graver than a note."""
        return all(finding.level < Level.WARNING for finding in self.adds)


def fillings(
    routine: Routine,
    library: Library,
    performer: str,
    span: BeatSpan,
    *,
    repertoire: Repertoire | None = None,
    count: int = 6,
) -> tuple[Filling, ...]:
    """Different whole fillings of a free stretch for both hands, the best first.

    With a repertoire they are made of its moves; of the whole library where too few come of it.

    Raises
    ------
    UnknownName
        If there is no such performer.
    ComposerError
        If the stretch is longer than 16 bars or something is placed in it.
    """
    _refuse_unfit(routine, performer, span)
    who = routine.performer(performer)
    names = library.names()
    own = [name for name in names if repertoire is not None and repertoire.of_move(name)]
    found: list[Filling] = []
    for pool in ([own] if len(own) >= FEWEST_MOVES else []) + [list(names)]:
        stretch = Stretch(routine, library, who, span, pool, repertoire)
        found = _checked(stretch, _Search(stretch).run(), count - len(found), found)
        if len(found) >= count:
            break
    return tuple(found)


def _refuse_unfit(routine: Routine, performer: str, span: BeatSpan) -> None:
    meters = routine.grid.meter_map
    bars = meters.position(span.end_beat).bar - meters.position(span.start_beat).bar
    if bars > MOST_BARS:
        raise ComposerError(
            f"{bars} bars are too long to fill at once; fill {MOST_BARS} bars or fewer"
        )
    for move in performed_part(routine, performer):
        if move.span.intersects(span):
            place = routine.grid.place_text(move.span.start_beat)
            raise ComposerError(
                f"{move.placement.move} stands there, from {place}; fill a stretch that is free"
            )


# ------------------------------------------------------------------ the search


class _Begun(NamedTuple):
    """Moves from the start of the stretch to a beat."""

    cost: float
    item: int
    beats: Fraction
    """Length of the last move."""
    names: frozenset[str]
    first: str
    so_far: "_Begun | None"

    def moves(self) -> Iterator[tuple[int, Fraction]]:
        """Items and their lengths, in time order."""
        if self.so_far is not None:
            yield from self.so_far.moves()
        yield self.item, self.beats


@dataclass(eq=False)
class _At:
    """A beat on which moves of the filling may begin."""

    stretch: Stretch
    beat: Fraction
    _lengths: dict[Fraction, list[Lasts]] = field(default_factory=dict)

    @cached_property
    def standing_costs(self) -> list[float]:
        costs: list[float] = self.stretch.standing_costs(self.beat).tolist()
        return costs

    def lengths(self, number: int) -> list[Lasts]:
        """In which an item can be done from here on."""
        cycle = self.stretch.items[number].cycle_beats
        known = self._lengths.get(cycle)
        if known is None:
            known = self._lengths[cycle] = self.stretch.lengths(cycle, self.beat)
        return known


@dataclass(eq=False)
class _Search:
    stretch: Stretch
    _nearest: dict[tuple[int, int], list[int]] = field(default_factory=dict)

    def run(self) -> list[_Begun]:
        """Whole fillings, the cheapest first."""
        stretch = self.stretch
        waiting: dict[Fraction, list[_Begun]] = {}
        self._begin(waiting)
        whole: list[_Begun] = []
        while waiting:
            beat = min(waiting)
            begun = waiting.pop(beat)
            if beat == stretch.span.end_beat:
                whole = [
                    one._replace(cost=one.cost + stretch.cost_into_after(one.item)) for one in begun
                ]
                continue
            at = _At(stretch, beat)
            for one in self._kept(begun, beat):
                self._carry_on(one, at, waiting)
        return sorted(whole, key=lambda one: one.cost)

    @cached_property
    def _near(self) -> frozenset[str]:
        """The moves that were seen a moment ago, and those that are seen soon after."""
        stretch, span = self.stretch, self.stretch.span
        moves = performed_part(stretch.routine, stretch.performer.name)
        before = [m.placement.move for m in moves if m.span.start_beat < span.start_beat]
        after = [m.placement.move for m in moves if m.span.start_beat >= span.end_beat]
        known = stretch.library.names()
        return frozenset(
            stretch.library.get(name).name
            for name in (*before[-LATELY_MOVES:], *after[:LATELY_MOVES])
            if name in known
        )

    def _begin(self, waiting: dict[Fraction, list[_Begun]]) -> None:
        at = _At(self.stretch, self.stretch.span.start_beat)
        for number, own in enumerate(at.standing_costs):
            self._add(waiting, at, None, number, own + self.stretch.cost_from_before(number))

    def _carry_on(self, begun: _Begun, at: _At, waiting: dict[Fraction, list[_Begun]]) -> None:
        last = self.stretch.items[begun.item].name
        for number in self._nearest_to(begun.item, self._moves_left(at.beat) - 1):
            if self.stretch.items[number].name != last:
                cost = begun.cost + at.standing_costs[number]
                cost += self.stretch.cost_between(begun.item, number, at.beat)
                self._add(waiting, at, begun, number, cost)

    def _add(
        self,
        waiting: dict[Fraction, list[_Begun]],
        at: _At,
        begun: _Begun | None,
        number: int,
        cost: float,
    ) -> None:
        name = self.stretch.items[number].name
        names = begun.names if begun else frozenset()
        if name in names:
            cost += AGAIN_COST
        elif name in self._near:
            cost += AGAIN_COST / 2
        names |= {name}
        first = begun.first if begun else name
        for lasts in at.lengths(number):
            longer = _Begun(cost + lasts.cost, number, lasts.beats, names, first, begun)
            waiting.setdefault(lasts.end_beat, []).append(longer)

    def _kept(self, begun: list[_Begun], beat: Fraction) -> Iterator[_Begun]:
        """The best of those that came to a beat, not too many alike."""
        room = BEAM if self.stretch.grid.meter_map.is_downbeat(beat) else -(-BEAM // 3)
        firsts: Counter[str] = Counter()
        lasts: Counter[str] = Counter()
        to_go = self._to_go[self._moves_left(beat)]
        for one in sorted(begun, key=lambda one: one.cost + to_go[one.item]):
            last = self.stretch.items[one.item].name
            if firsts[one.first] < ALIKE and lasts[last] < ALIKE:
                firsts[one.first] += 1
                lasts[last] += 1
                yield one
                room -= 1
            if not room:
                return

    # -------------------------------------------------------------- which ways lead on

    def _moves_left(self, beat: Fraction) -> int:
        """How many moves of two bars come between a beat and the end; none is looked at further
        ahead than :data:`AHEAD`."""
        left = (self.stretch.span.end_beat - beat) / (2 * self.stretch.bar_beats)
        return min(AHEAD, max(1, ceil(left)))

    def _nearest_to(self, number: int, moves_left: int) -> list[int]:
        """Items that an item, closed, goes over into with least trouble from there to the end."""
        known = self._nearest.get((number, moves_left))
        if known is None:
            trouble = self._apart[number] + self._to_go[moves_left]
            few = np.argpartition(trouble, min(NEAREST, len(trouble) - 1))[:NEAREST]
            known = self._nearest[number, moves_left] = few.tolist()
        return known

    @cached_property
    def _to_go(self) -> list[Floats]:
        """For so many moves more: what it costs at the least, from each item, to come through them
        into what stands behind the stretch. Changes between moves are taken from their states."""
        stretch = self.stretch
        numbers = range(len(stretch.items))
        costs = [np.array([stretch.cost_into_after(number) for number in numbers])]
        for _ in range(AHEAD):
            further = self._apart + costs[-1]
            costs.append(further.min(axis=1) if stretch.after else np.zeros(len(numbers)))
        return costs

    @cached_property
    def _apart(self) -> Floats:
        """About what it costs to go from each item, closed, into each other."""
        left, entered = self._states
        squares = np.square(left).sum(axis=1)[:, None] + np.square(entered).sum(axis=1)
        return np.asarray(np.maximum(squares - 2 * left @ entered.T, 0.0))

    @cached_property
    def _states(self) -> tuple[Floats, Floats]:
        """Of every item the states it leaves and enters, each shape=(items, numbers)."""
        stretch, beat = self.stretch, self.stretch.span.start_beat
        numbers = range(len(stretch.items))
        left = np.array([_numbers(stretch.leaving(number, beat), stretch) for number in numbers])
        entered = np.array(
            [_numbers(stretch.entering(number, beat), stretch) for number in numbers]
        )
        return left, entered


def _numbers(edge: Edge, stretch: Stretch) -> list[float]:
    """A state as numbers whose squared differences are about as large as the cost of a change.

    Each is held against where its limit begins to note: the way of a hand by its speed, its change
    of velocity, the tether's direction, the spin.
    """
    beat_s = 60 / stretch.grid.tempo_map.bpm_at(stretch.span.start_beat)
    limits = limits_for(stretch.performer)
    weights = (
        1.875 / (beat_s * limits["hand way"].note),
        1 / (beat_s * limits["hand turn-back"].note),
        1 / (TAU * limits["tether catch-up"].note),
        TAU * stretch.performer.right_prop.length_m / 2 / limits["head turn-round"].warning,
    )
    return [number for hand in Hand for number in _of_hand(edge.moments[hand], weights)]


def _of_hand(moment: Moment, weights: Sequence[float]) -> Iterator[float]:
    parts = (moment.hand_m, moment.hand_velocity, moment.tether, moment.spin)
    for part, weight in zip(parts, weights, strict=True):
        for number in part:
            yield weight * number


# ------------------------------------------------------------------ what is given


MOST_ALIKE = (0.5, 0.75, 0.99)
"""Shares of the stretch in which two fillings may do the same move; wider where too few differ."""


def _checked(
    stretch: Stretch, whole: Sequence[_Begun], count: int, given: list[Filling]
) -> list[Filling]:
    """The best that differ, each tried in place; those that bring a warning only if need be."""
    clean = list(given)
    rough: list[Filling] = []
    tried: set[int] = set()
    for most_alike in MOST_ALIKE:
        for number, one in enumerate(whole):
            if len(clean) - len(given) >= count or len(tried) >= MOST_CHECKED:
                break
            placements = _placed(stretch, one)
            if number in tried or any(
                _alike(placements, other.placements, stretch.span) > most_alike for other in clean
            ):
                continue
            tried.add(number)
            filling = _in_place(stretch, placements, one.cost)
            (clean if filling.is_clean else rough).append(filling)
    rough.sort(key=lambda filling: (max(finding.level for finding in filling.adds), filling.cost))
    return [*clean, *rough][: len(given) + count]


def _placed(stretch: Stretch, whole: _Begun) -> tuple[Placement, ...]:
    placements = []
    beat = stretch.span.start_beat
    for number, beats in whole.moves():
        item = stretch.items[number]
        span = BeatSpan(beat, beats)
        placements.append(item.way.placed(span, item.rate, stretch.facing_turns))
        beat = span.end_beat
    return tuple(placements)


def _alike(some: Sequence[Placement], others: Sequence[Placement], span: BeatSpan) -> float:
    """Share of the stretch in which both do the same move."""
    shared = Fraction(0)
    for one in some:
        for other in others:
            if one.move == other.move and one.span.intersects(other.span):
                start = max(one.span.start_beat, other.span.start_beat)
                shared += min(one.span.end_beat, other.span.end_beat) - start
    return float(shared / span.length_beats)


def _in_place(stretch: Stretch, placements: tuple[Placement, ...], cost: float) -> Filling:
    filled = stretch.routine
    for placement in placements:
        filled = edits.place(filled, stretch.performer.name, placement)
    found = effect(stretch.routine, filled, stretch.library)
    after = stretch.span.end_beat
    adds = tuple(f for f in found.adds if not (f.rule == NOTHING_PLACED and f.beat == after))
    return Filling(placements, filled, cost, found.removes, adds)
