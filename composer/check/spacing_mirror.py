"""Whether two partners stand as mirror images of each other."""

from fractions import Fraction
from math import atan2, pi

from composer.score.floor import Place


def askew_turns(
    one: Place, other: Place, one_facing_turns: Fraction, other_facing_turns: Fraction
) -> float:
    """Turns, 0 to 1/2, between where one faces and where the other's mirror image would face.

    The mirror stands half-way between the two, across the line that joins them. A reflection in a
    line at angle psi takes a direction theta to 2 psi - theta (plane geometry); with facing 0 to
    the audience and the line from the one to the other at angle phi from stage right, the image of
    a facing f is 2 phi - f. Side by side, both to the audience: 0. Face to face: 0.
    """
    across, towards_audience = other.x_m - one.x_m, one.y_m - other.y_m
    if across == 0 and towards_audience == 0:
        return 0.0
    angle = atan2(towards_audience, across) / (2 * pi)
    off = float(one_facing_turns + other_facing_turns) - 2 * angle
    return abs(off - round(off))
