"""Least and greatest lengths of sums of turning vectors, for many rows at once.

The gap between two heads, or a head and a hand, is a sum of vectors that each turn evenly. All turn
a whole number of times in the cycle, so at SAMPLES instants they stand on roots of one.
"""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from composer.motion.pattern import TAU, Complexes, Floats

Ints = NDArray[np.int64]

SAMPLES = 128
"""Instants of the common cycle at which distances are taken."""
_VALLEYS = 3
"""How many of the nearest samples are refined; the nearest is not always the deepest."""

Arms: TypeAlias = list[tuple[Complexes, Ints]]
"""Vectors at the start of the cycle and their turns in it, each shape=(rows,); places are sums."""


def places(arms: Arms) -> tuple[Complexes, Complexes]:
    """Hand and head at SAMPLES instants, shape=(rows, SAMPLES)."""
    hand = _around(arms[0])
    return hand, hand + _around(arms[1])


def opposite(arms: Arms) -> Arms:
    return [(-vector, turns) for vector, turns in arms]


_ROOTS = np.exp(1j * TAU * np.arange(SAMPLES) / SAMPLES)


def _around(arm: tuple[Complexes, Ints]) -> Complexes:
    """A turning vector at SAMPLES instants, shape=(rows, SAMPLES): it stands on roots of one."""
    vector, turns = arm
    return np.asarray(vector[:, None] * _ROOTS[turns[:, None] * np.arange(SAMPLES) % SAMPLES])


def squared(gaps: Complexes) -> Floats:
    return np.asarray(gaps.real**2 + gaps.imag**2)


def extreme(lengths_squared: Floats, arms: Arms, sign: int) -> Floats:
    """Least (sign 1) or greatest (-1) length of a sum of turning vectors, given it squared at
    SAMPLES instants: the best valleys by parabolas, then Newton's steps to where each is level.
    """
    values = sign * lengths_squared
    around = np.concatenate([values[:, -1:], values, values[:, :1]], axis=1)
    before, after = around[:, :-2], around[:, 2:]
    bend = before + after - 2 * values
    valley = (values <= before) & (values <= after) & (bend > 1e-12)
    tilt = np.divide(before - after, 2 * bend, out=np.zeros_like(values), where=valley)
    depth = np.where(valley, values - bend * tilt**2 / 2, values.max())
    best = np.argpartition(depth, _VALLEYS, axis=1)[:, :_VALLEYS]
    time = (best + np.take_along_axis(tilt, best, axis=1)) / SAMPLES
    for _ in range(2):
        place, speed, change = _sum_at(arms, time)
        slope = (np.conj(place) * speed).real
        curve = np.abs(speed) ** 2 + (np.conj(place) * change).real
        step = np.divide(slope, curve, out=np.zeros_like(slope), where=sign * curve > 1e-9)
        time = time - np.clip(step, -0.5 / SAMPLES, 0.5 / SAMPLES)
    level = (sign * squared(_sum_at(arms, time)[0])).min(axis=1)
    found = np.minimum(values.min(axis=1), level)
    return np.asarray(np.sqrt(np.maximum(sign * found, 0.0)))


def _sum_at(arms: Arms, time: Floats) -> tuple[Complexes, Complexes, Complexes]:
    """A sum of turning vectors and its first two derivatives, at some times for each row."""
    total = np.zeros((3, *time.shape), dtype=complex)
    for vector, turns in arms:
        pace = 1j * TAU * turns[:, None]
        here = vector[:, None] * np.exp(pace * time)
        total += here, here * pace, here * pace**2
    return total[0], total[1], total[2]
