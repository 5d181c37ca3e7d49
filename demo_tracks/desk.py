"""The mixing desk: places sounds on channels, then delay, reverb, ducking and a limiter."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from sound import SAMPLE_RATE_HZ, Sound, band, decay, noise
from timing import Clock

Channel = NDArray[np.float32]


class Desk:
    """Stereo channels of one length, made when first played on."""

    def __init__(self, clock: Clock, length_s: float) -> None:
        self.clock = clock
        self.length_samples = round(length_s * SAMPLE_RATE_HZ)
        self.channels: dict[str, Channel] = {}

    def channel(self, name: str) -> Channel:
        if name not in self.channels:
            self.channels[name] = np.zeros((self.length_samples, 2), dtype=np.float32)
        return self.channels[name]

    def play(
        self, name: str, sound: Sound, beat: float, *, gain: float = 1.0, pan: float = 0.5
    ) -> None:
        """Add a sound that starts on a beat; pan runs from 0 (left) to 1, equal power."""
        stereo = sound if sound.ndim == 2 else np.column_stack([sound, sound])
        sides = np.sqrt(2) * np.array([np.cos(pan * np.pi / 2), np.sin(pan * np.pi / 2)])
        start = round(self.clock.seconds(beat) * SAMPLE_RATE_HZ)
        room = self.length_samples - start
        piece = stereo[:room]
        self.channel(name)[start : start + len(piece)] += (gain * sides * piece).astype(np.float32)


def duck(channel: Channel, hit_times_s: Sequence[float], *, depth: float, recover_s: float) -> None:
    """Pull a channel down at each hit and let it swell back, in place."""
    shape_length = round(recover_s * SAMPLE_RATE_HZ)
    way = np.linspace(0, 1, shape_length)
    shape = (1 - depth * (1 - way * way * (3 - 2 * way))).astype(np.float32)
    gain = np.ones(len(channel), dtype=np.float32)
    for time_s in hit_times_s:
        piece = gain[round(time_s * SAMPLE_RATE_HZ) :][:shape_length]
        np.minimum(piece, shape[: len(piece)], out=piece)
    channel *= gain[:, None]


def echoes(channel: Channel, delay_s: float, feedback: float, repeats: int = 6) -> Channel:
    """Repeats that change sides each time, quieter by ``feedback``."""
    out = np.zeros_like(channel)
    middle = channel.mean(axis=1)
    for k in range(1, repeats + 1):
        shift = round(k * delay_s * SAMPLE_RATE_HZ)
        near, far = (0.9, 0.35) if k % 2 else (0.35, 0.9)
        out[shift:, 0] += feedback**k * near * middle[:-shift]
        out[shift:, 1] += feedback**k * far * middle[:-shift]
    return out


def reverb(channel: Channel, time_constant_s: float) -> Channel:
    """A room made of decaying noise, unlike on both sides, starting 12 ms late."""
    length_s = 6 * time_constant_s
    late = np.zeros(round(0.012 * SAMPLE_RATE_HZ))
    out = np.empty_like(channel)
    for side, seed in ((0, 31), (1, 32)):
        tail = noise(length_s, seed, band(250, 5500)) * decay(length_s, time_constant_s)
        response = np.concatenate([late, tail / np.sqrt(np.sum(tail**2))])
        out[:, side] = convolve(channel[:, side], response)[: len(channel)]
    return out


def convolve(signal: NDArray[np.floating], response: Sound) -> Sound:
    """Linear convolution through the FFT, as long as the signal and response together."""
    size = 1 << (len(signal) + len(response)).bit_length()
    spectrum = np.fft.rfft(signal, size) * np.fft.rfft(response, size)
    return np.fft.irfft(spectrum, size)[: len(signal) + len(response)]


def limit(mix: Channel, ceiling: float) -> Channel:
    """Keep every sample under a ceiling with a gain that moves smoothly and looks ahead.

    The gain of each 64-sample block is the least that any block within reach needs, then averaged
    over the same reach: an average of gains that all suffice suffices.
    """
    block, reach = 64, 24
    count = -(-len(mix) // block)
    padded = np.zeros(count * block)
    padded[: len(mix)] = np.abs(mix).max(axis=1)
    needed = np.minimum(1.0, ceiling / np.maximum(padded.reshape(count, block).max(axis=1), 1e-9))
    wide = np.pad(needed, 2 * reach + 1, mode="edge")
    least = np.lib.stride_tricks.sliding_window_view(wide, 2 * reach + 3).min(axis=1)
    window = np.hanning(2 * reach + 1)
    gains = np.convolve(least, window / window.sum(), mode="valid")
    centres = (np.arange(count) + 0.5) * block
    gain = np.interp(np.arange(len(mix)), centres, gains)
    return (mix * gain[:, None]).astype(np.float32)


def hush(mix: Channel, start_s: float, end_s: float, fade_s: float = 0.03) -> None:
    """Take a stretch of the whole mix to silence, in place: a clean stop, without the room."""
    time_s = np.arange(len(mix)) / SAMPLE_RATE_HZ
    gone = np.clip((time_s - start_s) / fade_s, 0, 1) * (time_s < end_s)
    mix *= (0.5 + 0.5 * np.cos(np.pi * gone)).astype(np.float32)[:, None]
