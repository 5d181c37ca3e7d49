"""Stars and roses: which a single hand can draw, and how many petals they have."""

from fractions import Fraction
from math import gcd


def rose_petals(k: Fraction) -> int:
    """Petals of r = cos(k theta), by the rule of its own (MathWorld, Rose Curve).

    For k = a/b in lowest terms: a petals if a and b are both odd, else 2a.
    """
    return k.numerator if k.numerator % 2 and k.denominator % 2 else 2 * k.numerator


def one_hand_star(points: int, step: int) -> tuple[Fraction, Fraction]:
    """The two ratios n that draw the star {points/step} with one hand: anti-spin, in-spin.

    {5/2}: -3/2 and 7/2.

    Raises
    ------
    ValueError
        If it is not a star, or a compound one such as {6/2}: p/q in lowest terms makes p - q and
        q share no factor, so one closed curve never falls into several parts.
    """
    if points < 2 or not 1 <= step < points:
        raise ValueError(f"a star has at least 2 points and a step below them: {points}/{step}")
    parts = gcd(points, step)
    if parts > 1:
        raise ValueError(
            f"one hand cannot draw {{{points}/{step}}}: it falls into {parts} closed figures, "
            f"and a head that closes after {step} hand turns draws only one; share it between hands"
        )
    return Fraction(step - points, step), Fraction(step + points, step)
