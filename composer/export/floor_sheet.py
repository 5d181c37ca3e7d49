"""Several floor plans together: on one drawn page, or in ink for paper."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import ceil
from types import MappingProxyType

import numpy as np

from composer.export.choice import Choice, View, chosen_span, one_line
from composer.export.floor_plan import (
    AREA_INK,
    EDGE_INK,
    FLOOR_INK,
    GRID_INK,
    FloorTime,
    bare_plan,
    caution,
    floor_plan,
    floor_time,
    floor_times,
    plan_heading,
    standing_words,
    titled_plan,
)
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
from composer.export.picture_svg import picture_svg
from composer.score.floor import standings
from composer.score.routine import Routine, Stage


def chosen_times(routine: Routine, choice: Choice) -> tuple[FloorTime, ...]:
    """Every plan of the piece; of one phrase those in it, or the one where it begins."""
    times = floor_times(routine)
    if choice.phrase is None:
        return times
    span = chosen_span(routine, choice)
    inside = tuple(time for time in times if span.contains(time.beat))
    return inside or (floor_time(routine, span.start_beat),)


def floor_picture(routine: Routine, times: tuple[FloorTime, ...], view: View) -> Picture:
    """One plan on a page of its own, several on one sheet."""
    if len(times) == 1:
        return floor_plan(routine, times[0], view)
    return floor_sheet(routine, times, view)


def floor_sheet(
    routine: Routine,
    times: tuple[FloorTime, ...] | None = None,
    view: View = View.AUDIENCE,
    *,
    columns: int = 3,
    width: int = 560,
) -> Picture:
    """Plans on one page in time order: every one of the piece, or those asked for."""
    plans = [titled_plan(routine, time, view, width) for time in times or floor_times(routine)]
    columns = min(columns, len(plans))
    rows = ceil(len(plans) / columns)
    height = max(plan.height for plan in plans)
    shapes = [
        moved(shape, column * width, row * height)
        for index, plan in enumerate(plans)
        for row, column in (divmod(index, columns),)
        for shape in plan.shapes
    ]
    told = " ".join(f"{plan.title}. {plan.description}" for plan in plans)
    title = f"{routine.title}: the floor"
    shapes.append(caution(columns * width / 2, rows * height + 10))
    return Picture(columns * width, rows * height + 30, tuple(shapes), title, told)


def moved(shape: Shape, across: float, down: float) -> Shape:
    """A shape somewhere else on the page."""
    match shape:
        case Stroke():
            return Stroke(
                shape.points + np.array([across, down]),
                shape.ink,
                shape.width,
                shape.opacity,
                shape.glow,
                shape.closed,
                shape.fill,
            )
        case Dot():
            place = shape.x + across, shape.y + down
            return Dot(*place, shape.radius, shape.ink, shape.opacity, shape.ring_width)
        case Words():
            place = shape.x + across, shape.y + down
            return Words(*place, shape.text, shape.size, shape.ink, shape.anchor)


# ------------------------------------------------------------------ for paper

WHITE: Ink = (255, 255, 255)
BLACK: Ink = (0, 0, 0)
PAPER_INKS: Mapping[Ink, Ink] = MappingProxyType(
    {
        FLOOR_INK: WHITE,
        EDGE_INK: (120, 120, 120),
        GRID_INK: (226, 226, 226),
        AREA_INK: (196, 196, 196),
        RIGHT_INK: BLACK,
        MEETING_INK: BLACK,
        LEFT_INK: (90, 90, 90),
        MARK_INK: BLACK,
        WORDS_INK: (40, 40, 40),
        QUIET_INK: (110, 110, 110),
    }
)
"""What the inks of a dark page become on paper: greys, so that any printer does."""
PAPER_WIDTH = 400


@dataclass(frozen=True, slots=True)
class PaperPlan:
    """A plan to be printed: heading, drawing, and where everybody stands in words."""

    heading: str
    svg: str
    words: tuple[str, ...]


def paper_plans(routine: Routine, choice: Choice) -> tuple[PaperPlan, ...]:
    """The plans chosen, to be printed; none where nobody has a spot."""
    if not routine.spots:
        return ()
    return tuple(
        PaperPlan(
            one_line(plan_heading(routine, time)),
            picture_svg(paper_plan(routine, time, choice.view, choice.performer)),
            tuple(
                one_line(standing_words(one, routine.stage))
                for one in standings(routine, time.beat)
            ),
        )
        for time in chosen_times(routine, choice)
    )


def plan_key(stage: Stage) -> str:
    """What the letters on a plan stand for."""
    if stage.in_the_round:
        return "N and S: north and south."
    return "R, C and L: stage right, centre and left; U and D: upstage and downstage."


def paper_plan(routine: Routine, time: FloorTime, view: View, marked: str = "") -> Picture:
    """A plan in greys on white, its words large enough to be read when two stand side by side."""
    plan = bare_plan(routine, time, view, PAPER_WIDTH, margin=6, head=26, foot=28, marked=marked)
    return replace(plan, shapes=tuple(map(_on_paper, plan.shapes)), ground=WHITE)


def _on_paper(shape: Shape) -> Shape:
    ink = PAPER_INKS.get(shape.ink, shape.ink)
    if isinstance(shape, Stroke) and shape.fill is not None:
        return replace(shape, ink=ink, fill=PAPER_INKS.get(shape.fill, shape.fill))
    return replace(shape, ink=ink)
