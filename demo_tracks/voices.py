"""Pitched instruments: a frequency and a length in, one note out, struck on its first sample."""

from functools import lru_cache

import numpy as np
from sound import SAMPLE_RATE_HZ, Sound, band, decay, gate, noise, partials, soft_saw, times_s


@lru_cache(maxsize=256)
def bass(frequency_hz: float, length_s: float) -> Sound:
    """A saw that closes quickly over a sine an octave of its own, gently driven."""
    cutoff_hz = 170 + 900 * decay(length_s, 0.09)
    saw = soft_saw(frequency_hz, cutoff_hz, length_s, most_partials=28)
    sub = np.sin(2 * np.pi * frequency_hz * times_s(length_s))
    return 0.75 * np.tanh(1.3 * (0.75 * saw + 0.7 * sub)) * gate(length_s, 0.004, 0.03)


@lru_cache(maxsize=256)
def round_bass(frequency_hz: float, length_s: float) -> Sound:
    """A plucked low string: few partials, dying away, with the finger's touch in front."""
    k = np.arange(1, 9)
    note = partials(frequency_hz * k, 1 / k**1.5, 1.1 / k**0.7, length_s)
    touch = noise(length_s, 22, band(250, 2500)) * decay(length_s, 0.008)
    return 0.7 * (np.tanh(1.2 * note) + 0.12 * touch) * gate(length_s, 0.001, 0.06)


@lru_cache(maxsize=256)
def saw_chord_note(frequency_hz: float, length_s: float, brightness_hz: float) -> Sound:
    """Five saws a few cents apart, fanned over the stereo field."""
    cutoff_hz = brightness_hz * (0.45 + 0.55 * decay(length_s, 0.22))
    left, right = np.zeros(len(cutoff_hz)), np.zeros(len(cutoff_hz))
    for index, (cents, pan) in enumerate(((-11, 0.1), (-5, 0.75), (0, 0.5), (6, 0.25), (11, 0.9))):
        detuned_hz = frequency_hz * 2 ** (cents / 1200)
        saw = soft_saw(detuned_hz, cutoff_hz, length_s, phase_turns=0.37 * index, most_partials=24)
        left += np.cos(pan * np.pi / 2) * saw
        right += np.sin(pan * np.pi / 2) * saw
    shape = 0.22 * gate(length_s, 0.005, 0.05)
    return np.column_stack([left * shape, right * shape])


@lru_cache(maxsize=256)
def pad_note(frequency_hz: float, length_s: float, brightness_hz: float) -> Sound:
    """Slow, dark saws; the length includes a long release."""
    shape = 0.3 * gate(length_s, 0.07, min(0.35, length_s / 2))
    sides = []
    for cents, phase_turns in ((-7, 0.2), (7, 0.6)):
        side = np.zeros_like(shape)
        for detune_cents in (cents, -cents / 2):
            detuned_hz = frequency_hz * 2 ** (detune_cents / 1200)
            side += soft_saw(detuned_hz, brightness_hz, length_s,
                             phase_turns=phase_turns, most_partials=14)  # fmt: skip
        sides.append(side * shape)
    return np.column_stack(sides)


@lru_cache(maxsize=256)
def lead(frequency_hz: float, length_s: float, brightness_hz: float) -> Sound:
    """The singing voice: two saws, a sine beneath, vibrato once a note is held."""
    time_s = times_s(length_s)
    vibrato_cents = 9 * np.clip((time_s - 0.25) / 0.4, 0, 1) * np.sin(2 * np.pi * 5.2 * time_s)
    pitch_hz = frequency_hz * 2 ** (vibrato_cents / 1200)
    cutoff_hz = brightness_hz * (0.6 + 0.4 * decay(length_s, 0.3))
    upper = soft_saw(pitch_hz * 2 ** (5 / 1200), cutoff_hz, length_s, most_partials=20)
    lower = soft_saw(pitch_hz * 2 ** (-5 / 1200), cutoff_hz, length_s, phase_turns=0.4)
    sine = np.sin(np.pi * np.cumsum(pitch_hz) / SAMPLE_RATE_HZ)
    left, right = upper + 0.6 * lower + 0.3 * sine, lower + 0.6 * upper + 0.3 * sine
    shape = 0.33 * gate(length_s, 0.006, 0.06)
    return np.tanh(np.column_stack([left * shape, right * shape]))


@lru_cache(maxsize=512)
def pluck(frequency_hz: float, length_s: float) -> Sound:
    """A string plucked a fifth of the way along, high partials dying first; the pick is heard."""
    k = np.arange(1, 19)
    weights = np.abs(np.sin(np.pi * k / 5)) / k**1.15
    ring_s = 0.55 * (220 / frequency_hz) ** 0.35 / (1 + 0.22 * (k - 1))
    note = partials(frequency_hz * k, weights, ring_s, length_s)
    pick = noise(length_s, 23, band(1800, 7000)) * decay(length_s, 0.004)
    return (0.55 * note + 0.14 * pick) * gate(length_s, 0.0008, 0.08)


@lru_cache(maxsize=512)
def piano(frequency_hz: float, length_s: float) -> Sound:
    """A struck string: stiff, so its partials lie sharp; a quick fall, then a long one."""
    k = np.arange(1, 17)
    frequencies_hz = frequency_hz * k * np.sqrt(1 + 4e-4 * k**2)
    weights = np.abs(np.sin(np.pi * k / 8)) / k**1.35
    long_s = 1.5 * (262 / frequency_hz) ** 0.5 / (1 + 0.16 * (k - 1))
    first = partials(frequencies_hz, weights, 0.22 * long_s, length_s)
    second = partials(frequencies_hz * (1 + 3e-4), weights, long_s, length_s)
    hammer = noise(length_s, 21, band(500, 3000)) * decay(length_s, 0.006)
    return (0.75 * (first + second) + 0.08 * hammer) * gate(length_s, 0.0008, 0.12)


@lru_cache(maxsize=128)
def bell(frequency_hz: float, length_s: float) -> Sound:
    """A struck bar: the partials of a free bar lie at 1, 2.756 and 5.404 (Euler-Bernoulli)."""
    ratios = np.array([1.0, 2.756, 5.404])
    ring_s = np.array([0.7, 0.25, 0.09])
    weights = np.array([1.0, 0.35, 0.2])
    return (
        0.5
        * partials(frequency_hz * ratios, weights, ring_s, length_s)
        * gate(length_s, 0.001, 0.1)
    )
