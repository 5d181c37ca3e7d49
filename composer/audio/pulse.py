"""The pulse: the evenly running clicks under the music, before anyone says which are beats.

The pulse is the most regular level of the music, often the eighths. Where the music is steady
it is an exact grid; where the tempo changes it is several grids; where the music breathes it is
a train of single clicks.
"""

import itertools
from dataclasses import dataclass

import numpy as np
import scipy.fft
import scipy.ndimage as ndi
from numpy.typing import NDArray

from composer.audio.attack import attack_shift_s
from composer.audio.even_grid import even_grid, steady_grid, strength_at
from composer.audio.features import FRAME_HZ, Features

Doubles = NDArray[np.float64]

WINDOW_S, WINDOW_STEP_S = 12.0, 2.0
SLOWEST_PULSE_BPM, FASTEST_PULSE_BPM = 78.0, 330.0
TEMPO_STEP = 0.004
"""Spacing of the tempo candidates, as a ratio."""
JUMP_COST = 2.2
"""Cost of a tempo change, against the salience of one window (at most about 1)."""
UNREST = 0.04
"""Mean change, as a log ratio, from one pulse interval to the next that makes a pulse doubtful.

Measured: up to 0.017 in songs whose tempo drifts, 0.033 to 0.085 in free rhythm and rubato.
"""
CLEAR = 0.7
"""Clarity from which on a pulse is beyond doubt; bands reach 0.66 to 0.9."""


@dataclass(frozen=True)
class PulseSpan:
    """A stretch with one character: an exact grid, or single clicks."""

    first: int
    last: int
    """Indices into the pulse times, both included."""
    steady: bool


@dataclass(frozen=True)
class Pulse:
    times_s: Doubles
    spans: tuple[PulseSpan, ...]
    clarity: float
    """0..1: how much of the onset strength follows the pulse, against chance."""

    @property
    def steady(self) -> bool:
        return len(self.spans) == 1 and self.spans[0].steady

    @property
    def exact(self) -> bool:
        """Whether some of it is an even grid; otherwise it follows single strokes."""
        return any(span.steady for span in self.spans)

    @property
    def trust(self) -> float:
        """0..1: how far what is read from the pulse can be believed.

        A weak pulse may be none at all, and one that goes by fits and starts loses its place.
        """
        gaps_s = np.diff(self.times_s)
        unrest = float(np.abs(np.diff(np.log(gaps_s))).mean())
        return float(np.exp(-np.square(unrest / UNREST))) * min(1.0, self.clarity / CLEAR)

    def time_at(self, index: Doubles) -> Doubles:
        """Times of pulse positions, also fractional, carried on at both ends."""
        known = np.arange(len(self.times_s))
        inner = np.interp(index, known, self.times_s)
        first, last = self.times_s[1] - self.times_s[0], self.times_s[-1] - self.times_s[-2]
        before = self.times_s[0] + index * first
        after = self.times_s[-1] + (index - known[-1]) * last
        return np.where(index < 0, before, np.where(index > known[-1], after, inner))


def pulse_curve(features: Features) -> Doubles:
    """One curve of onset strength, for the pulse: all bands, the low ones again."""
    on = features.onsets
    curve = on["full"] + 0.5 * on["low"] + 0.3 * on["mid"] + 0.4 * on["tone"]
    return np.asarray(ndi.gaussian_filter1d(curve, 0.8), float)


def find_pulse(features: Features) -> Pulse | None:
    """The pulse of a track, or None where there is too little music to tell (under 2 s)."""
    curve = pulse_curve(features)
    if features.duration_s < 2.0 or not np.any(curve > 0):
        return None
    pieces = _one_level(_pieces(tempo_path_hz(curve)))
    cuts = _cut_times(curve, pieces)
    trains: list[Doubles] = []
    spans: list[PulseSpan] = []
    count = 0
    for piece, start_s, end_s, grid in _free_joined(curve, _joined(curve, pieces, cuts)):
        steady = grid is not None
        times = _free_clicks(curve, piece, start_s, end_s) if grid is None else grid
        if trains and len(times):
            times = times[times > trains[-1][-1] + 0.5 / piece.rate]
        if len(times):
            trains.append(times)
            spans.append(PulseSpan(count, count + len(times) - 1, steady))
            count += len(times)
    if count < 4:
        return None
    times = np.concatenate(trains)
    clarity = clarity_of(curve, times)
    return Pulse(times + attack_shift_s(features, times), _merged(spans), clarity)


def tempo_path_hz(curve: Doubles) -> Doubles:
    """Pulse rate in each window of the track, changing only where that clearly pays.

    Viterbi search: a window's score is the comb energy at the rate, a step to a neighbouring
    rate is nearly free, any other change costs JUMP_COST.
    """
    rates, salience = tempogram(curve)
    count, states = salience.shape
    best = salience[0].copy()
    came = np.zeros((count, states), np.int32)
    own = np.arange(states)
    for t in range(1, count):
        near = np.stack([np.roll(best, 1) - 0.05, best, np.roll(best, -1) - 0.05])
        near[0, 0] = near[2, -1] = -np.inf
        choice = near.argmax(axis=0)
        stay = near[choice, own]
        jump = int(best.argmax())
        far = best[jump] - JUMP_COST
        came[t] = np.where(stay >= far, own + choice - 1, jump)
        best = np.maximum(stay, far) + salience[t]
    state = int(best.argmax())
    path = np.empty(count, int)
    for t in range(count - 1, -1, -1):
        path[t] = state
        state = int(came[t, state])
    return np.asarray(rates[path])


def tempogram(curve: Doubles) -> tuple[Doubles, Doubles]:
    """Rates in Hz, and for each window (every WINDOW_STEP_S) the comb energy at each, 0..1.

    The comb adds the spectrum of the onset curve at 1, 2, 3 and 4 times the rate.
    """
    span = int(WINDOW_S * FRAME_HZ)
    padded = np.pad(curve - curve.mean(), span // 2)
    step = int(WINDOW_STEP_S * FRAME_HZ)
    frames = np.lib.stride_tricks.sliding_window_view(padded, span)[::step]
    size = 16384
    steps = int(np.log(FASTEST_PULSE_BPM / SLOWEST_PULSE_BPM) / TEMPO_STEP)
    rates = SLOWEST_PULSE_BPM / 60 * np.exp(TEMPO_STEP * np.arange(steps))
    taper = np.hanning(span)
    bin_of = {h: rates * h * size / FRAME_HZ for h in (1, 2, 3, 4)}
    salience = np.empty((len(frames), steps))
    for i, frame in enumerate(frames):
        size_at = np.abs(scipy.fft.rfft(frame * taper, size))
        grid = np.arange(len(size_at))
        comb = sum(
            weight * np.interp(bin_of[h], grid, size_at)
            for h, weight in ((1, 1.0), (2, 0.8), (3, 0.25), (4, 0.5))
        )
        salience[i] = comb / (size_at.max() * 1.6 + 1e-9)
    prior = -0.08 * np.square(np.log2(rates * 60 / 150))
    return rates, salience + prior


@dataclass(frozen=True)
class _Piece:
    """Windows ``first`` to ``last`` of the tempo path, at about one rate."""

    first: int
    last: int
    path_hz: Doubles

    @property
    def rate(self) -> float:
        return float(np.median(self.path_hz))

    @property
    def wander(self) -> float:
        """How far the rate strays, as a log ratio."""
        return float(np.percentile(np.abs(np.log(self.path_hz / self.rate)), 90))


def _pieces(path_hz: Doubles) -> list[_Piece]:
    """Runs of windows without a jump in rate; runs under four windows join a neighbour."""
    jumps = np.flatnonzero(np.abs(np.diff(np.log(path_hz))) > 2.5 * TEMPO_STEP) + 1
    kept = [0]
    for edge in jumps.tolist():
        if edge - kept[-1] >= 4 and len(path_hz) - edge >= 4:
            kept.append(edge)
    kept.append(len(path_hz))
    return [_Piece(a, b - 1, path_hz[a:b]) for a, b in itertools.pairwise(kept)]


def _one_level(pieces: list[_Piece]) -> list[_Piece]:
    """Rates doubled or halved towards the longest piece's, so that all count the same level."""
    longest = max(pieces, key=lambda piece: piece.last - piece.first)
    octaves = [round(float(np.log2(longest.rate / piece.rate))) for piece in pieces]
    return [
        _Piece(p.first, p.last, p.path_hz * 2.0**k) for p, k in zip(pieces, octaves, strict=True)
    ]


def _joined(
    curve: Doubles, pieces: list[_Piece], cuts: list[float]
) -> list[tuple[_Piece, float, float]]:
    """Pieces with their start and end, neighbours made one where one exact grid holds in both."""
    parts = [(p, a, b) for p, a, b in zip(pieces, cuts[:-1], cuts[1:], strict=True)]
    at = 0
    while at + 1 < len(parts):
        (one, start_s, middle), (two, _, end_s) = parts[at], parts[at + 1]
        longer, shorter = (one, two) if middle - start_s >= end_s - middle else (two, one)
        path = np.concatenate(
            [
                p.path_hz if p is longer else np.full(p.last - p.first + 1, longer.rate)
                for p in (one, two)
            ]
        )
        both = _Piece(one.first, two.last, path)
        near = abs(np.log(longer.rate / shorter.rate))
        related = near < 0.012 or near > 0.2
        if related and _exact_grid(curve, both, start_s, end_s) is not None:
            parts[at : at + 2] = [(both, start_s, end_s)]
            at = max(0, at - 1)
        else:
            at += 1
    return parts


def _cut_times(curve: Doubles, pieces: list[_Piece]) -> list[float]:
    """Where each piece begins and ends, moved to where both tempi explain the onsets best."""
    total_s = len(curve) / FRAME_HZ
    cuts = [0.0]
    for one, two in itertools.pairwise(pieces):
        middle = 0.5 * (one.last + two.first) * WINDOW_STEP_S
        low, high = max(cuts[-1] + 2, middle - 7), min(total_s - 2, middle + 7)
        rates = float(np.median(one.path_hz[-6:])), float(np.median(two.path_hz[:6]))
        cuts.append(_best_cut(curve, *rates, low, high) if high > low else middle)
    return [*cuts, total_s]


def _best_cut(curve: Doubles, rate_a: float, rate_b: float, low: float, high: float) -> float:
    """The time in [low, high] that best parts a grid of rate_a from one of rate_b."""
    lead = 10.0
    grid_a = steady_grid(curve, rate_a, max(0.0, low - lead), 0.5 * (low + high))
    grid_b = steady_grid(curve, rate_b, 0.5 * (low + high), high + lead)
    gains = []
    for period, offset in (grid_a, grid_b):
        first, last = np.ceil((low - offset) / period), np.floor((high - offset) / period)
        times = offset + period * np.arange(first, last + 1)
        gains.append((times, strength_at(curve, times) * period))
    options = np.arange(low, high, 0.05)
    before = [gains[0][1][gains[0][0] < cut].sum() for cut in options]
    after = [gains[1][1][gains[1][0] >= cut].sum() for cut in options]
    score = np.array(before) + np.array(after)
    return float(options[int(score.argmax())])


def _exact_grid(curve: Doubles, piece: _Piece, start_s: float, end_s: float) -> Doubles | None:
    """The pulse times of one even grid from start to end, or None where none holds."""
    if piece.wander > 3.5 * TEMPO_STEP:
        return None
    return even_grid(curve, piece.rate, start_s, end_s)


def _free_joined(
    curve: Doubles, parts: list[tuple[_Piece, float, float]]
) -> list[tuple[_Piece, float, float, Doubles | None]]:
    """Parts with their exact grid, or None; neighbours without one made one."""
    out: list[tuple[_Piece, float, float, Doubles | None]] = []
    for piece, start_s, end_s in parts:
        grid = _exact_grid(curve, piece, start_s, end_s)
        if grid is None and out and out[-1][3] is None:
            before, from_s, _, _ = out.pop()
            path_hz = np.concatenate([before.path_hz, piece.path_hz])
            piece, start_s = _Piece(before.first, piece.last, path_hz), from_s
        out.append((piece, start_s, end_s, grid))
    return out


def _free_clicks(curve: Doubles, piece: _Piece, start_s: float, end_s: float) -> Doubles:
    """Pulse times that follow the onsets of a piece without an exact grid."""
    centres = (piece.first + np.arange(len(piece.path_hz))) * WINDOW_STEP_S
    frames = np.arange(int(start_s * FRAME_HZ), min(int(end_s * FRAME_HZ), len(curve)))
    rates = np.interp(frames / FRAME_HZ, centres, ndi.gaussian_filter1d(piece.path_hz, 1.0))
    return np.asarray((track_clicks(curve[frames], FRAME_HZ / rates) + frames[0]) / FRAME_HZ)


def track_clicks(curve: Doubles, period_frames: Doubles, tightness: float = 60.0) -> Doubles:
    """Frames of the clicks that follow the onsets at about the local period.

    Dynamic programming over frames: onset strength gathered, minus ``tightness`` times the
    squared log ratio of each interval to the local period.

    References
    ----------
    D. P. W. Ellis, Beat tracking by dynamic programming, J. New Music Res. 36 (2007) 51.
    """
    count = len(curve)
    strength = curve / (curve.std() + 1e-9)
    best = strength.copy()
    came = np.full(count, -1)
    for t in range(1, count):
        period = period_frames[t]
        low, high = int(period * 0.6), int(period * 1.7) + 1
        if t < low:
            continue
        gaps = np.arange(low, min(high, t) + 1)
        reach = best[t - gaps] - tightness * np.square(np.log(gaps / period))
        at = int(reach.argmax())
        if reach[at] > 0:
            best[t] = strength[t] + reach[at]
            came[t] = t - gaps[at]
    tail = max(0, count - int(period_frames[-1] * 1.5)) if count else 0
    t = tail + int(best[tail:].argmax()) if count else -1
    clicks = []
    while t >= 0:
        clicks.append(t)
        t = int(came[t])
    return np.array(clicks[::-1], float)


def _merged(spans: list[PulseSpan]) -> tuple[PulseSpan, ...]:
    """Neighbouring free spans made one."""
    merged = [spans[0]]
    for span in spans[1:]:
        if not span.steady and not merged[-1].steady:
            merged[-1] = PulseSpan(merged[-1].first, span.last, False)
        else:
            merged.append(span)
    return tuple(merged)


def clarity_of(curve: Doubles, times: Doubles) -> float:
    """Onset strength on the pulse against all along: 0 for noise, near 1 for clean clicks."""
    on = float(strength_at(curve, times).mean())
    between = float(strength_at(curve, times[:-1] + 0.5 * np.diff(times)).mean())
    return float(np.clip(1 - float(curve.mean()) / (max(on, between) + 1e-9), 0, 1))


def peaks_near_times(curve: Doubles, times_s: Doubles, reach_s: float) -> Doubles:
    """Signed distances in seconds from given times to the strongest onset within reach.

    Times without a clear onset near them are left out.
    """
    reach = max(2, round(reach_s * FRAME_HZ))
    exact = times_s * FRAME_HZ
    centre = np.round(exact).astype(int)
    inside = (centre - reach - 1 >= 0) & (centre + reach + 2 < len(curve))
    exact, centre = exact[inside], centre[inside]
    around = curve[centre[:, None] + np.arange(-reach, reach + 1)]
    at = around.argmax(axis=1)
    clear = (at > 0) & (at < 2 * reach) & (around.max(axis=1) > float(curve.mean()))
    frame, exact = (centre - reach + at)[clear], exact[clear]
    left, top, right = curve[frame - 1], curve[frame], curve[frame + 1]
    bend = np.minimum(left - 2 * top + right, -1e-9)
    return np.asarray((frame + np.clip(0.5 * (left - right) / bend, -0.5, 0.5) - exact) / FRAME_HZ)
