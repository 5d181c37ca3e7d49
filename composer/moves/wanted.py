"""Choosing among many hybrids: by what they are, and by what they ask at a tempo."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from composer.motion.batch import Flags
from composer.motion.body import Body, Prop
from composer.motion.family import Family
from composer.motion.kinematics import Floats, track_motion, unit
from composer.motion.placed_plane import PlacedPlane
from composer.motion.sampled import Ints, Part
from composer.motion.tension import gravity_in
from composer.moves.explore import Candidates, family_flags
from composer.moves.model import Relation

SAME_TIMING = 1e-6
"""Turns; timings are plain fractions, found on arrays to a ten-millionth."""


@dataclass(frozen=True, slots=True)
class AtTempo:
    """What the hands and tethers of candidates would have to do at a tempo; shape=(n,)."""

    hand_turns_per_s: Floats
    hand_speed_m_s: Floats
    """Of the faster hand."""
    head_speed_m_s: Floats
    """Most that the faster head reaches."""
    right_pull: Floats
    """Lowest pull of the right tether for each kilogram, m/s^2: below 0 it would hang slack."""
    left_pull: Floats

    def feasible(self, body: Body, props: tuple[Prop, Prop]) -> Flags:
        """Tethers taut throughout, and the hands within what the body does comfortably."""
        comfort = body.comfort
        taut = np.ones(len(self.hand_speed_m_s), dtype=bool)
        for prop, pull in zip(props, (self.right_pull, self.left_pull), strict=True):
            taut &= (pull >= 0) | (not prop.is_tether)
        return np.asarray(
            taut
            & (self.hand_turns_per_s <= comfort.hand_turns_per_s)
            & (self.hand_speed_m_s <= comfort.hand_speed_m_s)
        )


def at_tempo(found: Candidates, bpm: float, rate: Fraction) -> AtTempo:
    """Speeds and pulls at a tempo, ``rate`` downbeats of the busier hand for each beat."""
    busier = np.maximum(found.rows.right_downbeats, found.rows.left_downbeats)
    cycle_s = np.maximum(busier, 1) / float(rate) * 60 / bpm
    plane = PlacedPlane(found.moves[0].plane)
    loads = _loads(found.parts, gravity_in(plane))
    pair = found.right_part, found.left_part
    return AtTempo(
        hand_turns_per_s=np.maximum(*(loads.hand_turns[part] for part in pair)) / cycle_s,
        hand_speed_m_s=np.maximum(*(loads.hand_speed[part] for part in pair)) / cycle_s,
        head_speed_m_s=np.maximum(*(loads.head_speed[part] for part in pair)) / cycle_s,
        right_pull=loads.least_pull(pair[0], cycle_s),
        left_pull=loads.least_pull(pair[1], cycle_s),
    )


_INSTANTS = 256


@dataclass(frozen=True, slots=True)
class _Loads:
    """What each part asks of hand and tether, for a common cycle of one second."""

    hand_turns: Floats
    """Net turns of the hand, without their sign, shape=(parts,); so too the speeds."""
    hand_speed: Floats
    head_speed: Floats
    weight: Floats
    """Of gravity along the tether, m/s^2, shape=(parts, _INSTANTS)."""
    swing: Floats
    """Of the head's own motion along the tether; goes with 1/s^2."""

    def least_pull(self, part: Ints, cycle_s: Floats) -> Floats:
        """Lowest of weight + swing / cycle^2, shape=(n,); each part and cycle is taken once."""
        asked, which = np.unique(np.stack([part, cycle_s]), axis=1, return_inverse=True)
        of, lasting = asked[0].astype(np.int64), asked[1]
        least = (self.weight[of] + self.swing[of] / lasting[:, None] ** 2).min(axis=1)
        return np.asarray(least[which.ravel()])


def _loads(parts: Sequence[Part], gravity: complex) -> _Loads:
    passed = np.arange(_INSTANTS) / _INSTANTS
    motions = [track_motion(part.track, passed) for part in parts]
    spokes = [np.conj(unit(motion.tether_turns)) for motion in motions]
    return _Loads(
        np.array([abs(float(p.track.pattern.hand_turns)) * p.track.cycles for p in parts]),
        np.array([np.abs(motion.hand_velocity).max() for motion in motions]),
        np.array([np.abs(motion.head_velocity).max() for motion in motions]),
        np.array([(spoke * gravity).real for spoke in spokes]).reshape(-1, _INSTANTS),
        np.array(
            [-(s * m.head_acceleration).real for s, m in zip(spokes, motions, strict=True)]
        ).reshape(-1, _INSTANTS),
    )


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is sought; a field left at None does not count."""

    families: frozenset[Family] = frozenset()
    """All of these."""
    downbeats: int | None = None
    """Of the busier hand in the common cycle."""
    closing_turns: int | None = None
    """Hand turns in the common cycle."""
    heads: Relation | None = None
    """A relation the heads keep throughout."""
    clearance_m: float | None = None
    """Heads never nearer than this."""
    most_points: float | None = None
    feasible: bool = False
    """Taut, and the hands comfortable, at the tempo that is given beside."""


def chosen(found: Candidates, wanted: Wanted) -> NDArray[np.int64]:
    """Numbers of the candidates that are as wanted, the easiest first."""
    rows = found.rows
    keep, flags = np.ones(len(found), dtype=bool), family_flags(rows)
    for family in wanted.families:
        keep &= flags.get(family, np.zeros(len(found), dtype=bool))
    if wanted.downbeats is not None:
        keep &= np.maximum(rows.right_downbeats, rows.left_downbeats) == wanted.downbeats
    if wanted.closing_turns is not None:
        keep &= rows.closing_turns == wanted.closing_turns
    if wanted.heads is not None:
        sense = 1 if wanted.heads.direction == "same" else -1
        keep &= np.abs(rows.head_timing - float(wanted.heads.timing)) < SAME_TIMING
        keep &= rows.heads_sense == sense
    if wanted.clearance_m is not None:
        keep &= rows.nearest_heads_m >= wanted.clearance_m
    if wanted.most_points is not None:
        keep &= found.points <= wanted.most_points + 1e-9
    numbers = np.flatnonzero(keep)
    return numbers[np.argsort(found.points[numbers], kind="stable")]
