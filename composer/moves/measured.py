"""Everything that can be computed of a move at a tempo: shape, timing, speeds, pulls, nearness."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from composer.motion.approach import Approach, Extremes, Parts, Risk, extremes, meetings
from composer.motion.approach import nearest_approaches as approaches
from composer.motion.approach import risks as risks_of
from composer.motion.body import Body, Prop
from composer.motion.continuity import joints
from composer.motion.family import Family, families
from composer.motion.gravity import (
    SwingFit,
    fit_swing,
    kinetic_energy_j,
    slowest_even_turning_hz,
    slowest_free_loop_s,
    small_swing_s,
)
from composer.motion.hands import Hand, HandTrack, TwoHands
from composer.motion.kinematics import Complexes, Floats, motion_at
from composer.motion.measures import (
    AtPhase,
    fastest,
    hardest,
    path_length_m,
    signed_area_m2,
    symmetry_order,
)
from composer.motion.pattern import Swing
from composer.motion.placed_plane import PlacedPlane
from composer.motion.relation import hand_relations, head_relations, relation_words
from composer.motion.tension import (
    hand_correction_m,
    pull_n,
    sideways_share_bound,
    taut_cycles,
    tension,
)
from composer.motion.trochoid import Outline, trochoid_of
from composer.moves.difficulty import Difficulty, difficulty
from composer.moves.model import Hybrid, Move
from composer.moves.perform import Performance
from composer.moves.reach import hand_reach_m

SHORTEST_SLACK = 1e-4
"""Shares of a cycle below which a tether is not called slack: rounding at a stall."""


@dataclass(frozen=True, slots=True)
class Peak:
    """A greatest or least value, and on which count from 1 it comes."""

    value: float
    count: float | None
    """None where the value is the same throughout."""


@dataclass(frozen=True, slots=True)
class Shape:
    """What an even pattern draws; petals are its outermost points."""

    petals: int
    tip_turns: tuple[Fraction, ...]
    outline: Outline | None
    through_centre: bool
    straight_sided: bool
    star: tuple[int, int] | None
    """{points/step} where tips are not visited in order."""


@dataclass(frozen=True, slots=True)
class HandMeasures:
    """One hand and its prop. Counts are beats from 1 at the tempo and rate that were asked for."""

    hand: Hand
    hand_turns: Fraction
    head_turns: Fraction
    closures: int
    """In the common cycle."""
    downbeats: tuple[Fraction, ...]
    shape: Shape | None
    symmetry_order: int
    path_length_m: float
    """Of the head in one closure, as ``area_m2``."""
    area_m2: float
    abrupt_joints: int
    hand_speed_m_s: Peak
    hand_acceleration_m_s2: Peak
    head_speed_m_s: Peak
    head_acceleration_m_s2: Peak
    energy_j: float
    """Most that the head carries."""
    reach_m: float
    least_pull_n: Peak
    greatest_pull_n: Peak
    slack: tuple[tuple[float, float], ...]
    """Stretches in which a tether would hang slack, as counts from and to."""
    taut_bpm: tuple[float, float] | None
    """Slowest and fastest tempo, at this rate, that keep it taut as drawn; None: none does."""
    correction_m: float
    """Furthest that the hand must leave its drawn path for a real head to draw the figure."""
    sideways_share: float | None
    """Most of the spin's pull that an even drawing asks for across the tether, which gives none;
    None for what is not drawn evenly, and for rigid props."""
    slowest_even_hz: float
    """Of this tether turned evenly on a still hand."""
    slowest_free_hz: float
    """Of this tether let run free round a still hand."""
    small_swing_s: float
    swing: SwingFit | None
    """Of a head that swings: how its swing there and back suits the tether."""


@dataclass(frozen=True, slots=True)
class PairMeasures:
    """Both hands together."""

    hands: str
    heads: str
    families: frozenset[Family]
    heads_apart: Extremes
    meetings: tuple[Fraction, ...]
    """Counts on which the heads meet."""
    furthest: tuple[Fraction, ...]
    """Counts on which they are furthest apart."""
    nearest: tuple[Approach, ...]
    risks: tuple[tuple[Risk, tuple[Fraction, ...]], ...]
    """Each with the counts on which it comes; no count where it lasts all the time."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A move at a tempo."""

    bpm: float
    rate: Fraction
    cycle_beats: Fraction
    cycle_s: float
    hands: tuple[HandMeasures, ...]
    pair: PairMeasures | None
    difficulty: Difficulty


def measured(
    move: Move,
    performance: Performance,
    body: Body,
    props: tuple[Prop, Prop],
    *,
    bpm: float = 120.0,
    rate: Fraction = Fraction(1),
) -> Measured:
    """Every measure of a move at ``rate`` downbeats of the busier hand for each beat.

    Raises
    ------
    ValueError
        If tempo or rate is not positive.
    """
    if not (np.isfinite(bpm) and bpm > 0):
        raise ValueError(f"a tempo must be positive, got {bpm}")
    cycle_beats = performance.cycle_beats(rate)
    cycle_s = float(cycle_beats) * 60 / bpm
    told = _Told(performance, cycle_beats, cycle_s, bpm)
    held = {Hand.RIGHT: props[0], Hand.LEFT: props[1]}
    two = performance.two_hands
    return Measured(
        bpm,
        rate,
        cycle_beats,
        cycle_s,
        tuple(told.hand(hand, held[hand], body) for hand in performance.tracks),
        None if two is None else told.pair(move, two, body, props),
        difficulty(performance, downbeats_hz=bpm / 60 * float(rate)),
    )


@dataclass(frozen=True, slots=True)
class _Told:
    """A performance at a tempo, to be told hand by hand."""

    performance: Performance
    cycle_beats: Fraction
    cycle_s: float
    bpm: float

    def hand(self, hand: Hand, prop: Prop, body: Body) -> HandMeasures:
        track = self.performance.tracks[hand]
        pattern, own_s = track.pattern, self.cycle_s / track.cycles
        plane = self.performance.placed_plane(hand)
        pulls = tension(pattern, prop, cycle_s=own_s, plane=plane)
        head_speed = fastest(pattern, "head", cycle_s=own_s)
        phases = np.linspace(0, 1, 360, endpoint=False)
        correction = hand_correction_m(pattern, phases, cycle_s=own_s, plane=plane)
        motion = motion_at(pattern, phases, cycle_s=own_s)
        pull = pull_n(motion, prop, plane)
        return HandMeasures(
            hand=hand,
            hand_turns=pattern.hand_turns,
            head_turns=pattern.head_turns,
            closures=track.cycles,
            downbeats=tuple(1 + passed * self.cycle_beats for passed in track.downbeats),
            shape=_shape(track),
            symmetry_order=symmetry_order(pattern),
            path_length_m=path_length_m(pattern),
            area_m2=signed_area_m2(pattern),
            abrupt_joints=sum(not joint.is_smooth for joint in joints(pattern)),
            hand_speed_m_s=self._peak(
                track, fastest(pattern, "hand", cycle_s=own_s), motion.hand_velocity
            ),
            hand_acceleration_m_s2=self._peak(
                track, hardest(pattern, "hand", cycle_s=own_s), motion.hand_acceleration
            ),
            head_speed_m_s=self._peak(track, head_speed, motion.head_velocity),
            head_acceleration_m_s2=self._peak(
                track, hardest(pattern, "head", cycle_s=own_s), motion.head_acceleration
            ),
            energy_j=kinetic_energy_j(prop.head_mass_kg, head_speed.value),
            reach_m=hand_reach_m(self.performance, hand, body),
            least_pull_n=self._peak(track, pulls.lowest_n, pull),
            greatest_pull_n=self._peak(track, pulls.highest_n, pull),
            slack=tuple(
                self._stretch(track, low, high)
                for low, high in pulls.slack
                if high - low > SHORTEST_SLACK
            ),
            taut_bpm=self._taut_bpm(track, plane) if prop.is_tether else (0.0, float("inf")),
            correction_m=float(np.linalg.norm(correction, axis=1).max()),
            sideways_share=_sideways_share(track, own_s) if prop.is_tether else None,
            slowest_even_hz=slowest_even_turning_hz(prop.length_m),
            slowest_free_hz=1 / slowest_free_loop_s(prop.length_m),
            small_swing_s=small_swing_s(prop.length_m),
            swing=_swing(track, prop, own_s),
        )

    def pair(self, move: Move, two: TwoHands, body: Body, props: tuple[Prop, Prop]) -> PairMeasures:
        tracing = move.tracing if isinstance(move, Hybrid) else None
        traced = tracing.metres_for(body, props[0]) if tracing is not None else None
        room = self.performance.room_pair
        assert room is not None
        apart = extremes(room, Parts.HEADS)
        return PairMeasures(
            hands=relation_words(hand_relations(two)),
            heads=relation_words(head_relations(two)),
            families=families(two, traced_m=traced),
            heads_apart=apart,
            meetings=self._counts(meetings(room)),
            furthest=self._counts(apart.furthest_at),
            nearest=approaches(room),
            risks=tuple(
                (risk, self._counts(extremes(room, risk.parts).nearest_at))
                for risk in risks_of(room, right=props[0], left=props[1])
            ),
        )

    def _counts(self, passed: tuple[Fraction, ...]) -> tuple[Fraction, ...]:
        return tuple(1 + share * self.cycle_beats for share in passed)

    def _peak(self, track: HandTrack, at: AtPhase, values: Complexes | Floats) -> Peak:
        sizes = np.abs(values)
        steady = float(np.ptp(sizes)) <= 1e-9 * max(1.0, float(sizes.max()))
        return Peak(at.value, None if steady else self._count(track, at.phase))

    def _count(self, track: HandTrack, phase: float) -> float:
        """The first count from 1 at which the hand's own pattern is at a phase."""
        passed = (phase - float(track.offset)) % 1.0
        if passed > 1 - 1e-9:
            passed = 0.0
        return 1 + passed / track.cycles * float(self.cycle_beats)

    def _stretch(self, track: HandTrack, low: float, high: float) -> tuple[float, float]:
        start = self._count(track, low)
        return start, start + (high - low) / track.cycles * float(self.cycle_beats)

    def _taut_bpm(self, track: HandTrack, plane: PlacedPlane) -> tuple[float, float] | None:
        lengths = taut_cycles(track.pattern, plane)
        if lengths is None:
            return None
        beats = 60 * float(self.cycle_beats) / track.cycles
        most = beats / lengths.shortest_s if lengths.shortest_s > 0 else float("inf")
        return beats / lengths.longest_s, most


def _swing(track: HandTrack, prop: Prop, own_s: float) -> SwingFit | None:
    for segment in track.pattern.segments:
        if isinstance(segment.head, Swing) and segment.head.cycles:
            there_and_back_s = float(segment.share / abs(segment.head.cycles)) * own_s
            return fit_swing(prop.length_m, there_and_back_s, is_tether=prop.is_tether)
    return None


def _sideways_share(track: HandTrack, own_s: float) -> float | None:
    shape = trochoid_of(track.pattern)
    if shape is None:
        return None
    return sideways_share_bound(
        shape.radius_m, shape.tether_m, float(shape.ratio), shape.hand_turns / own_s
    )


def _shape(track: HandTrack) -> Shape | None:
    shape = trochoid_of(track.pattern)
    if shape is None:
        return None
    step = shape.star_step
    return Shape(
        petals=shape.petals,
        tip_turns=shape.tip_directions,
        outline=shape.outline,
        through_centre=shape.passes_through_centre,
        straight_sided=shape.is_straight_sided,
        star=(shape.petals, step) if step > 1 else None,
    )
