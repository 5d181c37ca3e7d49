"""Percussion. Each sound begins with its first sample, so a hit is exactly where it is placed."""

from functools import lru_cache

import numpy as np
from sound import SAMPLE_RATE_HZ, Sound, band, decay, gate, noise, swept_noise, times_s


@lru_cache
def kick() -> Sound:
    """A sine that falls from 190 to 48 Hz, with a short click in front."""
    length_s = 0.42
    pitch_hz = 48 + 142 * decay(length_s, 0.028)
    body = np.sin(2 * np.pi * np.cumsum(pitch_hz) / SAMPLE_RATE_HZ) * decay(length_s, 0.16)
    click = noise(length_s, 1, band(1200, 6000)) * decay(length_s, 0.006)
    return np.tanh(1.5 * (body * gate(length_s, 0.0015, 0.1) + 0.3 * click))


@lru_cache
def soft_kick() -> Sound:
    """The kick heard through a wall, for quiet sections."""
    length_s = 0.4
    pitch_hz = 50 + 80 * decay(length_s, 0.022)
    body = np.sin(2 * np.pi * np.cumsum(pitch_hz) / SAMPLE_RATE_HZ) * decay(length_s, 0.13)
    knock = noise(length_s, 2, band(300, 1500)) * decay(length_s, 0.006)
    return (body + 0.12 * knock) * gate(length_s, 0.001, 0.1)


@lru_cache
def clap() -> Sound:
    """The main clap first, two fainter hands just after it, then the room."""
    length_s = 0.32
    time_s = times_s(length_s)
    hands = decay(length_s, 0.010)
    for late_s, weight in ((0.011, 0.55), (0.021, 0.4)):
        late = time_s >= late_s
        hands = hands + np.where(late, weight * np.exp(-(time_s - late_s) / 0.012), 0)
    room = 0.22 * decay(length_s, 0.075)
    return (
        0.42 * noise(length_s, 3, band(900, 5200)) * (hands + room) * gate(length_s, 0.0005, 0.05)
    )


@lru_cache
def snare() -> Sound:
    length_s = 0.24
    time_s = times_s(length_s)
    body = np.sin(2 * np.pi * (186 * time_s + 1.1 * (1 - decay(length_s, 0.02))))
    wires = noise(length_s, 4, band(1400, 8500)) * decay(length_s, 0.055)
    return (0.6 * body * decay(length_s, 0.05) + 0.3 * wires) * gate(length_s, 0.0005, 0.05)


@lru_cache
def closed_hat() -> Sound:
    return 0.3 * noise(0.09, 5, band(7000, 13500)) * decay(0.09, 0.018) * gate(0.09, 0.0004, 0.03)


@lru_cache
def open_hat() -> Sound:
    return 0.26 * noise(0.3, 6, band(6500, 13000)) * decay(0.3, 0.085) * gate(0.3, 0.0006, 0.08)


@lru_cache
def shaker() -> Sound:
    return 0.26 * noise(0.1, 7, band(4500, 9500)) * decay(0.1, 0.026) * gate(0.1, 0.002, 0.04)


@lru_cache
def rim() -> Sound:
    """A wooden tick."""
    time_s = times_s(0.08)
    wood = np.sin(2 * np.pi * 1720 * time_s) + 0.6 * np.sin(2 * np.pi * 2630 * time_s)
    return 0.4 * wood * decay(0.08, 0.011) * gate(0.08, 0.0004, 0.02)


@lru_cache
def tom(frequency_hz: float) -> Sound:
    length_s = 0.36
    pitch_hz = frequency_hz * (1 + 0.5 * decay(length_s, 0.03))
    body = np.sin(2 * np.pi * np.cumsum(pitch_hz) / SAMPLE_RATE_HZ) * decay(length_s, 0.11)
    skin = noise(length_s, 8, band(300, 2500)) * decay(length_s, 0.01)
    return (0.8 * body + 0.12 * skin) * gate(length_s, 0.001, 0.08)


@lru_cache
def crash() -> Sound:
    """Two unlike noises, left and right."""
    length_s = 2.6
    sides = [noise(length_s, seed, band(3200, 12500)) for seed in (9, 10)]
    shape = (0.6 * decay(length_s, 0.5) + 0.4 * decay(length_s, 0.06)) * gate(length_s, 0.0006, 0.6)
    return np.column_stack([0.26 * side * shape for side in sides])


def riser(length_s: float) -> Sound:
    """Noise that climbs four octaves and swells; it breaks off at its end."""
    rise = (times_s(length_s) / length_s) ** 2.2 * gate(length_s, 0.05, 0.012)
    sides = [swept_noise(length_s, 450, 7500, seed) for seed in (11, 12)]
    return np.column_stack([0.2 * side * rise for side in sides])


def falling_wash(length_s: float) -> Sound:
    """Noise that sinks away under a strong downbeat."""
    shape = decay(length_s, length_s / 3) * gate(length_s, 0.002, length_s / 2)
    sides = [swept_noise(length_s, 6000, 300, seed) for seed in (13, 14)]
    return np.column_stack([0.12 * side * shape for side in sides])
