"""Planes in the room, and the performer's measures."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.motion.body import SURVEY_BODIES, Body, Prop
from composer.motion.flower import flower
from composer.motion.kinematics import motion_at
from composer.motion.placed_plane import PlacedPlane, in_room, plane_axes
from composer.motion.plane import Plane
from composer.motion.room import in_the_room

F = Fraction
RIGHT, FORWARD, UP = np.eye(3)


@pytest.mark.parametrize(
    ("plane", "across", "up"),
    [(Plane.WALL, RIGHT, UP), (Plane.WHEEL, FORWARD, UP), (Plane.FLOOR, RIGHT, FORWARD)],
)
def test_the_three_planes(plane, across, up):
    """Common practice: a wall faces the audience, a wheel rolls towards it, a floor lies."""
    np.testing.assert_allclose(plane_axes(plane), [across, up], rtol=0, atol=1e-15)
    np.testing.assert_allclose(in_room([2 + 3j], plane)[0], 2 * across + 3 * up, rtol=0, atol=1e-15)


def test_a_body_turned_left_carries_its_planes_along():
    """A quarter turn to her left: her right is forward, her front the stage's left side."""
    wall, wheel = (plane_axes(p, facing_turns=F(1, 4)) for p in (Plane.WALL, Plane.WHEEL))
    np.testing.assert_allclose(wall, [FORWARD, UP], rtol=0, atol=1e-15)
    np.testing.assert_allclose(wheel, [-RIGHT, UP], rtol=0, atol=1e-15)


def test_a_tilt_leans_the_up_side_towards_the_normal():
    """A wall tilted by a quarter lies: its up side then points along across x up, backwards."""
    tilted = plane_axes(Plane.WALL, tilt_turns=0.25)
    np.testing.assert_allclose(tilted, [RIGHT, -FORWARD], rtol=0, atol=1e-15)
    eighth = plane_axes(Plane.FLOOR, tilt_turns=0.125)
    np.testing.assert_allclose(eighth[1], (FORWARD + UP) / np.sqrt(2), rtol=0, atol=1e-15)


@given(
    st.sampled_from(list(Plane)),
    st.fractions(-1, 1, max_denominator=16),
    st.floats(-0.5, 0.5),
    st.tuples(*[st.floats(-3, 3)] * 3),
)
def test_laid_into_the_room_nothing_is_stretched(plane, facing, tilt, origin):
    """Distances, speeds and the tether's length are the plane's own; nothing leaves the plane."""
    placed = PlacedPlane(plane, facing, tilt, origin)
    motion = motion_at(flower(F(-3, 2), radius_m=0.3, tether_m=0.5), np.linspace(0, 1, 40))
    room = in_the_room(motion, placed)
    tether = np.linalg.norm(room.head_m - room.hand_m, axis=1)
    np.testing.assert_allclose(tether, 0.5, rtol=0, atol=1e-12)
    speed = np.linalg.norm(room.head_velocity, axis=1)
    np.testing.assert_allclose(speed, np.abs(motion.head_velocity), rtol=0, atol=1e-12)
    off_plane = (room.head_m - np.array(origin)) @ placed.normal
    np.testing.assert_allclose(off_plane, 0.0, rtol=0, atol=1e-12)
    np.testing.assert_allclose(np.linalg.norm(placed.normal), 1.0, rtol=0, atol=1e-12)


def test_measures_follow_from_stature_within_the_survey():
    """ANSUR II (NATICK/TR-15/007): 5th, 50th and 95th percentiles of women and men, metres.

    Each percentile is of its own measure, so ratios to stature are 1 to 2 cm off at the ends.
    """
    published = {
        "small woman": (1.525, 0.577, 1.242, 0.335),
        "median woman": (1.626, 0.627, 1.332, 0.365),
        "median man": (1.755, 0.684, 1.439, 0.415),
        "large man": (1.870, 0.740, 1.546, 0.447),
    }
    assert set(SURVEY_BODIES) == set(published)
    for name, (stature, arm, height, breadth) in published.items():
        measured, derived = SURVEY_BODIES[name], Body(stature_m=stature)
        assert measured.stature_m == pytest.approx(stature, abs=0.001)
        assert measured.arm_m == pytest.approx(arm, abs=0.001)
        assert measured.shoulder_height_m == pytest.approx(height, abs=0.001)
        assert measured.shoulder_breadth_m == pytest.approx(breadth, abs=0.001)
        assert derived.arm_m == pytest.approx(arm, abs=0.020)
        assert derived.shoulder_height_m == pytest.approx(height, abs=0.013)
        assert derived.shoulder_breadth_m == pytest.approx(breadth, abs=0.020)


def test_an_arm_from_stature_agrees_with_a_second_survey():
    """British adults, shoulder to grip: men 0.665, women 0.600 m (Pheasant, Bodyspace)."""
    assert SURVEY_BODIES["median man"].arm_m == pytest.approx(0.665, abs=0.030)
    assert SURVEY_BODIES["median woman"].arm_m == pytest.approx(0.600, abs=0.030)


def test_shoulders_stand_half_their_breadth_from_the_middle():
    body = Body(shoulder_breadth_m=0.4)
    assert body.shoulder_m("right") == 0.2 + 0j
    assert body.shoulder_m("left") == -0.2 + 0j


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Body(stature_m=0.2), "stature lies between"),
        (lambda: Body(stature_m=float("nan")), "stature lies between"),
        (lambda: Body(arm_m=-0.5), "arm_m must be positive"),
        (lambda: Prop(head_mass_kg=-0.1), "head_mass_kg must be positive"),
        (lambda: Prop(length_m=0.0), "length_m must be positive"),
        (lambda: Prop(length_m=float("nan")), "length_m must be positive"),
        (lambda: Prop(handle_m=-0.1), "handle_m must not be negative"),
    ],
)
def test_impossible_measures_are_refused(make, words):
    with pytest.raises(ValueError, match=words):
        make()


def test_only_poi_hang_on_a_tether_that_can_go_slack():
    assert Prop("poi").is_tether
    assert not any(Prop(kind).is_tether for kind in ("staff", "club", "hoop", "fan"))
