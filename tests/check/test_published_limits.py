"""Limits that rest on published figures bite where the figures say, on both sides of each."""

from math import pi

import pytest

from composer.check.checks import check_routine
from composer.check.findings import Level
from composer.motion.body import SURVEY_BODIES, Body, Prop
from composer.score.floor import reach_m
from composer.score.routine import Performer

SHORT_ARM = Body(arm_m=0.3)
"""Its hand goes round at 0.195 m, far below any limit of speed."""


def level(kit, rule: str, move: str, bpm: float, body: Body, rate: object = 1) -> Level | None:
    """How grave a rule is found to be for twelve beats of one move."""
    routine = kit.routine(
        kit.placed(move, 0, 12, rate), on=kit.grid(bpm=bpm), performer=Performer("Wren", body)
    )
    found = [one.level for one in check_routine(routine, kit.library) if one.rule == rule]
    return max(found, default=None)


@pytest.mark.parametrize(("bpm", "graver"), [(119.9, False), (120.1, True)])
def test_a_hand_that_turns_more_than_twice_a_second_is_warned_of(kit, bpm, graver):
    """2 turns/s is near the limit of performance on a crank: Hermus et al., J. Neurophysiol. 2020,
    PMC7444923. An extension turns the hand once a beat."""
    told = level(kit, "hand turns too often", "extension", bpm, SHORT_ARM)
    assert told == (Level.WARNING if graver else Level.NOTE)


@pytest.mark.parametrize(("bpm", "told"), [(299.0, Level.WARNING), (301.0, Level.ERROR)])
def test_a_head_that_turns_more_than_five_times_a_second_is_refused(kit, bpm, told):
    """The non-preferred hand's repetitions fall apart above 5 Hz: PubMed 19429090 (2009)."""
    assert level(kit, "head turns too often", "static spin", bpm, SHORT_ARM) is told


@pytest.mark.parametrize("bpm", [100, 125, 145, 170])
def test_what_rope_turners_do_is_ordinary(kit, bpm):
    """125 to 145 turns a minute steadily, trained 100 to 180: Bioengineering 12 (2025) 162."""
    assert level(kit, "head turns too often", "static spin", bpm, Body()) is None


@pytest.mark.parametrize(("speed_m_s", "told"), [(6.99, Level.WARNING), (7.01, Level.ERROR)])
def test_a_hand_faster_than_punches_in_combination_is_refused(kit, speed_m_s, told):
    """7.5 to 8 m/s in combinations: Piorkowski, Lees, Barton, Sports Biomech. 2011; so 7 rejects.

    An extension's hand runs round 0.65 of the arm: v = 2 pi f R.
    """
    body = Body(stature_m=1.9, arm_m=0.74)
    bpm = 60 * speed_m_s / (2 * pi * 0.65 * 0.74)
    assert level(kit, "hand is too fast", "extension", bpm, body) is told


@pytest.mark.parametrize("bpm", [50, 60, 70, 80])
def test_cadences_studied_on_arm_cranks_are_nothing_to_speak_of(kit, bpm):
    """50 to 80 turns a minute: Israel et al., ERIC ED296960; J. Sports Sci. 29 (2011) 263."""
    for rule in ("hand turns too often", "hand is too fast"):
        assert level(kit, rule, "extension", bpm, Body()) is None


def test_the_reach_of_a_large_man_with_half_a_metre_of_tether():
    """0.740 m of arm (95th percentile, ANSUR II) and 0.50 m of tether: 1.24 m; the head's radius
    of 4 cm comes on top."""
    prop = Prop(length_m=0.5, head_radius_m=0.04)
    man = Performer("Rook", SURVEY_BODIES["large man"], prop, prop)
    assert reach_m(man) - 0.04 == pytest.approx(1.24, abs=0.01)
    longer = Performer("Rook", SURVEY_BODIES["large man"], prop, Prop("staff", length_m=0.7))
    assert reach_m(longer) == pytest.approx(0.740 + 0.7 + longer.left_prop.head_radius_m, abs=1e-9)
