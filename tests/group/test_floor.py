"""Spacing, walks and canons of a group, against geometry and published figures."""

from dataclasses import replace
from fractions import Fraction
from math import hypot

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.arrange.formations import FORMATIONS, formed, least_distance_m, shared_out
from composer.check.checks import check_routine
from composer.check.group_canon import canon_phases
from composer.check.spacing import closest_approach, spacing_m
from composer.motion.body import Body, Prop
from composer.moves.library import shipped_library
from composer.score.floor import Place
from composer.score.routine import Part, Performer, Placement, Routine, Spot, Stage, TrackRef
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid
from composer.timing.tempo_map import steady_tempo_map

LIBRARY = shipped_library()
METRES = st.floats(-10, 10, allow_nan=False)
PLACES = st.builds(Place, METRES, METRES)


def performer(name: str, arm_m: float = 0.65, tether_m: float = 0.5) -> Performer:
    prop = Prop(length_m=tether_m)
    return Performer(name, Body(arm_m=arm_m), prop, prop)


def group(*spots: Spot, fire: bool = False, bpm: float = 120) -> Routine:
    names = list(dict.fromkeys(spot.performer for spot in spots))
    spin = Placement(BeatSpan(Fraction(0), Fraction(32)), "static spin")
    return Routine(
        "Group",
        TrackRef("x.ogg"),
        MusicGrid(steady_tempo_map(bpm), Fraction(32)),
        tuple(replace(performer(name), fire=fire) for name in names),
        tuple(Part(name, (spin,)) for name in names),
        stage=Stage(20, 12),
        spots=spots,
    )


def at(name: str, beat: int, x_m: float, y_m: float = 6, travel: int = 4) -> Spot:
    return Spot(name, Fraction(beat), x_m, y_m, travel_beats=Fraction(travel))


def rules(routine: Routine) -> set[str]:
    return {finding.rule for finding in check_routine(routine, LIBRARY)}


def test_spacing_is_twice_arm_and_tether_and_a_margin() -> None:
    """Geometry: 95th percentile man's arm 0.740 m (ANSUR II), tether 0.50, margin 0.3: 2.78 m,
    and the heads' own radius on top, which the plain sum leaves out."""
    tall = performer("A", arm_m=0.740)
    assert spacing_m(tall, tall, 0.3) - 2 * tall.right_prop.head_radius_m == pytest.approx(
        2.78, abs=0.01
    )
    median = performer("B", arm_m=0.627)
    assert spacing_m(median, median, 0.3) - 2 * 0.04 == pytest.approx(2.55, abs=0.01)


@given(PLACES, PLACES)
def test_the_nearest_point_of_a_walk_is_no_further_than_any_sampled_one(
    start: Place, end: Place
) -> None:
    share, distance_m = closest_approach(start, end)
    sampled = min(hypot(*start.towards(end, s)) for s in np.linspace(0, 1, 101))
    assert distance_m <= sampled + 1e-9
    assert hypot(*start.towards(end, share)) == pytest.approx(distance_m, abs=1e-9)


def test_circles_that_meet_at_the_spots_are_found() -> None:
    assert "circles meet" in rules(group(at("A", 0, -1), at("B", 0, 1)))
    assert "circles meet" not in rules(group(at("A", 0, -2), at("B", 0, 2)))


def test_circles_that_meet_only_on_the_way_are_found() -> None:
    """They change sides along one line: apart at both ends, through each other in the middle."""
    crossing = group(
        at("A", 0, -4), at("B", 0, 4), at("A", 16, 4, travel=16), at("B", 16, -4, travel=16)
    )
    assert "circles meet" in rules(crossing)


@pytest.mark.parametrize(("metres", "found"), [(2.4, False), (4.0, True)])
def test_walking_faster_than_1_5_m_s_while_spinning_is_warned_of(
    metres: float, found: bool
) -> None:
    """Comfortable gait 1.2 to 1.5 m/s: Bohannon, Age Ageing 26 (1997) 15, from memory.

    Four beats at 120 last 2 s: 2.4 m are 1.2 m/s, 4 m are 2 m/s.
    """
    walk = group(at("A", 0, 0), at("A", 8, metres))
    assert ("walks too fast" in rules(walk)) is found


def test_fire_wants_the_distance_to_the_audience_typed() -> None:
    """No default: what it must be is for the authority that has jurisdiction (NFPA 160, scope)."""
    lit = group(at("A", 0, 0), fire=True)
    assert "audience distance missing" in rules(lit)
    typed = replace(lit, stage=replace(lit.stage, audience_distance_m=6.0))
    assert "audience distance missing" not in rules(typed)


def test_four_voices_over_sixteen_beats_stand_a_quarter_apart() -> None:
    """Definition of a canon; the phases are the fourth roots of unity, which add up to 0."""
    phases = canon_phases(tuple(Fraction(k) for k in (0, 4, 8, 12)), Fraction(16))
    assert sorted(phases) == [0, Fraction(1, 4), Fraction(1, 2), Fraction(3, 4)]
    assert abs(sum(np.exp(2j * np.pi * float(p)) for p in phases)) < 1e-12


@given(st.sampled_from(sorted(FORMATIONS)), st.integers(1, 12), st.floats(0.5, 5))
def test_in_every_formation_nobody_stands_nearer_than_asked(
    name: str, count: int, apart_m: float
) -> None:
    places = FORMATIONS[name](count, apart_m)
    assert len(places) == count
    if count > 1:
        assert least_distance_m(places) >= apart_m - 1e-9


@pytest.mark.parametrize("order", [1, -1])
def test_even_ways_are_taken_before_a_long_one_past_somebody_who_stays(order: int) -> None:
    """From (0, 0) and (1, 0) to (1, 0) and (2, 1/2): the one long way past the other is 2.06 m in
    all, both a step aside 2.12 m; but of the squares 1 + 1.25 is less than 4.25 + 0, and only then
    do ways never cross at one instant (Turpin, Michael, Kumar 2014)."""
    goals = (Place(1.0, 0.0), Place(2.0, 0.5))
    shared = shared_out([Place(0.0, 0.0), Place(1.0, 0.0)], goals[::order])
    assert shared == goals


def test_a_formation_is_shared_out_from_where_everybody_is_as_the_walk_begins() -> None:
    """They change sides on beat 32 as written; a line formed then, eight beats to walk it, starts
    from where they stand on beat 24: A to stage left, B to stage right."""
    spots = at("A", 0, -5), at("B", 0, 5), at("A", 32, 5), at("B", 32, -5)
    placed = formed(group(*spots), "line", Fraction(32), travel_beats=Fraction(8))
    there = {spot.performer: spot.x_m for spot in placed.spots if spot.beat == 32}
    assert there["A"] < 0 < there["B"]


@pytest.mark.parametrize("name", sorted(FORMATIONS))
def test_a_formation_on_the_stage_keeps_all_circles_apart(name: str) -> None:
    start = group(*(at(one, 0, 4.0 * i - 6) for i, one in enumerate("ABCD")))
    placed = formed(start, name, Fraction(0))
    standing = [s for s in placed.spots if s.beat == 0]
    assert len(standing) == 4
    assert "circles meet" not in rules(replace(placed, spots=tuple(standing)))
