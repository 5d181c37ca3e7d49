"""Formations: places for a number of performers, neighbours a given distance apart.

Every formation is centred left to right on x = 0 and begins at y = 0, its nearest places to the
audience. Nobody stands nearer to anybody than ``apart_m`` (geometry), and some exactly so far.
"""

from collections.abc import Callable, Mapping
from fractions import Fraction
from itertools import combinations
from math import ceil, cos, pi, sin, sqrt
from types import MappingProxyType

from composer.arrange.edits import set_spot
from composer.check.spacing import widest_spacing_m
from composer.errors import UnknownName
from composer.score.floor import Place, spots_of, ways
from composer.score.routine import Routine, Spot

ROUNDING_M = 0.01
"""Places are written to the centimetre: so much more keeps neighbours the whole distance apart."""


def line(count: int, apart_m: float) -> tuple[Place, ...]:
    """Side by side, from stage right to stage left."""
    return _centred([Place(-apart_m * k, 0.0) for k in range(_several(count, apart_m))])


def arc(count: int, apart_m: float) -> tuple[Place, ...]:
    """On a third of a circle that opens to the audience, the middle upstage."""
    _several(count, apart_m)
    if count < 3:
        return line(count, apart_m)
    step = 2 * pi / 3 / (count - 1)
    radius = apart_m / (2 * sin(step / 2))
    angles = [pi / 6 + step * k for k in range(count)]
    return _centred([Place(radius * cos(a), radius * sin(a)) for a in angles])


def circle(count: int, apart_m: float) -> tuple[Place, ...]:
    """All round, the first one upstage; neighbours stand a chord apart."""
    _several(count, apart_m)
    if count == 1:
        return (Place(0.0, 0.0),)
    radius = apart_m / (2 * sin(pi / count))
    angles = [pi / 2 + 2 * pi * k / count for k in range(count)]
    return _centred([Place(radius * cos(a), radius * sin(a)) for a in angles])


def vee(count: int, apart_m: float) -> tuple[Place, ...]:
    """Two arms at a right angle, the point downstage; the two sides are taken in turn."""
    _several(count, apart_m)
    step = apart_m / sqrt(2)
    places = []
    for k in range(count):
        rank, side = (k + 1) // 2, 1 if k % 2 else -1
        places.append(Place(side * rank * step, rank * step))
    return _at_the_front(places)


def two_rows(count: int, apart_m: float) -> tuple[Place, ...]:
    """A front row, and behind it a second one in its gaps, so that everybody is seen."""
    front = ceil(_several(count, apart_m) / 2)
    back = count - front
    depth = apart_m * sqrt(3) / 2
    first = [Place(apart_m * ((front - 1) / 2 - k), 0.0) for k in range(front)]
    shift = 0.0 if (front - back) % 2 else apart_m / 2
    second = [Place(apart_m * ((back - 1) / 2 - k) + shift, depth) for k in range(back)]
    return (*first, *second)


def grid(count: int, apart_m: float) -> tuple[Place, ...]:
    """Rows and columns as nearly square as may be, filled from the front."""
    columns = ceil(sqrt(_several(count, apart_m)))
    places = []
    for k in range(count):
        row, column = divmod(k, columns)
        wide = min(columns, count - row * columns)
        places.append(Place(apart_m * ((wide - 1) / 2 - column), row * apart_m))
    return tuple(places)


FORMATIONS: Mapping[str, Callable[[int, float], tuple[Place, ...]]] = MappingProxyType(
    {
        "line": line,
        "arc": arc,
        "circle": circle,
        "V": vee,
        "two rows": two_rows,
        "grid": grid,
    }
)
"""By name."""


def _several(count: int, apart_m: float) -> int:
    if count < 1:
        raise ValueError(f"a formation takes at least one performer, got {count}")
    if not apart_m > 0:
        raise ValueError(f"performers stand some way apart, got {apart_m} m")
    return count


def _centred(places: list[Place]) -> tuple[Place, ...]:
    middle = (max(p.x_m for p in places) + min(p.x_m for p in places)) / 2
    return _at_the_front([Place(p.x_m - middle, p.y_m) for p in places])


def _at_the_front(places: list[Place]) -> tuple[Place, ...]:
    front = min(place.y_m for place in places)
    return tuple(Place(place.x_m, place.y_m - front) for place in places)


def least_distance_m(places: tuple[Place, ...]) -> float:
    """Distance of the two who stand nearest to each other; 0 for one alone."""
    return min((one.distance_m(other) for one, other in combinations(places, 2)), default=0.0)


# ------------------------------------------------------------------ on the stage


def formed(
    routine: Routine,
    formation: str,
    beat: Fraction,
    *,
    travel_beats: Fraction = Fraction(8),
    apart_m: float | None = None,
    centre: Place | None = None,
) -> Routine:
    """Everybody in a formation from a beat on, each at the place that suits where she comes from.

    Parameters
    ----------
    apart_m : float, optional
        Between neighbours; by default what the reach circles and the stage's margin need.
    centre : Place, optional
        Middle of the formation; by default the middle of the floor.

    Raises
    ------
    UnknownName
        If there is no formation of that name.
    """
    make = FORMATIONS.get(formation)
    if make is None:
        raise UnknownName(
            f'no formation is called "{formation}"; there are {", ".join(FORMATIONS)}'
        )
    needed = widest_spacing_m(routine.performers, routine.stage.margin_m) + ROUNDING_M
    places = make(len(routine.performers), apart_m or needed)
    return stand(routine, _moved_to(places, routine, centre), beat, travel_beats)


def _moved_to(
    places: tuple[Place, ...], routine: Routine, centre: Place | None
) -> tuple[Place, ...]:
    middle = centre or Place(0.0, routine.stage.depth_m / 2)
    depth = max(place.y_m for place in places)
    return tuple(
        Place(round(p.x_m + middle.x_m, 2) + 0.0, round(p.y_m + middle.y_m - depth / 2, 2))
        for p in places
    )


def stand(
    routine: Routine, places: tuple[Place, ...], beat: Fraction, travel_beats: Fraction
) -> Routine:
    """Spots for everybody at these places, given out so that the ways are short and apart.

    Raises
    ------
    ValueError
        If there are not as many places as performers.
    """
    names = [performer.name for performer in routine.performers]
    if len(places) != len(names):
        raise ValueError(f"{len(names)} performers need as many places, got {len(places)}")
    before = {name: way.place_at(beat - travel_beats) for name, way in ways(routine).items()}
    if len(before) == len(names):
        places = shared_out([before[name] for name in names], places)
    for name, place in zip(names, places, strict=True):
        own = [spot for spot in spots_of(routine.spots, name) if spot.beat < beat]
        facing = own[-1].facing_turns if own else Fraction(0)
        spot = Spot(name, beat, place.x_m, place.y_m, facing, travel_beats)
        routine = set_spot(routine, spot)
    return routine


def shared_out(starts: list[Place], goals: tuple[Place, ...]) -> tuple[Place, ...]:
    """The goals in the order of the starts, with the least sum of squared ways.

    Straight ways walked in the same time then never cross at one instant, and two stay at least
    1/sqrt(2) of the least distance between starts, or between goals, apart: M. Turpin, N. Michael
    and V. Kumar, Int. J. Robotics Res. 33 (2014) 98 (from memory).
    """
    from scipy.optimize import linear_sum_assignment

    squares = [[start.distance_m(goal) ** 2 for goal in goals] for start in starts]
    _, chosen = linear_sum_assignment(squares)
    return tuple(goals[index] for index in chosen)
