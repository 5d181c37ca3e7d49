"""Stochastic descent for small networks in plain arrays."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]


class Descent:
    """Adam with decoupled decay of the weights; the rate warms up, then falls to nothing.

    References
    ----------
    I. Loshchilov, F. Hutter, Decoupled weight decay regularization, ICLR 2019.
    """

    def __init__(self, parts: list[Floats], rate: float, decay: float, steps: int) -> None:
        self._parts, self._rate, self._decay, self._steps = parts, rate, decay, steps
        self._mean = [np.zeros_like(part) for part in parts]
        self._square = [np.zeros_like(part) for part in parts]
        self._step = 0

    def step(self, slopes: list[Floats]) -> None:
        """Move the parts, in place, down their slopes."""
        self._step += 1
        share = self._step / self._steps
        up = 0.3
        rate = self._rate * (
            share / up if share < up else 0.5 + 0.5 * np.cos(np.pi * (share - up) / (1 - up))
        )
        fresh, fresh_square = 1 - 0.9**self._step, 1 - 0.999**self._step
        for part, slope, mean, square in zip(
            self._parts, slopes, self._mean, self._square, strict=True
        ):
            mean += 0.1 * (slope - mean)
            square += 0.001 * (slope * slope - square)
            part *= 1 - rate * self._decay
            part -= rate * (mean / fresh) / (np.sqrt(square / fresh_square) + 1e-8)


def layer(rng: np.random.Generator, inputs: int, outputs: int) -> Floats:
    """Random weights, (outputs, inputs), of a size that keeps sums near 1."""
    reach = 1 / np.sqrt(inputs)
    return rng.uniform(-reach, reach, (outputs, inputs)).astype(np.float32)


def normal(rng: np.random.Generator, *shape: int) -> Floats:
    return rng.standard_normal(shape, dtype=np.float32)


def kept(rng: np.random.Generator, share_left_out: float, *shape: int) -> Floats:
    """Dropout: 0 for what is left out at random, what the rest is multiplied by elsewhere."""
    stays = rng.random(shape, dtype=np.float32) >= share_left_out
    return np.asarray(stays / np.float32(1 - share_left_out), np.float32)


def batches(rng: np.random.Generator, count: int, size: int) -> Iterator[NDArray[np.intp]]:
    """All of ``count`` things in random order, ``size`` at a time."""
    order = rng.permutation(count)
    for first in range(0, count, size):
        yield order[first : first + size]
