"""Features of a track made ready for sampling at any times: strokes, harmony, bass, timbre."""

from dataclasses import dataclass

import numpy as np
import scipy.ndimage as ndi
from numpy.typing import NDArray

from composer.audio.ear import EarWeights, Heard, heard_in
from composer.audio.ear_evidence import Evidence, evidence_of
from composer.audio.features import BANDS, BASS_NOTES, FRAME_HZ, LOWEST_NOTE, TONE_HZ, Features

Doubles = NDArray[np.float64]


@dataclass(frozen=True)
class Curves:
    """The features of a track made ready for sampling at any times."""

    peaks: Doubles
    """(bands, frames): onset strength, the strongest within 30 ms."""
    harmony_sum: Doubles
    """(tone frames + 1, 12) running sum of the pitch classes above the bass."""
    bass_sum: Doubles
    timbre_sum: Doubles
    """(frames + 1, 15) running sum of the mel spectrum in broad bands."""
    pitch_sum: Doubles
    """(tone frames + 1, 2) running sum of how much begins to sound, times its pitch and plain."""
    note_times_s: Doubles
    """When notes begin, all bands together."""
    low_note_times_s: Doubles
    duration_s: float
    heard: Heard
    ear: Evidence

    def means(self, name: str, start_s: Doubles, end_s: Doubles) -> Doubles:
        """Mean of a running sum over each [start, end), (spans, columns)."""
        table, rate = {
            "harmony": (self.harmony_sum, TONE_HZ),
            "bass": (self.bass_sum, TONE_HZ),
            "timbre": (self.timbre_sum, FRAME_HZ),
            "pitch": (self.pitch_sum, TONE_HZ),
        }[name]
        last = len(table) - 1
        a = np.clip(np.round(start_s * rate).astype(int), 0, last - 1)
        b = np.clip(np.round(end_s * rate).astype(int), a + 1, last)
        return np.asarray((table[b] - table[a]) / (b - a)[:, None])

    def onsets_at(self, times_s: Doubles) -> Doubles:
        """(bands, *times.shape): onset strength at or next to each time."""
        frame = np.clip(np.round(times_s * FRAME_HZ).astype(int), 0, self.peaks.shape[1] - 1)
        return np.asarray(self.peaks[:, frame])


def curves_of(features: Features, networks: tuple[EarWeights, ...] | None = None) -> Curves:
    """Measure what can be sampled, with what the fitted (or other) networks of the ear hear."""
    heard = heard_in(features, networks)
    reach = 2 * round(0.030 * FRAME_HZ) + 1
    peaks = np.stack([ndi.maximum_filter1d(features.onsets[name], reach) for name in BANDS])
    notes = features.notes.astype(float)
    harmony = np.zeros((len(notes), 12))
    bass = np.zeros((len(notes), 12))
    for note in range(notes.shape[1]):
        target = bass if note < BASS_NOTES else harmony
        target[:, (LOWEST_NOTE + note) % 12] += notes[:, note]
    timbre = features.mel.reshape(len(features.mel), 15, -1).mean(axis=2)
    centred = [x - x.mean(axis=0) for x in (_unlevelled(harmony), _unlevelled(bass), timbre)]
    full = np.maximum(features.onsets["full"], features.onsets["tone"])
    harmony_sum, bass_sum, timbre_sum = (_running_sum(x) for x in centred)
    rise = np.zeros_like(notes)
    np.maximum(0, notes[3:] - notes[:-3], out=rise[3:])
    begun = np.stack([rise @ np.arange(rise.shape[1]), rise.sum(axis=1)], axis=1)
    return Curves(
        peaks.astype(float),
        harmony_sum,
        bass_sum,
        timbre_sum,
        _running_sum(begun),
        _peak_times_s(full),
        _peak_times_s(features.onsets["low"]),
        features.duration_s,
        heard,
        evidence_of(heard),
    )


def _peak_times_s(curve: NDArray[np.float32]) -> Doubles:
    """Times of the clear maxima of an onset curve, at least 70 ms apart."""
    smooth = ndi.gaussian_filter1d(curve, 1.0)
    top = ndi.maximum_filter1d(smooth, 2 * round(0.070 * FRAME_HZ) + 1)
    clear = max(float(smooth.mean()), 0.25 * float(np.percentile(smooth, 97)))
    return np.asarray(np.flatnonzero((smooth == top) & (smooth > clear)) / FRAME_HZ)


def _unlevelled(chroma: Doubles) -> Doubles:
    return np.asarray(chroma - chroma.mean(axis=1, keepdims=True))


def _running_sum(table: Doubles) -> Doubles:
    return np.concatenate([np.zeros((1, table.shape[1])), np.cumsum(table, axis=0)])
