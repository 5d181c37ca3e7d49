"""Phrases: where the music turns, and which stretches sound alike."""

import numpy as np
import scipy.ndimage as ndi
from numpy.typing import NDArray

from composer.audio.readings import Curves

Doubles = NDArray[np.float64]


def bar_likeness(curves: Curves, starts_s: Doubles, ends_s: Doubles) -> Doubles:
    """How alike any two bars sound, (bars, bars), 0..1: timbre in eighths, harmony, bass."""
    share = np.arange(8) / 8
    lengths = (ends_s - starts_s)[:, None]
    begin = (starts_s[:, None] + lengths * share).ravel()
    stop = (starts_s[:, None] + lengths * (share + 1 / 8)).ravel()
    timbre = curves.means("timbre", begin, stop).reshape(len(starts_s), -1)
    timbre = (timbre - timbre.mean(axis=0)) / (timbre.std() + 1e-9)
    apart = np.square(timbre[:, None] - timbre[None]).mean(axis=2)
    typical = np.median(apart[apart > 0]) if np.any(apart > 0) else 1.0
    alike = np.exp(-1.2 * apart / typical)
    harmony = np.hstack(
        [curves.means("harmony", starts_s, ends_s), 0.7 * curves.means("bass", starts_s, ends_s)]
    )
    harmony = harmony / (np.linalg.norm(harmony, axis=1, keepdims=True) + 1e-9)
    smooth = ndi.uniform_filter1d(harmony, 3, axis=0)
    return np.asarray(0.75 * alike + 0.25 * np.clip(smooth @ smooth.T, 0, 1))


def novelty(alike: Doubles) -> Doubles:
    """How much the music turns at the start of each bar, over 1, 2, 4 and 8 bars to each side.

    References
    ----------
    J. Foote, Automatic audio segmentation using a measure of audio novelty, ICME 2000.
    """
    bars = len(alike)
    total = np.zeros(bars)
    for reach, weight in ((1, 0.3), (2, 0.7), (4, 1.0), (8, 0.7)):
        padded = np.pad(alike, reach, mode="edge")
        at = np.arange(-reach, reach) + 0.5
        bell = np.exp(-0.5 * np.square(at / (0.6 * reach + 0.4))) * np.sign(at)
        kernel = np.outer(bell, bell) / np.abs(np.outer(bell, bell)).sum()
        turn = np.array(
            [(padded[i : i + 2 * reach, i : i + 2 * reach] * kernel).sum() for i in range(bars)]
        )
        turn = np.maximum(turn, 0)
        turn[0] = 0
        total += weight * turn / (np.sort(turn)[-max(3, bars // 10) :].mean() + 1e-9)
    return total / 2.7


def phrase_starts(alike: Doubles) -> tuple[list[int], float]:
    """Bars on which phrases begin, the first always 0, and how clear the turns are, 0..1.

    Dynamic programming: a phrase gains by being alike in itself and by turning at its end, and
    pays by its length in bars: 8 and 16 are free, 4 costs little, odd lengths cost most.
    """
    bars = len(alike)
    if bars < 4:
        return [0], 0.0
    turn = novelty(alike)
    tops = [np.sort(turn[q::4])[-max(2, bars // 12) :].sum() for q in range(4)]
    phase = int(np.argmax(tops))
    fours = np.where(
        (np.arange(bars) - phase) % 4 == 0,
        0.15,
        np.where((np.arange(bars) - phase) % 2 == 0, 0.0, -0.15),
    )
    area = np.zeros((bars + 1, bars + 1))
    area[1:, 1:] = alike.cumsum(axis=0).cumsum(axis=1)
    best = np.full(bars + 1, -np.inf)
    best[0] = 0.0
    came = np.zeros(bars + 1, int)
    for end in range(1, bars + 1):
        start = np.arange(max(0, end - 64), end)
        length = end - start
        inner = area[end, end] - 2 * area[start, end] + area[start, start]
        gain = 0.4 * length * (inner / length**2 - alike.mean())
        cost = (
            1.1
            + np.select([length % 8 == 0, length % 4 == 0, length % 2 == 0], [0.0, 0.25, 0.6], 1.0)
            + 1.2 * (length < 4)
        )
        turned = 2.4 * turn[end] + fours[end] if end < bars else 0.0
        score = best[start] + gain - cost + turned
        came[end] = start[int(score.argmax())]
        best[end] = score.max()
    starts, end = [], bars
    while end > 0:
        end = int(came[end])
        starts.append(end)
    starts.reverse()
    at = turn[starts[1:]]
    clear = float(np.clip(at.mean() - turn.mean(), 0, 1)) if len(at) else 0.0
    return starts, clear


def phrase_names(alike: Doubles, starts: list[int]) -> list[str]:
    """A, B, ... by likeness: a phrase like an earlier one takes its letter, with a mark (A')."""
    edges = [*starts, len(alike)]
    spans = list(zip(edges[:-1], edges[1:], strict=True))
    limit = float(np.percentile(alike, 75))
    letters: list[int] = []
    for i, span in enumerate(spans):
        alike_to = [_pair_likeness(alike, span, other) for other in spans[:i]]
        match = int(np.argmax(alike_to)) if alike_to else -1
        if match >= 0 and alike_to[match] > limit:
            letters.append(letters[match])
        else:
            letters.append(max(letters, default=-1) + 1)
    names, seen = [], {}
    for letter in letters:
        times = seen.get(letter, 0)
        seen[letter] = times + 1
        names.append(
            _letter(letter) + ("" if times == 0 else "'" if times == 1 else str(times + 1))
        )
    return names


def _pair_likeness(alike: Doubles, one: tuple[int, int], two: tuple[int, int]) -> float:
    """Mean likeness of two phrases laid side by side, over the shorter one."""
    count = min(one[1] - one[0], two[1] - two[0])
    step = np.arange(count)
    return float(alike[one[0] + step, two[0] + step].mean())


def _letter(number: int) -> str:
    return chr(ord("A") + number) if number < 26 else f"Z{number - 25}"
