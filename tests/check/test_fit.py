"""How moves fit the bar: the trade's own arithmetic, and a simulation of the motion itself."""

from dataclasses import replace
from fractions import Fraction as F

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.check.fit import RATES, Fit, fit
from composer.motion.flower import flower, isolation, static_spin
from composer.motion.hands import Hand, HandTrack
from composer.motion.kinematics import motion_at
from composer.moves.perform import Performance
from composer.timing.meter import Meter, MeterChange, MeterMap

THREE_FOUR, FOUR_FOUR, FIVE_FOUR = Meter(3, 4), Meter(4, 4), Meter(5, 4)
SIX_EIGHT, SEVEN_EIGHT = Meter(6, 8), Meter(7, 8)


# move, metre, rate, beats, cycle in beats, closes; all by hand: cycle = downbeats / rate
TABLE = [
    # A flower of three downbeats (four petals) takes three bars of 4/4; in 3/4 every bar.
    ("diamond", FOUR_FOUR, 1, 12, 3, True),
    ("diamond", FOUR_FOUR, 1, 4, 3, False),
    ("diamond", FOUR_FOUR, 1, 8, 3, False),
    ("diamond", THREE_FOUR, 1, 3, 3, True),
    ("diamond", THREE_FOUR, 1, 6, 3, True),
    ("box", FOUR_FOUR, 1, 12, 3, True),
    ("two-petal in-spin", FOUR_FOUR, 1, 12, 3, True),
    # Two downbeats: every half bar of 4/4.
    ("triquetra", FOUR_FOUR, 1, 2, 2, True),
    ("triquetra", FOUR_FOUR, 1, 4, 2, True),
    ("triquetra", THREE_FOUR, 1, 3, 2, False),
    ("triquetra", THREE_FOUR, 1, 6, 2, True),
    ("one-petal in-spin", FOUR_FOUR, 1, 2, 2, True),
    # A pentagram has three downbeats over two hand turns: three bars of 4/4.
    ("pentagram", FOUR_FOUR, 1, 12, 3, True),
    ("pentagram", FOUR_FOUR, 1, 8, 3, False),
    # One downbeat: every beat, whatever the bar.
    ("static spin", FOUR_FOUR, 1, 1, 1, True),
    ("extension", FIVE_FOUR, 1, 5, 1, True),
    ("isolation", SEVEN_EIGHT, 1, 7, 1, True),
    # 6/8 is counted in two: two downbeats fill a bar, three take three bars.
    ("triquetra", SIX_EIGHT, 1, 2, 2, True),
    ("diamond", SIX_EIGHT, 1, 2, 3, False),
    ("diamond", SIX_EIGHT, 1, 6, 3, True),
    ("triquetra", FIVE_FOUR, 1, 5, 2, False),
    ("triquetra", FIVE_FOUR, 1, 10, 2, True),
    ("diamond", SEVEN_EIGHT, 1, 21, 3, True),
    # Other rates: cycle = downbeats / rate.
    ("diamond", FOUR_FOUR, F(3, 2), 4, 2, True),
    ("diamond", FOUR_FOUR, F(3, 4), 4, 4, True),
    ("diamond", FOUR_FOUR, F(1, 2), 12, 6, True),
    ("diamond", FOUR_FOUR, F(1, 2), 4, 6, False),
    ("diamond", FOUR_FOUR, 2, 3, F(3, 2), True),
    ("diamond", FOUR_FOUR, F(2, 3), 9, F(9, 2), True),
    ("diamond", FOUR_FOUR, F(2, 3), 4, F(9, 2), False),
    ("triquetra", FOUR_FOUR, F(1, 2), 4, 4, True),
    ("triquetra", FOUR_FOUR, F(2, 3), 3, 3, True),
    ("triquetra", FOUR_FOUR, F(3, 2), 4, F(4, 3), True),
    ("triquetra", FOUR_FOUR, F(3, 2), 3, F(4, 3), False),
    ("static spin", FOUR_FOUR, F(1, 2), 4, 2, True),
    ("static spin", FOUR_FOUR, F(2, 3), 4, F(3, 2), False),
    ("static spin", FOUR_FOUR, 2, F(1, 2), F(1, 2), True),
    # A hybrid closes with the least common multiple of its hands' cycles: 2 and 3 downbeats.
    ("static spin with pentagram", FOUR_FOUR, 1, 12, 3, True),
]


@pytest.mark.parametrize(("move", "meter", "rate", "beats", "cycle", "closes"), TABLE)
def test_a_move_takes_its_downbeats_over_the_rate(kit, move, meter, rate, beats, cycle, closes):
    """Common practice for the rate; the rest is arithmetic."""
    found = fit(kit.placed(move, 0, beats, rate), kit.library, kit.wren, kit.grid(meter=meter))
    assert found.cycle_beats == cycle
    assert found.closes is closes
    assert found.repetitions == F(beats) / cycle


def test_three_downbeats_in_one_bar_of_four_leave_one_beat_and_want_two(kit):
    """4 = 1 1/3 of 3: one beat beyond the cycle, two short of the next; by hand."""
    found = fit(kit.placed("diamond", 0, 4), kit.library, kit.wren, kit.grid())
    assert found.repetitions == F(4, 3)
    assert (found.remainder_beats, found.missing_beats) == (1, 2)
    assert found.closing_lengths == (3, 6)
    assert found.bar_closing_lengths == (0, 12)


def test_the_next_closing_lengths_are_common_multiples_of_cycle_and_bar(kit):
    """lcm(3, 4) = 12, lcm(2, 5) = 10, lcm(3, 7) = 21; arithmetic."""

    def around(move: str, beats: int, meter: Meter) -> tuple[F, F]:
        placement = kit.placed(move, 0, beats)
        return fit(placement, kit.library, kit.wren, kit.grid(meter=meter)).bar_closing_lengths

    assert around("diamond", 16, FOUR_FOUR) == (12, 24)
    assert around("triquetra", 5, FIVE_FOUR) == (0, 10)
    assert around("diamond", 21, SEVEN_EIGHT) == (0, 42)


def test_the_bar_that_counts_is_the_one_the_move_begins_in(kit):
    """Four bars of 4/4, then 3/4 from beat 16: there a diamond closes with every bar."""
    meters = MeterMap((MeterChange(F(0), FOUR_FOUR), MeterChange(F(16), THREE_FOUR)))
    on = replace(kit.grid(), meter_map=meters)
    found = [
        fit(kit.placed("diamond", start, 4), kit.library, kit.wren, on).bar_closing_lengths
        for start in (12, 16)
    ]
    assert found == [(0, 12), (3, 6)]


def test_rates_that_close_are_offered_only_where_arm_and_tether_can(kit):
    """A diamond closes in 4 beats at 3/4 (one cycle) and 3/2 (two), by hand; at 60 beats a minute
    3/4 of a turn a second is too slow to stay taut at the top, where 0.66 Hz is the least even
    rate of a still hand, but the hand circles; at 300 a minute 3/2 is 7.5 head turns a second."""
    medium = fit(kit.placed("diamond", 0, 4), kit.library, kit.wren, kit.grid(bpm=90))
    assert set(medium.closing_rates) == {F(3, 4), F(3, 2)}
    quick = fit(kit.placed("diamond", 0, 4), kit.library, kit.wren, kit.grid(bpm=300))
    assert F(3, 2) not in quick.closing_rates


def test_a_third_of_a_triquetra_is_the_triquetra_turned_by_a_third(kit):
    """Dihedral symmetry of order |p - q| = 3: the state recurs turned, by one hand turn's third."""
    found = fit(kit.placed("triquetra", 0, F(2, 3)), kit.library, kit.wren, kit.grid())
    assert found.closes_turned
    assert not found.closes
    assert found.symmetry_turns in (F(1, 3), F(2, 3))


def test_a_diamond_ends_its_bar_on_its_second_downbeat(kit):
    """Three downbeats a cycle, one a beat: after four beats it stands where after one."""
    found = fit(kit.placed("diamond", 0, 4), kit.library, kit.wren, kit.grid())
    assert (found.entries, found.exit_entry) == (3, 2)
    found = fit(kit.placed("diamond", 0, 4, entry=3), kit.library, kit.wren, kit.grid())
    assert found.exit_entry == 1
    assert (
        fit(kit.placed("diamond", 0, F(7, 2)), kit.library, kit.wren, kit.grid()).exit_entry is None
    )


def test_downbeats_land_on_beats_when_entered_on_a_beat(kit):
    """Rate 1 from beat 8: on every beat; rate 1/2: every second; rate 2: on the halves too."""

    def beats(rate: object, start: object = 8) -> tuple[F, ...]:
        placement = kit.placed("static spin", start, 2, rate)
        return tuple(fit(placement, kit.library, kit.wren, kit.grid()).downbeats(Hand.RIGHT))

    assert beats(1) == (8, 9)
    assert beats(F(1, 2)) == (8,)
    assert beats(2) == (8, F(17, 2), 9, F(19, 2))
    assert beats(1, F(33, 4)) == (F(33, 4), F(37, 4))


@pytest.mark.parametrize(
    ("start", "rate", "lands"),
    [
        (8, 1, True),
        (8, F(3, 2), True),
        (8, 2, True),
        (F(17, 2), 2, True),
        (F(17, 2), 1, False),
        (F(33, 4), 2, False),
        (F(25, 3), F(3, 2), True),
        (F(25, 3), 1, False),
    ],
)
def test_a_move_entered_between_beats_is_off_phase(kit, start, rate, lands):
    """The beat is subdivided as the rate's numerator says: 2 in halves, 3/2 in thirds."""
    placement = kit.placed("static spin", start, 4, rate)
    assert fit(placement, kit.library, kit.wren, kit.grid()).on_the_beat is lands


def test_the_second_hand_of_a_split_move_is_not_called_late(kit):
    """Split hands pass down half a turn apart: one on the beat, the other between, on purpose."""
    found = fit(kit.placed("split extensions", 0, 4), kit.library, kit.wren, kit.grid())
    assert found.on_the_beat
    assert tuple(found.downbeats(Hand.LEFT)) == (F(1, 2), F(3, 2), F(5, 2), F(7, 2))


# ------------------------------------------------------------------ against the motion itself

RATIOS = st.fractions(min_value=-5, max_value=5, max_denominator=4).filter(lambda n: n != 0)


class _Alone:
    """A performed move of one pattern in one hand, as the fit asks for it."""

    def __init__(self, pattern, downbeats: int) -> None:
        self.hands = (Hand.RIGHT,)
        self.performance = Performance(
            tracks={Hand.RIGHT: HandTrack(pattern)},
            plane=None,
            tilt_turns=0.0,
            cycle_length_beats=F(downbeats),
        )


@settings(max_examples=150, deadline=None)
@given(
    ratio=RATIOS,
    direction=st.sampled_from([1, -1]),
    rate=st.sampled_from(RATES),
    length=st.fractions(min_value=F(1, 12), max_value=24, max_denominator=12),
)
def test_closing_agrees_with_running_the_motion(kit, ratio, direction, rate, length):
    """Brute force: hand and head, with their velocities, are back where they began to 1e-9."""
    pattern = flower(ratio, radius_m=0.3, tether_m=0.5, direction=direction)
    alone = _Alone(pattern, abs(ratio.numerator))
    placement = kit.placed("any", 0, length, rate)
    found = Fit(placement, kit.wren, kit.grid(), alone)
    end = float(length / alone.performance.cycle_beats(rate))
    run = motion_at(pattern, [0.0, end])
    back = all(
        abs(track[1] - track[0]) < 1e-9 * max(1.0, abs(track[0]))
        for track in (run.hand_m, run.head_m, run.hand_velocity, run.head_velocity)
    )
    assert found.closes is back


@settings(max_examples=60, deadline=None)
@given(ratio=RATIOS, share=st.fractions(min_value=0, max_value=1, max_denominator=12))
def test_closing_turned_agrees_with_turning_the_motion(kit, ratio, share):
    """Brute force: the rest of the way round is the beginning of it, turned about the middle."""
    pattern = flower(ratio, radius_m=0.3, tether_m=0.5)
    cycle = abs(ratio.numerator)
    alone = _Alone(pattern, cycle)
    placement = kit.placed("any", 0, (1 + share) * cycle)
    found = Fit(placement, kit.wren, kit.grid(), alone)
    if found.symmetry_turns is None:
        return
    phases = np.linspace(0.0, 1.0, 97)
    first, later = motion_at(pattern, phases), motion_at(pattern, phases + float(share))
    spoke = np.exp(2j * np.pi * float(found.symmetry_turns))
    np.testing.assert_allclose(later.head_m, spoke * first.head_m, rtol=0, atol=1e-9)
    np.testing.assert_allclose(later.hand_m, spoke * first.hand_m, rtol=0, atol=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    ratio=RATIOS.filter(lambda n: n != 1),
    share=st.fractions(min_value=0, max_value=1, max_denominator=12),
)
def test_no_way_of_closing_turned_is_missed(kit, ratio, share):
    """If some turn carries hand and head of the end onto the start, the fit has found it.

    Left out is one head turn for each hand turn: a circle is itself at any turn.
    """
    pattern = flower(ratio, radius_m=0.3, tether_m=0.5)
    cycle = abs(ratio.numerator)
    placement = kit.placed("any", 0, (1 + share) * cycle)
    found = Fit(placement, kit.wren, kit.grid(), _Alone(pattern, cycle))
    run = motion_at(pattern, [0.0, float(share)])
    turned_alike = abs(run.hand_m[1] * run.head_m[0] - run.head_m[1] * run.hand_m[0]) < 1e-9
    assert (found.symmetry_turns is not None) == turned_alike


@pytest.mark.parametrize("pattern", [static_spin(tether_m=0.5), isolation(tether_m=0.5)])
def test_one_turn_closes_every_cycle(kit, pattern):
    """A pattern of one downbeat is back after every beat at rate 1."""
    found = Fit(kit.placed("any", 0, 7), kit.wren, kit.grid(), _Alone(pattern, 1))
    assert found.closes
    assert found.repetitions == 7


@pytest.mark.parametrize(
    ("beats", "mirrored"), [(1, True), (3, True), (2, False), (F(1, 2), False)]
)
def test_half_a_pendulum_is_its_mirror_image(kit, beats, mirrored):
    """sin(x + pi) = -sin(x): after half a cycle of two beats it swings the other way."""
    found = fit(kit.placed("pendulum", 0, beats), kit.library, kit.wren, kit.grid())
    assert found.closes_mirrored is mirrored
    assert found.closes is (beats == 2)


@pytest.mark.parametrize("move", ["static spin", "triquetra", "isolation"])
def test_no_even_spin_is_its_own_mirror_image_part_way(kit, move):
    """A spin keeps its direction, which a mirror turns round."""
    found = fit(kit.placed(move, 0, F(1, 2)), kit.library, kit.wren, kit.grid())
    assert not found.closes_mirrored
