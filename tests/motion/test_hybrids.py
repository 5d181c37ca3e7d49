"""Two hands: relations, families, and how near they come.

The statements are common practice of the trade, with no published source; each value is worked
out in the test's own words from head = hand + tether.
"""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.motion.approach import (
    Parts,
    Planes,
    RoomPair,
    distances_m,
    extremes,
    meetings,
    nearest_approaches,
    risks,
    room_pair,
    share_of_cycle,
)
from composer.motion.body import Prop
from composer.motion.family import Family, families, heads_to_hands, is_composite
from composer.motion.flower import flower, isolation, static_spin
from composer.motion.hands import HandTrack, TwoHands
from composer.motion.kinematics import track_motion
from composer.motion.measures import fastest
from composer.motion.placed_plane import PlacedPlane
from composer.motion.plane import Plane
from composer.motion.relate import QUARTER, SPLIT, TOGETHER, relate
from composer.motion.relation import (
    Relation,
    constant_relation,
    hand_relations,
    head_relations,
    relation_words,
)
from composer.motion.transforms import move_centre
from composer.motion.trochoid import trochoid_of

from . import patterns

F = Fraction
L = 0.5
R = L / 2
EXTENSION = flower(F(1), radius_m=R, tether_m=L)
WIDE_EXTENSION = flower(F(1), radius_m=0.4, tether_m=L)
ISOLATION = isolation(tether_m=L)
TRIQUETRA = flower(F(-2), radius_m=0.4, tether_m=L)
BOX = flower(F(-3), radius_m=0.4, tether_m=L, tip_turns=F(7, 8))
RELATIONS = [(t, d) for t in (TOGETHER, SPLIT) for d in ("same", "opposite")]
TILTS = [F(0), F(1, 4), F(1, 8)]


def head_relation(two: TwoHands) -> Relation | None:
    return constant_relation(head_relations(two))


# ------------------------------------------------------------------ the trade's own statements


def test_1_extension_with_isolation_has_two_timings_at_once():
    """Hands together same; one tether out, the other in: heads split same, never at a hand."""
    two = relate(EXTENSION, ISOLATION, TOGETHER, "same")
    assert constant_relation(hand_relations(two)) == Relation("same", F(0))
    assert head_relation(two) == Relation("same", F(1, 2))
    for parts in (Parts.RIGHT_HEAD_LEFT_HAND, Parts.LEFT_HEAD_RIGHT_HAND):
        gap = extremes(two, parts)
        assert gap.is_constant
        assert gap.nearest_m == pytest.approx(L, abs=1e-9)
    assert Family.HEAD_TO_HAND not in families(two)


def test_2_with_hands_split_the_isolations_head_lies_on_the_extensions_hand():
    two = relate(EXTENSION, ISOLATION, SPLIT, "same")
    assert extremes(two, Parts.LEFT_HEAD_RIGHT_HAND).furthest_m == pytest.approx(0, abs=1e-9)
    assert {Family.HEAD_TO_HAND, Family.UNIT_CIRCLE} <= families(two)
    assert heads_to_hands(two)[1].at_the_hand


@pytest.mark.parametrize("tip", TILTS)
def test_3_isolation_with_cat_eye_is_head_to_hand_for_every_tilt(tip):
    cat_eye = flower(F(-1), radius_m=R, tether_m=L, tip_turns=tip)
    two = relate(cat_eye, ISOLATION, SPLIT, "same")
    assert extremes(two, Parts.LEFT_HEAD_RIGHT_HAND).furthest_m == pytest.approx(0, abs=1e-9)
    assert Family.HEAD_TO_HAND in families(two)


@pytest.mark.parametrize(("anti", "inspin", "downbeats"), [(F(-2), F(2), 2), (F(-3), F(3), 3)])
@pytest.mark.parametrize(("timing", "direction"), RELATIONS)
def test_4_equal_downbeats_pair_in_all_four_hand_relations(
    anti, inspin, downbeats, timing, direction
):
    two = relate(
        flower(anti, radius_m=0.4, tether_m=L), flower(inspin, radius_m=0.4, tether_m=L),
        timing, direction,
    )  # fmt: skip
    assert len(two.right.downbeats) == len(two.left.downbeats) == downbeats
    assert constant_relation(hand_relations(two)) == Relation(direction, timing)
    assert Family.EQUAL_DOWNBEATS in families(two)
    assert Family.POLYRHYTHM not in families(two)


def test_5_opposite_hands_can_carry_heads_that_stay_split_same():
    """-3 against a hand one way and +3 with a hand the other way turn alike."""
    two = relate(BOX, flower(F(3), radius_m=0.4, tether_m=L), SPLIT, "opposite")
    offset = head_relation(two).timing
    # the left tether stood `offset` on from where split heads want it; turn its petals by that
    left = flower(F(3), radius_m=0.4, tether_m=L, tip_turns=F(3, 4) + (offset - F(1, 2)) / 2)
    two = relate(BOX, left, SPLIT, "opposite")
    assert constant_relation(hand_relations(two)) == Relation("opposite", F(1, 2))
    assert head_relation(two) == Relation("same", F(1, 2))
    passed = np.linspace(0, 1, 99)
    right, other = track_motion(two.right, passed), track_motion(two.left, passed)
    apart = (other.tether_turns - right.tether_turns) % 1
    np.testing.assert_allclose(apart, 0.5, rtol=0, atol=1e-9)


def test_6_static_spin_with_pentagram_closes_after_two_hand_turns():
    pentagram = flower(F(-3, 2), radius_m=0.3, tether_m=L)
    two = relate(static_spin(tether_m=L), pentagram, TOGETHER, "same")
    assert (two.right.cycles, two.left.cycles) == (2, 1)
    assert trochoid_of(two.left.pattern).hand_turns == 2
    assert Family.POLYRHYTHM in families(two)


def test_7_extension_with_triquetra_meets_three_times_and_is_a_sequence():
    """Tethers agree where t = -2t (mod 1): at thirds; the heads are then in one place."""
    two = relate(WIDE_EXTENSION, TRIQUETRA, TOGETHER, "same")
    assert meetings(two) == (F(0), F(1, 3), F(2, 3))
    relations = head_relations(two)
    assert constant_relation(relations) is None
    assert [one.passed for one in relations] == [F(0), F(1, 2)]
    assert relation_words(relations) == "together opposite, split opposite"
    apart = extremes(two, Parts.HEADS)
    assert apart.furthest_m == pytest.approx(2 * L, abs=1e-9)  # tethers opposite from one hand
    assert apart.furthest_at == (F(1, 6), F(1, 2), F(5, 6))


def test_the_three_petal_composite_is_quick_across_the_top():
    """Head rate constant: half circle 3/4 of the cycle with -3/2 turns, line 1/4 with -1/2.

    Hand speed 2R over 1/4 against pi R over 3/4: 6/pi times as fast.
    """
    composite = patterns.three_petal_composite(radius=0.3)
    arc, line = composite.segments
    assert arc.head.turns / arc.share == line.head.turns / line.share
    assert arc.share / line.share == 3
    assert composite.head_turns == -2  # as a triquetra
    assert len(composite.downbeats) == 2
    top = fastest(composite, "hand").value
    low = np.pi * 0.3 / 0.75
    assert top / low == pytest.approx(6 / np.pi, abs=1e-12)
    assert is_composite(composite)


# ------------------------------------------------------------------ relations


@pytest.mark.parametrize(("timing", "direction"), [*RELATIONS, (QUARTER, "same"),
                                                   (F(3, 4), "opposite")])  # fmt: skip
@pytest.mark.parametrize("n", [F(1), F(-1), F(-2), F(3), F(-3, 2)])
def test_hand_relations_read_back_what_was_set(timing, direction, n):
    left = flower(n, radius_m=0.3, tether_m=L, tip_turns=F(1, 5))
    two = relate(WIDE_EXTENSION, left, timing, direction)
    assert constant_relation(hand_relations(two)) == Relation(direction, timing)


def test_hands_are_compared_when_either_is_at_the_bottom():
    """From 0 counter-clockwise it takes 3/4 of a turn down, from 1/3 clockwise 7/12; each hand is
    then at the bottom of its circle, so the other's place tells the timing."""
    right = flower(F(1), radius_m=0.4, tether_m=L, tip_turns=F(0))
    left = flower(F(1), radius_m=0.4, tether_m=L, tip_turns=F(1, 3), direction=-1)
    relations = hand_relations(TwoHands(HandTrack(right), HandTrack(left)))
    assert [one.passed for one in relations] == [F(7, 12), F(3, 4)]
    assert constant_relation(relations) == Relation("opposite", (F(1, 3) - F(3, 4) - F(3, 4)) % 1)


def test_equal_spins_keep_one_relation_whichever_head_is_down():
    spin = static_spin(tether_m=L)
    for offset in (F(0), F(1, 4), F(1, 2), F(2, 3)):
        two = TwoHands(HandTrack(spin), HandTrack(spin, offset=offset))
        assert head_relation(two) == Relation("same", offset)
    assert relation_words(head_relations(two)) == "2/3 turn on, same"


def test_two_pendulums_in_step_alternate_their_sense_together():
    swing = HandTrack(patterns.pendulum())
    relations = head_relations(TwoHands(swing, swing))
    assert [one.passed for one in relations] == [F(0), F(1, 2)]
    assert constant_relation(relations) == Relation("same", F(0))


def test_a_held_hand_has_no_hand_relation():
    two = relate(static_spin(tether_m=L), TRIQUETRA, TOGETHER, "same")
    assert hand_relations(two) == ()
    assert relation_words(()) == "none"


def test_a_head_at_its_turning_point_stands_still():
    """A swing of half a turn about the side is at rest when it touches straight down."""
    from composer.motion.pattern import Hold, Pattern, Segment, Swing

    touching = Pattern((Segment(F(1), Hold(), Swing(F(0), F(1, 4), F(0), F(1))),), L)
    two = TwoHands(HandTrack(static_spin(tether_m=L)), HandTrack(touching, offset=F(3, 4)))
    assert head_relations(two)[0].relation == Relation("still", F(0))


# ------------------------------------------------------------------ families


def test_families_of_assembled_patterns():
    extension = HandTrack(EXTENSION)
    for assembled in (patterns.three_petal_composite(), patterns.continuous_assembly()):
        assert Family.COMPOSITE in families(TwoHands(HandTrack(assembled), extension))
    assert not is_composite(patterns.travelling_pendulum())
    assert not is_composite(patterns.pendulum())
    assert not is_composite(TRIQUETRA)


def test_a_pattern_with_itself_is_no_pair_of_equal_downbeat_flowers():
    two = relate(TRIQUETRA, TRIQUETRA, SPLIT, "same")
    assert families(two) == frozenset()
    assert Family.UNIT_CIRCLE not in families(relate(EXTENSION, TRIQUETRA, SPLIT, "same"))
    assert Family.UNIT_CIRCLE in families(relate(EXTENSION, ISOLATION, TOGETHER, "opposite"))


def test_body_tracing_needs_a_place_that_the_head_goes_round():
    two = relate(BOX, flower(F(3), radius_m=0.4, tether_m=L), SPLIT, "opposite")
    assert Family.BODY_TRACING in families(two, traced_m=0.1 + 0.1j)
    assert Family.BODY_TRACING not in families(two, traced_m=2 + 0j)
    assert Family.BODY_TRACING not in families(two)


def test_level_heads_are_head_to_hand():
    """Pendulum's head and a hand at one height though far apart sideways."""
    from composer.motion.pattern import Hold, Pattern, Segment, Spin

    head = Pattern((Segment(F(1), Hold(1j * L), Spin(F(3, 4), F(0))),), L)
    hand = Pattern((Segment(F(1), Hold(1.0 + 0j), Spin(F(3, 4), F(1))),), L)
    right, left = heads_to_hands(TwoHands(HandTrack(head), HandTrack(hand)))
    assert right.furthest_from_level_m == pytest.approx(0, abs=1e-12)
    assert right.furthest_m == pytest.approx(1.0, abs=1e-12)
    assert right.holds
    assert not right.at_the_hand
    assert not left.holds


# ------------------------------------------------------------------ how near


def test_two_static_spins_side_by_side():
    """Hubs 0.8 m apart, heads split: nearest 0.8 - 2L when both point inwards, at the quarter."""
    right = move_centre(static_spin(tether_m=0.3), 0.4 + 0j)
    left = move_centre(static_spin(tether_m=0.3, direction=-1), -0.4 + 0j)
    two = TwoHands(HandTrack(right), HandTrack(left))
    heads = extremes(two, Parts.HEADS)
    assert heads.nearest_m == pytest.approx(0.2, abs=1e-9)
    assert heads.nearest_at == (F(3, 4),)
    assert heads.furthest_m == pytest.approx(1.4, abs=1e-9)
    assert heads.furthest_at == (F(1, 4),)
    nearest = {one.parts: one.distance_m for one in nearest_approaches(two)}
    assert nearest[Parts.HANDS] == pytest.approx(0.8, abs=1e-12)
    assert nearest[Parts.RIGHT_HEAD_LEFT_HAND] == pytest.approx(0.5, abs=1e-9)
    assert nearest[Parts.RIGHT_HEAD_LEFT_TETHER] == pytest.approx(0.2, abs=1e-9)
    assert nearest[Parts.TETHERS] == pytest.approx(0.2, abs=1e-9)


def test_risks_name_what_comes_too_near():
    right = move_centre(static_spin(tether_m=0.3), 0.4 + 0j)
    left = move_centre(static_spin(tether_m=0.3, direction=-1), -0.4 + 0j)
    two = TwoHands(HandTrack(right), HandTrack(left))
    prop = Prop(length_m=0.3, head_radius_m=0.04)
    assert risks(two, right=prop, left=prop) == ()
    big = Prop(length_m=0.3, head_radius_m=0.11)
    (hit,) = [one for one in risks(two, right=big, left=big) if one.parts is Parts.HEADS]
    assert (hit.kind, hit.passed) == ("hit", F(3, 4))
    assert hit.clearance_m == pytest.approx(-0.02, abs=1e-9)


@pytest.mark.parametrize("big", ["right", "left"])
def test_each_head_is_as_large_as_its_own_prop(big):
    """Hubs 0.8 m apart, tethers of 0.3: a head comes within 0.5 m of the other hand and 0.2 m of
    the other tether and head. A head of 0.45 m with a fist of 0.05 just fills the way to the hand.
    """
    right = move_centre(static_spin(tether_m=0.3), 0.4 + 0j)
    left = move_centre(static_spin(tether_m=0.3, direction=-1), -0.4 + 0j)
    props = {hand: Prop(length_m=0.3, head_radius_m=0.01) for hand in ("right", "left")}
    props[big] = Prop(length_m=0.3, head_radius_m=0.45)
    found = risks(TwoHands(HandTrack(right), HandTrack(left)), **props)
    other = "left" if big == "right" else "right"
    assert {one.parts.value: one.clearance_m for one in found} == pytest.approx(
        {
            "head and head": 0.2 - 0.46,
            f"{big} head and {other} hand": 0.0,
            f"{big} head and {other} tether": 0.2 - 0.45,
        },
        abs=1e-9,
    )


def test_crossing_tethers_in_one_plane_are_a_tangle_and_in_two_are_not():
    """Spins about the same hub opposite ways cross twice a turn; half a metre apart they clear."""
    spin, back = static_spin(tether_m=L), static_spin(tether_m=L, direction=-1)
    two = TwoHands(HandTrack(spin), HandTrack(move_centre(back, 0.2 + 0j)))
    prop = Prop(length_m=L)
    assert any(one.kind == "tangle" for one in risks(two, right=prop, left=prop))
    behind = Planes(left=PlacedPlane(Plane.WALL, origin_m=(0.0, -0.5, 0.0)))
    assert risks(two, right=prop, left=prop, planes=behind) == ()
    tethers = extremes(two, Parts.TETHERS, behind)
    assert tethers.nearest_m == pytest.approx(0.5, abs=1e-9)


@settings(max_examples=30)
@given(st.integers(0, 10_000))
def test_tether_distance_is_the_least_over_all_points_of_both(seed):
    """Against brute force over 200 x 200 points of two segments in the room."""
    rng = np.random.default_rng(seed)
    centre, phase = complex(*rng.uniform(-0.6, 0.6, 2)), rng.uniform(0, 1, 1)
    left = move_centre(flower(F(-2), radius_m=0.2, tether_m=0.4), centre)
    two = TwoHands(HandTrack(WIDE_EXTENSION), HandTrack(left))
    planes = Planes(left=PlacedPlane(Plane.WHEEL, origin_m=(0.2, 0.1, 0.0)))
    got = distances_m(room_pair(two, planes), Parts.TETHERS, phase)[0]
    ends = []
    for track, plane in ((two.right, planes.right), (two.left, planes.left)):
        motion = track_motion(track, phase)
        hand, head = plane.place(motion.hand_m)[0], plane.place(motion.head_m)[0]
        ends.append(hand + np.linspace(0, 1, 200)[:, None] * (head - hand))
    brute = np.linalg.norm(ends[0][:, None] - ends[1][None, :], axis=-1).min()
    assert got <= brute + 1e-12
    assert got == pytest.approx(brute, abs=4e-3)


def test_ways_through_the_room_that_leave_their_plane():
    """The left one, 0.3 m in front at the top of the cycle only, comes nearest where it is not."""

    def still(passed):
        return np.zeros((len(passed), 3)), np.tile([0.0, 0.0, -L], (len(passed), 1))

    def weaving(passed):
        hand, head = still(passed)
        out = np.outer(0.3 + 0.2 * np.cos(2 * np.pi * passed), [0.0, 1.0, 0.0])
        return hand + out, head + out

    heads = extremes(RoomPair(still, weaving, 100), Parts.HEADS)
    assert (heads.nearest_m, heads.furthest_m) == pytest.approx((0.1, 0.5), abs=1e-12)
    assert (heads.nearest_at, heads.furthest_at) == ((F(1, 2),), (F(0),))


def test_heads_that_are_always_together_never_meet():
    two = relate(EXTENSION, EXTENSION, TOGETHER, "same")
    assert meetings(two) == ()
    assert extremes(two, Parts.HEADS).is_constant


def test_instants_are_told_as_plain_fractions():
    assert share_of_cycle(1 / 3 + 1e-9) == F(1, 3)
    assert share_of_cycle(1 - 1e-9) == 0
    irrational = 2**0.5 - 1  # no fraction of at most 960 parts comes within 1e-6 of it
    assert abs(float(share_of_cycle(irrational)) - irrational) < 1e-9
