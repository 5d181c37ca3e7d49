"""A machine whose clock and sound device move only when the test says so."""

from collections.abc import Callable

import numpy as np
import pytest

from composer.playback.device import HandDevice
from composer.playback.player import Player

RATE = 8000


def track_of(duration_s: float, sample_rate: int = RATE) -> np.ndarray:
    """Samples that tell their own place: left holds the track time, right the number one."""
    times_s = np.arange(round(duration_s * sample_rate)) / sample_rate
    return np.stack([times_s, np.ones_like(times_s)], axis=1).astype(np.float32)


class Machine:
    """Simulated time, a device that asks every ``period_s`` (give or take), and its player."""

    def __init__(self, samples, sample_rate=RATE, *, period_s=0.02, latency_s=0.0, jitter_s=0.0):
        self.now_s = 100.0
        self.sample_rate = sample_rate
        self.period = round(period_s * sample_rate)
        self.latency_s = latency_s
        self.jitter_s = jitter_s
        self.random = np.random.default_rng(5)
        self.devices: list[HandDevice] = []
        self.heard: list[np.ndarray] = []
        self.alive = True
        self._next_s = self.now_s
        self.player = Player(samples, sample_rate, self.open, now=lambda: self.now_s)

    def open(self, _sample_rate: int, _channels: int) -> HandDevice:
        device = HandDevice(self.latency_s)
        self.devices.append(device)
        self._next_s = self.now_s
        return device

    def run(self, seconds: float, every_s: float = 0.0, then: Callable[[], None] | None = None):
        """Let time pass; ``then`` is called every so often, between the device's requests."""
        end_s = self.now_s + seconds
        ask_s = self.now_s + every_s if then else np.inf
        while True:
            pull_s = self._pull_time_s()
            self.now_s = min(pull_s, ask_s, end_s)
            if self.now_s >= end_s:
                return
            if self.now_s == pull_s:
                self.heard.append(self.devices[-1].pull(self.period).copy())
                self._next_s += self.period / self.sample_rate
                self._late_s = None
            else:
                then()
                ask_s += every_s

    _late_s: float | None = None

    def _pull_time_s(self) -> float:
        if not self.devices or not self.alive:
            return np.inf
        if self._late_s is None:
            self._late_s = self.jitter_s * self.random.random()
        return self._next_s + self._late_s

    @property
    def sound(self) -> np.ndarray:
        return np.concatenate(self.heard) if self.heard else np.zeros((0, 2), np.float32)


@pytest.fixture
def make_machine():
    return Machine


@pytest.fixture
def make_track():
    return track_of
