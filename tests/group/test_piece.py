"""The shipped piece for four checks clean; broken in every way, every kind of finding comes."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from pieces import LIBRARY, four, spot, with_spot

from composer.check.checks import check_routine
from composer.check.findings import Finding, Level
from composer.check.group_canon import Canon, canon_phases, canons
from composer.check.landing import landing_table
from composer.check.landing_unison import unison_windows
from composer.errors import ComposerError
from composer.files.music_file import content_hash
from composer.score.floor import reach_m, ways
from composer.score.parts import performed_parts
from composer.score.routine import Following, Obstacle, Placement, Routine
from composer.timing.beats import BeatSpan, least_common_beats

FLOOR_AND_GROUP = {
    "circles meet", "obstacle in reach", "reaches over the edge", "reaches the audience",
    "reaches past the side", "off the floor", "walks too fast", "leaves before she has arrived",
    "two spots on one beat", "hidden from the audience", "no spot", "mirror stands askew",
    "followed move is left out", "canon is interrupted", "canon enters unevenly",
    "not everybody closes", "audience distance missing",
}  # fmt: skip
TRACK = Path(__file__).parents[2] / "demo_tracks" / "ropewalk_round.ogg"
CALL = "mirrored linear travel"
NAMES = ("Wren", "Lark", "Tern", "Finch")


def group_findings(routine: Routine) -> list[Finding]:
    return [one for one in check_routine(routine, LIBRARY) if one.rule in FLOOR_AND_GROUP]


def test_the_shipped_piece_has_no_warning() -> None:
    worst = max(one.level for one in check_routine(four(), LIBRARY))
    assert worst is Level.NOTE
    assert not group_findings(four())


def test_it_runs_two_minutes_on_a_shipped_track_and_its_grid_is_the_track_s_truth() -> None:
    """The truth beside the track is written from the plan that places the sounds."""
    routine = four()
    beats = np.loadtxt(TRACK.with_suffix(".beats.txt"))
    for beat, (time_s, count) in enumerate(beats):
        assert routine.grid.tempo_map.seconds(Fraction(beat)) == pytest.approx(time_s, abs=1e-5)
        assert routine.grid.meter_map.position(Fraction(beat)).count == count
    lines = TRACK.with_suffix(".phrases.txt").read_text().splitlines()
    assert [phrase.name for phrase in routine.grid.phrases] == [
        line.split("\t")[2] for line in lines
    ]
    assert content_hash(TRACK) == routine.track.sha256
    seconds = routine.grid.tempo_map.seconds
    assert seconds(routine.grid.end_beat) - seconds(Fraction(0)) >= 120


def test_its_canons_are_told_apart_and_enter_evenly() -> None:
    """In the first round four voices a beat apart, in the second two, eight beats apart."""
    first, second = canons(four())
    assert first == Canon(
        "Wren", tuple(zip(NAMES, map(Fraction, range(4)), strict=True)), Fraction(17)
    )
    assert second == Canon("Wren", (("Wren", Fraction(0)), ("Tern", Fraction(8))), Fraction(56))
    assert canon_phases(tuple(delay for _, delay in first.voices), Fraction(4)) == (
        Fraction(0), Fraction(3, 4), Fraction(1, 2), Fraction(1, 4),
    )  # fmt: skip


def test_its_canon_stands_a_quarter_of_the_figure_apart() -> None:
    """Four entries a beat apart over a figure that closes in four beats: P / N."""
    parts = performed_parts(four())
    for k, name in enumerate(NAMES[1:], 1):
        figures = [
            (m.span.start_beat, m.placement.move)
            for m in parts[name]
            if m.written_by == "Wren" and m.span.end_beat <= 48
        ]
        assert figures == [
            (16 + k, "mirrored one-and-a-halves"),
            (32 + k, "mirrored figure eights"),
        ]


def test_the_second_round_is_answered_eight_beats_later() -> None:
    parts = performed_parts(four())
    called = [m.span.start_beat for m in parts["Wren"] if m.placement.move == CALL]
    answered = [m.span.start_beat for m in parts["Tern"] if m.placement.move == CALL]
    assert called == [48, 64]
    assert answered == [56, 72]


def test_high_tide_is_mirrored_and_the_crossing_turns_once_round() -> None:
    windows = unison_windows(four(), LIBRARY)
    mirrored = [one for one in windows if one.mirrored and one.performers == NAMES]
    assert any(one.span.start_beat <= 96 and one.span.end_beat >= 128 for one in mirrored)
    way = ways(four())["Wren"]
    corners = [way.place_at(Fraction(beat)) for beat in (160, 168, 176, 184, 192)]
    assert corners[0] == corners[4]
    assert len(set(corners)) == 4


def test_the_finale_is_in_unison_to_the_last_beat() -> None:
    windows = unison_windows(four(), LIBRARY)
    last = windows[-1]
    assert (last.performers, last.mirrored) == (NAMES, False)
    assert last.span.start_beat <= 208
    assert last.span.end_beat == four().grid.end_beat
    assert landing_table(four(), LIBRARY)[-1].all_close


def part_with(routine: Routine, name: str, **new: object) -> Routine:
    return routine.with_part(replace(routine.part(name), **new))  # type: ignore[arg-type]


def following_with(routine: Routine, name: str, index: int, **new: object) -> Routine:
    old = list(routine.part(name).following)
    old[index] = replace(old[index], **new)  # type: ignore[arg-type]
    return part_with(routine, name, following=tuple(old))


def on_fire(routine: Routine) -> Routine:
    first, *others = routine.performers
    return replace(routine, performers=(replace(first, fire=True), *others))


def stage_with(routine: Routine, **new: object) -> Routine:
    return replace(routine, stage=replace(routine.stage, **new))  # type: ignore[arg-type]


def one_of_her_own(routine: Routine) -> Routine:
    own = Placement(BeatSpan(Fraction(33), Fraction(4)), "static spin")
    placements = (*routine.part("Lark").placements, own)
    return part_with(routine, "Lark", placements=placements)


BREAKS: list[tuple[str, Callable[[Routine], Routine]]] = [
    ("circles meet", lambda r: with_spot(r, "Lark", 96, x_m=2.6, y_m=4.4)),
    ("obstacle in reach", lambda r: stage_with(r, obstacles=(Obstacle("pillar", 3.4, 6, 0.3),))),
    ("reaches over the edge", lambda r: with_spot(r, "Wren", 96, y_m=1.0)),
    ("reaches the audience", lambda r: stage_with(
        with_spot(r, "Wren", 96, y_m=0.1), audience_distance_m=1.0)),
    ("reaches past the side", lambda r: stage_with(r, width_m=11.0)),
    ("off the floor", lambda r: stage_with(r, depth_m=7.0)),
    ("walks too fast", lambda r: with_spot(r, "Wren", 176, travel_beats=Fraction(4))),
    ("leaves before she has arrived", lambda r: with_spot(
        r, "Wren", 176, travel_beats=Fraction(9))),
    ("two spots on one beat", lambda r: replace(r, spots=(*r.spots, spot("Wren", 96, 3.2, 2.6)))),
    ("hidden from the audience", lambda r: with_spot(r, "Lark", 96, x_m=3.2)),
    ("no spot", lambda r: replace(
        r, spots=tuple(s for s in r.spots if s.performer != "Finch"))),
    ("mirror stands askew", lambda r: with_spot(r, "Finch", 96, facing_turns=Fraction(1, 4))),
    ("followed move is left out", lambda r: following_with(
        r, "Lark", 2, span=BeatSpan(Fraction(96), Fraction(24)))),
    ("canon is interrupted", one_of_her_own),
    ("canon enters unevenly", lambda r: following_with(r, "Finch", 0, delay_beats=Fraction(7))),
    ("not everybody closes", lambda r: part_with(r, "Tern", placements=tuple(
        replace(p, move="mirrored diamonds") if p.span.end_beat == 48 else p
        for p in r.part("Tern").placements))),
    ("audience distance missing", on_fire),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "broken"), BREAKS, ids=[rule for rule, _ in BREAKS])
def test_broken_in_one_way_it_is_found(rule: str, broken: Callable[[Routine], Routine]) -> None:
    found = [one for one in group_findings(broken(four())) if one.rule == rule]
    assert found
    for one in found:
        assert one.message
        assert one.why.endswith(".")
        assert "safe" not in f"{one.message} {one.why}".casefold()
        assert set(one.performers) <= set(NAMES)


def test_by_how_much_circles_overlap_and_reach_too_far_is_told() -> None:
    """1.897 m between two whose reaches take so much; 1 m from the edge with a longer reach."""
    reach = reach_m(four().performer("Wren"))
    close = with_spot(four(), "Lark", 96, x_m=2.6, y_m=4.4)
    (pair,) = [one for one in group_findings(close) if one.rule == "circles meet"]
    assert f"the circles overlap by {2 * reach - (0.6**2 + 1.8**2) ** 0.5:.2f} m" in pair.message
    edge = with_spot(four(), "Wren", 96, y_m=1.0)
    (over,) = [one for one in group_findings(edge) if one.rule == "reaches over the edge"]
    assert f"the circle reaches {reach - 1:.2f} m too far" in over.message


def test_every_kind_of_finding_is_broken_above() -> None:
    assert {rule for rule, _ in BREAKS} == FLOOR_AND_GROUP


def test_fire_is_told_to_ask_whoever_decides_and_gets_no_figure() -> None:
    """NFPA 160, scope: the authority that has jurisdiction decides; no distance of ours."""
    (told,) = [
        one for one in group_findings(on_fire(four())) if one.rule == "audience distance missing"
    ]
    assert "authority" in told.message
    assert "Local codes" in told.why
    assert not any(sign.isdigit() for sign in told.message + told.why)
    typed = stage_with(on_fire(four()), audience_distance_m=6.0)
    assert "audience distance missing" not in {one.rule for one in group_findings(typed)}


@pytest.mark.parametrize(
    ("one", "other", "together"), [(3, 4, 12), (3, 5, 15), (12, 16, 48), (6, 4, 12)]
)
def test_loops_return_together_after_their_least_common_multiple(
    one: int, other: int, together: int
) -> None:
    """Arithmetic: loops of a and b beats meet every lcm(a, b)."""
    assert least_common_beats([Fraction(one), Fraction(other)]) == together


def test_a_hole_in_a_followed_part_is_measured() -> None:
    """Lark follows 24 of 32 beats; the second move of 16 does not fit whole: 8 beats are empty."""
    broken = following_with(four(), "Lark", 2, span=BeatSpan(Fraction(96), Fraction(24)))
    (told,) = [one for one in group_findings(broken) if one.rule == "followed move is left out"]
    assert (told.performer, told.beat, told.measured) == ("Lark", 112, 8.0)


def test_a_circle_of_followed_parts_is_refused_with_its_chain_named() -> None:
    wren = replace(four().part("Wren"), following=(Following("Finch"),))
    with pytest.raises(ComposerError, match="Wren follows Finch follows Wren"):
        check_routine(four().with_part(wren), LIBRARY)
