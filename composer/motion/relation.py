"""How two hands stand to each other: direction and timing, of the hands and of the heads.

Timing is where the other one points at the instant one points straight down, as a share of a turn
from down: 0 together, 1/2 split, 1/4 or 3/4 quarter. A relation is constant where it is the same
at every such instant; otherwise it is a sequence.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, TypeAlias

from composer.motion.hands import HandTrack, TwoHands
from composer.motion.pattern import DOWN
from composer.motion.trochoid import Trochoid, trochoid_of

Sense: TypeAlias = Literal["same", "opposite", "still"]

_TIMING_WORDS = {
    Fraction(0): "together",
    Fraction(1, 2): "split",
    Fraction(1, 4): "quarter",
    Fraction(3, 4): "quarter",
}


@dataclass(frozen=True, slots=True)
class Relation:
    """Direction, and the left one's share of a turn from down when the right one is down.

    Where the left one is down first the same figure is worked back from the right one's place, so
    that a steady relation reads the same from either side.
    """

    direction: Sense
    """"still" where one of the two is at rest for the instant."""
    timing: Fraction

    @property
    def words(self) -> str:
        """``"split same"``, ``"together opposite"``, or the share: ``"1/3 turn on, same"``."""
        word = _TIMING_WORDS.get(self.timing)
        return f"{word} {self.direction}" if word else f"{self.timing} turn on, {self.direction}"


@dataclass(frozen=True, slots=True)
class RelationAt:
    """A relation and the share of the common cycle at which it is read."""

    passed: Fraction
    relation: Relation


def head_relations(two: TwoHands) -> tuple[RelationAt, ...]:
    """The heads' relation at every downbeat of either, in order; empty if neither has one."""
    instants = set(two.right.downbeats) | set(two.left.downbeats)
    return _relations(instants, _head_of(two.right), _head_of(two.left))


def hand_relations(two: TwoHands) -> tuple[RelationAt, ...]:
    """The hands' relation whenever either passes the bottom of its circle.

    Empty unless both hands run evenly on a circle.
    """
    shapes = trochoid_of(two.right.pattern), trochoid_of(two.left.pattern)
    right, left = (shape if shape is not None and shape.radius_m > 0 else None for shape in shapes)
    if right is None or left is None:
        return ()
    instants = set(_bottoms(two.right, right)) | set(_bottoms(two.left, left))
    return _relations(instants, _hand_of(two.right, right), _hand_of(two.left, left))


def constant_relation(relations: tuple[RelationAt, ...]) -> Relation | None:
    """The one relation that holds at every instant, or None for a sequence."""
    kinds = {one.relation for one in relations}
    return kinds.pop() if len(kinds) == 1 else None


def relation_words(relations: tuple[RelationAt, ...]) -> str:
    """``"split same"`` or the sequence in order, ``"together opposite, split opposite"``."""
    constant = constant_relation(relations)
    if constant is not None:
        return constant.words
    return ", ".join(one.relation.words for one in relations) or "none"


_Place: TypeAlias = Callable[[Fraction], tuple[Fraction, int]]
"""Direction in turns and sense of turning after a share of the common cycle."""


def _relations(instants: set[Fraction], right: _Place, left: _Place) -> tuple[RelationAt, ...]:
    return tuple(
        RelationAt(passed, _relation(right(passed), left(passed))) for passed in sorted(instants)
    )


def _relation(right: tuple[Fraction, int], left: tuple[Fraction, int]) -> Relation:
    (right_turns, right_sense), (left_turns, left_sense) = right, left
    both = right_sense * left_sense
    direction: Sense = "same" if both > 0 else "opposite" if both < 0 else "still"
    mirrored = -1 if direction == "opposite" else 1
    timing = (left_turns - DOWN) - mirrored * (right_turns - DOWN)
    return Relation(direction, timing.limit_denominator(10**6) % 1)


def _head_of(track: HandTrack) -> _Place:
    return lambda passed: track.pattern.tether_at(track.phase_at(passed))


def _hand_of(track: HandTrack, shape: Trochoid) -> _Place:
    def place(passed: Fraction) -> tuple[Fraction, int]:
        turned = shape.direction * shape.hand_turns * track.phase_at(passed)
        return shape.hand_start_turns + turned, shape.direction

    return place


def _bottoms(track: HandTrack, shape: Trochoid) -> list[Fraction]:
    """Shares of the common cycle at which the hand is at the bottom of its circle."""
    turns = track.cycles * shape.hand_turns
    start = shape.hand_start_turns + shape.direction * shape.hand_turns * track.offset
    first = (shape.direction * (DOWN - start)) % 1
    return [(first + k) / turns for k in range(turns)]
