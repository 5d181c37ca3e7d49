"""The physical motion: a heavy head on a hand that moves as it is told, integrated in time.

In one plane, with the part of gravity that lies in it. While the tether is taut its angle obeys

    L theta'' = (g - a_hand) . t,     pull / m = L theta'^2 + (g - a_hand) . u,

u from hand to head and t a quarter turn on. A tether whose pull would turn negative goes slack:
the head then falls free until it is a tether's length away again, where the outward part of its
speed is lost (no bounce). A rigid prop never goes slack. Air is left out.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike
from scipy.integrate import solve_ivp

from composer.motion.gravity import G
from composer.motion.kinematics import Complexes, Floats, segment_motion
from composer.motion.pattern import TAU, Pattern
from composer.motion.placed_plane import PlacedPlane
from composer.motion.tension import gravity_in

HandPath: TypeAlias = Callable[[float], tuple[complex, complex, complex]]
"""Place, velocity and acceleration of the hand at a time in seconds."""

_PRECISION = {"method": "DOP853", "rtol": 1e-11, "atol": 1e-12}
_MOST_STRETCHES = 1000


@dataclass(frozen=True, slots=True)
class HandPiece:
    """A smooth piece of the hand's way, up to a time; at a corner one ends and another begins."""

    end_s: float
    path: HandPath


@dataclass(frozen=True, slots=True)
class Stretch:
    """A time during which the tether is taut throughout, or slack throughout."""

    start_s: float
    end_s: float
    is_taut: bool
    _hand: HandPath = field(repr=False)
    _solution: Callable[[Floats], Floats] = field(repr=False)

    def head(self, times_s: Floats, length_m: float) -> tuple[Complexes, Complexes, Floats]:
        """Place and velocity of the head, and direction of the tether in turns."""
        rows = self._solution(times_s)
        hands = np.array([self._hand(time)[:2] for time in times_s])
        if self.is_taut:
            arm = length_m * np.exp(1j * rows[0])
            return hands[:, 0] + arm, hands[:, 1] + 1j * rows[1] * arm, rows[0] / TAU
        place = rows[0] + 1j * rows[1]
        return place, rows[2] + 1j * rows[3], np.asarray(np.angle(place - hands[:, 0]) / TAU)


@dataclass(frozen=True)
class Flight:
    """A head's integrated motion, from 0 to ``duration_s``."""

    length_m: float
    duration_s: float
    stretches: tuple[Stretch, ...]

    def head_m(self, times_s: ArrayLike) -> Complexes:
        """Where the head is at some times, shape=(n,)."""
        return self._state(times_s)[0]

    def head_velocity(self, times_s: ArrayLike) -> Complexes:
        return self._state(times_s)[1]

    def tether_turns(self, times_s: ArrayLike) -> Floats:
        """Direction from hand to head in turns; without jumps while the tether is taut."""
        return self._state(times_s)[2]

    @property
    def slack(self) -> tuple[tuple[float, float], ...]:
        """Times between which the tether hung slack."""
        return tuple((s.start_s, s.end_s) for s in self.stretches if not s.is_taut)

    def _state(self, times_s: ArrayLike) -> tuple[Complexes, Complexes, Floats]:
        times = np.atleast_1d(np.asarray(times_s, dtype=float))
        if not np.all((times >= 0) & (times <= self.duration_s)):
            raise ValueError(f"times run from 0 to {self.duration_s} s within the flight")
        place, velocity = np.empty((2, len(times)), dtype=complex)
        turns = np.empty(len(times))
        ends = np.array([stretch.end_s for stretch in self.stretches])
        which = np.minimum(np.searchsorted(ends, times, side="left"), len(ends) - 1)
        for index in np.unique(which):
            here = which == index
            place[here], velocity[here], turns[here] = self.stretches[index].head(
                times[here], self.length_m
            )
        return place, velocity, turns


def fly(
    hand: Sequence[HandPiece],
    *,
    length_m: float,
    tether_turns: float,
    tether_rate: float,
    is_tether: bool = True,
    gravity: complex = -1j * G,
) -> Flight:
    """Let a head fly from a taut start on a moving hand, until the hand's last piece ends.

    Parameters
    ----------
    hand : sequence of HandPiece
        One after another from time 0. Where the hand's velocity jumps between two, the head keeps
        its own, but for what the tether takes from it.
    tether_turns, tether_rate : float
        Direction from hand to head in turns, and its rate in turns/s, at the start.
    gravity : complex
        In the plane, across + up i, m/s^2.

    Raises
    ------
    ValueError
        If the length is not positive, there is no piece, or the tether goes slack and taut
        without end.
    """
    if not (length_m > 0 and hand):
        raise ValueError(f"a flight needs a length and a hand, got {length_m} m")
    time, taut = 0.0, True
    state = [TAU * tether_turns, TAU * tether_rate]
    stretches: list[Stretch] = []
    before: _Flyer | None = None
    for piece in hand:
        flyer = _Flyer(piece.path, length_m, gravity, is_tether)
        if before is not None and taut:
            state, taut = flyer.after_corner(time, state, before)
        elif before is None and is_tether and flyer.pull(0.0, np.array(state)) < 0:
            state, taut = flyer.let_go(0.0, state), False
        while time < piece.end_s:
            if len(stretches) > _MOST_STRETCHES:
                raise ValueError("the tether goes slack and taut without end; no flight to show")
            run = flyer.run(time, state, piece.end_s, taut)
            stretches.append(Stretch(time, run.end_s, taut, piece.path, run.solution))
            time, state = run.end_s, run.state
            if run.changed:
                state, taut = flyer.change(time, state, taut)
        before = flyer
    return Flight(length_m, time, tuple(s for s in stretches if s.end_s > s.start_s))


def pattern_hand(pattern: Pattern, *, cycle_s: float, cycles: int = 1) -> list[HandPiece]:
    """A pattern's hand over some cycles, a piece a segment, to fly a head on."""
    pieces = []
    for turn in range(cycles):
        for index, (start, segment) in enumerate(
            zip(pattern.starts, pattern.segments, strict=True)
        ):
            begin_s = (turn + float(start)) * cycle_s
            length_s = float(segment.share) * cycle_s
            path = partial(_segment_hand, pattern, index, cycle_s, begin_s, length_s)
            pieces.append(HandPiece(begin_s + length_s, path))
    return pieces


def _segment_hand(
    pattern: Pattern, index: int, cycle_s: float, begin_s: float, length_s: float, time_s: float
) -> tuple[complex, complex, complex]:
    motion = segment_motion(pattern, index, [(time_s - begin_s) / length_s], cycle_s=cycle_s)
    return motion.hand_m[0], motion.hand_velocity[0], motion.hand_acceleration[0]


def fly_pattern(
    pattern: Pattern,
    *,
    cycle_s: float,
    cycles: int = 1,
    is_tether: bool = True,
    plane: PlacedPlane | None = None,
) -> Flight:
    """What the head really does if the hand moves exactly as drawn, started as drawn."""
    start = segment_motion(pattern, 0, [0.0], cycle_s=cycle_s)
    return fly(
        pattern_hand(pattern, cycle_s=cycle_s, cycles=cycles),
        length_m=pattern.tether_m,
        tether_turns=float(start.tether_turns[0]),
        tether_rate=float(start.tether_rate[0]),
        is_tether=is_tether,
        gravity=gravity_in(plane or PlacedPlane()),
    )


# ------------------------------------------------------------------ within


@dataclass(frozen=True, slots=True)
class _Flyer:
    """The equations of one head. Taut state: angle, rate in radians; slack: x, y, their rates."""

    hand: HandPath
    length_m: float
    gravity: complex
    is_tether: bool

    def pull(self, time: float, state: Floats) -> float:
        """Pull in the tether per mass, m/s^2."""
        felt = self.gravity - self.hand(time)[2]
        along = (np.exp(-1j * state[0]) * felt).real
        return float(self.length_m * state[1] ** 2 + along)

    def taut(self, time: float, state: Floats) -> list[float]:
        felt = self.gravity - self.hand(time)[2]
        across = (np.exp(-1j * state[0]) * felt).imag
        return [state[1], float(across) / self.length_m]

    def slack(self, _time: float, state: Floats) -> list[float]:
        return [state[2], state[3], self.gravity.real, self.gravity.imag]

    def stretched(self, time: float, state: Floats) -> float:
        """How far beyond the tether's length a falling head is, m."""
        return abs(complex(state[0], state[1]) - self.hand(time)[0]) - self.length_m

    def run(self, start_s: float, state: list[float], stop_s: float, taut: bool) -> "_Run":
        """On to the stop, or to where a taut tether goes slack or a slack one is stretched."""
        events = [] if taut else [_ending(self.stretched, rising=True)]
        if taut and self.is_tether:
            events = [_ending(self.pull, rising=False)]
        result = solve_ivp(
            self.taut if taut else self.slack,
            (start_s, stop_s),
            state,
            events=events,
            dense_output=True,
            **_PRECISION,
        )
        if not result.success:
            raise ValueError(f"the motion could not be integrated: {result.message}")
        last = [float(value) for value in result.y[:, -1]]
        return _Run(float(result.t[-1]), last, result.sol, result.status == 1)

    def change(self, time: float, state: list[float], was_taut: bool) -> tuple[list[float], bool]:
        """The state after the tether has gone slack or been stretched, and whether it is taut."""
        if was_taut:
            return self.let_go(time, state), False
        return self.catch(time, complex(state[0], state[1]), complex(state[2], state[3]))

    def after_corner(
        self, time: float, state: list[float], before: "_Flyer"
    ) -> tuple[list[float], bool]:
        """The hand's velocity may have jumped; the head goes on with its own."""
        x, y, vx, vy = before.let_go(time, state)
        caught, taut = self.catch(time, complex(x, y), complex(vx, vy))
        if taut:  # the same angle, on the turn that it had reached
            caught[0] += TAU * round((state[0] - caught[0]) / TAU)
        return caught, taut

    def let_go(self, time: float, state: list[float]) -> list[float]:
        place, velocity, _ = self.hand(time)
        arm = self.length_m * np.exp(1j * state[0])
        head, speed = place + arm, velocity + 1j * state[1] * arm
        return [float(head.real), float(head.imag), float(speed.real), float(speed.imag)]

    def catch(self, time: float, head: complex, velocity: complex) -> tuple[list[float], bool]:
        """Taut again, the outward part of the speed lost; or still slack if it moves inwards."""
        place, hand_velocity, _ = self.hand(time)
        arm = head - place
        relative = (velocity - hand_velocity) * np.conj(arm) / abs(arm)
        state = [float(np.angle(arm)), float(relative.imag) / self.length_m]
        inward = relative.real < -1e-9
        if self.is_tether and (inward or self.pull(time, np.array(state)) < 0):
            outward = 0.0 if inward else relative.real
            freed = velocity - outward * arm / abs(arm)
            return [head.real, head.imag, float(freed.real), float(freed.imag)], False
        return state, True


@dataclass(frozen=True, slots=True)
class _Run:
    end_s: float
    state: list[float]
    solution: Callable[[Floats], Floats]
    changed: bool


def _ending(
    value: Callable[[float, Floats], float], *, rising: bool
) -> Callable[[float, Floats], float]:
    """An event that ends the stretch, as the integrator wants it."""

    def event(time: float, state: Floats) -> float:
        return value(time, state)

    event.terminal = True  # type: ignore[attr-defined]
    event.direction = 1.0 if rising else -1.0  # type: ignore[attr-defined]
    return event
