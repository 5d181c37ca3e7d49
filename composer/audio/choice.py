"""The choice among readings: fitted weights give each its share of belief."""

from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from composer.audio.analysis import Alternative, Relation
from composer.audio.curves import Curves
from composer.audio.pulse import Pulse
from composer.audio.readings import BeatTrain, Reading, beat_trains, readings_of

Doubles = NDArray[np.float64]

SAME_TEMPO = 0.04
"""Two tempi closer than this ratio are one."""
SAME_TIME_S, MOSTLY = 0.05, 0.8
"""Two trains of beats are one where more than this share of them lie so close."""


@dataclass(frozen=True)
class Weights:
    """A few small networks that score scaled reading numbers; made by fit/fit_readings.py.

    Each network adds a straight sum of its inputs to two layers of rectified units.
    """

    centre: Doubles
    scale: Doubles
    networks: tuple[tuple[Doubles, ...], ...]
    """For each: weights and biases of layers 1 and 2, of the output and of the straight sum."""
    sharpness: float
    """Exponent on the shares of belief that makes them honest."""

    def belief(self, numbers: Doubles) -> Doubles:
        """Share of belief of each reading, (readings,), summing to 1: the networks' mean."""
        scaled = np.clip((numbers - self.centre) / self.scale, -5, 5)
        total = np.zeros(len(numbers))
        for w1, b1, w2, b2, w3, b3, ws, bs in self.networks:
            hidden = np.maximum(0, np.maximum(0, scaled @ w1.T + b1) @ w2.T + b2)
            score = (hidden @ w3.T + b3 + scaled @ ws.T + bs)[:, 0]
            share = np.exp(score - score.max())
            total += share / share.sum()
        total = np.power(total / len(self.networks), self.sharpness)
        return np.asarray(total / total.sum())


NETWORK_PARTS = ("w1", "b1", "w2", "b2", "w3", "b3", "ws", "bs")


def weights_from(path: Path | Traversable) -> Weights:
    with path.open("rb") as stream, np.load(stream) as stored:
        networks = tuple(
            tuple(stored[f"{name}_{k}"].astype(float) for name in NETWORK_PARTS)
            for k in range(int(stored["networks"]))
        )
        centre, scale = stored["centre"].astype(float), stored["scale"].astype(float)
        return Weights(centre, scale, networks, float(stored["sharpness"]))


@lru_cache(maxsize=1)
def fitted_weights() -> Weights:
    return weights_from(resources.files("composer.audio").joinpath("reading_weights.npz"))


@dataclass(frozen=True)
class Choice:
    """The believed reading, its rivals, and how far its beats and bars can be believed, 0..1."""

    reading: Reading
    beat_belief: float
    bar_belief: float
    alternatives: tuple[Alternative, ...]


def choose_reading(
    pulses: list[Pulse], curves: Curves, weights: Weights | None = None
) -> Choice | None:
    """The believed reading of any pulse, or None where they allow none (under 8 beats)."""
    readings = [
        r for p in pulses for train in beat_trains(p, curves) for r in readings_of(train, curves)
    ]
    if not readings:
        return None
    numbers = np.stack([reading.numbers for reading in readings])
    belief = (weights or fitted_weights()).belief(numbers)
    best = _in_exact_time(_most_believed(readings, belief), readings, belief)
    same_beats = np.array([_beats_agree(r.train, best.train) for r in readings])
    same_bars = np.array(
        [same and _bars_agree(r, best) for r, same in zip(readings, same_beats, strict=True)]
    )
    return Choice(
        best,
        float(belief[same_beats].sum()),
        float(belief[same_bars].sum()),
        _alternatives(
            best.train,
            [r for r, same in zip(readings, same_beats, strict=True) if not same],
            belief[~same_beats],
        ),
    )


def _most_believed(readings: list[Reading], belief: Doubles) -> Reading:
    """Of the beats that are believed most, over all their bars, the most believed reading."""
    trains = list({id(r.train): r.train for r in readings}.values())
    shares = dict.fromkeys(map(id, trains), 0.0)
    for reading, share in zip(readings, belief, strict=True):
        shares[id(reading.train)] += float(share)
    beats = max(trains, key=lambda t: sum(shares[id(u)] for u in trains if _beats_agree(u, t)))
    own = [k for k, r in enumerate(readings) if _beats_agree(r.train, beats)]
    return readings[max(own, key=lambda k: belief[k])]


def _in_exact_time(best: Reading, readings: list[Reading], belief: Doubles) -> Reading:
    """The same beats and bars of an exact pulse, where there are such."""
    if best.train.pulse.exact:
        return best
    same = [
        k
        for k, r in enumerate(readings)
        if r.train.pulse.exact
        and r.beats_per_bar == best.beats_per_bar
        and _beats_agree(r.train, best.train)
        and _bars_agree(r, best)
    ]
    return readings[max(same, key=lambda k: belief[k])] if same else best


def _beats_agree(train: BeatTrain, best: BeatTrain) -> bool:
    """Whether two trains, perhaps of different pulses, are the same beats."""
    if train is best:
        return True
    if train.pulse is best.pulse or abs(_pace(train) / _pace(best) - 1) > SAME_TEMPO:
        return False
    return _met(train.times_s, best.times_s)


def _pace(train: BeatTrain) -> float:
    """Beats a second over the whole track, whatever changes inside."""
    return (len(train.times_s) - 1) / float(train.times_s[-1] - train.times_s[0])


def _bars_agree(reading: Reading, best: Reading) -> bool:
    """Whether every bar line of a reading of the same beats is one of the best reading's."""
    if reading.train is not best.train:
        lines = [r.train.times_s[r.first_downbeat :: r.beats_per_bar] for r in (reading, best)]
        return reading.beats_per_bar % best.beats_per_bar == 0 and _met(*lines)
    return reading is best or (
        reading.beats_per_bar % best.beats_per_bar == 0
        and (reading.first_downbeat - best.first_downbeat) % best.beats_per_bar == 0
    )


def _met(times_s: Doubles, others_s: Doubles) -> bool:
    """Whether most of some times lie next to others."""
    return float(np.mean(apart_s(times_s, others_s) < SAME_TIME_S)) > MOSTLY


def apart_s(times_s: Doubles, others_s: Doubles) -> Doubles:
    """How far each time lies from the nearest of at least two others, which rise."""
    after = np.clip(np.searchsorted(others_s, times_s), 1, len(others_s) - 1)
    return np.minimum(np.abs(times_s - others_s[after - 1]), np.abs(times_s - others_s[after]))


def _alternatives(
    best: BeatTrain, readings: list[Reading], belief: Doubles
) -> tuple[Alternative, ...]:
    """The tempi of readings of other beats, the most believed first; double and half always."""
    totals: dict[float, float] = {}
    for reading, share in zip(readings, belief, strict=True):
        totals[reading.train.bpm] = totals.get(reading.train.bpm, 0.0) + float(share)
    for factor in (2.0, 0.5):
        if not any(abs(bpm / (best.bpm * factor) - 1) < SAME_TEMPO for bpm in totals):
            totals[best.bpm * factor] = 0.0
    others = [
        Alternative(bpm, relation_of(bpm / best.bpm), score)
        for bpm, score in totals.items()
        if abs(bpm / best.bpm - 1) > SAME_TEMPO
    ]
    kept = [a for a in others if a.score >= 0.01 or a.relation in ("double", "half")]
    return tuple(sorted(kept, key=lambda a: -a.score))


def relation_of(ratio: float) -> Relation:
    named: tuple[tuple[float, Relation], ...] = (
        (2.0, "double"),
        (0.5, "half"),
        (3.0, "triple"),
        (1 / 3, "third"),
        (2 / 3, "two thirds"),
        (1.5, "three halves"),
    )
    for value, name in named:
        if abs(ratio / value - 1) < SAME_TEMPO:
            return name
    return "other"
