"""Pairs told apart on arrays against the one-pair routines and the trade's own statements."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from composer.motion.approach import Parts, extremes
from composer.motion.batch import HybridRows, classify
from composer.motion.family import Family, families
from composer.motion.flower import flower, isolation, static_spin
from composer.motion.hands import HandTrack, TwoHands
from composer.motion.pattern import Pattern
from composer.motion.relate import relate
from composer.motion.relation import constant_relation, hand_relations, head_relations
from composer.motion.sampled import Part
from composer.motion.segment import Arc, Hold, Line, Segment, Spin, Swing

F = Fraction
L = 0.5
HALF = F(1, 2)
PENDULUM = Pattern((Segment(F(1), Hold(), Swing(F(3, 4), F(3, 10), F(0), F(1))),), L)
TRAVEL = Pattern(
    (
        Segment(HALF, Line(-0.4 + 0j, 0.4 + 0j, eased=True), Spin(F(3, 4), F(1))),
        Segment(HALF, Line(0.4 + 0j, -0.4 + 0j, eased=True), Spin(F(3, 4), F(1))),
    ),
    L,
)
EIGHT = Pattern(
    (
        Segment(HALF, Arc(0.3 + 0j, 0.3, HALF, F(1)), Spin(HALF, F(1))),
        Segment(HALF, Arc(-0.3 + 0j, 0.3, F(0), F(-1)), Spin(HALF, F(-1))),
    ),
    L,
)
"""A joint at which hand and spin turn back."""
PATTERNS = [
    *(flower(n, radius_m=0.25, tether_m=L, tip_turns=F(1, 8))
      for n in (F(1), F(-1), F(2), F(3), F(-2), F(-3), F(-3, 2), F(5, 2), F(-9))),
    flower(F(-2), radius_m=0.4, tether_m=L, direction=-1),
    isolation(tether_m=L),
    static_spin(tether_m=L, direction=-1),
    PENDULUM,
    TRAVEL,
    EIGHT,
]  # fmt: skip
TIMINGS = [F(0), F(1, 4), F(1, 2), F(3, 4)]


def rows_of(*pairs: TwoHands) -> HybridRows:
    parts = [Part(track) for two in pairs for track in (two.right, two.left)]
    numbers = np.arange(len(parts)).reshape(-1, 2)
    return classify(parts, numbers[:, 0], numbers[:, 1])


@settings(max_examples=80, deadline=None)
@given(
    st.sampled_from(PATTERNS),
    st.sampled_from(PATTERNS),
    st.sampled_from(TIMINGS),
    st.sampled_from(["same", "opposite"]),
)
def test_rows_agree_with_the_one_pair_routines(right, left, timing, direction):
    try:
        two = relate(right, left, timing, direction)
    except ValueError:  # a pendulum never points straight up
        reject()
    row = rows_of(two)
    assert row.right_downbeats[0] == len(two.right.downbeats)
    assert row.left_downbeats[0] == len(two.left.downbeats)
    heads, hands = (constant_relation(f(two)) for f in (head_relations, hand_relations))
    agrees(heads, row.heads_sense[0], row.head_timing[0])
    agrees(hands, row.hands_sense[0], row.hand_timing[0])
    flags = {
        Family.UNIT_CIRCLE: row.unit_circle[0],
        Family.EQUAL_DOWNBEATS: row.equal_downbeat_flowers[0],
        Family.COMPOSITE: row.composite[0],
        Family.POLYRHYTHM: row.polyrhythm[0],
        Family.HEAD_TO_HAND: row.head_to_hand[0],
    }
    assert {family for family, holds in flags.items() if holds} == families(two)
    apart = extremes(two, Parts.HEADS)
    assert row.nearest_heads_m[0] == pytest.approx(apart.nearest_m, abs=0.002)
    assert row.furthest_heads_m[0] == pytest.approx(apart.furthest_m, abs=0.002)


def agrees(relation, sense, timing):
    if relation is None:
        assert sense == 0
        assert np.isnan(timing)
    else:
        assert sense == {"same": 1, "opposite": -1, "still": 0}[relation.direction]
        assert timing == pytest.approx(float(relation.timing), rel=0, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from([F(-7), F(-5, 2), F(-4, 3), F(7, 2), F(8)]),
    st.sampled_from([F(-8), F(-7, 2), F(5, 3), F(9)]),
    st.sampled_from(TIMINGS),
    st.floats(0.02, 0.6),
)
def test_quick_heads_are_not_missed_between_instants(one, two, timing, radius_m):
    """Many petals over a long closure: the heads may meet for an instant only."""
    pair = relate(
        flower(one, radius_m=radius_m, tether_m=L),
        flower(two, radius_m=0.3, tether_m=L),
        timing,
        "opposite",
    )
    exact = extremes(pair, Parts.HEADS).nearest_m
    assert rows_of(pair).nearest_heads_m[0] == pytest.approx(exact, rel=0, abs=0.002)


def test_the_trades_own_rows():
    """Extension with isolation, together and split (common practice); see the hybrids' tests."""
    extension = flower(F(1), radius_m=L / 2, tether_m=L)
    pairs = [relate(extension, isolation(tether_m=L), timing, "same") for timing in (F(0), HALF)]
    rows = rows_of(*pairs)
    assert rows.head_timing.tolist() == pytest.approx([0.5, 0])
    assert rows.hand_timing.tolist() == pytest.approx([0, 0.5])
    assert rows.head_to_hand.tolist() == [False, True]
    assert rows.unit_circle.tolist() == [True, True]


def test_an_isolation_against_an_extension_stays_level_with_its_hand():
    """Hands split opposite: its head is the mirror image of the extension's hand, at its height."""
    extension = flower(F(1), radius_m=L / 2, tether_m=L)
    two = relate(extension, isolation(tether_m=L), HALF, "opposite")
    apart = relate(extension, isolation(tether_m=L), F(0), "opposite")
    assert rows_of(two, apart).head_to_hand.tolist() == [True, False]
    assert Family.HEAD_TO_HAND in families(two)
    assert Family.HEAD_TO_HAND not in families(apart)


def test_heads_in_planes_side_by_side_are_as_far_apart_as_the_planes():
    """Two alike spins, one going out of its plane to 0.8 m and back: never nearer than 0.2 m."""
    spin = HandTrack(static_spin(tether_m=L))
    parts = [Part(spin), Part(spin, lambda passed: 0.5 - 0.3 * np.cos(2 * np.pi * passed))]
    rows = classify(parts, np.array([0]), np.array([1]))
    assert rows.nearest_heads_m[0] == pytest.approx(0.2, abs=1e-6)
    assert rows.furthest_heads_m[0] == pytest.approx(0.8, abs=1e-6)


def test_unequally_many_hands_are_refused():
    part = Part(HandTrack(PENDULUM))
    with pytest.raises(ValueError, match="no pairs"):
        classify([part], np.array([0, 0]), np.array([0]))
    assert len(classify([], np.array([], dtype=int), np.array([], dtype=int)).polyrhythm) == 0
