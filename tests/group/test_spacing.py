"""Nearness along ways, against geometry by hand and against dense sampling."""

from dataclasses import replace
from fractions import Fraction
from math import inf, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pieces import LIBRARY, person, spot, standing

from composer.check.checks import check_routine
from composer.check.findings import Finding, Level
from composer.check.spacing import (
    Nearest,
    shares_within,
    times_near_an_edge,
    times_nearer,
    widest_spacing_m,
)
from composer.check.spacing_mirror import askew_turns
from composer.check.spacing_sight import covered_share
from composer.score.floor import Place, Way, reach_m, standings, ways
from composer.score.routine import (
    Following,
    Likeness,
    Obstacle,
    Part,
    Placement,
    Routine,
    Spot,
    Stage,
)
from composer.score.same import Same
from composer.timing.beats import BeatSpan
from composer.timing.tempo_map import Knot, TempoMap

SPAN = BeatSpan(Fraction(0), Fraction(64))
METRES = st.floats(-8, 8).map(lambda value: round(value, 2))


def found(routine: Routine, rule: str) -> list[Finding]:
    return [one for one in check_routine(routine, LIBRARY) if one.rule == rule]


def nearest(one: Way, other: Way, span: BeatSpan) -> Nearest:
    """The nearest of all the time: everybody is nearer than a kilometre."""
    (whole,) = times_nearer(one, other, 1000.0, span)
    return whole.nearest


def some_spots(name: str) -> st.SearchStrategy[list[Spot]]:
    """Up to four spots, one after the other, some walked to slowly, some at once."""
    beats = st.lists(st.integers(1, 60), unique=True, max_size=4).map(lambda b: [0, *sorted(b)])
    return beats.flatmap(
        lambda bs: st.tuples(
            *(
                st.builds(spot, st.just(name), st.just(b), METRES, METRES, st.integers(1, 16))
                for b in bs
            )
        ).map(list)
    )


@settings(max_examples=60, deadline=None)
@given(some_spots("A"), some_spots("B"))
def test_no_sampled_instant_of_a_walk_is_nearer_than_the_nearest_told(
    one: list[Spot], other: list[Spot]
) -> None:
    """The minimum of a parabola is below all its samples. Nobody here walks further than 16 sqrt 2
    metres in a beat, so two approach by less than twice that in the 1/16 beat to a sample."""
    routine = standing([*one, *other])
    found_ways = ways(routine)
    told = nearest(found_ways["A"], found_ways["B"], SPAN)
    beats = [Fraction(k, 8) for k in range(8 * 64)]
    sampled = min(
        found_ways["A"].place_at(beat).distance_m(found_ways["B"].place_at(beat)) for beat in beats
    )
    assert told.distance_m <= sampled + 1e-9
    assert sampled - told.distance_m <= 2 * 16 * sqrt(2) / 16 + 1e-9


@settings(max_examples=40, deadline=None)
@given(some_spots("A"), some_spots("B"))
def test_no_two_circles_meet_along_a_walk_that_is_found_clear(
    one: list[Spot], other: list[Spot]
) -> None:
    """Both reaches and the margin stay free at every instant, not only on the spots."""
    routine = standing([*one, *other])
    if found(routine, "circles meet"):
        return
    least = 2 * reach_m(routine.performers[0]) + routine.stage.margin_m
    for k in range(4 * 64):
        a, b = (one.place for one in standings(routine, Fraction(k, 4)))
        assert a.distance_m(b) >= least - 0.01


@given(st.builds(Place, METRES, METRES), st.builds(Place, METRES, METRES), st.floats(0.1, 6))
def test_the_shares_within_a_level_hold_all_samples_below_it(
    start: Place, end: Place, level_m: float
) -> None:
    within = shares_within(start, end, level_m)
    for share in np.linspace(0, 1, 51):
        distance = Place(0, 0).distance_m(start.towards(end, float(share)))
        inside = within is not None and within[0] <= share <= within[1]
        if abs(distance - level_m) > 1e-6:
            assert bool(inside) == (distance < level_m)


def test_two_who_change_sides_meet_half_way() -> None:
    """From 4 m each side of the middle to the other in 16 beats: 0 m apart on beat 8 of the walk,
    and nearer than 2.4 m for 2.4 / 8 of it: 16 * 0.3 = 4.8 beats, 5.6 to 10.4."""
    routine = standing(
        [
            spot("A", 0, -4),
            spot("B", 0, 4),
            spot("A", 16, 4, travel=16),
            spot("B", 16, -4, travel=16),
        ]
    )
    both = ways(routine)
    (time,) = times_nearer(both["A"], both["B"], 2.4, SPAN)
    assert time.nearest == pytest.approx((8.0, 0.0), abs=1e-9)
    assert (time.start_beat, time.end_beat) == pytest.approx((5.6, 10.4), abs=1e-9)
    assert time.walking


def test_a_walk_past_somebody_is_nearest_at_the_foot_of_the_perpendicular() -> None:
    """B walks along y = 8 from x = -6 to 6 in 12 beats; A stands at (0, 6): 2 m on beat 6."""
    routine = standing([spot("A", 0, 0, 6), spot("B", 0, -6, 8), spot("B", 12, 6, 8, travel=12)])
    told = nearest(ways(routine)["A"], ways(routine)["B"], SPAN)
    assert told == pytest.approx((6.0, 2.0), abs=1e-9)


@pytest.mark.parametrize(
    ("apart_m", "level"),
    [(2.71, None), (2.69, Level.WARNING), (2.41, Level.WARNING), (2.39, Level.ERROR)],
)
def test_less_than_the_margin_warns_and_meeting_circles_are_an_error(
    apart_m: float, level: Level | None
) -> None:
    """Two reaches of 1.2 m and a margin of 0.3: 2.7 m from middle to middle."""
    told = found(standing([spot("A", 0, 0), spot("B", 0, apart_m)]), "circles meet")
    assert [one.level for one in told] == ([] if level is None else [level])
    assert all(one.performers == ("A", "B") for one in told)


def test_spacing_of_a_median_woman_and_of_large_men() -> None:
    """2 (arm + tether) + margin 0.3 with ANSUR II arms 0.627 and 0.740 m and 0.5 m of tether:
    2.55 and 2.78 m; the heads' radius of 4 cm comes on top twice."""
    for arm_m, spacing in ((0.627, 2.55), (0.740, 2.78)):
        two = tuple(person(name, arm_m + 0.54) for name in "AB")
        assert widest_spacing_m(two, 0.3) - 0.08 == pytest.approx(spacing, abs=0.01)


def test_a_performer_may_want_more_room_than_the_stage_gives() -> None:
    """Her own limit of 1 m takes the place of the margin of 0.3: 2 * 1.2 + 1 = 3.4 m."""
    careful = replace(person("A"), limits=(("circles apart", 1.0),))
    near, far = (
        replace(standing([spot("A", 0, 0), spot("B", 0, x)]), performers=(careful, person("B")))
        for x in (3.39, 3.41)
    )
    (told,) = found(near, "circles meet")
    assert told.level is Level.WARNING
    assert not found(far, "circles meet")


def test_the_time_near_an_edge_begins_where_it_is_crossed() -> None:
    """From 5 m to 1 m from the front edge over beats 8 to 16: nearer than 2 m from 5 - b/2 = 2 on,
    six beats after she leaves; and it lasts until she goes back, two beats into the eight."""
    way = ways(
        standing([spot("A", 0, 0, 5), spot("A", 16, 0, 1, travel=8), spot("A", 32, 0, 5, travel=8)])
    )["A"]
    (time,) = times_near_an_edge(Same(way), "front edge", Stage(10, 10), 2.0, SPAN)
    assert (time.start_beat, time.end_beat) == pytest.approx((14.0, 26.0), abs=1e-9)
    assert time.nearest == pytest.approx((16.0, 1.0), abs=1e-9)


def test_who_begins_to_spin_on_the_way_walks_spinning() -> None:
    """4 m in eight beats at 240 are 2 m/s: too fast for whoever spins on any part of the way, not
    for who has stopped as it begins."""
    walk = standing([spot("A", 0, 0), spot("A", 16, 4, travel=8)], bpm=240, spin=False)
    assert not found(walk, "walks too fast")
    late = Placement(BeatSpan(Fraction(14), Fraction(4)), "static spin")
    (told,) = found(replace(walk, parts=(Part("A", (late,)),)), "walks too fast")
    assert told.measured == pytest.approx(2.0, abs=1e-9)
    before = Placement(BeatSpan(Fraction(0), Fraction(8)), "static spin")
    assert not found(replace(walk, parts=(Part("A", (before,)),)), "walks too fast")


def test_an_obstacle_and_the_audience_are_kept_away_from() -> None:
    pillar = Stage(40, 30, obstacles=(Obstacle("pillar", 0, 6, 0.5),))
    assert not found(standing([spot("A", 0, 2.01)], stage=pillar), "obstacle in reach")
    (near,) = found(standing([spot("A", 0, 1.8)], stage=pillar), "obstacle in reach")
    assert near.measured == pytest.approx(1.8 - 1.2 - 0.5, abs=1e-9)
    seated = Stage(40, 30, audience_distance_m=2.0)
    (told,) = found(standing([spot("A", 0, 0, -0.9)], stage=seated), "reaches the audience")
    assert (told.level, told.measured) == (Level.ERROR, pytest.approx(-0.1, abs=1e-9))
    assert not found(standing([spot("A", 0, 0, 0.5)], stage=seated), "reaches the audience")


def test_in_the_round_the_audience_sits_at_every_edge() -> None:
    around = Stage(10, 10, in_the_round=True)
    behind = standing([spot("A", 0, 0, 9.0)], stage=around)
    (told,) = found(behind, "reaches over the edge")
    assert "back edge" in told.message
    in_front = standing([spot("A", 0, 0, 9.0)], stage=Stage(10, 10))
    assert not found(in_front, "reaches over the edge")
    assert found(in_front, "reaches past the side")


def test_a_walk_is_timed_at_the_tempo_of_the_music() -> None:
    """Comfortable gait is 1.2 to 1.5 m/s (Bohannon, Age Ageing 26 (1997) 15, from memory). 3 m in
    8 beats: 0.75 m/s at 120, 1.5 m/s at 240."""
    walk = [spot("A", 0, 0), spot("A", 16, 3, travel=8)]
    assert not found(standing(walk), "walks too fast")
    (told,) = found(standing(walk, bpm=240), "walks too fast")
    assert told.measured == pytest.approx(1.5, abs=1e-9)
    assert (told.level, told.beat) == (Level.WARNING, 8)
    (told,) = found(standing(walk, bpm=401), "walks too fast")
    assert told.level is Level.ERROR
    assert not found(standing(walk, bpm=240, spin=False), "walks too fast")


def test_a_walk_that_grows_quicker_is_judged_at_its_quickest() -> None:
    """3 m in eight beats, the first four of 0.75 s, the last four of 0.25 s: walked by the beat, at
    the end 3/8 m in 0.25 s, 1.5 m/s."""
    walk = standing([spot("A", 0, 0), spot("A", 16, 3, travel=8)])
    knots = ((0, 0.0), (12, 9.0), (16, 10.0), (64, 22.0))
    tempo = TempoMap(tuple(Knot(Fraction(beat), time_s) for beat, time_s in knots))
    (told,) = found(replace(walk, grid=replace(walk.grid, tempo_map=tempo)), "walks too fast")
    assert told.measured == pytest.approx(1.5, abs=1e-9)


def test_who_stays_where_she_is_leaves_nothing_early() -> None:
    """Two spots four beats apart, each told to be walked to in eight."""
    for x_m, told in ((0, False), (2, True)):
        routine = standing([spot("A", 0, 0), spot("A", 16, 1), spot("A", 20, 1 + x_m, travel=8)])
        assert bool(found(routine, "leaves before she has arrived")) is told


def test_somebody_right_behind_is_hidden_and_beside_is_not() -> None:
    """Shoulders as intervals seen from far away: the overlap over the breadth behind."""
    front, back = Place(0, 3), Place(0.1, 6)
    assert covered_share(back, 0.4, front, 0.4) == pytest.approx(0.75, abs=1e-12)
    assert covered_share(Place(0.5, 6), 0.4, front, 0.4) == 0
    assert covered_share(front, 0.4, back, 0.4) == 0


def test_from_near_the_one_in_front_covers_more() -> None:
    """Similar triangles: from 3 m before the edge, 0.4 m at y = 3 spread to 0.6 m at y = 6."""
    back, front = Place(0.4, 6), Place(0, 3)
    assert covered_share(back, 0.4, front, 0.4, 3.0) == pytest.approx(0.1 / 0.4, abs=1e-12)
    assert covered_share(back, 0.4, front, 0.4, inf) == 0


def test_who_passes_behind_is_not_hidden_but_who_stands_there_is() -> None:
    walking = [spot("A", 0, 0, 4), spot("B", 0, -6, 9), spot("B", 32, 6, 9, travel=16)]
    assert not found(standing(walking), "hidden from the audience")
    behind = [spot("A", 0, 0, 4), spot("B", 0, 0, 9)]
    (told,) = found(standing(behind), "hidden from the audience")
    assert (told.performer, told.others, told.level) == ("B", ("A",), Level.WARNING)


@pytest.mark.parametrize(
    ("one", "other", "facings", "turns"),
    [
        (Place(2, 3), Place(-2, 3), (0, 0), 0.0),  # side by side, both to the audience
        (Place(2, 3), Place(-2, 3), (Fraction(1, 8), Fraction(-1, 8)), 0.0),
        (Place(2, 3), Place(-2, 3), (Fraction(1, 8), Fraction(1, 8)), 0.25),
        (Place(0, 2), Place(0, 5), (Fraction(1, 2), 0), 0.0),  # face to face, up and down stage
        (Place(0, 2), Place(0, 5), (0, 0), 0.5),  # one behind the other
    ],
)
def test_a_mirror_is_seen_side_by_side_or_face_to_face(
    one: Place, other: Place, facings: tuple[Fraction, Fraction], turns: float
) -> None:
    """Reflection in a line at angle psi takes a direction theta to 2 psi - theta (geometry)."""
    told = askew_turns(one, other, Fraction(facings[0]), Fraction(facings[1]))
    assert told == pytest.approx(turns, abs=1e-12)
    assert askew_turns(other, one, Fraction(facings[1]), Fraction(facings[0])) == pytest.approx(
        turns, abs=1e-12
    )


@pytest.mark.parametrize(("delay", "told"), [(0, True), (4, False)])
def test_only_who_mirrors_at_once_has_to_stand_as_a_mirror_image(delay: int, told: bool) -> None:
    """One behind the other no mirror is seen; but a canon of mirrored moves is none anyway."""
    routine = standing([spot("A", 0, 0, 2), spot("B", 0, 0, 7)])
    follows = Following("A", Likeness.MIRRORED, Fraction(delay))
    routine = replace(routine, parts=(routine.parts[0], Part("B", (), (follows,))))
    assert bool(found(routine, "mirror stands askew")) is told


def test_a_performer_leaves_when_the_walk_needs_and_stays_where_she_is_told() -> None:
    routine = standing([spot("A", 0, 0), spot("A", 16, 8, travel=8)])
    places = [standings(routine, Fraction(b))[0].place.x_m for b in (-4, 0, 8, 10, 12, 16, 60)]
    assert places == pytest.approx([0, 0, 0, 2, 4, 8, 8], abs=1e-12)


def test_she_turns_the_shorter_way_while_she_walks() -> None:
    """From 1/8 to 7/8 of a turn it is a quarter back through 0, not three quarters on."""
    spots = [replace(spot("A", 0, 0), facing_turns=Fraction(1, 8))]
    spots.append(replace(spot("A", 16, 8, travel=8), facing_turns=Fraction(7, 8)))
    routine = standing(spots)
    assert [standings(routine, Fraction(b))[0].facing_turns for b in (8, 10, 12, 14, 16)] == [
        Fraction(1, 8), Fraction(1, 16), 0, Fraction(15, 16), Fraction(7, 8),
    ]  # fmt: skip
