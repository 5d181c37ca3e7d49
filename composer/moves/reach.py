"""How far a move sends the hands from their shoulders."""

import numpy as np

from composer.motion.body import Body
from composer.motion.hands import Hand
from composer.motion.kinematics import motion_at
from composer.motion.plane import Plane
from composer.moves.perform import Performance


def reach_m(performance: Performance, body: Body) -> float:
    """Furthest that a hand goes from its own shoulder, in its plane, over the common cycle.

    The body may lean and turn: the distance out of the plane is not counted.
    """
    return max(hand_reach_m(performance, hand, body) for hand in performance.tracks)


def hand_reach_m(performance: Performance, hand: Hand, body: Body) -> float:
    """The same for one hand."""
    places = motion_at(performance.tracks[hand].pattern, np.linspace(0, 1, 361)).hand_m
    beside = performance.plane is Plane.WHEEL
    shoulder = 0j if beside else body.shoulder_m(hand.value)
    return float(np.max(np.abs(places - shoulder)))
