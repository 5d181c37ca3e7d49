"""What such curves are called: loops and cusps, limacons, roses, rolling circles."""

from fractions import Fraction
from math import pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.motion.flower import flower, isolation
from composer.motion.kinematics import motion_at
from composer.motion.measures import (
    curvature,
    path_length_m,
    turning_number,
    winding_number,
)
from composer.motion.rolling import (
    RollingCircle,
    as_rolling,
    from_rolling,
    ratio_in_the_room,
    ratio_on_the_arm,
)
from composer.motion.star import rose_petals
from composer.motion.trochoid import (
    Limacon,
    Outline,
    closing_turns,
    petals,
    trochoid_of,
    trochoid_pattern,
)

from .curves import drawn, lengths, ratios, shape_of

F = Fraction


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
