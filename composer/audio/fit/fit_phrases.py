"""Fit the weights that tell where phrases begin: small networks over the numbers of each bar."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from composer.audio.curves import Curves
from composer.audio.fit.descent import Descent, batches, layer, normal
from composer.audio.fit.truth import Truth
from composer.audio.phrases import measure_bars, turn_numbers

NETWORKS, HIDDEN, EPOCHS, SONGS_A_STEP = 3, 8, 60, 32
RATE, DECAY, NOISE = 5e-3, 0.3, 0.3
SAME_BAR_S = 0.1


@dataclass(frozen=True)
class Example:
    """One track: the numbers of its bars, and on which of them a phrase begins."""

    numbers: NDArray[np.float32]
    begins: NDArray[np.bool_]


def example(truth: Truth, curves: Curves) -> Example | None:
    """The bars of a track against its truth; None where they are few or the phrases unknown."""
    starts_s = truth.downbeats_s[truth.downbeats_s < curves.duration_s - 1]
    if len(starts_s) < 8 or not truth.phrases_s:
        return None
    ends_s = np.append(starts_s[1:], starts_s[-1] + np.median(np.diff(starts_s)))
    bars = measure_bars(curves, starts_s, ends_s)
    turns_s = np.concatenate(truth.phrases_s)
    apart = np.abs(starts_s[:, None] - turns_s[None, :])
    return Example(turn_numbers(bars).astype(np.float32), apart.min(axis=1) < SAME_BAR_S)


def fit(examples: list[Example]) -> dict[str, NDArray[np.float32]]:
    """The arrays of the weight file. The first bar of a song is left out: it always begins one."""
    numbers = [e.numbers[1:] for e in examples]
    begins = [e.begins[1:].astype(np.float32) for e in examples]
    networks = [_network(numbers, begins, seed) for seed in range(NETWORKS)]
    names = ("w1", "b1", "w2", "straight", "constant")
    return {
        name: np.array([network[i] for network in networks], np.float32)
        for i, name in enumerate(names)
    }


def _network(
    numbers: list[NDArray[np.float32]], begins: list[NDArray[np.float32]], seed: int
) -> list[NDArray[np.float32]]:
    """Fit by the cross entropy of "begins a phrase"; noise on the numbers keeps it simple."""
    rng = np.random.default_rng(seed)
    width = numbers[0].shape[1]
    w1, b1 = layer(rng, HIDDEN, width), np.zeros(HIDDEN, np.float32)
    w2, straight = layer(rng, HIDDEN, 1)[0], layer(rng, width, 1)[0]
    constant = np.zeros((), np.float32)
    parts = [w1, b1, w2, straight, constant]
    steps = EPOCHS * -(-len(numbers) // SONGS_A_STEP)
    descent = Descent(parts, RATE, DECAY, steps)
    for _ in range(EPOCHS):
        for chosen in batches(rng, len(numbers), SONGS_A_STEP):
            x = np.concatenate([numbers[i] for i in chosen])
            x = x + NOISE * normal(rng, *x.shape)
            hidden = np.tanh(x @ w1 + b1)
            odds = hidden @ w2 + x @ straight + constant
            wrong = (1 / (1 + np.exp(-odds)) - np.concatenate([begins[i] for i in chosen])) / len(x)
            inner = np.outer(wrong, w2) * (1 - hidden * hidden)
            down = [x.T @ inner, inner.sum(axis=0), hidden.T @ wrong, x.T @ wrong, wrong.sum()]
            descent.step([np.asarray(d, np.float32) for d in down])
    return parts
