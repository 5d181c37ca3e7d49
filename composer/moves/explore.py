"""Every hybrid of given one-hand moves: all relations, entries and orientations, told apart.

Even patterns (a hand on a circle or held, a head turning evenly) are classified all at once on
arrays; a hybrid is made as a value of its own only when it is asked for.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from composer.motion.batch import (
    TICKS,
    EvenHands,
    Flags,
    HybridRows,
    classify,
    even_hands,
    ticks,
)
from composer.motion.body import Body, Prop
from composer.motion.family import Family
from composer.motion.pattern import DOWN, Floats, Pattern
from composer.motion.trochoid import SAME_M, Trochoid, trochoid_of
from composer.motion.turning import Ints
from composer.moves.difficulty import (
    HEAD_AT_HAND,
    NOT_MIRRORED,
    UNLIKE_HANDS,
    pattern_kind,
    pattern_reasons,
)
from composer.moves.model import Hybrid, OneHandMove, Relation, Use
from composer.moves.recipe import build

FOUR_RELATIONS = (
    Relation(Fraction(0), "same"),
    Relation(Fraction(1, 2), "same"),
    Relation(Fraction(0), "opposite"),
    Relation(Fraction(1, 2), "opposite"),
)
UNTURNED = (Fraction(0),)


@dataclass(frozen=True, slots=True)
class Candidates:
    """Hybrids by number: which moves, relation, orientation and entry each is made of.

    Arrays have shape=(n,); they index the sequences beside them.
    """

    moves: tuple[OneHandMove, ...]
    relations: tuple[Relation, ...]
    orientations: tuple[Fraction, ...]
    right: Ints
    left: Ints
    relation: Ints
    orientation: Ints
    """Of the left hand's figure."""
    left_entry: Ints
    """From 0."""
    rows: HybridRows
    points: Floats
    """Difficulty, by the rule of :mod:`composer.moves.difficulty`."""
    right_hands: EvenHands
    left_hands: EvenHands

    def __len__(self) -> int:
        return len(self.right)

    def hybrid(self, index: int) -> Hybrid:
        """One of them as a move, named after what it is made of."""
        return combined_hybrid(
            self.moves[self.right[index]],
            self.moves[self.left[index]],
            self.relations[self.relation[index]],
            self.orientations[self.orientation[index]],
            int(self.left_entry[index]) + 1,
        )

    def families(self, index: int) -> frozenset[Family]:
        """The families one of them is in; two even patterns are never a composite."""
        flags = {
            Family.UNIT_CIRCLE: self.rows.unit_circle,
            Family.EQUAL_DOWNBEATS: self.rows.equal_downbeat_flowers,
            Family.HEAD_TO_HAND: self.rows.head_to_hand,
            Family.POLYRHYTHM: self.rows.polyrhythm,
        }
        return frozenset(family for family, flag in flags.items() if flag[index])


def combined_hybrid(
    right: OneHandMove, left: OneHandMove, relation: Relation, turned: Fraction, entry: int
) -> Hybrid:
    """Two one-hand moves as a hybrid named after what it is made of; entries from 1."""
    aside = f", left turned {turned}" if turned else ""
    later = f", entry {entry}" if entry > 1 else ""
    return Hybrid(
        name=f"{right.name} with {left.name}, {relation}{aside}{later}",
        words=f"{right.name} in the right hand, {left.name} in the left, hands {relation}.",
        right=Use(right),
        left=Use(left, turned),
        hands=relation,
        left_entry=entry,
        plane=right.plane,
    )


def is_even(move: OneHandMove) -> bool:
    """Whether the move can be classified on arrays: even, in its plane, about the middle."""
    shape = trochoid_of(build(move.recipe, Body(), Prop()))
    return shape is not None and abs(shape.centre_m) <= SAME_M and not move.depth


def candidates(
    moves: Sequence[OneHandMove],
    body: Body,
    props: tuple[Prop, Prop],
    *,
    relations: Sequence[Relation] = FOUR_RELATIONS,
    orientations: Sequence[Fraction] = UNTURNED,
) -> Candidates:
    """All hybrids of even one-hand moves of one plane, each pair both ways round.

    Raises
    ------
    ValueError
        If a move is not even, moves lie in different planes, or there is none.
    """
    if not moves or not relations or not orientations:
        raise ValueError("give at least one move, one relation and one orientation")
    if len({move.plane for move in moves}) > 1:
        raise ValueError("hybrids are sought in one plane; the moves lie in several")
    drawn = [[build(move.recipe, body, prop) for move in moves] for prop in props]
    right, left = (_even_rows(moves, patterns) for patterns in drawn)
    count = len(moves)
    pairs = np.meshgrid(
        np.arange(count),
        np.arange(count),
        np.arange(len(relations)),
        np.arange(len(orientations)),
        indexing="ij",
    )
    right_of, left_of, relation_of, turn_of = (axis.ravel() for axis in pairs)
    by_hand = (right.radius_m[right_of] > SAME_M) & (left.radius_m[left_of] > SAME_M)
    entries = np.where(by_hand, left.hand_turns[left_of], np.abs(left.head_turns[left_of]))
    which = np.repeat(np.arange(len(right_of)), entries)
    entry = np.arange(len(which)) - np.repeat(np.cumsum(entries) - entries, entries)
    right_of, left_of = right_of[which], left_of[which]
    relation_of, turn_of, by_hand = relation_of[which], turn_of[which], by_hand[which]
    placed_right = _at_bottom(right.rows(right_of), by_hand)
    placed_left = _related(
        _turned(left.rows(left_of), orientations, turn_of),
        placed_right,
        np.array([ticks(relation.timing) for relation in relations])[relation_of],
        np.array([relation.direction == "same" for relation in relations])[relation_of],
        by_hand,
        entry,
    )
    rows = classify(placed_right, placed_left)
    return Candidates(
        tuple(moves), tuple(relations), tuple(orientations),
        right_of, left_of, relation_of, turn_of, entry, rows,
        _points(drawn, right_of, left_of, rows, mirror_is_same=moves[0].plane == "wheel"),
        placed_right, placed_left,
    )  # fmt: skip


def _even_rows(moves: Sequence[OneHandMove], patterns: Sequence[Pattern]) -> EvenHands:
    shapes: list[Trochoid] = []
    for move, pattern in zip(moves, patterns, strict=True):
        shape = trochoid_of(pattern)
        if shape is None or not is_even(move):
            raise ValueError(f'"{move.name}" is not one even pattern about the middle')
        shapes.append(shape)
    return even_hands(shapes)


def _turned(hands: EvenHands, orientations: Sequence[Fraction], turn_of: Ints) -> EvenHands:
    by = np.array([ticks(turns) for turns in orientations])[turn_of]
    return _with_starts(hands, hands.hand_start + by, hands.tether_start + by, hands.direction)


def _with_starts(hands: EvenHands, hand: Ints, tether: Ints, direction: Ints) -> EvenHands:
    return EvenHands(
        hands.head_turns,
        hands.hand_turns,
        hands.radius_m,
        hands.tether_m,
        hand % TICKS,
        tether % TICKS,
        direction,
    )


def _sense(hands: EvenHands, by_hand: Flags) -> Ints:
    """Sense of turning of what the relation is told by: the hand, or the head."""
    return np.asarray(
        np.where(by_hand, hands.direction, hands.direction * np.sign(hands.head_turns))
    )


def _entered(hands: EvenHands, goal: Ints, by_hand: Flags, entry: Ints | int) -> EvenHands:
    """Entered at the k-th instant at which hand (or head) points to the goal."""
    start = np.where(by_hand, hands.hand_start, hands.tether_start)
    ahead = (_sense(hands, by_hand) * (goal - start)) % TICKS + TICKS * entry
    head_ahead = ahead * hands.hand_turns
    return hands.later(np.where(by_hand, ahead, head_ahead // np.abs(hands.head_turns)))


def _at_bottom(hands: EvenHands, by_hand: Flags) -> EvenHands:
    return _entered(hands, np.full(len(hands), ticks(DOWN)), by_hand, 0)


def _related(
    left: EvenHands, right: EvenHands, timing: Ints, same: Flags, by_hand: Flags, entry: Ints
) -> EvenHands:
    """The left hands mirrored where their sense needs it, and entered in the wanted relation."""
    wanted = _sense(right, by_hand) * np.where(same, 1, -1)
    keep = _sense(left, by_hand) == wanted
    half = TICKS // 2
    turned_over = _with_starts(
        left,
        np.where(keep, left.hand_start, half - left.hand_start),
        np.where(keep, left.tether_start, half - left.tether_start),
        np.where(keep, left.direction, -left.direction),
    )
    return _entered(turned_over, ticks(DOWN) + timing, by_hand, entry)


# ------------------------------------------------------------------ difficulty


def _points(
    drawn: Sequence[Sequence[Pattern]],
    right_of: Ints,
    left_of: Ints,
    rows: HybridRows,
    *,
    mirror_is_same: bool,
) -> Floats:
    """The points of :func:`composer.moves.difficulty.difficulty`, on arrays."""
    own = [np.array([_own_points(pattern) for pattern in hand]) for hand in drawn]
    kinds: dict[object, int] = {}
    kind = [
        np.array([kinds.setdefault(pattern_kind(pattern), len(kinds)) for pattern in hand])
        for hand in drawn
    ]
    alike = kind[0][right_of] == kind[1][left_of]
    both = np.where(alike, own[0][right_of], own[0][right_of] + own[1][left_of] + UNLIKE_HANDS)
    shared = np.gcd(rows.right_downbeats, rows.left_downbeats)
    ratio = (rows.right_downbeats + rows.left_downbeats) // shared - 2
    by_hands = rows.hand_timing >= 0
    timing = np.where(by_hands, rows.hand_timing, rows.head_timing)
    same = np.where(by_hands, rows.hands_same, rows.heads_same)
    phase = 2 * np.pi * timing / TICKS
    unlike = np.where(same == mirror_is_same, 0.0, NOT_MIRRORED)
    relation = np.where(timing >= 0, 2 - np.cos(phase) - np.cos(2 * phase) + unlike, 0.0)
    return np.asarray(both + ratio + relation + HEAD_AT_HAND * rows.head_to_hand)


def _own_points(pattern: Pattern) -> float:
    return sum(reason.points for reason in pattern_reasons(pattern))
