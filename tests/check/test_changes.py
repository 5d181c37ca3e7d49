"""What one hand has to change, figure by figure, between states set down by hand."""

from fractions import Fraction as F
from math import pi

import pytest

from composer.check.change import change
from composer.check.hand_change import HandChange, TimeAllowed, hand_change
from composer.check.limits import LIMITS
from composer.check.moment import Moment, moment_of
from composer.motion.hands import Hand
from composer.motion.pattern import DOWN, Hold, Pattern, Segment, Spin, Swing
from composer.motion.placed_plane import PlacedPlane
from composer.motion.plane import Plane
from composer.motion.state import hand_state

L = 0.5
BEAT_S = 0.6
TOUCHING = TimeAllowed(beats=1.0, seconds=BEAT_S, rest_beats=0.0, rest_s=0.0)


def resting(beats: float) -> TimeAllowed:
    return TimeAllowed(beats, beats * BEAT_S, beats, beats * BEAT_S)


def spin(tether: F, rate: F = F(1), *, plane: Plane = Plane.WALL, at_m: complex = 0j) -> Moment:
    """A held hand with the tether at a place, turning at so many turns a beat, signed."""
    pattern = Pattern(
        (Segment(F(1), Hold(at_m), Spin(tether, F(1) if rate > 0 else F(-1))),), tether_m=L
    )
    cycle_s = BEAT_S / abs(float(rate))
    return moment_of(hand_state(pattern, F(0), cycle_s, PlacedPlane(plane)))


def turning_point() -> Moment:
    """A head at rest level with the hand, to the right, in a swing of a beat."""
    pattern = Pattern((Segment(F(1), Hold(), Swing(DOWN, F(1, 4), F(1, 4), F(1))),), L)
    return moment_of(hand_state(pattern, F(0), BEAT_S))


# ------------------------------------------------------------------ spins


@pytest.mark.parametrize("quicker_first", [True, False])
def test_of_a_reversal_the_slower_side_is_what_is_turned_round(quicker_first: bool) -> None:
    """One side at a turn a beat, the other at two the other way: 2 pi L f of the slower, 5.24 m/s;
    what the quicker has more is no turning round (mechanics)."""
    rates = (F(2), F(-1)) if quicker_first else (F(1), F(-2))
    found = hand_change(spin(DOWN, rates[0]), spin(DOWN, rates[1]), TOUCHING)
    assert found.opposed
    assert found.turn_round_m_s == pytest.approx(2 * pi * L / BEAT_S, abs=1e-9)
    assert found.rate_jump == 0


@pytest.mark.parametrize("arrives", [1, -1])
def test_a_head_that_rises_into_a_stall_needs_no_push_and_one_that_falls_into_it_does(
    arrives: int,
) -> None:
    """Level to the right, counter-clockwise is upwards: weight stops a rising head by itself, a
    falling one only the hand can stop, from 2 pi L f (mechanics)."""
    found = hand_change(spin(F(0), F(arrives)), turning_point(), TOUCHING)
    assert found.at_stall
    assert found.lifted is (arrives < 0)
    pushed = 2 * pi * L / BEAT_S if arrives < 0 else 0.0
    assert found.stall_push_m_s == pytest.approx(pushed, abs=1e-9)


@pytest.mark.parametrize("leaves", [1, -1])
def test_out_of_a_stall_a_head_falls_by_itself_and_must_be_thrown_upwards(leaves: int) -> None:
    found = hand_change(turning_point(), spin(F(0), F(leaves)), TOUCHING)
    assert found.lifted is (leaves > 0)


# ------------------------------------------------------------------ across a rest


@pytest.mark.parametrize(
    ("left_at", "rest", "gap"),
    [
        (F(3, 4), 2.0, 0.0),  # down, two turns, down
        (F(3, 4) + F(1, 4), 0.75, 0.0),  # a quarter past down, three quarters of a turn on
        (F(3, 4) + F(1, 4), 0.25, 0.5),  # a quarter past, a quarter on: half a turn from down
    ],
)
@pytest.mark.parametrize("sense", [1, -1])
def test_over_a_rest_the_tether_has_turned_on_in_its_own_sense(left_at, rest, gap, sense):
    """Turns passed while resting: rate times time, counted from where it was left."""
    left = DOWN + sense * (left_at - DOWN)
    found = hand_change(spin(left, F(sense)), spin(DOWN, F(sense)), resting(rest))
    assert found.tether_gap_turns == pytest.approx(gap, abs=1e-9)
    assert found.catch_up == pytest.approx(gap / rest, abs=1e-9)
    assert found.head_heading_turns is None


def test_over_a_rest_between_unlike_rates_their_mean_is_taken() -> None:
    """One beat at the mean of one and two turns a beat: 1.5 turns, half a turn from down."""
    found = hand_change(spin(DOWN, F(1)), spin(DOWN, F(2)), resting(1.0))
    assert found.tether_gap_turns == pytest.approx(0.5, abs=1e-9)


# ------------------------------------------------------------------ planes


def between_planes(before: F, after: F) -> HandChange:
    return hand_change(spin(before), spin(after, plane=Plane.WHEEL), TOUCHING)


@pytest.mark.parametrize(
    ("before", "after", "off"),
    [
        (DOWN, DOWN, 0.0),
        (F(1, 4), F(1, 4), 0.0),
        (DOWN, F(0), 0.25),  # it arrives forward
        (F(0), DOWN, 0.25),  # it leaves to the side
        (DOWN, DOWN + F(1, 8), 0.125),
    ],
)
def test_a_tether_lies_on_the_planes_common_line_or_as_far_off_it_as_either_side(
    before: F, after: F, off: float
) -> None:
    """Wall and wheel share the vertical (geometry); there the head's place is continuous."""
    found = between_planes(before, after)
    assert found.plane_turns == pytest.approx(0.25, abs=1e-9)
    assert found.tether_off_line_turns == pytest.approx(off, abs=1e-9)


@pytest.mark.parametrize("tether", [DOWN, F(1, 4)])
def test_on_the_common_line_the_heads_velocity_turns_by_the_angle_of_the_planes(tether: F) -> None:
    """Sideways before, forward or back after: a quarter of a turn, no jump of place."""
    found = between_planes(tether, tether)
    assert found.tether_gap_turns == pytest.approx(0, abs=1e-9)
    assert found.head_heading_turns == pytest.approx(0.25, abs=1e-9)


# ------------------------------------------------------------------ both hands


def pair_change(right: tuple[float, float], left: tuple[float, float]) -> dict[str, float]:
    """Both hands held, at places across before and after; the figures that both show together."""
    moments = {
        hand: tuple(spin(DOWN, at_m=complex(place)) for place in places)
        for hand, places in ((Hand.RIGHT, right), (Hand.LEFT, left))
    }
    found = change(moments, TOUCHING, 0.0, LIMITS)
    return {one.limit.name: one.measured for one in found.judged if one.hand is None}


def test_hands_that_pass_each_other_meet_on_the_way_but_not_where_they_began_so_near() -> None:
    """From 0.4 m apart to 0.4 m the other way round: 0 m between. From 0.1 m, nearer than a
    hand's breadth and a half, their nearness is no news."""
    wide = pair_change((0.2, -0.2), (-0.2, 0.2))
    assert wide["hands apart"] == pytest.approx(0, abs=1e-9)
    assert wide["arms cross"] == pytest.approx(0.4, abs=1e-9)
    near = pair_change((0.05, -0.05), (-0.05, 0.05))
    assert "hands apart" not in near
    assert near["arms cross"] == pytest.approx(0.1, abs=1e-9)


def test_arms_that_cross_back_or_stay_crossed_are_no_new_crossing() -> None:
    assert "arms cross" not in pair_change((-0.2, 0.2), (0.2, -0.2))
    assert "arms cross" not in pair_change((-0.2, -0.3), (0.2, 0.3))
    crossed = pair_change((0.3, -0.1), (-0.3, 0.0))
    assert crossed["arms cross"] == pytest.approx(0.1, abs=1e-9), "the lesser of before and after"
