"""The parts a pattern is made of: how the hand goes and how the head turns over a share of it.

Lengths are metres; angles are exact turns, 0 = +x (the performer's right in the wall plane),
counter-clockwise positive, down = 3/4. Positions in the plane are complex numbers, across + up i.
"""

import cmath
import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, TypeAlias

DOWN = Fraction(3, 4)
UP = Fraction(1, 4)
TAU = math.tau


@dataclass(frozen=True, slots=True)
class Hold:
    """The hand stays at a place."""

    at_m: complex = 0j


@dataclass(frozen=True, slots=True)
class Arc:
    """The hand runs evenly along a circle, through signed exact turns."""

    centre_m: complex
    radius_m: float
    start_turns: Fraction
    turns: Fraction


@dataclass(frozen=True, slots=True)
class Line:
    """The hand runs straight from start to end, evenly, or ``eased``: at rest at both ends.

    Eased travel is half a cosine wave, so a to-and-fro of two eased lines is one smooth swing.
    """

    start_m: complex
    end_m: complex
    eased: bool = False
    part: tuple[Fraction, Fraction] = (Fraction(0), Fraction(1))
    """Of an eased line that was cut: from where to where, in its time, it is run."""


@dataclass(frozen=True, slots=True)
class Spin:
    """The head turns evenly about the hand, through signed exact turns in the room."""

    start_turns: Fraction
    turns: Fraction


@dataclass(frozen=True, slots=True)
class Swing:
    """The head swings to and fro: about + amplitude * sin(2 pi (start + cycles * share passed)).

    It hangs still at the turning points, where start + cycles * share is 1/4 or 3/4.
    """

    about_turns: Fraction
    amplitude_turns: Fraction
    start: Fraction
    cycles: Fraction


Side: TypeAlias = Literal["before", "after"]
HandPath: TypeAlias = Hold | Arc | Line
HeadMotion: TypeAlias = Spin | Swing


@dataclass(frozen=True, slots=True)
class Segment:
    """A share of the cycle in which hand path and head motion each follow one rule."""

    share: Fraction
    hand: HandPath
    head: HeadMotion


def carries_on(one: Segment, two: Segment) -> bool:
    """Whether the second segment goes on as the first did: same paths, same rates, no jump."""
    pace = two.share / one.share
    match one.head, two.head:
        case Spin(), Spin():
            head = (
                two.head.turns == one.head.turns * pace
                and (two.head.start_turns - one.head.start_turns - one.head.turns) % 1 == 0
            )
        case Swing(), Swing():
            head = (
                two.head.cycles == one.head.cycles * pace
                and (two.head.start - one.head.start - one.head.cycles) % 1 == 0
                and two.head.amplitude_turns == one.head.amplitude_turns
                and (two.head.about_turns - one.head.about_turns) % 1 == 0
            )
        case _:
            head = False
    return head and _path_carries_on(one.hand, two.hand, pace)


def _path_carries_on(one: HandPath, two: HandPath, pace: Fraction) -> bool:
    match one, two:
        case Hold(), Hold():
            return abs(one.at_m - two.at_m) < 1e-9
        case Arc(), Arc():
            return (
                abs(one.centre_m - two.centre_m) < 1e-9
                and abs(one.radius_m - two.radius_m) < 1e-9
                and two.turns == one.turns * pace
                and (two.start_turns - one.start_turns - one.turns) % 1 == 0
            )
        case Line(), Line():
            return _line_carries_on(one, two, pace)
        case _:
            return False


def _line_carries_on(one: Line, two: Line, pace: Fraction) -> bool:
    if one.eased and two.eased:
        same_way = abs(two.start_m - one.start_m) + abs(two.end_m - one.end_m) < 1e-9
        (one_from, one_to), (two_from, two_to) = one.part, two.part
        return same_way and one_to == two_from and two_to - two_from == pace * (one_to - one_from)
    if one.eased or two.eased:
        return False
    way = (one.end_m - one.start_m) * float(pace)
    return abs(two.start_m - one.end_m) + abs(two.end_m - two.start_m - way) < 1e-9


def check_path(path: HandPath) -> None:
    if isinstance(path, Arc):
        if not (math.isfinite(path.radius_m) and path.radius_m >= 0):
            raise ValueError(f"a radius must be finite and not negative, got {path.radius_m} m")
        points = [path.centre_m]
    else:
        points = [path.at_m] if isinstance(path, Hold) else [path.start_m, path.end_m]
        if isinstance(path, Line) and not 0 <= path.part[0] < path.part[1] <= 1:
            raise ValueError(f"a part of a line runs from 0 to 1 at most, got {path.part}")
    if not all(cmath.isfinite(point) for point in points):
        raise ValueError(f"places must be finite, got {points}")
