"""How fast hybrids are told apart, drawn and judged: figures printed, limits asserted."""

import itertools
import time
from collections.abc import Callable
from fractions import Fraction

import numpy as np

from composer.motion.approach import nearest_approaches
from composer.motion.batch import TICKS, EvenHands, classify
from composer.motion.blend import blend
from composer.motion.flower import flower
from composer.motion.hands import TwoHands, track_motion
from composer.motion.relate import relate
from composer.motion.state import hand_state

F = Fraction
RATIOS = [(1, 1), (-1, 1), (2, 1), (3, 1), (4, 1), (-2, 1), (-3, 1), (-4, 1), (-3, 2), (-5, 2)]
STARTS = [k * TICKS // 8 for k in range(8)]


def seconds(call: Callable[[], object], *, runs: int = 5) -> float:
    """Processor time, best of some runs: what one core needs, whatever else the machine does."""
    best = float("inf")
    for _ in range(runs):
        begun = time.process_time()
        call()
        best = min(best, time.process_time() - begun)
    return best


def hybrid() -> TwoHands:
    return relate(
        flower(F(-3), radius_m=0.4, tether_m=0.5), flower(F(5, 2), radius_m=0.3, tether_m=0.5),
        F(1, 2), "opposite",
    )  # fmt: skip


def every_pair() -> tuple[EvenHands, EvenHands]:
    """All pairs of ratios, directions, petal starts and four timings: 51,200 rows."""
    product = itertools.product(RATIOS, RATIOS, (1, -1), STARTS, STARTS, range(4))
    table = np.array(
        [(*one, *two, way, a, b, k * TICKS // 4) for one, two, way, a, b, k in product]
    )
    count = len(table)
    radius, tether = np.full(count, 0.4), np.full(count, 0.5)
    ahead = np.ones(count, dtype=np.int64)
    zero = np.zeros(count, dtype=np.int64)
    right = EvenHands(table[:, 0], table[:, 1], radius, tether, zero, table[:, 5], ahead)
    left = EvenHands(
        table[:, 2], table[:, 3], radius, tether, table[:, 7], table[:, 6], table[:, 4]
    )
    return right, left


def test_hybrids_classified_a_second():
    right, left = every_pair()
    took = seconds(lambda: classify(right, left), runs=3)
    rate = len(right) / took
    print(f"\nclassify: {len(right)} hybrids in {took:.2f} s, {rate:,.0f} a second")
    assert rate > 20_000


def test_ten_thousand_phases_of_one_hybrid():
    two, passed = hybrid(), np.linspace(0, 1, 10_000)
    took = seconds(
        lambda: (track_motion(two.right, passed), track_motion(two.left, passed)), runs=20
    )
    print(f"\n10,000 phases of both hands: {took * 1000:.2f} ms")
    assert took < 0.002


def test_nearest_approach_of_one_hybrid():
    two = hybrid()
    took = seconds(lambda: nearest_approaches(two))
    print(f"\nseven nearest approaches, refined: {took * 1000:.0f} ms")


def test_a_blend():
    spin = flower(F(-3), radius_m=0.4, tether_m=0.5)
    before, after = hand_state(spin, F(1, 3), 2.0), hand_state(spin, F(4, 5), 2.5)

    def judged() -> float:
        way = blend(before, after, 0.5)
        return way.peak_hand_speed.value + way.peak_spin_change.value

    print(f"\none blend with its peaks: {seconds(judged, runs=20) * 1000:.2f} ms")
