"""How near heads, hands and tethers of two hands come to each other, and when.

Positions are compared in the room, so the two patterns may lie in different planes, or leave them
as a weave does; with both in one plane every crossing of the tethers counts as touching.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from functools import partial
from typing import Literal, TypeAlias

import numpy as np

from composer.motion.body import Prop
from composer.motion.hands import HandTrack, TwoHands
from composer.motion.kinematics import Floats, track_motion
from composer.motion.measures import samples
from composer.motion.placed_plane import PlacedPlane
from composer.motion.search import local_peaks

HAND_RADIUS_M = 0.05
"""A fist about its middle: ours, a round figure."""
TOUCH_M = 1e-7
"""Heads nearer than this, by computation, meet."""


class Parts(StrEnum):
    """Which two things come near each other."""

    HEADS = "head and head"
    RIGHT_HEAD_LEFT_HAND = "right head and left hand"
    LEFT_HEAD_RIGHT_HAND = "left head and right hand"
    RIGHT_HEAD_LEFT_TETHER = "right head and left tether"
    LEFT_HEAD_RIGHT_TETHER = "left head and right tether"
    TETHERS = "tether and tether"
    HANDS = "hand and hand"


RoomPath: TypeAlias = Callable[[Floats], tuple[Floats, Floats]]
"""Hand and head in the room after shares of the common cycle, each shape=(n, 3)."""


@dataclass(frozen=True, slots=True)
class Planes:
    """Where each hand's pattern lies."""

    right: PlacedPlane = field(default_factory=PlacedPlane)
    left: PlacedPlane = field(default_factory=PlacedPlane)


@dataclass(frozen=True, slots=True)
class RoomPair:
    """Two hands by their ways through the room, over one common cycle that closes."""

    right: RoomPath
    left: RoomPath
    samples: int
    """Instants of the cycle at which to look before refining."""


def room_pair(two: TwoHands, planes: Planes | None = None) -> RoomPair:
    """Two patterns laid into their planes; left out, both lie in the wall plane, one origin."""
    planes = planes or Planes()
    count = sum(
        track.cycles * samples(track.pattern, index)
        for track in (two.right, two.left)
        for index in range(len(track.pattern.segments))
    )
    return RoomPair(
        partial(_in_plane, two.right, planes.right),
        partial(_in_plane, two.left, planes.left),
        count,
    )


@dataclass(frozen=True, slots=True)
class Approach:
    """The nearest two parts come in a common cycle, and the first instant they do."""

    parts: Parts
    distance_m: float
    passed: Fraction


@dataclass(frozen=True, slots=True)
class Extremes:
    """Least and greatest distance of two parts, and every instant of each, as shares of the cycle.

    A distance that never changes has no instants.
    """

    nearest_m: float
    nearest_at: tuple[Fraction, ...]
    furthest_m: float
    furthest_at: tuple[Fraction, ...]

    @property
    def is_constant(self) -> bool:
        return not self.nearest_at


@dataclass(frozen=True, slots=True)
class Risk:
    """Two parts that come nearer than their sizes and a margin allow."""

    kind: Literal["hit", "tangle"]
    parts: Parts
    clearance_m: float
    """Distance between their surfaces; negative where they would overlap."""
    passed: Fraction


def distances_m(pair: RoomPair, parts: Parts, passed: Floats) -> Floats:
    """Distance between two parts after shares of the common cycle, shape=(n,)."""
    right_hand, right_head = pair.right(passed)
    left_hand, left_head = pair.left(passed)
    match parts:
        case Parts.HEADS:
            return _length(right_head - left_head)
        case Parts.HANDS:
            return _length(right_hand - left_hand)
        case Parts.RIGHT_HEAD_LEFT_HAND:
            return _length(right_head - left_hand)
        case Parts.LEFT_HEAD_RIGHT_HAND:
            return _length(left_head - right_hand)
        case Parts.RIGHT_HEAD_LEFT_TETHER:
            return _to_segment(right_head, left_hand, left_head)
        case Parts.LEFT_HEAD_RIGHT_TETHER:
            return _to_segment(left_head, right_hand, right_head)
        case Parts.TETHERS:
            return _segment_to_segment(right_hand, right_head, left_hand, left_head)


def extremes(two: TwoHands | RoomPair, parts: Parts, planes: Planes | None = None) -> Extremes:
    """When two parts are nearest and furthest, sought over the whole common cycle and refined."""
    pair = two if isinstance(two, RoomPair) else room_pair(two, planes)
    nearest, near_at = _lowest(pair, parts)
    furthest, far_at = _tops(lambda passed: distances_m(pair, parts, passed), pair.samples)
    if furthest - nearest < TOUCH_M:
        return Extremes(nearest, (), furthest, ())
    return Extremes(nearest, near_at, furthest, far_at)


def meetings(two: TwoHands | RoomPair, planes: Planes | None = None) -> tuple[Fraction, ...]:
    """Shares of the common cycle at which the heads meet; empty if never, or if always together."""
    heads = extremes(two, Parts.HEADS, planes)
    return heads.nearest_at if heads.nearest_m < TOUCH_M else ()


def nearest_approaches(
    two: TwoHands | RoomPair, planes: Planes | None = None
) -> tuple[Approach, ...]:
    """The nearest approach of every pair of parts, the hands' own included."""
    pair = two if isinstance(two, RoomPair) else room_pair(two, planes)
    found = []
    for parts in Parts:
        nearest_m, instants = _lowest(pair, parts)
        found.append(Approach(parts, nearest_m, instants[0]))
    return tuple(found)


def risks(
    two: TwoHands | RoomPair,
    *,
    right: Prop,
    left: Prop,
    planes: Planes | None = None,
    margin_m: float = 0.02,
) -> tuple[Risk, ...]:
    """Hits and tangles to expect if both are flown exactly as drawn.

    A hit: a head comes within its own size and a margin of the other head or hand. A tangle: it
    comes so near the other tether, or the tethers cross. Flown a little before or behind each
    other the same figures may well pass; this is a warning to look, not a verdict.
    """
    allowances = {
        Parts.HEADS: right.head_radius_m + left.head_radius_m,
        Parts.RIGHT_HEAD_LEFT_HAND: right.head_radius_m + HAND_RADIUS_M,
        Parts.LEFT_HEAD_RIGHT_HAND: left.head_radius_m + HAND_RADIUS_M,
        Parts.RIGHT_HEAD_LEFT_TETHER: right.head_radius_m,
        Parts.LEFT_HEAD_RIGHT_TETHER: left.head_radius_m,
        Parts.TETHERS: 0.0,
    }
    found = []
    for near in nearest_approaches(two, planes):
        allowance = allowances.get(near.parts)
        if allowance is not None and near.distance_m < allowance + margin_m:
            kind: Literal["hit", "tangle"] = "tangle" if "tether" in near.parts else "hit"
            found.append(Risk(kind, near.parts, near.distance_m - allowance, near.passed))
    return tuple(found)


def share_of_cycle(passed: float) -> Fraction:
    """An instant found by search as the plain fraction it stands for, where there is one."""
    plain = Fraction(passed).limit_denominator(960)
    if abs(float(plain) - passed) < 1e-7:
        return plain % 1
    return Fraction(passed).limit_denominator(10**9) % 1


def _lowest(pair: RoomPair, parts: Parts) -> tuple[float, tuple[Fraction, ...]]:
    """Least distance and its instants."""
    highest, instants = _tops(lambda passed: -distances_m(pair, parts, passed), pair.samples)
    return -highest, instants


def _tops(value: Callable[[Floats], Floats], count: int) -> tuple[float, tuple[Fraction, ...]]:
    """Greatest value over the cycle and all the instants at which it is reached."""
    step = 1 / count
    passed, reached = local_peaks(value, np.linspace(-step, 1 + step, count + 3))
    top = float(reached.max())
    instants = passed[reached > top - TOUCH_M / 10]
    shares = sorted({share_of_cycle(float(instant) % 1.0) for instant in instants})
    return top, _apart(shares, step)


def _apart(shares: Sequence[Fraction], step: float) -> tuple[Fraction, ...]:
    """Instants with those left out that lie within a sampling step of the one before.

    Around the end of the cycle both sides are told as the same share, so none is doubled there.
    """
    kept: list[Fraction] = []
    for share in shares:
        if not kept or share - kept[-1] > step:
            kept.append(share)
    return tuple(kept)


def _in_plane(track: HandTrack, plane: PlacedPlane, passed: Floats) -> tuple[Floats, Floats]:
    motion = track_motion(track, passed)
    return plane.place(motion.hand_m), plane.place(motion.head_m)


def _length(vectors: Floats) -> Floats:
    return np.asarray(np.linalg.norm(vectors, axis=-1))


def _dot(one: Floats, two: Floats) -> Floats:
    return np.asarray(np.sum(one * two, axis=-1))


def _to_segment(point: Floats, start: Floats, end: Floats) -> Floats:
    way = end - start
    along = np.clip(_dot(point - start, way) / _dot(way, way), 0.0, 1.0)
    return _length(point - start - along[:, None] * way)


def _segment_to_segment(a: Floats, b: Floats, c: Floats, d: Floats) -> Floats:
    """Least distance of segments ab and cd: at an end of one, or inside both."""
    ends = np.min(
        [_to_segment(a, c, d), _to_segment(b, c, d), _to_segment(c, a, b), _to_segment(d, a, b)],
        axis=0,
    )
    one, two, gap = b - a, d - c, a - c
    aa, bb, ab = _dot(one, one), _dot(two, two), _dot(one, two)
    ag, bg = _dot(one, gap), _dot(two, gap)
    spread = aa * bb - ab**2
    with np.errstate(divide="ignore", invalid="ignore"):
        s, t = (ab * bg - bb * ag) / spread, (aa * bg - ab * ag) / spread
        inside = (spread > 1e-15) & (s > 0) & (s < 1) & (t > 0) & (t < 1)
        between = _length(gap + s[:, None] * one - t[:, None] * two)
    return np.asarray(np.where(inside, np.minimum(between, ends), ends))
