"""Swinging and turning of itself: handbook values, and the integrator against them."""

from fractions import Fraction
from math import cos, pi, radians, sin, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from composer.motion.gravity import (
    G,
    amplitude_for_slowing_turns,
    circle_pull_n,
    cone_lean_turns,
    cone_pull_n,
    cone_s,
    fit_swing,
    kinetic_energy_j,
    least_loop_speeds,
    length_for_small_swing_m,
    slowest_even_turning_hz,
    slowest_free_loop_s,
    small_swing_s,
    swing_s,
)
from composer.motion.integrate import HandPiece, fly

F = Fraction
T_OVER_T0 = {
    10: 1.001907188, 20: 1.007669026, 30: 1.017408798, 45: 1.039973343, 60: 1.073182007,
    75: 1.118959039, 90: 1.180340599, 120: 1.372880501, 135: 1.527947588, 150: 1.762203730,
    160: 2.007507401, 170: 2.439362720, 175: 2.877663512, 179: 3.901065160,
}  # fmt: skip


def still(duration_s: float) -> list[HandPiece]:
    return [HandPiece(duration_s, lambda _time: (0j, 0j, 0j))]


def test_standard_gravity():
    """3rd General Conference on Weights and Measures, 1901."""
    assert G == 9.80665


@pytest.mark.parametrize(
    ("length", "period"),
    [(0.30, 1.098956), (0.45, 1.345940), (0.50, 1.418746), (0.60, 1.554158), (0.75, 1.737601)],
)
def test_small_swing(length, period):
    """2 pi sqrt(L/g), any textbook of mechanics."""
    assert small_swing_s(length) == pytest.approx(period, abs=1e-6)
    assert length_for_small_swing_m(small_swing_s(length)) == pytest.approx(length, abs=1e-12)


def test_the_seconds_pendulum():
    """L = g/pi^2 for a period of 2 s."""
    assert length_for_small_swing_m(2.0) == pytest.approx(0.9936214, abs=1e-7)


@pytest.mark.parametrize(("degrees", "ratio"), T_OVER_T0.items())
def test_wide_swings_are_slower(degrees, ratio):
    """T/T0 = 2/pi K(sin^2(A/2)): DLMF 22.19(i); recomputed with mpmath for this table."""
    length = 0.5
    assert swing_s(length, degrees / 360) / small_swing_s(length) == pytest.approx(ratio, abs=1e-8)


@pytest.mark.parametrize(
    ("degrees", "period"),
    [(10, 2.00989262729860), (20, 2.02145125782458), (30, 2.04098988951913),
     (60, 2.15287466688052), (80, 2.28188592401964)],
)  # fmt: skip
def test_a_printed_table(degrees, period):
    """George Mason University, course page on the pendulum: L = 1 m, g = 9.81 m/s^2."""
    assert swing_s(1.0, degrees / 360, g=9.81) == pytest.approx(period, abs=1e-12)


def test_where_a_swing_takes_twice_as_long():
    """OEIS A256514; Carvalhaes and Suppes, Am. J. Phys. 76 (2008) 1150."""
    assert 360 * amplitude_for_slowing_turns(2.0) == pytest.approx(159.75387571836, abs=1e-9)
    assert amplitude_for_slowing_turns(1.0) == 0.0


def test_the_series_begins_with_its_published_terms():
    """OEIS A223067/A223068: 1 + A^2/16 + 11 A^4/3072 + 173 A^6/737280 + 22931 A^8/1321205760.

    The next term is below 2e-5 A^10: at 0.2 rad under 2e-12.
    """
    a = 0.2
    series = 1 + a**2 / 16 + 11 * a**4 / 3072 + 173 * a**6 / 737280 + 22931 * a**8 / 1321205760
    assert swing_s(1.0, a / (2 * pi)) / small_swing_s(1.0) == pytest.approx(series, abs=3e-12)


def test_two_terms_of_the_series_fall_short_at_60_degrees():
    """OEIS A223067/A223068: 1 + A^2/16 + 11 A^4/3072 gives 1.072845, short by 0.03 %.

    That is why K is used.
    """
    a = pi / 3
    two_terms = 1 + a**2 / 16 + 11 * a**4 / 3072
    assert two_terms == pytest.approx(1.072845, abs=1e-6)
    exact = swing_s(1.0, 1 / 6) / small_swing_s(1.0)
    assert 100 * (exact / two_terms - 1) == pytest.approx(0.03, abs=0.005)


@pytest.mark.parametrize("degrees", [30, 90, 150, 179])
def test_the_integrator_keeps_those_periods(degrees):
    """A quarter of the period passes between the turning point and straight down."""
    quarter = T_OVER_T0[degrees] * small_swing_s(0.5) / 4
    flight = fly(
        still(quarter * 1.1),
        length_m=0.5,
        tether_turns=0.75 + degrees / 360,
        tether_rate=0.0,
        is_tether=False,
    )
    down = brentq(
        lambda time: flight.tether_turns([time])[0] - 0.75, quarter * 0.9, quarter * 1.1, xtol=1e-13
    )
    assert down / quarter == pytest.approx(1.0, abs=1e-8)


def test_which_tempo_a_swing_keeps():
    """0.5 m swings small in 1.4187 s; at level in 1.1803 times that; no faster, and no slower."""
    assert not fit_swing(0.5, 1.40).is_free
    exact = fit_swing(0.5, 1.418746 * 1.073182007)
    assert 360 * exact.amplitude_turns == pytest.approx(60, abs=1e-3)
    assert exact.ratio == pytest.approx(1.073182007, abs=1e-6)
    assert not fit_swing(0.5, 1.418746 * 1.19).is_free
    assert fit_swing(0.5, 1.418746 * 1.19, is_tether=False).is_free


# ------------------------------------------------------------------ cones


@pytest.mark.parametrize(("degrees", "period"), [(30, 1.320292), (45, 1.193018), (60, 1.003205)])
def test_conical_pendulum(degrees, period):
    """T = 2 pi sqrt(L cos/g), pull m g/cos: mechanics textbooks; L = 0.5 m."""
    assert cone_s(0.5, degrees / 360) == pytest.approx(period, abs=1e-6)
    assert cone_pull_n(0.1, degrees / 360) == pytest.approx(
        0.1 * G / cos(radians(degrees)), abs=1e-9
    )
    assert 360 * cone_lean_turns(0.5, 1 / cone_s(0.5, degrees / 360)) == pytest.approx(
        degrees, abs=1e-9
    )


def test_too_slow_for_a_cone():
    """w^2 < g/L has no leaning solution."""
    edge = sqrt(G / 0.5) / (2 * pi)
    assert cone_lean_turns(0.5, 0.999 * edge) is None
    assert cone_lean_turns(0.5, 1.001 * edge) > 0
    with pytest.raises(ValueError, match="quarter"):
        cone_s(0.5, 0.25)


# ------------------------------------------------------------------ loops


def test_least_speeds_of_a_free_loop():
    """v^2 = gL, 3gL, 5gL on a cord; 0, 2gL, 4gL on a rod: university mechanics texts. L = 0.5."""
    cord, rod = least_loop_speeds(0.5), least_loop_speeds(0.5, is_tether=False)
    assert (cord.top, cord.bottom) == pytest.approx((2.2143, 4.9514), abs=5e-5)
    assert (cord.top**2, cord.side**2, cord.bottom**2) == pytest.approx(
        (G * 0.5, 3 * G * 0.5, 5 * G * 0.5), abs=1e-9
    )
    assert (rod.top, rod.bottom**2) == pytest.approx((0.0, 4 * G * 0.5), abs=1e-9)


@given(st.floats(0.02, 0.5), st.floats(0.3, 0.8), st.floats(0, 10))
def test_bottom_and_top_differ_by_six_weights(mass, length, speed_squared_above):
    """T = m (v^2/L + g cos); free: v^2 differs by 4gL, so bottom minus top is 6 m g."""
    top2 = G * length + speed_squared_above
    top = circle_pull_n(mass, sqrt(top2), length, 0.5)
    side = circle_pull_n(mass, sqrt(top2 + 2 * G * length), length, 0.25)
    bottom = circle_pull_n(mass, sqrt(top2 + 4 * G * length), length, 0.0)
    assert bottom - top == pytest.approx(6 * mass * G, abs=1e-9)
    assert side - top == pytest.approx(3 * mass * G, abs=1e-9)


def test_at_the_threshold_the_pull_is_0_3_and_6_weights():
    speeds = least_loop_speeds(0.5)
    pulls = [
        circle_pull_n(0.1, speed, 0.5, place)
        for speed, place in ((speeds.top, 0.5), (speeds.side, 0.25), (speeds.bottom, 0.0))
    ]
    assert pulls == pytest.approx([0, 3 * 0.1 * G, 6 * 0.1 * G], abs=1e-9)


@pytest.mark.parametrize(("length", "hz"), [(0.45, 0.742975), (0.50, 0.704848), (0.60, 0.643435)])
def test_slowest_even_turning(length, hz):
    """w^2 L >= g at the top."""
    assert slowest_even_turning_hz(length) == pytest.approx(hz, abs=1e-6)


def test_slowest_free_loop():
    """Energy integral: 4 K(0.8)/sqrt(5) = 4.037811640 sqrt(L/g); L = 0.45: 1.156134 Hz."""
    assert slowest_free_loop_s(G) == pytest.approx(4.037811640, abs=1e-8)
    assert 1 / slowest_free_loop_s(0.45) == pytest.approx(1.156134, abs=1e-6)
    assert slowest_free_loop_s(0.55) == pytest.approx(0.956, abs=5e-4)


def test_the_integrator_goes_round_in_that_time_and_slower_falls_in():
    """From the bottom with v^2 = 5gL it is just taut at the top; with a little less it is not."""
    length = 0.45
    period, bottom = slowest_free_loop_s(length), sqrt(5 * G * length)
    rate = bottom / length / (2 * pi)
    flight = fly(still(period), length_m=length, tether_turns=0.75, tether_rate=rate * (1 + 1e-9))
    assert flight.slack == ()
    turned = flight.tether_turns([period])[0] - 0.75
    assert turned == pytest.approx(1.0, abs=1e-7)
    short = fly(still(period), length_m=length, tether_turns=0.75, tether_rate=rate * 0.98)
    assert len(short.slack) >= 1
    (start, end), *_ = short.slack
    assert start < end
    assert short.tether_turns([start])[0] % 1 > 0  # it lets go above level
    assert np.sin(2 * pi * short.tether_turns([start])[0]) > 0
    falling = short.head_m(np.linspace(start, end, 50))
    assert np.all(np.abs(falling) <= length + 1e-9)
    rod = fly(
        still(period), length_m=length, tether_turns=0.75, tether_rate=rate * 0.98, is_tether=False
    )
    assert rod.slack == ()


def test_a_slack_head_falls_as_a_thrown_stone():
    """Let go level and at rest above the hand's height: it drops g t^2 / 2 until caught."""
    flight = fly(still(0.3), length_m=0.5, tether_turns=0.2, tether_rate=0.0)
    (start, end), *_ = flight.slack
    assert start == 0.0
    drop = flight.head_m([0.1])[0] - flight.head_m([0.0])[0]
    assert drop == pytest.approx(-0.5j * G * 0.01, abs=1e-9)
    # caught when the vertical line meets the circle again, at the mirrored height
    fall = 2 * 0.5 * sin(2 * pi * 0.2)
    assert end == pytest.approx(min(0.3, sqrt(2 * fall / G)), abs=1e-9)


@pytest.mark.parametrize(("share", "stands"), [(0.95, False), (1.05, True)])
def test_a_shaken_pivot_holds_a_head_upside_down(share, stands):
    """Landau and Lifshitz, Mechanics, 30: it stands for (a w)^2 > 2 g L when a << L."""
    reach, length = 0.01, 0.5
    omega = sqrt(share * 2 * G * length) / reach

    def shaken(time: float) -> tuple[complex, complex, complex]:
        wave, slope = cos(omega * time), sin(omega * time)
        return reach * wave * 1j, -reach * omega * slope * 1j, -reach * omega**2 * wave * 1j

    flight = fly(
        [HandPiece(6.0, shaken)],
        length_m=length,
        tether_turns=0.25 + radians(1.0) / (2 * pi),
        tether_rate=0.0,
        is_tether=False,
    )
    lean = np.abs(flight.tether_turns(np.linspace(0, 6, 2000)) - 0.25) * 360
    assert (lean.max() < 30) == stands


def test_energy_is_a_figure():
    """m v^2 / 2."""
    assert kinetic_energy_j(0.1, 13.4) == pytest.approx(8.978, abs=1e-9)


@pytest.mark.parametrize(
    ("mass", "length", "hz", "speed", "energy", "pull"),
    [(0.1, 0.5, 1.0, 3.14, 0.49, None), (0.1, 0.5, 2.0, 6.28, 1.97, 7.9),
     (0.2, 0.75, 2.0, 9.42, 8.9, 23.7)],
)  # fmt: skip
def test_energy_and_mean_pull_of_a_spin(mass, length, hz, speed, energy, pull):
    """KE = m v^2/2, T = m v^2/L, v = 2 pi f L (textbook); level with the hand weight adds none."""
    v = 2 * pi * hz * length
    assert v == pytest.approx(speed, abs=0.005)
    assert kinetic_energy_j(mass, v) == pytest.approx(2 * mass * (pi * hz * length) ** 2, abs=1e-9)
    assert kinetic_energy_j(mass, v) == pytest.approx(energy, abs=0.05 if energy > 2 else 0.005)
    if pull is not None:
        assert circle_pull_n(mass, v, length, 0.25) == pytest.approx(mass * v**2 / length, abs=1e-6)
        assert circle_pull_n(mass, v, length, 0.25) == pytest.approx(pull, abs=0.05)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: small_swing_s(0.0), "length must be positive"),
        (lambda: small_swing_s(float("nan")), "length must be positive"),
        (lambda: length_for_small_swing_m(-1.0), "period must be positive"),
        (lambda: swing_s(0.5, 0.5), "smaller than half a turn"),
        (lambda: amplitude_for_slowing_turns(0.9), "never quicker"),
        (lambda: fly([], length_m=0.5, tether_turns=0, tether_rate=0), "needs a length and a hand"),
    ],
)
def test_what_makes_no_sense_is_refused_in_a_line(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_a_flight_is_asked_only_for_its_own_time():
    flight = fly(still(0.5), length_m=0.5, tether_turns=0.75, tether_rate=0.1)
    with pytest.raises(ValueError, match=r"from 0 to 0\.5 s"):
        flight.head_m([0.6])
