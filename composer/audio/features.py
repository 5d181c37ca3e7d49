"""What the ear goes by: loudness by pitch and time, note onsets by band, harmony.

One pass over the samples, in blocks, so that an hour needs little more memory than a minute.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import scipy.fft
import scipy.ndimage as ndi
from numpy.typing import NDArray

Floats = NDArray[np.float32]

SAMPLE_HZ = 22050
HOP = 220
FRAME_HZ = SAMPLE_HZ / HOP
WINDOW = 1024
TONE_WINDOW = 4096
TONE_HOP = 2 * HOP
TONE_HZ = SAMPLE_HZ / TONE_HOP
BLOCK_FRAMES = 4096
MEL_BANDS = 60
LOWEST_NOTE, NOTES = 28, 72
"""MIDI numbers of the note spectrum: E1 (41 Hz) to D#7 (2489 Hz)."""
BASS_NOTES = 24
"""How many of them, from the lowest, count as bass: up to D#3 (156 Hz)."""
BAND_EDGES_HZ = {
    "low": (0.0, 160.0),
    "lowmid": (160.0, 600.0),
    "mid": (600.0, 3000.0),
    "high": (3000.0, 12000.0),
}
BANDS = (*BAND_EDGES_HZ, "full", "tone")
ATTACK_BLOCK = 32
ATTACK_HZ = SAMPLE_HZ / ATTACK_BLOCK
"""Rate of the attack curve: 1.5 ms a block, fine enough to time what the onset curves blur."""
ATTACK_QUIET = 0.005
"""Below this share of the track's mean power nothing counts as a rise: what resampling and lossy
coding smear ahead of a stroke is weaker."""


@dataclass(frozen=True)
class Features:
    """Curves of one track. Frame i of the onset curves is centred on ``frame_s(i)``."""

    mel: Floats
    """(frames, MEL_BANDS), logarithmic, at FRAME_HZ."""
    onsets: dict[str, Floats]
    """For every name in BANDS a (frames,) curve of onset strength, evened out along the track."""
    notes: Floats
    """(tone frames, NOTES), logarithmic, at TONE_HZ."""
    attack: Floats
    """(blocks,) rise of the level from block to block, in nepers, at ATTACK_HZ."""
    loudness_db: Floats
    """(frames,), dB against full scale."""
    duration_s: float

    @property
    def first_sound_s(self) -> float:
        return float(self._sounding[0]) / FRAME_HZ if len(self._sounding) else 0.0

    @property
    def last_sound_s(self) -> float:
        return float(self._sounding[-1] + 1) / FRAME_HZ if len(self._sounding) else 0.0

    @property
    def _sounding(self) -> NDArray[np.intp]:
        """Frames within 40 dB of the track's loud parts."""
        if not len(self.loudness_db):
            return np.zeros(0, np.intp)
        loud = np.percentile(self.loudness_db, 98)
        return np.flatnonzero((self.loudness_db > loud - 40) & (self.loudness_db > -80))


def features_of(
    samples: Floats, sample_rate_hz: int, *, step: Callable[[float], None] = lambda _: None
) -> Features:
    """Measure a track; ``step`` is told the share done and may raise to stop.

    Parameters
    ----------
    samples : np.ndarray, shape=(n,) or (n, channels)
    """
    mono = listening_samples(samples, sample_rate_hz)
    duration_s = len(samples) / sample_rate_hz
    step(0.2)
    mel, loudness_db = _mel_and_loudness(mono, lambda share: step(0.2 + 0.4 * share))
    notes = _note_spectrum(mono, lambda share: step(0.6 + 0.3 * share))
    flux = _flux(mel, lag=2)
    edges = _mel_centres_hz()
    onsets = {
        name: even_out(flux[:, (edges >= low) & (edges < high)].mean(axis=1))
        for name, (low, high) in BAND_EDGES_HZ.items()
    }
    onsets["full"] = even_out(flux.mean(axis=1))
    tone = _flux(notes, lag=3).mean(axis=1)
    frames = np.arange(len(mel)) * (TONE_HZ / FRAME_HZ)
    onsets["tone"] = even_out(np.interp(frames, np.arange(len(tone)), tone).astype(np.float32))
    step(1.0)
    return Features(mel, onsets, notes, _attack(mono), loudness_db, duration_s)


def listening_samples(samples: Floats, sample_rate_hz: int) -> Floats:
    """One channel at SAMPLE_HZ, unshifted in time and without a constant offset.

    Made a block at a time: an hour in stereo is not copied whole.
    """
    weights = channel_weights(samples)
    step = 30 * sample_rate_hz
    if sample_rate_hz == SAMPLE_HZ:
        mono = np.empty(len(samples), np.float32)
        for start in range(0, len(samples), step):
            mono[start : start + step] = _folded(samples[start : start + step], weights)
    else:
        mono = np.concatenate(_resampled(samples, sample_rate_hz, weights, step))
    mono -= mono.mean(dtype=np.float64).astype(np.float32) if len(mono) else np.float32(0)
    return mono


def _resampled(samples: Floats, rate: int, weights: Floats, step: int) -> list[Floats]:
    import soxr

    stream = soxr.ResampleStream(rate, SAMPLE_HZ, 1, dtype="float32", quality="HQ")
    starts = range(0, len(samples), step)
    return [
        stream.resample_chunk(_folded(samples[a : a + step], weights), last=a == starts[-1])
        for a in starts
    ]


def _folded(block: Floats, weights: Floats) -> Floats:
    mono = block.astype(np.float32) if block.ndim == 1 else block @ weights
    return np.nan_to_num(mono, copy=False, nan=0.0, posinf=0.0, neginf=0.0)


def channel_weights(samples: Floats) -> Floats:
    """How much of each channel to hear: all that carry sound, evenly.

    A silent channel is left out so that it does not halve the level; channels in opposite
    phase, which would cancel, are replaced by the loudest one.
    """
    if samples.ndim == 1:
        return np.ones(1, np.float32)
    channels = samples.shape[1]
    power = np.zeros(channels)
    step = 1 << 20
    for start in range(0, len(samples), step):
        power += np.nan_to_num(np.square(samples[start : start + step])).sum(axis=0)
    alive = power > 1e-4 * max(float(power.max(initial=0.0)), 1e-12)
    weights = alive / max(1, int(alive.sum()))
    together = sum(
        float(np.square(np.nan_to_num(samples[start : start + step] @ weights)).sum())
        for start in range(0, len(samples), step)
    )
    if alive.sum() > 1 and together < 0.02 * float(power.max()):
        weights = np.arange(channels) == int(power.argmax())
    return np.asarray(weights, np.float32)


def even_out(curve: Floats) -> Floats:
    """Onset strength against its surroundings (8 s), so that quiet passages count too."""
    span = int(8 * FRAME_HZ)
    mean = ndi.uniform_filter1d(curve, span)
    power = np.maximum(ndi.uniform_filter1d(np.square(curve), span), 0)
    spread = np.sqrt(power) + 0.1 * curve.std() + 1e-4
    return np.asarray(np.maximum(0, (curve - 0.5 * mean) / spread), np.float32)


def _mel_and_loudness(mono: Floats, step: Callable[[float], None]) -> tuple[Floats, Floats]:
    filters = _mel_filters()
    mel_blocks, loud_blocks = [], []
    for block in _spectra(mono, WINDOW, HOP, step):
        mel_blocks.append(block @ filters)
        loud_blocks.append(np.sqrt(np.square(block).sum(axis=1)))
    mel = np.concatenate(mel_blocks)
    loud = np.concatenate(loud_blocks) / (WINDOW / 4 * np.sqrt(1.5))
    mel *= 100.0 / (float(np.percentile(mel.max(axis=1), 95)) * 2.0 + 1e-7)
    np.log1p(mel, out=mel)
    return mel, np.asarray(20 * np.log10(loud + 1e-6), np.float32)


def _attack(mono: Floats) -> Floats:
    """How much the level rises in each block, treble lifted so that every stroke shows."""
    count = len(mono) // ATTACK_BLOCK
    if not count:
        return np.zeros(0, np.float32)
    power = np.empty(count, np.float32)
    for first in range(0, count, BLOCK_FRAMES):
        part = mono[first * ATTACK_BLOCK : min(first + BLOCK_FRAMES, count) * ATTACK_BLOCK]
        before = mono[first * ATTACK_BLOCK - 1] if first else part[0]
        treble = np.diff(part, prepend=before).reshape(-1, ATTACK_BLOCK)
        power[first : first + len(treble)] = np.square(treble).mean(axis=1)
    level = np.log(power + ATTACK_QUIET * float(power.mean()) + 1e-12)
    return np.asarray(np.maximum(0, np.diff(level, prepend=level[:1])), np.float32)


def _note_spectrum(mono: Floats, step: Callable[[float], None]) -> Floats:
    filters = _note_filters()
    notes = np.concatenate([b @ filters for b in _spectra(mono, TONE_WINDOW, TONE_HOP, step)])
    notes *= 50.0 / (float(np.percentile(notes.max(axis=1), 95)) + 1e-7)
    np.log1p(notes, out=notes)
    return np.asarray(notes, np.float32)


def _spectra(mono: Floats, window: int, hop: int, step: Callable[[float], None]):  # type: ignore[no-untyped-def]
    """Magnitude spectra of frames centred on every ``hop``-th sample, a block at a time."""
    taper = np.hanning(window + 1)[:-1].astype(np.float32)
    count = len(mono) // hop + 1
    for first in range(0, count, BLOCK_FRAMES):
        step(first / count)
        last = min(first + BLOCK_FRAMES, count) - 1
        begin, end = first * hop - window // 2, last * hop + window // 2
        part = mono[max(0, begin) : max(0, end)]
        before = max(0, -begin)
        part = np.pad(part, (before, end - begin - before - len(part)))
        frames = np.lib.stride_tricks.sliding_window_view(part, window)[::hop]
        yield np.abs(scipy.fft.rfft(frames * taper, axis=1))


def _flux(log_spectrum: Floats, lag: int) -> Floats:
    """Rise of each band over the loudest of its neighbours ``lag`` frames ago.

    References
    ----------
    S. Böck, G. Widmer, Maximum filter vibrato suppression for onset detection, DAFx 2013.
    """
    flux = np.zeros_like(log_spectrum)
    before = ndi.maximum_filter1d(log_spectrum[:-lag], 3, axis=1)
    np.maximum(0, log_spectrum[lag:] - before, out=flux[lag:])
    return flux


@lru_cache(maxsize=1)
def _mel_filters() -> Floats:
    import librosa

    bank = librosa.filters.mel(
        sr=SAMPLE_HZ, n_fft=WINDOW, n_mels=MEL_BANDS, fmin=30, fmax=11000, norm=None
    )
    return np.ascontiguousarray(bank.T, dtype=np.float32)


def _mel_centres_hz() -> NDArray[np.float64]:
    import librosa

    centres = librosa.mel_frequencies(n_mels=MEL_BANDS + 2, fmin=30, fmax=11000)[1:-1]
    return np.asarray(centres, float)


@lru_cache(maxsize=1)
def _note_filters() -> Floats:
    """Triangles one semitone to each side of every note, in equal temperament on A4 = 440 Hz."""
    bin_hz = np.fft.rfftfreq(TONE_WINDOW, 1 / SAMPLE_HZ)
    note_of_bin = 69 + 12 * np.log2(np.maximum(bin_hz, 1.0) / 440.0)
    notes = LOWEST_NOTE + np.arange(NOTES)
    bank = np.maximum(0, 1 - np.abs(note_of_bin[:, None] - notes))
    # Below about 90 Hz a semitone is narrower than a bin: let such notes share the nearest one.
    width_semitones = 12 * np.log2((bin_hz + bin_hz[1]) / np.maximum(bin_hz, 1.0))
    wide = np.maximum(1.0, width_semitones)[:, None]
    bank = np.where(wide > 1, np.maximum(0, 1 - np.abs(note_of_bin[:, None] - notes) / wide), bank)
    return np.ascontiguousarray(bank, dtype=np.float32)
