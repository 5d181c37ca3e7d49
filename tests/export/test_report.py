"""The JSON report against its own published schema, checked by an independent validator."""

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import jsonschema
import pytest

from composer.check.checks import check_routine
from composer.check.findings import Finding, Level
from composer.export.choice import Choice
from composer.export.report import report_json
from composer.export.report_schema import report_schema
from composer.files.routine_file import load_routine
from composer.score.routine import Obstacle

ROOT = Path(__file__).parents[2]


def test_the_report_fits_the_published_schema(duo, library):
    finding = Finding(
        "head turns back", Level.WARNING, "Wren", Fraction(8), "m", "w", measured=2.0, limit=1.0
    )
    other = duo.performers[1].name
    pair = Finding("circles meet", Level.ERROR, "Wren", Fraction(0), "m", "w", others=(other,))
    marked = replace(duo, stage=replace(duo.stage, obstacles=(Obstacle("lamp", 1, 2, 0.2),)))
    report = json.loads(report_json(marked, library, (finding, pair)))
    assert [one["others"] for one in report["findings"]] == [[], [other]]
    assert report["stage"]["obstacles"] == [{"name": "lamp", "x_m": 1, "y_m": 2, "radius_m": 0.2}]
    jsonschema.Draft202012Validator.check_schema(report_schema())
    jsonschema.Draft202012Validator(report_schema()).validate(report)


def test_a_checked_group_fits_the_published_schema(library):
    """The shipped piece for four, two of its circles brought together."""
    piece = load_routine(ROOT / "routines" / "four_on_the_quay.toml")
    close = replace(
        piece,
        spots=tuple(
            replace(s, x_m=2.6, y_m=4.4) if (s.performer, s.beat) == ("Lark", 96) else s
            for s in piece.spots
        ),
    )
    report = json.loads(report_json(close, library, check_routine(close, library)))
    jsonschema.Draft202012Validator(report_schema()).validate(report)
    meeting = [one for one in report["findings"] if one["rule"] == "circles meet"]
    assert [(one["performer"], one["others"]) for one in meeting] == [("Wren", ["Lark"])]


def test_the_schema_refuses_what_it_does_not_know(solo, library):
    report = json.loads(report_json(solo, library))
    report["surprise"] = 1
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(report_schema()).validate(report)


def test_beats_are_exact_and_times_are_the_track_s(solo, library):
    report = json.loads(report_json(solo, library))
    last = report["performers"][0]["moves"][-1]
    assert last["length_beats"] == "15/2"
    assert last["end"] == {
        "beat": "63/2", "bar": 8, "count": "9/2", "time_s": pytest.approx(16.1, rel=0, abs=1e-6),
    }  # fmt: skip


def test_a_triquetra_over_eight_beats_closes_four_times(solo, library):
    """|p| = 2 downbeats a turn at one a beat: a cycle of 2 beats."""
    motion = json.loads(report_json(solo, library))["performers"][0]["moves"][1]["motion"]
    assert (motion["cycle_beats"], motion["cycles"], motion["closes"]) == ("2", "4", True)
    assert motion["right_downbeats"] == [str(beat) for beat in range(8, 16)]


def test_speeds_are_those_of_the_formula(solo, library):
    """Extension, R = 0.65 arm, L = 0.55 m, one turn a beat of 0.5 s: 2 pi (R + L) / 0.5 s."""
    motion = json.loads(report_json(solo, library))["performers"][0]["moves"][0]["motion"]
    radius_m = 0.65 * solo.performers[0].body.arm_m
    turn = 2 * 3.141592653589793 / 0.5
    assert motion["peak_hand_speed_m_s"] == pytest.approx(turn * radius_m, rel=0, abs=1e-5)
    assert motion["peak_head_speed_m_s"] == pytest.approx(turn * (radius_m + 0.55), rel=0, abs=1e-5)


def test_a_move_nobody_knows_is_listed_without_motion(solo, library):
    part = solo.parts[0]
    unknown = replace(part.placements[0], move="zephyr")
    report = json.loads(report_json(solo.with_part(replace(part, placements=(unknown,))), library))
    assert report["performers"][0]["moves"][0]["motion"] is None


def test_a_phrase_and_a_performer_narrow_it_down(duo, library):
    report = json.loads(report_json(duo, library, choice=Choice("Wren", 1)))
    assert [p["name"] for p in report["performers"]] == ["Wren"]
    assert [m["start"]["beat"] for m in report["performers"][0]["moves"]] == ["16", "24"]
    assert len(report["music"]["beats"]) == 16


def test_fire_is_cautioned_and_nothing_is_called_safe(duo, library):
    text = report_json(duo, library)
    assert "licensed practice" in text
    assert "trained safety person" in text
    assert " safe " not in text
