"""Sound devices behind one small Protocol: the system's, a silent one, one moved by hand."""

from collections.abc import Callable, Generator
from typing import TYPE_CHECKING, Any, Protocol

from composer.errors import DeviceError

if TYPE_CHECKING:  # loaded when something is played
    import numpy as np
    from numpy.typing import NDArray

Fill = Callable[[int], "NDArray[np.float32]"]
"""Asked from the device's own thread for so many frames; shape (frames, channels)."""

PERIOD_MS, PERIODS = 20, 3
"""Three periods of 20 ms: short enough to feel direct, long enough for a busy machine."""


class Device(Protocol):
    """Plays what it asks for, until it is closed."""

    @property
    def latency_s(self) -> float:
        """From asking for frames to hearing them, as far as the device says."""
        ...

    def start(self, fill: Fill) -> None: ...

    def close(self) -> None: ...


OpenDevice = Callable[[int, int], Device]
"""Opens a device for a sample rate and a number of channels; raises DeviceError."""


class SystemDevice:
    """A device of this machine through miniaudio, or its silent one that keeps real time."""

    latency_s = PERIOD_MS * (PERIODS - 1) / 1000

    def __init__(self, sample_rate: int, channels: int, *, silent: bool = False) -> None:
        import miniaudio

        backend = miniaudio.Backend
        left_out = (backend.NULL, backend.CUSTOM, backend.WEBAUDIO)
        # Named one by one: without a list the library falls back to silence without a word.
        backends = [backend.NULL] if silent else [b for b in backend if b not in left_out]
        try:
            self._device: Any = miniaudio.PlaybackDevice(
                output_format=miniaudio.SampleFormat.FLOAT32,
                nchannels=channels,
                sample_rate=sample_rate,
                buffersize_msec=PERIOD_MS,
                callback_periods=PERIODS,
                backends=backends,
                app_name="petalbar",
            )
        except miniaudio.MiniaudioError as error:
            raise DeviceError(
                f"no sound device could be opened ({_reason(error)}); "
                "connect or free one and try again, or rehearse without sound"
            ) from None
        self._channels = channels
        self._error_type: type[Exception] = miniaudio.MiniaudioError

    def start(self, fill: Fill) -> None:
        feed = _feed(fill, self._channels)
        next(feed)
        try:
            self._device.start(feed)
        except self._error_type as error:
            raise DeviceError(
                f"the sound device could not be started ({_reason(error)}); "
                "see whether another program holds it, and try again"
            ) from None

    def close(self) -> None:
        self._device.close()


def open_system_device(sample_rate: int, channels: int) -> Device:
    """The machine's own sound output.

    Raises
    ------
    DeviceError
        If there is none or it is busy.
    """
    return SystemDevice(sample_rate, channels)


def open_silent_device(sample_rate: int, channels: int) -> Device:
    """Keeps real time and makes no sound, for machines without sound."""
    return SystemDevice(sample_rate, channels, silent=True)


def _feed(fill: Fill, channels: int) -> "Generator[NDArray[np.float32], int, None]":
    import numpy as np

    block = np.zeros((0, channels), dtype=np.float32)
    while True:
        frames = yield block
        block = fill(frames)


def _reason(error: Exception) -> str:
    return str(error.args[0]) if error.args else type(error).__name__


class HandDevice:
    """Moved on by whoever holds it: for tests, and for running without any clock."""

    def __init__(self, latency_s: float = 0.0) -> None:
        self.latency_s = latency_s
        self.closed = False
        self._fill: Fill | None = None

    def start(self, fill: Fill) -> None:
        self._fill = fill

    def close(self) -> None:
        self.closed = True

    def pull(self, frames: int) -> "NDArray[np.float32]":
        """Ask for frames, as a device's thread would."""
        if self._fill is None:
            raise ValueError("the device was not started")
        return self._fill(frames)
