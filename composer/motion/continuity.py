"""Where the segments of a pattern meet: does the hand, the tether or the spin jump there?"""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from composer.motion.kinematics import Motion, segment_motion
from composer.motion.pattern import Pattern, Segment, Spin

HAND_GAP_M = 1e-6
TETHER_GAP_TURNS = 1e-9
STILL_M_PER_CYCLE = 1e-9
"""A hand or head slower than this has no heading."""


@dataclass(frozen=True, slots=True)
class Joint:
    """What changes from one segment to the next; at phase 0 from the last to the first.

    Changes of heading are in turns, from -1/2 to 1/2, counter-clockwise positive; None where one
    side stands still. Rates are in turns a cycle, speeds in metres a cycle.
    """

    phase: Fraction
    hand_gap_m: float
    tether_gap_turns: float
    hand_heading_change: float | None
    head_heading_change: float | None
    hand_velocity_jump: float
    spin_jump: float

    @property
    def is_continuous(self) -> bool:
        """Whether hand and tether go on from where they were."""
        return self.hand_gap_m <= HAND_GAP_M and abs(self.tether_gap_turns) <= TETHER_GAP_TURNS

    @property
    def is_smooth(self) -> bool:
        """Whether hand and spin keep their velocity too."""
        return self.is_continuous and self.hand_velocity_jump < 1e-6 and abs(self.spin_jump) < 1e-6


def joints(pattern: Pattern) -> tuple[Joint, ...]:
    """Every joint of the closed cycle, one a segment, by phase."""
    return tuple(_joint(pattern, index) for index in range(len(pattern.segments)))


def check_closed(pattern: Pattern) -> None:
    """Refuse a pattern whose hand or tether jumps at a joint.

    Raises
    ------
    ValueError
        With one line naming the joint, the gap and what to do.
    """
    count = len(pattern.segments)
    for index, joint in enumerate(joints(pattern)):
        if joint.is_continuous:
            continue
        where = f"from part {(index - 1) % count + 1} to part {index + 1} of {count}"
        if joint.hand_gap_m > HAND_GAP_M:
            gap = f"the hand jumps {joint.hand_gap_m:.3g} m"
        else:
            gap = f"the tether jumps {joint.tether_gap_turns:.3g} turns"
        raise ValueError(
            f"{gap} {where} (phase {joint.phase}): begin each part where the one before ends"
        )


def _joint(pattern: Pattern, index: int) -> Joint:
    before = segment_motion(pattern, index - 1 if index else len(pattern.segments) - 1, [1.0])
    after = segment_motion(pattern, index, [0.0])
    return Joint(
        phase=pattern.starts[index],
        hand_gap_m=float(abs(after.hand_m[0] - before.hand_m[0])),
        tether_gap_turns=_tether_gap(
            pattern.segments[index - 1], pattern.segments[index], before, after
        ),
        hand_heading_change=heading_change(before.hand_velocity[0], after.hand_velocity[0]),
        head_heading_change=heading_change(before.head_velocity[0], after.head_velocity[0]),
        hand_velocity_jump=float(abs(after.hand_velocity[0] - before.hand_velocity[0])),
        spin_jump=float(after.tether_rate[0] - before.tether_rate[0]),
    )


def heading_change(
    before: complex, after: complex, *, still: float = STILL_M_PER_CYCLE
) -> float | None:
    """Turn from one velocity's direction to another's, in turns; None if either is still."""
    if abs(before) <= still or abs(after) <= still:
        return None
    return float(np.angle(after / before) / (2 * np.pi))


def _tether_gap(one: Segment, two: Segment, before: Motion, after: Motion) -> float:
    """Exact where both are spins, so that no rounding is taken for a gap."""
    if isinstance(one.head, Spin) and isinstance(two.head, Spin):
        return float(_nearest(two.head.start_turns - one.head.start_turns - one.head.turns))
    gap = float(after.tether_turns[0] - before.tether_turns[0])
    return gap - round(gap)


def _nearest(turns: Fraction) -> Fraction:
    return (turns + Fraction(1, 2)) % 1 - Fraction(1, 2)
