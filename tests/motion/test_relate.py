"""Setting one hand against the other."""

from fractions import Fraction

import numpy as np
import pytest

from composer.motion.flower import flower, isolation, static_spin
from composer.motion.hands import HandTrack, TwoHands
from composer.motion.kinematics import Motion, motion_at
from composer.motion.pattern import Hold, Pattern, Segment, Swing
from composer.motion.relate import QUARTER, SPLIT, TOGETHER, relate, ways_in

F = Fraction
EXTENSION = flower(F(1), radius_m=0.45, tether_m=0.5)
PENDULUM = Pattern((Segment(F(1), Hold(), Swing(F(3, 4), F(1, 4), F(0), F(1))),), tether_m=0.5)


def along(track: HandTrack, passed: np.ndarray) -> Motion:
    return motion_at(track.pattern, float(track.offset) + track.cycles * passed)


def directions(two: TwoHands, passed: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Each hand's direction from its circle's middle (the origin), in turns."""
    return tuple(
        np.angle(along(track, passed).hand_m) / (2 * np.pi) for track in (two.right, two.left)
    )


@pytest.mark.parametrize("timing", [TOGETHER, SPLIT, QUARTER, F(3, 4)])
@pytest.mark.parametrize("n", [F(1), F(-1), F(-2), F(2), F(-3), F(-3, 2)])
@pytest.mark.parametrize("start", [F(3, 4), F(1, 4), F(1, 7)])
def test_same_direction_keeps_the_hands_a_fixed_angle_apart(timing, n, start):
    """Both hands turn one way at one rate, so the timing at one instant holds at all."""
    left = flower(n, radius_m=0.3, tether_m=0.5, tip_turns=start, direction=-1)
    two = relate(EXTENSION, left, timing, "same")
    right_turns, left_turns = directions(two, np.linspace(0, 1, 101))
    np.testing.assert_allclose(
        (left_turns - right_turns - float(timing) + 0.5) % 1, 0.5, rtol=0, atol=1e-9
    )


@pytest.mark.parametrize("timing", [TOGETHER, SPLIT, QUARTER, F(3, 4)])
@pytest.mark.parametrize("n", [F(1), F(-2), F(5, 2)])
def test_opposite_direction_mirrors_and_holds_when_the_right_hand_is_down(timing, n):
    """Angles from down are then opposite, up to the timing: left = timing - right."""
    two = relate(EXTENSION, flower(n, radius_m=0.3, tether_m=0.5), timing, "opposite")
    right_turns, left_turns = directions(two, np.linspace(0, 1, 101))
    from_down = (left_turns - 0.75) + (right_turns - 0.75)
    np.testing.assert_allclose((from_down - float(timing) + 0.5) % 1, 0.5, rtol=0, atol=1e-9)


def test_hands_turn_at_one_rate_whatever_their_closures():
    """A pentagram closes after two hand turns, an extension after one (lowest terms of n)."""
    pentagram = flower(F(-3, 2), radius_m=0.3, tether_m=0.5)
    assert relate(EXTENSION, pentagram, TOGETHER, "same").right.cycles == 2
    assert relate(pentagram, EXTENSION, TOGETHER, "same").left.cycles == 2


def test_static_spin_with_pentagram_closes_after_two_turns_of_the_hand():
    """One head turn for each turn of the other hand; so the spin runs twice."""
    pentagram = flower(F(-3, 2), radius_m=0.3, tether_m=0.5)
    two = relate(static_spin(tether_m=0.5), pentagram, TOGETHER, "same")
    assert (two.right.cycles, two.left.cycles) == (2, 1)
    assert (len(two.right.downbeats), len(two.left.downbeats)) == (2, 3)


@pytest.mark.parametrize("timing", [TOGETHER, SPLIT, QUARTER])
@pytest.mark.parametrize("direction", ["same", "opposite"])
def test_without_two_circling_hands_the_heads_are_set(timing, direction):
    """A static spin has no hand to set: when the right head is down the left one is placed."""
    two = relate(
        static_spin(tether_m=0.5), flower(F(-2), radius_m=0.3, tether_m=0.5), timing, direction
    )
    down = two.right.downbeats[0]
    right, left = (along(track, np.array([float(down)])) for track in (two.right, two.left))
    assert (right.tether_turns[0] - 0.75) % 1 == pytest.approx(0, abs=1e-12)
    assert (left.tether_turns[0] - 0.75 - float(timing) + 0.5) % 1 == pytest.approx(0.5, abs=1e-12)
    same = right.tether_rate[0] * left.tether_rate[0] > 0
    assert same == (direction == "same")


def test_a_pendulum_can_be_set_to_swing_with_or_against_the_other_head():
    """It passes down twice in a full swing, once in each sense."""
    for direction in ("same", "opposite"):
        two = relate(static_spin(tether_m=0.5), PENDULUM, TOGETHER, direction)
        first = along(two.left, np.array([float(two.right.downbeats[0])]))
        assert (first.tether_rate[0] > 0) == (direction == "same")


def test_a_pattern_enters_in_as_many_ways_as_its_hand_passes_the_place():
    """A hand that closes after q turns passes any place of its circle q times."""
    pentagram = flower(F(-3, 2), radius_m=0.3, tether_m=0.5)
    assert len(ways_in(pentagram, SPLIT, 1, by_hands=True)[1]) == 2
    offsets = {relate(EXTENSION, pentagram, SPLIT, "same", entry=k).left.offset for k in (0, 1)}
    assert len(offsets) == 2
    with pytest.raises(ValueError, match="2 such entries"):
        relate(EXTENSION, pentagram, SPLIT, "same", entry=2)


def test_offsets_are_exact():
    two = relate(EXTENSION, isolation(tether_m=0.5, start_turns=F(1, 7)), F(1, 4), "same")
    assert two.left.offset == F(6, 7)  # from 1/7 on to down + 1/4 = 1 takes 6/7 of a turn


def test_refusals_say_why():
    with pytest.raises(ValueError, match='"same" or "opposite"'):
        relate(EXTENSION, EXTENSION, TOGETHER, "across")  # type: ignore[arg-type]
    narrow = Pattern((Segment(F(1), Hold(), Swing(F(3, 4), F(1, 6), F(0), F(1))),), tether_m=0.5)
    with pytest.raises(ValueError, match="left head never points 1/2"):
        relate(static_spin(tether_m=0.5), narrow, SPLIT, "same")
    up = Pattern((Segment(F(1), Hold(), Swing(F(1, 4), F(1, 6), F(0), F(1))),), tether_m=0.5)
    with pytest.raises(ValueError, match="right head never points straight down"):
        relate(up, narrow, SPLIT, "same")
