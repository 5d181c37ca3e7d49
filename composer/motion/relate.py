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
    of_hands = circles_with_the_hand(right) and circles_with_the_hand(left)
    passes = _hand_passes if of_hands else _head_passes
    anchors = passes(right, DOWN)
    if not anchors:
        raise ValueError("the right head never points straight down, so nothing can be set by it")
    sense = anchors[0][1] * (1 if direction == "same" else -1)
    goal = DOWN + timing
    found = [phase for phase, turning in passes(left, goal) if turning == sense]
    if not found:
        left = mirror(left)
        found = [phase for phase, turning in passes(left, goal) if turning == sense]
    if not found:
        raise ValueError(f"the left head never points {timing} of a turn from down in that sense")
    if not 0 <= entry < len(found):
        raise ValueError(f"there are {len(found)} such entries, counted from 0, got {entry}")
    right_cycles, left_cycles = cycles or common_cycles(right, left)
    anchor = anchors[0][0] / right_cycles
    offset = (found[entry] - left_cycles * anchor) % 1
    return TwoHands(HandTrack(right, right_cycles), HandTrack(left, left_cycles, offset))


def entries(right: Pattern, left: Pattern, timing: Fraction, direction: Direction) -> int:
    """In how many ways :func:`relate` can enter the left pattern; 0 if the relation cannot be."""
    count = 0
    while True:
        try:
            relate(right, left, timing, direction, entry=count)
        except ValueError:
            return count
        count += 1


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
