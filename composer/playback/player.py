"""Plays a track with sounds laid over it, and tells what is heard now."""

import threading
import time
from collections.abc import Callable
from enum import Enum
from functools import partial

import numpy as np
from numpy.typing import NDArray

from composer.errors import DeviceError
from composer.playback.clock import FrameClock, TimeSource
from composer.playback.device import Device, OpenDevice
from composer.playback.mixer import Layer, Mixer, Samples
from composer.playback.timeline import Follower, Loop, Piece, Timeline
from composer.playback.transport import Transport

LOST_AFTER_S = 0.5
"""A device that asks for nothing so long is lost; there is no event that says so."""
SURE_AFTER_S = 0.2
"""So long it must stay silent once that was seen: on a busy machine all may have stood still."""
KEEP_S = 60.0
"""How long what was played is remembered for those who follow it."""
FADE_FRAMES = 256
"""About 6 ms: pausing and jumping without a crack."""


class PlayState(Enum):
    READY = "ready"
    PLAYING = "playing"
    LOST = "no sound device"


class Player:
    """One track on one device, and the one clock of everything that goes with it.

    Parameters
    ----------
    samples : np.ndarray, shape=(frames, channels), float32
    sample_rate : int
    open_device : OpenDevice
        Called on the first :meth:`play` and after a loss.
    now : TimeSource
    """

    def __init__(
        self,
        samples: Samples,
        sample_rate: int,
        open_device: OpenDevice,
        *,
        now: TimeSource = time.monotonic,
    ) -> None:
        self._original = _checked(samples)
        self._rendition = self._original
        self.sample_rate = sample_rate
        self._open_device = open_device
        self._now = now
        self._lock = threading.RLock()
        self._transport = Transport(sample_rate, len(samples))
        self._timeline = Timeline(int(KEEP_S * sample_rate))
        self._rendered = Follower(self._timeline)
        self._clock = FrameClock(sample_rate)
        self._mixer = Mixer(sample_rate)
        self._layers: dict[str, Layer] = {}
        self._device: Device | None = None
        self._opening = 0
        self._asked_s = 0.0
        self._doubted_s: float | None = None
        self._waiting: list[Callable[[], None]] = []
        self._fade_in = 0
        self._playing = False
        self._failure: Exception | None = None
        self.notice = ""
        self.offset_ms = 0.0
        """How much later than the device says the sound is heard; from a calibration."""

    @property
    def duration_s(self) -> float:
        return len(self._original) / self.sample_rate

    @property
    def state(self) -> PlayState:
        if self.notice:
            return PlayState.LOST
        return PlayState.PLAYING if self._playing else PlayState.READY

    @property
    def rate(self) -> float:
        return self._transport.rate

    @property
    def loop(self) -> Loop | None:
        return self._transport.loop

    def play(self) -> None:
        """Begin, or go on, from where the track stands; a lost device is opened again."""
        if self._device is None and not self._open():
            return
        self._playing = True
        self._do(self._transport.play)

    def pause(self) -> None:
        self._playing = False
        self._do(self._hold)

    def seek(self, time_s: float, run_up_s: float = 0.0) -> None:
        """Go to a place; when playing, reach it after a silent run-up of so much track time."""
        self._do(partial(self._jump, time_s, run_up_s))

    def set_loop(self, loop: Loop | None) -> None:
        self._do(partial(self._transport.set_loop, loop))

    def set_rendition(self, rate: float, samples: Samples | None = None) -> None:
        """Go on at another speed, with samples of the whole track at that speed.

        Raises
        ------
        ValueError
            If the samples do not last as long as the track at that speed, to 50 ms.
        """
        if samples is None and rate != 1.0:
            raise ValueError(f"speed {rate} needs samples made for it")
        chosen = self._original if samples is None else _checked(samples)
        wanted = len(self._original) / rate
        if abs(len(chosen) - wanted) > 0.05 * self.sample_rate:
            raise ValueError(f"speed {rate} needs {wanted:.0f} frames, got {len(chosen)}")
        self._do(partial(self._change_rendition, rate, chosen))

    def set_layer(self, name: str, layer: Layer | None) -> None:
        """Lay sounds over the music under a name, in place of that name's earlier ones."""
        with self._lock:
            self._layers.pop(name, None)
            if layer is not None:
                self._layers[name] = layer

    def set_gains(self, *, music: float = 1.0, under_calls: float = 0.35) -> None:
        """How loud the music is (0 mutes it), and how much of that is left under calls."""
        with self._lock:
            self._mixer.music_gain, self._mixer.duck_gain = music, under_calls

    def position_s(self) -> float:
        """Track time that is heard now; while paused, where it will go on."""
        with self._lock:
            if not self._playing or self._device is None:
                return self._transport.position_s
            heard_s = self._timeline.track_s(self._heard_frame())
            return self._transport.position_s if heard_s is None else heard_s

    def follow(self) -> Callable[[], list[Piece]]:
        """A function that gives what was heard since it was last asked, each moment once."""
        with self._lock:
            follower = Follower(self._timeline, self._heard_frame())

        def pieces() -> list[Piece]:
            with self._lock:
                return follower.pieces(self._heard_frame())

        return pieces

    def check(self) -> str:
        """Look after the device; the notice to show, or an empty text."""
        with self._lock:
            if self._failure is not None:
                self._lose(f"playing stopped on a fault of the program ({self._failure})")
            elif self._stays_silent():
                self._lose("the sound device was lost; the place is kept")
            return self.notice

    def _stays_silent(self) -> bool:
        now_s = self._now()
        if self._device is None or now_s - self._asked_s <= LOST_AFTER_S:
            self._doubted_s = None
            return False
        if self._doubted_s is None:
            self._doubted_s = now_s
        return now_s - self._doubted_s >= SURE_AFTER_S

    def resume(self) -> bool:
        """Open a device again after a loss, and play on if it was playing."""
        if self._device is not None:
            return True
        return self._open()

    def close(self) -> None:
        with self._lock:
            device, self._device = self._device, None
            self._playing = False
        if device is not None:
            device.close()

    def _heard_frame(self) -> float:
        late = self.offset_ms / 1000 * self.sample_rate
        return min(self._clock.heard_frame(self._now()) - late, self._transport.out_frame)

    def _do(self, action: Callable[[], None]) -> None:
        """Act at once in silence, or after the next short fade while music sounds."""
        with self._lock:
            if self._device is not None and self._transport.sounding:
                self._waiting.append(action)
            else:
                action()

    def _hold(self) -> None:
        self._transport.hold()
        self._fall_silent()

    def _jump(self, time_s: float, run_up_s: float) -> None:
        self._transport.seek(time_s, run_up_s)
        self._fall_silent()

    def _fall_silent(self) -> None:
        self._mixer.fall_silent()

    def _change_rendition(self, rate: float, samples: Samples) -> None:
        self._rendition = samples
        self._transport.set_rendition(rate, len(samples))

    def _open(self) -> bool:
        """Open and start a device; on failure the notice says why."""
        with self._lock:
            self._opening += 1
            fill = partial(self._fill, self._opening)
        try:
            device = self._open_device(self.sample_rate, self._original.shape[1])
            with self._lock:
                self._clock.restart(self._transport.out_frame, device.latency_s)
                self._asked_s = self._now()
                self._device, self._failure, self.notice = device, None, ""
            device.start(fill)
        except DeviceError as error:
            with self._lock:
                self._device, self.notice = None, str(error)
            return False
        return True

    def _lose(self, notice: str) -> None:
        """Give the device up; go back to what was heard last, so that nothing is skipped."""
        frame = int(self._clock.heard_frame(self._now()))
        heard_s = self._timeline.track_s(frame)
        device, self._device = self._device, None
        self._opening += 1  # a late request of the old device gets silence
        self.notice, self._failure = notice, None
        for action in self._waiting:
            action()
        self._waiting.clear()
        if heard_s is not None:
            self._timeline.cut(frame)
            self._transport.step_back(heard_s, frame)
        self._fall_silent()
        if device is not None:  # closing a dead device may hang
            threading.Thread(target=device.close, daemon=True).start()

    def _fill(self, opening: int, frames: int) -> Samples:
        block = np.zeros((frames, self._original.shape[1]), dtype=np.float32)
        with self._lock:
            if opening != self._opening:
                return block
            now_s = self._now()
            self._asked_s = now_s
            self._clock.report(self._transport.out_frame, frames, now_s)
            try:
                self._render(block)
            except Exception as error:  # kept for check(): the device's thread would swallow it
                self._failure = error
        return block

    def _render(self, block: Samples) -> None:
        start = self._transport.out_frame
        faded = min(FADE_FRAMES, len(block)) if self._waiting and self._transport.sounding else 0
        if faded:
            self._lay(block[:faded])
            block[:faded] *= np.linspace(1, 0, faded, dtype=np.float32)[:, None]
            self._mixer.mix(block[:faded], start)
            self._fade_in = FADE_FRAMES
        for action in self._waiting:
            action()
        self._waiting.clear()
        rest = block[faded:]
        if len(rest):
            self._lay(rest)
            self._mixer.mix(rest, start + faded)

    def _fade(self, block: Samples) -> None:
        if self._fade_in:
            count = min(self._fade_in, len(block))
            done = FADE_FRAMES - self._fade_in
            block[:count] *= (np.arange(done, done + count) / FADE_FRAMES)[:, None]
            self._fade_in -= count

    def _lay(self, block: Samples) -> None:
        """Take spans from the transport: music into the block, sounds into the mixer."""
        at = 0
        for span in self._transport.take(len(block)):
            self._timeline.append(span)
            if span.sounding:
                music = block[at : at + span.frames]
                _read(self._rendition, span.source_frame, music)
                self._fade(music)
            at += span.frames
        for piece in self._rendered.pieces(self._transport.out_frame):
            for layer in self._layers.values():
                for start in layer.starts(piece):
                    self._mixer.add(start)
        if self._transport.ended:
            self._playing = False


def _read(source: Samples, first: int, into: Samples) -> None:
    """Copy frames from ``first`` on; silence where the source has none."""
    begin, end = max(first, 0), min(first + len(into), len(source))
    if begin < end:
        into[begin - first : end - first] = source[begin:end]


def _checked(samples: Samples) -> NDArray[np.float32]:
    if samples.ndim != 2 or samples.dtype != np.float32 or not len(samples):
        raise ValueError(
            f"samples are float32 of shape (frames, channels), got {samples.dtype} {samples.shape}"
        )
    return samples
