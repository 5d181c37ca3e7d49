"""The ways to do a move, and what happens where one placed move meets the next.

A way is a style with one of its entries. All entries of a style share one performance, begun at
another of its downbeats, so that a whole library is compared without performing each entry.
"""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from math import cos, pi, sin
from typing import NamedTuple, TypeAlias

import numpy as np

from composer.check.change import Change, change
from composer.check.hand_change import TimeAllowed
from composer.check.limits import Limit
from composer.check.moment import Moment, Side, Vector, moment
from composer.check.performed import CannotEnter, Performed, performed
from composer.check.transitions import time_allowed
from composer.errors import UnknownName
from composer.motion.hands import Hand
from composer.moves.library import Library
from composer.moves.perform import Style
from composer.score.routine import Performer, Placement
from composer.score.same import Same
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid


@dataclass(frozen=True, eq=False)
class Way:
    """A move in one style, entered on one of its downbeats."""

    name: str
    style: Style
    done: Performed
    """The move in this style entered on its first downbeat."""
    share: Fraction
    """Of the common cycle of ``done`` that has passed where this entry begins."""

    def placed(self, span: BeatSpan, rate: Fraction, facing_turns: Fraction) -> Placement:
        return Placement(span, self.name, rate, self.style, facing_turns)

    def share_after(self, beats: Fraction, rate: Fraction) -> Fraction:
        """Share of the common cycle of ``done`` reached so many beats after this entry."""
        return (self.share + beats / self.done.performance.cycle_beats(rate)) % 1


def ways_of(
    name: str, styles: Collection[Style], library: Library, performer: Performer
) -> tuple[Way, ...]:
    """Every entry of a move in each of the styles, whose own entries do not count.

    A style in which this body cannot do the move gives none.
    """
    found: list[Way] = []
    for style in styles:
        trial = Placement(_ANY_SPAN, name, style=replace(style, entry=1))
        try:
            done = performed(trial, performer, library)
        except CannotEnter:
            continue
        found += _entries(name, trial.style, done)
    return tuple(found)


def distinct_ways(
    name: str, styles: tuple[Style, ...], library: Library, performer: Performer
) -> tuple[Way, ...]:
    """The ways of :func:`ways_of` without those that are the motion of an earlier one."""
    return _distinct_ways(Same(library), name, styles, Same(performer))


@lru_cache(maxsize=5_000)
def _distinct_ways(
    library: Same[Library], name: str, styles: tuple[Style, ...], performer: Same[Performer]
) -> tuple[Way, ...]:
    found: dict[tuple[bytes, ...], Way] = {}
    for way in ways_of(name, styles, library.value, performer.value):
        found.setdefault(_motion_key(way), way)
    return tuple(found.values())


_SHARES = np.arange(7) / 7
"""Seven instants tell ways apart: no figure of the trade is the same after a seventh."""


def _motion_key(way: Way) -> tuple[bytes, ...]:
    """Where hands and heads are through the cycle, to a tenth of a millimetre."""
    performance = way.done.performance
    places = [
        performance.room_places_m(hand, float(way.share) + _SHARES)
        for hand in sorted(way.done.hands)
    ]
    return tuple((np.rint(array * 1e4) + 0.0).tobytes() for pair in places for array in pair)


def way_of(placement: Placement, library: Library, performer: Performer) -> Way:
    """The way in which a placed move is done.

    Raises
    ------
    UnknownName, CannotEnter
        If the move is not in the library or cannot be performed as placed.
    """
    entry = placement.style.entry
    ways = ways_of(placement.move, (placement.style,), library, performer)
    if entry > len(ways):
        performed(placement, performer, library)  # says what is wrong
    return ways[entry - 1]


_ANY_SPAN = BeatSpan(Fraction(0), Fraction(1))


@lru_cache(maxsize=5_000)
def _entries(name: str, style: Style, done: Performed) -> tuple[Way, ...]:
    return tuple(
        Way(name, replace(style, entry=entry), done, share)
        for entry, share in enumerate(entry_shares(done), 1)
    )


def entry_shares(done: Performed) -> tuple[Fraction, ...]:
    """Shares of the common cycle at which a move performed from its entry 1 can be entered.

    They are the downbeats of the busier hand, of the first part's where both have as many; the
    performance begins on the first of them.
    """
    tracks = done.performance.tracks.values()
    return max((track.downbeats for track in tracks), key=len) or (Fraction(0),)


# ------------------------------------------------------------------ where two moves meet


@dataclass(frozen=True, eq=False)
class Edge:
    """A placed move as one side of a boundary, with the state of each hand there."""

    placement: Placement
    moments: Mapping[Hand, Moment]


class Neighbour(NamedTuple):
    """A move beside a place, the states it has there, and for which hands it is the nearest."""

    edge: Edge
    way: Way
    hands: tuple[Hand, ...]


EdgeOf: TypeAlias = Callable[[Placement, Way, MusicGrid], Edge]


def neighbours(
    nearest: Mapping[Hand, Placement],
    edge_of: EdgeOf,
    library: Library,
    performer: Performer,
    grid: MusicGrid,
) -> tuple[Neighbour, ...]:
    """The moves nearest to a place, each once; those that cannot be performed lead nowhere.

    ``edge_of`` is :func:`left_edge` for moves before the place, :func:`entered_edge` after it.
    """
    hands: dict[int, list[Hand]] = {}
    placements = {id(placement): placement for placement in nearest.values()}
    for hand, placement in nearest.items():
        hands.setdefault(id(placement), []).append(hand)
    found = []
    for key, placement in placements.items():
        try:
            way = way_of(placement, library, performer)
        except (UnknownName, CannotEnter):
            continue
        found.append(Neighbour(edge_of(placement, way, grid), way, tuple(hands[key])))
    return tuple(found)


def left_edge(placement: Placement, way: Way, grid: MusicGrid) -> Edge:
    """The states a placed move leaves at its end."""
    passed = way.share_after(placement.span.length_beats, placement.rate)
    beat_s = _beat_s_before(placement.span.end_beat, Same(grid))
    return Edge(placement, _moments(way.done, passed, placement, beat_s, "before"))


def entered_edge(placement: Placement, way: Way, grid: MusicGrid) -> Edge:
    """The states a placed move enters at its start."""
    beat_s = _beat_s_after(placement.span.start_beat, Same(grid))
    return Edge(placement, _moments(way.done, way.share, placement, beat_s, "after"))


def _moments(
    done: Performed, passed: Fraction, placement: Placement, beat_s: float, side: Side
) -> dict[Hand, Moment]:
    cycle_s = float(done.performance.cycle_beats(placement.rate)) * beat_s
    facing = placement.facing_turns
    return {hand: moment(done, hand, passed, facing, cycle_s, side) for hand in done.hands}


@lru_cache(maxsize=20_000)
def _beat_s_before(beat: Fraction, grid: Same[MusicGrid]) -> float:
    """Seconds a beat lasts just before a beat: a knot may stand on it."""
    return 60 / grid.value.tempo_map.bpm_at(beat - Fraction(1, 1000))


@lru_cache(maxsize=20_000)
def _beat_s_after(beat: Fraction, grid: Same[MusicGrid]) -> float:
    return 60 / grid.value.tempo_map.bpm_at(beat)


def meet(
    before: Edge,
    after: Edge,
    limits: Mapping[str, Limit],
    grid: MusicGrid,
    *,
    hands: Collection[Hand] = tuple(Hand),
    time: TimeAllowed | None = None,
) -> Change:
    """What both sides of a boundary differ in, judged as :func:`transition` judges it.

    ``time`` is given where many are compared that have the same.
    """
    first, second = before.placement, after.placement
    moments = {
        hand: (one, after.moments[hand])
        for hand, one in before.moments.items()
        if hand in after.moments and hand in hands
    }
    return change(
        moments,
        time or time_allowed(first, second, grid),
        float(second.facing_turns - first.facing_turns),
        limits,
        across=(_across(first.facing_turns), _across(second.facing_turns)),
    )


@lru_cache(maxsize=1_000)
def _across(facing_turns: Fraction) -> Vector:
    angle = 2 * pi * float(facing_turns)
    return cos(angle), sin(angle), 0.0
