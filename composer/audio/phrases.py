"""Phrases: where the music turns, and which stretches sound alike."""

from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

from composer.audio.curves import Curves
from composer.audio.ear_evidence import odds

Doubles = NDArray[np.float64]


@dataclass(frozen=True)
class Bars:
    """Bars of a track with what the search for phrases needs of them."""

    starts_s: Doubles
    ends_s: Doubles
    timbre: Doubles
    """(bars, bars) likeness of timbre through the bar, 0..1."""
    harmony: Doubles
    """(bars, bars) likeness of harmony and bass, -1..1."""
    rhythm: Doubles
    """(bars, bars) likeness of the strokes in all bands, -1..1."""
    strokes: Doubles
    """(bars, bands, 16) onset strengths in sixteenths of the bar."""
    level: Doubles
    """(bars, 4) loudness of the bar: all, low, middle and high, as mean log magnitude."""
    heard: Doubles
    """(bars,) log odds, as the ear hears them, that a phrase begins with the bar."""

    @property
    def alike(self) -> Doubles:
        return np.asarray(
            0.6 * self.timbre
            + 0.25 * np.clip(self.harmony, 0, 1)
            + 0.15 * np.clip(self.rhythm, 0, 1)
        )


def measure_bars(curves: Curves, starts_s: Doubles, ends_s: Doubles) -> Bars:
    """Measure bars; there must be at least one."""
    bars = len(starts_s)
    lengths = (ends_s - starts_s)[:, None]
    eighths = starts_s[:, None] + lengths * np.arange(8) / 8
    spectrum = curves.means("timbre", eighths.ravel(), (eighths + lengths / 8).ravel())
    timbre = spectrum.reshape(bars, -1)
    timbre = (timbre - timbre.mean(axis=0)) / (timbre.std() + 1e-9)
    power = np.square(timbre).mean(axis=1)
    apart = np.maximum(0, power[:, None] + power - 2 * (timbre @ timbre.T) / timbre.shape[1])
    typical = float(np.median(apart[apart > 0])) if np.any(apart > 0) else 1.0
    halves = starts_s[:, None] + lengths * np.arange(2) / 2
    chords = [
        curves.means(name, halves.ravel(), (halves + lengths / 2).ravel()).reshape(bars, -1)
        for name in ("harmony", "bass")
    ]
    strokes = curves.onsets_at(starts_s[:, None] + lengths * np.arange(16) / 16)
    flat = np.sqrt(strokes).transpose(1, 0, 2).reshape(bars, -1)
    bands = curves.means("timbre", starts_s, ends_s)
    level = np.stack(
        [bands.mean(axis=1), *(bands[:, a:b].mean(axis=1) for a, b in ((0, 3), (3, 10), (10, 15)))],
        axis=1,
    )
    return Bars(
        starts_s,
        ends_s,
        np.exp(-1.2 * apart / typical),
        _cosines(np.hstack([chords[0], 0.7 * chords[1]])),
        _cosines(flat - flat.mean(axis=0)),
        strokes.transpose(1, 0, 2),
        level,
        odds(curves.ear.at("phrase", starts_s)),
    )


def _cosines(rows: Doubles) -> Doubles:
    unit = rows / (np.linalg.norm(rows, axis=1, keepdims=True) + 1e-9)
    return np.asarray(unit @ unit.T)


def novelty(alike: Doubles, reach: int) -> Doubles:
    """How much the music turns at the start of each bar, over ``reach`` bars to each side.

    References
    ----------
    J. Foote, Automatic audio segmentation using a measure of audio novelty, ICME 2000.
    """
    padded = np.pad(alike, reach, mode="edge")
    at = np.arange(-reach, reach) + 0.5
    bell = np.exp(-0.5 * np.square(at / (0.6 * reach + 0.4))) * np.sign(at)
    kernel = np.outer(bell, bell) / np.abs(np.outer(bell, bell)).sum()
    span = 2 * reach
    return np.array(
        [(padded[i : i + span, i : i + span] * kernel).sum() for i in range(len(alike))]
    )


def repeats(alike: Doubles, reach: int = 4) -> tuple[Doubles, Doubles]:
    """How clearly a repeated stretch begins, and ends, at the start of each bar.

    The best match with any other place of the ``reach`` bars after, less the match of those
    before, and the other way round.
    """
    bars = len(alike)
    padded = np.pad(alike, reach, mode="constant", constant_values=float(alike.mean()))
    after = np.zeros((bars, bars))
    before = np.zeros((bars, bars))
    for k in range(reach):
        after += padded[reach + k : reach + k + bars, reach + k : reach + k + bars]
        before += padded[reach - 1 - k :, reach - 1 - k :][:bars, :bars]
    change = (after - before) / reach
    far = np.abs(np.subtract.outer(np.arange(bars), np.arange(bars))) >= reach
    begins = np.where(far, change, -1.0).max(axis=1)
    ends = np.where(far, -change, -1.0).max(axis=1)
    return begins, ends


def turn_numbers(bars: Bars) -> Doubles:
    """(bars, numbers): what tells that a phrase begins with a bar, see ``fit/fit_phrases.py``."""
    count = len(bars.starts_s)
    columns: list[Doubles] = []
    turns = []
    for table in (bars.timbre, bars.harmony, bars.rhythm):
        for reach in (1, 2, 4, 8):
            turn = _scaled(novelty(table, reach))
            turns.append(turn)
            columns.append(turn)
    for table in (bars.timbre, bars.harmony, bars.rhythm):
        columns += [_scaled(x) for x in repeats(table)]
    for reach in (1, 2, 4):
        columns += [_scaled(x) for x in _steps(bars.level, reach).T]
    columns += [_scaled(np.abs(x)) for x in _steps(bars.level, 4).T]
    typical = np.median(bars.strokes, axis=0)
    odd = np.abs(bars.strokes - typical)
    tail = np.concatenate([odd[:1], odd[:-1]])[:, :, 12:].mean(axis=2)
    quiet = np.concatenate([bars.strokes[:1], bars.strokes[:-1]])[:, :, 8:].mean(axis=2)
    first = bars.strokes[:, :, 0]
    columns += [_scaled(x) for block in (tail, quiet, first) for x in block.T]
    main = np.mean(turns, axis=0)
    for shift in (1, 2, 4, 8):
        columns += [_moved(main, shift), _moved(main, -shift)]
    columns += [
        np.mean([_moved(main, k) for k in range(-16, 17, 4)], axis=0),
        np.mean([_moved(main, k) for k in range(-32, 33, 8)], axis=0),
    ]
    beside = np.stack([_moved(bars.heard, k) for k in (-2, -1, 1, 2)]).max(axis=0)
    columns += [bars.heard, _scaled(bars.heard), bars.heard - beside]
    place = np.arange(count)
    columns += [np.exp(-place / 4.0), np.exp(-(count - 1 - place) / 4.0)]
    return np.stack(columns, axis=1)


def _steps(level: Doubles, reach: int) -> Doubles:
    """Level over ``reach`` bars from each bar on, less that over the bars before it."""
    total = np.concatenate([np.zeros((1, level.shape[1])), np.cumsum(level, axis=0)])
    here = np.arange(len(level))
    low, high = np.maximum(0, here - reach), np.minimum(len(level), here + reach)
    after = (total[high] - total[here]) / (high - here)[:, None]
    before = (total[here] - total[low]) / np.maximum(1, here - low)[:, None]
    step = after - before
    step[0] = 0
    return np.asarray(step)


def _scaled(values: Doubles) -> Doubles:
    return np.asarray(np.clip((values - values.mean()) / (values.std() + 1e-6), -3, 5))


def _moved(values: Doubles, by: int) -> Doubles:
    """The values ``by`` bars later, 0 beyond the ends."""
    out = np.zeros_like(values)
    if abs(by) < len(values):
        if by >= 0:
            out[: len(values) - by] = values[by:]
        else:
            out[-by:] = values[:by]
    return out


@lru_cache(maxsize=1)
def _turn_weights() -> tuple[Doubles, ...]:
    """(w1, b1, w2, straight, constant), made by fit/fit_phrases.py."""
    source = resources.files("composer.audio").joinpath("phrase_weights.npz")
    with source.open("rb") as stream, np.load(stream) as stored:
        return tuple(
            stored[name].astype(float) for name in ("w1", "b1", "w2", "straight", "constant")
        )


def turn_odds(bars: Bars) -> Doubles:
    """Log odds that a phrase begins with each bar: the mean of a few small fitted networks."""
    w1, b1, w2, straight, constant = _turn_weights()
    numbers = turn_numbers(bars)
    hidden = np.tanh(np.einsum("bn,knh->kbh", numbers, w1) + b1[:, None])
    odds = np.einsum("kbh,kh->kb", hidden, w2) + straight @ numbers.T + constant[:, None]
    return np.asarray(odds.mean(axis=0))


ODDS_SHARE, EVENNESS = 0.35, 1.0
LONGEST_PHRASE = 64
SHORT_S, SHORT_COST = 10.0, 0.6
"""A phrase shorter than this pays so much for each time that it is halved."""


def phrase_starts(bars: Bars) -> tuple[list[int], float]:
    """Bars on which phrases begin, the first always 0, and how sure that is, 0..1.

    Dynamic programming: a phrase gains by being alike in itself and by the chance of a turn at
    its end, and pays by its length in bars (8 and 16 are free, 4 costs a little, odd lengths and
    under 4 most) and in seconds. How sure: the mean fitted chance of a turn at the chosen places.
    """
    count = len(bars.starts_s)
    if count < 4:
        return [0], 0.0
    alike = bars.alike
    odds = turn_odds(bars)
    gain = np.append(ODDS_SHARE * odds, 0.0)  # the last phrase gains nothing by its end
    bar_s = float(np.median(bars.ends_s - bars.starts_s))
    area = np.zeros((count + 1, count + 1))
    area[1:, 1:] = alike.cumsum(axis=0).cumsum(axis=1)
    best = np.full(count + 1, -np.inf)
    best[0] = 0.0
    came = np.zeros(count + 1, int)
    for end in range(1, count + 1):
        start = np.arange(max(0, end - LONGEST_PHRASE), end)
        length = end - start
        inner = (area[end, end] - 2 * area[start, end] + area[start, start]) / length**2
        even = EVENNESS * length * (inner - alike.mean())
        score = best[start] + even - _length_cost(length, bar_s) + gain[end]
        came[end] = start[int(score.argmax())]
        best[end] = score.max()
    starts, end = [], count
    while end > 0:
        end = int(came[end])
        starts.append(end)
    starts.reverse()
    chance = 1 / (1 + np.exp(-odds[starts[1:]]))
    return starts, float(chance.mean()) if len(chance) else 0.0


def _length_cost(bars: NDArray[np.intp], bar_s: float) -> Doubles:
    kind = np.select([bars % 8 == 0, bars % 4 == 0, bars % 2 == 0], [0.0, 0.6, 0.6], 1.0)
    short = SHORT_COST * np.maximum(0, np.log2(SHORT_S / (bars * bar_s)))
    return np.asarray(kind + short + 1.2 * (bars < 4) + 1.0 * (bars < 2) - 0.5)
