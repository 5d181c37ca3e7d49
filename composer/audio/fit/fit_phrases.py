"""Fit the weights that tell where phrases begin: small networks over the numbers of each bar.

Not part of the program: run by hand, needs PyTorch, FluidSynth and a General MIDI sound font.

    python -m composer.audio.fit.fit_phrases SONGS FONT.sf2 -o composer/audio/phrase_weights.npz

Learns from the same invented songs as ``fit_readings``, on their true bars.
"""

import argparse
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from composer.audio.features import Features
from composer.audio.fit.fit_readings import LISTENED_S, song_features
from composer.audio.fit.practice_music import Song, invent
from composer.audio.phrases import measure_bars, turn_numbers
from composer.audio.readings import curves_of

NETWORKS, HIDDEN, EPOCHS, SONGS_A_STEP = 3, 8, 60, 32
RATE, DECAY, NOISE = 5e-3, 0.3, 0.3
SAME_BAR_S = 0.1


@dataclass
class Example:
    """One song: the numbers of its bars, and on which of them a phrase begins."""

    numbers: NDArray[np.float32]
    begins: NDArray[np.bool_]


def example(song: Song, features: Features) -> Example | None:
    """The bars of a song against its truth; None where too little of it was listened to."""
    beats_s, places = np.array(song.beats_s), np.array(song.positions)
    starts_s = beats_s[(places == 1) & (beats_s < LISTENED_S)]
    if len(starts_s) < 8:
        return None
    ends_s = np.append(starts_s[1:], starts_s[-1] + np.median(np.diff(starts_s)))
    bars = measure_bars(curves_of(features), starts_s, ends_s)
    apart = np.abs(starts_s[:, None] - np.array(song.sections_s)[None, :])
    return Example(turn_numbers(bars).astype(np.float32), apart.min(axis=1) < SAME_BAR_S)


def invented_examples(count: int, font: Path) -> Iterator[Example]:
    for song in map(invent, range(count)):
        made = example(song, song_features(song, font))
        if made is not None:
            yield made


def fit(examples: list[Example]) -> dict[str, NDArray[np.float32]]:
    """The arrays of the weight file. The first bar of a song is left out: it always begins one."""
    import torch

    numbers = [torch.from_numpy(e.numbers[1:]) for e in examples]
    begins = [torch.from_numpy(e.begins[1:].astype(np.float32)) for e in examples]
    networks = []
    for k in range(NETWORKS):
        torch.manual_seed(k)
        first = torch.nn.Linear(numbers[0].shape[1], HIDDEN)
        last = torch.nn.Linear(HIDDEN, 1, bias=False)
        straight = torch.nn.Linear(numbers[0].shape[1], 1)
        parts = torch.nn.ModuleList([first, last, straight])
        optimiser = torch.optim.AdamW(parts.parameters(), lr=RATE, weight_decay=DECAY)
        for _ in range(EPOCHS):
            for chosen in torch.randperm(len(examples)).split(SONGS_A_STEP):
                x = torch.cat([numbers[i] for i in chosen])
                x = x + NOISE * torch.randn_like(x)
                odds = (last(torch.tanh(first(x))) + straight(x)).squeeze(-1)
                wanted = torch.cat([begins[i] for i in chosen])
                loss = torch.nn.functional.binary_cross_entropy_with_logits(odds, wanted)
                optimiser.zero_grad()
                loss.backward()
                optimiser.step()
        networks.append(
            (
                first.weight.detach().numpy().T,
                first.bias.detach().numpy(),
                last.weight.detach().numpy()[0],
                straight.weight.detach().numpy()[0],
                straight.bias.detach().numpy()[0],
            )
        )
    names = ("w1", "b1", "w2", "straight", "constant")
    return {
        name: np.array([network[i] for network in networks], np.float32)
        for i, name in enumerate(names)
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("songs", type=int)
    parser.add_argument("font", type=Path)
    parser.add_argument("-o", "--output", type=Path, required=True)
    options = parser.parse_args()
    arrays = fit(list(invented_examples(options.songs, options.font)))
    np.savez_compressed(options.output, **arrays)  # type: ignore[arg-type]


if __name__ == "__main__":
    main()
