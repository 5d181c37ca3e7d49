"""Measures of shipped moves at a tempo, against handbook formulas worked by hand."""

from fractions import Fraction

import numpy as np
import pytest
from scipy.special import ellipe

from composer.motion.body import Body, Prop
from composer.motion.trochoid import Outline
from composer.moves.library import shipped_library
from composer.moves.measure_words import count_words, direction_words, measure_rows
from composer.moves.measured import measured
from composer.moves.perform import Style, perform

BODY, PROPS = Body(), (Prop(), Prop())
R, L, G = 0.65 * BODY.arm_m, 0.55, 9.80665
"""Hand radius of the shipped flowers, default tether, standard gravity (3rd CGPM, 1901)."""


def figures(name, *, hand="right", bpm=120.0, rate=1, props=PROPS):
    move = shipped_library().get(name)
    performance = perform(move, Style(hand=hand), BODY, props)
    return measured(move, performance, BODY, props, bpm=bpm, rate=Fraction(rate))


def rows(name, **options):
    return {row.label: row.text for row in measure_rows(figures(name, **options), BODY)}


def test_a_triquetra_by_the_formulas_of_the_hypotrochoid():
    """n = -2. MathWorld, Hypotrochoid; length by DLMF chapter 19, area by Green's theorem.

    Two downbeats at 120 beats a minute: one hand turn a second, w = 2 pi.
    """
    hand = figures("triquetra").hands[0]
    omega, lead = 2 * np.pi, 2 * L
    assert hand.shape.petals == hand.symmetry_order == 3
    assert set(hand.shape.tip_turns) == {Fraction(1, 4), Fraction(7, 12), Fraction(11, 12)}
    assert hand.shape.outline is Outline.LOOP
    length = 4 * (R + lead) * ellipe(4 * R * lead / (R + lead) ** 2)
    assert hand.path_length_m == pytest.approx(length, rel=0, abs=1e-9)
    assert hand.area_m2 == pytest.approx(np.pi * (R**2 - 2 * L**2), rel=0, abs=1e-9)
    assert hand.head_speed_m_s.value == pytest.approx(omega * (R + lead), rel=0, abs=1e-6)
    assert hand.hand_speed_m_s.value == pytest.approx(omega * R, rel=0, abs=1e-6)
    assert hand.hand_speed_m_s.count is None
    assert hand.hand_acceleration_m_s2.value == pytest.approx(omega**2 * R, rel=0, abs=1e-6)
    speed = omega * (R + lead)
    assert hand.energy_j == pytest.approx(0.10 * speed**2 / 2, rel=0, abs=1e-6)


def test_a_static_spin_pulls_least_at_the_top_and_most_at_the_bottom():
    """T = m (w^2 L +- g): a circle evenly turned. Slowest even: sqrt(g/L)/(2 pi) a second."""
    hand = figures("static spin", bpm=90.0).hands[0]
    omega = 2 * np.pi * 1.5
    assert hand.least_pull_n.value == pytest.approx(0.1 * (omega**2 * L - G), rel=0, abs=1e-6)
    assert hand.greatest_pull_n.value == pytest.approx(0.1 * (omega**2 * L + G), rel=0, abs=1e-6)
    assert hand.least_pull_n.count == pytest.approx(1.5, rel=0, abs=1e-4)
    assert hand.greatest_pull_n.count == pytest.approx(1.0, rel=0, abs=1e-4)
    slowest_hz = np.sqrt(G / L) / (2 * np.pi)
    assert hand.slowest_even_hz == pytest.approx(slowest_hz, rel=0, abs=1e-9)
    assert hand.taut_bpm[0] == pytest.approx(60 * slowest_hz, rel=0, abs=1e-3)
    assert hand.slowest_free_hz == pytest.approx(
        1 / (4.037811640 * np.sqrt(L / G)), rel=0, abs=1e-6
    )
    assert hand.small_swing_s == pytest.approx(2 * np.pi * np.sqrt(L / G), rel=0, abs=1e-9)


def test_a_still_hand_must_move_by_g_over_w_squared():
    """11 cm at 1.5 turns a second: the hand that really drives an even spin (derivation)."""
    hand = figures("static spin", bpm=90.0).hands[0]
    assert hand.correction_m == pytest.approx(G / (2 * np.pi * 1.5) ** 2, rel=0, abs=0.015)


def test_how_far_an_even_drawing_is_from_a_simulation_is_told():
    """(R w^2 + g)/(n^2 w^2 L), derived: with R = 0.3, L = 0.5 and |n| = 3 at one hand turn a second
    0.122; a staff takes force across itself, and a composite is not turned by one rule."""
    body, props = Body(arm_m=0.3 / 0.65), (Prop(length_m=0.5), Prop(length_m=0.5))
    for name in ("diamond", "two-petal in-spin"):
        move = shipped_library().get(name)
        performance = perform(move, Style(hand="right"), body, props)
        told = measured(move, performance, body, props, bpm=180.0)
        assert told.hands[0].sideways_share == pytest.approx(0.122, rel=0, abs=5e-4)
        words = {row.label: row.text for row in measure_rows(told, body)}
        assert "no simulation: up to 12 % of the spin's pull" in words["drawing"]
    omega = 2 * np.pi * 1.5
    spin = figures("static spin", bpm=90.0).hands[0]
    assert spin.sideways_share == pytest.approx(G / (omega**2 * L), rel=0, abs=1e-9)
    staff = Prop(kind="staff")
    assert "drawing" not in rows("diamond", props=(staff, staff))
    assert "drawing" not in rows("three-petal composite")


def test_below_the_slowest_rate_a_tether_is_slack_and_a_staff_is_not():
    poi = figures("static spin", bpm=30.0).hands[0]
    assert len(poi.slack) == 1
    low, high = poi.slack[0]
    assert low < 1.5 < high  # about the top, half a beat after the downbeat
    staff = Prop(kind="staff")
    assert figures("static spin", bpm=30.0, props=(staff, staff)).hands[0].slack == ()


def test_cycle_and_counts_follow_tempo_and_rate():
    """Three downbeats at rate 3/2 last two beats: 1.2 s at 100 beats a minute (arithmetic)."""
    found = figures("diamond", bpm=100.0, rate=Fraction(3, 2))
    assert found.cycle_beats == 2
    assert found.cycle_s == pytest.approx(1.2, rel=0, abs=1e-12)
    assert found.hands[0].downbeats == (1, Fraction(5, 3), Fraction(7, 3))


def test_extension_and_triquetra_meet_evenly_and_are_furthest_between():
    """Heads |R + L - (R e^..)| meet where the relative angle closes: every third of two beats."""
    pair = figures("extension with triquetra", hand="both").pair
    assert [b - a for a, b in zip(pair.meetings, pair.meetings[1:], strict=False)] == [
        Fraction(2, 3)
    ] * 2
    assert pair.heads_apart.furthest_m == pytest.approx(2 * L, rel=0, abs=1e-6)
    assert [f - m for f, m in zip(pair.furthest, (p - Fraction(1, 3) for p in pair.meetings),
                                  strict=True)] == [0, 0, 0]  # fmt: skip
    assert {str(risk.kind) for risk, _ in pair.risks} == {"hit", "tangle"}


def test_the_rows_say_it_in_words_and_units():
    found = rows("pentagram")
    assert found["figure"].startswith("5 petals: ")
    assert "star {5/2}" in found["figure"]
    assert found["closes after"] == "3 beats, 1.50 s"
    assert "m/s" in found["head speed"]
    pendulum = rows("pendulum", bpm=120.0)
    assert "the hand must drive it" in pendulum["swing"]
    assert "free at" in rows("pendulum", bpm=75.0)["swing"]
    assert "beyond it" not in found["reach"]


def test_a_pendulum_is_free_near_its_own_period_only():
    """2 pi sqrt(L/g) = 1.488 s small, 1.1803 times that level to level (DLMF 22.19)."""
    for bpm, free in ((60.0, False), (70.0, True), (79.0, True), (85.0, False)):
        swing = figures("pendulum", bpm=bpm).hands[0].swing
        assert swing.wanted_s == pytest.approx(2 * 60 / bpm, rel=0, abs=1e-12)
        assert swing.is_free is free


@pytest.mark.parametrize("move", shipped_library().moves.values(), ids=lambda move: move.name)
def test_every_move_can_be_told_at_any_tempo(move):
    hand = "both"
    performance = perform(move, Style(hand=hand), BODY, PROPS)
    told = measure_rows(measured(move, performance, BODY, PROPS, bpm=97.0), BODY)
    assert all(row.text and "nan" not in row.text and "-0.0" not in row.text for row in told)


@pytest.mark.parametrize(
    ("count", "words"),
    [(Fraction(5, 2), "2 1/2"), (3, "3"), (1 + 1 / 3, "1 1/3"), (1.2345, "1.23")],
)
def test_counts_are_plain_fractions_where_they_are(count, words):
    assert count_words(count) == words


@pytest.mark.parametrize(
    ("turns", "words"),
    [(Fraction(3, 4), "down"), (Fraction(1, 8), "upper right"), (Fraction(7, 12), "210 degrees")],
)
def test_directions_in_words(turns, words):
    assert direction_words(turns) == words


def test_a_tempo_must_be_positive():
    with pytest.raises(ValueError, match="tempo"):
        figures("triquetra", bpm=0.0)
    with pytest.raises(ValueError, match="tempo"):
        figures("triquetra", bpm=float("nan"))
