"""A free stretch of the timeline, and everything that could stand in it, ready to be compared.

A move that closes ends in the state it began in, so its entry tells how it is left as well: what
could stand in the stretch is a list of ways, and what matters between two of them is one number.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from math import ceil, floor, log2
from typing import NamedTuple

import numpy as np

from composer.arrange.costs import (
    ENDING_COST,
    POINT_COST,
    Ending,
    comfort_of,
    ending_of,
    points_of,
    practised_cost,
    repertoire_cost,
)
from composer.arrange.ways import (
    Edge,
    Neighbour,
    Way,
    distinct_ways,
    entered_edge,
    left_edge,
    meet,
    neighbours,
)
from composer.check.change import Change
from composer.check.demands import demands
from composer.check.hand_change import TimeAllowed
from composer.check.limits import limits_for
from composer.check.physics import beat_lengths_s
from composer.check.transitions import LONGEST_REST_BEATS, time_allowed
from composer.motion.hands import Hand
from composer.motion.kinematics import Floats
from composer.moves.library import Library
from composer.moves.perform import Style
from composer.score.parts import performed_part
from composer.score.repertoire import Repertoire
from composer.score.routine import Performer, Placement, Routine
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid

LONGEST_MOVE_BARS = 4
LENGTHS_TRIED = 3
LENGTH_COST = 0.8
"""For a move twice, or half, as long as two bars."""
ENERGY_COST = 3.0
"""For the calmest of moves in the loudest of phrases, or the other way round."""
HALF = Fraction(1, 2)
STYLES = (Style(), Style(mirrored=True))


class Item(NamedTuple):
    """A way to do a move at a rate, and what it costs wherever it stands in the stretch."""

    way: Way
    rate: Fraction
    cost: float
    head_speed_m_s: float
    """Of both heads in the mean, at their fastest."""
    cycle_beats: Fraction

    @property
    def name(self) -> str:
        return self.way.name


class Lasts(NamedTuple):
    """A length for a move at a beat, and what it costs."""

    end_beat: Fraction
    beats: Fraction
    cost: float


@dataclass(eq=False)
class Stretch:
    """A stretch free of one performer's moves, between those on its left and on its right."""

    routine: Routine
    library: Library
    performer: Performer
    span: BeatSpan
    names: Sequence[str]
    """Moves to choose from."""
    repertoire: Repertoire | None = None
    _times: dict[Fraction | None, TimeAllowed] = field(default_factory=dict)
    _endings: dict[Fraction, float] = field(default_factory=dict)
    _costs: dict[tuple[int, int, Fraction | None], float] = field(default_factory=dict)

    @property
    def grid(self) -> MusicGrid:
        return self.routine.grid

    @cached_property
    def bar_beats(self) -> Fraction:
        """Of the bar in which the stretch begins."""
        meters = self.grid.meter_map
        return meters.bar_length_beats(meters.position(self.span.start_beat).bar)

    # -------------------------------------------------------------- what stands beside it

    @cached_property
    def before(self) -> tuple[Neighbour, ...]:
        """What each hand comes from."""
        last: dict[Hand, Placement] = {}
        for move in performed_part(self.routine, self.performer.name):
            if move.span.end_beat <= self.span.start_beat:
                last |= dict.fromkeys(move.placement.hands, move.placement)
        near = {
            hand: placement
            for hand, placement in last.items()
            if self.span.start_beat - placement.span.end_beat <= LONGEST_REST_BEATS
        }
        return neighbours(near, left_edge, self.library, self.performer, self.grid)

    @cached_property
    def after(self) -> tuple[Neighbour, ...]:
        """What each hand goes on to."""
        first: dict[Hand, Placement] = {}
        for move in reversed(performed_part(self.routine, self.performer.name)):
            if move.span.start_beat >= self.span.end_beat:
                first |= dict.fromkeys(move.placement.hands, move.placement)
        near = {
            hand: placement
            for hand, placement in first.items()
            if placement.span.start_beat - self.span.end_beat <= LONGEST_REST_BEATS
        }
        return neighbours(near, entered_edge, self.library, self.performer, self.grid)

    @cached_property
    def facing_turns(self) -> Fraction:
        beside = (*self.before, *self.after)
        return beside[0].edge.placement.facing_turns if beside else Fraction(0)

    @cached_property
    def _rates(self) -> tuple[Fraction, ...]:
        told = [beside.edge.placement.rate for beside in (*self.before, *self.after)]
        return tuple(dict.fromkeys((*told, Fraction(1))))

    # -------------------------------------------------------------- what could stand in it

    @cached_property
    def items(self) -> tuple[Item, ...]:
        """Every way of every move that is comfortable at some rate here and closes in time."""
        beats_s = beat_lengths_s(self.span, self.grid)
        found: list[Item] = []
        for name in self.names:
            for style in STYLES:
                ways = [
                    way
                    for way in distinct_ways(name, STYLES, self.library, self.performer)
                    if way.style.mirrored is style.mirrored
                ]
                if ways:
                    found += self._at_rates(ways, beats_s)
        return tuple(found)

    def _at_rates(self, ways: Sequence[Way], beats_s: tuple[float, float]) -> list[Item]:
        done = ways[0].done
        for rates in (self._rates, (HALF,)):
            told = [(rate, comfort_of(done, self.performer, rate, beats_s)) for rate in rates]
            fitting = [
                (rate, comfort)
                for rate, comfort in told
                if comfort.is_comfortable
                and done.performance.cycle_beats(rate) <= self.span.length_beats
            ]
            if fitting:
                break
        points = points_of(done, "both")
        return [
            Item(
                way,
                rate,
                comfort.cost + POINT_COST * points + repertoire_cost(self.repertoire, way.name),
                self._head_speed_m_s(way, rate, beats_s),
                done.performance.cycle_beats(rate),
            )
            for rate, comfort in fitting
            for way in ways
        ]

    def _head_speed_m_s(self, way: Way, rate: Fraction, beats_s: tuple[float, float]) -> float:
        cycle = float(way.done.performance.cycle_beats(rate))
        who = self.performer
        told = demands(way.done, who.body, who.props, cycle * beats_s[0], cycle * beats_s[1])
        return sum(demand.head_speed_m_s for demand in told.values()) / len(told)

    @cached_property
    def liveliness(self) -> Floats:
        """Of each item: its rank by the speed of its heads, 0 the calmest, 1 the fastest."""
        speeds = np.round([item.head_speed_m_s for item in self.items], 6)
        levels = np.unique(speeds)
        return np.searchsorted(levels, speeds) / max(len(levels) - 1, 1)

    def standing_costs(self, beat: Fraction) -> Floats:
        """What each item costs that begins at a beat, by itself and against the music's energy."""
        index = self.grid.phrase_index_at(beat)
        own = np.array([item.cost for item in self.items])
        if index is None:
            return own
        off = self.liveliness - self.grid.phrases[index].energy
        return np.asarray(own + ENERGY_COST * off**2)

    def lengths(self, cycle: Fraction, beat: Fraction) -> list[Lasts]:
        """Lengths in which a cycle closes before the stretch ends, the best of them."""
        room = self.span.end_beat - beat
        longest = min(room, LONGEST_MOVE_BARS * self.bar_beats)
        shortest = max(min(room, self.bar_beats), Fraction(1))
        phrase = self._next_phrase(beat)
        found: list[Lasts] = []
        for times in range(ceil(shortest / cycle), floor(longest / cycle) + 1):
            beats = times * cycle
            end_beat = beat + beats
            over = phrase is not None and end_beat > phrase
            cost = ENDING_COST[Ending.OVER] if over else self._ending_cost(end_beat)
            cost += LENGTH_COST * abs(log2(beats / (2 * self.bar_beats)))
            found.append(Lasts(end_beat, beats, cost))
        found.sort(key=lambda lasts: lasts.cost)
        return found[:LENGTHS_TRIED]

    def _next_phrase(self, beat: Fraction) -> Fraction | None:
        starts = (phrase.start_beat for phrase in self.grid.phrases)
        return next((start for start in starts if start > beat), None)

    def _ending_cost(self, end_beat: Fraction) -> float:
        """What it costs to end there, whatever begins before it; the stretch's end is given."""
        if end_beat == self.span.end_beat:
            return 0.0
        known = self._endings.get(end_beat)
        if known is None:
            ending = ending_of(BeatSpan(end_beat - 1, Fraction(1)), self.grid)
            known = self._endings[end_beat] = ENDING_COST[ending]
        return known

    # -------------------------------------------------------------- from one into another

    def cost_between(self, first: int, second: int, beat: Fraction) -> float:
        """What it costs to go from one item, closed, into another at a beat."""
        at = self._tempo_key(beat)
        known = self._costs.get((first, second, at))
        if known is None:
            change = self._meet(self.leaving(first, beat), self.entering(second, beat), at)
            names = self.items[first].name, self.items[second].name
            known = change.cost + practised_cost(self.repertoire, *names)
            self._costs[first, second, at] = known
        return known

    def _meet(self, before: Edge, after: Edge, at: Fraction | None) -> Change:
        time = self._times.get(at)
        if time is None:
            time = time_allowed(before.placement, after.placement, self.grid)
            self._times[at] = time
        return meet(before, after, limits_for(self.performer), self.grid, time=time)

    def cost_from_before(self, item: int) -> float:
        after = self.entering(item, self.span.start_beat)
        limits = limits_for(self.performer)
        return sum(
            meet(beside.edge, after, limits, self.grid, hands=beside.hands).cost
            for beside in self.before
        )

    def cost_into_after(self, item: int) -> float:
        before = self.leaving(item, self.span.end_beat)
        limits = limits_for(self.performer)
        return sum(
            meet(before, beside.edge, limits, self.grid, hands=beside.hands).cost
            for beside in self.after
        )

    def entering(self, number: int, beat: Fraction) -> Edge:
        """The states in which an item begins at a beat."""
        item = self.items[number]
        placement = item.way.placed(_long_enough(beat, item), item.rate, self.facing_turns)
        return entered_edge(placement, item.way, self.grid)

    def leaving(self, number: int, beat: Fraction) -> Edge:
        """The states in which an item ends, closed, at a beat."""
        item = self.items[number]
        span = _long_enough(beat, item)
        placement = item.way.placed(span.shifted(-span.length_beats), item.rate, self.facing_turns)
        return left_edge(placement, item.way, self.grid)

    def _tempo_key(self, beat: Fraction) -> Fraction | None:
        """None for every beat where the tempo is steady, so that nothing is compared twice."""
        return None if self._is_steady else beat

    @cached_property
    def _is_steady(self) -> bool:
        return self.grid.tempo_map.is_steady


def _long_enough(beat: Fraction, item: Item) -> BeatSpan:
    """Whole cycles from a beat on, a beat at the least: the change has half a beat of it."""
    cycle = item.cycle_beats
    return BeatSpan(beat, cycle * ceil(1 / cycle))
