"""What stays as it is from one move into the next, in the terms performers choose by.

Both motions are compared over the beats that follow: the one that begins, and the one before it as
it would have gone on. No list of moves stands behind the answers.
"""

from collections.abc import Sequence
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from composer.arrange.ways import Neighbour, Way
from composer.check.change import Change
from composer.check.hand_change import HandChange
from composer.check.performed import Performed
from composer.motion.family import is_unit_circle
from composer.motion.hands import Hand
from composer.motion.kinematics import Floats
from composer.motion.relation import Relation, hand_relations
from composer.score.routine import Placement

MOST_BEATS = Fraction(4)
SAMPLES = 16
SAME_HAND_M = 0.05
"""Ours: hands nearer than this all the time go one way."""
SAME_HEAD_TURNS = 1 / 24
"""As far as a tether may be out of phase before the checks note it."""


class Keeping(StrEnum):
    """What a performer wants to keep."""

    HEADS = "heads keep on"
    """The heads keep timing and direction while the hands' relation changes."""
    HANDS = "hands keep on"
    """The hands keep their way and timing while the heads change."""
    UNIT_CIRCLE = "unit circle"
    """Hands on circles the size of an isolation's, half a tether in radius."""
    ONE_HAND = "one hand changes"
    """One hand goes on with what it does while the other begins something else."""


def keeps(
    wanted: Keeping,
    before: Sequence[Neighbour],
    way: Way,
    placement: Placement,
    changes: Sequence[Change],
) -> bool:
    """Whether a way to begin a placement keeps what is wanted of the moves before it.

    ``changes`` are those from each of the moves before; they rule most ways out at once.
    """
    if wanted is Keeping.UNIT_CIRCLE:
        return all(is_unit_circle(t.pattern) for t in way.done.performance.tracks.values())
    start = placement.span.start_beat
    source = {hand: came for came in before for hand in came.hands}
    if set(source) != set(way.done.hands) or any(
        came.edge.placement.span.end_beat != start for came in before
    ):
        return False
    at_once = {hand: one for change in changes for hand, one in change.hands.items()}
    hands = [_hand_goes_on(hand, source[hand], way, placement, at_once[hand]) for hand in source]
    if wanted is Keeping.HANDS and not all(hands):
        return False
    heads = [_head_goes_on(hand, source[hand], way, placement, at_once[hand]) for hand in source]
    match wanted:
        case Keeping.HEADS:
            related = _hands_related(before[0].way.done), _hands_related(way.done)
            return all(heads) and len(before) == 1 and related[0] != related[1]
        case Keeping.HANDS:
            return not all(heads)
        case Keeping.ONE_HAND:
            unchanged = [hand and head for hand, head in zip(hands, heads, strict=True)]
            return sorted(unchanged) == [False, True]


def _hand_goes_on(
    hand: Hand, came: Neighbour, way: Way, placement: Placement, at_once: HandChange
) -> bool:
    """Whether a hand goes where it would have gone."""
    if at_once.gap_m > SAME_HAND_M:
        return False
    gone_on, begun = _both_ways(hand, came, way, placement)
    return bool(np.linalg.norm(gone_on.hand_m - begun.hand_m, axis=1).max() < SAME_HAND_M)


def _head_goes_on(
    hand: Hand, came: Neighbour, way: Way, placement: Placement, at_once: HandChange
) -> bool:
    """Whether a tether points where it would have pointed."""
    if at_once.opposed or at_once.tether_gap_turns > SAME_HEAD_TURNS:
        return False
    gone_on, begun = _both_ways(hand, came, way, placement)
    along = np.sum(gone_on.tether * begun.tether, axis=1).min()
    return bool(along > np.cos(2 * np.pi * SAME_HEAD_TURNS))


def _both_ways(
    hand: Hand, came: Neighbour, way: Way, placement: Placement
) -> tuple["_WaysM", "_WaysM"]:
    """The next beats of the move before as it would have gone on, and of the one that begins."""
    old, beats = came.edge.placement, min(placement.span.length_beats, MOST_BEATS)
    share = came.way.share_after(old.span.length_beats, old.rate)
    lasting = beats / came.way.done.performance.cycle_beats(old.rate)
    new_lasting = beats / way.done.performance.cycle_beats(placement.rate)
    return (
        _ways_m(came.way.done, hand, share, lasting, old.facing_turns),
        _ways_m(way.done, hand, way.share, new_lasting, placement.facing_turns),
    )


class _WaysM(NamedTuple):
    """Hand and direction of the tether through the room, each shape=(SAMPLES, 3)."""

    hand_m: Floats
    tether: Floats


@lru_cache(maxsize=20_000)
def _ways_m(
    done: Performed, hand: Hand, start: Fraction, lasting: Fraction, facing: Fraction
) -> _WaysM:
    """The ways from one share of the common cycle on, for so many cycles."""
    shares = float(start) + float(lasting) * np.linspace(0, 1, SAMPLES)
    hand_m, head_m = done.performance.room_places_m(hand, shares, facing)
    arm = head_m - hand_m
    return _WaysM(hand_m, arm / np.linalg.norm(arm, axis=1)[:, None])


@lru_cache(maxsize=5_000)
def _hands_related(done: Performed) -> frozenset[Relation]:
    two = done.performance.two_hands
    return frozenset(one.relation for one in hand_relations(two)) if two else frozenset()
