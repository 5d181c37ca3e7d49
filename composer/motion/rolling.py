"""Textbook names for the same curves: a point on an arm of a circle that rolls on a fixed one.

A textbook gives the fixed circle's radius as k times the rolling one's, and the arm's length. The
performer's words are the hand's radius, the tether and the head's turns for each hand turn.

References
----------
E. W. Weisstein, MathWorld: Hypotrochoid, Epitrochoid.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, TypeAlias

from composer.motion.pattern import DOWN
from composer.motion.trochoid import Trochoid

Rolling: TypeAlias = Literal["inside", "outside"]


@dataclass(frozen=True, slots=True)
class RollingCircle:
    """A circle rolling inside (hypo-) or outside (epi-) a fixed one of k times its radius."""

    rolling: Rolling
    radii_ratio: Fraction
    """k: fixed radius over rolling radius; above 1 for a circle that rolls inside."""
    rolling_radius_m: float
    arm_m: float
    """From the rolling circle's middle to the drawing point."""

    def __post_init__(self) -> None:
        least = 1 if self.rolling == "inside" else 0
        if self.radii_ratio <= least:
            raise ValueError(
                f"a circle rolls {self.rolling} for k > {least}, got {self.radii_ratio}"
            )


def from_rolling(circle: RollingCircle, *, tip_turns: Fraction = DOWN) -> Trochoid:
    """n = 1 - k, R = (k - 1) b inside; n = 1 + k, R = (k + 1) b outside; L is the arm."""
    k, b = circle.radii_ratio, circle.rolling_radius_m
    ratio, radius = (
        (1 - k, float(k - 1) * b)
        if circle.rolling == "inside"
        else (
            1 + k,
            float(k + 1) * b,
        )
    )
    return Trochoid(ratio, radius, circle.arm_m, tip_turns, tip_turns)


def as_rolling(shape: Trochoid) -> RollingCircle:
    """The rolling circle that draws a shape.

    Raises
    ------
    ValueError
        For n from 0 to 1: no circle smaller than the fixed one draws it.
    """
    n = shape.ratio
    if 0 <= n <= 1:
        raise ValueError(f"no circle rolling inside or outside another draws n = {n}")
    size = shape.radius_m / abs(float(n))
    if n < 0:
        return RollingCircle("inside", 1 - n, size, shape.tether_m)
    return RollingCircle("outside", n - 1, size, shape.tether_m)


def ratio_on_the_arm(ratio: Fraction) -> Fraction:
    """Head turns for each hand turn as counted against the arm that carries it: n - 1."""
    return ratio - 1


def ratio_in_the_room(on_the_arm: Fraction) -> Fraction:
    """Head turns for each hand turn against the room, from the count against the arm."""
    return on_the_arm + 1
