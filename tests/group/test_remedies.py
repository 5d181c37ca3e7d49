"""Remedies for the floor are judged by the check of the whole group."""

from dataclasses import replace
from fractions import Fraction

import pytest
from pieces import LIBRARY, four, spot, standing, with_spot

from composer.arrange.remedies import remedies_for
from composer.check.checks import check_routine
from composer.check.findings import Finding, Level
from composer.score.routine import Obstacle, Routine, Stage


def warnings(routine: Routine) -> list[Finding]:
    return [one for one in check_routine(routine, LIBRARY) if one.level >= Level.WARNING]


BROKEN = {
    "spots too near": with_spot(four(), "Lark", 96, x_m=2.6, y_m=4.4),
    "ways cross": standing(
        [
            spot("A", 0, -4),
            spot("B", 0, 4),
            spot("A", 32, 4, travel=16),
            spot("B", 32, -4, travel=16),
        ]
    ),
    "too few beats": standing([spot("A", 0, 0), spot("A", 32, 4, travel=2)]),
    "no beats": standing([spot("A", 0, 0), spot("A", 32, 4, travel=0)]),
    "pillar": standing(
        [spot("A", 0, 1)], stage=Stage(40, 30, obstacles=(Obstacle("pillar", 0, 6, 0.5),))
    ),
    "front edge": standing([spot("A", 0, 0, 0.5)]),
    "hidden": standing([spot("A", 0, 0, 4), spot("B", 0, 0, 9)]),
    "twice": standing([spot("A", 0, 0), spot("A", 32, 2, travel=8), spot("A", 32, 3, travel=8)]),
}


@pytest.mark.parametrize("name", sorted(BROKEN))
def test_a_remedy_takes_its_finding_away_and_brings_nothing_as_grave(name: str) -> None:
    routine = BROKEN[name]
    finding = warnings(routine)[0]
    remedies = remedies_for(routine, LIBRARY, finding)
    assert remedies
    for remedy in remedies:
        left = check_routine(remedy.routine, LIBRARY)
        own = (finding.rule, set(finding.performers))
        assert own not in [
            (one.rule, set(one.performers)) for one in left if one.level >= finding.level
        ]
        before = {(one.rule, one.performers) for one in check_routine(routine, LIBRARY)}
        for one in left:
            assert one.level < finding.level or (one.rule, one.performers) in before
        assert remedy.words
        assert remedy.routine.parts == routine.parts


def test_moving_one_spot_away_is_enough_for_the_piece_to_be_clean_again() -> None:
    remedies = remedies_for(
        BROKEN["spots too near"], LIBRARY, warnings(BROKEN["spots too near"])[0]
    )
    assert not warnings(remedies[0].routine)
    assert "Lark" in remedies[0].words


def test_fire_has_no_remedy_but_the_figure_her_authority_asks() -> None:
    lit = standing([spot("A", 0, 0)])
    lit = replace(lit, performers=tuple(replace(p, fire=True) for p in lit.performers))
    (finding,) = [one for one in warnings(lit) if one.rule == "audience distance missing"]
    assert remedies_for(lit, LIBRARY, finding) == ()


def test_a_walk_is_given_the_beats_it_needs() -> None:
    """4 m at 120 in 2 beats are 4 m/s; under 1.5 m/s needs more than 5 1/3 beats."""
    finding = warnings(BROKEN["too few beats"])[0]
    longest = remedies_for(BROKEN["too few beats"], LIBRARY, finding)[0].routine
    walked = [one for one in longest.spots if one.beat > 0][-1]
    assert walked.travel_beats > Fraction(16, 3) or abs(walked.x_m) < 4
