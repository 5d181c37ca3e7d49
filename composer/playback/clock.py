"""Which output frame is heard now, from the sound device's own requests.

A device asks for samples in lumps of some 10 to 20 ms, a little early or late each time. The
clock carries the time of frame 0 along with a first-order loop, so that everything that asks
for the position between two requests gets a smooth answer.
"""

from collections.abc import Callable

TimeSource = Callable[[], float]
"""Seconds that only go forward, such as ``time.monotonic``."""

SMOOTHING = 0.02
"""Share of each request's deviation that is taken over: about a second to settle at 20 ms."""
FILLING_REPORTS = 5
"""A device first fills its buffer with hurried requests: the earliest of these counts."""
STALL_S = 0.1
"""A deviation beyond this is a gap in the sound (a sleeping computer), not jitter."""


class FrameClock:
    """Frames heard, counted from the first one delivered."""

    def __init__(self, sample_rate: int) -> None:
        self._sample_rate = sample_rate
        self._latency_s = 0.0
        self._origin_s: float | None = None
        self._reports = 0
        self._delivered = 0
        self._heard = 0.0

    def restart(self, frame: int, latency_s: float) -> None:
        """Begin again at a frame with a newly opened device, whose buffer holds so much."""
        self._origin_s = None
        self._reports = 0
        self._delivered = frame
        self._heard = float(frame)
        self._latency_s = latency_s

    def report(self, frame: int, frames: int, now_s: float) -> None:
        """The device has just asked for ``frames`` frames, the first of them ``frame``."""
        seen_s = now_s - frame / self._sample_rate
        if self._origin_s is None or abs(seen_s - self._origin_s) > STALL_S:
            self._origin_s = seen_s
        elif self._reports < FILLING_REPORTS:
            self._origin_s = min(self._origin_s, seen_s)
        else:
            self._origin_s += SMOOTHING * (seen_s - self._origin_s)
        self._reports += 1
        self._delivered = frame + frames

    def heard_frame(self, now_s: float) -> float:
        """The frame heard at a time: never backwards, never past what was delivered."""
        if self._origin_s is None:
            return self._heard
        frame = (now_s - self._origin_s - self._latency_s) * self._sample_rate
        self._heard = min(max(self._heard, frame), float(self._delivered))
        return self._heard
