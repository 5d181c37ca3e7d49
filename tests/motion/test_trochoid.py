"""Curves of a circle carried on a circle: published values and what follows from the definition."""

from fractions import Fraction
from math import gcd, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ellipe

from composer.motion.flower import flower, isolation, static_spin
from composer.motion.measures import (
    curvature,
    fastest,
    furthest_from_m,
    nearest_to_m,
    path_length_m,
    signed_area_m2,
    slowest,
    symmetries,
    symmetry_order,
    turning_number,
    winding_number,
)
from composer.motion.pattern import Arc, Hold, Line, Pattern, Segment, Spin, Swing, motion_at
from composer.motion.rolling import (
    RollingCircle,
    as_rolling,
    from_rolling,
    ratio_in_the_room,
    ratio_on_the_arm,
)
from composer.motion.segment import carries_on
from composer.motion.star import one_hand_star, rose_petals
from composer.motion.transforms import enter_at, rotate, split
from composer.motion.trochoid import (
    Limacon,
    Outline,
    Trochoid,
    closing_turns,
    petals,
    trochoid_of,
    trochoid_pattern,
)

F = Fraction
PUBLISHED_PETALS = {
    F(2): 1, F(3): 2, F(4): 3, F(5): 4, F(-1): 2, F(-2): 3, F(-3): 4, F(-4): 5, F(-5): 6,
    F(3, 2): 1, F(5, 2): 3, F(7, 2): 5, F(-3, 2): 5, F(-1, 2): 3, F(5, 3): 2, F(8, 3): 5,
    F(-1, 3): 4, F(-5, 3): 8, F(-7, 3): 10,
}  # fmt: skip

ratios = (
    st.tuples(st.integers(-7, 7), st.integers(1, 4))
    .map(lambda pq: F(*pq))
    .filter(lambda n: n not in (0, 1))
)
lengths = st.floats(0.05, 1.5)


def shape_of(n: Fraction, radius: float, tether: float, *, direction: int = 1) -> Trochoid:
    shape = trochoid_of(flower(n, radius_m=radius, tether_m=tether, direction=direction))
    assert shape is not None
    return shape


def drawn(n: Fraction, radius: float, tether: float, count: int) -> np.ndarray:
    """z(t) = R e^(it) + L e^(int) over one closure, by its definition and not by our code."""
    t = np.linspace(0, 2 * pi * n.denominator, count, endpoint=False)
    return radius * np.exp(1j * t) + tether * np.exp(1j * float(n) * t)


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


# ------------------------------------------------------------------ shape words


@pytest.mark.parametrize("n", [F(2), F(3), F(-2), F(-3), F(-3, 2), F(5, 2)])
def test_cusp_loop_or_wave_by_the_radius_against_n_tethers(n):
    """Epi- and hypocycloids have cusps; a longer arm loops, a shorter one does not."""
    cusp = abs(float(n)) * 0.5
    assert shape_of(n, cusp, 0.5).outline is Outline.CUSP
    assert shape_of(n, cusp - 1e-6, 0.5).outline is Outline.LOOP
    assert shape_of(n, cusp + 1e-6, 0.5).outline is Outline.WAVE


def crossings(n: Fraction, radius: float, tether: float) -> int:
    """How often the drawn curve crosses itself, counted on a fine polygon."""
    z = drawn(n, radius, tether, 720)
    step = np.roll(z, -1) - z
    gap = z[None, :] - z[:, None]
    cross = np.imag(np.conj(step)[:, None] * step[None, :])
    with np.errstate(divide="ignore", invalid="ignore"):
        mine = np.imag(np.conj(gap) * step[None, :]) / cross
        other = np.imag(np.conj(gap) * step[:, None]) / cross
    hit = (mine > 0) & (mine < 1) & (other > 0) & (other < 1)
    hit[0, -1] = False  # neighbours around the end of the curve share a corner
    return int(np.count_nonzero(np.triu(hit, 2)))


@pytest.mark.parametrize(("n", "radius"), [(F(-1), 0.3), (F(-1, 3), 0.1), (F(1, 2), 0.1)])
def test_a_head_led_curve_that_turns_once_does_not_loop(n, radius):
    """An ellipse never crosses itself, whichever of hand and head is longer."""
    assert crossings(n, radius, 0.5) == 0
    assert shape_of(n, radius, 0.5).outline is Outline.WAVE


@pytest.mark.parametrize(("n", "radius"), [(F(2), 0.7), (F(3), 1.2), (F(-2), 0.8), (F(-3), 1.2)])
def test_loops_cross_once_at_each_petal(n, radius):
    assert crossings(n, radius, 0.5) == petals(n)
    assert crossings(n, abs(float(n)) * 0.5 + 0.05, 0.5) == 0


@pytest.mark.parametrize(
    ("radius", "word"),
    [(1.99, Limacon.INNER_LOOP), (2.0, Limacon.CARDIOID), (2.01, Limacon.DIMPLE),
     (3.99, Limacon.DIMPLE), (4.0, Limacon.CONVEX), (4.01, Limacon.CONVEX)],
)  # fmt: skip
def test_limacons(radius, word):
    """MathWorld, Limacon: r = b + a cos(theta); loop below 2L, dimple to 4L, then convex."""
    assert shape_of(F(2), radius, 1.0).limacon is word
    bends = curvature(
        motion_at(flower(F(2), radius_m=radius, tether_m=1.0), np.linspace(0, 1, 999))
    )
    bends = bends[np.isfinite(bends)]
    assert (bends.min() < -1e-9) == (word is Limacon.DIMPLE)


@pytest.mark.parametrize("radius", [0.3, 1.0, 1.7, 5.0])
def test_a_one_petal_in_spin_is_the_textbooks_limacon(radius):
    """MathWorld, Limacon: r = b + a cos(theta) about a point L behind the middle, R = b, L = a/2.

    R e^(it) + L e^(2it) + L = (R + 2 L cos t) e^(it).
    """
    pattern = flower(F(2), radius_m=radius, tether_m=0.5, tip_turns=F(0))
    theta = 2 * pi * np.arange(36) / 36
    heads = motion_at(pattern, np.arange(36) / 36).head_m + 0.5
    limacon = (radius + 2 * 0.5 * np.cos(theta)) * np.exp(1j * theta)
    np.testing.assert_allclose(heads, limacon, rtol=0, atol=1e-12)


@pytest.mark.parametrize("n", [F(-2), F(-3), F(-3, 2), F(2), F(3)])
def test_sides_are_straight_where_curvature_at_the_inner_points_is_zero(n):
    """R = n^2 L: 4L for n = -2, 9L for -3, 9/4 L for -3/2.

    The curvature there is (R - n L)(R - n^2 L) / |R - n L|^3 (derived from the definition).
    """
    flat = float(n) ** 2
    inner = (trochoid_of(flower(n, radius_m=flat, tether_m=1.0)).tip_phases[0]) + F(
        1, 2 * petals(n)
    )
    for radius, sign in ((flat - 0.1, -1), (flat, 0), (flat + 0.1, 1)):
        motion = motion_at(flower(n, radius_m=radius, tether_m=1.0), [float(inner)])
        assert abs(motion.head_m[0]) == pytest.approx(radius - 1.0, abs=1e-9)
        bend = float(curvature(motion)[0])
        lead = radius - float(n)
        assert bend == pytest.approx(lead * (radius - flat) / abs(lead) ** 3, abs=1e-9)
        assert np.sign(round(bend, 9)) == sign * np.sign(lead)
    assert shape_of(n, flat, 1.0).is_straight_sided == (petals(n) > 1)
    assert not shape_of(n, flat + 1e-6, 1.0).is_straight_sided


@given(ratios, lengths, lengths, st.sampled_from([1, -1]))
def test_winding_and_turning_numbers(n, radius, tether, direction):
    """Winding q if R > L, p if less; turning p if |n| L > R, q if less."""
    lead = abs(float(n)) * tether
    if min(abs(radius - tether), abs(radius - lead)) < 0.01:
        return
    pattern = flower(n, radius_m=radius, tether_m=tether, direction=direction)
    shape = shape_of(n, radius, tether, direction=direction)
    p, q = n.numerator, n.denominator
    assert shape.winding == winding_number(pattern) == direction * (q if radius > tether else p)
    assert (
        shape.turning_number == turning_number(pattern) == direction * (p if lead > radius else q)
    )


def test_winding_and_turning_are_undefined_through_the_middle_and_at_cusps():
    rose, star = shape_of(F(-3), 0.5, 0.5), shape_of(F(-3, 2), 1.5, 1.0)
    assert rose.winding is None
    assert winding_number(flower(F(-3), radius_m=0.5, tether_m=0.5)) is None
    assert star.turning_number is None
    assert turning_number(flower(F(-3, 2), radius_m=1.5, tether_m=1.0)) is None
    assert star.winding == 2  # the five-cusped star winds twice


# ------------------------------------------------------------------ roses, rolling circles, frames


@pytest.mark.parametrize(
    ("n", "k"),
    [(F(-2), F(3)), (F(-3), F(2)), (F(-5), F(3, 2)), (F(-4), F(5, 3)), (F(2), F(1, 3)),
     (F(3), F(1, 2)), (F(5), F(2, 3))],
)  # fmt: skip
def test_through_the_middle_it_is_a_rose(n, k):
    """MathWorld, Rose Curve: r = a cos(k theta), k = (n - 1)/(n + 1); its own petal rule agrees."""
    shape = shape_of(n, 0.5, 0.5)
    assert shape.rose_ratio == k
    assert rose_petals(k) == shape.petals
    assert shape_of(n, 0.6, 0.5).rose_ratio is None
    z = drawn(n, 0.5, 0.5, 997)
    theta = np.angle(z)
    radial = np.abs(np.cos(float(k) * theta)) if k.denominator == 1 else None
    if radial is not None:
        np.testing.assert_allclose(np.abs(z), radial, rtol=0, atol=1e-9)


@pytest.mark.parametrize(
    ("n", "period"),
    [(F(-2), 1), (F(-3), 2), (F(-5), 4), (F(-4), 3), (F(2), 3), (F(3), 4), (F(5), 6)],
)
def test_a_rose_closes_after_the_period_of_its_own_rule(n, period):
    """MathWorld, Rose Curve: r = cos(a/b theta) has period pi b if a and b are odd, else 2 pi b.

    Through the middle z = 2R cos((n - 1) t / 2) e^(i (n + 1) t / 2): in q hand turns the line on
    which the head lies turns by |p + q| half turns. Two routes to one closure.
    """
    k = shape_of(n, 0.5, 0.5).rose_ratio
    both_odd = k.numerator % 2 and k.denominator % 2
    assert (k.denominator if both_odd else 2 * k.denominator) == period
    turns = closing_turns(n)
    t = np.linspace(0, 2 * pi * turns, 2000 * turns + 1) + 1e-3
    pattern = flower(n, radius_m=0.5, tether_m=0.5, tip_turns=F(0))
    z = motion_at(pattern, t / (2 * pi * turns)).head_m
    lines = np.unwrap(2 * np.angle(z)) / 2  # through the middle the head changes sides, not line
    assert abs(lines[-1] - lines[0]) == pytest.approx(pi * period, abs=1e-9)


@pytest.mark.parametrize(("k", "count"), [(F(3), 3), (F(2), 4), (F(3, 2), 6), (F(5, 3), 5)])
def test_the_rose_rule(k, count):
    """MathWorld, Rose Curve: k petals if odd, 2k if even; over b, a if both odd, else 2a."""
    assert rose_petals(k) == count


@pytest.mark.parametrize(
    ("rolling", "k", "n", "radius"),
    [("outside", F(1), F(2), 2.0), ("outside", F(2), F(3), 3.0), ("outside", F(5), F(6), 6.0),
     ("inside", F(3), F(-2), 2.0), ("inside", F(4), F(-3), 3.0),
     ("inside", F(5, 2), F(-3, 2), 1.5)],
)  # fmt: skip
def test_rolling_circles_and_back(rolling, k, n, radius):
    """Cardioid, nephroid, epicycloid, deltoid, astroid, star: a rim point (arm b) draws cusps."""
    circle = RollingCircle(rolling, k, 1.0, 1.0)
    shape = from_rolling(circle)
    assert (shape.ratio, shape.radius_m, shape.tether_m) == (n, radius, 1.0)
    assert shape.outline is Outline.CUSP
    assert as_rolling(shape) == circle


@pytest.mark.parametrize("rolling", ["inside", "outside"])
def test_a_rolling_circle_of_any_size_with_any_arm_draws_the_textbooks_curve(rolling):
    """MathWorld, Hypotrochoid: x = (a - b) cos t + h cos((a - b)/b t), y = (a - b) sin t - h sin of
    the same; Epitrochoid: x = (a + b) cos t - h cos((a + b)/b t), y alike; a = k b.
    """
    k, b, h = F(7, 2), 0.2, 0.45
    shape = from_rolling(RollingCircle(rolling, k, b, h))
    n, radius = (1 - k, float(k - 1) * b) if rolling == "inside" else (1 + k, float(k + 1) * b)
    assert shape.ratio == n
    assert (shape.radius_m, shape.tether_m) == pytest.approx((radius, h), abs=1e-12)
    assert as_rolling(shape).rolling_radius_m == pytest.approx(b, abs=1e-12)
    assert as_rolling(shape).arm_m == h
    a, t = float(k) * b, np.linspace(0, 4 * pi, 97)
    if rolling == "inside":
        x = (a - b) * np.cos(t) + h * np.cos((a - b) / b * t)
        y = (a - b) * np.sin(t) - h * np.sin((a - b) / b * t)
    else:
        x = (a + b) * np.cos(t) - h * np.cos((a + b) / b * t)
        y = (a + b) * np.sin(t) - h * np.sin((a + b) / b * t)
    told = shape.radius_m * np.exp(1j * t) + (1 if rolling == "inside" else -1) * (
        shape.tether_m * np.exp(1j * float(shape.ratio) * t)
    )
    np.testing.assert_allclose(told, x + 1j * y, rtol=0, atol=1e-12)


def test_a_rolling_circle_must_be_able_to_roll():
    with pytest.raises(ValueError, match="rolls inside for k > 1"):
        RollingCircle("inside", F(1), 1.0, 1.0)
    with pytest.raises(ValueError, match="n = 1/2"):
        as_rolling(shape_of(F(1, 2), 0.3, 0.5))


@pytest.mark.parametrize(
    "n",
    [
        F(p, q)
        for p, q in [
            (1, 1),
            (2, 1),
            (3, 1),
            (-1, 1),
            (-2, 1),
            (-3, 1),
            (5, 2),
            (-3, 2),
            (-5, 3),
            (7, 4),
        ]
    ],
)
def test_spin_on_the_arm_is_one_less_than_in_the_room(n):
    """A tether that keeps its angle to the arm turns once with it."""
    assert ratio_on_the_arm(n) == n - 1
    assert ratio_in_the_room(ratio_on_the_arm(n)) == n


def test_no_spin_on_the_arm_is_a_circle():
    """n = 1: radius R + L, or |R - L| with the tether turned inwards."""
    extension = trochoid_of(flower(F(1), radius_m=0.4, tether_m=0.5))
    inward = trochoid_of(isolation(tether_m=0.5, radius_m=0.2))
    for shape, radius in ((extension, 0.9), (inward, 0.3)):
        assert shape.outer_m == pytest.approx(radius, abs=1e-12)
        assert shape.path_length_m == pytest.approx(2 * pi * radius, abs=1e-12)
        assert shape.signed_area_m2 == pytest.approx(pi * radius**2, abs=1e-12)
        assert shape.petals == 0
        assert path_length_m(trochoid_pattern(shape)) == pytest.approx(2 * pi * radius, abs=1e-9)
    still = trochoid_of(isolation(tether_m=0.5, radius_m=0.5))
    assert still.outer_m == pytest.approx(0, abs=1e-12)
    assert (still.winding, still.turning_number) == (None, None), "a head at rest in the middle"


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
