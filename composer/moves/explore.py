"""Every hybrid of given one-hand moves: all relations, entries and orientations, told apart.

What each hand can do is listed once, and hybrids are pairs of such parts; all are classified at
once on arrays. A hybrid is made as a value of its own only when it is asked for.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import product
from typing import TypeAlias

import numpy as np

from composer.motion.batch import Flags, HybridRows, classify
from composer.motion.body import Body, Prop
from composer.motion.family import Family
from composer.motion.hands import Hand, HandTrack
from composer.motion.kinematics import Floats
from composer.motion.pattern import Pattern
from composer.motion.plane import Plane
from composer.motion.relate import (
    circles_with_the_hand,
    common_cycles,
    first_at_the_bottom,
    ways_in,
)
from composer.motion.sampled import Ints, Part
from composer.moves.difficulty import (
    HEAD_AT_HAND,
    LEAVES_ITS_PLANE,
    NOT_MIRRORED,
    UNLIKE_HANDS,
    pattern_kind,
    pattern_reasons,
)
from composer.moves.model import Hybrid, OneHandMove, Relation, Use
from composer.moves.perform import drawn, way_aside

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
    parts: tuple[Part, ...]
    """What hands do; each begins its cycle when the right hand or head is at the bottom."""
    right_part: Ints
    left_part: Ints
    rows: HybridRows
    points: Floats
    """Difficulty, by the rule of :mod:`composer.moves.difficulty`."""

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
        """The families one of them is in."""
        flags = family_flags(self.rows)
        return frozenset(family for family, flag in flags.items() if flag[index])


def family_flags(rows: HybridRows) -> dict[Family, Flags]:
    """Which rows each family holds; body tracing needs a place on the body, which no row has."""
    return {
        Family.UNIT_CIRCLE: rows.unit_circle,
        Family.EQUAL_DOWNBEATS: rows.equal_downbeat_flowers,
        Family.COMPOSITE: rows.composite,
        Family.HEAD_TO_HAND: rows.head_to_hand,
        Family.POLYRHYTHM: rows.polyrhythm,
    }


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


def candidates(
    moves: Sequence[OneHandMove],
    body: Body,
    props: tuple[Prop, Prop],
    *,
    relations: Sequence[Relation] = FOUR_RELATIONS,
    orientations: Sequence[Fraction] = UNTURNED,
) -> Candidates:
    """All hybrids of one-hand moves of one plane, each pair both ways round.

    A pair that cannot stand in a relation, such as a head that never points straight down, is in
    none of them.

    Raises
    ------
    ValueError
        If moves lie in different planes, or there is none.
    """
    if not moves or not relations or not orientations:
        raise ValueError("give at least one move, one relation and one orientation")
    if len({move.plane for move in moves}) > 1:
        raise ValueError("hybrids are sought in one plane; the moves lie in several")
    found = _Pairs(_Hands(moves, body, props, orientations))
    for one, other, turned in product(*(range(len(a)) for a in (moves, moves, orientations))):
        for number, relation in enumerate(relations):
            found.add(one, other, turned, number, relation)
    table = np.array(found.rows, dtype=np.int64).reshape(-1, 7)
    right, left, relation_of, turn_of, entry, right_part, left_part = table.T.copy()
    parts = tuple(found.hands.parts)
    rows = classify(parts, right_part, left_part)
    points = _points(found.hands, right, left, rows)
    return Candidates(
        tuple(moves), tuple(relations), tuple(orientations), right, left, relation_of, turn_of,
        entry, parts, right_part, left_part, rows, points,
    )  # fmt: skip


_Way: TypeAlias = tuple[int, int, Fraction, int, bool]
"""Left move, orientation, timing, sense, and whether it is told by the hands."""


@dataclass
class _Hands:
    """The patterns of both hands, and the parts made of them so far, each once."""

    moves: Sequence[OneHandMove]
    body: Body
    props: tuple[Prop, Prop]
    orientations: Sequence[Fraction]
    parts: list[Part] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.right = [drawn(Use(move), self.body, self.props[0]) for move in self.moves]
        self.left = [
            [drawn(Use(move, turned), self.body, self.props[1]) for turned in self.orientations]
            for move in self.moves
        ]
        self.circles = [circles_with_the_hand(pattern) for pattern in self.right]
        self.anchors = {
            (index, by_hands): first_at_the_bottom(pattern, by_hands=by_hands)
            for index, pattern in enumerate(self.right)
            for by_hands in ({False, self.circles[index]})
        }
        self.cycles = [
            [common_cycles(right, left[0]) for left in self.left] for right in self.right
        ]
        self._ways: dict[
            tuple[int, int, Fraction, int, bool], tuple[Pattern, tuple[Fraction, ...]]
        ] = {}
        self._known: dict[tuple[object, ...], int] = {}

    def right_part(self, right: int, cycles: int, *, by_hands: bool) -> tuple[int, int] | None:
        """The part of a right hand that starts at its bottom, and its sense there."""
        anchor = self.anchors[right, by_hands]
        if anchor is None:
            return None
        key = (Hand.RIGHT, right, cycles, by_hands)
        if key not in self._known:
            self._add(key, Hand.RIGHT, right, HandTrack(self.right[right], cycles, anchor[0]))
        return self._known[key], anchor[1]

    def left_parts(
        self, left: int, turned: int, timing: Fraction, sense: int, cycles: int, *, by_hands: bool
    ) -> tuple[int, ...]:
        """The parts of a left hand in a relation, one for each entry; numbers in a row."""
        way = left, turned, timing, sense, by_hands
        if way not in self._ways:
            pattern = self.left[left][turned]
            self._ways[way] = ways_in(pattern, timing, sense, by_hands=by_hands)
        pattern, phases = self._ways[way]
        key = (Hand.LEFT, way, cycles)
        if key not in self._known:
            self._known[key] = len(self.parts)
            for phase in phases:
                self._add(None, Hand.LEFT, left, HandTrack(pattern, cycles, phase))
        first = self._known[key]
        return tuple(range(first, first + len(phases)))

    def _add(self, key: tuple[object, ...] | None, hand: Hand, move: int, track: HandTrack) -> None:
        if key is not None:
            self._known[key] = len(self.parts)
        prop = self.props[0 if hand is Hand.RIGHT else 1]
        self.parts.append(Part(track, way_aside(self.moves[move], hand, track, self.body, prop)))


@dataclass
class _Pairs:
    """The hybrids listed so far, a row of numbers each."""

    hands: _Hands
    rows: list[tuple[int, ...]] = field(default_factory=list)

    def add(self, right: int, left: int, turned: int, number: int, relation: Relation) -> None:
        """Every entry of one pair in one relation."""
        hands = self.hands
        by_hands = hands.circles[right] and hands.circles[left]
        right_cycles, left_cycles = hands.cycles[right][left]
        anchored = hands.right_part(right, right_cycles, by_hands=by_hands)
        if anchored is None:
            return
        part, sense = anchored
        wanted = sense if relation.direction == "same" else -sense
        entered = hands.left_parts(
            left, turned, relation.timing, wanted, left_cycles, by_hands=by_hands
        )
        self.rows += [
            (right, left, number, turned, entry, part, other) for entry, other in enumerate(entered)
        ]


# ------------------------------------------------------------------ difficulty


def _points(hands: _Hands, right: Ints, left: Ints, rows: HybridRows) -> Floats:
    """The points of :func:`composer.moves.difficulty.difficulty`, on arrays."""
    patterns = hands.right, [turned[0] for turned in hands.left]
    own = [np.array([_own_points(pattern) for pattern in hand]) for hand in patterns]
    kinds: dict[object, int] = {}
    kind = [
        np.array([kinds.setdefault(pattern_kind(pattern), len(kinds)) for pattern in hand])
        for hand in patterns
    ]
    alike = kind[0][right] == kind[1][left]
    both = np.where(alike, own[0][right], own[0][right] + own[1][left] + UNLIKE_HANDS)
    leaves = np.array([len(move.depth) > 1 for move in hands.moves])
    away = LEAVES_ITS_PLANE * (leaves[right] | leaves[left])
    shared = np.gcd(rows.right_downbeats, rows.left_downbeats)
    beats = rows.right_downbeats + rows.left_downbeats
    both_beat = (rows.right_downbeats > 0) & (rows.left_downbeats > 0)
    ratio = np.where(both_beat, beats // np.maximum(shared, 1) - 2, 0)
    mirror_sense = 1 if hands.moves[0].plane is Plane.WHEEL else -1
    head_at_hand = HEAD_AT_HAND * rows.head_to_hand
    points = both + away + ratio + _relation_points(rows, mirror_sense) + head_at_hand
    return np.asarray(np.round(points, 9))


def _relation_points(rows: HybridRows, mirror_sense: int) -> Floats:
    """What the hands' relation costs, or the heads' where the hands have none."""
    by_hands = ~np.isnan(rows.hand_timing)
    timing = np.where(by_hands, rows.hand_timing, rows.head_timing)
    sense = np.where(by_hands, rows.hands_sense, rows.heads_sense)
    phase = 2 * np.pi * timing
    unlike = np.where((sense == mirror_sense) | (sense == 0), 0.0, NOT_MIRRORED)
    points = 2 - np.cos(phase) - np.cos(2 * phase) + unlike
    return np.where(np.isnan(timing), 0.0, points)


def _own_points(pattern: Pattern) -> float:
    return sum(reason.points for reason in pattern_reasons(pattern))
