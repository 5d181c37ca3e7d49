"""Which families a pair of patterns belongs to, by computation; a hybrid may be in several.

The families are common practice of the trade, with no published source; the rules are stated with
each function.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from composer.motion.hands import Hand, TwoHands
from composer.motion.kinematics import track_motion
from composer.motion.measures import winding_number
from composer.motion.pattern import Arc, Pattern, Segment, Spin
from composer.motion.trochoid import trochoid_of

AT_HAND_M = 0.02
"""A head this near the other hand is at it: about a hand's own breadth off the middle of a grip."""
LEVEL_M = 0.02
_SAME_M = 1e-6


class Family(StrEnum):
    UNIT_CIRCLE = "unit circle"
    EQUAL_DOWNBEATS = "equal-downbeat flowers"
    COMPOSITE = "composite"
    HEAD_TO_HAND = "head to hand"
    POLYRHYTHM = "polyrhythm"
    BODY_TRACING = "body tracing"


def families(two: TwoHands, *, traced_m: complex | None = None) -> frozenset[Family]:
    """Every family a hybrid is in.

    Parameters
    ----------
    traced_m : complex, optional
        The place on the body that is traced, in the patterns' plane; without it nothing is body
        tracing.
    """
    patterns = two.right.pattern, two.left.pattern
    rules = {
        Family.UNIT_CIRCLE: all(is_unit_circle(pattern) for pattern in patterns),
        Family.EQUAL_DOWNBEATS: are_equal_downbeat_flowers(two),
        Family.COMPOSITE: any(is_composite(pattern) for pattern in patterns),
        Family.HEAD_TO_HAND: any(one.holds for one in heads_to_hands(two)),
        Family.POLYRHYTHM: is_polyrhythm(two),
        Family.BODY_TRACING: traced_m is not None
        and any(traces(pattern, traced_m) for pattern in patterns),
    }
    return frozenset(family for family, holds in rules.items() if holds)


def is_unit_circle(pattern: Pattern) -> bool:
    """The hand keeps to a circle the size of an isolation's: half a tether in radius."""
    return all(
        isinstance(segment.hand, Arc)
        and abs(segment.hand.radius_m - pattern.tether_m / 2) < _SAME_M
        for segment in pattern.segments
    )


def are_equal_downbeat_flowers(two: TwoHands) -> bool:
    """Two different flowers (|n| > 1) with as many downbeats for the same turns of the hands."""
    right, left = trochoid_of(two.right.pattern), trochoid_of(two.left.pattern)
    if right is None or left is None or right.ratio == left.ratio:
        return False
    if not (abs(right.ratio) > 1 and abs(left.ratio) > 1 and right.petals and left.petals):
        return False
    same_turns = two.right.cycles * right.hand_turns == two.left.cycles * left.hand_turns
    return same_turns and abs(right.ratio) == abs(left.ratio)


def is_composite(pattern: Pattern) -> bool:
    """Assembled from parts: arcs with lines or holds, spins with swings, or two ratios n."""
    return len({_part(segment) for segment in pattern.segments}) > 1


def _part(segment: Segment) -> tuple[str, str, object]:
    """Kind of hand path, kind of head motion, and of arc with spin the ratio n."""
    path, head = type(segment.hand).__name__, type(segment.head).__name__
    if not isinstance(segment.head, Spin):
        return path, head, None
    if isinstance(segment.hand, Arc) and segment.hand.turns:
        return path, head, segment.head.turns / segment.hand.turns
    return path, head, segment.head.turns / segment.share


def is_polyrhythm(two: TwoHands) -> bool:
    """The heads pass straight down unequally often in the common cycle."""
    return len(two.right.downbeats) != len(two.left.downbeats)


def traces(pattern: Pattern, place_m: complex) -> bool:
    """Whether the head goes round a place of the body, at least once in a cycle."""
    winding = winding_number(pattern, place_m)
    return winding is not None and winding != 0


@dataclass(frozen=True, slots=True)
class HeadToHand:
    """How far one head ever is from the other hand, and from its height, over the common cycle."""

    head: Hand
    furthest_m: float
    furthest_from_level_m: float

    @property
    def at_the_hand(self) -> bool:
        return self.furthest_m <= AT_HAND_M

    @property
    def holds(self) -> bool:
        """The head stays at, or level with, the opposite hand."""
        return self.at_the_hand or self.furthest_from_level_m <= LEVEL_M


def heads_to_hands(two: TwoHands) -> tuple[HeadToHand, HeadToHand]:
    """For the right head against the left hand, and the left head against the right hand."""
    passed = np.linspace(0.0, 1.0, 721)
    right, left = track_motion(two.right, passed), track_motion(two.left, passed)
    gaps = {Hand.RIGHT: right.head_m - left.hand_m, Hand.LEFT: left.head_m - right.hand_m}
    one, other = (
        HeadToHand(hand, float(np.abs(gap).max()), float(np.abs(gap.imag).max()))
        for hand, gap in gaps.items()
    )
    return one, other
