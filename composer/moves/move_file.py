"""A file of moves as written: TOML rows, checked field by field.

A file holds three tables. ``[cautions]`` gives each caution a short name and its sentence.
``[[one_hand]]`` is a one-hand move: ``name``, ``words``, and either ``flower`` or ``segments``.
``[[hybrid]]`` is two of them at once: ``name``, ``words``, ``right``, ``left``, ``hands``.
Fractions and lengths are text (``"3/4"``, ``"0.65 arm"``), directions are ``"down"``,
``"right"``, ``"up"``, ``"left"`` or a fraction of a turn. The shipped files are the fullest
examples.
"""

import tomllib
from collections.abc import Callable
from fractions import Fraction
from math import gcd
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    model_validator,
)

from composer.errors import MoveFileError
from composer.motion.pattern import DOWN, UP, Spin, Swing
from composer.motion.plane import Plane
from composer.moves.lengths import MIDDLE, Length, Place, length_from_text
from composer.moves.model import TOGETHER_SAME, Depth, Relation, relation_from_text
from composer.moves.recipe import (
    ArcAbout,
    FlowerRecipe,
    HandRecipe,
    HoldAt,
    LineTo,
    Recipe,
    SegmentRecipe,
    SegmentsRecipe,
)
from composer.moves.written import first_problem, one_line
from composer.timing.beats import exact_beats

LARGEST = 99
"""Ours: of turns, beats and parts; what closes later than that nobody performs."""
DIRECTIONS = {
    "down": DOWN,
    "right": Fraction(0),
    "up": UP,
    "left": Fraction(1, 2),
}


def _from_text(read: Callable[[str], Any], example: str) -> BeforeValidator:
    def check(value: object) -> Any:
        if not isinstance(value, str):
            raise ValueError(f'write text in quotes, such as "{example}", not {value}')
        return read(value)

    return BeforeValidator(check)


def _fraction(text: str) -> Fraction:
    try:
        value = exact_beats(text)
    except ValueError:
        raise ValueError(f'write a fraction, such as "3/4", not "{text[:40]}"') from None
    if abs(value) > LARGEST or value.denominator > LARGEST:
        raise ValueError(f"{text} is out of range; numbers go up to {LARGEST}, parts down to 1/99")
    return value


def _direction(text: str) -> Fraction:
    return DIRECTIONS[text] if text in DIRECTIONS else _fraction(text)


def _head_turns(text: str) -> Fraction:
    """Head turns for each hand turn, in lowest terms: one hand cannot draw a compound star."""
    value = _fraction(text)
    upper, slash, lower = text.partition("/")
    common = gcd(int(upper), int(lower)) if slash else 1
    if common > 1:
        points = abs(int(upper) - int(lower))
        raise ValueError(
            f"one hand closes {text} as {value}, so it cannot draw a star of {points} points in "
            f"{common} pieces; write {value}, or draw the star with two hands"
        )
    return value


def _place(value: object) -> Place:
    if not (isinstance(value, list) and len(value) == 2 and all(isinstance(v, str) for v in value)):
        raise ValueError(f'write a place as ["0.5 arm", "0"], across and up, not {value}')
    return Place(length_from_text(value[0]), length_from_text(value[1]))


Exact = Annotated[Fraction, _from_text(_fraction, "3/4")]
Angle = Annotated[Fraction, _from_text(_direction, "down")]
HeadTurns = Annotated[Fraction, _from_text(_head_turns, "-3/2")]
LengthText = Annotated[Length, _from_text(length_from_text, "0.65 arm")]
PlaceText = Annotated[Place, BeforeValidator(_place)]
RelationText = Annotated[Relation, _from_text(relation_from_text, "split same")]


class Row(BaseModel):
    model_config = ConfigDict(
        extra="forbid", frozen=True, arbitrary_types_allowed=True, defer_build=True
    )


class FlowerRow(Row):
    head_turns: HeadTurns
    radius: LengthText
    tip: Angle = DOWN
    direction: Literal["counter-clockwise", "clockwise"] = "counter-clockwise"
    centre: PlaceText = MIDDLE
    opposed: bool = False

    @model_validator(mode="after")
    def one_that_turns(self) -> "FlowerRow":
        self.recipe()
        return self

    def recipe(self) -> FlowerRecipe:
        sense: Literal[1, -1] = 1 if self.direction == "counter-clockwise" else -1
        return FlowerRecipe(
            self.head_turns, self.radius, self.tip, sense, self.centre, self.opposed
        )


class ArcRow(Row):
    centre: PlaceText = MIDDLE
    radius: LengthText
    start: Angle = Field(alias="from")
    turns: Exact


class LineRow(Row):
    start: PlaceText = Field(alias="from")
    end: PlaceText = Field(alias="to")
    eased: bool = False


class SpinRow(Row):
    start: Angle = Field(alias="from")
    turns: Exact


class SwingRow(Row):
    about: Angle = DOWN
    reach: Exact
    start: Exact = Fraction(0)
    cycles: Exact = Fraction(1)


class SegmentRow(Row):
    share: Exact
    hold: PlaceText | None = None
    arc: ArcRow | None = None
    line: LineRow | None = None
    spin: SpinRow | None = None
    swing: SwingRow | None = None

    @model_validator(mode="after")
    def one_path_and_one_head(self) -> "SegmentRow":
        if sum(path is not None for path in (self.hold, self.arc, self.line)) != 1:
            raise ValueError("a segment takes one of hold, arc and line for the hand")
        if (self.spin is None) == (self.swing is None):
            raise ValueError("a segment takes one of spin and swing for the head")
        if self.share <= 0:
            raise ValueError(f"a segment takes a positive share of the cycle, not {self.share}")
        return self

    def recipe(self) -> SegmentRecipe:
        return SegmentRecipe(self.share, self._path(), self._head())

    def _path(self) -> HandRecipe:
        if self.arc is not None:
            return ArcAbout(self.arc.centre, self.arc.radius, self.arc.start, self.arc.turns)
        if self.line is not None:
            return LineTo(self.line.start, self.line.end, self.line.eased)
        return HoldAt(self.hold or MIDDLE)

    def _head(self) -> Spin | Swing:
        if self.spin is not None:
            return Spin(self.spin.start, self.spin.turns)
        swing = self.swing
        assert swing is not None
        return Swing(swing.about, swing.reach, swing.start, swing.cycles)


class DepthRow(Row):
    share: Exact
    start: LengthText = Field(alias="from")
    end: LengthText = Field(alias="to")

    def depth(self) -> Depth:
        return Depth(self.share, self.start, self.end)


class NamedRow(Row):
    name: Annotated[str, Field(min_length=1, max_length=80), AfterValidator(one_line)]
    words: Annotated[str, Field(min_length=1), AfterValidator(one_line)]
    also: tuple[Annotated[str, AfterValidator(one_line)], ...] = ()
    plane: Plane = Plane.WALL
    tilt: float = Field(default=0.0, ge=-0.5, le=0.5)
    cautions: tuple[str, ...] = ()


class OneHandRow(NamedRow):
    flower: FlowerRow | None = None
    segments: tuple[SegmentRow, ...] | None = None
    depth: tuple[DepthRow, ...] = ()
    hands: RelationText = TOGETHER_SAME
    left_entry: int = Field(default=1, ge=1)
    beats: Exact | None = None

    @model_validator(mode="after")
    def one_recipe(self) -> "OneHandRow":
        if (self.flower is None) == (self.segments is None):
            raise ValueError("a one-hand move takes one of flower and segments")
        for name, parts in (("segments", self.segments), ("depth", self.depth)):
            total = sum((part.share for part in parts or ()), Fraction(0))
            if parts is not None and parts != () and total != 1:
                raise ValueError(f"the shares of its {name} must add up to 1, they give {total}")
        if self.segments == ():
            raise ValueError("a move needs at least one segment")
        if self.beats is not None and self.beats <= 0:
            raise ValueError(f"beats must be positive, not {self.beats}")
        return self

    def recipe(self) -> Recipe:
        if self.flower is not None:
            return self.flower.recipe()
        return SegmentsRecipe(tuple(row.recipe() for row in self.segments or ()))


class UseRow(Row):
    move: str
    orientation: Exact = Fraction(0)
    mirrored: bool = False
    centre: PlaceText = MIDDLE


Cycles = Annotated[int, Field(ge=1, le=LARGEST)]
"""Of one hand until both close together."""


class HybridRow(NamedRow):
    right: UseRow
    left: UseRow
    hands: RelationText
    left_entry: int = Field(default=1, ge=1)
    cycles: tuple[Cycles, Cycles] | None = None
    tracing: PlaceText | None = None


class MoveFileRows(Row):
    cautions: dict[str, Annotated[str, AfterValidator(one_line)]] = {}
    one_hand: tuple[OneHandRow, ...] = ()
    hybrid: tuple[HybridRow, ...] = ()


def rows_from_text(text: str, source: str) -> MoveFileRows:
    """The rows of a file of moves.

    Raises
    ------
    MoveFileError
        With one line that names the first place that is wrong.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise MoveFileError(f"{source}: not a TOML file: {error}") from None
    except (ValueError, RecursionError):
        raise MoveFileError(
            f"{source}: a number of thousands of digits, or rows nested too deeply"
        ) from None
    try:
        return MoveFileRows.model_validate(data)
    except ValidationError as error:
        raise MoveFileError(f"{source}: {first_problem(error, data)}") from None
