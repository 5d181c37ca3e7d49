"""How near people come to each other, to edges and to obstacles: exact on every straight stretch.

Two who each walk straight and evenly, or stand, move straight against each other, so the square of
their distance is a parabola in time: its lowest point and where it crosses a level are solved for,
nothing is sampled.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from math import hypot, sqrt
from typing import NamedTuple

from composer.check.limits import LIMITS, Limit
from composer.check.moment import Same
from composer.score.floor import Place, Stretch, Way, reach_m
from composer.score.routine import Performer, Stage
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
    """A stretch of time on which a distance runs straight or as a hyperbola."""

    start_beat: Fraction
    end_beat: Fraction
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


def sides(one: Way, other: Way, span: BeatSpan) -> Iterator[Side]:
    """The stretches of a piece on which two ways run straight against each other."""
    edges = {span.start_beat, span.end_beat}
    edges |= {e for e in (*one.edges, *other.edges) if span.start_beat < e < span.end_beat}
    ordered = sorted(edges)
    for start, end in pairwise(ordered):
        here, there = one.stretch_at(start), other.stretch_at(start)
        yield Side(
            start,
            end,
            _seen_from(here.place_at(start), there.place_at(start)),
            _seen_from(here.place_at(end), there.place_at(end)),
            here.walks or there.walks,
        )


def _seen_from(one: Place, other: Place) -> Place:
    return Place(other.x_m - one.x_m, other.y_m - one.y_m)


def nearest(one: Way, other: Way, span: BeatSpan) -> Nearest:
    """When two are nearest to each other over a span, and how near."""
    found = [_nearest_on(side) for side in sides(one, other, span)]
    return min(found, key=lambda near: near.distance_m)


def _nearest_on(side: Side) -> Nearest:
    share, distance = closest_approach(side.start, side.end)
    return Nearest(_beat_on(side, share), distance)


def _beat_on(side: Side, share: float) -> float:
    return float(side.start_beat) + share * float(side.end_beat - side.start_beat)


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


def times_near_a_line(
    way: Way, distance: Callable[[Place], float], level_m: float, span: BeatSpan
) -> tuple[Nearness, ...]:
    """The same for the distance to a straight edge, which changes evenly along every stretch.

    ``distance`` gives a place's signed distance to the edge: negative beyond it.
    """
    return joined(_each_near_a_line(way, distance, level_m, span))


def _each_near_a_line(
    way: Way, distance: Callable[[Place], float], level_m: float, span: BeatSpan
) -> Iterator[Nearness]:
    for start, end, stretch in stretches_in(way, span):
        at_start, at_end = (distance(stretch.place_at(beat)) for beat in (start, end))
        if min(at_start, at_end) >= level_m:
            continue
        low, high = 0.0, 1.0
        if max(at_start, at_end) > level_m:
            crossing = (level_m - at_start) / (at_end - at_start)
            low, high = (crossing, 1.0) if at_end < at_start else (0.0, crossing)
        length = float(end - start)
        least = Nearest(float(end if at_end < at_start else start), min(at_start, at_end))
        yield Nearness(
            float(start) + low * length, float(start) + high * length, least, stretch.walks
        )


def stretches_in(way: Way, span: BeatSpan) -> Iterator[tuple[Fraction, Fraction, Stretch]]:
    """The stretches of a way that touch a span, each with the beats of it that lie inside."""
    for stretch in way.stretches:
        start = span.start_beat if stretch.start_beat is None else stretch.start_beat
        end = span.end_beat if stretch.end_beat is None else stretch.end_beat
        start, end = max(start, span.start_beat), min(end, span.end_beat)
        if start < end:
            yield start, end, stretch


def times_near_a_place(
    way: Way, place: Place, level_m: float, span: BeatSpan
) -> tuple[Nearness, ...]:
    """The same for the distance to something that stands still."""
    standing = Way("", (Stretch(None, None, place, place, Fraction(0), Fraction(0)),))
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
    reaches = sorted((reach_m(performer) for performer in performers), reverse=True)
    return sum(reaches[:2]) + margin_m if len(reaches) > 1 else 0.0
