"""Edits of the floor by hand: spots moved, turned, added, taken out, reached earlier or later.

Directions of keys and mouse are those of the page; which way that is on the floor depends on whose
view the page shows.
"""

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

from composer.arrange.edits import set_spot
from composer.errors import ComposerError
from composer.export.choice import View
from composer.score.floor import Place, spots_of, ways
from composer.score.routine import Obstacle, Routine, Spot

STEP_M, FINE_M = 0.25, 0.05
"""How far one press of a key moves a spot."""
SNAP_M = 0.05
"""What a place under the mouse is rounded to."""
EIGHTH = Fraction(1, 8)


def snapped(place: Place) -> Place:
    return Place(_snapped(place.x_m), _snapped(place.y_m))


def _snapped(value: float) -> float:
    return round(round(value / SNAP_M) * SNAP_M, 2) + 0.0


def spot_here(routine: Routine, performer: str, beat: Fraction) -> Spot | None:
    """The spot that is moved on a beat: the one she walks to, or else the one she stands on."""
    own = spots_of(routine.spots, performer)
    coming = [s for s in own if s.beat > beat and s.beat - s.travel_beats < beat]
    reached = [spot for spot in own if spot.beat <= beat]
    return coming[0] if coming else reached[-1] if reached else own[0] if own else None


def the_spot(routine: Routine, performer: str, beat: Fraction) -> Spot:
    """The same; that there is none is told.

    Raises
    ------
    ComposerError
        If she has no spot at all.
    """
    spot = spot_here(routine, performer, beat)
    if spot is None:
        raise ComposerError(f"{performer} has no spot yet; s gives her one here")
    return spot


def moved(routine: Routine, spot: Spot, place: Place) -> Routine:
    x_m, y_m = round(place.x_m, 2) + 0.0, round(place.y_m, 2) + 0.0
    return set_spot(routine, replace(spot, x_m=x_m, y_m=y_m))


def carried(routine: Routine, performer: str, beat: Fraction, start: Place, goal: Place) -> Routine:
    """Her spot moved as far as a place was dragged, rounded to what a mouse can mean."""
    spot = the_spot(routine, performer, beat)
    there = Place(spot.x_m + goal.x_m - start.x_m, spot.y_m + goal.y_m - start.y_m)
    return moved(routine, spot, snapped(there))


def nudged(
    routine: Routine,
    performers: Iterable[str],
    beat: Fraction,
    way: tuple[int, int],
    view: View,
    step_m: float = STEP_M,
) -> Routine:
    """Spots a step to the right and down on the page, such as ``(1, 0)``."""
    turn = -step_m if view is View.AUDIENCE else step_m
    for performer in performers:
        spot = the_spot(routine, performer, beat)
        routine = moved(routine, spot, Place(spot.x_m + turn * way[0], spot.y_m + turn * way[1]))
    return routine


def with_new_spot(routine: Routine, performer: str, beat: Fraction) -> Routine:
    """A spot of her own on this beat, where she is now: from here it can be moved.

    Raises
    ------
    ComposerError
        If she has one on this beat already.
    """
    way = ways(routine).get(performer)
    if way is not None and any(spot.beat == beat for spot in way.spots):
        raise ComposerError(f"{performer} has a spot on this beat already; arrows move it")
    place = way.place_at(beat) if way else Place(0.0, routine.stage.depth_m / 2)
    facing = way.stretch_at(beat).facing_at(beat) if way else Fraction(0)
    there = snapped(place)
    return set_spot(routine, Spot(performer, beat, there.x_m, there.y_m, facing))


def without_spot(routine: Routine, performer: str, beat: Fraction) -> Routine:
    """The routine without the spot that is moved on this beat."""
    spot = the_spot(routine, performer, beat)
    return replace(routine, spots=tuple(s for s in routine.spots if s != spot))


def turned(routine: Routine, performers: Iterable[str], beat: Fraction, eighths: int) -> Routine:
    """Spots facing so many eighths of a turn further to the left, counter-clockwise from above."""
    for performer in performers:
        spot = the_spot(routine, performer, beat)
        facing = (spot.facing_turns + eighths * EIGHTH) % 1
        routine = set_spot(routine, replace(spot, facing_turns=facing))
    return routine


def walking_longer(
    routine: Routine, performers: Iterable[str], beat: Fraction, beats: int
) -> Routine:
    """The ways to spots with more or fewer beats, one at the least."""
    for performer in performers:
        spot = the_spot(routine, performer, beat)
        travel = max(Fraction(1), spot.travel_beats + beats)
        routine = set_spot(routine, replace(spot, travel_beats=travel))
    return routine


def arriving_later(
    routine: Routine, performers: Iterable[str], beat: Fraction, beats: int
) -> Routine:
    """Spots reached so many beats later, left for as much later.

    Raises
    ------
    ComposerError
        If one would come before the music, or onto another spot of hers.
    """
    for performer in performers:
        spot = the_spot(routine, performer, beat)
        later = replace(spot, beat=spot.beat + beats)
        taken = {s.beat for s in spots_of(routine.spots, performer)}
        if later.beat < 0 or later.beat in taken:
            why = "the music begins" if later.beat < 0 else "she has another spot"
            raise ComposerError(f"{performer} cannot arrive there: {why}")
        kept = tuple(s for s in routine.spots if s != spot)
        routine = set_spot(replace(routine, spots=kept), later)
    return routine


# ------------------------------------------------------------------ the floor itself


def with_stage_size(routine: Routine, text: str) -> Routine:
    """The floor as typed: ``"13 x 10"``, in metres.

    Raises
    ------
    ComposerError
        If that is no size.
    """
    numbers = _numbers(text.lower().replace("x", " ").replace("×", " "))
    if len(numbers) != 2 or not all(1 <= value <= 200 for value in numbers):
        raise ComposerError(f'a floor is wide and deep, such as "13 x 10" metres, not "{text}"')
    stage = replace(routine.stage, width_m=numbers[0], depth_m=numbers[1])
    return replace(routine, stage=stage)


def with_obstacle(routine: Routine, text: str) -> Routine:
    """Something marked as typed: ``"pillar 2.5 4 0.3"``; without figures it is taken away.

    The figures are metres to stage right (left: minus), upstage, and the radius.

    Raises
    ------
    ComposerError
        If that is neither.
    """
    name, _, figures = text.strip().partition(" ")
    others = tuple(one for one in routine.stage.obstacles if one.name != name)
    if name and not figures.strip():
        if len(others) == len(routine.stage.obstacles):
            raise ComposerError(f'nothing on the floor is called "{name}"')
        return _marking(routine, others)
    numbers = _numbers(figures)
    if len(numbers) != 3 or numbers[2] <= 0:
        raise ComposerError(
            f"write a name of one word, metres to stage right, upstage, and the radius, such as "
            f'"pillar 2.5 4 0.3", not "{text}"'
        )
    return _marking(routine, (*others, Obstacle(name, *numbers)))


def _marking(routine: Routine, obstacles: tuple[Obstacle, ...]) -> Routine:
    return replace(routine, stage=replace(routine.stage, obstacles=obstacles))


def typed_place(text: str) -> Place:
    """``"3.2, 2.6"``: metres to stage right (left: minus) and upstage.

    Raises
    ------
    ComposerError
        If that is no place.
    """
    numbers = _numbers(text.replace(";", " "))
    if len(numbers) != 2:
        raise ComposerError(
            f'a place is two figures in metres, to stage right and upstage: "3.2 2.6", not "{text}"'
        )
    return Place(*numbers)


def _numbers(text: str) -> list[float]:
    """Figures that stand apart by blanks or commas; none if anything else is among them."""
    try:
        found = [float(part) for part in text.replace(",", " ").split()]
    except ValueError:
        return []
    return found if all(abs(value) < 1e6 for value in found) else []


def typed_walk(text: str) -> tuple[Fraction, float | None]:
    """``"8"`` or ``"8, 3.2"``: beats to walk, and metres apart where they are given.

    Raises
    ------
    ComposerError
        If that is neither.
    """
    numbers = _numbers(text)
    beats = Fraction(numbers[0]).limit_denominator(192) if numbers else Fraction(0)
    if len(numbers) not in (1, 2) or not 0 < beats <= 256 or not all(n <= 256 for n in numbers):
        raise ComposerError(
            f'write beats, and metres apart after them: "8" or "8 3.2", not "{text}"'
        )
    if len(numbers) == 2 and numbers[1] <= 0:
        raise ComposerError(f"performers stand some way apart, not {numbers[1]:g} m")
    return beats, numbers[1] if len(numbers) == 2 else None
