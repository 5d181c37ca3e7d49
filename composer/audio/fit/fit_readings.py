"""Fit the weights that choose among the readings of a pulse (see ``composer.audio.readings``)."""

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from composer.audio.choice import NETWORK_PARTS, apart_s
from composer.audio.curves import Curves
from composer.audio.fit.descent import Descent, Floats, batches, kept, layer, normal
from composer.audio.fit.truth import Truth
from composer.audio.pulse import Pulse
from composer.audio.readings import beat_trains, number_sources, readings_of

Doubles = NDArray[np.float64]

HIT_S = 0.070
SHARPNESS = 0.8
"""Exponent on the shares of belief: networks fitted on invented songs are too sure of others."""
NEARLY_BEST = 0.35
"""Readings this much worse than the best one, of 2, are wrong altogether."""
GOOD_ENOUGH = 1.6
"""A track whose best reading is worse than this, of 2, teaches nothing."""
READINGS_KEPT = 90


@dataclass(frozen=True)
class Example:
    """One track: the numbers of its readings and how right the beats and bars of each are."""

    numbers: NDArray[np.float32]
    beats_right: NDArray[np.float32]
    bars_right: NDArray[np.float32]

    @property
    def quality(self) -> NDArray[np.float32]:
        """0..2."""
        return self.beats_right + self.bars_right


def f_measure(truth_s: Doubles, found_s: Doubles) -> float:
    """Share of beats met within 70 ms, for events further apart than that."""
    if not len(truth_s) or len(found_s) < 2:
        return 0.0
    hits = np.sum(apart_s(truth_s, found_s) <= HIT_S)
    return float(2 * hits / (len(truth_s) + len(found_s)))


def example(truth: Truth, pulses: list[Pulse], curves: Curves) -> Example | None:
    """All readings of a track against its truth; None where its pulses allow none."""
    low, high = truth.beats_s[0] - 0.3, truth.beats_s[-1] + 0.3
    numbers, beats, bars = [], [], []
    for train in (train for pulse in pulses for train in beat_trains(pulse, curves)):
        inside = train.times_s[(train.times_s > low) & (train.times_s < high)]
        beats_right = f_measure(truth.beats_s, inside)
        for reading in readings_of(train, curves):
            found_s = train.times_s[reading.first_downbeat :: reading.beats_per_bar]
            found_s = found_s[(found_s > low) & (found_s < high)]
            numbers.append(reading.numbers.astype(np.float32))
            beats.append(beats_right)
            bars.append(f_measure(truth.downbeats_s, found_s))
    if not numbers:
        return None
    return Example(np.stack(numbers), np.array(beats, np.float32), np.array(bars, np.float32))


def with_fewer_rivals(example: Example, rng: np.random.Generator) -> Example:
    """The nearly best readings and some of the others: enough to learn from."""
    near = example.quality >= example.quality.max() - NEARLY_BEST
    others = rng.permutation(np.flatnonzero(~near))[: max(0, READINGS_KEPT - int(near.sum()))]
    kept = np.sort(np.concatenate([np.flatnonzero(near), others]))
    return Example(example.numbers[kept], example.beats_right[kept], example.bars_right[kept])


@dataclass(frozen=True)
class Settings:
    """How the networks are fitted. The values were chosen on sets left out of the fit."""

    networks: int = 4
    hidden: int = 96
    epochs: int = 50
    tracks_a_step: int = 48
    rate: float = 6e-3
    decay: float = 0.5
    noise: float = 0.2
    dropout: float = 0.1
    deaf: float = 0.3
    """How often a track is learnt from without one of its bands or sounds, for each of them."""
    earned_share: float = 1.0
    """Weight of the quality that the belief earns on average, beside half the cross entropy."""


SETTINGS = Settings()


def fit(examples: list[Example], settings: Settings = SETTINGS) -> dict[str, NDArray[np.generic]]:
    """The arrays of the weight file: networks from different random starts."""
    examples = [e for e in examples if e.quality.max() >= GOOD_ENOUGH]
    every = np.concatenate([e.numbers[::3] for e in examples])
    centre, scale = every.mean(axis=0), every.std(axis=0) + 1e-6
    inputs = [np.clip((e.numbers - centre) / scale, -5, 5) for e in examples]
    qualities = [e.quality for e in examples]
    wanted = [_wanted(quality) for quality in qualities]
    arrays: dict[str, NDArray[np.generic]] = {
        "centre": centre,
        "scale": scale,
        "networks": np.array(settings.networks, np.int64),
        "sharpness": np.array(SHARPNESS, np.float32),
    }
    with ThreadPoolExecutor(max_workers=os.cpu_count()) as pool:
        of_seed = partial(_network, inputs, wanted, qualities, settings)
        for k, parts in enumerate(pool.map(of_seed, range(settings.networks))):
            named = zip(NETWORK_PARTS, parts, strict=True)
            arrays |= {f"{name}_{k}": part.astype(np.float16) for name, part in named}
    return arrays


def _wanted(quality: NDArray[np.float32]) -> Floats:
    """How belief should be shared: among the readings that are nearly the best."""
    behind = quality - quality.max()
    share = np.where(behind < -NEARLY_BEST, 0.0, np.exp(8 * behind))
    return np.asarray(share / share.sum(), np.float32)


def _network(
    inputs: list[Floats],
    wanted: list[Floats],
    qualities: list[Floats],
    settings: Settings,
    seed: int,
) -> list[Floats]:
    rng = np.random.default_rng(seed)
    width, hidden = inputs[0].shape[1], settings.hidden

    def zeros(count: int) -> Floats:
        return np.zeros(count, np.float32)

    w1, b1 = layer(rng, width, hidden), zeros(hidden)
    w2, b2 = layer(rng, hidden, hidden // 2), zeros(hidden // 2)
    w3, b3 = layer(rng, hidden // 2, 1), zeros(1)
    ws, bs = layer(rng, width, 1), zeros(1)
    parts: list[Floats] = [w1, b1, w2, b2, w3, b3, ws, bs]
    sources = number_sources()
    steps = settings.epochs * -(-len(inputs) // settings.tracks_a_step)
    descent = Descent(parts, settings.rate, settings.decay, steps)
    for _ in range(settings.epochs):
        for chosen in batches(rng, len(inputs), settings.tracks_a_step):
            firsts = np.cumsum([0, *(len(inputs[i]) for i in chosen[:-1])])
            x = np.concatenate([inputs[i] for i in chosen])
            x += settings.noise * normal(rng, *x.shape)
            heard = rng.random((len(chosen), sources.max() + 1)) >= settings.deaf
            heard[:, 0] = True
            x *= np.repeat(heard[:, sources], np.diff(firsts, append=len(x)), axis=0)
            left = partial(kept, rng, settings.dropout)
            x1 = x * left(*x.shape)
            keep1, keep2 = left(len(x), hidden), left(len(x), hidden // 2)
            h1 = np.maximum(0, x1 @ w1.T + b1) * keep1
            h2 = np.maximum(0, h1 @ w2.T + b2) * keep2
            score = np.asarray((h2 @ w3.T + b3 + x @ ws.T + bs)[:, 0], np.float32)
            slope = _slope(
                score,
                firsts,
                np.concatenate([wanted[i] for i in chosen]),
                np.concatenate([qualities[i] for i in chosen]),
                settings.earned_share,
            )[:, None] / np.float32(len(chosen))
            d2 = (slope @ w3) * keep2 * (h2 > 0)
            d1 = (d2 @ w2) * keep1 * (h1 > 0)
            down = [
                *(d1.T @ x1, d1.sum(axis=0), d2.T @ h1, d2.sum(axis=0)),
                *(slope.T @ h2, slope.sum(axis=0), slope.T @ x, slope.sum(axis=0)),
            ]
            descent.step(down)
    return parts


def _slope(
    score: Floats, firsts: NDArray[np.intp], wanted: Floats, quality: Floats, earned_share: float
) -> Floats:
    """Slope of the loss in each score: half the cross entropy, less the quality earned.

    ``firsts`` are the rows on which songs begin.
    """
    lengths = np.diff(firsts, append=len(score))
    belief = np.exp(score - np.repeat(np.maximum.reduceat(score, firsts), lengths))
    belief /= np.repeat(np.add.reduceat(belief, firsts), lengths)
    earned = np.repeat(np.add.reduceat(belief * quality, firsts), lengths)
    slope = 0.5 * (belief - wanted) - earned_share * belief * (quality - earned)
    return np.asarray(slope, np.float32)
