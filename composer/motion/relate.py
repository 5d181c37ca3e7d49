"""Set two patterns against each other so that a wanted relation of the hands holds."""

from fractions import Fraction
from math import gcd
from typing import Literal, TypeAlias

from composer.motion.hands import HandTrack, TwoHands
from composer.motion.pattern import DOWN, Pattern
from composer.motion.transforms import mirror
from composer.motion.trochoid import trochoid_of

Direction: TypeAlias = Literal["same", "opposite"]

TOGETHER = Fraction(0)
SPLIT = Fraction(1, 2)
QUARTER = Fraction(1, 4)


def relate(
    right: Pattern,
    left: Pattern,
    timing: Fraction,
    direction: Direction,
    *,
    entry: int = 0,
    cycles: tuple[int, int] | None = None,
) -> TwoHands:
    """A hybrid in which the left hand stands in a wanted relation to the right.

    The right pattern stays as it is, begun at its phase 0. The left one is mirrored if its
    direction needs it, and entered so that, at the first instant the right hand passes the bottom
    of its circle, the left hand is ``timing`` of a turn on from the bottom of its own,
    counter-clockwise: exactly, as a fraction. If either hand does not run evenly on one circle
    the same is asked of the heads: at the first instant the right tether points straight down.

    Parameters
    ----------
    timing : Fraction
        0 together, 1/2 split, 1/4 or 3/4 quarter.
    direction : "same" or "opposite"
        Senses of turning compared as the performer sees the plane.
    entry : int
        Where the left pattern passes the wanted place more than once in its cycle: which pass.
    cycles : (int, int), optional
        How often each pattern runs in the common cycle. Left out, hands that both circle turn at
        one rate, a head about a hand that is held turns once for each turn of the other hand, and
        anything else runs once against once.

    Raises
    ------
    ValueError
        If the direction is neither word, the patterns cannot stand so (a head that never points
        there), or there is no such entry.
    """
    if direction not in ("same", "opposite"):
        raise ValueError(f'a direction is "same" or "opposite", got {direction!r}')
    by_hands = circles_with_the_hand(right) and circles_with_the_hand(left)
    anchor = first_at_the_bottom(right, by_hands=by_hands)
    if anchor is None:
        raise ValueError("the right head never points straight down, so nothing can be set by it")
    start, sense = anchor
    wanted = sense * (1 if direction == "same" else -1)
    left, found = ways_in(left, timing, wanted, by_hands=by_hands)
    if not found:
        raise ValueError(f"the left head never points {timing} of a turn from down in that sense")
    if not 0 <= entry < len(found):
        count = "is 1 such entry" if len(found) == 1 else f"are {len(found)} such entries"
        raise ValueError(f"there {count}, so none has number {entry + 1}")
    right_cycles, left_cycles = cycles or common_cycles(right, left)
    offset = (found[entry] - left_cycles * start / right_cycles) % 1
    return TwoHands(HandTrack(right, right_cycles), HandTrack(left, left_cycles, offset))


def first_at_the_bottom(pattern: Pattern, *, by_hands: bool) -> tuple[Fraction, int] | None:
    """Phase at which the hand (or, without ``by_hands``, the head) first points straight down.

    With the sense it turns in there; None if it never does. Whether by the hands is told by
    :func:`circles_with_the_hand` of both.
    """
    found = (_hand_passes if by_hands else _head_passes)(pattern, DOWN)
    return found[0] if found else None


def ways_in(
    pattern: Pattern, timing: Fraction, sense: int, *, by_hands: bool
) -> tuple[Pattern, tuple[Fraction, ...]]:
    """Phases at which hand or head points ``timing`` of a turn on from down, turning in a sense.

    The pattern is mirrored where it never does so as it is; no phases where it does neither way.
    """
    passes = _hand_passes if by_hands else _head_passes
    for way in (pattern, mirror(pattern)):
        found = tuple(phase for phase, turning in passes(way, DOWN + timing) if turning == sense)
        if found:
            return way, found
    return pattern, ()


def circles_with_the_hand(pattern: Pattern) -> bool:
    """Whether the hand runs evenly on one circle all through the cycle."""
    shape = trochoid_of(pattern)
    return shape is not None and shape.radius_m > 0


def common_cycles(right: Pattern, left: Pattern) -> tuple[int, int]:
    """How often each pattern closes in the common cycle, by the rule of :func:`relate`."""
    turns = [_turns_to_match(pattern) for pattern in (right, left)]
    if None in turns:
        return 1, 1
    right_turns, left_turns = (int(t) for t in turns if t is not None)
    shared = gcd(right_turns, left_turns)
    return left_turns // shared, right_turns // shared


def _turns_to_match(pattern: Pattern) -> int | None:
    """Turns a cycle that are matched between hands: the hand's, or a held hand's head's."""
    shape = trochoid_of(pattern)
    if shape is None:
        return None
    return shape.hand_turns if shape.radius_m > 0 else abs(int(pattern.head_turns))


def _hand_passes(pattern: Pattern, direction: Fraction) -> list[tuple[Fraction, int]]:
    """Phases at which the hand passes a place on its circle, with its sense of turning."""
    shape = trochoid_of(pattern)
    assert shape is not None
    sense, turns = shape.direction, shape.hand_turns
    first = (sense * (direction - shape.hand_start_turns)) % 1
    return [((first + k) / turns, sense) for k in range(turns)]


def _head_passes(pattern: Pattern, direction: Fraction) -> list[tuple[Fraction, int]]:
    return [(p.phase, p.sense) for p in pattern.tether_passes(direction)]
