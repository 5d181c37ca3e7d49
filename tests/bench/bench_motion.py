"""How fast hybrids are told apart, drawn and judged: figures printed, limits asserted."""

import time
from collections.abc import Callable
from fractions import Fraction

import numpy as np

from composer.motion.approach import nearest_approaches
from composer.motion.batch import classify
from composer.motion.blend import blend
from composer.motion.flower import flower
from composer.motion.hands import HandTrack, TwoHands
from composer.motion.kinematics import track_motion
from composer.motion.relate import relate
from composer.motion.sampled import Ints, Part
from composer.motion.state import hand_state

F = Fraction
RATIOS = [(1, 1), (-1, 1), (2, 1), (3, 1), (4, 1), (-2, 1), (-3, 1), (-4, 1), (-3, 2), (-5, 2)]


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


def every_pair() -> tuple[list[Part], Ints, Ints]:
    """Ratios, radii and entries of both hands, each with each: 57,600 pairs."""
    parts = [
        Part(HandTrack(flower(F(p, q), radius_m=radius_m, tether_m=0.5), 2 // q, F(k, 8)))
        for p, q in RATIOS
        for radius_m in (0.25, 0.4, 0.5)
        for k in range(8)
    ]
    right, left = (axis.ravel() for axis in np.indices((len(parts), len(parts))))
    return parts, right, left


def test_hybrids_classified_a_second():
    parts, right, left = every_pair()
    took = seconds(lambda: classify(parts, right, left), runs=3)
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
