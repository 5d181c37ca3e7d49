"""The shipped moves, against the trade's own statements about them.

Names and descriptions are common practice of the trade, with no published source; what follows from
a definition is said to. Curves: J. D. Lawrence, A Catalog of Special Plane Curves, 1972.
"""

import itertools
from fractions import Fraction

import numpy as np
import pytest

from composer.errors import UnknownName
from composer.motion.approach import meetings
from composer.motion.body import Body, Prop
from composer.motion.family import Family, families, heads_to_hands
from composer.motion.hands import Hand
from composer.motion.kinematics import track_motion
from composer.motion.relation import (
    constant_relation,
    hand_relations,
    head_relations,
)
from composer.moves.checked import move_fault
from composer.moves.library import shipped_library
from composer.moves.model import Hybrid, OneHandMove
from composer.moves.perform import Performance, Style, perform
from composer.moves.reach import reach_m

BODY, PROPS = Body(), (Prop(), Prop())
PASSED = np.linspace(0, 1, 481)

ASKED_FOR_ONE_HAND = (
    "static spin", "extension", "isolation",
    "vertical cat-eye", "horizontal cat-eye", "tilted cat-eye",
    "one-petal in-spin", "two-petal in-spin", "three-petal in-spin", "four-petal in-spin",
    "five-petal in-spin", "six-petal in-spin", "seven-petal in-spin",
    "two-petal anti-spin", "three-petal anti-spin", "four-petal anti-spin", "five-petal anti-spin",
    "six-petal anti-spin", "seven-petal anti-spin", "diamond", "box",
    "triquetra", "triquetra pointing down", "triquetra pointing left", "triquetra pointing right",
    "pentagram", "seven-pointed star", "pendulum", "travelling pendulum", "stall overhead",
    "continuous assembly pattern", "one-and-a-half", "three-petal composite", "linear travel",
    "windmill", "buzzsaw", "two-beat weave", "three-beat weave", "figure eight",
)  # fmt: skip


def performed(name: str, hand: str = "both") -> Performance:
    return perform(shipped_library().get(name), Style(hand=hand), BODY, PROPS)  # type: ignore[arg-type]


def two_of(name: str):
    two = performed(name).two_hands
    assert two is not None
    return two


def tips(name: str) -> list[float]:
    """Directions, in degrees, of the outermost places of the head in a closure, by looking."""
    track = performed(name, "right").tracks[Hand.RIGHT]
    shares = np.arange(7200) / 7200
    head = track_motion(track, shares).head_m
    size = np.round(np.abs(head), 9)
    top = (size > np.roll(size, 1)) & (size >= np.roll(size, -1))
    return sorted(round(float(np.degrees(np.angle(place)))) % 360 for place in head[top])


def test_all_patterns_and_hybrids_asked_for_are_there():
    library = shipped_library()
    assert len(library.one_hand()) >= 24
    assert len(library.hybrids()) >= 40
    for name in ASKED_FOR_ONE_HAND:
        assert isinstance(library.get(name), OneHandMove), name


@pytest.mark.parametrize(
    ("name", "where"),
    [
        ("triquetra", [90, 210, 330]),
        ("triquetra pointing down", [30, 150, 270]),
        ("triquetra pointing right", [0, 120, 240]),
        ("triquetra pointing left", [60, 180, 300]),
        ("diamond", [0, 90, 180, 270]),
        ("box", [45, 135, 225, 315]),
        ("vertical cat-eye", [90, 270]),
        ("horizontal cat-eye", [0, 180]),
        ("tilted cat-eye", [45, 225]),
        ("pentagram", [18, 90, 162, 234, 306]),
        ("one-petal in-spin", [270]),
        ("two-petal in-spin", [90, 270]),
    ],
)
def test_petals_point_where_the_name_says(name, where):
    """Outermost places, sampled: the definition of a petal; diamond on the axes, box off them."""
    assert tips(name) == where


@pytest.mark.parametrize(
    ("name", "count"),
    [
        (f"{word}-petal {kind}", number)
        for number, word in enumerate(("one", "two", "three", "four", "five", "six", "seven"), 1)
        for kind in ("in-spin", "anti-spin")
        if (number, kind) != (1, "anti-spin")
    ],
)
def test_a_flower_has_the_petals_of_its_name_and_the_downbeats_of_its_head(name, count):
    """Petals |p - q|, downbeats |p| (MathWorld, Epitrochoid and Hypotrochoid; derivation)."""
    assert len(tips(name)) == count
    downbeats = count + 1 if name.endswith("in-spin") and "anti" not in name else count - 1
    assert performed(name, "right").downbeats_per_cycle == downbeats


def test_a_pentagram_visits_every_second_point():
    """H. S. M. Coxeter, Introduction to Geometry, 1969, section 2.8: {5/2}."""
    track = performed("pentagram", "right").tracks[Hand.RIGHT]
    shares = np.arange(5000) / 5000
    head = track_motion(track, shares).head_m
    size = np.abs(head)
    top = (size > np.roll(size, 1)) & (size >= np.roll(size, -1))
    angles = np.angle(head[top]) / (2 * np.pi)
    steps = np.diff(np.concatenate([angles, angles[:1]])) % 1
    np.testing.assert_allclose(np.minimum(steps, 1 - steps), 2 / 5, rtol=0, atol=1e-3)


def test_an_isolation_keeps_hand_and_head_opposite_on_one_circle():
    """R = L/2: the head traces the hand's own circle from the other side (derivation)."""
    motion = track_motion(performed("isolation", "right").tracks[Hand.RIGHT], PASSED)
    np.testing.assert_allclose(motion.head_m, -motion.hand_m, rtol=0, atol=1e-12)


def test_the_pendulum_passes_down_twice_in_a_full_swing_and_rests_level_with_the_hand():
    track = performed("pendulum", "right").tracks[Hand.RIGHT]
    assert len(track.downbeats) == 2
    rest = track_motion(track, [0.25, 0.75])
    np.testing.assert_allclose(rest.tether_rate, 0, rtol=0, atol=1e-12)
    np.testing.assert_allclose(rest.head_m.imag, rest.hand_m.imag, rtol=0, atol=1e-12)


def test_the_composite_crosses_the_top_1_91_times_as_fast():
    """Line 2R in a quarter, half circle in three: 4 * 2R / (4/3 * pi R) = 6/pi (derivation)."""
    track = performed("three-petal composite", "right").tracks[Hand.RIGHT]
    speed = np.abs(track_motion(track, PASSED[:-1] + 1e-4).hand_velocity)
    assert speed.max() / speed.min() == pytest.approx(6 / np.pi, rel=0, abs=1e-9)
    assert np.mean(speed > speed.min() * 1.5) == pytest.approx(1 / 4, rel=0, abs=0.01)
    assert abs(track.pattern.head_turns) == 2


def test_a_continuous_assembly_turns_the_hand_round_and_never_the_head():
    track = performed("continuous assembly pattern", "right").tracks[Hand.RIGHT]
    motion = track_motion(track, PASSED)
    assert np.all(motion.tether_rate > 0)
    turning = np.imag(np.conj(motion.hand_m) * motion.hand_velocity)
    assert turning.min() < 0 < turning.max()


def test_a_figure_eight_passes_through_the_tangent_point_without_a_jump_of_the_hand():
    """Direction of rotation flips, velocity does not (derivation)."""
    pattern = performed("figure eight", "right").tracks[Hand.RIGHT].pattern
    from composer.motion.continuity import joints

    assert all(joint.is_smooth for joint in joints(pattern))
    arcs = [segment.hand.turns for segment in pattern.segments]
    assert sorted(arcs) == [-1, 1]


@pytest.mark.parametrize(
    ("name", "own", "other"), [("two-beat weave", 1, 1), ("three-beat weave", 2, 1)]
)
def test_a_weave_beats_at_its_own_side_and_across(name, own, other):
    """Two beats: one a side. Three: two at its own, one across (common practice)."""
    performance = performed(name)
    for hand, side in ((Hand.RIGHT, 1), (Hand.LEFT, -1)):
        downbeats = [float(share) for share in performance.tracks[hand].downbeats]
        _, heads = performance.room_places_m(hand, downbeats)
        assert np.count_nonzero(heads[:, 0] * side > 0.1) == own
        assert np.count_nonzero(heads[:, 0] * side < -0.1) == other


def test_the_three_beat_weave_takes_turns_on_each_side():
    """Right, left, right on the right side, then left, right, left on the left: both cross over."""
    performance = performed("three-beat weave")
    beats = []
    for hand in performance.tracks:
        for share in performance.tracks[hand].downbeats:
            _, head = performance.room_places_m(hand, [float(share)])
            beats.append((share, hand, "right" if head[0, 0] > 0 else "left"))
    sides = [side for _, _, side in sorted(beats)]
    hands = [hand for _, hand, _ in sorted(beats)]
    assert sides.count("right") == sides.count("left") == 3
    assert sum(a != b for a, b in zip(sides, sides[1:] + sides[:1], strict=True)) == 2
    assert all(a != b for a, b in itertools.pairwise(hands))


def test_the_windmill_beats_once_in_front_and_once_behind():
    performance = performed("windmill")
    assert set(performance.tracks) == set(Hand)
    for hand, track in performance.tracks.items():
        _, heads = performance.room_places_m(hand, [float(share) for share in track.downbeats])
        assert sorted(np.sign(heads[:, 1])) == [-1, 1]


# ------------------------------------------------------------------ hybrids


def test_extension_and_isolation_hands_together_have_heads_split():
    """Both at R = L/2: the isolation's head is always L from the other hand (derivation)."""
    two = two_of("extension with isolation, together")
    assert constant_relation(hand_relations(two)).words == "together same"
    assert constant_relation(head_relations(two)).words == "split same"
    gap = np.abs(track_motion(two.left, PASSED).head_m - track_motion(two.right, PASSED).hand_m)
    np.testing.assert_allclose(gap, 0.55, rtol=0, atol=1e-12)
    assert Family.HEAD_TO_HAND not in families(two)


@pytest.mark.parametrize(
    "name",
    [
        "extension with isolation, head-to-hand",
        "vertical cat-eye with isolation, head-to-hand",
        "horizontal cat-eye with isolation, head-to-hand",
        "tilted cat-eye with isolation, head-to-hand",
        "isolation with small triquetra, head-to-hand",
        "chasing isolations",
    ],
)
def test_with_hands_split_the_isolations_head_rides_on_the_other_hand(name):
    """Distance 0 all the time, for every tilt (derivation)."""
    two = two_of(name)
    assert min(one.furthest_m for one in heads_to_hands(two)) < 1e-9
    assert Family.HEAD_TO_HAND in families(two)


@pytest.mark.parametrize(
    "relation", ["together same", "split same", "together opposite", "split opposite"]
)
@pytest.mark.parametrize(
    ("pair", "downbeats"),
    [("triquetra with one-petal in-spin", 2), ("diamond with two-petal in-spin", 3)],
)
def test_flowers_of_equal_downbeats_pair_in_all_four_relations(pair, downbeats, relation):
    two = two_of(f"{pair}, {relation}")
    assert len(two.right.downbeats) == len(two.left.downbeats) == downbeats
    assert Family.EQUAL_DOWNBEATS in families(two)
    assert constant_relation(hand_relations(two)).words == relation


def test_diamond_with_two_petal_in_spin_split_opposite_has_heads_split_same_throughout():
    two = two_of("diamond with two-petal in-spin, split opposite")
    assert constant_relation(head_relations(two)).words == "split same"


def test_static_spin_with_pentagram_closes_after_two_hand_turns():
    two = two_of("static spin with pentagram")
    assert (two.right.cycles, two.left.cycles) == (2, 1)
    assert abs(two.left.pattern.hand_turns) == 2
    assert performed("static spin with pentagram").cycle_beats(Fraction(1)) == 3


def test_extension_and_triquetra_meet_three_times_evenly():
    """Relative angle n - 1 = -3: three meetings a hand turn (derivation)."""
    found = meetings(two_of("extension with triquetra"))
    assert len(found) == 3
    assert found[1] - found[0] == found[2] - found[1] == Fraction(1, 3)
    assert constant_relation(head_relations(two_of("extension with triquetra"))) is None


def test_the_composites_hand_keeps_level_with_the_short_pendulums_head():
    """Head-to-hand by level: within 2 cm, less than half a fist (ours)."""
    two = two_of("pendulum with three-petal composite, head-to-hand")
    level = heads_to_hands(two)[0].furthest_from_level_m
    assert 0.001 < level <= 0.02
    assert Family.HEAD_TO_HAND in families(two)
    assert Family.HEAD_TO_HAND not in families(two_of("pendulum with three-petal composite"))


def test_body_tracing_is_named_where_a_place_is_traced():
    move = shipped_library().get("box with two-petal in-spin round the body")
    assert isinstance(move, Hybrid)
    assert move.tracing is not None
    traced = move.tracing.metres_for(BODY, PROPS[0])
    assert Family.BODY_TRACING in families(two_of(move.name), traced_m=traced)


def test_two_triquetras_draw_the_hexagram_that_one_hand_cannot():
    """Tips of {6/2}: six directions 60 degrees apart, three from each hand (Coxeter, 2.8)."""
    two = two_of("hexagram of two triquetras")
    found = []
    for track in (two.right, two.left):
        head = track_motion(track, np.arange(3600) / 3600).head_m
        size = np.abs(head)
        found += list(np.degrees(np.angle(head[size > size.max() - 1e-9])) % 360)
    assert sorted(round(angle) % 360 for angle in found) == [30, 90, 150, 210, 270, 330]


# ------------------------------------------------------------------ the whole library


@pytest.mark.parametrize("move", shipped_library().moves.values(), ids=lambda move: move.name)
def test_every_move_can_be_performed_within_reach_by_small_and_large(move):
    """Default arm, and that of a 5th and a 95th percentile stature (ANSUR II 1525 and 1870 mm)."""
    for body in (BODY, Body(stature_m=1.525), Body(stature_m=1.870)):
        performance = perform(move, Style(), body, PROPS)
        assert reach_m(performance, body) <= body.arm_m + 0.05
        for track in performance.tracks.values():
            ends = track_motion(track, [0.0, 1.0])
            assert abs(ends.head_m[1] - ends.head_m[0]) < 1e-9


@pytest.mark.parametrize("move", shipped_library().moves.values(), ids=lambda move: move.name)
def test_no_shipped_move_is_at_fault(move):
    """Shipped moves are not looked through at every start as a performer's own are."""
    assert move_fault(move) is None


@pytest.mark.parametrize("move", shipped_library().hybrids(), ids=lambda move: move.name)
def test_heads_that_meet_bear_a_caution(move):
    """Whatever comes together in one plane is said before anybody tries it."""
    performance = perform(move, Style(), BODY, PROPS)
    if meetings(performance.room_pair):
        assert shipped_library().caution_lines(move)


def test_an_unknown_name_offers_the_nearest():
    with pytest.raises(UnknownName, match=r'"extenson"; the nearest are "extension"'):
        shipped_library().get("extenson")
    with pytest.raises(UnknownName, match="no move is called"):
        shipped_library().get("")


def test_names_are_found_whatever_their_case_and_spaces():
    library = shipped_library()
    assert library.get("  Cat-Eye ") is library.get("vertical cat-eye")


def test_a_hybrid_is_no_one_hand_move():
    with pytest.raises(UnknownName, match="is a hybrid"):
        shipped_library().get_one_hand("crossed cat-eyes")
