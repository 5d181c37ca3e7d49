"""Rows of simple hybrids against the one-pair routines and the trade's own statements."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.motion.approach import Parts, extremes
from composer.motion.batch import TICKS, EvenHands, classify, even_hands, ticks
from composer.motion.family import Family, families
from composer.motion.flower import flower, isolation, static_spin
from composer.motion.hands import TwoHands
from composer.motion.pattern import Pattern
from composer.motion.relate import relate
from composer.motion.relation import constant_relation, hand_relations, head_relations
from composer.motion.transforms import enter_at, move_centre
from composer.motion.trochoid import trochoid_of

F = Fraction
L = 0.5
PATTERNS = [
    *(flower(n, radius_m=0.25, tether_m=L, tip_turns=F(1, 8))
      for n in (F(1), F(-1), F(2), F(3), F(-2), F(-3), F(-3, 2), F(5, 2))),
    flower(F(-2), radius_m=0.4, tether_m=L, direction=-1),
    isolation(tether_m=L),
    static_spin(tether_m=L, direction=-1),
]  # fmt: skip


def rows_of(two: TwoHands) -> tuple[EvenHands, EvenHands]:
    """Both hands as they stand at the start of the common cycle."""
    shapes = [
        trochoid_of(enter_at(track.pattern, track.phase_at(F(0))))
        for track in (two.right, two.left)
    ]
    return even_hands(shapes[:1]), even_hands(shapes[1:])


def matched(right: Pattern, left: Pattern, timing: F, direction: str) -> TwoHands:
    return relate(right, left, timing, direction)


@settings(max_examples=60)
@given(
    st.sampled_from(PATTERNS),
    st.sampled_from(PATTERNS),
    st.sampled_from([F(0), F(1, 4), F(1, 2), F(3, 4)]),
    st.sampled_from(["same", "opposite"]),
)
def test_rows_agree_with_the_one_pair_routines(right, left, timing, direction):
    two = matched(right, left, timing, direction)
    row = classify(*rows_of(two))
    assert row.right_downbeats[0] == len(two.right.downbeats)
    assert row.left_downbeats[0] == len(two.left.downbeats)
    heads, hands = (constant_relation(f(two)) for f in (head_relations, hand_relations))
    assert row.constant_heads[0] == (heads is not None)
    if heads is not None:
        assert row.head_timing[0] == ticks(heads.timing)
        assert row.heads_same[0] == (heads.direction == "same")
    assert row.hand_timing[0] == (-1 if hands is None else ticks(hands.timing))
    found = families(two)
    assert row.unit_circle[0] == (Family.UNIT_CIRCLE in found)
    assert row.equal_downbeat_flowers[0] == (Family.EQUAL_DOWNBEATS in found)
    assert row.polyrhythm[0] == (Family.POLYRHYTHM in found)
    assert row.head_to_hand[0] == (Family.HEAD_TO_HAND in found)
    apart = extremes(two, Parts.HEADS)
    assert row.nearest_heads_m[0] == pytest.approx(apart.nearest_m, abs=1e-6)
    assert row.furthest_heads_m[0] == pytest.approx(apart.furthest_m, abs=1e-6)
    to_hand = min(
        extremes(two, parts).nearest_m
        for parts in (Parts.RIGHT_HEAD_LEFT_HAND, Parts.LEFT_HEAD_RIGHT_HAND)
    )
    assert row.nearest_head_to_hand_m[0] == pytest.approx(to_hand, abs=1e-6)


def test_the_trades_own_rows():
    """Extension with isolation, together and split (common practice); see the hybrids' tests."""
    extension = flower(F(1), radius_m=L / 2, tether_m=L)
    pairs = [relate(extension, isolation(tether_m=L), timing, "same") for timing in (F(0), F(1, 2))]
    rights, lefts = zip(*(rows_of(two) for two in pairs), strict=True)
    rows = classify(joined(rights), joined(lefts))
    assert rows.head_timing.tolist() == [TICKS // 2, 0]
    assert rows.hand_timing.tolist() == [0, TICKS // 2]
    assert rows.head_to_hand.tolist() == [False, True]
    assert rows.unit_circle.tolist() == [True, True]
    assert rows.nearest_head_to_hand_m[0] == pytest.approx(L, abs=1e-9)


def test_an_isolation_against_an_extension_stays_level_with_its_hand():
    """Hands split opposite: its head is the mirror image of the extension's hand, at its height."""
    extension = flower(F(1), radius_m=L / 2, tether_m=L)
    two = relate(extension, isolation(tether_m=L), F(1, 2), "opposite")
    assert classify(*rows_of(two)).head_to_hand.tolist() == [True]
    assert Family.HEAD_TO_HAND in families(two)
    apart = relate(extension, isolation(tether_m=L), F(0), "opposite")
    assert classify(*rows_of(apart)).head_to_hand.tolist() == [False]
    assert Family.HEAD_TO_HAND not in families(apart)


def joined(parts: tuple[EvenHands, ...]) -> EvenHands:
    names = ("head_turns", "hand_turns", "radius_m", "tether_m", "hand_start", "tether_start",
             "direction")  # fmt: skip
    return EvenHands(*(np.concatenate([getattr(part, name) for part in parts]) for name in names))


def test_entering_later_turns_hand_and_head_by_their_own_rates():
    """A quarter turn of a triquetra's hand turns its head half a turn the other way."""
    shape = trochoid_of(flower(F(-2), radius_m=0.3, tether_m=L, tip_turns=F(0)))
    later = even_hands([shape]).later(np.array([TICKS // 4]))
    assert later.hand_start[0] == TICKS // 4
    assert later.tether_start[0] == TICKS // 2


def test_what_cannot_be_a_row_is_refused():
    shape = trochoid_of(flower(F(-3, 2), radius_m=0.3, tether_m=L))
    hands = even_hands([shape])
    with pytest.raises(ValueError, match="whole tick"):
        hands.later(np.array([1]))
    with pytest.raises(ValueError, match="whole number of"):
        ticks(F(1, 17))
    with pytest.raises(ValueError, match="common middle"):
        even_hands([trochoid_of(move_centre(static_spin(tether_m=L), 1 + 0j))])
    with pytest.raises(ValueError, match="no pairs"):
        classify(hands, joined((hands, hands)))
