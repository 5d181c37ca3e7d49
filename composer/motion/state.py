"""What one hand and its prop are doing at an instant: what two moves are compared by."""

import cmath
import math
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np

from composer.motion.hands import HandTrack
from composer.motion.kinematics import instant
from composer.motion.pattern import Pattern, Side
from composer.motion.placed_plane import PlacedPlane
from composer.motion.plane import Plane


@dataclass(frozen=True, slots=True)
class HandState:
    """Hand and tether at an instant, in the plane's own terms (across + up i; m, s, turns)."""

    position_m: complex
    velocity_m_s: complex
    acceleration_m_s2: complex
    tether_turns: float
    tether_rate: float
    """Turns/s in the room, signed."""
    tether_acceleration: float
    """Turns/s^2."""
    tether_m: float
    plane: PlacedPlane = field(default_factory=PlacedPlane)

    def __post_init__(self) -> None:
        figures = (
            self.position_m,
            self.velocity_m_s,
            self.acceleration_m_s2,
            self.tether_turns,
            self.tether_rate,
            self.tether_acceleration,
        )
        if not all(cmath.isfinite(figure) for figure in figures):
            raise ValueError(f"a state must be finite, got {figures}")
        if not (math.isfinite(self.tether_m) and self.tether_m > 0):
            raise ValueError(f"a tether must have a positive length, got {self.tether_m} m")

    @property
    def head_m(self) -> complex:
        return self.position_m + self.tether_m * self._tether

    @property
    def head_velocity_m_s(self) -> complex:
        return self.velocity_m_s + 2j * np.pi * self.tether_rate * self.tether_m * self._tether

    @property
    def _tether(self) -> complex:
        return complex(np.exp(2j * np.pi * self.tether_turns))


def hand_state(
    track: HandTrack | Pattern,
    phase: Fraction,
    cycle_s: float,
    plane: PlacedPlane | Plane = Plane.WALL,
    *,
    side: Side = "after",
) -> HandState:
    """The state of a hand after an exact share of its cycle.

    Parameters
    ----------
    track : HandTrack or Pattern
        A track's phase is counted in the common cycle of both hands, a pattern's in its own.
    cycle_s : float
        Seconds that cycle lasts.
    side : "after" or "before"
        At a joint, the state the motion enters or the one it leaves.

    Raises
    ------
    ValueError
        If ``cycle_s`` is not positive.
    """
    if isinstance(track, HandTrack):
        pattern, own_phase, own_s = track.pattern, track.phase_at(phase), cycle_s / track.cycles
    else:
        pattern, own_phase, own_s = track, phase % 1, cycle_s
    hand, tether = instant(pattern, own_phase, cycle_s=own_s, side=side)
    placed = plane if isinstance(plane, PlacedPlane) else PlacedPlane(plane)
    return HandState(*hand, *tether, pattern.tether_m, placed)
