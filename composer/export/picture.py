"""A drawn page as plain values: strokes, dots, shapes and words, before it is SVG or PNG.

Pixels of the page: x to the right, y down from the top left corner.
"""

from dataclasses import dataclass
from typing import Literal, TypeAlias

from composer.motion.kinematics import Floats

Ink: TypeAlias = tuple[int, int, int]
Anchor: TypeAlias = Literal["start", "middle", "end"]

NIGHT: Ink = (9, 11, 16)
RIGHT_INK: Ink = (255, 224, 178)
LEFT_INK: Ink = (96, 178, 214)
HAND_INK: Ink = (120, 124, 138)
BODY_INK: Ink = (30, 34, 44)
ARM_INK: Ink = (46, 52, 66)
MARK_INK: Ink = (240, 242, 246)
MEETING_INK: Ink = (255, 122, 144)
WORDS_INK: Ink = (206, 210, 220)
QUIET_INK: Ink = (136, 142, 156)


def mixed(ink: Ink, opacity: float, ground: Ink = NIGHT) -> Ink:
    """The ink as it looks on the ground at an opacity from 0 to 1."""
    red, green, blue = (
        round(below + (above - below) * opacity) for above, below in zip(ink, ground, strict=True)
    )
    return red, green, blue


@dataclass(frozen=True, slots=True, eq=False)
class Stroke:
    """A line through points, shape=(n, 2)."""

    points: Floats
    ink: Ink
    width: float
    opacity: float = 1.0
    glow: bool = False
    """Light that spreads: wide and soft, under everything sharp."""
    closed: bool = False
    fill: Ink | None = None


@dataclass(frozen=True, slots=True)
class Dot:
    x: float
    y: float
    radius: float
    ink: Ink
    opacity: float = 1.0
    ring_width: float = 0.0
    """0 for a filled dot, otherwise the width of a ring."""


@dataclass(frozen=True, slots=True)
class Words:
    x: float
    y: float
    """Of the base line."""
    text: str
    size: float
    ink: Ink = WORDS_INK
    anchor: Anchor = "start"


Shape: TypeAlias = Stroke | Dot | Words


@dataclass(frozen=True, slots=True)
class Picture:
    """A page: its size in pixels, what is on it in drawing order, and words for who cannot see."""

    width: int
    height: int
    shapes: tuple[Shape, ...]
    title: str
    description: str
    ground: Ink = NIGHT
