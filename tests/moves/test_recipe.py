"""Recipes made concrete for a body and a prop: lengths, directions, middles."""

from fractions import Fraction

import numpy as np
import pytest

from composer.motion.body import Body, Prop
from composer.motion.kinematics import motion_at
from composer.motion.trochoid import trochoid_of
from composer.moves.lengths import Length, Place
from composer.moves.recipe import FlowerRecipe, build

BODY, PROP = Body(arm_m=0.6), Prop(length_m=0.5)


@pytest.mark.parametrize("direction", [1, -1])
@pytest.mark.parametrize("opposed", [True, False])
def test_a_flower_runs_in_its_direction_about_its_middle(direction, opposed):
    """Half a tether of radius, an arm to the right; an opposed head is across the hand's circle."""
    recipe = FlowerRecipe(
        Fraction(1),
        Length(tether=0.5),
        Fraction(1, 8),
        direction,
        Place(across=Length(arm=1.0)),
        opposed,
    )
    shape = trochoid_of(build(recipe, BODY, PROP))
    assert (shape.direction, shape.radius_m, shape.centre_m) == (direction, 0.25, 0.6 + 0j)
    motion = motion_at(build(recipe, BODY, PROP), np.arange(24) / 24)
    arm, tether = motion.hand_m - 0.6, motion.head_m - motion.hand_m
    along = np.real(tether * np.conj(arm)) / (0.5 * 0.25)
    np.testing.assert_allclose(along, -1 if opposed else 1, rtol=0, atol=1e-12)
    turned = np.angle(arm[1] / arm[0]) / (2 * np.pi)
    assert turned == pytest.approx(direction / 24, rel=0, abs=1e-12)


def test_what_is_no_flower_is_refused():
    with pytest.raises(ValueError, match="must turn"):
        FlowerRecipe(Fraction(0), Length(tether=0.5))
    with pytest.raises(ValueError, match="turns once"):
        FlowerRecipe(Fraction(2), Length(tether=0.5), opposed=True)
