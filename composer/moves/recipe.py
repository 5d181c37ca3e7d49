"""How a one-hand pattern is drawn, whoever draws it: the recipe before arm and tether are known."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, TypeAlias

from composer.motion.body import Body, Prop
from composer.motion.flower import flower, isolation
from composer.motion.pattern import (
    DOWN,
    Arc,
    HandPath,
    HeadMotion,
    Hold,
    Line,
    Pattern,
    Segment,
)
from composer.motion.transforms import move_centre
from composer.moves.lengths import MIDDLE, Length, Place


@dataclass(frozen=True, slots=True)
class FlowerRecipe:
    """Hand on a circle, head turning ``head_turns`` for each of its turns."""

    head_turns: Fraction
    """Counted in the room and in the hand's own direction; below 0 against it."""
    radius: Length
    tip_turns: Fraction = DOWN
    """Where one petal tip lies; for an opposed head, where the hand begins."""
    direction: Literal[1, -1] = 1
    centre: Place = MIDDLE
    opposed: bool = False
    """One head turn for each hand turn, half a turn ahead of the hand: an isolation."""

    def __post_init__(self) -> None:
        if self.head_turns == 0:
            raise ValueError("the head of a flower must turn: 0 head turns for each hand turn")
        if self.opposed and self.head_turns != 1:
            raise ValueError("an opposed head turns once for each hand turn")


@dataclass(frozen=True, slots=True)
class HoldAt:
    """The hand stays at a place."""

    at: Place = MIDDLE


@dataclass(frozen=True, slots=True)
class ArcAbout:
    """The hand runs evenly along a circle."""

    centre: Place
    radius: Length
    start_turns: Fraction
    turns: Fraction


@dataclass(frozen=True, slots=True)
class LineTo:
    """The hand runs straight from place to place, evenly or at rest at both ends."""

    start: Place
    end: Place
    eased: bool = False


HandRecipe: TypeAlias = HoldAt | ArcAbout | LineTo


@dataclass(frozen=True, slots=True)
class SegmentRecipe:
    """A share of the cycle; the head's motion knows no lengths, so it is the pattern's own."""

    share: Fraction
    hand: HandRecipe
    head: HeadMotion


@dataclass(frozen=True, slots=True)
class SegmentsRecipe:
    """A pattern put together from parts."""

    segments: tuple[SegmentRecipe, ...]


Recipe: TypeAlias = FlowerRecipe | SegmentsRecipe


def build(recipe: Recipe, body: Body, prop: Prop) -> Pattern:
    """The pattern in metres, for one performer and the prop in one of her hands.

    Raises
    ------
    ValueError
        If a radius comes out negative.
    """
    if isinstance(recipe, SegmentsRecipe):
        segments = tuple(
            Segment(part.share, _path(part.hand, body, prop), part.head) for part in recipe.segments
        )
        return Pattern(segments, tether_m=prop.length_m)
    return move_centre(_flower(recipe, body, prop), recipe.centre.metres_for(body, prop))


def _flower(recipe: FlowerRecipe, body: Body, prop: Prop) -> Pattern:
    radius_m = recipe.radius.metres_for(body, prop)
    if recipe.opposed:
        return isolation(
            tether_m=prop.length_m,
            direction=recipe.direction,
            start_turns=recipe.tip_turns,
            radius_m=radius_m,
        )
    return flower(
        recipe.head_turns,
        radius_m=radius_m,
        tether_m=prop.length_m,
        tip_turns=recipe.tip_turns,
        direction=recipe.direction,
    )


def _path(hand: HandRecipe, body: Body, prop: Prop) -> HandPath:
    match hand:
        case HoldAt(at):
            return Hold(at.metres_for(body, prop))
        case LineTo(start, end, eased):
            return Line(start.metres_for(body, prop), end.metres_for(body, prop), eased)
        case ArcAbout(centre, radius, start_turns, turns):
            return Arc(
                centre.metres_for(body, prop), radius.metres_for(body, prop), start_turns, turns
            )
