"""What moves ask of arm and prop: hand-computed speeds, and the slack of an even spin."""

from dataclasses import replace
from fractions import Fraction as F
from math import acos, hypot, pi

import numpy as np
import pytest

from composer.check.demands import HandDemand, demands
from composer.check.performed import performed
from composer.check.physics import beat_lengths_s, demands_in, is_possible
from composer.motion.body import Body, Prop
from composer.motion.hands import Hand
from composer.score.routine import Performer
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid
from composer.timing.tempo_map import Knot, TempoMap

G = 9.80665
"""3rd General Conference on Weights and Measures, 1901."""


def performer(arm_m: float = 0.6, prop: Prop | None = None) -> Performer:
    held = prop or Prop(length_m=0.5)
    return Performer("Wren", Body(arm_m=arm_m), held, held)


def asked(kit, move: str, bpm: float, who: Performer, rate: object = 1) -> HandDemand:
    placement = kit.placed(move, 0, 12, rate)
    done = performed(placement, who, kit.library)
    return demands_in(done, who, placement.span, placement.rate, kit.grid(bpm=bpm))[Hand.RIGHT]


def test_an_extension_runs_as_one_long_arm(kit):
    """v = 2 pi f R for the hand and 2 pi f (R + L) for the head; R is 0.65 of the arm here."""
    found = asked(kit, "extension", 120, performer(arm_m=0.6))
    assert found.hand_speed_m_s == pytest.approx(2 * pi * 2 * 0.39, rel=0, abs=1e-9)
    assert found.head_speed_m_s == pytest.approx(2 * pi * 2 * 0.89, rel=0, abs=1e-9)
    assert found.hand_acceleration_m_s2 == pytest.approx((4 * pi) ** 2 * 0.39, rel=0, abs=1e-9)
    assert found.hand_turns_s == pytest.approx(2.0, rel=0, abs=1e-12)
    assert found.head_turns_s == pytest.approx(2.0, rel=0, abs=1e-12)


def test_a_diamond_at_one_hand_turn_a_second(kit):
    """Greatest head speed w (R + |n| L): 2 pi 1.8 = 11.31 m/s at R = 0.3, L = 0.5, n = -3."""
    found = asked(kit, "diamond", 180, performer(arm_m=0.3 / 0.65))
    assert found.head_speed_m_s == pytest.approx(2 * pi * 1.8, rel=0, abs=1e-3)
    assert found.hand_turns_s == pytest.approx(1.0, rel=0, abs=1e-12)


@pytest.mark.parametrize(("turns_a_minute", "is_slack"), [(42, True), (43, False), (90, False)])
def test_an_even_spin_is_taut_above_its_slowest_rate(kit, turns_a_minute, is_slack):
    """w^2 L >= g at the top: at L = 0.5 m 0.704848 Hz, 42.3 turns a minute (textbook)."""
    found = asked(kit, "static spin", turns_a_minute, performer())
    assert (found.slack_share > 0) is is_slack


def test_the_share_of_slack_is_where_weight_outdoes_the_turning(kit):
    """Slack within acos(w^2 L / g) of the top on both sides: at half a turn a second 0.3322."""
    found = asked(kit, "static spin", 30, performer())
    share = acos(pi**2 * 0.5 / G) / pi
    assert found.slack_share == pytest.approx(share, rel=0, abs=2 / 360)


def test_a_rigid_prop_pushes(kit):
    """A staff cannot go slack."""
    staff = Prop(kind="staff", length_m=0.5)
    assert asked(kit, "static spin", 30, performer(prop=staff)).slack_share == 0


@pytest.mark.parametrize("rigid", [Hand.RIGHT, Hand.LEFT])
def test_each_hand_has_its_own_prop(kit, rigid):
    """A staff in one hand, a poi in the other, too slow for it."""
    staff, poi = Prop("staff", length_m=0.5), Prop("poi", length_m=0.5)
    props = (staff, poi) if rigid is Hand.RIGHT else (poi, staff)
    who = Performer("Wren", Body(arm_m=0.6), *props)
    done = performed(kit.placed("static spin", 0, 4), who, kit.library)
    found = demands(done, who.body, who.props, 2.0, 2.0)
    assert found[rigid].slack_share == 0
    assert found[rigid.other].slack_share > 0.3


def test_reach_is_measured_from_the_shoulder(kit):
    """A hand at the middle of the chest: half a shoulder breadth aside and 0.25 m forward."""
    who = replace(performer(), body=Body(arm_m=0.6, shoulder_breadth_m=0.4))
    found = asked(kit, "static spin", 100, who)
    assert found.reach == pytest.approx(hypot(0.2, 0.25) / 0.6, rel=0, abs=1e-9)


def test_a_hand_that_goes_out_of_its_plane_reaches_as_far_as_it_goes_in_the_room(kit):
    """A weave takes each hand across the body: looked at in the room, at 481 instants of it."""
    who = performer()
    done = performed(kit.placed("three-beat weave", 0, 6), who, kit.library)
    room_m, _ = done.performance.room_places_m(Hand.RIGHT, np.linspace(0, 1, 481))
    shoulder = [who.body.shoulder_breadth_m / 2, 0.0, who.body.shoulder_height_m]
    furthest = np.linalg.norm(room_m - shoulder, axis=1).max()
    assert np.ptp(room_m[:, 0]) > 0.2
    assert asked(kit, "three-beat weave", 100, who).reach == pytest.approx(
        furthest / 0.6, rel=0, abs=1e-4
    )


def test_a_quicker_rate_is_a_quicker_tempo(kit):
    """Two downbeats a beat at 60 are one at 120."""
    assert asked(kit, "diamond", 60, performer(), 2) == asked(kit, "diamond", 120, performer())


def test_speeds_are_those_of_the_fastest_beat_and_slack_of_the_slowest():
    """Knots: beats of 0.5 s to beat 4, of 1 s after it."""
    knots = (Knot(F(0), 0.0), Knot(F(4), 2.0), Knot(F(8), 6.0))
    grid = MusicGrid(TempoMap(knots), F(8))
    assert beat_lengths_s(BeatSpan(F(2), F(4)), grid) == pytest.approx((0.5, 1.0), rel=0, abs=1e-12)
    assert beat_lengths_s(BeatSpan(F(5), F(2)), grid) == pytest.approx((1.0, 1.0), rel=0, abs=1e-12)


def test_a_fast_and_a_slow_tempo_are_asked_at_once(kit):
    """Speed from the shorter cycle, slack from the longer: 2 turns/s and 0.5 turns/s."""
    who = performer()
    done = performed(kit.placed("static spin", 0, 4), who, kit.library)
    found = demands(done, who.body, who.props, 0.5, 2.0)[Hand.LEFT]
    assert found.head_turns_s == pytest.approx(2.0, rel=0, abs=1e-12)
    assert found.slack_share > 0.3


def test_what_is_possible_keeps_clear_of_every_warning(kit):
    """Slack for a third of the turn at 30 a minute; 5.3 turns a second at 320; between, neither."""
    who = performer()

    def possible(bpm: float) -> bool:
        placement = kit.placed("static spin", 0, 4)
        done = performed(placement, who, kit.library)
        return is_possible(done, who, placement.span, F(1), kit.grid(bpm=bpm))

    assert [possible(bpm) for bpm in (30, 100, 320)] == [False, True, False]
