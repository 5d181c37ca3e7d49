"""Lengths that fit whoever performs the move: in tethers, arms, shoulder breadths or metres."""

import re
from dataclasses import dataclass
from math import isfinite

from composer.motion.body import Body, Prop

_TERM = re.compile(r"([+-]?)\s*(\d+(?:\.\d+)?(?:/\d+)?)\s*(tethers?|arms?|shoulders?|m)\b\s*")
_UNITS = {"tether": "tether", "arm": "arm", "shoulder": "shoulders", "m": "metres"}


@dataclass(frozen=True, slots=True)
class Length:
    """A sum of shares of the tether, of the arm and of the shoulder breadth, and of metres."""

    tether: float = 0.0
    arm: float = 0.0
    shoulders: float = 0.0
    metres: float = 0.0

    def __post_init__(self) -> None:
        for part in (self.tether, self.arm, self.shoulders, self.metres):
            if not isfinite(part):
                raise ValueError(f"a length must be finite, got {part}")

    def metres_for(self, body: Body, prop: Prop) -> float:
        """The length for one performer and the prop in one of her hands."""
        return (
            self.tether * prop.length_m
            + self.arm * body.arm_m
            + self.shoulders * body.shoulder_breadth_m
            + self.metres
        )


@dataclass(frozen=True, slots=True)
class Place:
    """A place in the plane of a move, from the middle of the chest at shoulder height."""

    across: Length = Length()
    up: Length = Length()

    def metres_for(self, body: Body, prop: Prop) -> complex:
        return complex(self.across.metres_for(body, prop), self.up.metres_for(body, prop))


MIDDLE = Place()
"""The middle of the chest at shoulder height."""


def length_from_text(text: str) -> Length:
    """``"0.65 arm"``, ``"1/2 tether"``, ``"0.5 arm - 1 tether + 0.1 m"`` or ``"0"``.

    Raises
    ------
    ValueError
        If the text is not such a sum.
    """
    rest = text.strip()
    if rest == "0":
        return Length()
    parts = dict.fromkeys(_UNITS.values(), 0.0)
    first = True
    while rest:
        term = _TERM.match(rest)
        if term is None or not (first or term[1]):
            raise ValueError(f'a length is written like "0.65 arm" or "1/2 tether", not "{text}"')
        upper, _, lower = term[2].partition("/")
        if lower and float(lower) == 0:
            raise ValueError(f'a length cannot be divided by 0: "{text}"')
        value = float(upper) / (float(lower) if lower else 1.0)
        unit = term[3] if term[3] == "m" else term[3].removesuffix("s")
        parts[_UNITS[unit]] += -value if term[1] == "-" else value
        rest, first = rest[term.end() :], False
    if first:
        raise ValueError('a length is written like "0.65 arm" or "1/2 tether", it was empty')
    return Length(**parts)
