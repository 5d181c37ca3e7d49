"""Tens of thousands of simple hybrids told apart at once: the rules of one pair, on arrays.

Rows are pairs of even patterns (a hand circling evenly or held, a head turning evenly), both hands
turning at one rate, or a held hand's head once for each turn of the other hand. Angles are whole
ticks of :data:`TICKS` a turn, so that relations stay exact.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from composer.motion.family import AT_HAND_M, LEVEL_M
from composer.motion.pattern import DOWN, TAU, Complexes, Floats
from composer.motion.trochoid import SAME_M, Trochoid
from composer.motion.turning import Arms, Ints, extreme, opposite, places, squared

Flags = NDArray[np.bool_]

TICKS = 720720
"""Divisible by every number up to 16: any plain fraction of a turn is a whole number of ticks."""
_ROWS_AT_ONCE = 512


@dataclass(frozen=True, slots=True)
class EvenHands:
    """One hand of every row, each array shape=(n,).

    ``head_turns`` for each ``hand_turns`` of the hand, in its own direction, in lowest terms
    (p and q); starts in ticks; ``direction`` +1 or -1; a held hand has radius 0 and p = q = 1.
    """

    head_turns: Ints
    hand_turns: Ints
    radius_m: Floats
    tether_m: Floats
    hand_start: Ints
    tether_start: Ints
    direction: Ints

    def __len__(self) -> int:
        return len(self.head_turns)

    def rows(self, which: slice | Ints) -> "EvenHands":
        return EvenHands(
            self.head_turns[which],
            self.hand_turns[which],
            self.radius_m[which],
            self.tether_m[which],
            self.hand_start[which],
            self.tether_start[which],
            self.direction[which],
        )

    def later(self, ticks: Ints) -> "EvenHands":
        """The same patterns entered when the hand has turned on by so many ticks of its way.

        Raises
        ------
        ValueError
            If the head would then stand between ticks.
        """
        head = ticks * self.head_turns
        if np.any(head % self.hand_turns):
            raise ValueError("an entry must leave the head on a whole tick")
        return EvenHands(
            self.head_turns,
            self.hand_turns,
            self.radius_m,
            self.tether_m,
            (self.hand_start + self.direction * ticks) % TICKS,
            (self.tether_start + self.direction * (head // self.hand_turns)) % TICKS,
            self.direction,
        )


def even_hands(shapes: Sequence[Trochoid]) -> EvenHands:
    """Rows from shapes that are all centred on the origin.

    Raises
    ------
    ValueError
        If a start angle is no whole number of ticks or a centre is elsewhere.
    """
    if any(abs(shape.centre_m) > SAME_M for shape in shapes):
        raise ValueError("rows stand for patterns about one common middle")
    return EvenHands(
        _ints([shape.ratio.numerator for shape in shapes]),
        _ints([shape.ratio.denominator for shape in shapes]),
        np.array([shape.radius_m for shape in shapes], dtype=float),
        np.array([shape.tether_m for shape in shapes], dtype=float),
        _ints([ticks(shape.hand_start_turns) for shape in shapes]),
        _ints([ticks(shape.tether_start_turns) for shape in shapes]),
        _ints([shape.direction for shape in shapes]),
    )


def ticks(turns: Fraction) -> int:
    """Whole ticks in [0, TICKS) of an angle in turns."""
    found = turns % 1 * TICKS
    if found.denominator != 1:
        raise ValueError(f"an angle of {turns} turns is no whole number of 1/{TICKS} turns")
    return int(found)


@dataclass(frozen=True, slots=True)
class HybridRows:
    """What each pair is, each array shape=(n,); counts are for the common cycle.

    Timings are in ticks on from together, -1 where there is none: a hand that is held, heads whose
    relation is a sequence. Distances are refined from samples; ``approach`` also tells when.
    """

    closing_turns: Ints
    """Hand turns in the common cycle."""
    right_downbeats: Ints
    left_downbeats: Ints
    right_petals: Ints
    left_petals: Ints
    hands_same: Flags
    hand_timing: Ints
    heads_same: Flags
    head_timing: Ints
    unit_circle: Flags
    equal_downbeat_flowers: Flags
    polyrhythm: Flags
    head_to_hand: Flags
    nearest_heads_m: Floats
    furthest_heads_m: Floats
    nearest_head_to_hand_m: Floats

    @property
    def constant_heads(self) -> Flags:
        """Whether the heads keep one relation at every downbeat."""
        return np.asarray(self.head_timing >= 0)


def classify(right: EvenHands, left: EvenHands) -> HybridRows:
    """Relations, downbeats, families and distances of every pair of rows.

    Raises
    ------
    ValueError
        If the two have unequally many rows.
    """
    if len(right) != len(left):
        raise ValueError(f"{len(right)} right hands and {len(left)} left hands are no pairs")
    closing = np.lcm(right.hand_turns, left.hand_turns)
    right_beats, left_beats = _downbeats(right, closing), _downbeats(left, closing)
    both_circle = (right.radius_m > SAME_M) & (left.radius_m > SAME_M)
    hands_same = right.direction == left.direction
    hand_timing = _timing(right.hand_start, left.hand_start, hands_same)
    heads_same = _head_sense(right) == _head_sense(left)
    head_timing = _timing(right.tether_start, left.tether_start, heads_same)
    nearest, furthest, to_hand = _distances(right, left, closing)
    return HybridRows(
        closing_turns=closing,
        right_downbeats=right_beats,
        left_downbeats=left_beats,
        right_petals=_petals(right),
        left_petals=_petals(left),
        hands_same=hands_same,
        hand_timing=np.where(both_circle, hand_timing, -1),
        heads_same=heads_same,
        head_timing=np.where(right_beats == left_beats, head_timing, -1),
        unit_circle=_is_unit(right) & _is_unit(left),
        equal_downbeat_flowers=_is_flower(right)
        & _is_flower(left)
        & (right_beats == left_beats)
        & (right.head_turns != left.head_turns),
        polyrhythm=right_beats != left_beats,
        head_to_hand=_is_head_to_hand(right, left) | _is_head_to_hand(left, right),
        nearest_heads_m=nearest,
        furthest_heads_m=furthest,
        nearest_head_to_hand_m=to_hand,
    )


# ------------------------------------------------------------------ exact


def _downbeats(hand: EvenHands, closing: Ints) -> Ints:
    return np.asarray(np.abs(hand.head_turns) * (closing // hand.hand_turns))


def _petals(hand: EvenHands) -> Ints:
    count = np.abs(hand.head_turns - hand.hand_turns)
    return np.asarray(np.where(hand.radius_m > SAME_M, count, 0))


def _head_sense(hand: EvenHands) -> Ints:
    return np.asarray(hand.direction * np.sign(hand.head_turns))


def _timing(right: Ints, left: Ints, same: Flags) -> Ints:
    """Left's ticks from down when right is down, both turning at one rate."""
    down = ticks(DOWN)
    mirrored = np.where(same, 1, -1)
    return np.asarray(((left - down) - mirrored * (right - down)) % TICKS)


def _is_unit(hand: EvenHands) -> Flags:
    return np.asarray(np.abs(hand.radius_m - hand.tether_m / 2) < 1e-6)


def _is_flower(hand: EvenHands) -> Flags:
    return np.asarray((np.abs(hand.head_turns) > hand.hand_turns) & (hand.radius_m > SAME_M))


def _is_head_to_hand(head: EvenHands, hand: EvenHands) -> Flags:
    """Whether one's head stays at the other's hand, or level with it.

    Head minus hand is a sum of three turning vectors; those that turn alike are added first. What
    turns once against what turns once the other way cancels in height where they are mirrored.
    """
    even = np.abs(head.head_turns) == head.hand_turns
    parts = (
        (head.radius_m * _unit(head.hand_start), head.direction),
        (-hand.radius_m * _unit(hand.hand_start), hand.direction),
        (head.tether_m * _unit(head.tether_start), np.where(even, _head_sense(head), 0)),
    )
    ahead, back, rest = (
        np.sum([np.where(turning == rate, vector, 0) for vector, turning in parts], axis=0)
        for rate in (1, -1, 0)
    )
    furthest = np.abs(ahead) + np.abs(back) + np.abs(rest)
    off_level = np.abs(ahead - np.conj(back)) + np.abs(rest)
    return np.asarray((furthest <= AT_HAND_M) | (off_level <= LEVEL_M))


# ------------------------------------------------------------------ distances


def _distances(right: EvenHands, left: EvenHands, closing: Ints) -> tuple[Floats, Floats, Floats]:
    """Nearest and furthest of the heads, and nearest of a head to the other hand."""
    found = np.empty((3, len(right)))
    for start in range(0, len(right), _ROWS_AT_ONCE):
        some = slice(start, start + _ROWS_AT_ONCE)
        one, two = _arms(right.rows(some), closing[some]), _arms(left.rows(some), closing[some])
        right_at, left_at = places(one), places(two)
        heads = squared(right_at[1] - left_at[1]), one + opposite(two)
        found[0, some] = extreme(*heads, 1)
        found[1, some] = extreme(*heads, -1)
        found[2, some] = np.minimum(
            extreme(squared(right_at[1] - left_at[0]), one + opposite(two[:1]), 1),
            extreme(squared(left_at[1] - right_at[0]), two + opposite(one[:1]), 1),
        )
    return found[0], found[1], found[2]


def _arms(hand: EvenHands, closing: Ints) -> Arms:
    """From the middle to the hand, from the hand to the head."""
    turned = hand.direction * closing
    return [
        (hand.radius_m * _unit(hand.hand_start), turned),
        (hand.tether_m * _unit(hand.tether_start), turned * hand.head_turns // hand.hand_turns),
    ]


def _unit(start: Ints) -> Complexes:
    return np.asarray(np.exp(1j * TAU * start / TICKS))


def _ints(values: Sequence[int]) -> Ints:
    return np.array(values, dtype=np.int64)
