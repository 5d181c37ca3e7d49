"""Measures of assembled patterns, worked out by hand from their arcs and lines."""

from fractions import Fraction
from math import pi

import numpy as np
import pytest

from composer.motion.flower import flower, static_spin
from composer.motion.kinematics import motion_at
from composer.motion.measures import (
    curvature,
    fastest,
    fastest_spin,
    furthest_from_m,
    hardest,
    nearest_to_m,
    path_length_m,
    signed_area_m2,
    slowest,
    symmetries,
    symmetry_order,
    turning_number,
    winding_number,
)
from composer.motion.pattern import Arc, Hold, Pattern, Segment, Spin, Swing
from composer.motion.quadrature import integral
from composer.motion.transforms import enter_at

from . import patterns

F = Fraction
L = 0.5
COMPOSITE = patterns.three_petal_composite(radius=0.3)


def test_a_composites_hand_goes_round_half_a_circle_and_straight_back():
    assert path_length_m(COMPOSITE, "hand") == pytest.approx(pi * 0.3 + 0.6, abs=1e-9)
    assert signed_area_m2(COMPOSITE, "hand") == pytest.approx(pi * 0.09 / 2, abs=1e-9)
    assert furthest_from_m(COMPOSITE, 0j, "hand").value == pytest.approx(0.3, abs=1e-12)
    assert nearest_to_m(COMPOSITE, 0j, "hand").value == pytest.approx(0.0, abs=1e-9)
    assert nearest_to_m(COMPOSITE, 0j, "hand").phase == pytest.approx(0.875, abs=1e-9)
    assert winding_number(COMPOSITE, -0.1j, "hand") == 1
    assert turning_number(COMPOSITE, "hand") == 1


def test_a_composites_head_moves_as_hand_and_tether_add_up():
    """Across the top: 2.4 m a cycle of hand against L w with w = 4 pi, in line half way over."""
    peak = fastest(COMPOSITE)
    arc, line = pi * 0.3 / 0.75, 0.6 / 0.25
    spin = L * 2 * pi * 2
    assert peak.value == pytest.approx(max(arc, line) + spin, abs=1e-9)
    assert slowest(COMPOSITE, "hand").value == pytest.approx(arc, abs=1e-9)
    assert fastest_spin(COMPOSITE, cycle_s=2.0).value == pytest.approx(1.0, abs=1e-12)
    assert hardest(COMPOSITE, "hand").value == pytest.approx(arc**2 / 0.3, abs=1e-9)
    assert hardest(COMPOSITE, "hand", cycle_s=2.0).value == pytest.approx(arc**2 / 1.2, abs=1e-9)


def test_a_stall_is_where_the_head_stands_still():
    """A swing held at the hand: v = L A w |cos|, fastest at the middle, 0 at the ends."""
    swing = patterns.pendulum(amplitude=F(1, 8))
    assert slowest(swing).value == pytest.approx(0, abs=1e-9)
    assert slowest(swing).phase == pytest.approx(0.25, abs=1e-9)
    assert fastest(swing).value == pytest.approx(L * 2 * pi / 8 * 2 * pi, abs=1e-9)
    assert path_length_m(swing) == pytest.approx(4 * L * 2 * pi / 8, abs=1e-9)
    assert signed_area_m2(swing) == pytest.approx(0, abs=1e-12)
    assert turning_number(swing) is None


def test_a_figure_eight_has_two_equal_halves_against_each_other():
    """Its hand's area cancels; its length is two circles."""
    eight = patterns.figure_eight(radius=0.3)
    assert path_length_m(eight, "hand") == pytest.approx(4 * pi * 0.3, abs=1e-9)
    assert signed_area_m2(eight, "hand") == pytest.approx(0, abs=1e-12)
    assert turning_number(eight, "hand") == 0
    assert (winding_number(eight, 0.3 + 0j, "hand"), winding_number(eight, -0.3 + 0j, "hand")) == (
        1,
        -1,
    )


def test_symmetries_of_assembled_patterns():
    """The sixfold one below maps to itself at sixths; the composite at nothing but itself."""
    assert symmetries(COMPOSITE) == ()
    assert symmetry_order(COMPOSITE) == 1
    arcs = tuple(
        Segment(
            F(1, 6),
            Arc(0j, 0.3, F(k, 6), F(1, 6)),
            Swing(F(k, 6), F(1, 12), F(0), F(1)),
        )
        for k in range(6)
    )
    wavy = Pattern(arcs, L)
    assert symmetry_order(wavy) == 6
    assert {(one.phase, one.turns) for one in symmetries(wavy)} >= {(F(1, 6), F(1, 6))}


def test_half_a_flower_ends_at_the_opposite_point():
    """n = -3: after half a closure hand and petal stand half a turn on."""
    found = {one.phase: one.turns for one in symmetries(flower(F(-3), radius_m=0.3, tether_m=L))}
    assert found == {F(1, 4): F(1, 4), F(1, 2): F(1, 2), F(3, 4): F(3, 4)}
    clockwise = flower(F(-2), radius_m=0.3, tether_m=L, direction=-1)
    assert [one.turns for one in symmetries(clockwise)] == [F(2, 3), F(1, 3)]


def test_a_spin_with_a_held_hand_looks_the_same_from_any_share():
    found = {one.phase: one.turns for one in symmetries(static_spin(tether_m=L), most=6)}
    assert set(found) == {F(k, m) for m in range(2, 7) for k in range(1, m)}
    assert all(turns == phase for phase, turns in found.items())


def test_a_peak_at_a_joint_is_found_on_either_side():
    """A head that turns at 1 and then 3 turns a cycle's half: fastest all through the second."""
    uneven = Pattern(
        (
            Segment(F(1, 2), Hold(), Spin(F(3, 4), F(1))),
            Segment(F(1, 2), Hold(), Spin(F(3, 4), F(3))),
        ),
        L,
    )
    assert fastest_spin(uneven).value == pytest.approx(6.0, abs=1e-12)
    assert fastest_spin(uneven).phase == pytest.approx(0.5, abs=1e-12)
    assert path_length_m(uneven) == pytest.approx(2 * pi * L * 4, abs=1e-9)


def test_measures_do_not_depend_on_how_a_pattern_is_cut():
    cut = enter_at(COMPOSITE, F(1, 5))
    assert path_length_m(cut) == pytest.approx(path_length_m(COMPOSITE), abs=1e-9)
    assert fastest(cut).value == pytest.approx(fastest(COMPOSITE).value, abs=1e-9)
    assert signed_area_m2(cut) == pytest.approx(signed_area_m2(COMPOSITE), abs=1e-9)


@pytest.mark.parametrize("radius", [0.2, 0.8])
def test_an_evenly_timed_ellipse_obeys_the_two_thirds_power_law(radius):
    """Lacquaniti, Terzuolo, Viviani, Acta Psychol. 54 (1983) 115: v k^(1/3) = w (a b)^(1/3)."""
    motion = motion_at(flower(F(-1), radius_m=radius, tether_m=L), np.linspace(0, 1, 97))
    speed, bend = np.abs(motion.head_velocity), np.abs(curvature(motion))
    constant = 2 * pi * ((radius + L) * abs(radius - L)) ** (1 / 3)
    np.testing.assert_allclose(speed * bend ** (1 / 3), constant, rtol=0, atol=1e-9)
    slope = np.polyfit(np.log(bend), np.log(speed), 1)[0]
    assert slope == pytest.approx(-1 / 3, abs=1e-9)


def test_integrals_keep_to_their_error():
    """Smooth, kinked and stepped integrands with textbook integrals."""
    assert integral(np.exp, [0.0, 1.0]) == pytest.approx(np.e - 1, abs=1e-12)
    kink = integral(lambda x: np.abs(x - 1 / 3), [0.0, 1.0])
    assert kink == pytest.approx((1 / 9 + 4 / 9) / 2, abs=1e-11)
    assert integral(np.sqrt, [0.0, 1.0]) == pytest.approx(2 / 3, abs=1e-10)
    assert integral(lambda x: np.where(x < 0.5, 1.0, 3.0), [0.0, 0.5, 1.0]) == pytest.approx(2.0)
