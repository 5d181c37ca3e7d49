"""What a move asks of arm and prop at a tempo: speeds, turning, reach, and whether a tether holds.

Sampled finely over one cycle, once for each move as performed; another tempo only rescales.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from composer.check.hand_change import Figure
from composer.check.performed import Performed
from composer.motion.body import Body, Prop
from composer.motion.gravity import G
from composer.motion.hands import Hand
from composer.motion.kinematics import Complexes, Floats, motion_at
from composer.motion.tension import gravity_in

SAMPLES = 480
"""A cycle. Between two samples a speed with eight peaks a cycle is short by less than 0.2 %."""
_PASSED = np.arange(SAMPLES) / SAMPLES


@dataclass(frozen=True)
class HandDemand:
    """One hand and head at a tempo."""

    hand_speed_m_s: float
    hand_acceleration_m_s2: float
    hand_turns_s: float
    """Mean turns of the hand along its arcs, without sign."""
    head_turns_s: float
    """Fastest turning of the tether, without sign."""
    head_speed_m_s: float
    reach: float
    """Greatest distance of the hand from its shoulder, as a share of the arm."""
    slack_share: float
    """Share of the cycle in which the tether would have to push; 0 for a rigid prop."""

    def figures(self) -> Iterator[Figure]:
        """Everything that is held against a limit."""
        yield Figure("hand speed", self.hand_speed_m_s)
        yield Figure("hand acceleration", self.hand_acceleration_m_s2)
        yield Figure("hand turns", self.hand_turns_s)
        yield Figure("head turns", self.head_turns_s)
        yield Figure("reach", self.reach)
        yield Figure("slack", self.slack_share)


@lru_cache(maxsize=20_000)
def demands(
    done: Performed, body: Body, props: tuple[Prop, Prop], fast_cycle_s: float, slow_cycle_s: float
) -> Mapping[Hand, HandDemand]:
    """What each hand has to do, speeds at the fastest tempo of the span and slack at the slowest.

    Parameters
    ----------
    props : (Prop, Prop)
        Right, left.
    fast_cycle_s, slow_cycle_s : float
        Seconds of the common cycle at the fastest and the slowest tempo met.
    """
    found = {}
    for hand in done.hands:
        shape = _shape(done, hand, body)
        prop = props[0 if hand is Hand.RIGHT else 1]
        slack = shape.slack_share(slow_cycle_s) if prop.is_tether else 0.0
        found[hand] = HandDemand(
            hand_speed_m_s=shape.hand_speed / fast_cycle_s,
            hand_acceleration_m_s2=shape.hand_acceleration / fast_cycle_s**2,
            hand_turns_s=shape.hand_turns / fast_cycle_s,
            head_turns_s=shape.head_turns / fast_cycle_s,
            head_speed_m_s=shape.head_speed / fast_cycle_s,
            reach=shape.reach_m / body.arm_m,
            slack_share=slack,
        )
    return found


@dataclass(frozen=True)
class _Shape:
    """The figures of one hand with a common cycle of one second."""

    hand_speed: float
    hand_acceleration: float
    hand_turns: float
    head_turns: float
    head_speed: float
    reach_m: float
    pull_by_motion: Floats
    """Pull of the tether per kg that the head's motion asks, at every sample; m/s^2."""
    pull_by_weight: Floats

    def slack_share(self, cycle_s: float) -> float:
        """Where the head's weight and motion together would need a push.

        Newton's second law along the tether: pull = mass * (g_vec - acceleration) . u, u from
        hand to head.
        """
        pull = self.pull_by_motion / cycle_s**2 + self.pull_by_weight
        return float(np.mean(pull < -1e-9 * G))


@lru_cache(maxsize=20_000)
def _shape(done: Performed, hand: Hand, body: Body) -> _Shape:
    track, performance = done.performance.tracks[hand], done.performance
    motion = motion_at(
        track.pattern, float(track.offset) + track.cycles * _PASSED, cycle_s=1 / track.cycles
    )
    plane = performance.placed_plane(hand)
    arm = (motion.head_m - motion.hand_m) / track.pattern.tether_m
    return _Shape(
        hand_speed=_peak(np.abs(motion.hand_velocity)),
        hand_acceleration=_peak(np.abs(motion.hand_acceleration)),
        hand_turns=abs(float(track.pattern.hand_turns)) * track.cycles,
        head_turns=_peak(np.abs(motion.tether_rate)),
        head_speed=_peak(np.abs(motion.head_velocity)),
        reach_m=_reach_m(done, hand, body, motion.hand_m),
        pull_by_motion=-np.real(np.conj(arm) * motion.head_acceleration),
        pull_by_weight=np.real(np.conj(arm) * gravity_in(plane)),
    )


def _peak(values: Floats) -> float:
    return float(values.max())


def _reach_m(done: Performed, hand: Hand, body: Body, places_m: Complexes) -> float:
    """Greatest distance of the hand from its shoulder, given its places in the plane."""
    performance, shoulder_m = done.performance, _shoulder_m(hand, body)
    if performance.depths.get(hand):
        room_m, _ = performance.room_places_m(hand, _PASSED)
        return _peak(np.linalg.norm(room_m - shoulder_m, axis=1))
    plane = performance.placed_plane(hand)
    away = shoulder_m - plane.origin_m
    across, up = plane.axes @ away
    within = _peak(np.abs(places_m - complex(across, up)))
    return float(np.hypot(within, plane.normal @ away))


def _shoulder_m(hand: Hand, body: Body) -> Floats:
    side = body.shoulder_m(hand.value).real
    return np.array([side, 0.0, body.shoulder_height_m])
