"""The pull in a tether along a drawn pattern, and the hand that would really draw it."""

from fractions import Fraction
from math import cos, pi, radians, sqrt, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.motion.body import Prop
from composer.motion.flower import flower, static_spin
from composer.motion.gravity import G, circle_pull_n, slowest_even_turning_hz, swing_s
from composer.motion.integrate import HandPiece, fly, fly_pattern
from composer.motion.kinematics import motion_at
from composer.motion.pattern import DOWN, Hold, Line, Pattern, Segment, Spin, Swing
from composer.motion.placed_plane import PlacedPlane
from composer.motion.plane import Plane
from composer.motion.tension import (
    driving_hand,
    gravity_in,
    hand_correction_m,
    pull_n,
    sideways_n,
    sideways_share_bound,
    taut_cycles,
    tension,
)
from composer.motion.transforms import enter_at

from . import patterns

F = Fraction
POI = Prop("poi", length_m=0.5, head_mass_kg=0.1)
STAFF = Prop("staff", length_m=0.5, head_mass_kg=0.1)
SPIN = static_spin(tether_m=0.5)


@pytest.mark.parametrize("hz", [0.8, 1.0, 2.0])
def test_pull_in_an_even_spin_is_the_textbooks(hz):
    """m (v^2/L + g cos(angle from bottom)): greatest at the bottom, least at the top."""
    report = tension(SPIN, POI, cycle_s=1 / hz)
    speed = 2 * pi * hz * 0.5
    assert report.highest_n.value == pytest.approx(circle_pull_n(0.1, speed, 0.5, 0.0), abs=1e-9)
    assert report.lowest_n.value == pytest.approx(circle_pull_n(0.1, speed, 0.5, 0.5), abs=1e-9)
    assert report.highest_n.phase % 1 == pytest.approx(0.0, abs=1e-6)
    assert report.lowest_n.phase == pytest.approx(0.5, abs=1e-6)
    assert report.is_taut
    phase = np.linspace(0, 1, 9)
    expected = [circle_pull_n(0.1, speed, 0.5, turn) for turn in phase]
    pull = pull_n(motion_at(SPIN, phase, cycle_s=1 / hz), POI)
    np.testing.assert_allclose(pull, expected, rtol=0, atol=1e-9)


def test_a_hanging_head_pulls_by_its_weight():
    rest = Pattern((Segment(F(1), Hold(), Swing(DOWN, F(0), F(0), F(1))),), tether_m=0.5)
    assert tension(rest, POI, cycle_s=1.0).lowest_n.value == pytest.approx(0.1 * G, abs=1e-12)


def test_below_the_slowest_even_rate_a_tether_hangs_slack_about_the_top():
    """w^2 L cos > ... : slack where cos(angle from top) > w^2 L / g."""
    hz = 0.9 * slowest_even_turning_hz(0.5)
    report = tension(SPIN, POI, cycle_s=1 / hz)
    half = np.arccos((2 * pi * hz) ** 2 * 0.5 / G) / (2 * pi)
    ((start, end),) = report.slack
    assert (start, end) == pytest.approx((0.5 - half, 0.5 + half), abs=1e-9)
    assert not report.is_taut
    assert tension(SPIN, STAFF, cycle_s=1 / hz).slack == ()


def test_a_slack_stretch_over_the_cycles_end_is_one():
    hz = 0.9 * slowest_even_turning_hz(0.5)
    ((start, end),) = tension(enter_at(SPIN, F(1, 2)), POI, cycle_s=1 / hz).slack
    half = np.arccos((2 * pi * hz) ** 2 * 0.5 / G) / (2 * pi)
    assert (start, end) == pytest.approx((1 - half, 1 + half), abs=1e-9)


def test_taut_cycles_of_a_spin_end_at_the_slowest_even_rate():
    found = taut_cycles(SPIN)
    assert found.longest_s == pytest.approx(1 / slowest_even_turning_hz(0.5), abs=1e-9)
    assert found.shortest_s == 0.0
    assert taut_cycles(static_spin(tether_m=0.5), PlacedPlane(Plane.FLOOR)).longest_s == np.inf


@settings(max_examples=25)
@given(st.sampled_from([F(1), F(2), F(3), F(-2), F(-3)]), st.floats(0.05, 0.5))
def test_just_inside_the_taut_cycles_it_is_taut_and_just_outside_not(n, radius):
    pattern = flower(n, radius_m=radius, tether_m=0.5)
    found = taut_cycles(pattern)
    if found is None:
        for cycle_s in (0.3, 1.0, 3.0):
            assert not tension(pattern, POI, cycle_s=cycle_s).is_taut
        return
    assert tension(pattern, POI, cycle_s=found.longest_s * 0.999).is_taut
    assert not tension(pattern, POI, cycle_s=found.longest_s * 1.01).is_taut


def test_a_hanging_head_is_left_behind_by_a_hand_that_drops_faster_than_it_falls():
    """A hand eased up and down by h in a cycle c accelerates by h/2 (2 pi/c)^2 at its top (sine);
    the tether holds while that is below g: c from 2 pi sqrt(h/2g) on, however long (mechanics)."""
    height = 0.6
    up, down = Line(0j, 1j * height, eased=True), Line(1j * height, 0j, eased=True)
    lifted = Pattern(
        (Segment(F(1, 2), up, Spin(DOWN, F(0))), Segment(F(1, 2), down, Spin(DOWN, F(0)))), 0.5
    )
    shortest = 2 * pi * sqrt(height / (2 * G))
    found = taut_cycles(lifted)
    assert found.shortest_s == pytest.approx(shortest, abs=1e-9)
    assert found.longest_s == np.inf
    assert tension(lifted, POI, cycle_s=1.001 * shortest).is_taut
    assert not tension(lifted, POI, cycle_s=0.99 * shortest).is_taut


def test_gravity_in_the_planes():
    """It lies in the wall and wheel planes, and across the floor plane."""
    assert gravity_in(PlacedPlane(Plane.WALL)) == pytest.approx(-1j * G, abs=1e-12)
    assert gravity_in(PlacedPlane(Plane.WHEEL)) == pytest.approx(-1j * G, abs=1e-12)
    assert gravity_in(PlacedPlane(Plane.FLOOR)) == pytest.approx(0, abs=1e-12)
    tilted = gravity_in(PlacedPlane(Plane.WALL, tilt_turns=1 / 12))
    assert tilted == pytest.approx(-1j * G * cos(radians(30)), abs=1e-12)


# ------------------------------------------------------------------ inverse model


@pytest.mark.parametrize("degrees", [20, 45, 70])
def test_a_conical_pendulum_has_its_hand_on_the_axis(degrees):
    """Sreenath, Michael, Kumar, ICRA 2013: hand = head + L (a + g e_z)/|a + g e_z|."""
    lean, length = radians(degrees), 0.5
    omega, radius = sqrt(G / (length * cos(lean))), length * np.sin(lean)
    angle = omega * np.linspace(0, 1, 20)
    circle = np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1)
    head = radius * circle - np.array([0, 0, length * cos(lean)])
    driver = driving_hand(head, -(omega**2) * radius * circle, length_m=length, mass_kg=0.1)
    np.testing.assert_allclose(driver.hand_m, 0.0, rtol=0, atol=1e-9)
    np.testing.assert_allclose(driver.pull_n, 0.1 * G / cos(lean), rtol=0, atol=1e-9)
    assert tan(lean) == pytest.approx(omega**2 * radius / G, abs=1e-9)


def test_a_head_in_free_fall_tells_nothing():
    with pytest.raises(ValueError, match="free fall"):
        driving_hand(np.zeros((1, 3)), np.array([[0, 0, -G]]), length_m=0.5, mass_kg=0.1)


def test_inverse_and_forward_models_agree():
    """An assumed head path, the hand that draws it, and a pendulum flown on that hand."""
    length = 0.5

    def head(time: float) -> np.ndarray:
        """x + iz with two derivatives of an ellipse run through unevenly, and two more."""
        w1, w2 = 7.0, 9.0
        x = [0.4 * w1**k * np.cos(w1 * time + k * pi / 2) for k in range(5)]
        z = [0.5 * w2**k * np.sin(w2 * time + k * pi / 2) for k in range(5)]
        return np.array(x) + 1j * np.array(z)

    def hand(time: float) -> tuple[complex, complex, complex]:
        """hand = head + L u and its derivatives, u = s/|s| with s = a + g e_z."""
        place, speed, *rest = head(time)
        s, ds, dds = rest[0] + 1j * G, rest[1], rest[2]
        size = abs(s)
        turn = (ds / s).imag
        change = (dds / s - (ds / s) ** 2).imag
        u = s / size
        du, ddu = 1j * turn * u, (1j * change - turn**2) * u
        return place + length * u, speed + length * du, rest[0] + length * ddu

    start = head(0.0)
    room = driving_hand(
        np.array([[start[0].real, 0.0, start[0].imag]]),
        np.array([[start[2].real, 0.0, start[2].imag]]),
        length_m=length,
        mass_kg=0.1,
    )
    assert room.hand_m[0] == pytest.approx([hand(0.0)[0].real, 0.0, hand(0.0)[0].imag], abs=1e-12)
    s, ds = start[2] + 1j * G, start[3]
    flight = fly(
        [HandPiece(0.5, hand)],
        length_m=length,
        tether_turns=float(np.angle(-s)) / (2 * pi),
        tether_rate=(ds / s).imag / (2 * pi),
    )
    times = np.linspace(0, 0.5, 11)
    expected = [head(time)[0] for time in times]
    np.testing.assert_allclose(flight.head_m(times), expected, rtol=0, atol=1e-5)


@pytest.mark.parametrize(("hz", "reach"), [(1.0, 0.25), (1.5, 0.11), (2.0, 0.06)])
def test_a_steady_spin_needs_the_hand_to_move_about_g_over_w_squared(hz, reach):
    """25 cm at 1 turn/s, 11 cm at 1.5, 6 cm at 2: derived, to first order in g/(w^2 L).

    Exactly, with the tether level: it leans by atan(g/(w^2 L)), so the hand leaves by that chord.
    """
    w2 = (2 * pi * hz) ** 2
    assert G / w2 == pytest.approx(reach, abs=0.005)
    chord = 2 * 0.5 * np.sin(np.arctan(G / (w2 * 0.5)) / 2)
    correction = hand_correction_m(SPIN, np.array([0.25]), cycle_s=1 / hz)
    assert np.linalg.norm(correction) == pytest.approx(chord, abs=1e-9)
    assert chord == pytest.approx(reach, rel=0.1)


def test_sideways_force_is_within_its_bound():
    """(R w^2 + g)/(n^2 w^2 L): R = 0.3, L = 0.5, 1 Hz, |n| = 3: 0.122, derived."""
    w2 = (2 * pi) ** 2
    exact = (0.3 * w2 + G) / (9 * w2 * 0.5)
    assert exact == pytest.approx(0.122, abs=5e-4)
    for n in (F(3), F(-3)):
        assert sideways_share_bound(0.3, 0.5, float(n), 1.0) == pytest.approx(exact, abs=1e-9)
        motion = motion_at(flower(n, radius_m=0.3, tether_m=0.5), np.linspace(0, 1, 721))
        share = np.abs(sideways_n(motion, POI)) / (0.1 * 9 * w2 * 0.5)
        assert 0.5 * exact < share.max() <= exact + 1e-12


# ------------------------------------------------------------------ drawn and flown


def test_a_swing_at_its_own_period_flies_nearly_as_drawn():
    """A small swing is a sine, which is how a swing is drawn; at 5 degrees to a millimetre."""
    small = patterns.pendulum(amplitude=F(5, 360))
    period = swing_s(0.5, 5 / 360)
    flight = fly_pattern(small, cycle_s=period, cycles=1)
    times = np.linspace(0, period, 101)
    drawn = motion_at(small, times / period, cycle_s=period).head_m
    np.testing.assert_allclose(flight.head_m(times), drawn, rtol=0, atol=1e-3)
    assert flight.slack == ()


def test_a_spin_on_a_still_hand_goes_round_falls_in_or_swings_back():
    """From the bottom: round with v^2 >= 5gL, back with v^2 <= 2gL, slack in between."""
    for hz, outcome in ((3.0, "round"), (1.2, "slack"), (0.8, "back")):
        speed2 = (2 * pi * hz * 0.5) ** 2
        by_rule = "round" if speed2 >= 5 * G * 0.5 else "back" if speed2 <= G else "slack"
        assert by_rule == outcome
        flight = fly_pattern(SPIN, cycle_s=1 / hz)
        assert bool(flight.slack) == (outcome == "slack")
        top = flight.head_m(np.linspace(0, 1 / hz, 400)).imag.max()
        assert (top < 0) == (outcome == "back")
        assert (top > 0.499) == (outcome == "round")


def test_the_flown_head_keeps_its_tether_and_its_energy():
    """Taut: the head stays a tether from the hand; a still hand does no work."""
    flight = fly_pattern(SPIN, cycle_s=0.5, cycles=2)
    times = np.linspace(0, 1.0, 201)
    head, velocity = flight.head_m(times), flight.head_velocity(times)
    np.testing.assert_allclose(np.abs(head), 0.5, rtol=0, atol=1e-12)
    energy = np.abs(velocity) ** 2 / 2 + G * head.imag
    np.testing.assert_allclose(energy, energy[0], rtol=0, atol=1e-8)


def test_the_tethers_turns_go_on_counting_over_the_pieces_of_the_hands_way():
    """Three cycles of a spin in two pieces each, fast enough to go round: about three turns,
    without a jump of a whole one between two instants."""
    flight = fly_pattern(enter_at(SPIN, F(1, 3)), cycle_s=1 / 3, cycles=3)
    turns = flight.tether_turns(np.linspace(0, 1.0, 601))
    assert flight.slack == ()
    assert np.abs(np.diff(turns)).max() < 0.02
    assert 2.5 < turns[-1] - turns[0] < 3.5


def test_a_corner_of_the_hand_keeps_the_heads_own_velocity():
    """Where the hand turns sharply the part of the head's velocity across the tether stays."""
    flight = fly_pattern(patterns.three_petal_composite(), cycle_s=0.8)
    corner = 0.75 * 0.8
    before, after = flight.head_velocity([corner - 1e-9, corner + 1e-9])
    taut_after = not any(start <= corner + 1e-9 < end for start, end in flight.slack)
    tether = np.exp(2j * pi * flight.tether_turns([corner + 1e-9])[0])
    change = (after - before) * np.conj(tether)
    assert change.imag == pytest.approx(0, abs=1e-6)
    assert change.real <= 1e-6 or not taut_after
