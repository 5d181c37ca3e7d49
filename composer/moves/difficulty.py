"""How hard a move is, by a stated rule: points that add up, each with its reason.

The order of the points follows published findings; their sizes are ours, so that they can be added.

- Timing of the two hands costs 2 - cos(f) - cos(2 f), f their phase: together 0, split 2,
  quarter 3. It is the height of the potential -a cos(f) - b cos(2 f), a = b, above its lowest place
  (H. Haken, J. A. S. Kelso, H. Bunz, Biol. Cybern. 51 (1985) 347). Mirror images about the midline
  of the body are the in-phase case; hands that run alike instead cost 1 more (A. Semjen, J. J.
  Summers, D. Cattaert, J. Exp. Psychol. Hum. Percept. Perform. 21 (1995) 1139, from memory).
- Unequal rates p:q cost p + q - 2, in lowest terms (learning ranks 1:1 < 2:1 < 3:2 < 4:3 < 5:3:
  Percept. Mot. Skills 88 (1999) 1160), between the two heads and between a head and its hand.
- Split hands give way to together ones at about 2 Hz (J. A. S. Kelso, Am. J. Physiol. 246 (1984)
  R1000, number from memory): every Hz above it costs 1 wherever timing costs anything.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import cos, pi

from composer.motion.continuity import joints
from composer.motion.family import heads_to_hands, is_composite
from composer.motion.hands import TwoHands
from composer.motion.pattern import Arc, Line, Pattern, Segment, Spin
from composer.motion.plane import Plane
from composer.motion.relation import (
    Relation,
    constant_relation,
    hand_relations,
    head_relations,
)
from composer.motion.trochoid import Trochoid, trochoid_of
from composer.moves.perform import Performance

AGAINST_THE_HAND = 1.0
HELD_APART = 1.0
TRAVELS = 0.5
PARTS = 1.0
ABRUPT_JOINT = 0.5
"""Each place in a cycle where hand or spin changes at once."""
LEAVES_ITS_PLANE = 2.0
HEAD_AT_HAND = 2.0
UNLIKE_HANDS = 1.0
NOT_MIRRORED = 1.0
GIVES_WAY_HZ = 2.0


@dataclass(frozen=True, slots=True)
class Reason:
    """Something that makes a move harder."""

    points: float
    words: str


@dataclass(frozen=True, slots=True)
class Difficulty:
    """The reasons, the heaviest first; their points add up."""

    reasons: tuple[Reason, ...]

    @property
    def points(self) -> float:
        return sum(reason.points for reason in self.reasons)


def difficulty(performance: Performance, *, downbeats_hz: float | None = None) -> Difficulty:
    """How hard a move is, with two hands or one.

    Parameters
    ----------
    downbeats_hz : float, optional
        Downbeats of the busier hand each second; left out, a tempo that adds nothing.
    """
    two = performance.two_hands
    reasons: list[Reason] = []
    for hand, track in performance.tracks.items():
        if two is None or not _alike(two):
            which = f"{hand} hand: " if two is not None else ""
            reasons += [Reason(r.points, which + r.words) for r in pattern_reasons(track.pattern)]
    if two is not None and _alike(two):
        reasons += pattern_reasons(two.right.pattern)
    if any(len(steps) > 1 for steps in performance.depths.values()):
        reasons.append(Reason(LEAVES_ITS_PLANE, "the hand leaves its plane"))
    if two is not None:
        reasons += _two_hands(two, performance.plane, downbeats_hz)
    kept = [reason for reason in reasons if reason.points > 1e-9]
    return Difficulty(tuple(sorted(kept, key=lambda reason: -reason.points)))


def timing_points(timing: Fraction) -> float:
    """What a share of a turn between the hands costs: together 0, split 2, quarter 3."""
    phase = 2 * pi * float(timing)
    return 2 - cos(phase) - cos(2 * phase)


def ratio_points(ratio: Fraction) -> int:
    """What a ratio of rates costs: p + q - 2, p/q in lowest terms and positive."""
    return ratio.numerator + ratio.denominator - 2


def pattern_reasons(pattern: Pattern) -> list[Reason]:
    """What one hand's own pattern costs; of several parts, the dearest counts for its arcs."""
    parts = [_arc(segment) for segment in pattern.segments]
    reasons = list(max(parts, key=lambda part: sum(reason.points for reason in part)))
    if any(isinstance(segment.hand, Line) for segment in pattern.segments):
        reasons.append(Reason(TRAVELS, "the hand travels along a line"))
    if is_composite(pattern):
        reasons.append(Reason(PARTS, "put together from parts"))
    abrupt = sum(not joint.is_smooth for joint in joints(pattern))
    places = "1 abrupt change" if abrupt == 1 else f"{abrupt} abrupt changes"
    reasons.append(Reason(ABRUPT_JOINT * abrupt, f"{places} of hand or spin in a cycle"))
    shape = trochoid_of(pattern)
    if shape is not None and is_held_apart(shape):
        reasons.append(Reason(HELD_APART, "the head is kept on the far side of the hand's circle"))
    return reasons


def _arc(segment: Segment) -> list[Reason]:
    """How a head turns against a hand on an arc."""
    hand, head = segment.hand, segment.head
    if not (isinstance(hand, Arc) and isinstance(head, Spin) and hand.turns and hand.radius_m > 0):
        return []
    ratio = head.turns / hand.turns
    if not ratio:
        return []
    turns = f"{abs(ratio.numerator)} head turns to {ratio.denominator} of the hand"
    reasons = [Reason(ratio_points(abs(ratio)), turns)]
    if ratio < 0:
        reasons.append(Reason(AGAINST_THE_HAND, "the head turns against the hand"))
    return reasons


def _two_hands(two: TwoHands, plane: Plane, downbeats_hz: float | None) -> list[Reason]:
    counts = sorted((len(two.right.downbeats), len(two.left.downbeats)))
    reasons = []
    if counts[0] and counts[0] != counts[1]:
        ratio = Fraction(counts[1], counts[0])
        words = f"{ratio.numerator} downbeats against {ratio.denominator}"
        reasons.append(Reason(ratio_points(ratio), words))
    relation = constant_relation(hand_relations(two)) or constant_relation(head_relations(two))
    if relation is not None:
        reasons += _relation(relation, plane, downbeats_hz)
    if not _alike(two):
        reasons.append(Reason(UNLIKE_HANDS, "the hands do different things"))
    if any(one.holds for one in heads_to_hands(two)):
        reasons.append(Reason(HEAD_AT_HAND, "a head stays at, or level with, the other hand"))
    return reasons


def _relation(relation: Relation, plane: Plane, downbeats_hz: float | None) -> list[Reason]:
    mirrored = "same" if plane is Plane.WHEEL else "opposite"
    points = timing_points(relation.timing)
    reasons = [Reason(points, f"timing {relation.words.split()[0]}")]
    if relation.direction not in (mirrored, "still"):
        reasons.append(Reason(NOT_MIRRORED, "the hands are no mirror images"))
    if points > 1e-9 and downbeats_hz is not None and downbeats_hz > GIVES_WAY_HZ:
        above = downbeats_hz - GIVES_WAY_HZ
        reasons.append(Reason(above, f"{downbeats_hz:.1f} downbeats a second in that timing"))
    return reasons


def _alike(two: TwoHands) -> bool:
    """Whether both hands do one thing, wherever and in whichever direction."""
    return pattern_kind(two.right.pattern) == pattern_kind(two.left.pattern)


def pattern_kind(pattern: Pattern) -> tuple[object, ...]:
    """What two hands share that do one thing: where, which way and how large does not count."""
    shape = trochoid_of(pattern)
    if shape is None:
        return tuple(
            (s.share, type(s.hand).__name__, type(s.head).__name__) for s in pattern.segments
        )
    return shape.ratio, shape.radius_m > 0, is_held_apart(shape)


def is_held_apart(shape: Trochoid) -> bool:
    """One head turn for each hand turn, the head not straight out from the hand: an isolation."""
    apart = (shape.tether_start_turns - shape.hand_start_turns) % 1
    return shape.radius_m > 0 and shape.ratio == 1 and apart != 0
