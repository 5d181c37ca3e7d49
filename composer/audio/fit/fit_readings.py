"""Fit the weights of the listening stage: which reading of a pulse is the right one.

Not part of the program: run by hand, needs PyTorch, FluidSynth and a General MIDI sound font.

    python -m composer.audio.fit.fit_readings SONGS FONT.sf2 -o composer/audio/reading_weights.npz

SONGS is how many invented songs to render (see ``practice_music``); nothing else is learnt from.
The shipped weights: 500 songs, rendered with the FluidR3 General MIDI font.
"""

import argparse
import subprocess
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from composer.audio.features import Features, features_of
from composer.audio.fit.practice_music import Song, invent
from composer.audio.pulse import find_pulse
from composer.audio.readings import beat_trains, curves_of, readings_of

HIT_S = 0.070
NETWORKS, HIDDEN, EPOCHS, SONGS_A_STEP = 4, 48, 45, 64
RATE, DECAY, NOISE, DROPOUT = 6e-3, 1.0, 0.4, 0.2
LISTENED_S = 150


@dataclass
class Example:
    """One song: the numbers of its readings and how right each is (0..2)."""

    numbers: NDArray[np.float32]
    quality: NDArray[np.float32]


def f_measure(truth_s: NDArray[np.float64], found_s: NDArray[np.float64]) -> float:
    """Share of beats met within 70 ms, for events further apart than that."""
    if not len(truth_s) or not len(found_s):
        return 0.0
    after = np.clip(np.searchsorted(found_s, truth_s), 1, len(found_s) - 1)
    off = np.minimum(np.abs(truth_s - found_s[after - 1]), np.abs(truth_s - found_s[after]))
    return float(2 * np.sum(off <= HIT_S) / (len(truth_s) + len(found_s)))


def example(
    features: Features, beats_s: NDArray[np.float64], places: NDArray[np.int64]
) -> Example | None:
    """All readings of a song against its truth; None where no reading comes near."""
    pulse = find_pulse(features)
    if pulse is None or len(beats_s) < 8:
        return None
    curves = curves_of(features)
    low, high = beats_s[0] - 0.3, beats_s[-1] + 0.3
    downs_s = beats_s[places == 1]
    numbers, quality = [], []
    for train in beat_trains(pulse, curves):
        inside = train.times_s[(train.times_s > low) & (train.times_s < high)]
        beats_right = f_measure(beats_s, inside)
        for reading in readings_of(train, curves):
            found_s = train.times_s[reading.first_downbeat :: reading.beats_per_bar]
            found_s = found_s[(found_s > low) & (found_s < high)]
            numbers.append(reading.numbers.astype(np.float32))
            quality.append(beats_right + f_measure(downs_s, found_s))
    if not numbers or max(quality) < 1.6:
        return None
    return Example(np.stack(numbers), np.array(quality, np.float32))


def song_features(song: Song, font: Path) -> Features:
    """What is heard of a song when a synthesiser plays it."""
    import soundfile

    with tempfile.TemporaryDirectory() as folder:
        midi, wav = Path(folder, "song.mid"), Path(folder, "song.wav")
        song.midi.save(midi)
        subprocess.run(
            ["fluidsynth", "-ni", "-q", "-F", wav, "-r", "22050", "-g", "0.5", font, midi],
            check=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        samples, rate = soundfile.read(wav, dtype="float32", always_2d=True)
    return features_of(samples[: LISTENED_S * rate], rate)


def invented_examples(count: int, font: Path) -> Iterator[Example]:
    for seed in range(count):
        song = invent(seed)
        made = example(song_features(song, font), np.array(song.beats_s), np.array(song.positions))
        if made is not None:
            yield made


def fit(examples: list[Example]) -> dict[str, NDArray[np.float32]]:
    """The arrays of the weight file: NETWORKS networks from different random starts.

    Half of the loss is the cross entropy against the readings' quality, half the quality that
    the belief earns on average. Noise on the inputs, dropout and strong decay keep it simple.
    """
    import torch

    every = np.concatenate([e.numbers[::3] for e in examples])
    centre, scale = every.mean(axis=0), every.std(axis=0) + 1e-6
    most = max(len(e.numbers) for e in examples)
    inputs = torch.zeros(len(examples), most, len(centre))
    quality = torch.full((len(examples), most), -1.0)
    for i, e in enumerate(examples):
        scaled = np.clip((e.numbers - centre) / scale, -5, 5)
        inputs[i, : len(scaled)] = torch.from_numpy(scaled)
        quality[i, : len(scaled)] = torch.from_numpy(e.quality)
    real = quality >= 0
    behind = quality - quality.max(dim=1, keepdim=True).values
    target = torch.where(behind < -0.35, torch.zeros(()), torch.exp(8 * behind))
    target = target / target.sum(dim=1, keepdim=True)
    arrays: dict[str, NDArray[np.float32]] = {
        "centre": centre,
        "scale": scale,
        "networks": np.array(NETWORKS, np.float32),
        "sharpness": np.array(1.0, np.float32),
    }
    for k in range(NETWORKS):
        torch.manual_seed(k)
        first, second = torch.nn.Linear(len(centre), HIDDEN), torch.nn.Linear(HIDDEN, HIDDEN // 2)
        last, straight = torch.nn.Linear(HIDDEN // 2, 1), torch.nn.Linear(len(centre), 1)
        parts = torch.nn.ModuleList([first, second, last, straight])
        drop = torch.nn.Dropout(DROPOUT)
        optimiser = torch.optim.AdamW(parts.parameters(), lr=RATE, weight_decay=DECAY)
        steps = EPOCHS * -(-len(examples) // SONGS_A_STEP)
        schedule = torch.optim.lr_scheduler.OneCycleLR(optimiser, RATE, total_steps=steps)
        for _ in range(EPOCHS):
            for chosen in torch.randperm(len(examples)).split(SONGS_A_STEP):
                x = inputs[chosen] + NOISE * torch.randn(len(chosen), most, len(centre))
                hidden = drop(torch.relu(second(drop(torch.relu(first(drop(x)))))))
                score = (last(hidden) + straight(x)).squeeze(-1)
                belief = torch.log_softmax(score.masked_fill(~real[chosen], -1e9), dim=1)
                entropy = -(target[chosen] * belief.clamp(min=-50)).sum()
                earned = (belief.exp() * quality[chosen].clamp(min=0)).sum()
                loss = (0.5 * entropy - earned) / len(chosen)
                optimiser.zero_grad()
                loss.backward()
                optimiser.step()
                schedule.step()
        for name, part in zip("123s", parts, strict=True):
            arrays[f"w{name}_{k}"] = part.weight.detach().numpy()
            arrays[f"b{name}_{k}"] = part.bias.detach().numpy()
    return arrays


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
