"""The floor seen from above: who stands where, how far she reaches, and whence she came.

Pixels are ours; metres and beats come from the routine. For the audience the front edge is at the
bottom of the page, for the performers at the top: the two are each other turned by half a turn.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, cos, floor, pi, sin

import numpy as np

from composer.check.cautions import CLOSING
from composer.export.choice import View
from composer.export.picture import (
    LEFT_INK,
    MARK_INK,
    MEETING_INK,
    QUIET_INK,
    RIGHT_INK,
    WORDS_INK,
    Dot,
    Ink,
    Picture,
    Shape,
    Stroke,
    Words,
)
from composer.motion.kinematics import Floats
from composer.score.floor import Place, Standing, Stretch, reach_m, standings, ways
from composer.score.routine import Routine, Stage
from composer.score.stage_words import (
    AREAS,
    facing_words,
    place_words,
    seen_from_the_other_side,
)
from composer.timing.beats import beats_words

FLOOR_INK: Ink = (26, 30, 40)
EDGE_INK: Ink = (88, 94, 110)
GRID_INK: Ink = (34, 39, 50)
AREA_INK: Ink = (78, 86, 104)
MARGIN = 56
HEAD = 96
FOOT = 64
BODY_M = 0.2
"""How large a performer is drawn."""


@dataclass(frozen=True, slots=True)
class FloorTime:
    """A moment to show, and the phrase it belongs to."""

    beat: Fraction
    name: str


def floor_times(routine: Routine) -> tuple[FloorTime, ...]:
    """A plan for every phrase in which anybody comes to another spot, and the first.

    It shows where all have come to in the phrase: where its last walk ends, or where they stand.
    """
    grid = routine.grid
    found: list[FloorTime] = []
    for index, phrase in enumerate(grid.phrases):
        span = grid.phrase_span(index)
        arrivals = sorted(
            {s.beat for s in routine.spots if span.start_beat <= s.beat < span.end_beat}
        )
        if not arrivals and found:
            continue
        for beat in arrivals or [span.start_beat]:
            found.append(FloorTime(beat, phrase.name))
    if not found:
        beats = sorted({spot.beat for spot in routine.spots}) or [Fraction(0)]
        found = [FloorTime(beat, "") for beat in beats]
    return tuple(found)


def floor_time(routine: Routine, beat: Fraction) -> FloorTime:
    """The moment on one beat."""
    index = routine.grid.phrase_index_at(beat)
    name = "" if index is None else routine.grid.phrases[index].name
    return FloorTime(beat, name)


# ------------------------------------------------------------------ the page


@dataclass(frozen=True, slots=True)
class Chart:
    """Where metres of the floor lie on the page."""

    left: float
    top: float
    pixels_a_metre: float
    stage: Stage
    view: View

    def page(self, place: Place) -> tuple[float, float]:
        across, down = from_above(place, self.stage, self.view)
        return self.left + across * self.pixels_a_metre, self.top + down * self.pixels_a_metre

    def points(self, *places: Place) -> Floats:
        return np.array([self.page(place) for place in places])


def from_above(place: Place, stage: Stage, view: View) -> tuple[float, float]:
    """Metres to the right and down from the upper left corner of the floor as it is drawn.

    The audience looks from below: stage right is on the left of the page, upstage at its top. The
    performers' plan is that page turned round.
    """
    if view is View.PERFORMER:
        place = seen_from_the_other_side(place, stage)
    return stage.width_m / 2 - place.x_m, stage.depth_m - place.y_m


def floor_plan(
    routine: Routine, time: FloorTime, view: View = View.AUDIENCE, *, width: int = 900
) -> Picture:
    """One plan: the floor, reach circles, names, facings, and the walks that lead there."""
    plan = titled_plan(routine, time, view, width)
    return replace(plan, shapes=(*plan.shapes, caution(width / 2, plan.height - 14)))


def titled_plan(routine: Routine, time: FloorTime, view: View, width: int) -> Picture:
    """A plan without the words of caution, which a page has once."""
    plan = bare_plan(routine, time, view, width, margin=MARGIN, head=HEAD, foot=FOOT)
    return replace(plan, shapes=(*_title(routine, time, width), *plan.shapes))


def bare_plan(
    routine: Routine,
    time: FloorTime,
    view: View,
    width: int,
    *,
    margin: int,
    head: int,
    foot: int,
    marked: str = "",
) -> Picture:
    """A plan without title; ``margin`` at both sides, ``head`` above the floor, ``foot`` below.

    The circle of the performer ``marked`` is drawn heavily.
    """
    stage = routine.stage
    scale = (width - 2 * margin) / stage.width_m
    height = head + ceil(stage.depth_m * scale) + foot
    chart = Chart(margin, head, scale, stage, view)
    there = standings(routine, time.beat)
    shapes = [
        *_floor(chart),
        *_obstacles(chart),
        *_walks(routine, time, chart),
        *(
            shape
            for one in there
            for shape in _performer(routine, one, chart, time.beat, marked=one.performer == marked)
        ),
    ]
    title = f"{routine.title}: {plan_heading(routine, time)}"
    told = "; ".join(standing_words(one, stage) for one in there) or "nobody has a spot yet"
    return Picture(width, height, tuple(shapes), title, f"Seen from above, {view}'s view. {told}.")


def plan_heading(routine: Routine, time: FloorTime) -> str:
    place = routine.grid.place_text(time.beat)
    return f"{time.name}, {place}" if time.name else place


def standing_words(one: Standing, stage: Stage) -> str:
    facing = facing_words(one.facing_turns, stage)
    return f"{one.performer} {place_words(one.place, stage)}, facing {facing}"


def _title(routine: Routine, time: FloorTime, width: int) -> Iterator[Shape]:
    yield Words(MARGIN, 36, routine.title, 20, MARK_INK)
    yield Words(MARGIN, 62, plan_heading(routine, time), 15, WORDS_INK)
    stage = routine.stage
    size = f"floor {stage.width_m:g} x {stage.depth_m:g} m, a line each metre"
    yield Words(width - MARGIN, 36, size, 12, QUIET_INK, "end")
    circles = "circles: arm, prop and head"
    yield Words(width - MARGIN, 54, circles, 12, QUIET_INK, "end")


def caution(x: float, y: float) -> Words:
    return Words(x, y, CLOSING, 11, QUIET_INK, "middle")


def _floor(chart: Chart) -> Iterator[Shape]:
    stage = chart.stage
    half = stage.width_m / 2
    corners = chart.points(
        Place(half, 0), Place(-half, 0), Place(-half, stage.depth_m), Place(half, stage.depth_m)
    )
    yield Stroke(corners, EDGE_INK, 1.2, closed=True, fill=FLOOR_INK)
    for x in range(ceil(-half), floor(half) + 1):
        line = chart.points(Place(x, 0), Place(x, stage.depth_m))
        yield Stroke(line, EDGE_INK if x == 0 else GRID_INK, 0.8)
    for y in range(1, ceil(stage.depth_m)):
        yield Stroke(chart.points(Place(half, y), Place(-half, y)), GRID_INK, 0.8)
    yield from _edge_words(chart)


def _edge_words(chart: Chart) -> Iterator[Shape]:
    stage = chart.stage
    half = stage.width_m / 2
    front, back = chart.page(Place(0, 0)), chart.page(Place(0, stage.depth_m))
    low, high = (front, back) if front[1] > back[1] else (back, front)
    names = ("audience", "audience") if stage.in_the_round else ("front edge, audience", "upstage")
    below, above = names if low is front else names[::-1]
    yield Words(low[0], low[1] + 20, below, 13, WORDS_INK, "middle")
    yield Words(high[0], high[1] - 8, above, 13, QUIET_INK, "middle")
    if stage.in_the_round:
        for words, place in (("N", Place(0, stage.depth_m - 0.4)), ("S", Place(0, 0.25))):
            yield Words(*chart.page(place), words, 13, QUIET_INK, "middle")
        return
    for row, areas in enumerate(AREAS):
        for column, area in enumerate(areas):
            centre = Place(
                half - (column + 0.5) * stage.width_m / 3, (row + 0.5) * stage.depth_m / 3
            )
            x, y = chart.page(centre)
            yield Words(x, y + 5, area, 14, AREA_INK, "middle")


def _obstacles(chart: Chart) -> Iterator[Shape]:
    for thing in chart.stage.obstacles:
        x, y = chart.page(Place(thing.x_m, thing.y_m))
        radius = thing.radius_m * chart.pixels_a_metre
        yield Dot(x, y, radius, EDGE_INK, 0.55)
        yield Words(x, y + 4, thing.name, 12, MARK_INK, "middle")


def _walks(routine: Routine, time: FloorTime, chart: Chart) -> Iterator[Shape]:
    for way in ways(routine).values():
        walk = way.walk_to(time.beat)
        if walk is not None:
            yield from _walk(walk, chart)


DASH_M = 0.22
BEATS_FROM_M = 2.5
"""Ways shorter than that lie within circles and names: their beats are told elsewhere."""


def _walk(stretch: Stretch, chart: Chart) -> Iterator[Shape]:
    """Dashes along the way and an arrow's head where it ends."""
    length = stretch.start.distance_m(stretch.end)
    for k in range(max(1, int(length / DASH_M / 2))):
        low, high = (min(1.0, (2 * k + part) * DASH_M / length) for part in (0, 1))
        ends = stretch.start.towards(stretch.end, low), stretch.start.towards(stretch.end, high)
        yield Stroke(chart.points(*ends), LEFT_INK, 2.2)
    back = stretch.end.towards(stretch.start, min(1.0, (BODY_M + 0.12) / length))
    tip_x, tip_y = chart.page(back)
    from_x, from_y = chart.page(stretch.start)
    angle = np.arctan2(from_y - tip_y, from_x - tip_x)
    for side in (-0.45, 0.45):
        wing = (tip_x + 12 * cos(angle + side), tip_y + 12 * sin(angle + side))
        yield Stroke(np.array([(tip_x, tip_y), wing]), LEFT_INK, 2.2)
    if length >= BEATS_FROM_M:
        yield _walk_beats(stretch, chart)


def _walk_beats(stretch: Stretch, chart: Chart) -> Words:
    """How many beats a walk takes, above its middle, or beside it where it runs up the page."""
    assert stretch.span is not None  # who walks comes from somewhere and arrives
    words = beats_words(stretch.span.length_beats)
    (from_x, from_y), (to_x, to_y) = chart.page(stretch.start), chart.page(stretch.end)
    x, y = (from_x + to_x) / 2, (from_y + to_y) / 2
    if abs(to_x - from_x) > abs(to_y - from_y):
        return Words(x, y - 8, words, 11, LEFT_INK, "middle")
    return Words(x + 8, y + 4, words, 11, LEFT_INK)


def _performer(
    routine: Routine, one: Standing, chart: Chart, beat: Fraction, *, marked: bool
) -> Iterator[Shape]:
    performer = routine.performer(one.performer)
    x, y = chart.page(one.place)
    scale = chart.pixels_a_metre
    ink = MEETING_INK if performer.fire else RIGHT_INK
    ring = 4.0 if marked else 1.6
    yield Dot(x, y, reach_m(performer) * scale, ink, 0.85, ring_width=ring)
    yield Dot(x, y, BODY_M * scale, ink)
    nose_x, nose_y = chart.page(_ahead(one, 2.2 * BODY_M))
    yield Stroke(np.array([(x, y), (nose_x, nose_y)]), ink, 4.0)
    name = f"{one.performer} (fire)" if performer.fire else one.performer
    above = nose_y > y
    from_y = _came_from(routine, one.performer, beat, chart)
    if from_y is not None and (from_y < y - BODY_M * scale) is above:
        above = not above  # the way and its arrow's head stay to be seen
    low, high = max(y + BODY_M * scale, nose_y), min(y - BODY_M * scale, nose_y)
    yield from _plate(x, high - 6 if above else low + 12, name)


def _came_from(routine: Routine, name: str, beat: Fraction, chart: Chart) -> float | None:
    """How far down the page the walk began that leads where she is; None if none does."""
    walk = ways(routine)[name].walk_to(beat)
    return None if walk is None else chart.page(walk.start)[1]


def _plate(x: float, baseline: float, name: str) -> Iterator[Shape]:
    """A name that stays readable where a walk runs under it."""
    half = 4.0 * len(name) + 3
    corners = [(-half, -13), (half, -13), (half, 4), (-half, 4)]
    box = np.array([(x + across, baseline + down) for across, down in corners])
    yield Stroke(box, FLOOR_INK, 0.5, closed=True, fill=FLOOR_INK)
    yield Words(x, baseline, name, 14, MARK_INK, "middle")


def _ahead(one: Standing, distance_m: float) -> Place:
    """A place so far before a performer: facing 0 is to the audience, towards y = 0."""
    angle = 2 * pi * float(one.facing_turns)
    return Place(one.place.x_m - distance_m * sin(angle), one.place.y_m - distance_m * cos(angle))
