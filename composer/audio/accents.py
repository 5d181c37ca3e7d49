"""Moments worth landing on: single hits, stops and drops."""

import numpy as np
import scipy.ndimage as ndi
from numpy.typing import NDArray

from composer.audio.features import FRAME_HZ, Features
from composer.timing.grid import Accent

Doubles = NDArray[np.float64]

STOP_FALL_DB, STOP_LENGTH_S = 18.0, 0.35
DROP_RISE_DB, DROP_LENGTH_S = 5.0, 4.0
HIT_GAP_S, HITS_PER_MINUTE = 0.6, 6


def find_accents(features: Features) -> tuple[Accent, ...]:
    """Hits, stops and drops in order of time; a place holds only its strongest accent."""
    found = [*_drops(features), *_stops(features), *_hits(features)]
    kept: list[Accent] = []
    for accent in found:
        if all(abs(accent.time_s - other.time_s) > HIT_GAP_S / 2 for other in kept):
            kept.append(accent)
    return tuple(sorted(kept, key=lambda accent: accent.time_s))


def _hits(features: Features) -> list[Accent]:
    """The strongest onsets that stand alone: more than what follows and comes before."""
    curve = ndi.gaussian_filter1d(features.onsets["full"] + features.onsets["low"], 0.8)
    around = ndi.maximum_filter1d(curve, 2 * int(HIT_GAP_S * FRAME_HZ) + 1)
    typical = ndi.uniform_filter1d(curve, int(4 * FRAME_HZ)) + 1e-6
    peaks = np.flatnonzero((curve == around) & (curve > 0))
    if not len(peaks):
        return []
    alone = curve[peaks] / (typical[peaks] + 0.15 * curve.max())
    count = max(1, round(features.duration_s / 60 * HITS_PER_MINUTE))
    best = np.argsort(-alone)[:count]
    top = float(alone.max())
    return [Accent(peak_time_s(curve, int(peaks[i])), "hit", float(alone[i] / top)) for i in best]


def _stops(features: Features) -> list[Accent]:
    """Where the sound falls away at once and stays away, with music still to come."""
    level = ndi.maximum_filter1d(features.loudness_db, 3)
    ahead = int(STOP_LENGTH_S * FRAME_HZ)
    lag = max(1, int(0.08 * FRAME_HZ))
    if len(level) < 3 * ahead:
        return []
    before = ndi.uniform_filter1d(features.loudness_db, 2 * lag)
    after = ndi.maximum_filter1d(level, ahead, origin=-(ahead // 2))
    fall = np.zeros(len(level))
    fall[lag:-lag] = before[: -2 * lag] - after[2 * lag :]
    loud = float(np.percentile(level, 90))
    fall[before < loud - 15] = 0
    fall[int((features.last_sound_s - 1.0) * FRAME_HZ) :] = 0
    tops = np.flatnonzero((fall > STOP_FALL_DB) & (fall == ndi.maximum_filter1d(fall, 2 * ahead)))
    return [Accent(float(i) / FRAME_HZ, "stop", float(min(1.0, fall[i] / 40))) for i in tops]


def _drops(features: Features) -> list[Accent]:
    """Where the low end and the level come in together and stay."""
    low = features.mel[:, :8].mean(axis=1)
    power = np.power(10.0, features.loudness_db / 10)
    span = int(DROP_LENGTH_S * FRAME_HZ)
    if len(low) < 3 * span:
        return []
    level = 10 * np.log10(_after(power, span) / (_before(power, span) + 1e-9) + 1e-9)
    bass = _after(low, span) / (_before(low, span) + 0.1 * float(low.max()) + 1e-9)
    score = np.clip(level, 0, 20) * np.clip(np.log2(bass + 1e-9), 0, 3)
    loud = _after(power, span) > 0.4 * float(np.percentile(power, 80))
    score[~loud] = 0
    score[:span] = 0
    tops = np.flatnonzero(
        (score == ndi.maximum_filter1d(score, 2 * span)) & (level > DROP_RISE_DB) & (score > 3)
    )
    curve = ndi.gaussian_filter1d(features.onsets["full"] + features.onsets["low"], 0.8)
    drops = []
    for top in tops.tolist():
        first = max(0, top - int(0.35 * FRAME_HZ))
        near = curve[first : top + int(0.35 * FRAME_HZ)]
        time_s = peak_time_s(curve, first + int(near.argmax()))
        drops.append(Accent(time_s, "drop", float(min(1.0, score[top] / 20))))
    return drops


def peak_time_s(curve: Doubles, frame: int) -> float:
    """Time of the top of the parabola through a peak and its neighbours."""
    if 0 < frame < len(curve) - 1:
        left, top, right = (float(curve[frame + d]) for d in (-1, 0, 1))
        bend = left - 2 * top + right
        shift = 0.5 * (left - right) / bend if bend < -1e-9 else 0.0
        return (frame + float(np.clip(shift, -0.5, 0.5))) / FRAME_HZ
    return frame / FRAME_HZ


def _after(curve: Doubles, span: int) -> Doubles:
    return np.asarray(ndi.uniform_filter1d(curve, span, origin=-(span // 2), mode="nearest"))


def _before(curve: Doubles, span: int) -> Doubles:
    return np.asarray(ndi.uniform_filter1d(curve, span, origin=(span - 1) // 2, mode="nearest"))
