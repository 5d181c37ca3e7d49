"""Choosing among many hybrids: by what they are, and by what they ask at a tempo."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from composer.motion.batch import TICKS, EvenHands, Flags, HybridRows, ticks
from composer.motion.body import Body, Prop
from composer.motion.family import Family
from composer.motion.gravity import G
from composer.motion.pattern import Floats
from composer.motion.trochoid import SAME_M
from composer.moves.explore import Candidates
from composer.moves.model import Relation


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
    """Speeds and pulls at a tempo, ``rate`` downbeats of the busier hand for each beat.

    An upright plane is taken.
    """
    busier = np.maximum(found.rows.right_downbeats, found.rows.left_downbeats)
    turning_hz = bpm / 60 * float(rate) * found.rows.closing_turns / busier
    omega = 2 * np.pi * turning_hz
    hands = (found.right_hands, found.left_hands)
    moving = [hand.radius_m > SAME_M for hand in hands]
    lead = [np.abs(hand.head_turns) / hand.hand_turns * hand.tether_m for hand in hands]
    radius = [
        np.where(moves, hand.radius_m, 0.0) for hand, moves in zip(hands, moving, strict=True)
    ]
    fastest = [omega * (r + length) for r, length in zip(radius, lead, strict=True)]
    return AtTempo(
        hand_turns_per_s=np.where(moving[0] | moving[1], turning_hz, 0.0),
        hand_speed_m_s=omega * np.maximum(*radius),
        head_speed_m_s=np.maximum(*fastest),
        right_pull=_least_pull(hands[0], omega),
        left_pull=_least_pull(hands[1], omega),
    )


_INSTANTS = 64


def _least_pull(hand: EvenHands, omega: Floats) -> Floats:
    """Least of -g sin(theta) + w^2 R cos(phi - theta) + (n w)^2 L over a closure; shape=(n,)."""
    ratio = hand.head_turns / hand.hand_turns
    share = np.arange(_INSTANTS) / _INSTANTS
    least = np.empty(len(hand))
    for start in range(0, len(hand), 4096):
        some = slice(start, start + 4096)
        turned = share * (hand.direction * hand.hand_turns)[some, None]
        spun = share * (hand.direction * hand.head_turns)[some, None]
        phi = 2 * np.pi * (hand.hand_start[some, None] / TICKS + turned)
        theta = 2 * np.pi * (hand.tether_start[some, None] / TICKS + spun)
        carried = (omega[some] ** 2 * hand.radius_m[some])[:, None] * np.cos(phi - theta)
        spin = ((ratio[some] * omega[some]) ** 2 * hand.tether_m[some])[:, None]
        least[some] = (carried + spin - G * np.sin(theta)).min(axis=1)
    return least


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
    keep = np.ones(len(found), dtype=bool)
    for family in wanted.families:
        keep &= np.array(_family_flag(rows, family))
    if wanted.downbeats is not None:
        keep &= np.maximum(rows.right_downbeats, rows.left_downbeats) == wanted.downbeats
    if wanted.closing_turns is not None:
        keep &= rows.closing_turns == wanted.closing_turns
    if wanted.heads is not None:
        keep &= rows.head_timing == ticks(wanted.heads.timing)
        keep &= rows.heads_same == (wanted.heads.direction == "same")
    if wanted.clearance_m is not None:
        keep &= rows.nearest_heads_m >= wanted.clearance_m
    if wanted.most_points is not None:
        keep &= found.points <= wanted.most_points + 1e-9
    numbers = np.flatnonzero(keep)
    return numbers[np.argsort(found.points[numbers], kind="stable")]


def _family_flag(rows: HybridRows, family: Family) -> Flags:
    flags = {
        Family.UNIT_CIRCLE: rows.unit_circle,
        Family.EQUAL_DOWNBEATS: rows.equal_downbeat_flowers,
        Family.HEAD_TO_HAND: rows.head_to_hand,
        Family.POLYRHYTHM: rows.polyrhythm,
    }
    return flags.get(family, np.zeros(len(rows.polyrhythm), dtype=bool))
