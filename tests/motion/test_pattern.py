"""Patterns in time: exact instants, derivatives, joints, and the same figure seen otherwise."""

import itertools
from fractions import Fraction
from math import asin, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.motion.continuity import check_closed, heading_change, joints
from composer.motion.flower import flower, isolation, static_spin
from composer.motion.hands import Hand, HandTrack, TwoHands
from composer.motion.kinematics import motion_at, segment_motion, track_motion
from composer.motion.measures import path_length_m, signed_area_m2
from composer.motion.pattern import DOWN, UP, Arc, Hold, Line, Pattern, Segment, Spin, Swing
from composer.motion.transforms import enter_at, mirror, move_centre, reverse, rotate, split

from . import patterns

F = Fraction
L = 0.5
ASSEMBLED = [
    patterns.pendulum(),
    patterns.travelling_pendulum(),
    patterns.three_petal_composite(),
    patterns.continuous_assembly(),
    patterns.figure_eight(),
]
EVERY = [*ASSEMBLED, flower(F(-3, 2), radius_m=0.3, tether_m=L), isolation(tether_m=L),
         static_spin(tether_m=L, direction=-1)]  # fmt: skip
PHASES = np.linspace(0, 1, 241, endpoint=False) + 1e-4
"""Off every joint, where the two sides may differ."""

ratios = (
    st.tuples(st.integers(-7, 7), st.integers(1, 4)).map(lambda pq: F(*pq)).filter(lambda n: n != 0)
)
turns = st.fractions(min_value=-2, max_value=2, max_denominator=24)
flowers = st.builds(
    lambda n, radius, tether, tip, direction: flower(
        n, radius_m=radius, tether_m=tether, tip_turns=tip, direction=direction
    ),
    ratios,
    st.floats(0.05, 1.0),
    st.floats(0.1, 1.0),
    turns,
    st.sampled_from([1, -1]),
)
any_pattern = st.one_of(flowers, st.sampled_from(EVERY))


def same_motion(one: Pattern, two: Pattern, phases: np.ndarray = PHASES) -> None:
    a, b = motion_at(one, phases), motion_at(two, phases)
    for name in ("hand_m", "head_m", "hand_velocity", "head_velocity", "tether_rate"):
        np.testing.assert_allclose(getattr(a, name), getattr(b, name), rtol=0, atol=1e-8)


# ------------------------------------------------------------------ instants


@pytest.mark.parametrize("n", [F(1), F(-2), F(3), F(-3, 2), F(5, 2)])
@pytest.mark.parametrize("tip", [F(3, 4), F(0), F(1, 7)])
@pytest.mark.parametrize("direction", [1, -1])
def test_downbeats_are_where_the_tether_points_straight_down(n, tip, direction):
    """|p| of them in a closure, evenly spaced: the head turns evenly."""
    pattern = flower(n, radius_m=0.3, tether_m=L, tip_turns=tip, direction=direction)
    beats = pattern.downbeats
    assert len(beats) == abs(n.numerator)
    assert {b - a for a, b in itertools.pairwise(beats)} <= {F(1, abs(n.numerator))}
    motion = motion_at(pattern, [float(beat) for beat in beats])
    np.testing.assert_allclose(motion.head_m - motion.hand_m, -1j * L, rtol=0, atol=1e-9)


def test_a_pendulum_passes_down_twice_in_a_full_swing():
    """Once each way; exactly, because a sine of 0 lies at 0 and 1/2 (Niven's theorem)."""
    swing = patterns.pendulum()
    assert swing.downbeats == (F(0), F(1, 2))
    assert [found.sense for found in swing.tether_passes(DOWN)] == [1, -1]
    assert swing.tether_at(F(1, 4)) == (F(1), 0)  # at rest a quarter turn up
    assert swing.tether_at(F(1, 8))[1] == 1
    assert swing.tether_at(F(5, 8))[1] == -1
    assert swing.tether_at(F(7, 8))[1] == 1


def test_a_swing_passes_half_its_reach_at_a_twelfth():
    """sin(30 degrees) = 1/2."""
    swing = patterns.pendulum(amplitude=F(1, 4))
    assert [p.phase for p in swing.tether_passes(DOWN + F(1, 8))] == [F(1, 12), F(5, 12)]
    assert swing.tether_at(F(1, 12))[0] == DOWN + F(1, 8)
    irrational = swing.tether_passes(DOWN + F(1, 12))[0].phase
    assert float(irrational) == pytest.approx(asin(1 / 3) / (2 * pi), abs=1e-12)


@pytest.mark.parametrize("amplitude", [F(1, 4), F(-1, 4)])
@pytest.mark.parametrize("cycles", [F(1), F(-1), F(2)])
def test_a_swing_run_either_way_passes_down_in_the_sense_it_moves(amplitude, cycles):
    """The derivative of A sin(2 pi c t) at its zeros has the sign of A c, then of -A c."""
    swing = Pattern((Segment(F(1), Hold(), Swing(DOWN, amplitude, F(0), cycles)),), tether_m=L)
    first = 1 if amplitude * cycles > 0 else -1
    senses = [found.sense for found in swing.tether_passes(DOWN)]
    assert senses == [first, -first] * int(abs(cycles))
    for phase in (F(1, 16), F(3, 16), F(7, 16), F(9, 16), F(15, 16)):
        rate = motion_at(swing, [float(phase)]).tether_rate[0]
        assert swing.tether_at(phase)[1] == np.sign(rate)


def test_a_swing_that_only_touches_a_direction_is_at_rest_there():
    """A quarter turn about the side reaches straight down once, where the sine is at its least."""
    touching = Pattern((Segment(F(1), Hold(), Swing(F(0), F(1, 4), F(0), F(1))),), tether_m=L)
    (down,) = touching.tether_passes(DOWN)
    assert (down.phase, down.sense) == (F(3, 4), 0)


def test_a_wide_swing_passes_down_and_up():
    """0.6 turns each way: down at the middle, up half a turn from it on both sides, twice each."""
    wide = Pattern((Segment(F(1), Hold(), Swing(DOWN, F(3, 5), F(0), F(1))),), tether_m=L)
    assert len(wide.tether_passes(DOWN)) == 2
    assert len(wide.tether_passes(UP)) == 4


def test_a_head_that_arrives_and_rests_has_passed_once():
    """Half a turn down, a rest there, half a turn back up: one downbeat, on arriving."""
    rest = Pattern(
        (
            Segment(F(1, 3), Hold(), Spin(UP, F(1, 2))),
            Segment(F(1, 3), Hold(), Spin(DOWN, F(0))),
            Segment(F(1, 3), Hold(), Spin(DOWN, F(-1, 2))),
        ),
        L,
    )
    check_closed(rest)
    (down,) = rest.tether_passes(DOWN)
    assert (down.phase, down.sense) == (F(1, 3), 1)
    assert len(rest.tether_passes(UP)) == 1
    still = Pattern((Segment(F(1), Hold(), Spin(DOWN, F(0))),), L)
    assert still.downbeats == ()


def test_tether_at_agrees_with_the_motion():
    for pattern in EVERY:
        for phase in (F(0), F(1, 7), F(3, 8), F(1, 2), F(5, 6)):
            place, sense = pattern.tether_at(phase)
            motion = motion_at(pattern, [float(phase)])
            assert float(place) == pytest.approx(motion.tether_turns[0], abs=1e-11)
            assert sense == np.sign(round(motion.tether_rate[0], 9))


@given(st.sampled_from(EVERY), st.integers(1, 4), st.fractions(0, 1, max_denominator=12))
def test_a_tracks_downbeats_are_its_patterns_over_and_over(pattern, cycles, offset):
    track = HandTrack(pattern, cycles, offset)
    assert len(track.downbeats) == cycles * len(pattern.downbeats)
    down = track_motion(track, [float(passed) for passed in track.downbeats])
    aim = np.exp(2j * pi * down.tether_turns)
    np.testing.assert_allclose(aim, -1j, rtol=0, atol=1e-7)


# ------------------------------------------------------------------ motion


@pytest.mark.parametrize("pattern", EVERY)
def test_velocities_and_accelerations_are_the_derivatives(pattern):
    """Central differences within the segments, at a cycle of 1.7 s."""
    step, cycle_s = 1e-5, 1.7
    phases = PHASES[np.min(np.abs(PHASES[:, None] - np.array([*map(float, pattern.starts), 1.0])),
                           axis=1) > 1e-3]  # fmt: skip
    late, here, early = (
        motion_at(pattern, phases + k * step / cycle_s, cycle_s=cycle_s) for k in (1, 0, -1)
    )
    pairs = [
        ("hand_m", "hand_velocity"), ("hand_velocity", "hand_acceleration"),
        ("head_m", "head_velocity"), ("head_velocity", "head_acceleration"),
        ("tether_turns", "tether_rate"), ("tether_rate", "tether_acceleration"),
    ]  # fmt: skip
    for upper, lower in pairs:
        slope = (getattr(late, upper) - getattr(early, upper)) / (2 * step)
        np.testing.assert_allclose(getattr(here, lower), slope, rtol=0, atol=2e-6)


def test_a_joint_has_two_sides():
    composite = patterns.three_petal_composite(radius=0.3)
    before = motion_at(composite, [0.75], side="before")
    after = motion_at(composite, [0.75])
    assert before.hand_velocity[0].imag == pytest.approx(pi * 0.3 / 0.75, abs=1e-12)
    assert after.hand_velocity[0] == pytest.approx(-0.6 / 0.25, abs=1e-12)
    start = motion_at(composite, [0.0], side="before").hand_velocity[0]
    assert start == pytest.approx(-0.6 / 0.25, abs=1e-12)
    assert segment_motion(composite, 0, [1.0]).hand_m[0] == pytest.approx(0.3, abs=1e-12)


@pytest.mark.parametrize(
    ("phase", "cycle_s", "words"),
    [([np.nan], 1.0, "finite"), ([[0.0]], 1.0, "one-dimensional"), ([0.0], 0.0, "positive time")],
)
def test_a_motion_is_asked_for_at_real_instants(phase, cycle_s, words):
    with pytest.raises(ValueError, match=words):
        motion_at(static_spin(tether_m=L), phase, cycle_s=cycle_s)


@pytest.mark.parametrize(
    ("segments", "tether", "words"),
    [
        ((Segment(F(1), Hold(), Spin(DOWN, F(1))),), 0.0, "positive length"),
        ((Segment(F(1), Hold(), Spin(DOWN, F(1))),), float("nan"), "positive length"),
        ((), L, "at least one"),
        ((Segment(F(1, 2), Hold(), Spin(DOWN, F(1))),), L, "add up to 1"),
        ((Segment(F(0), Hold(), Spin(DOWN, F(1))),), L, "positive share"),
        ((Segment(F(1), Hold(complex("nan")), Spin(DOWN, F(1))),), L, "finite"),
        ((Segment(F(1), Arc(0j, -0.1, F(0), F(1)), Spin(DOWN, F(1))),), L, "not negative"),
        ((Segment(F(1), Line(0j, 1j, True, (F(1, 2), F(1, 2))), Spin(DOWN, F(1))),), L, "part"),
    ],
)
def test_what_is_no_pattern_is_refused(segments, tether, words):
    with pytest.raises(ValueError, match=words):
        Pattern(segments, tether_m=tether)


@pytest.mark.parametrize(
    ("n", "direction", "words"), [(F(0), 1, "n is not 0"), (F(2), 0, "1 or -1")]
)
def test_what_is_no_flower_is_refused(n, direction, words):
    with pytest.raises(ValueError, match=words):
        flower(n, radius_m=0.3, tether_m=L, direction=direction)


# ------------------------------------------------------------------ joints


@pytest.mark.parametrize("pattern", EVERY)
def test_patterns_of_the_trade_are_closed(pattern):
    check_closed(pattern)
    assert len(joints(pattern)) == len(pattern.segments)


def test_a_composites_corners_are_quarter_turns():
    """Up along the circle, then straight across; across, then down into it; spin unchanged."""
    start, corner = joints(patterns.three_petal_composite())
    assert (start.phase, corner.phase) == (F(0), F(3, 4))
    assert start.hand_heading_change == pytest.approx(0.25, abs=1e-12)
    assert corner.hand_heading_change == pytest.approx(0.25, abs=1e-12)
    assert corner.spin_jump == pytest.approx(0, abs=1e-12)
    assert corner.is_continuous
    assert not corner.is_smooth


def test_a_figure_eight_keeps_its_heading_through_the_common_point():
    """The circles share a tangent there: the sense of turning flips, the velocity does not."""
    for joint in joints(patterns.figure_eight()):
        assert joint.hand_heading_change == pytest.approx(0, abs=1e-12)
        assert joint.head_heading_change == pytest.approx(0, abs=1e-12)
        assert joint.is_smooth


def test_a_spin_that_jumps_to_another_rate_goes_on_but_not_smoothly():
    """Half a cycle at one turn a half, half a cycle at two; the hand is held."""
    uneven = Pattern(
        (
            Segment(F(1, 2), Hold(), Spin(DOWN, F(1))),
            Segment(F(1, 2), Hold(), Spin(DOWN, F(2))),
        ),
        L,
    )
    assert [joint.spin_jump for joint in joints(uneven)] == pytest.approx([-2, 2], abs=1e-12)
    assert all(joint.is_continuous and not joint.is_smooth for joint in joints(uneven))


def test_a_travelling_pendulum_stands_still_at_its_ends():
    for joint in joints(patterns.travelling_pendulum()):
        assert joint.hand_heading_change is None
        assert joint.is_smooth


def test_gaps_are_refused_in_one_line():
    spin = Spin(DOWN, F(1, 2))
    jump = Pattern(
        (
            Segment(F(1, 2), Hold(0j), spin),
            Segment(F(1, 2), Hold(0.12 + 0j), Spin(F(1, 4), F(1, 2))),
        ),
        L,
    )
    with pytest.raises(ValueError, match=r"hand jumps 0.12 m from part 2 to part 1 of 2"):
        check_closed(jump)
    twist = Pattern((Segment(F(1, 2), Hold(), spin), Segment(F(1, 2), Hold(), spin)), L)
    with pytest.raises(ValueError, match=r"tether jumps -?0.5 turns from part 2 .* begin each"):
        check_closed(twist)
    opened = Pattern((Segment(F(1), Hold(), Spin(DOWN, F(1, 3))),), L)
    with pytest.raises(ValueError, match=r"tether jumps -0.333 turns from part 1 to part 1 of 1"):
        check_closed(opened)


def test_heading_changes_are_signed_turns():
    assert heading_change(1 + 0j, 1j) == pytest.approx(0.25)
    assert heading_change(1j, 1 + 0j) == pytest.approx(-0.25)
    assert heading_change(1 + 0j, -1 + 0j) == pytest.approx(0.5)
    assert heading_change(0j, 1j) is None


# ------------------------------------------------------------------ the same figure otherwise


@given(any_pattern)
def test_mirror_and_reverse_undo_themselves(pattern):
    same_motion(mirror(mirror(pattern)), pattern)
    same_motion(reverse(reverse(pattern)), pattern)
    same_motion(mirror(reverse(pattern)), reverse(mirror(pattern)))


@given(any_pattern, turns, turns)
def test_turns_add_up(pattern, one, two):
    same_motion(rotate(rotate(pattern, one), two), rotate(pattern, one + two))
    same_motion(rotate(rotate(pattern, one), -one), pattern)


@given(any_pattern)
def test_a_mirror_exchanges_left_and_right_only(pattern):
    here, there = motion_at(pattern, PHASES), motion_at(mirror(pattern), PHASES)
    np.testing.assert_allclose(there.head_m, -np.conj(here.head_m), rtol=0, atol=1e-8)
    np.testing.assert_allclose(there.hand_velocity, -np.conj(here.hand_velocity), rtol=0, atol=1e-8)
    assert mirror(pattern).downbeats == pytest.approx(pattern.downbeats)


@given(any_pattern)
def test_backwards_the_same_places_come_in_the_other_order(pattern):
    here, there = motion_at(pattern, PHASES), motion_at(reverse(pattern), 1 - PHASES)
    np.testing.assert_allclose(there.head_m, here.head_m, rtol=0, atol=1e-8)
    np.testing.assert_allclose(there.head_velocity, -here.head_velocity, rtol=0, atol=1e-7)
    np.testing.assert_allclose(there.head_acceleration, here.head_acceleration, rtol=0, atol=1e-6)


@given(any_pattern, turns)
def test_length_and_area_do_not_depend_on_where_one_stands(pattern, turn):
    """Isometries keep lengths; mirror and reverse turn the sign of the area."""
    length, area = path_length_m(pattern), signed_area_m2(pattern)
    for other, sign in (
        (rotate(pattern, turn), 1),
        (move_centre(pattern, 0.3 - 0.2j), 1),
        (mirror(pattern), -1),
        (reverse(pattern), -1),
    ):
        assert path_length_m(other) == pytest.approx(length, abs=1e-9)
        assert signed_area_m2(other) == pytest.approx(sign * area, abs=1e-9)


@given(any_pattern, st.fractions(0, 1, max_denominator=24))
def test_entered_later_it_is_the_same_cycle(pattern, phase):
    """Eased lines, arcs, spins and swings may all be cut anywhere."""
    entered = enter_at(pattern, phase)
    phases = PHASES + 0.0137  # off the new joint as well
    here, there = motion_at(pattern, phases + float(phase)), motion_at(entered, phases)
    np.testing.assert_allclose(there.head_m, here.head_m, rtol=0, atol=1e-9)
    np.testing.assert_allclose(there.head_velocity, here.head_velocity, rtol=0, atol=1e-7)
    check_closed(entered)
    assert sum(s.share for s in entered.segments) == 1


@pytest.mark.parametrize("pattern", EVERY)
def test_a_segment_cut_in_two_carries_on(pattern):
    whole = Pattern(pattern.segments, pattern.tether_m)
    cut = Pattern(
        tuple(part for segment in pattern.segments for part in split(segment, F(1, 3))), L
    )
    same_motion(whole, cut)
    assert cut.is_one_rule == (len(pattern.segments) == 1)
    with pytest.raises(ValueError, match="between 0 and 1"):
        split(pattern.segments[0], F(1))


def test_swapping_and_mirroring_two_hands():
    right, left = HandTrack(patterns.pendulum()), HandTrack(isolation(tether_m=L), 2, F(1, 3))
    two = TwoHands(right, left)
    assert two.swap_hands().track(Hand.RIGHT) is left
    assert two.swap_hands().swap_hands() == two
    image = two.mirrored()
    passed = np.linspace(0, 1, 31)
    here, there = track_motion(two.left, passed), track_motion(image.right, passed)
    np.testing.assert_allclose(there.head_m, -np.conj(here.head_m), rtol=0, atol=1e-12)
    assert (Hand.LEFT.other, Hand.RIGHT.other) == (Hand.RIGHT, Hand.LEFT)
    assert two.downbeats_per_cycle == 2
    with pytest.raises(ValueError, match="at least once"):
        HandTrack(patterns.pendulum(), 0)
