"""How near people come to each other, to edges and to obstacles: exact on every straight stretch.

Two who each walk straight and evenly, or stand, move straight against each other, so the square of
their distance is a parabola in time: its lowest point and where it crosses a level are solved for,
nothing is sampled.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import combinations
from math import hypot, sqrt
from typing import NamedTuple

from composer.check.limits import LIMITS, Limit
from composer.score.floor import Piece, Place, Stretch, Way, reach_m
from composer.score.routine import Performer, Stage
from composer.score.same import Same
from composer.timing.beats import BeatSpan

ROUNDING_M = 0.005
"""Half a centimetre: places are written to the centimetre."""


class Nearest(NamedTuple):
    """When two are nearest to each other, and how near."""

    beat: float
    distance_m: float


@dataclass(frozen=True, slots=True)
class Nearness:
    """A time, without a break, through which a distance stays below a level."""

    start_beat: float
    end_beat: float
    nearest: Nearest
    walking: bool
    """Whether anybody walks when it is least."""


class Side(NamedTuple):
    """A time through which two move straight against each other."""

    start_beat: float
    end_beat: float
    start: Place
    end: Place
    """The other as seen from the one, at both ends."""
    walking: bool


def closest_approach(start: Place, end: Place) -> tuple[float, float]:
    """Share of a straight stretch at which it is nearest to (0, 0), and that distance in metres."""
    way_x, way_y = end.x_m - start.x_m, end.y_m - start.y_m
    length = way_x * way_x + way_y * way_y
    if length == 0:
        return 0.0, hypot(*start)
    share = -(start.x_m * way_x + start.y_m * way_y) / length
    share = min(1.0, max(0.0, share))
    return share, hypot(*start.towards(end, share))


def shares_within(start: Place, end: Place, level_m: float) -> tuple[float, float] | None:
    """From which share to which a straight stretch is nearer to (0, 0) than a level, if ever."""
    way_x, way_y = end.x_m - start.x_m, end.y_m - start.y_m
    a = way_x * way_x + way_y * way_y
    b = start.x_m * way_x + start.y_m * way_y
    c = start.x_m**2 + start.y_m**2 - level_m**2
    if a == 0:
        return (0.0, 1.0) if c < 0 else None
    inside = b * b - a * c
    if inside <= 0:
        return None
    low, high = (-b - sqrt(inside)) / a, (-b + sqrt(inside)) / a
    low, high = max(0.0, low), min(1.0, high)
    return (low, high) if low < high else None


def together(one: Way, other: Way, span: BeatSpan) -> Iterator[tuple[float, float, Piece, Piece]]:
    """The times of a span through which neither begins another stretch, with both stretches."""
    at, last = float(span.start_beat), float(span.end_beat)
    here, there = iter(one.pieces), iter(other.pieces)
    mine, hers = next(here), next(there)
    while at < last:
        until = min(mine.end_beat, hers.end_beat, last)
        if until > at:
            yield at, until, mine, hers
            at = until
        if at < last:
            mine = next(here) if mine.end_beat <= at else mine
            hers = next(there) if hers.end_beat <= at else hers


def exact_beat(beat: float) -> Fraction:
    """The beat that a float stands for: those of routines have denominators far below a million."""
    return Fraction(beat).limit_denominator(1_000_000)


def sides(one: Way, other: Way, span: BeatSpan) -> Iterator[Side]:
    """The same with the other as seen from the one."""
    for start, end, mine, hers in together(one, other, span):
        yield Side(
            start,
            end,
            _seen_from(mine.place_at(start), hers.place_at(start)),
            _seen_from(mine.place_at(end), hers.place_at(end)),
            mine.walks or hers.walks,
        )


def _seen_from(one: Place, other: Place) -> Place:
    return Place(other.x_m - one.x_m, other.y_m - one.y_m)


def _nearest_on(side: Side) -> Nearest:
    share, distance = closest_approach(side.start, side.end)
    return Nearest(_beat_on(side, share), distance)


def _beat_on(side: Side, share: float) -> float:
    return side.start_beat + share * (side.end_beat - side.start_beat)


def times_nearer(one: Way, other: Way, level_m: float, span: BeatSpan) -> tuple[Nearness, ...]:
    """Every time through which two are nearer to each other than a level, with the nearest of it.

    ``level_m`` is measured from middle to middle.
    """
    return _times_nearer(Same(one), Same(other), level_m, span)


@lru_cache(maxsize=4_000)
def _times_nearer(
    one: Same[Way], other: Same[Way], level_m: float, span: BeatSpan
) -> tuple[Nearness, ...]:
    return joined(_each_nearer(sides(one.value, other.value, span), level_m))


def _each_nearer(sides_: Iterator[Side], level_m: float) -> Iterator[Nearness]:
    for side in sides_:
        within = shares_within(side.start, side.end, level_m)
        if within is not None:
            low, high = (_beat_on(side, share) for share in within)
            yield Nearness(low, high, _nearest_on(side), side.walking)


_TOUCH_BEATS = 1e-9


def joined(times: Iterator[Nearness]) -> tuple[Nearness, ...]:
    """Times in order, those that touch made one that keeps the nearest of both."""
    found: list[Nearness] = []
    for time in times:
        if found and time.start_beat - found[-1].end_beat < _TOUCH_BEATS:
            before = found[-1]
            best = min((before, time), key=_nearness)
            found[-1] = replace(best, start_beat=before.start_beat, end_beat=time.end_beat)
        else:
            found.append(time)
    return tuple(found)


def _nearness(time: Nearness) -> tuple[float, bool]:
    """Standing before walking where both are as near: who has arrived stands."""
    return round(time.nearest.distance_m, 9), time.walking


@lru_cache(maxsize=4_000)
def times_near_an_edge(
    way: Same[Way], edge: str, stage: Stage, level_m: float, span: BeatSpan
) -> tuple[Nearness, ...]:
    """The same for the distance to a straight edge, which changes evenly along every stretch.

    Beyond the edge the distance is negative.
    """
    return joined(_each_near_an_edge(way.value, edge, stage, level_m, span))


def _each_near_an_edge(
    way: Way, edge: str, stage: Stage, level_m: float, span: BeatSpan
) -> Iterator[Nearness]:
    for start, end, piece in _pieces_in(way, span):
        at_start, at_end = (inside_m(piece.place_at(beat), edge, stage) for beat in (start, end))
        if min(at_start, at_end) >= level_m:
            continue
        low, high = 0.0, 1.0
        if max(at_start, at_end) > level_m:
            crossing = (level_m - at_start) / (at_end - at_start)
            low, high = (crossing, 1.0) if at_end < at_start else (0.0, crossing)
        least = Nearest(end if at_end < at_start else start, min(at_start, at_end))
        times = start + low * (end - start), start + high * (end - start)
        yield Nearness(*times, least, piece.walks)


EDGES = ("front edge", "back edge", "edge at stage right", "edge at stage left")


def inside_m(place: Place, edge: str, stage: Stage) -> float:
    """How far inside an edge of the floor a place is; negative beyond it.

    Raises
    ------
    ValueError
        If it is none of EDGES.
    """
    match edge:
        case "front edge":
            return place.y_m
        case "back edge":
            return stage.depth_m - place.y_m
        case "edge at stage right":
            return stage.width_m / 2 - place.x_m
        case "edge at stage left":
            return stage.width_m / 2 + place.x_m
        case _:
            raise ValueError(f"a floor has {', '.join(EDGES)}, no {edge}")


def _pieces_in(way: Way, span: BeatSpan) -> Iterator[tuple[float, float, Piece]]:
    first, last = float(span.start_beat), float(span.end_beat)
    for piece in way.pieces:
        start, end = max(piece.start_beat, first), min(piece.end_beat, last)
        if start < end:
            yield start, end, piece


def times_near_a_place(
    way: Way, place: Place, level_m: float, span: BeatSpan
) -> tuple[Nearness, ...]:
    """The same for the distance to something that stands still."""
    standing = Way("", (), (Stretch(None, None, place, place, Fraction(0), Fraction(0)),))
    return joined(_each_nearer(sides(way, standing, span), level_m))


# ------------------------------------------------------------------ what is wanted


def apart_limit(stage: Stage, *performers: Performer) -> Limit:
    """Free space between reach circles: none is an error, less than the margin a warning.

    The stage says the margin; a performer's own limit of that name says hers if it is more.
    """
    own = [value for one in performers for name, value in one.limits if name == "circles apart"]
    margin = max([stage.margin_m, *own]) - ROUNDING_M
    return replace(LIMITS["circles apart"], note=margin, warning=margin)


def spacing_m(one: Performer, other: Performer, margin_m: float) -> float:
    """Least distance from middle to middle: both reaches and the margin (geometry)."""
    return reach_m(one) + reach_m(other) + margin_m


def widest_spacing_m(performers: tuple[Performer, ...], margin_m: float) -> float:
    """A distance that is enough between any two of these performers."""
    return max((spacing_m(*two, margin_m) for two in combinations(performers, 2)), default=0.0)
