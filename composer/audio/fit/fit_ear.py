"""Fit the ear (see ``composer.audio.ear``) on invented songs. Needs PyTorch, best with a GPU.

Its input is scaled in the first layer of the stem, and the running norms are folded into the
layers before them, so that the program only multiplies and adds.
"""

# mypy: disable-error-code="import-not-found,no-untyped-call,no-untyped-def,misc"

import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from composer.audio.ear import EAR_HZ, HEARD, INPUTS, KERNEL, ear_input
from composer.audio.features import MEL_BANDS, features_of
from composer.audio.fit.truth import Truth, tracks_in, truth_of

Floats = NDArray[np.float32]


LEVELS = 18
"""Weights are kept in so many steps to each side of 0, as wide as each output's greatest needs."""


@dataclass(frozen=True)
class Settings:
    """How one network is fitted."""

    width: int = 160
    pairs: int = 10
    stem_width: int = 112
    dropout: float = 0.15
    moments: int = 2560
    """Length of the stretches learnt from: 51 s."""
    stretches_a_step: int = 64
    steps: int = 12_000
    rate: float = 3e-3
    decay: float = 0.02
    stretch: float = 0.22
    """Songs are played up to this much quicker or slower, as a log ratio."""


NETWORKS = (Settings(), Settings(width=112, steps=15_000))
"""Those of the shipped ear: unlike each other, so that their mean errs less than each."""


def fit_into(invented: Path, into: Path, networks: Sequence[Settings] = NETWORKS) -> None:
    """Fit on all songs of a folder; examples are kept in a folder within it."""
    import torch

    examples = invented / "examples"
    examples.mkdir(exist_ok=True)
    songs = tracks_in(invented)
    with ProcessPoolExecutor(mp_context=get_context("spawn")) as pool:
        list(pool.map(partial(write_example, into=examples), songs, chunksize=8))
    device = "cuda" if torch.cuda.is_available() else "cpu"
    stems = [path.stem for path in songs]
    fitted = [
        fit(examples, stems, settings, seed, device) for seed, settings in enumerate(networks)
    ]
    named = weight_file(fitted, networks[0].pairs)
    np.savez_compressed(into / "ear_weights.npz", **named)  # type: ignore[arg-type]


def write_example(path: Path, into: Path) -> None:
    """Leave what the ear gets of a track, and what it should hear, beside each other."""
    import soundfile

    samples, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
    given = ear_input(features_of(samples, rate_hz)).astype(np.float16)
    np.save(into / f"{path.stem}.given.npy", given)
    np.save(into / f"{path.stem}.wanted.npy", wanted_of(truth_of(path), len(given)))


def wanted_of(truth: Truth, moments: int) -> NDArray[np.float16]:
    """(moments, len(HEARD)) chances; a neighbour of an event counts half.

    All 0 in phrases where none are known; outside the beats nothing is wanted.
    """
    wanted = np.zeros((moments, len(HEARD)), np.float16)
    phrases_s = truth.phrases_s[0][:-1] if truth.phrases_s else np.zeros(0)
    for column, times_s in enumerate((truth.beats_s, truth.downbeats_s, phrases_s)):
        at = np.round(times_s * EAR_HZ).astype(int)
        reach = 2 if HEARD[column] == "phrase" else 1
        for off in range(-reach, reach + 1):
            inside = at[(at + off >= 0) & (at + off < moments)] + off
            value = 1 - abs(off) / (reach + 1)
            wanted[inside, column] = np.maximum(wanted[inside, column], value)
    return wanted


def network(settings: Settings, centre: Floats, scale: Floats) -> Any:
    import torch
    from torch import nn

    class Pair(nn.Module):
        def __init__(self, dilation: int) -> None:
            super().__init__()
            width = settings.width
            reach = dilation * (KERNEL // 2)
            self.wide = nn.Conv1d(width, width, KERNEL, padding=reach, dilation=dilation)
            self.norm = nn.BatchNorm1d(width)
            self.drop = nn.Dropout1d(settings.dropout)
            self.plain = nn.Conv1d(width, width, 1)

        def forward(self, x: Any) -> Any:
            return x + self.plain(self.drop(torch.relu(self.norm(self.wide(x)))))

    class Ear(nn.Module):
        def __init__(self) -> None:
            super().__init__()
            self.stem = nn.ModuleList(
                [
                    nn.Conv1d(INPUTS, settings.stem_width, 3, padding=1),
                    nn.Conv1d(settings.stem_width, settings.width, 3, padding=1),
                ]
            )
            self.norms = nn.ModuleList(
                [nn.BatchNorm1d(settings.stem_width), nn.BatchNorm1d(settings.width)]
            )
            self.pairs = nn.ModuleList([Pair(2**k) for k in range(settings.pairs)])
            self.readout = nn.Conv1d(settings.width, len(HEARD), 1)
            self.register_buffer("centre", torch.from_numpy(centre)[None, :, None])
            self.register_buffer("scale", torch.from_numpy(scale)[None, :, None])

        def forward(self, x: Any) -> Any:
            x = (x - self.centre) / self.scale
            for layer, norm in zip(self.stem, self.norms, strict=True):
                x = torch.relu(norm(layer(x)))
            for pair in self.pairs:
                x = pair(x)
            return self.readout(torch.relu(x))

    return Ear()


def fit(
    folder: Path,
    stems: list[str],
    settings: Settings,
    seed: int,
    device: str,
) -> dict[str, Floats]:
    """Learn from the named examples of a folder; the arrays of one network."""
    import torch
    import torch.nn.functional as tf

    torch.manual_seed(seed)
    parts = [np.load(folder / f"{stem}.given.npy") for stem in stems]
    wants = [np.load(folder / f"{stem}.wanted.npy") for stem in stems]
    starts = np.concatenate([[0], np.cumsum([len(p) for p in parts])])
    given = torch.from_numpy(np.concatenate(parts)).to(device)
    wanted = torch.from_numpy(np.concatenate(wants)).to(device)
    some = np.concatenate([p[::50] for p in parts]).astype(np.float32)
    del parts, wants
    centre, scale = some.mean(axis=0), some.std(axis=0) + 0.1
    ear = network(settings, centre, scale).to(device)
    descent = torch.optim.AdamW(ear.parameters(), lr=settings.rate, weight_decay=settings.decay)
    pace = torch.optim.lr_scheduler.OneCycleLR(
        descent, settings.rate, total_steps=settings.steps, pct_start=0.1
    )
    first = torch.from_numpy(starts[:-1]).to(device)
    length = torch.from_numpy(np.diff(starts)).to(device)
    chance = length.float() / length.sum()
    began, total = time.time(), 0.0
    for step in range(settings.steps):
        song = torch.multinomial(chance, settings.stretches_a_step, replacement=True)
        x, y, inside = _stretches(given, wanted, first[song], length[song], settings)
        x = _varied(x)
        with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
            score = ear(x)
        loss = tf.binary_cross_entropy_with_logits(score.float(), y, reduction="none")
        loss = (loss * inside).sum() / (inside.sum() * len(HEARD))
        descent.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(ear.parameters(), 1.0)
        descent.step()
        pace.step()
        total += float(loss.detach()) if step % 10 == 0 else 0.0
        if (step + 1) % 500 == 0:
            print(f"{step + 1:6} loss {total / 50:.4f}  {time.time() - began:.0f} s", flush=True)
            total = 0.0
    return arrays_of(ear.eval().cpu())


def _stretches(given: Any, wanted: Any, first: Any, length: Any, settings: Settings) -> Any:
    """Random stretches (songs, channels, moments), stretched in time, and where they are music."""
    import torch

    count, moments = len(first), settings.moments
    device = given.device
    rate = torch.exp((2 * torch.rand(count, device=device) - 1) * settings.stretch)
    span = moments * rate
    begin = (torch.rand(count, device=device) * 1.2 - 0.1) * (length - 0.8 * span).clamp(min=0.0)
    place = begin[:, None] + rate[:, None] * torch.arange(moments, device=device)
    inside = (place >= 0) & (place < (length - 1)[:, None])
    whole = place.floor().long()
    part = (place - whole)[..., None]
    low = first[:, None] + whole.clamp(min=0)
    low = torch.minimum(low, (first + length - 2)[:, None])
    x = given[low].float() * (1 - part) + given[low + 1].float() * part
    nearest = torch.minimum(low + (part[..., 0] > 0.5).long(), (first + length - 1)[:, None])
    y = wanted[nearest].float()
    # Played slower, an event's own moment may be skipped between two of its neighbours: the
    # half counted beside it stands for it.
    mask = inside[..., None].float()
    return (x * mask).transpose(1, 2), (y * mask).transpose(1, 2), mask.transpose(1, 2)


def _varied(x: Any) -> Any:
    """The same music through other rooms, loudspeakers and hands."""
    import torch

    count, device = len(x), x.device

    def normal(*shape: int) -> Any:
        return torch.randn(*shape, device=device)

    def some(share: float) -> Any:
        return (torch.rand(count, 1, 1, device=device) < share).float()

    mel, notes = x[:, : 2 * MEL_BANDS], x[:, 2 * MEL_BANDS :]
    mel = mel.reshape(count, 2, MEL_BANDS, -1)
    heard = (mel > 0).float()
    tone = torch.nn.functional.interpolate(
        0.35 * normal(count, 1, 6), size=MEL_BANDS, mode="linear", align_corners=True
    )
    by = int(torch.randint(-2, 3, (1,)))
    mel = torch.roll(mel, by, dims=2)
    notes = torch.roll(notes, int(torch.randint(-5, 6, (1,))), dims=1)
    mel = (mel + some(0.7)[..., None] * tone[:, :, :, None] * mel.mean(3, keepdim=True)) * heard
    mel = mel * torch.exp(0.15 * normal(count, 1, 1, 1))
    notes = notes * torch.exp(0.15 * normal(count, 1, 1))
    floor = some(0.3) * torch.rand(count, 1, 1, device=device) * 0.8
    mel = torch.maximum(mel, floor[..., None] * mel.mean((1, 3), keepdim=True))
    for _ in range(2):
        low = torch.randint(0, MEL_BANDS, (count, 1), device=device)
        band = torch.arange(MEL_BANDS, device=device)
        wide = torch.randint(0, 14, (count, 1), device=device)
        dead = (band >= low) & (band < low + wide) & (torch.rand(count, 1, device=device) < 0.4)
        mel = mel * (~dead).float()[:, None, :, None]
    notes = notes * (1 - some(0.1))
    x = torch.cat([mel.reshape(count, 2 * MEL_BANDS, -1), notes], dim=1)
    return x + 0.05 * normal(*x.shape)


def arrays_of(ear: Any) -> dict[str, Floats]:
    """The weights as the program wants them: (kernel, inputs, outputs), norms folded in."""
    arrays: dict[str, Floats] = {}

    def numbers(tensor: Any) -> Floats:
        return np.asarray(tensor.detach().numpy(), np.float32)

    def folded(layer: Any, norm: Any) -> tuple[Floats, Floats]:
        gain = numbers(norm.weight) / np.sqrt(numbers(norm.running_var) + norm.eps)
        weight = numbers(layer.weight) * gain[:, None, None]
        bias = (numbers(layer.bias) - numbers(norm.running_mean)) * gain + numbers(norm.bias)
        return weight, bias

    for k, (layer, norm) in enumerate(zip(ear.stem, ear.norms, strict=True)):
        weight, bias = folded(layer, norm)
        if k == 0:
            weight = weight / numbers(ear.scale)[0, :, 0][None, :, None]
            bias = bias - (weight * numbers(ear.centre)[0, :, 0][None, :, None]).sum(axis=(1, 2))
        arrays[f"stem_{k}_w"], arrays[f"stem_{k}_b"] = weight.transpose(2, 1, 0), bias
    for k, pair in enumerate(ear.pairs):
        weight, bias = folded(pair.wide, pair.norm)
        arrays[f"pair_{k}_w"], arrays[f"pair_{k}_b"] = weight.transpose(2, 1, 0), bias
        arrays[f"pair_{k}_v"] = numbers(pair.plain.weight)[:, :, 0].T
        arrays[f"pair_{k}_c"] = numbers(pair.plain.bias)
    arrays["readout_w"] = numbers(ear.readout.weight)[:, :, 0].T
    arrays["readout_b"] = numbers(ear.readout.bias)
    return arrays


def weight_file(
    networks: list[dict[str, Floats]], pairs: int, levels: int = LEVELS
) -> dict[str, NDArray[np.generic]]:
    """All networks as the arrays of one file, weights in whole steps, up to 127 to each side."""
    named: dict[str, NDArray[np.generic]] = {
        "networks": np.array(len(networks)),
        "pairs": np.array(pairs),
    }
    for n, arrays in enumerate(networks):
        for name, value in arrays.items():
            if value.ndim == 1:
                named[f"{n}_{name}"] = value.astype(np.float16)
                continue
            greatest = np.abs(value).max(axis=tuple(range(value.ndim - 1)))
            step = np.maximum(greatest / levels, 1e-4).astype(np.float16)
            whole = np.round(value / step.astype(np.float32))
            named[f"{n}_{name}"] = np.clip(whole, -levels, levels).astype(np.int8)
            named[f"{n}_{name}_step"] = step
    return named
