"""Curves of a circle carried on a circle: published values and what follows from the definition."""

from fractions import Fraction
from math import gcd, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ellipe

from composer.motion.flower import flower, static_spin
from composer.motion.kinematics import motion_at
from composer.motion.measures import (
    fastest,
    furthest_from_m,
    nearest_to_m,
    path_length_m,
    signed_area_m2,
    slowest,
    symmetries,
    symmetry_order,
)
from composer.motion.pattern import Arc, Hold, Line, Pattern, Segment, Spin, Swing
from composer.motion.segment import carries_on
from composer.motion.star import one_hand_star
from composer.motion.transforms import enter_at, rotate, split
from composer.motion.trochoid import (
    Outline,
    closing_turns,
    petals,
    trochoid_of,
    trochoid_pattern,
)

from .curves import drawn, lengths, ratios, shape_of

F = Fraction
PUBLISHED_PETALS = {
    F(2): 1, F(3): 2, F(4): 3, F(5): 4, F(-1): 2, F(-2): 3, F(-3): 4, F(-4): 5, F(-5): 6,
    F(3, 2): 1, F(5, 2): 3, F(7, 2): 5, F(-3, 2): 5, F(-1, 2): 3, F(5, 3): 2, F(8, 3): 5,
    F(-1, 3): 4, F(-5, 3): 8, F(-7, 3): 10,
}  # fmt: skip

# ------------------------------------------------------------------ counting


@pytest.mark.parametrize("q", range(1, 13))
@pytest.mark.parametrize("p", [p for p in range(-12, 13) if p])
def test_the_curve_closes_after_q_hand_turns_and_no_sooner(p, q):
    """MathWorld, Hypocycloid: closed for a rational ratio of radii; p and q without a factor."""
    n = F(p, q)
    closing = closing_turns(n)
    assert closing == q // gcd(p, q)
    pattern = flower(n, radius_m=0.31, tether_m=0.5)
    assert (abs(pattern.hand_turns), abs(pattern.head_turns)) == (closing, abs(n.numerator))
    turns = np.arange(1, closing + 1)
    places = drawn(n, 0.31, 0.5, 7 * closing)
    after = [np.max(np.abs(places - np.roll(places, -7 * k))) < 1e-9 for k in turns]
    assert after == [k == closing for k in turns]
    start, end = motion_at(pattern, [0.0, 1.0]).head_m, motion_at(pattern, [1.0], side="before")
    assert abs(end.head_m[0] - start[0]) < 1e-9


@pytest.mark.parametrize(("n", "count"), PUBLISHED_PETALS.items())
def test_petals_are_the_greatest_distances_from_the_middle(n, count):
    """abs(z)^2 = R^2 + L^2 + 2 R L cos((n - 1) t) has p - q maxima in a closure."""
    distance = np.abs(drawn(n, 0.3, 0.5, 5040))
    maxima = (distance > np.roll(distance, 1)) & (distance >= np.roll(distance, -1))
    assert np.count_nonzero(maxima) == count
    assert petals(n) == shape_of(n, 0.3, 0.5).petals == count


@pytest.mark.parametrize("n", PUBLISHED_PETALS)
@pytest.mark.parametrize("direction", [1, -1])
def test_tips_are_where_the_head_is_furthest_out(n, direction):
    tip = F(1, 7)
    pattern = flower(n, radius_m=0.3, tether_m=0.5, tip_turns=tip, direction=direction)
    shape = trochoid_of(pattern)
    assert tip in shape.tip_directions
    heads = motion_at(pattern, [float(phase) for phase in shape.tip_phases]).head_m
    expected = 0.8 * np.exp(2j * pi * np.array([float(turns) for turns in shape.tip_directions]))
    np.testing.assert_allclose(heads, expected, rtol=0, atol=1e-9)
    assert len(set(shape.tip_directions)) == shape.petals


@pytest.mark.parametrize(
    ("n", "order", "step"),
    [(F(-3, 2), (0, 2, 4, 1, 3), 2), (F(7, 2), (0, 2, 4, 1, 3), 2), (F(5, 2), (0, 2, 1), 1),
     (F(-5, 3), (0, 3, 6, 1, 4, 7, 2, 5), 3)],
)  # fmt: skip
@pytest.mark.parametrize("direction", [1, -1])
def test_tips_are_visited_as_a_star(n, order, step, direction):
    """Coxeter, Introduction to Geometry, 1969, 2.8: {5/2}, {5/2}, {3/2} and {8/3}.

    {3/2} is the triangle {3/1} run the other way round, so its shorter step is 1.
    """
    shape = shape_of(n, 0.3, 0.5, direction=direction)
    assert shape.tip_order == order
    assert shape.star_step == step
    assert shape.tip_order[1] == n.denominator


@pytest.mark.parametrize(("points", "step"), [(6, 2), (6, 3), (8, 2), (9, 3), (10, 4)])
def test_one_hand_cannot_draw_a_compound_star(points, step):
    """A star {n/k} with a common factor falls apart (Coxeter 1969, 2.8); one closure does not."""
    with pytest.raises(ValueError, match=f"falls into {gcd(points, step)} closed figures"):
        one_hand_star(points, step)


@pytest.mark.parametrize(("points", "step"), [(1, 1), (5, 0), (5, 5), (5, -2)])
def test_what_is_no_star_is_refused(points, step):
    with pytest.raises(ValueError, match="at least 2 points"):
        one_hand_star(points, step)


@pytest.mark.parametrize(("points", "step", "anti"), [(5, 2, F(-3, 2)), (7, 2, F(-5, 2)),
                                                     (8, 3, F(-5, 3)), (3, 1, F(-2))])  # fmt: skip
def test_a_star_of_one_hand_has_two_ratios(points, step, anti):
    found, inspin = one_hand_star(points, step)
    assert found == anti
    assert petals(found) == petals(inspin) == points
    assert closing_turns(found) == closing_turns(inspin) == step


@pytest.mark.parametrize("n", PUBLISHED_PETALS)
def test_the_curve_has_the_symmetry_of_its_petals(n):
    """Turned by 360/petals degrees it maps to itself, and conj z(-t) = z(t)."""
    count = PUBLISHED_PETALS[n]
    pattern = flower(n, radius_m=0.3, tether_m=0.5, tip_turns=F(0))
    phases = np.linspace(0, 1, 301)
    here = motion_at(pattern, phases)
    assert symmetry_order(pattern) == count
    assert len(symmetries(pattern)) == count - 1
    for found in symmetries(pattern):
        there = motion_at(pattern, phases + float(found.phase)).head_m
        turned = here.head_m * np.exp(2j * pi * float(found.turns))
        np.testing.assert_allclose(there, turned, rtol=0, atol=1e-9)
    back = motion_at(pattern, -phases).head_m
    np.testing.assert_allclose(np.conj(back), here.head_m, rtol=0, atol=1e-9)


# ------------------------------------------------------------------ sizes and speeds


@given(ratios, lengths, lengths)
def test_the_head_stays_between_the_radii(n, radius, tether):
    """Greatest R + L, least |R - L|."""
    shape = shape_of(n, radius, tether)
    assert shape.outer_m == pytest.approx(radius + tether, abs=1e-12)
    assert shape.inner_m == pytest.approx(abs(radius - tether), abs=1e-12)
    assert shape.passes_through_centre == (abs(radius - tether) <= 1e-9)


@pytest.mark.parametrize("n", [F(3), F(-3), F(-3, 2)])
def test_measured_radii_are_those(n):
    pattern = flower(n, radius_m=0.3, tether_m=0.5)
    assert furthest_from_m(pattern).value == pytest.approx(0.8, abs=1e-12)
    assert nearest_to_m(pattern).value == pytest.approx(0.2, abs=1e-12)
    assert shape_of(n, 0.5, 0.5).passes_through_centre
    assert nearest_to_m(flower(n, radius_m=0.5, tether_m=0.5)).value == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("n", [F(3), F(-3)])
def test_head_speed_of_a_flower(n):
    """w (R + |n| L) and w |R - |n| L|: 2 pi 1.8 = 11.31 and 2 pi 1.2 = 7.54 m/s at 1 turn/s."""
    slow, fast = shape_of(n, 0.3, 0.5).head_speed_range(1.0)
    assert (slow, fast) == pytest.approx((2 * pi * 1.2, 2 * pi * 1.8), abs=1e-9)
    pattern = flower(n, radius_m=0.3, tether_m=0.5)
    assert fastest(pattern).value == pytest.approx(2 * pi * 1.8, abs=1e-9)
    assert slowest(pattern).value == pytest.approx(2 * pi * 1.2, abs=1e-9)
    assert fastest(pattern, cycle_s=2.0).value == pytest.approx(pi * 1.8, abs=1e-9)
    tip_speed = fast if n > 0 else slow  # at a tip hand and head move one way, or against
    tip = motion_at(pattern, [float(shape_of(n, 0.3, 0.5).tip_phases[0])])
    assert abs(tip.head_velocity[0]) == pytest.approx(tip_speed, abs=1e-9)


NAMED_CURVES = [
    # name, n, R, L, length, area
    ("cardioid, a = 1", F(2), 2.0, 1.0, 16.0, 6 * pi),
    ("nephroid, a = 1", F(3), 3.0, 1.0, 24.0, 12 * pi),
    ("five-cusped epicycloid, a = 1", F(6), 6.0, 1.0, 48.0, 42 * pi),
    ("deltoid, b = 1", F(-2), 2.0, 1.0, 16.0, 2 * pi),
    ("astroid, b = 1", F(-3), 3.0, 1.0, 24.0, 6 * pi),
    ("five-cusped star", F(-3, 2), 1.5, 1.0, 24.0, 3 * pi / 2),
    ("limacon with a loop", F(2), 1.0, 1.0, 13.364893220555, 3 * pi),
    ("ellipse, half-axes 3/2 and 1/2", F(-1), 1.0, 0.5, 6.682446610, 3 * pi / 4),
    ("line of half-length 2", F(-1), 1.0, 1.0, 8.0, 0.0),
    ("rose k = 2, a = 1", F(-3), 0.5, 0.5, 9.688448220548, -pi / 2),
    ("rose k = 3, a = 1", F(-2), 0.5, 0.5, 6.682446610276, -pi / 4),
]


@pytest.mark.parametrize(
    ("n", "radius", "tether", "length", "area"),
    [row[1:] for row in NAMED_CURVES],
    ids=[row[0] for row in NAMED_CURVES],
)
def test_named_curves_have_their_published_length_and_area(n, radius, tether, length, area):
    """MathWorld: Cardioid, Nephroid, Epicycloid, Deltoid, Astroid, Limacon, Rose Curve; Lawrence.

    Both routes, closed form and quadrature. The ellipse's length is printed to nine decimals.
    """
    shape, pattern = shape_of(n, radius, tether), flower(n, radius_m=radius, tether_m=tether)
    assert shape.path_length_m == pytest.approx(length, abs=1e-9)
    assert path_length_m(pattern) == pytest.approx(length, abs=1e-9)
    assert shape.signed_area_m2 == pytest.approx(area, abs=1e-9)
    assert signed_area_m2(pattern) == pytest.approx(area, abs=1e-9)


def test_a_deltoid_has_its_radii_and_cusps():
    """MathWorld, Deltoid: inner radius b, outer 3b, three cusps."""
    shape = shape_of(F(-2), 2.0, 1.0)
    assert (shape.inner_m, shape.outer_m) == (1.0, 3.0)
    assert (shape.petals, shape.outline) == (3, Outline.CUSP)


@given(ratios, lengths, lengths, st.sampled_from([1, -1]))
def test_length_and_area_agree_with_quadrature(n, radius, tether, direction):
    """4 (R + |n| L) E(m) for each hand turn and q pi (R^2 + n L^2) for a closure (DLMF ch. 19)."""
    pattern = flower(n, radius_m=radius, tether_m=tether, direction=direction)
    shape = shape_of(n, radius, tether, direction=direction)
    lead = abs(float(n)) * tether
    m = 4 * radius * lead / (radius + lead) ** 2
    length = n.denominator * 4 * (radius + lead) * ellipe(m)
    area = direction * n.denominator * pi * (radius**2 + float(n) * tether**2)
    assert shape.path_length_m == pytest.approx(length, abs=1e-9)
    assert path_length_m(pattern) == pytest.approx(length, abs=1e-9)
    assert shape.signed_area_m2 == pytest.approx(area, abs=1e-9)
    assert signed_area_m2(pattern) == pytest.approx(area, abs=1e-9)


@given(ratios, lengths)
def test_a_cusped_curve_is_8_r_long_for_each_hand_turn(n, radius):
    """Follows from the named curves above: 16a, 24a and 48a are 8 R."""
    tether = radius / abs(float(n))
    pattern = flower(n, radius_m=radius, tether_m=tether)
    assert path_length_m(pattern) == pytest.approx(8 * radius * n.denominator, abs=1e-9)
    assert slowest(pattern).value == pytest.approx(0, abs=1e-7)


@pytest.mark.parametrize(
    ("n", "count"),
    [(F(2), 1), (F(3), 2), (F(6), 5), (F(-2), 3), (F(-3), 4), (F(-3, 2), 5), (F(5, 2), 3)],
)
def test_a_cusped_curve_stops_once_for_each_petal_and_nowhere_else(n, count):
    """Cardioid 1, nephroid 2, deltoid 3, astroid 4: cusps where R = |n| L, |p - q| of them.

    Against the hand they lie at the tips, with it half way between them: there the speed
    w |R + n L e^(i (n - 1) t)| is 0 (epi- and hypocycloid, definition).
    """
    pattern = flower(n, radius_m=abs(float(n)) * 0.5, tether_m=0.5)
    still = np.abs(motion_at(pattern, np.arange(5040) / 5040).head_velocity) < 1e-9
    assert np.count_nonzero(still) == count == petals(n)
    tips = [float(phase) for phase in trochoid_of(pattern).tip_phases]
    cusps = np.flatnonzero(still) / 5040 + (0.5 / count if n > 0 else 0.0)
    np.testing.assert_allclose(np.sort(cusps % 1.0), np.sort(tips), rtol=0, atol=1e-9)


def test_an_ellipse_as_wide_as_it_is_long_is_a_line():
    """n = -1, R = L: to and fro along the tip, half-length 2R."""
    pattern = flower(F(-1), radius_m=0.5, tether_m=0.5, tip_turns=F(1, 8))
    along = motion_at(pattern, np.arange(48) / 48).head_m * np.exp(-0.25j * pi)
    np.testing.assert_allclose(along.imag, 0.0, rtol=0, atol=1e-12)
    assert along.real.max() == pytest.approx(1.0, abs=1e-12)
    assert along.real.min() == pytest.approx(-1.0, abs=1e-12)


def test_an_ellipse_has_the_sum_and_difference_for_half_axes():
    """n = -1: half-axes R + L along the tip, |R - L| across it."""
    pattern = flower(F(-1), radius_m=1.0, tether_m=0.5, tip_turns=F(0))
    heads = motion_at(pattern, np.linspace(0, 1, 200)).head_m
    on_it = (heads.real / 1.5) ** 2 + (heads.imag / 0.5) ** 2
    np.testing.assert_allclose(on_it, 1.0, rtol=0, atol=1e-9)


# ------------------------------------------------------------------ patterns that are simple


def test_a_pattern_cut_in_two_is_the_same_shape():
    whole = flower(F(-3, 2), radius_m=0.3, tether_m=0.5)
    entered = enter_at(whole, F(1, 3))
    shape = trochoid_of(entered)
    assert len(entered.segments) == 2
    assert set(shape.tip_directions) == set(trochoid_of(whole).tip_directions)
    assert trochoid_of(rotate(whole, F(1, 8))).petals == 5


def test_a_spin_of_a_held_hand_is_a_circle_of_the_tether():
    shape = trochoid_of(static_spin(tether_m=0.5, direction=-1))
    assert (shape.petals, shape.winding, shape.outline) == (0, -1, None)
    assert shape.path_length_m == pytest.approx(pi, abs=1e-12)
    assert shape.signed_area_m2 == pytest.approx(-pi / 4, abs=1e-12)


def test_two_closures_in_one_cycle_are_counted():
    once = flower(F(-2), radius_m=0.3, tether_m=0.5).segments[0]
    twice = Pattern(
        (Segment(F(1), Arc(0j, 0.3, once.hand.start_turns, F(2)), Spin(F(3, 4), F(-4))),), 0.5
    )
    shape = trochoid_of(twice)
    assert (shape.ratio, shape.closures, shape.hand_turns, shape.petals) == (F(-2), 2, 2, 3)
    assert symmetry_order(twice) == 3


def test_what_runs_on_no_circle_or_does_not_close_has_no_such_shape():
    there, back = (
        Segment(F(1, 2), Line(0j, 1 + 0j), Spin(F(3, 4), F(1))),
        Segment(F(1, 2), Line(1 + 0j, 0j), Spin(F(3, 4), F(1))),
    )
    swing = Segment(F(1), Arc(0j, 0.3, F(0), F(1)), Swing(F(3, 4), F(1, 8), F(0), F(1)))
    opened = Segment(F(1), Arc(0j, 0.3, F(0), F(1)), Spin(F(0), F(1, 2)))
    rest = Segment(F(1), Hold(), Spin(F(3, 4), F(0)))
    uneven = (
        Segment(F(1, 2), Hold(), Spin(F(3, 4), F(1))),
        Segment(F(1, 2), Hold(), Spin(F(3, 4), F(2))),
    )
    line = Segment(F(1), Line(0j, 1 + 0j), Spin(F(3, 4), F(1)))
    for segments in ((there, back), (swing,), (opened,), (rest,), uneven, (line,)):
        assert trochoid_of(Pattern(segments, 0.5)) is None


def test_a_circle_of_no_radius_is_a_held_hand():
    tiny = Pattern((Segment(F(1), Arc(1 + 1j, 0.0, F(0), F(3)), Spin(F(3, 4), F(2))),), 0.5)
    shape = trochoid_of(tiny)
    assert (shape.petals, shape.closures, shape.centre_m) == (0, 2, 1 + 1j)
    assert trochoid_pattern(shape).segments[0].hand == Hold(1 + 1j)


def test_a_circle_has_one_speed_and_no_tips():
    """n = 1: radius R + L at one turn a second."""
    shape = shape_of(F(1), 0.4, 0.5)
    assert shape.head_speed_range(1.0) == pytest.approx((2 * pi * 0.9, 2 * pi * 0.9), abs=1e-12)
    assert (shape.tip_phases, shape.tip_order, shape.star_step) == ((), (), 0)
    assert (shape.limacon, shape.rose_ratio, shape.turning_number) == (None, None, 1)
    assert shape_of(F(2), 0.4, 0.5).star_step == 0


@given(st.floats(0.05, 1.5), st.floats(0.05, 1.5), ratios)
def test_a_shape_and_its_pattern_are_one(radius, tether, n):
    shape = shape_of(n, radius, tether)
    assert trochoid_of(trochoid_pattern(shape)) == shape


def test_an_even_line_cut_in_two_carries_on():
    there = Segment(F(1, 2), Line(0j, 1 + 0j), Spin(F(3, 4), F(1)))
    back = Segment(F(1, 2), Line(1 + 0j, 0j), Spin(F(3, 4), F(1)))
    eased = Segment(F(1, 2), Line(0j, 1 + 0j, eased=True), Spin(F(3, 4), F(1)))
    assert carries_on(*split(there, F(1, 3)))
    assert carries_on(*split(eased, F(1, 3)))
    assert not carries_on(there, back)
    assert not carries_on(there, eased)
    assert not carries_on(there, Segment(F(1, 2), Hold(), Spin(F(3, 4), F(1))))
