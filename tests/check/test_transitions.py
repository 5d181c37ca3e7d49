"""Transitions between placed moves: states, the time allowed, limits, and the way between."""

from fractions import Fraction as F
from math import inf, pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.check.findings import Level
from composer.check.limits import LIMITS, limit_faults, limits_for
from composer.check.transition_words import RULES, transition_findings
from composer.check.transitions import time_allowed, transition
from composer.errors import UnknownName
from composer.motion.body import Body, Comfort
from composer.motion.hands import Hand
from composer.motion.plane import Plane
from composer.score.routine import Performer
from composer.timing.grid import MusicGrid
from composer.timing.tempo_map import Knot, TempoMap

WHOLE = 12
"""Beats in which moves of 1, 2, 3, 4 and 6 downbeats all close at rate 1."""
EASY = settings(max_examples=60, deadline=None)


def between(kit, first, second, *, grid=None, performer=None, **options):
    return transition(
        kit.done(first, 0),
        kit.done(second, 1),
        kit.library,
        performer or kit.wren,
        grid or kit.grid(),
        **options,
    )


def in_a_row(kit, one: str, two: str, *, bpm=100.0, first=None, second=None):
    return between(
        kit,
        kit.placed(one, 0, WHOLE, **(first or {})),
        kit.placed(two, WHOLE, WHOLE, **(second or {})),
        grid=kit.grid(bpm=bpm),
    )


def figures(found) -> dict[str, float]:
    return {one.limit.name: one.measured for one in found.judged if one.hand in (Hand.RIGHT, None)}


# ------------------------------------------------------------------ states


def test_a_closed_move_goes_on_as_itself(kit):
    """A closure ends in its first state: no gap of hand or tether for any shipped move."""
    for name in kit.library.names():
        cycle = in_a_row(kit, name, name)._done[0].performance.cycle_length_beats
        again = between(kit, kit.placed(name, 0, cycle), kit.placed(name, cycle, cycle))
        for hand, change in again.hands.items():
            assert change.gap_m < 1e-9, (name, hand)
            assert change.tether_gap_turns < 1e-9, (name, hand)
            assert not change.plane_turns
        assert again.body_turns == 0


@pytest.mark.parametrize("name", ["extension", "diamond", "split extensions", "three-beat weave"])
def test_a_smooth_move_goes_on_as_itself_with_its_velocity(kit, name):
    """No joint at the closure: the velocities agree too, out of the plane as well."""
    again = in_a_row(kit, name, name)
    assert again.kind == "smooth"
    for change in again.hands.values():
        assert change.velocity_jump_m_s < 1e-2
        assert change.rate_jump < 1e-9


def test_a_static_spin_reversed_turns_round_at_its_whole_speed(kit):
    """2 pi L f about a still hand, both directions: 2 pi 0.55 * 100/60 = 5.76 m/s."""
    found = in_a_row(kit, "static spin", "static spin", second={"mirrored": True})
    assert found.kind == "abrupt"
    assert found.level is Level.ERROR
    assert figures(found)["head turn-round"] == pytest.approx(2 * pi * 0.55 * 100 / 60, abs=1e-9)
    rules = {finding.rule for finding in transition_findings(found)}
    assert rules == {"spin reverses without a stall"}


def test_equal_downbeats_keep_the_heads_while_a_hand_turns_back(kit):
    """A one-petal in-spin and the mirrored triquetra that stands on its tip share downbeats and
    the direction of the head: only the hand turns back, by twice its own speed."""
    found = in_a_row(
        kit, "one-petal in-spin", "triquetra pointing down", bpm=80, second={"mirrored": True}
    )
    change = found.hands[Hand.RIGHT]
    radius = 0.65 * kit.wren.body.arm_m
    hand_m_s = 2 * pi * radius * (80 / 60) / 2
    assert change.gap_m == pytest.approx(0, abs=1e-9)
    assert change.tether_gap_turns == pytest.approx(0, abs=1e-9)
    assert not change.opposed
    assert change.velocity_jump_m_s == pytest.approx(2 * hand_m_s, abs=1e-9)
    assert change.hand_heading_turns == pytest.approx(0.5, abs=1e-9)
    assert change.head_heading_turns == pytest.approx(0, abs=1e-9)
    assert found.kind == "smooth"


def test_a_weave_meets_a_buzzsaw_without_a_turned_head(kit):
    """Same plane, same direction, same split timing; common practice."""
    found = in_a_row(kit, "three-beat weave", "buzzsaw")
    assert all(not change.opposed for change in found.hands.values())
    assert all(change.tether_gap_turns < 1e-9 for change in found.hands.values())


def test_a_quarter_turn_of_the_body_keeps_the_props_plane(kit):
    """Clockwise by a quarter the wheel plane stands where the wall plane stood (derivation)."""
    wall = kit.placed("extension", 0, WHOLE, centre=0j)
    wheel = kit.placed("extension", WHOLE, WHOLE, facing=F(-1, 4), plane=Plane.WHEEL, centre=0j)
    found = between(kit, wall, wheel)
    assert found.body_turns == 0.25
    for change in found.hands.values():
        assert change.plane_turns == 0
        assert change.tether_gap_turns < 1e-9
        assert change.velocity_jump_m_s < 1e-9
    assert not any(finding.rule == "plane changes" for finding in transition_findings(found))


def test_only_hands_of_both_moves_are_compared(kit):
    right = kit.placed("extension", 0, WHOLE, hand="right")
    both = kit.placed("extension", WHOLE, WHOLE)
    assert set(between(kit, right, both).hands) == {Hand.RIGHT}
    assert set(between(kit, both.__class__(right.span, "extension"), both).hands) == set(Hand)
    narrowed = between(kit, kit.placed("extension", 0, WHOLE), both, hands=(Hand.LEFT,))
    assert set(narrowed.hands) == {Hand.LEFT}


NAMES = ["static spin", "extension", "isolation", "triquetra", "diamond", "box", "pendulum",
         "one-petal in-spin", "two-petal in-spin", "three-petal composite", "figure eight",
         "split extensions", "mirrored triquetras", "pentagram"]  # fmt: skip


@EASY
@given(
    one=st.sampled_from(NAMES),
    two=st.sampled_from(NAMES),
    length=st.integers(1, 12),
    mirrored=st.booleans(),
)
def test_a_mirrored_pair_is_judged_as_the_pair(kit, one, two, length, mirrored):
    """The mirror image of both moves changes no distance, speed or angle."""
    costs = []
    for flipped in (False, True):
        found = between(
            kit,
            kit.placed(one, 0, length, mirrored=flipped),
            kit.placed(two, length, 4, mirrored=flipped != mirrored),
        )
        costs.append((found.kind, found.cost))
    assert costs[0][0] == costs[1][0]
    assert costs[0][1] == pytest.approx(costs[1][1], rel=1e-6, abs=1e-9)


@EASY
@given(one=st.sampled_from(NAMES), two=st.sampled_from(NAMES), rest=st.integers(1, 4))
def test_more_time_is_never_harder(kit, one, two, rest):
    """Every speed and acceleration of the hand falls when the same change has longer."""
    touching = between(kit, kit.placed(one, 0, 12), kit.placed(two, 12, 12))
    rested = between(kit, kit.placed(one, 0, 12), kit.placed(two, 12 + rest, 12))
    assert set(touching.hands) == set(Hand)
    for hand in touching.hands:
        assert rested.hands[hand].way_m_s <= touching.hands[hand].way_m_s + 1e-9
        assert rested.hands[hand].turn_back_m_s2 <= touching.hands[hand].turn_back_m_s2 + 1e-9


# ------------------------------------------------------------------ the time allowed


@pytest.mark.parametrize(
    ("first", "second", "start", "beats", "rest"),
    [(12, 12, 12, 1, 0), (F(1, 2), 12, F(1, 2), F(3, 4), 0), (F(1, 2), 1, F(1, 2), F(3, 4), 0),
     (12, 12, 14, 2, 2)],
)  # fmt: skip
def test_half_a_beat_on_each_side_or_the_whole_rest(kit, first, second, start, beats, rest):
    """Never more than half of either move; at 100 beats a minute a beat lasts 0.6 s."""
    allowed = time_allowed(
        kit.placed("extension", 0, first), kit.placed("extension", start, second), kit.grid()
    )
    assert allowed.beats == float(beats)
    assert allowed.seconds == pytest.approx(float(beats) * 0.6, abs=1e-12)
    assert (allowed.rest_beats, allowed.rest_s) == (rest, pytest.approx(rest * 0.6, abs=1e-12))


def test_overlapping_moves_have_no_boundary(kit):
    with pytest.raises(ValueError, match="overlap by 2 beats"):
        between(kit, kit.placed("extension", 0, 8), kit.placed("extension", 6, 8))


def test_each_side_is_taken_at_its_own_tempo(kit):
    """A knot on the boundary: 120 before it, 60 after; at one rate the head slows to half."""
    knots = (Knot(F(0), 0.0), Knot(F(12), 6.0), Knot(F(24), 18.0))
    grid = MusicGrid(TempoMap(knots), F(24))
    found = between(
        kit, kit.placed("static spin", 0, 12), kit.placed("static spin", 12, 12), grid=grid
    )
    change = found.hands[Hand.RIGHT]
    assert change.spin_before_turns_s == pytest.approx(2.0, abs=1e-12)
    assert change.spin_after_turns_s == pytest.approx(1.0, abs=1e-12)
    assert change.rate_jump == pytest.approx(1.0, abs=1e-12)
    assert found.time.seconds == pytest.approx(0.25 + 0.5, abs=1e-12)


def test_over_a_rest_the_head_turns_on(kit):
    """Two beats of rest at one turn a beat: down again, nothing to catch up; 2 1/2 beats: half a
    turn within them, a fifth of a turn a beat."""
    whole = between(kit, kit.placed("static spin", 0, 4), kit.placed("static spin", 6, 4))
    assert figures(whole).get("tether catch-up", 0.0) == pytest.approx(0, abs=1e-9)
    half = between(kit, kit.placed("static spin", 0, 4), kit.placed("static spin", F(13, 2), 4))
    assert figures(half)["tether catch-up"] == pytest.approx(0.5 / 2.5, abs=1e-9)


# ------------------------------------------------------------------ the way between


@EASY
@given(one=st.sampled_from(NAMES), two=st.sampled_from(NAMES), length=st.integers(2, 9))
def test_the_blend_leaves_one_move_and_enters_the_other(kit, one, two, length):
    """Its ends are the moves' own places half a beat before and after the boundary."""
    first, second = kit.placed(one, 0, length), kit.placed(two, length, 4)
    found = between(kit, first, second)
    assert set(found.blends) == set(Hand)
    for hand, way in found.blends.items():
        ends = way.room_motion_at([0.0, found.time.seconds]).hand_m
        for end, done, placement, beats in (
            (ends[0], found._done[0], first, length - F(1, 2)),
            (ends[1], found._done[1], second, F(1, 2)),
        ):
            passed = float(beats / done.performance.cycle_beats(placement.rate))
            flat = done.performance.placed_plane(hand).place(_hand_m(done, hand, passed))[0]
            np.testing.assert_allclose(end, flat, rtol=0, atol=1e-9)
        assert way.peak_hand_speed.value >= np.linalg.norm(ends[1] - ends[0]) / found.time.seconds


def _hand_m(done, hand: Hand, passed: float):
    from composer.motion.kinematics import motion_at

    track = done.performance.tracks[hand]
    return motion_at(track.pattern, [float(track.offset) + track.cycles * passed]).hand_m


def test_hands_that_change_places_meet(kit):
    """Straight and alike they are in the middle together: distance 0 (derivation)."""
    found = in_a_row(
        kit, "static spins at both sides", "static spins at both sides", second={"swapped": True}
    )
    apart = next(one for one in found.judged if one.limit.name == "hands apart")
    assert apart.measured == pytest.approx(0, abs=1e-9)
    assert "hands meet on the way" in {one.rule for one in transition_findings(found)}
    assert "arms come to cross" in {one.rule for one in transition_findings(found)}


# ------------------------------------------------------------------ limits and words


def test_limits_rise_from_note_to_error():
    for name, limit in LIMITS.items():
        levels = [limit.note, limit.warning, limit.error]
        assert levels == sorted(levels, reverse=limit.falling), name
        assert limit.note > 0
        assert limit.source
        assert limit.level(limit.note) is not None
        assert limit.level(0.0 if not limit.falling else inf) is None


@pytest.mark.parametrize("name", sorted(LIMITS))
def test_strain_ranks_by_level_whatever_the_unit(name):
    """1, 2 and 3 where note, warning and error begin, and never falling in between."""
    limit = LIMITS[name]
    for strain, start in enumerate((limit.note, limit.warning, limit.error), 1):
        if np.isfinite(start):
            assert limit.strain(start) == pytest.approx(strain, abs=1e-12)
    worst = 0.01 * limit.note if limit.falling else 40 * limit.note
    best = 3 * limit.note if limit.falling else 0.0
    strains = [limit.strain(measured) for measured in np.linspace(best, worst, 400)]
    assert strains == sorted(strains)


def test_a_performers_own_limit_moves_the_warning_and_keeps_the_ratios():
    """Hand way notes at 0.9, warns at 3.0; warning at 1.5 then notes at 0.45."""
    wren = Performer("Wren", limits=(("hand way", 1.5), ("arms", 2.0), ("reach", -1.0)))
    own = limits_for(wren)["hand way"]
    assert (own.note, own.warning) == pytest.approx((0.45, 1.5), abs=1e-12)
    assert limits_for(wren)["reach"] == LIMITS["reach"]
    faults = dict(limit_faults(wren))
    assert set(faults) == {"arms", "reach"}
    assert '"arms cross"' in faults["arms"]


def test_her_comfort_sets_where_a_hand_is_too_fast():
    careful = Performer("Wren", Body(comfort=Comfort(hand_speed_m_s=3.0, hand_speed_limit_m_s=4.0)))
    table = limits_for(careful)
    assert (table["hand speed"].warning, table["hand speed"].error) == (3.0, 4.0)
    assert table["hand way"].error == 3.0
    slow = Performer("Wren", Body(comfort=Comfort(hand_events_hz=4.5, hand_turns_per_s=1.5)))
    assert limits_for(slow)["head turns"].error == 4.5
    assert limits_for(slow)["hand turns"].warning == 1.5


def test_a_stricter_limit_makes_the_same_transition_abrupt(kit):
    first, second = kit.placed("static spin", 0, 12), kit.placed("extension", 12, 12)
    strict = Performer("Wren", limits=(("hand way", 1.0),))
    assert between(kit, first, second).kind == "noticeable"
    assert between(kit, first, second, performer=strict).kind == "abrupt"


def test_findings_name_hand_figure_limit_and_both_moves(kit):
    """Both static: the hand's reach of 0.65 arm peaks at 15/8 of its mean (Flash & Hogan 1985)."""
    found = in_a_row(kit, "static spin", "extension")
    way = next(one for one in transition_findings(found) if one.rule == "hand has far to go")
    gap_m = 0.65 * kit.wren.body.arm_m
    assert way.moves == ("static spin", "extension")
    assert way.hand is None
    assert "each hand" in way.message
    assert f"{gap_m:.2f} m" in way.message
    assert way.measured == pytest.approx(15 / 8 * gap_m / 0.6, abs=1e-9)
    assert (way.limit, way.unit, way.level) == (0.9, "m/s", Level.NOTE)
    assert way.beat == 12


def test_every_limit_between_moves_has_its_words():
    assert set(RULES) <= set(LIMITS)
    assert all(why.endswith(".") for _, why in RULES.values())


def test_an_unknown_move_is_told_with_its_nearest_names(kit):
    with pytest.raises(UnknownName, match="extension"):
        between(kit, kit.placed("extenson", 0, 4), kit.placed("extension", 4, 4))
