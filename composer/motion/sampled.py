"""Many hands sampled side by side over their common cycles, and how far apart two heads are.

A hand takes part in many hybrids, so it is sampled once and met by number. Distances found on
samples are refined between them by the velocities there, which are analytic.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from composer.motion.hands import HandTrack
from composer.motion.kinematics import Complexes, Floats, track_motion
from composer.motion.pattern import TAU, Arc, Spin
from composer.motion.segment import Segment

Ints = NDArray[np.int64]

SAMPLES_A_TURN = 16
"""Of the fastest turning part: refined from there, distances come within a millimetre or so."""
FEWEST_SAMPLES = 128
_MOST_SAMPLES = 4096


@dataclass(frozen=True, slots=True)
class Part:
    """What one hand does in a hybrid: its track, and how far it is out of the shared plane."""

    track: HandTrack
    aside_m: Callable[[Floats], Floats] | None = None
    """After shares of the common cycle, shape=(n,); None: it never leaves the plane."""

    @property
    def samples(self) -> int:
        """Instants of the common cycle that show all it does: a power of two."""
        wanted = SAMPLES_A_TURN * self.track.cycles * _fastest_turns(self.track)
        return int(np.clip(2 ** int(np.ceil(np.log2(wanted))), FEWEST_SAMPLES, _MOST_SAMPLES))


def _fastest_turns(track: HandTrack) -> float:
    """Turns a cycle at the pace of the quickest segment, hand or head."""
    return max(1.0, *(_turns(segment) / float(segment.share) for segment in track.pattern.segments))


def _turns(segment: Segment) -> float:
    hand, head = segment.hand, segment.head
    if isinstance(head, Spin):
        turned = abs(float(head.turns))
    else:
        turned = TAU * abs(float(head.amplitude_turns * head.cycles))
    return max(turned, abs(float(hand.turns)) if isinstance(hand, Arc) else 0.0)


@dataclass(frozen=True, slots=True)
class Sampled:
    """Parts at even instants of the common cycle, each shape=(parts, instants); rates per cycle."""

    hand_m: Complexes
    head_m: Complexes
    velocity: Complexes
    """Of the head."""
    aside_m: Floats | None
    """None where no part leaves the plane."""


def sampled(parts: Sequence[Part], instants: int) -> Sampled:
    """Every part at so many even instants from 0."""
    passed = np.arange(instants) / instants
    motions = [track_motion(part.track, passed) for part in parts]
    aside = None
    if any(part.aside_m is not None for part in parts):
        flat = np.zeros(instants)
        aside = np.array([flat if p.aside_m is None else p.aside_m(passed) for p in parts])
    return Sampled(
        np.array([motion.hand_m for motion in motions]),
        np.array([motion.head_m for motion in motions]),
        np.array([motion.head_velocity for motion in motions]),
        aside,
    )


def heads_apart(parts: Sampled, right: Ints, left: Ints) -> tuple[Floats, Floats]:
    """Nearest and furthest the heads of pairs of parts come in the common cycle, metres."""
    gaps = parts.head_m[right] - parts.head_m[left]
    squared = gaps.real**2 + gaps.imag**2
    if parts.aside_m is not None:
        squared += (parts.aside_m[right] - parts.aside_m[left]) ** 2
    return _extreme(parts, right, left, squared, 1), _extreme(parts, right, left, squared, -1)


def heads_to_hands_within(
    parts: Sampled, head: Ints, hand: Ints, *, whole_m: float, level_m: float
) -> NDArray[np.bool_]:
    """Whether a head is never further than ``whole_m`` from a hand, or ``level_m`` off its height.

    Looked at in the plane. A few instants rule out most pairs.
    """
    few = slice(None, None, max(1, parts.head_m.shape[1] // 16))
    maybe = np.flatnonzero(
        _stays(parts.head_m[:, few][head] - parts.hand_m[:, few][hand], whole_m, level_m)
    )
    found = np.zeros(len(head), dtype=bool)
    found[maybe] = _stays(parts.head_m[head[maybe]] - parts.hand_m[hand[maybe]], whole_m, level_m)
    return found


def _stays(gaps: Complexes, whole_m: float, level_m: float) -> NDArray[np.bool_]:
    level = np.abs(gaps.imag).max(axis=1, initial=0.0) <= level_m
    return np.asarray(level | (np.abs(gaps).max(axis=1, initial=0.0) <= whole_m))


def _extreme(parts: Sampled, right: Ints, left: Ints, squared: Floats, sign: int) -> Floats:
    """Least (sign 1) or greatest (-1) distance: on both sides of every low sample, by Newton.

    Between two instants the gap is the parabola through both with the speed after the first, so
    that a joint at an instant, where a hand turns back, is kept.
    """
    values = squared if sign > 0 else -squared
    row, valley = _valleys(values)
    first = np.concatenate([valley - 1, valley]) % values.shape[1]
    row = np.concatenate([row, row])
    one, two = right[row], left[row]
    begin, way = _steps(parts.head_m, one, two, first)
    speed = (parts.velocity[one, first] - parts.velocity[two, first]) / values.shape[1]
    bend = way - speed
    if parts.aside_m is None:
        out = rise = np.zeros(len(first))
    else:
        out, rise = _steps(parts.aside_m, one, two, first)
    time = np.full(len(first), 0.5)
    for _ in range(4):
        gap, pace = begin + (speed + bend * time) * time, speed + 2 * bend * time
        slope = (np.conj(gap) * pace).real + (out + rise * time) * rise
        curve = np.abs(pace) ** 2 + 2 * (np.conj(gap) * bend).real + rise**2
        shift = np.divide(slope, curve, out=np.zeros_like(slope), where=sign * curve > 1e-12)
        time = np.clip(time - shift, 0.0, 1.0)
    gap = begin + (speed + bend * time) * time
    found = values.min(axis=1)
    np.minimum.at(found, row, sign * (np.abs(gap) ** 2 + (out + rise * time) ** 2))
    return np.asarray(np.sqrt(np.maximum(sign * found, 0.0)))


def _valleys(values: Floats) -> tuple[Ints, Ints]:
    """Rows and instants no higher than both neighbours, and low enough to hold the lowest value.

    Left out: those from which a parabola three times as deep as the one through the three samples
    would not come down to the lowest sample.
    """
    around = np.concatenate([values[:, -1:], values, values[:, :1]], axis=1)
    row, instant = np.nonzero((values <= around[:, :-2]) & (values <= around[:, 2:]))
    middle, before, after = values[row, instant], around[row, instant], around[row, instant + 2]
    bend = before + after - 2 * middle
    lower = np.divide((before - after) ** 2, 8 * bend, out=np.zeros_like(bend), where=bend > 0)
    low = middle - 3 * lower - 0.01 * np.abs(middle) <= values.min(axis=1)[row]
    return row[low], instant[low]


_Number = TypeVar("_Number", np.float64, np.complex128)


def _steps(
    values: NDArray[_Number], one: Ints, two: Ints, first: Ints
) -> tuple[NDArray[_Number], NDArray[_Number]]:
    """Differences of two parts at some instants, and by how much they change until the next."""
    after = (first + 1) % values.shape[1]
    begin = values[one, first] - values[two, first]
    return begin, values[one, after] - values[two, after] - begin
