"""Oscillators, noise and envelopes: arrays of samples at 44.1 kHz, numpy only.

A mono sound has shape (n,), a stereo one (n, 2); full scale is 1.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

SAMPLE_RATE_HZ = 44100
HIGHEST_PARTIAL_HZ = 15000.0
"""Partials above this are left out: softer on the ear, and far from folding back."""

Sound = NDArray[np.float64]

_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def note_hz(name: str) -> float:
    """Equal-tempered pitch of a note such as ``"Bb3"`` or ``"C#5"``; A4 is 440 Hz (ISO 16)."""
    letter, accidental, octave = name[0], name[1:-1], int(name[-1])
    semitone = _SEMITONES[letter] + accidental.count("#") - accidental.count("b")
    return float(440 * 2 ** ((semitone - 9) / 12 + octave - 4))


def times_s(length_s: float) -> Sound:
    return np.arange(round(length_s * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ


def decay(length_s: float, time_constant_s: float) -> Sound:
    """Falls to 37 % in each time constant."""
    return np.exp(-times_s(length_s) / time_constant_s)


def gate(length_s: float, attack_s: float, release_s: float) -> Sound:
    """0 to 1 in the attack, back to 0 in the release, half-cosine both; the whole is length_s."""
    time_s = times_s(length_s)
    rise = np.clip(time_s / attack_s, 0, 1)
    fall = np.clip((length_s - time_s) / release_s, 0, 1)
    return (0.5 - 0.5 * np.cos(np.pi * rise)) * (0.5 - 0.5 * np.cos(np.pi * fall))


def partials(
    frequencies_hz: NDArray[np.float64],
    weights: NDArray[np.float64],
    decays_s: Sound,
    length_s: float,
) -> Sound:
    """Sum of decaying sines: one frequency, weight and time constant each, shape (k,)."""
    time_s = times_s(length_s)
    out = np.zeros_like(time_s)
    for frequency_hz, weight, decay_s in zip(frequencies_hz, weights, decays_s, strict=True):
        if frequency_hz < HIGHEST_PARTIAL_HZ:
            sine = np.sin(2 * np.pi * frequency_hz * time_s)
            out += weight * sine * np.exp(-time_s / decay_s)
    return out


def soft_saw(
    frequency_hz: float | Sound,
    cutoff_hz: float | Sound,
    length_s: float,
    *,
    phase_turns: float = 0.0,
    most_partials: int = 36,
) -> Sound:
    """A sawtooth through a 12 dB/octave low-pass, built partial by partial so nothing folds back.

    ``frequency_hz`` and ``cutoff_hz`` may change from sample to sample, shape (n,).
    """
    count = round(length_s * SAMPLE_RATE_HZ)
    pitch_hz = np.broadcast_to(np.asarray(frequency_hz, dtype=float), (count,))
    turns = phase_turns + np.cumsum(pitch_hz) / SAMPLE_RATE_HZ
    turn = np.exp(2j * np.pi * turns)
    spin = np.ones_like(turn)
    out = np.zeros(count)
    ratio = (pitch_hz / cutoff_hz) ** 4
    highest = min(most_partials, int(HIGHEST_PARTIAL_HZ / pitch_hz.max()))
    for k in range(1, highest + 1):
        spin *= turn
        out += spin.imag / (k * np.sqrt(1 + ratio * k**4))
    return out


def noise(length_s: float, seed: int, gain_at_hz: Callable[[Sound], Sound]) -> Sound:
    """Noise of unit strength, coloured by a gain over frequency. Shape it in time afterwards."""
    count = round(length_s * SAMPLE_RATE_HZ)
    white = np.random.default_rng(seed).standard_normal(count)
    spectrum = np.fft.rfft(white) * gain_at_hz(np.fft.rfftfreq(count, 1 / SAMPLE_RATE_HZ))
    coloured = np.fft.irfft(spectrum, count)
    return coloured / np.sqrt(np.mean(coloured**2))


def band(low_hz: float, high_hz: float) -> Callable[[Sound], Sound]:
    """Gain over frequency of a second-order band between two corners."""

    def gain(frequency_hz: Sound) -> Sound:
        low = 1 / (1 + (low_hz / np.maximum(frequency_hz, 1.0)) ** 4)
        return low / (1 + (frequency_hz / high_hz) ** 4)

    return gain


def swept_noise(length_s: float, start_hz: float, end_hz: float, seed: int) -> Sound:
    """Noise in a band an octave or so wide whose centre glides evenly in pitch."""
    frame, hop = 2048, 512
    count = round(length_s * SAMPLE_RATE_HZ)
    white = np.random.default_rng(seed).standard_normal(count + 2 * frame)
    window = np.hanning(frame + 1)[:-1]
    octaves = np.log2(np.maximum(np.fft.rfftfreq(frame, 1 / SAMPLE_RATE_HZ), 20.0))
    out = np.zeros(count + 2 * frame)
    for start in range(0, count + frame, hop):
        share = min(start / count, 1.0)
        centre = (1 - share) * np.log2(start_hz) + share * np.log2(end_hz)
        gain = np.exp(-0.5 * ((octaves - centre) / 0.7) ** 2)
        piece = slice(start, start + frame)
        out[piece] += np.fft.irfft(np.fft.rfft(white[piece] * window) * gain, frame)
    swept = out[frame : frame + count]
    return swept / np.sqrt(np.mean(swept**2))
