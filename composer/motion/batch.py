"""Tens of thousands of hybrids told apart at once: the rules of one pair, on arrays.

The rules are those of :mod:`composer.motion.relation` and :mod:`composer.motion.family`; a
hybrid is a pair of numbers into a list of parts.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from composer.motion.family import AT_HAND_M, LEVEL_M, is_composite, is_unit_circle
from composer.motion.hands import HandTrack
from composer.motion.kinematics import Floats, track_motion
from composer.motion.pattern import DOWN, Pattern
from composer.motion.sampled import Ints, Part, heads_apart, heads_to_hands_within, sampled
from composer.motion.trochoid import trochoid_of

Flags = NDArray[np.bool_]

_DOWN = float(DOWN)
_SAME_TURNS = 1e-7
"""Angles nearer than this are one angle: instants are exact, only angles at them are computed."""
_INSTANTS_AT_ONCE = 2**18


@dataclass(frozen=True, slots=True)
class HybridRows:
    """What each pair is, each array shape=(n,); counts are for the common cycle.

    A timing is the left one's share of a turn from down when the right one is down, nan where
    there is none: a hand that does not circle, a relation that is a sequence.
    """

    closing_turns: Ints
    """Hand turns in the common cycle; of hands that make none, its cycles."""
    right_downbeats: Ints
    left_downbeats: Ints
    hands_sense: Ints
    """+1 same, -1 opposite, 0 where one does not circle."""
    hand_timing: Floats
    heads_sense: Ints
    """+1 same, -1 opposite, 0 where one is at rest or the relation is a sequence."""
    head_timing: Floats
    unit_circle: Flags
    equal_downbeat_flowers: Flags
    composite: Flags
    head_to_hand: Flags
    polyrhythm: Flags
    nearest_heads_m: Floats
    furthest_heads_m: Floats


def classify(parts: Sequence[Part], right: Ints, left: Ints) -> HybridRows:
    """Relations, downbeats, families and distances of pairs of parts.

    Parameters
    ----------
    parts : sequence of Part
        What hands do, each over the whole common cycle of the pairs it is in.
    right, left : np.ndarray, shape=(n,)
        Numbers into ``parts``.

    Raises
    ------
    ValueError
        If the two have unequally many rows.
    """
    if len(right) != len(left):
        raise ValueError(f"{len(right)} right hands and {len(left)} left hands are no pairs")
    table = _Table.of(parts)
    hands_sense, hand_timing = _hand_relations(table, right, left)
    heads_sense, head_timing = _head_relations(parts, right, left)
    nearest, furthest, to_hand = _distances(parts, right, left)
    beats = table.downbeats[right], table.downbeats[left]
    return HybridRows(
        closing_turns=np.maximum(table.closing[right], table.closing[left]),
        right_downbeats=beats[0],
        left_downbeats=beats[1],
        hands_sense=hands_sense,
        hand_timing=hand_timing,
        heads_sense=heads_sense,
        head_timing=head_timing,
        unit_circle=table.unit[right] & table.unit[left],
        equal_downbeat_flowers=_are_equal_downbeat_flowers(table, right, left),
        composite=table.composite[right] | table.composite[left],
        head_to_hand=to_hand,
        polyrhythm=beats[0] != beats[1],
        nearest_heads_m=nearest,
        furthest_heads_m=furthest,
    )


# ------------------------------------------------------------------ of each part by itself


@dataclass(frozen=True, slots=True)
class _Table:
    """What is counted of each part, each array shape=(parts,)."""

    downbeats: Ints
    closing: Ints
    unit: Flags
    composite: Flags
    flower: Flags
    """A head turning more than once for each turn of its circling hand."""
    ratio: NDArray[np.int64]
    """Head turns and hand turns in lowest terms, shape=(parts, 2); (0, 1) of what is no flower."""
    hand_turns: Ints
    """Signed, in the common cycle; 0 of a hand that does not run evenly on a circle."""
    hand_start: Floats
    """Where the hand is on its circle as the common cycle starts, turns."""

    @classmethod
    def of(cls, parts: Sequence[Part]) -> "_Table":
        known: dict[Pattern, tuple[bool, bool]] = {}
        rows = []
        for part in parts:
            pattern = part.track.pattern
            if pattern not in known:
                known[pattern] = is_unit_circle(pattern), is_composite(pattern)
            rows.append((*_counted(part.track), *known[pattern]))
        columns = zip(*rows, strict=True) if rows else [()] * 9
        beats, closing, flower, p, q, turns, start, unit, composite = columns
        return cls(
            _ints(beats), _ints(closing), _flags(unit), _flags(composite), _flags(flower),
            np.array([p, q], dtype=np.int64).T, _ints(turns), np.array(start, dtype=float),
        )  # fmt: skip


def _counted(track: HandTrack) -> tuple[int, int, bool, int, int, int, float]:
    """Downbeats, closing turns, whether a flower, its ratio, its hand's turns and their start."""
    turned = int(abs(track.pattern.hand_turns) * track.cycles)
    closing = max(1, turned, track.cycles)
    shape = trochoid_of(track.pattern)
    if shape is None or shape.radius_m <= 0:
        return track.downbeat_count, closing, False, 0, 1, 0, 0.0
    turns = shape.direction * shape.hand_turns
    start = float((shape.hand_start_turns + turns * track.offset) % 1)
    is_flower = abs(shape.ratio) > 1 and shape.petals > 0
    p, q = (shape.ratio.numerator, shape.ratio.denominator) if is_flower else (0, 1)
    return track.downbeat_count, closing, is_flower, p, q, turns * track.cycles, start


def _ints(values: Sequence[int]) -> Ints:
    return np.array(values, dtype=np.int64)


def _flags(values: Sequence[bool]) -> Flags:
    return np.array(values, dtype=bool)


# ------------------------------------------------------------------ relations


def _hand_relations(table: _Table, right: Ints, left: Ints) -> tuple[Ints, Floats]:
    """Sense and timing of hands that circle at one rate; hands at unlike rates have no one."""
    one, two = table.hand_turns[right], table.hand_turns[left]
    sense = np.sign(one * two)
    timing = _timing(table.hand_start[right], table.hand_start[left], sense)
    steady = (sense != 0) & (np.abs(one) == np.abs(two))
    return np.where(steady, sense, 0), np.where(steady, timing, np.nan)


def _timing(right: Floats, left: Floats, sense: Ints) -> Floats:
    """Left's share of a turn from down when right is down."""
    mirrored = np.where(sense < 0, -1.0, 1.0)
    return _wrapped((left - _DOWN) - mirrored * (right - _DOWN))


def _wrapped(turns: Floats) -> Floats:
    """In [0, 1), with what is as good as a whole turn at 0."""
    within = turns - np.floor(turns + _SAME_TURNS)
    return np.maximum(within, 0.0)


def _head_relations(parts: Sequence[Part], right: Ints, left: Ints) -> tuple[Ints, Floats]:
    """Sense and timing that the heads keep at every downbeat of either; 0 and nan if none."""
    downbeats = [part.track.downbeats for part in parts]
    shares = sorted({share for beats in downbeats for share in beats})
    number = {share: index for index, share in enumerate(shares)}
    is_down = np.zeros((len(parts), len(shares)), dtype=bool)
    for index, beats in enumerate(downbeats):
        is_down[index, [number[share] for share in beats]] = True
    places, senses = _heads_at([part.track for part in parts], shares)
    sense, timing = np.zeros(len(right), dtype=np.int64), np.full(len(right), np.nan)
    step = max(1, _INSTANTS_AT_ONCE // max(1, len(shares)))
    for start in range(0, len(right), step):
        some = slice(start, start + step)
        sense[some], timing[some] = _steady(is_down, places, senses, right[some], left[some])
    return sense, timing


def _steady(
    is_down: Flags, places: Floats, senses: Ints, right: Ints, left: Ints
) -> tuple[Ints, Floats]:
    """The one relation of each pair, where it is the same at all its downbeats."""
    counts = is_down[right] | is_down[left]
    if not counts.shape[1]:
        return np.zeros(len(right), dtype=np.int64), np.full(len(right), np.nan)
    both = senses[right] * senses[left]
    timing = _timing(places[right], places[left], both)
    first = counts.argmax(axis=1)[:, None]
    sense_there = np.take_along_axis(both, first, axis=1)
    timing_there = np.take_along_axis(timing, first, axis=1)
    off = np.abs((timing - timing_there + 0.5) % 1 - 0.5) > _SAME_TURNS
    steady = ~np.any(counts & (off | (both != sense_there)), axis=1) & counts.any(axis=1)
    moving = sense_there[:, 0] != 0
    return (
        np.where(steady & moving, sense_there[:, 0], 0),
        np.where(steady, timing_there[:, 0], np.nan),
    )


def _heads_at(tracks: Sequence[HandTrack], shares: Sequence[Fraction]) -> tuple[Floats, Ints]:
    """Where every tether points after exact shares, in turns, and its sense of turning."""
    passed = np.array([float(share) for share in shares])
    places, senses = np.empty((2, len(tracks), len(shares)))
    for index, track in enumerate(tracks):
        motion = track_motion(track, _off_the_joints(track, passed))
        places[index] = motion.tether_turns
        slowest = 1e-6 * np.abs(motion.tether_rate).max(initial=1.0)
        senses[index] = np.where(np.abs(motion.tether_rate) > slowest, motion.tether_rate, 0)
    return places, np.sign(senses).astype(np.int64)


def _off_the_joints(track: HandTrack, passed: Floats) -> Floats:
    """The same instants, just after a joint where rounding might have put them just before."""
    joints = np.array([float((start - track.offset) % 1) for start in track.pattern.starts])
    own = track.cycles * passed
    nearest = (own[:, None] - joints + 0.5) % 1 - 0.5
    at_joint = np.any(np.abs(nearest) < 1e-9, axis=1)
    return np.where(at_joint, passed + 2e-9 / track.cycles, passed)


# ------------------------------------------------------------------ families and distances


def _are_equal_downbeat_flowers(table: _Table, right: Ints, left: Ints) -> Flags:
    one, two = table.ratio[right], table.ratio[left]
    equal = (np.abs(one) == np.abs(two)).all(axis=1) & (one[:, 0] != two[:, 0])
    turns = np.abs(table.hand_turns[right]) == np.abs(table.hand_turns[left])
    return np.asarray(table.flower[right] & table.flower[left] & equal & turns)


def _distances(parts: Sequence[Part], right: Ints, left: Ints) -> tuple[Floats, Floats, Flags]:
    """Nearest and furthest of the heads; whether a head stays at, or level with, the other hand."""
    nearest, furthest = np.empty((2, len(right)))
    to_hand = np.zeros(len(right), dtype=bool)
    instants = np.array([part.samples for part in parts])
    needed = np.maximum(instants[right], instants[left])
    for count in np.unique(needed):
        rows = np.flatnonzero(needed == count)
        used, numbers = np.unique(np.stack([right[rows], left[rows]]), return_inverse=True)
        some = sampled([parts[index] for index in used], int(count))
        pairs = numbers.reshape(2, len(rows))
        step = max(1, _INSTANTS_AT_ONCE // int(count))
        for start in range(0, len(rows), step):
            here, (one, two) = rows[start : start + step], pairs[:, start : start + step]
            nearest[here], furthest[here] = heads_apart(some, one, two)
            for head, hand in ((one, two), (two, one)):
                to_hand[here] |= heads_to_hands_within(
                    some, head, hand, whole_m=AT_HAND_M, level_m=LEVEL_M
                )
    return nearest, furthest, to_hand
