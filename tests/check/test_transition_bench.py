"""The bench of transitions: every row judged as the trade and mechanics judge it."""

import tomllib
from collections import Counter
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from composer.check.change import Change, change
from composer.check.hand_change import TimeAllowed
from composer.check.limits import LIMITS
from composer.check.moment import Moment, moment_of
from composer.motion.hands import Hand
from composer.motion.pattern import Arc, Hold, Line, Pattern, Segment, Spin, Swing
from composer.motion.placed_plane import PlacedPlane
from composer.motion.plane import Plane
from composer.motion.state import hand_state

BENCH = Path(__file__).with_name("transition_bench.toml")
ROWS = tomllib.loads(BENCH.read_text(encoding="utf-8"))["transition"]
KINDS = ("smooth", "noticeable", "abrupt")
TETHER_M = 0.5


def place(row: dict, key: str) -> complex:
    return complex(*row.get(key, (0.0, 0.0)))


def one_rule(hand: object, head: object) -> Pattern:
    return Pattern((Segment(Fraction(1), hand, head),), tether_m=TETHER_M)


def pattern_of(row: dict) -> tuple[Pattern, Fraction]:
    """The pattern of one hand, begun at the boundary, and the beats of its cycle."""
    per_beat = Fraction(row["per_beat"])
    direction = row.get("direction", 1)
    match row["figure"]:
        case "spin":
            head = Spin(Fraction(row["tether"]), Fraction(direction))
            return one_rule(Hold(place(row, "at_m")), head), 1 / per_beat
        case "circle":
            n = Fraction(row["n"])
            hand = Arc(
                place(row, "centre_m"),
                row["radius_m"],
                Fraction(row["hand"]),
                Fraction(direction * n.denominator),
            )
            head = Spin(Fraction(row["tether"]), Fraction(direction * n.numerator))
            return one_rule(hand, head), abs(n.numerator) / per_beat
        case "swing":
            about, amplitude, cycle = (Fraction(row[k]) for k in ("about", "amplitude", "cycle"))
            head = Swing(about, amplitude, cycle, Fraction(1))
            return one_rule(Hold(place(row, "at_m")), head), 1 / per_beat
        case "travel":
            return travel(row, direction * per_beat), 2 * Fraction(row["beats_each_way"])
        case "three-petal composite":
            return three_petal_composite(row), 2 / per_beat
    raise AssertionError(row["figure"])


def travel(row: dict, turns_a_beat: Fraction) -> Pattern:
    there, back = place(row, "from_m"), place(row, "to_m")
    turns = Fraction(row["beats_each_way"]) * turns_a_beat
    start = Fraction(row["tether"])
    half = Fraction(1, 2)
    return Pattern(
        (
            Segment(half, Line(there, back, eased=True), Spin(start, turns)),
            Segment(half, Line(back, there, eased=True), Spin(start + turns, turns)),
        ),
        tether_m=TETHER_M,
    )


def three_petal_composite(row: dict) -> Pattern:
    """The lower half of a box four-petal anti-spin, three quarters of the time, and a line.

    A petal tip stands at 5/8 turn, where hand and tether agree; three head turns against each
    hand turn put the first downbeat at hand angle 7/12.
    """
    centre, radius = place(row, "centre_m"), row["radius_m"]
    to_right = Arc(centre, radius, Fraction(7, 12), Fraction(5, 12))
    from_left = Arc(centre, radius, Fraction(1, 2), Fraction(1, 12))
    across = Line(centre + radius, centre - radius)
    return Pattern(
        (
            Segment(Fraction(5, 8), to_right, Spin(Fraction(3, 4), Fraction(-5, 4))),
            Segment(Fraction(1, 4), across, Spin(Fraction(1, 2), Fraction(-1, 2))),
            Segment(Fraction(1, 8), from_left, Spin(Fraction(0), Fraction(-1, 4))),
        ),
        tether_m=TETHER_M,
    )


def moment_of_row(side: dict, hand: str, beat_s: float, which: str) -> Moment:
    row = side[hand]
    pattern, cycle_beats = pattern_of(row)
    plane = PlacedPlane(
        Plane(side.get("plane", "wall")),
        Fraction(side.get("facing", "0")),
        0.0,
        (row.get("aside_m", 0.0), 0.0, 0.0),
    )
    state = hand_state(pattern, Fraction(0), float(cycle_beats) * beat_s, plane, side=which)
    return moment_of(state)


def judged(row: dict) -> Change:
    """The row's transition with one beat allowed, judged by the limits as shipped."""
    beat_s = 60 / row.get("bpm", 100)
    moments = {
        Hand(hand): tuple(
            moment_of_row(row[side], hand, beat_s, side) for side in ("before", "after")
        )
        for hand in ("right", "left")
        if hand in row["before"]
    }
    facing = [Fraction(row[side].get("facing", "0")) for side in ("before", "after")]
    time = TimeAllowed(beats=1.0, seconds=beat_s, rest_beats=0.0, rest_s=0.0)
    across = tuple(
        (float(np.cos(2 * np.pi * float(f))), float(np.sin(2 * np.pi * float(f))), 0.0)
        for f in facing
    )
    return change(moments, time, float(facing[1] - facing[0]), LIMITS, across=across)


@pytest.mark.parametrize("row", ROWS, ids=[row["name"] for row in ROWS])
def test_the_bench_row_is_judged_as_written(row):
    found = judged(row)
    figures = {
        f"{one.hand} {one.limit.name}": round(one.measured, 3) for one in found.judged if one.level
    }
    assert found.kind == row["kind"], f"{row['reason']} Found: {figures}"


def test_the_bench_is_large_enough_and_every_row_says_why():
    counts = Counter(row["kind"] for row in ROWS)
    assert len(ROWS) >= 60
    assert all(counts[kind] >= 20 for kind in KINDS)
    assert len({row["name"] for row in ROWS}) == len(ROWS)
    for row in ROWS:
        assert row["basis"] in ("common practice, no source", "derivation")
        assert len(row["reason"].split()) >= 5
