"""The ear: a small network that hears where beats, bars and phrases begin.

It looks at the spectrum over half a minute to each side of a moment, and was fitted on invented
music only (see ``fit/fit_ear.py``). What it hears is evidence among other, not the answer.
"""

from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from composer.audio.features import MEL_BANDS, NOTES, TONE_HZ, Features

Floats = NDArray[np.float32]
Doubles = NDArray[np.float64]

EAR_HZ = TONE_HZ
INPUTS = 2 * MEL_BANDS + NOTES
KERNEL = 5
"""Moments that one dilated layer looks at."""
SILENCE = round(8 * EAR_HZ)
"""Moments of silence that the ear is given before and after a track, as when it was fitted."""
STRETCH = round(600 * EAR_HZ)
"""Moments listened to at once, so that an hour needs no more memory than ten minutes."""
HEARD = ("beat", "downbeat", "phrase")


@dataclass(frozen=True)
class Heard:
    """Chances, 0..1, that a beat, a bar and a phrase begin at each moment, at EAR_HZ."""

    beat: Doubles
    downbeat: Doubles
    phrase: Doubles

    def near(self, name: str, times_s: Doubles, reach_s: float = 0.045) -> Doubles:
        """The greatest chance within reach of each time."""
        curve: Doubles = getattr(self, name)
        reach = max(1, round(reach_s * EAR_HZ))
        frame = np.round(times_s * EAR_HZ).astype(int)
        at = np.clip(frame[..., None] + np.arange(-reach, reach + 1), 0, len(curve) - 1)
        return np.asarray(curve[at].max(axis=-1))


@dataclass(frozen=True)
class EarWeights:
    """Layers of one network: a stem of two, dilated pairs with a shortcut, a readout."""

    stem: tuple[tuple[Floats, Floats], ...]
    """(kernel, inputs, outputs) and (outputs,) for each."""
    pairs: tuple[tuple[Floats, Floats, Floats, Floats], ...]
    """Dilated by 1, 2, 4, ...: (KERNEL, width, width), (width,), then a plain layer."""
    readout: tuple[Floats, Floats]


def ear_input(features: Features) -> Floats:
    """(moments, INPUTS): both mel frames and the notes of each moment, at EAR_HZ."""
    count = min(len(features.notes), len(features.mel) // 2)
    mel = features.mel[: 2 * count].reshape(count, 2 * MEL_BANDS)
    return np.concatenate([mel, features.notes[:count]], axis=1, dtype=np.float32)


def heard_in(features: Features, networks: tuple[EarWeights, ...] | None = None) -> Heard:
    """What the networks hear on average; a long track is listened to in overlapping stretches."""
    used = networks or fitted_ear()
    given = ear_input(features)
    reach = SILENCE + sum(KERNEL // 2 * 2**k for k in range(len(used[0].pairs)))
    chances = np.empty((len(given), len(HEARD)))
    for first in range(0, len(given), STRETCH):
        last = min(first + STRETCH, len(given))
        a, b = max(0, first - reach), min(len(given), last + reach)
        edges = (SILENCE if a == 0 else 0, SILENCE if b == len(given) else 0)
        part = np.pad(given[a:b], (edges, (0, 0)))
        score = np.mean([_scores(part, network) for network in used], axis=0, dtype=float)
        own = score[edges[0] + first - a :][: last - first]
        chances[first:last] = 1 / (1 + np.exp(-np.clip(own, -30, 30)))
    return Heard(*(np.ascontiguousarray(chances[:, k]) for k in range(len(HEARD))))


def _scores(given: Floats, network: EarWeights) -> Floats:
    """(moments, len(HEARD)) log odds."""
    x = given
    for weight, bias in network.stem:
        x = np.maximum(0, _convolved(x, weight, 1) + bias)
    for k, (wide, wide_bias, plain, plain_bias) in enumerate(network.pairs):
        inner = np.maximum(0, _convolved(x, wide, 2**k) + wide_bias)
        x = x + (inner @ plain + plain_bias)
    weight, bias = network.readout
    return np.asarray(np.maximum(0, x) @ weight + bias, np.float32)


def _convolved(x: Floats, weight: Floats, dilation: int) -> Floats:
    """Each moment's sum of weighted moments around it, ``dilation`` apart; silence beyond."""
    out = np.zeros((len(x), weight.shape[2]), np.float32)
    half = len(weight) // 2
    for k, part in enumerate(weight):
        shift = (k - half) * dilation
        if abs(shift) >= len(x):
            continue
        if shift >= 0:
            out[: len(x) - shift] += x[shift:] @ part
        else:
            out[-shift:] += x[:shift] @ part
    return out


def ear_from(path: Path | Traversable) -> tuple[EarWeights, ...]:
    with path.open("rb") as stream, np.load(stream) as stored:
        arrays = {name: stored[name].astype(np.float32) for name in stored.files}
    for name in [name for name in arrays if f"{name}_step" in arrays]:
        arrays[name] *= arrays[f"{name}_step"]
    networks = []
    for n in range(int(arrays["networks"])):
        stem = tuple((arrays[f"{n}_stem_{k}_w"], arrays[f"{n}_stem_{k}_b"]) for k in range(2))
        count = int(arrays["pairs"])
        pairs = tuple(
            (
                arrays[f"{n}_pair_{k}_w"],
                arrays[f"{n}_pair_{k}_b"],
                arrays[f"{n}_pair_{k}_v"],
                arrays[f"{n}_pair_{k}_c"],
            )
            for k in range(count)
        )
        readout = (arrays[f"{n}_readout_w"], arrays[f"{n}_readout_b"])
        networks.append(EarWeights(stem, pairs, readout))
    return tuple(networks)


@lru_cache(maxsize=1)
def fitted_ear() -> tuple[EarWeights, ...]:
    return ear_from(resources.files("composer.audio").joinpath("ear_weights.npz"))
