"""An exactly even grid of pulses: fitted to the onsets of a stretch, and whether it holds there."""

import numpy as np
import scipy.fft
import scipy.ndimage as ndi
from numpy.typing import NDArray

from composer.audio.features import FRAME_HZ

Doubles = NDArray[np.float64]

STEADY_PHASE_S = 0.020
"""A grid that is this far off for a while is not the music's."""
KEPT_SHARE, KEPT_SPAN_S = 0.85, 6.0
"""Of the strength that the best-placed even pulses meet in each span, the music's grid meets
this share. Measured: 0.90 to 1 on true grids, 0.79 and 0.81 on false ones under rubato."""
EARLY_S = 0.010
"""A stroke at the very start may be placed this much before it, and is not lost for that."""
SWING_S = 0.015
"""Every second pulse this far from the even place means swing."""


def even_grid(curve: Doubles, rate: float, start_s: float, end_s: float) -> Doubles | None:
    """The times of the one even grid near ``rate`` from start to end, or None if none holds."""
    period, offset = steady_grid(curve, rate, start_s, end_s)
    period, offset = _refined(curve, period, offset, start_s, end_s)
    offset = _on_stronger_half(curve, period, offset, start_s, end_s)
    if not _grid_holds(curve, period, offset, start_s, end_s):
        return None
    first = np.ceil((start_s - EARLY_S - offset) / period)
    last = np.floor((end_s - offset) / period)
    times_s = np.asarray(offset + period * np.arange(first, last + 1))
    return times_s if _share_kept(curve, times_s, period) >= KEPT_SHARE else None


def steady_grid(curve: Doubles, rate: float, start_s: float, end_s: float) -> tuple[float, float]:
    """Period and offset in seconds of the even grid near ``rate`` that fits best as a whole.

    The rate maximises the energy of the onset curve's spectrum at 1, 2 and 4 times it, within
    3 %; the offset maximises the mean onset strength on the grid.
    """
    first = int(start_s * FRAME_HZ)
    part = curve[first : int(end_s * FRAME_HZ) + 1]
    size = 1 << int(np.ceil(np.log2(max(len(part), 64) * 12)))
    energy = np.square(np.abs(scipy.fft.rfft(part - part.mean(), size)))
    per_bin = FRAME_HZ / size
    fine = np.arange(0.97 * rate, 1.03 * rate, per_bin / 4)
    grid = np.arange(len(energy))
    comb = sum(
        w * np.interp(h * fine / per_bin, grid, energy) for h, w in ((1, 1.0), (2, 1.0), (4, 0.5))
    )
    period = 1 / float(fine[int(np.argmax(comb))])
    offsets = np.arange(0.0, period, 0.002)
    count = max(1, int(len(part) / FRAME_HZ / period))
    times = offsets[:, None] + period * np.arange(count)
    score = np.interp(times * FRAME_HZ, np.arange(len(part)), part).mean(axis=1)
    return period, first / FRAME_HZ + float(offsets[int(score.argmax())])


def _refined(
    curve: Doubles, period: float, offset: float, start_s: float, end_s: float
) -> tuple[float, float]:
    """Least squares through the onset peaks near the grid, outliers weighing little."""
    for reach_s in (0.040, 0.025):
        index, peak_s, weight = _peaks_near(curve, period, offset, start_s, end_s, reach_s)
        if len(index) < 8:
            return period, offset
        slope, start = robust_line(index, peak_s, weight)
        if abs(slope / period - 1) > 0.004:
            return period, offset
        period, offset = slope, start
    return period, offset


def _peaks_near(
    curve: Doubles, period: float, offset: float, start_s: float, end_s: float, reach_s: float
) -> tuple[Doubles, Doubles, Doubles]:
    """Grid index, time and strength of the strongest onset within reach of each grid point."""
    low, high = np.ceil((start_s - offset) / period), np.floor((end_s - offset) / period)
    index = np.arange(low, high + 1)
    reach = max(2, round(min(reach_s, 0.2 * period) * FRAME_HZ))
    centre = np.round((offset + period * index) * FRAME_HZ).astype(int)
    inside = (centre - reach - 1 >= 0) & (centre + reach + 2 < len(curve))
    index, centre = index[inside], centre[inside]
    around = curve[centre[:, None] + np.arange(-reach, reach + 1)]
    at = around.argmax(axis=1)
    real = (at > 0) & (at < 2 * reach)
    index, frame = index[real], (centre - reach + at)[real]
    left, top, right = curve[frame - 1], curve[frame], curve[frame + 1]
    bend = left - 2 * top + right
    shift = np.where(bend < -1e-9, 0.5 * (left - right) / np.minimum(bend, -1e-9), 0.0)
    return index, (frame + np.clip(shift, -0.5, 0.5)) / FRAME_HZ, np.minimum(top, 4.0)


def robust_line(index: Doubles, time_s: Doubles, weight: Doubles) -> tuple[float, float]:
    """Slope and start of a line, by least squares reweighted against outliers (Cauchy)."""
    use = weight.copy()
    slope = start = 0.0
    for _ in range(8):
        total = use.sum() + 1e-12
        mean_i, mean_t = (use * index).sum() / total, (use * time_s).sum() / total
        slope = float(
            (use * (index - mean_i) * (time_s - mean_t)).sum()
            / ((use * np.square(index - mean_i)).sum() + 1e-12)
        )
        start = float(mean_t - slope * mean_i)
        off = time_s - (start + slope * index)
        spread = max(0.003, 1.48 * float(np.median(np.abs(off))))
        use = weight / (1 + np.square(off / (2 * spread)))
    return slope, start


def _grid_holds(curve: Doubles, period: float, offset: float, start_s: float, end_s: float) -> bool:
    """Whether the onsets stay with the grid all along, not only on average.

    Every second pulse may lie beside the grid, as in swing, if it always does.
    """
    index, peak_s, weight = _peaks_near(curve, period, offset, start_s, end_s, 0.070)
    if len(index) < 12:
        return False
    off = peak_s - (offset + period * index)
    strong = weight >= np.percentile(weight, 40)
    index, off = index[strong], off[strong]
    for turn in (0, 1):
        own = index % 2 == turn
        if own.any():
            off[own] -= np.median(off[own])
    drift = ndi.median_filter(off, min(25, len(off) | 1), mode="nearest")
    return float(np.percentile(np.abs(drift), 92)) < STEADY_PHASE_S


def _share_kept(curve: Doubles, times_s: Doubles, period: float) -> float:
    """Onset strength on the grid or half way between, against the best place in each span."""
    count = max(4, int(KEPT_SPAN_S / period))
    spans = len(times_s) // count
    if spans < 2:
        return 1.0
    places = np.arange(-10, 10) / 20
    near = ndi.maximum_filter1d(curve, 3)
    strength = strength_at(near, times_s[: spans * count, None] + period * places)
    by_span = strength.reshape(spans, count, len(places)).mean(axis=1)
    on = np.maximum(by_span[:, 10], by_span[:, 0])
    return float(on.sum() / (by_span.max(axis=1).sum() + 1e-9))


def _on_stronger_half(
    curve: Doubles, period: float, offset: float, start_s: float, end_s: float
) -> float:
    """The offset moved so that, in swing, the stronger pulses of each pair lie on the grid."""
    index, peak_s, weight = _peaks_near(curve, period, offset, start_s, end_s, 0.070)
    off = peak_s - (offset + period * index)
    halves = [index % 2 == turn for turn in (0, 1)]
    if min(int(half.sum()) for half in halves) < 8:
        return offset
    places = [float(np.median(off[half])) for half in halves]
    if abs(places[0] - places[1]) < SWING_S:
        return offset
    strengths = [float(weight[half].mean()) for half in halves]
    return offset + places[int(np.argmax(strengths))]


def strength_at(curve: Doubles, times_s: Doubles) -> Doubles:
    return np.interp(times_s * FRAME_HZ, np.arange(len(curve)), curve)
