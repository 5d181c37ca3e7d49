"""The way between two states of a hand."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.motion.blend import blend
from composer.motion.flower import flower, isolation, static_spin
from composer.motion.hands import HandTrack
from composer.motion.pattern import Hold, Pattern, Segment, Swing
from composer.motion.placed_plane import PlacedPlane
from composer.motion.plane import Plane
from composer.motion.room import in_the_room
from composer.motion.state import HandState, hand_state

F = Fraction
FIELDS = ("hand_m", "hand_velocity", "hand_acceleration", "head_m", "head_velocity")


def at_rest(place_m: complex, *, tether_turns: float = 0.75, rate: float = 0.0) -> HandState:
    return HandState(place_m, 0j, 0j, tether_turns, rate, 0.0, tether_m=0.5)


def test_a_reach_from_rest_to_rest_is_the_minimum_jerk_path():
    """Flash and Hogan, J. Neurosci. 5 (1985) 1688: x = d (10 s^3 - 15 s^4 + 6 s^5)."""
    way = blend(at_rest(0j), at_rest(0.3 + 0.4j), 2.0)
    s = np.linspace(0, 1, 11)
    expected = (0.3 + 0.4j) * (10 * s**3 - 15 * s**4 + 6 * s**5)
    np.testing.assert_allclose(way.motion_at(2.0 * s).hand_m, expected, rtol=0, atol=1e-12)
    assert way.peak_hand_speed.value == pytest.approx(1.875 * 0.5 / 2.0, abs=1e-9)
    assert way.peak_hand_speed.time_s == pytest.approx(1.0, abs=1e-9)
    peak = way.peak_hand_acceleration
    assert peak.value == pytest.approx(10 / np.sqrt(3) * 0.5 / 2.0**2, abs=1e-9)
    assert min(peak.time_s, 2.0 - peak.time_s) == pytest.approx(2.0 * 0.211325, abs=2e-6)


def test_the_jerk_of_such_a_reach_adds_up_to_720_d2_over_t5():
    """Flash and Hogan 1985; the jerk by central differences of the analytic acceleration."""
    way = blend(at_rest(0j), at_rest(0.5 + 0j), 1.5)
    nodes, weights = np.polynomial.legendre.leggauss(12)
    times = 0.75 * (nodes + 1)
    step = 1e-5
    late, early = way.motion_at(times + step), way.motion_at(times - step)
    jerk = (late.hand_acceleration - early.hand_acceleration) / (2 * step)
    assert 0.75 * weights @ np.abs(jerk) ** 2 == pytest.approx(720 * 0.25 / 1.5**5, rel=1e-7)


def test_a_blend_starts_and_ends_in_the_given_states():
    """Continuity up to acceleration of the hand and of the head, by definition of the blend."""
    inspin = flower(F(3), radius_m=0.4, tether_m=0.5, direction=1)
    anti = flower(F(-2), radius_m=0.3, tether_m=0.5, direction=-1, tip_turns=F(1, 4))
    before = hand_state(inspin, F(1, 3), 2.0, side="before")
    after = hand_state(anti, F(1, 5), 1.7)
    motion = blend(before, after, 0.6).motion_at([0.0, 0.6])
    for state, index in ((before, 0), (after, 1)):
        assert motion.hand_m[index] == pytest.approx(state.position_m, abs=1e-12)
        assert motion.hand_velocity[index] == pytest.approx(state.velocity_m_s, abs=1e-11)
        assert motion.hand_acceleration[index] == pytest.approx(state.acceleration_m_s2, abs=1e-10)
        assert motion.head_m[index] == pytest.approx(state.head_m, abs=1e-12)
        assert motion.head_velocity[index] == pytest.approx(state.head_velocity_m_s, abs=1e-11)
        assert motion.tether_rate[index] == pytest.approx(state.tether_rate, abs=1e-12)


def test_a_blend_within_an_even_motion_keeps_its_turns():
    """A static spin of 3 turns/s led into itself 0.9 s later has turned 2.7 times, and evenly."""
    spin = static_spin(tether_m=0.5)
    way = blend(hand_state(spin, F(0), 1 / 3), hand_state(spin, F(7, 10), 1 / 3), 0.9)
    assert way.tether_turned == pytest.approx(2.7, abs=1e-12)
    assert way.peak_spin_change.value == pytest.approx(0.0, abs=1e-9)
    assert way.peak_spin.value == pytest.approx(3.0, abs=1e-9)
    assert not way.reverses


@pytest.mark.parametrize(("whole_turns", "turned"), [(-1, -0.75), (0, 0.25), (2, 2.25)])
def test_the_number_of_whole_turns_can_be_asked_for(whole_turns, turned):
    way = blend(at_rest(0j), at_rest(0j, tether_turns=1.0), 1.0, whole_turns=whole_turns)
    assert way.tether_turned == pytest.approx(turned, abs=1e-12)


def test_a_reversal_takes_the_short_way_and_says_so():
    ahead, back = at_rest(0j, rate=1.0), at_rest(0j, tether_turns=0.65, rate=-1.0)
    way = blend(ahead, back, 0.5)
    assert way.tether_turned == pytest.approx(-0.1, abs=1e-12)
    assert way.reverses


def test_velocities_and_accelerations_are_the_derivatives():
    """Central differences of places and velocities, in one plane and between two."""
    before = hand_state(isolation(tether_m=0.5), F(1, 7), 1.0)
    for plane in (Plane.WALL, Plane.WHEEL):
        after = hand_state(static_spin(tether_m=0.5), F(1, 3), 0.8, plane)
        way = blend(before, after, 0.7)
        times, step = np.linspace(0.05, 0.65, 7), 1e-5
        late, here, early = (way.room_motion_at(times + k * step) for k in (1, 0, -1))
        for name in ("hand", "head"):
            place, speed, change = (f"{name}_{what}" for what in ("m", "velocity", "acceleration"))
            for upper, lower in ((place, speed), (speed, change)):
                slope = (getattr(late, upper) - getattr(early, upper)) / (2 * step)
                np.testing.assert_allclose(getattr(here, lower), slope, rtol=0, atol=2e-5)


def test_in_one_plane_both_answers_agree():
    plane = PlacedPlane(Plane.WHEEL, F(1, 8), 0.05, (0.2, 0.0, 1.3))
    before = hand_state(isolation(tether_m=0.5), F(1, 7), 1.0, plane)
    after = hand_state(static_spin(tether_m=0.5), F(1, 3), 0.8, plane)
    way = blend(before, after, 0.7)
    times = np.linspace(0, 0.7, 9)
    room, flat = way.room_motion_at(times), in_the_room(way.motion_at(times), plane)
    for name in FIELDS:
        np.testing.assert_allclose(getattr(room, name), getattr(flat, name), rtol=0, atol=1e-10)


@pytest.mark.parametrize("direction", [1, -1])
@pytest.mark.parametrize("other", [Plane.WHEEL, Plane.FLOOR])
def test_between_planes_the_ends_are_the_states_in_the_room(direction, other):
    """However the plane swings over, the head must leave and arrive as the two moves say."""
    before = hand_state(static_spin(tether_m=0.5), F(1, 3), 1.0)
    after = hand_state(static_spin(tether_m=0.5, direction=direction), F(1, 5), 0.8, other)
    way = blend(before, after, 2.0)
    assert way.plane_turns == pytest.approx(0.25, abs=1e-12)
    ends = way.room_motion_at([0.0, 2.0])
    for state, index in ((before, 0), (after, 1)):
        np.testing.assert_allclose(
            ends.head_m[index], state.plane.place([state.head_m])[0], rtol=0, atol=1e-12
        )
        np.testing.assert_allclose(
            ends.head_velocity[index],
            state.plane.vector([state.head_velocity_m_s])[0],
            rtol=0,
            atol=1e-11,
        )
    assert not way.reverses
    with pytest.raises(ValueError, match="in the room"):
        way.motion_at([0.1])


def test_a_body_turn_leaves_the_props_plane_where_it_is():
    """Wall plane, then the wheel plane of a body turned a quarter: the same plane of the room."""
    before = hand_state(static_spin(tether_m=0.5), F(1, 3), 1.0)
    turned = PlacedPlane(Plane.WHEEL, facing_turns=F(-1, 4))
    way = blend(before, hand_state(static_spin(tether_m=0.5), F(1, 3), 1.0, turned), 1.0)
    assert not way.changes_plane
    assert way.peak_spin_change.value == pytest.approx(0.0, abs=1e-9)
    assert way.tether_turned == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("direction", [1, -1])
def test_a_body_turned_half_round_sees_the_same_plane_from_behind(direction):
    """What turned counter-clockwise turns clockwise for her then: the spin itself goes on."""
    before = hand_state(static_spin(tether_m=0.5, direction=direction), F(1, 3), 1.0)
    behind = PlacedPlane(Plane.WALL, facing_turns=F(1, 2))
    after = hand_state(static_spin(tether_m=0.5, direction=-direction), F(1, 3), 1.0, behind)
    way = blend(before, after, 1.0)
    assert not way.changes_plane
    assert not way.reverses
    assert way.tether_turned == pytest.approx(direction, abs=1e-12)
    assert way.peak_spin_change.value == pytest.approx(0.0, abs=1e-9)
    ends = way.room_motion_at([0.0, 1.0])
    for state, index in ((before, 0), (after, 1)):
        place = state.plane.place([state.head_m])[0]
        velocity = state.plane.vector([state.head_velocity_m_s])[0]
        np.testing.assert_allclose(ends.head_m[index], place, rtol=0, atol=1e-12)
        np.testing.assert_allclose(ends.head_velocity[index], velocity, rtol=0, atol=1e-11)


def test_a_stall_is_a_state_at_rest():
    swing = Pattern((Segment(F(1), Hold(), Swing(F(3, 4), F(1, 6), F(0), F(1))),), tether_m=0.5)
    stall = hand_state(swing, F(1, 4), 1.2)
    assert stall.tether_rate == pytest.approx(0.0, abs=1e-12)
    assert stall.tether_turns == pytest.approx(0.75 + 1 / 6, abs=1e-12)


@given(st.floats(-2, 2), st.floats(-2, 2), st.floats(-3, 3), st.floats(-3, 3), st.floats(0.1, 5))
def test_the_mean_rate_lies_within_half_a_turn_of_the_mean_of_both(a, b, rate, later, duration):
    way = blend(
        at_rest(0j, tether_turns=a, rate=rate), at_rest(0j, tether_turns=b, rate=later), duration
    )
    assert abs(way.tether_turned - (rate + later) / 2 * duration) <= 0.5 + 1e-9
    end = way.motion_at([duration]).tether_turns[0]
    assert abs((end - b + 0.5) % 1 - 0.5) < 1e-9


@pytest.mark.parametrize("duration", [0.0, -1.0, float("nan"), float("inf")])
def test_a_blend_needs_time(duration):
    with pytest.raises(ValueError, match="positive time"):
        blend(at_rest(0j), at_rest(0j), duration)


def test_a_prop_does_not_change_its_length_on_the_way():
    other = HandState(0j, 0j, 0j, 0.0, 0.0, 0.0, tether_m=0.6)
    with pytest.raises(ValueError, match="one prop has one length"):
        blend(at_rest(0j), other, 1.0)
    with pytest.raises(ValueError, match="finite"):
        at_rest(complex("nan"))


def test_a_blend_is_asked_only_for_its_own_time():
    way = blend(at_rest(0j), at_rest(1j), 1.0)
    for times in ([1.1], [-0.1], [float("nan")]):
        with pytest.raises(ValueError, match=r"from 0 to 1\.0 s"):
            way.motion_at(times)
    with pytest.raises(ValueError, match="positive length"):
        HandState(0j, 0j, 0j, 0.0, 0.0, 0.0, tether_m=0.0)


def test_a_hand_tracks_state_is_its_patterns_at_its_own_pace():
    """Two closures in a common cycle of 3 s take 1.5 s each; a quarter of it is half of one."""
    spin = flower(F(-2), radius_m=0.4, tether_m=0.5)
    track = HandTrack(spin, cycles=2, offset=F(1, 8))
    own = hand_state(spin, F(5, 8), 1.5, Plane.WHEEL)
    assert hand_state(track, F(1, 4), 3.0, Plane.WHEEL) == own
    assert abs(own.velocity_m_s) == pytest.approx(2 * np.pi * 0.4 / 1.5, abs=1e-12)
    assert abs(own.tether_rate) == pytest.approx(2 / 1.5, abs=1e-12)
