"""Where everybody is at any beat: spots, the ways between them, and which way each one faces.

Metres from the middle of the front edge: x to the right of a performer who faces the audience, y
upstage. Between two spots a performer walks straight and evenly, beat for beat.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, lru_cache
from itertools import pairwise
from math import hypot, inf
from typing import NamedTuple

from composer.score.routine import Performer, Routine, Spot
from composer.score.same import Same
from composer.timing.beats import BeatSpan


class Place(NamedTuple):
    """A place on the floor, in metres."""

    x_m: float
    y_m: float

    def distance_m(self, other: "Place") -> float:
        return hypot(self.x_m - other.x_m, self.y_m - other.y_m)

    def towards(self, other: "Place", share: float) -> "Place":
        """The place a share of the straight way to another one."""
        return Place(
            self.x_m + share * (other.x_m - self.x_m), self.y_m + share * (other.y_m - self.y_m)
        )


@dataclass(frozen=True, slots=True)
class Stretch:
    """Somebody stands still or walks straight over these beats; ``None`` for ever, that way.

    She turns from the one facing to the other by the shorter way while she walks.
    """

    start_beat: Fraction | None
    end_beat: Fraction | None
    start: Place
    end: Place
    start_facing_turns: Fraction
    end_facing_turns: Fraction

    @property
    def walks(self) -> bool:
        return self.start != self.end

    @property
    def span(self) -> BeatSpan | None:
        """None where it has no beginning or no end."""
        if self.start_beat is None or self.end_beat is None:
            return None
        return BeatSpan(self.start_beat, self.end_beat - self.start_beat)

    def share_at(self, beat: Fraction | float) -> float:
        """How much of the stretch has passed at a beat; 0 where she stands still for ever."""
        if self.start_beat is None or self.end_beat is None:
            return 0.0
        return float((beat - self.start_beat) / (self.end_beat - self.start_beat))

    def place_at(self, beat: Fraction | float) -> Place:
        return self.start.towards(self.end, self.share_at(beat)) if self.walks else self.start

    def facing_at(self, beat: Fraction) -> Fraction:
        span = self.span
        if self.start_facing_turns == self.end_facing_turns or span is None:
            return self.start_facing_turns
        way = _shorter_way(self.start_facing_turns, self.end_facing_turns)
        return (self.start_facing_turns + way * (beat - span.start_beat) / span.length_beats) % 1


def _shorter_way(start: Fraction, end: Fraction) -> Fraction:
    """Turns from one facing to another, from -1/2 to 1/2; half a turn goes to the left."""
    way = (end - start) % 1
    return way - 1 if way > Fraction(1, 2) else way


class Piece(NamedTuple):
    """A stretch in floats, for geometry; its ends may be infinite."""

    start_beat: float
    end_beat: float
    start: Place
    end: Place
    walks: bool

    def place_at(self, beat: float) -> Place:
        if not self.walks:
            return self.start
        share = (beat - self.start_beat) / (self.end_beat - self.start_beat)
        return self.start.towards(self.end, share)


@dataclass(frozen=True)
class Way:
    """One performer's spots and her stretches over the whole piece, without a gap."""

    performer: str
    spots: tuple[Spot, ...]
    stretches: tuple[Stretch, ...]

    @cached_property
    def pieces(self) -> tuple[Piece, ...]:
        return tuple(
            Piece(
                -inf if one.start_beat is None else float(one.start_beat),
                inf if one.end_beat is None else float(one.end_beat),
                one.start,
                one.end,
                one.walks,
            )
            for one in self.stretches
        )

    @cached_property
    def _starts(self) -> list[Fraction]:
        return [s.start_beat for s in self.stretches[1:] if s.start_beat is not None]

    def stretch_at(self, beat: Fraction) -> Stretch:
        """The stretch a beat belongs to; on a beat where one ends, the one that begins."""
        return self.stretches[bisect_right(self._starts, beat)]

    def place_at(self, beat: Fraction) -> Place:
        return self.stretch_at(beat).place_at(beat)

    def walk_to(self, beat: Fraction) -> Stretch | None:
        """The walk that is under way on a beat, or that ends on it."""
        index = bisect_left(self._starts, beat)
        return self.stretches[index] if self.stretches[index].walks else None

    @property
    def edges(self) -> list[Fraction]:
        """The beats on which a stretch ends and the next begins."""
        return self._starts


@dataclass(frozen=True, slots=True)
class Standing:
    """One performer at one beat."""

    performer: str
    place: Place
    facing_turns: Fraction
    """Where her spot has her face; 0 to the audience, counter-clockwise seen from above."""
    walks_to: Place | None = None
    """Where she is going, if she walks."""


def ways(routine: Routine) -> dict[str, Way]:
    """The way of everybody who has a spot, in the order of the performers.

    Before her first spot and after her last a performer stays there. Who is still on the way to
    one spot when she should leave for the next leaves late: on the beat of the one before.
    """
    names = tuple(performer.name for performer in routine.performers)
    return dict(_ways(Same(routine.spots), names))


@lru_cache(maxsize=64)
def _ways(spots: Same[tuple[Spot, ...]], names: tuple[str, ...]) -> tuple[tuple[str, Way], ...]:
    owned = ((name, tuple(spots_of(spots.value, name))) for name in names)
    return tuple((name, _way(name, own)) for name, own in owned if own)


@lru_cache(maxsize=1_000)
def _way(name: str, spots: tuple[Spot, ...]) -> Way:
    """One object for equal spots, so that what is known of a way is kept through edits."""
    return Way(name, spots, tuple(_stretches(spots)))


def spots_of(spots: tuple[Spot, ...], performer: str) -> list[Spot]:
    """A performer's spots in time order; of two on one beat the later written counts."""
    by_beat = {spot.beat: spot for spot in spots if spot.performer == performer}
    return [by_beat[beat] for beat in sorted(by_beat)]


def spot_place(spot: Spot) -> Place:
    return Place(spot.x_m, spot.y_m)


def leaves_at(spot: Spot, before: Spot) -> Fraction:
    """The beat on which a performer leaves one spot for the next."""
    return max(spot.beat - max(spot.travel_beats, Fraction(0)), before.beat)


def _stretches(spots: tuple[Spot, ...]) -> Iterator[Stretch]:
    since: Fraction | None = None
    for before, spot in pairwise(spots):
        leaves = leaves_at(spot, before)
        if since is None or since < leaves:
            yield _stretch(since, leaves, before, before)
        if leaves < spot.beat:
            yield _stretch(leaves, spot.beat, before, spot)
        since = spot.beat
    yield _stretch(since, None, spots[-1], spots[-1])


def _stretch(start: Fraction | None, end: Fraction | None, one: Spot, other: Spot) -> Stretch:
    facings = one.facing_turns % 1, other.facing_turns % 1
    return Stretch(start, end, spot_place(one), spot_place(other), *facings)


def standings(routine: Routine, beat: Fraction) -> tuple[Standing, ...]:
    """Everybody who has a spot, where she is at a beat."""
    found = []
    for name, way in ways(routine).items():
        stretch = way.stretch_at(beat)
        goal = stretch.end if stretch.walks else None
        facing = stretch.facing_at(beat) % 1
        found.append(Standing(name, stretch.place_at(beat), facing, goal))
    return tuple(found)


def reach_m(performer: Performer) -> float:
    """Radius of the circle she can reach: arm, prop and head, of the longer of her two props."""
    return performer.body.arm_m + max(
        prop.length_m + prop.head_radius_m for prop in performer.props
    )
