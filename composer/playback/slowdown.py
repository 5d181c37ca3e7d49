"""Slowed copies of a track, made in a process of their own and kept for the next time.

The child reads raw samples on its standard input and writes a WAV file; playback goes on
meanwhile, because the method holds its interpreter for as long as it takes.
"""

import contextlib
import os
import subprocess
import sys
import tempfile
import threading
import time
import wave
from collections.abc import Callable
from pathlib import Path
from typing import IO

import numpy as np

from composer.audio.stretch import FASTEST, SLOWEST, stretched
from composer.errors import ComposerError
from composer.playback.mixer import Samples

VERSION = 1
"""Raised when the same track would be slowed to other samples: older copies are then unused."""
KEEP_BYTES = 2_000_000_000
PERCENTS = range(round(SLOWEST * 100), round(FASTEST * 100) + 1)
POLL_S = 0.05
FULL = 32767.0


def slowed_path(folder: Path, content_hash: str, percent: int) -> Path:
    """Where the copy of a track at a speed is kept."""
    return folder / f"{content_hash}-{percent}-v{VERSION}.wav"


def slowed(
    samples: Samples,
    sample_rate: int,
    content_hash: str,
    percent: int,
    folder: Path,
    *,
    progress: Callable[[float], None] = lambda _share: None,
    cancelled: Callable[[], bool] = lambda: False,
) -> Samples | None:
    """The whole track at a percentage of its speed, pitch kept; call it from a worker thread.

    Parameters
    ----------
    content_hash : str
        Of the track's file, which with the speed names the kept copy.
    progress : callable
        Told a share, 0 to 1, estimated from how fast this machine slowed the first seconds.
    cancelled : callable
        Asked often; when it says yes the work is dropped and the answer is None.

    Raises
    ------
    ValueError
        If the speed is outside 50 to 110 percent.
    ComposerError
        If the copy cannot be made or kept.
    """
    if percent not in PERCENTS:
        raise ValueError(f"speed is {PERCENTS[0]} to {PERCENTS[-1]} percent, got {percent}")
    if percent == 100:
        return samples
    path = slowed_path(folder, content_hash, percent)
    try:
        if not path.exists():
            folder.mkdir(parents=True, exist_ok=True)
            if not _make(samples, sample_rate, percent, path, progress, cancelled):
                return None
            _drop_oldest(folder, keep=path)
        os.utime(path)
        made = _read(path)
    except (OSError, wave.Error, EOFError) as error:
        with contextlib.suppress(OSError):
            path.unlink(missing_ok=True)
        raise ComposerError(
            f"the slowed copy {path} could not be kept or read ({error}); free some space, "
            "or choose another cache folder, and try again"
        ) from None
    progress(1.0)
    return made


def _make(
    samples: Samples,
    sample_rate: int,
    percent: int,
    path: Path,
    progress: Callable[[float], None],
    cancelled: Callable[[], bool],
) -> bool:
    """Run the child; whether it finished. The copy appears whole or not at all."""
    handle, part = tempfile.mkstemp(suffix=".part", dir=path.parent)
    os.close(handle)
    layout = [str(sample_rate), str(samples.shape[1]), str(percent), part]
    child = subprocess.Popen(
        [sys.executable, "-m", "composer.playback.slowdown", *layout],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )
    try:
        expected = _Expectation()
        helpers = [
            threading.Thread(target=_feed, args=(child.stdin, samples), daemon=True),
            threading.Thread(target=expected.read, args=(child.stdout,), daemon=True),
        ]
        for helper in helpers:
            helper.start()
        while child.poll() is None:
            if cancelled():
                return False
            progress(expected.share())
            time.sleep(POLL_S)
        if child.returncode != 0:
            raise ComposerError(
                f"slowing the track to {percent} % failed (code {child.returncode}); "
                "try another speed, or rehearse at 100 %"
            )
        os.replace(part, path)
        return True
    finally:
        if child.poll() is None:
            child.kill()
        child.wait()
        with contextlib.suppress(OSError):
            os.unlink(part)


class _Expectation:
    """How far the child should be, by its own word of how long it will take."""

    def __init__(self) -> None:
        self._since_s = 0.0
        self._seconds = 0.0

    def read(self, out: IO[bytes]) -> None:
        for line in out:
            self._since_s, self._seconds = time.monotonic(), float(line)

    def share(self) -> float:
        if not self._seconds:
            return 0.0
        return min(0.97, (time.monotonic() - self._since_s) / self._seconds)


def _feed(pipe: IO[bytes], samples: Samples) -> None:
    with contextlib.suppress(BrokenPipeError, ValueError), pipe:
        pipe.write(np.ascontiguousarray(samples).data)


def _read(path: Path) -> Samples:
    with wave.open(str(path), "rb") as file:
        data = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2")
        return (data.reshape(-1, file.getnchannels()) / np.float32(FULL)).astype(np.float32)


def _write(path: str, samples: Samples, sample_rate: int) -> None:
    whole = np.rint(np.clip(samples, -1, 1) * FULL).astype("<i2")
    with wave.open(path, "wb") as file:
        file.setnchannels(samples.shape[1])
        file.setsampwidth(2)
        file.setframerate(sample_rate)
        file.writeframes(whole.tobytes())


def _drop_oldest(folder: Path, keep: Path) -> None:
    """Keep the copies used last, as many as fit."""
    copies = sorted(folder.glob("*.wav"), key=lambda p: p.stat().st_mtime, reverse=True)
    total = keep.stat().st_size
    for copy in copies:
        if copy != keep:
            total += copy.stat().st_size
            if total > KEEP_BYTES:
                copy.unlink(missing_ok=True)


def _child(sample_rate: int, channels: int, percent: int, path: str) -> None:
    raw = np.frombuffer(sys.stdin.buffer.read(), dtype=np.float32)
    samples = raw.reshape(-1, channels)
    trial = samples[: 4 * sample_rate]
    began_s = time.monotonic()
    stretched(trial, sample_rate, percent / 100)
    taken_s = time.monotonic() - began_s
    print(taken_s * len(samples) / max(len(trial), 1), flush=True)
    _write(path, stretched(samples, sample_rate, percent / 100), sample_rate)


if __name__ == "__main__":
    _child(int(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]), sys.argv[4])
