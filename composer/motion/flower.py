"""The simple family: a hand turning evenly on a circle, a head turning evenly about the hand.

n is the head's turns for each hand turn, in the hand's own direction and counted in the room, in
lowest terms p/q: the pattern closes after q hand turns, in which the head makes p.
"""

from fractions import Fraction

from composer.motion.pattern import DOWN, Arc, Hold, Pattern, Segment, Spin


def static_spin(*, tether_m: float, direction: int = 1) -> Pattern:
    """The hand held still, the head turning once, from straight down."""
    return Pattern(
        (Segment(Fraction(1), Hold(), Spin(DOWN, Fraction(direction))),), tether_m=tether_m
    )


def flower(
    head_turns_per_hand_turn: Fraction,
    *,
    radius_m: float,
    tether_m: float,
    tip_turns: Fraction = DOWN,
    direction: int = 1,
) -> Pattern:
    """Hand on a circle about the origin, head turning n times for each hand turn.

    Parameters
    ----------
    head_turns_per_hand_turn : Fraction
        n = p/q. 1 with a tip is an extension; -1 a cat-eye; below -1 anti-spin; above 1 in-spin.
    radius_m, tether_m : float
    tip_turns : Fraction
        Direction of one petal tip, where tether and hand point the same way; the cycle starts
        there. For n = 1 and 1/2 turn off, see :func:`isolation`.
    direction : int
        +1 counter-clockwise hand, -1 clockwise.

    Raises
    ------
    ValueError
        If n is 0, the direction is not 1 or -1, or a length is out of range.

    References
    ----------
    J. D. Lawrence, A Catalog of Special Plane Curves, 1972: epi- and hypotrochoids.
    """
    return _even(head_turns_per_hand_turn, radius_m, tether_m, tip_turns, tip_turns, direction)


def isolation(
    *,
    tether_m: float,
    direction: int = 1,
    start_turns: Fraction = DOWN,
    radius_m: float | None = None,
) -> Pattern:
    """The head half a turn ahead of the hand, both turning once.

    With the default radius of half a tether the head traces the hand's own circle.
    """
    radius = tether_m / 2 if radius_m is None else radius_m
    return _even(
        Fraction(1), radius, tether_m, start_turns, start_turns + Fraction(1, 2), direction
    )


def _even(
    n: Fraction,
    radius_m: float,
    tether_m: float,
    hand_start: Fraction,
    tether_start: Fraction,
    direction: int,
) -> Pattern:
    if direction not in (1, -1):
        raise ValueError(f"a direction is 1 or -1, got {direction}")
    if n == 0:
        raise ValueError("the head must turn: n is not 0")
    hand_turns = Fraction(direction * n.denominator)
    head_turns = Fraction(direction * n.numerator)
    segment = Segment(
        Fraction(1), Arc(0j, radius_m, hand_start, hand_turns), Spin(tether_start, head_turns)
    )
    return Pattern((segment,), tether_m=tether_m)
