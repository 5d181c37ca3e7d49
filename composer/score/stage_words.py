"""Words for places on the stage: stage left and right, up and down, nine areas, or the compass.

Stage right is the right of a performer who faces the audience, upstage is away from the audience
(general theatre usage; the nine areas as in BBC Bitesize Drama, "nine stage positions"). In the
round there is no upstage, so places are told by the compass, north where upstage would be.
"""

from fractions import Fraction
from math import atan2, hypot, pi

from composer.score.floor import Place
from composer.score.routine import Stage

AREAS = (("DSR", "DSC", "DSL"), ("SR", "CS", "SL"), ("USR", "USC", "USL"))
"""Rows from the front edge upstage, each from stage right to stage left."""
_AREA_WORDS = {
    "DSR": "downstage right",
    "DSC": "downstage centre",
    "DSL": "downstage left",
    "SR": "stage right",
    "CS": "centre stage",
    "SL": "stage left",
    "USR": "upstage right",
    "USC": "upstage centre",
    "USL": "upstage left",
}
_COMPASS = (
    "north",
    "north-west",
    "west",
    "south-west",
    "south",
    "south-east",
    "east",
    "north-east",
)
"""Counter-clockwise from north, as seen from above; west is where x grows."""
MIDDLE_M = 0.05
"""Nearer than this a place is told as the middle."""


def area(place: Place, stage: Stage) -> str:
    """One of the nine areas, each a third of the width and of the depth; ``"CS"`` is the middle.

    Places beyond the floor belong to the nearest area.
    """
    across = 0 if place.x_m > stage.width_m / 6 else 2 if place.x_m < -stage.width_m / 6 else 1
    up = 0 if place.y_m < stage.depth_m / 3 else 2 if place.y_m > 2 * stage.depth_m / 3 else 1
    return AREAS[up][across]


def area_words(place: Place, stage: Stage) -> str:
    """``"downstage left"``; in the round ``"north-west"`` or ``"in the middle"``."""
    return (
        _compass_words(place, stage)[0] if stage.in_the_round else _AREA_WORDS[area(place, stage)]
    )


def place_words(place: Place, stage: Stage) -> str:
    """``"1.5 m stage left, 2 m upstage"``; in the round ``"1.5 m north-west of the middle"``."""
    if stage.in_the_round:
        direction, distance = _compass_words(place, stage)
        return direction if not distance else f"{distance} {direction} of the middle"
    across = f"{_metres(abs(place.x_m))} {side_words(place.x_m)}"
    if abs(place.x_m) < MIDDLE_M:
        across = "on the middle line"
    if place.y_m < 0:
        return f"{across}, {_metres(-place.y_m)} beyond the front edge"
    return f"{across}, {_metres(place.y_m)} upstage"


def side_words(x_m: float) -> str:
    return "stage right" if x_m >= 0 else "stage left"


def seen_from_the_other_side(place: Place, stage: Stage) -> Place:
    """The floor turned by half a turn about its middle: what was near is far, left is right.

    Plans for the audience and for the performers differ by it; twice it changes nothing.
    """
    return Place(-place.x_m, stage.depth_m - place.y_m)


def facing_words(turns: Fraction, stage: Stage) -> str:
    """``"to the audience"``, ``"upstage"``, ``"1/8 turn to her left"``, or the compass."""
    turned = turns % 1
    if stage.in_the_round:
        return _COMPASS[round(float(turned) * 8 + 4) % 8]
    if turned == 0:
        return "to the audience"
    if turned == Fraction(1, 2):
        return "upstage"
    if turned < Fraction(1, 2):
        return f"{turned} turn to her left"
    return f"{1 - turned} turn to her right"


def _compass_words(place: Place, stage: Stage) -> tuple[str, str]:
    """Direction and distance from the middle; distance is empty in the middle itself."""
    west, north = place.x_m, place.y_m - stage.depth_m / 2
    distance = hypot(west, north)
    if distance < MIDDLE_M:
        return "in the middle", ""
    eighth = round(atan2(west, north) / (2 * pi) * 8) % 8
    return _COMPASS[eighth], _metres(distance)


def _metres(value: float) -> str:
    return f"{round(value, 2):g} m"
