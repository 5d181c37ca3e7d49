"""One hand's pattern: where the hand goes and how the head turns about it, exact in angle and time.

A pattern is a closed list of segments. Each takes an exact share of the cycle, moves the hand along
a path (hold, arc or line) and turns the head (spin or swing). Lengths are metres; angles are exact
turns, 0 = +x (the performer's right in the wall plane), counter-clockwise positive, down = 3/4.
Positions in the plane are complex numbers, across + up i.
"""

import itertools
from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import isfinite

from composer.motion.passes import is_at_rest, passes, tether_at
from composer.motion.segment import (
    DOWN,
    TAU,
    UP,
    Arc,
    HandPath,
    HeadMotion,
    Hold,
    Line,
    Segment,
    Side,
    Spin,
    Swing,
    carries_on,
    check_path,
)

__all__ = [
    "DOWN",
    "TAU",
    "UP",
    "Arc",
    "HandPath",
    "HeadMotion",
    "Hold",
    "Line",
    "Pattern",
    "Segment",
    "Side",
    "Spin",
    "Swing",
    "TetherPass",
]


@dataclass(frozen=True)
class Pattern:
    """A closed cycle of one hand and one prop in one plane.

    Raises
    ------
    ValueError
        If the shares do not add up to 1, a length is not finite and positive, or a radius is
        negative.
    """

    segments: tuple[Segment, ...]
    tether_m: float

    def __post_init__(self) -> None:
        if not (isfinite(self.tether_m) and self.tether_m > 0):
            raise ValueError(f"a tether must have a positive length, got {self.tether_m} m")
        if not self.segments:
            raise ValueError("a pattern needs at least one segment")
        if any(segment.share <= 0 for segment in self.segments):
            raise ValueError("every segment takes a positive share of the cycle")
        total = sum((segment.share for segment in self.segments), Fraction(0))
        if total != 1:
            raise ValueError(f"the shares of the segments must add up to 1, got {total}")
        for segment in self.segments:
            check_path(segment.hand)

    @cached_property
    def starts(self) -> tuple[Fraction, ...]:
        """Phase at which each segment begins."""
        starts = [Fraction(0)]
        for segment in self.segments[:-1]:
            starts.append(starts[-1] + segment.share)
        return tuple(starts)

    @cached_property
    def hand_turns(self) -> Fraction:
        """Net turns of the hand along its arcs in one cycle, signed."""
        arcs = (s.hand.turns for s in self.segments if isinstance(s.hand, Arc))
        return sum(arcs, Fraction(0))

    @cached_property
    def head_turns(self) -> Fraction:
        """Net turns of the head in the room in one cycle, signed; swings that return add 0."""
        spins = (s.head.turns for s in self.segments if isinstance(s.head, Spin))
        return sum(spins, Fraction(0))

    @cached_property
    def downbeats(self) -> tuple[Fraction, ...]:
        """Phases in [0, 1), rising, at which the tether points straight down while turning.

        Exact wherever the instant is rational; see :meth:`tether_passes`.
        """
        return tuple(sorted({found.phase for found in self.tether_passes(DOWN)}))

    def tether_passes(self, direction: Fraction) -> "tuple[TetherPass, ...]":
        """When in one cycle, and in which sense, the tether points in a direction while turning.

        A tether that turns to the direction and rests there passes it once, on arriving.
        Exact in a spin. In a swing the instant is rational only for sines 0, 1/2 and 1 (Niven's
        theorem); other instants are given to 1e-12 of the segment.
        """
        return self._down_passes if direction == DOWN else self._passes(direction)

    @cached_property
    def _down_passes(self) -> "tuple[TetherPass, ...]":
        """Kept: whatever sets hands against each other and counts beats begins with these."""
        return self._passes(DOWN)

    def _passes(self, direction: Fraction) -> "tuple[TetherPass, ...]":
        found: list[TetherPass] = []
        for index, (start, segment) in enumerate(zip(self.starts, self.segments, strict=True)):
            before = self.segments[index - 1].head
            if is_at_rest(segment.head) and not is_at_rest(before):
                place, _ = tether_at(segment.head, Fraction(0))
                if (place - direction) % 1 == 0:
                    found.append(TetherPass(start, tether_at(before, Fraction(1))[1]))
            for passed, sense in passes(segment.head, direction):
                if passed > 0 or not is_at_rest(before):
                    found.append(TetherPass(start + segment.share * passed, sense))
        return tuple(sorted(found, key=lambda one: one.phase))

    def tether_at(self, phase: Fraction) -> tuple[Fraction, int]:
        """Direction of the tether in turns, and the sense it turns in: +1, -1, or 0 at rest.

        At a joint the later segment holds.
        """
        phase = phase % 1
        index = bisect_right(self.starts, phase) - 1
        segment = self.segments[index]
        return tether_at(segment.head, (phase - self.starts[index]) / segment.share)

    @cached_property
    def is_one_rule(self) -> bool:
        """Whether one hand path and one head motion hold all through, however it may be cut."""
        return all(carries_on(one, two) for one, two in itertools.pairwise(self.segments))


@dataclass(frozen=True, slots=True)
class TetherPass:
    """An instant at which the tether points in a direction that was asked for."""

    phase: Fraction
    sense: int
    """+1 turning counter-clockwise, -1 clockwise, 0 at the turning point of a swing."""
