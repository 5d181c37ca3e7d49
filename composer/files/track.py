"""Music files: decoded once, whole, to samples that both listening and playback use."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from composer.errors import TrackError
from composer.files.music_file import check_music_file, content_hash

SHORTEST_S = 0.25
LONGEST_S = 2 * 3600.0
LOWEST_HZ, HIGHEST_HZ = 4000, 384_000


@dataclass(frozen=True)
class Track:
    """A decoded music file. Its first sample is time 0 for every grid made from it."""

    path: Path
    samples: NDArray[np.float32]
    """(n, channels), full scale 1."""
    sample_rate_hz: int
    sha256: str
    """Of the file's bytes: the same music is known again under another name."""

    @property
    def duration_s(self) -> float:
        return len(self.samples) / self.sample_rate_hz


def decode_track(path: Path | str, *, mono: bool = False) -> Track:
    """Decode a wav, flac, ogg, mp3, m4a, opus or aac file, or any other that FFmpeg reads.

    A file that breaks off or is damaged gives what could be decoded. ``mono`` averages the
    channels and comes down to the rate of listening while decoding, for long files in little
    memory.

    Raises
    ------
    TrackError
        If the path is missing, a folder, empty, not audio, under 0.2 s or over two hours.
    """
    path = Path(path)
    check_music_file(path)
    samples, rate = _decoded(path, mono)
    if len(samples) < SHORTEST_S * rate:
        raise TrackError(
            f"{path}: only {len(samples) / rate:.2f} s of sound, at least {SHORTEST_S} s are needed"
        )
    return Track(path, samples, rate, content_hash(path))


def _decoded(path: Path, mono: bool) -> tuple[NDArray[np.float32], int]:
    import av

    try:
        with av.open(str(path), metadata_errors="ignore") as container:
            if not container.streams.audio:
                raise TrackError(f"{path}: there is no sound in this file")
            stream = container.streams.audio[0]
            stream.codec_context.thread_type = "AUTO"
            rate = stream.codec_context.sample_rate
            if not LOWEST_HZ <= rate <= HIGHEST_HZ:
                raise TrackError(f"{path}: a sample rate of {rate} Hz is not supported")
            expected = 0
            if stream.duration and stream.time_base:
                expected = int(float(stream.duration * stream.time_base) * rate)
            elif container.duration:
                expected = int(container.duration / av.time_base * rate)
            _check_length(path, expected, rate)
            blocks = _blocks(container, stream)
            if mono:
                return _heard(path, blocks, expected, rate)
            return _gathered(path, blocks, expected, rate), rate
    except av.error.FFmpegError:
        raise TrackError(f"{path}: not a music file, or of a kind that cannot be read") from None


def _check_length(path: Path, count: int, rate: int) -> None:
    if count > LONGEST_S * rate:
        raise TrackError(f"{path}: longer than {LONGEST_S / 3600:.0f} hours; cut it first")


def _blocks(container, stream) -> Iterator[NDArray[np.float32]]:  # type: ignore[no-untyped-def]
    """Decoded blocks, (channels, n); damaged packets are passed over."""
    import av

    packets = container.demux(stream)
    while True:
        try:
            packet = next(packets)
        except (StopIteration, av.error.FFmpegError):
            break
        try:
            frames = packet.decode()
        except av.error.FFmpegError:
            continue
        for frame in frames:
            yield _floats(frame.to_ndarray(), frame.layout.nb_channels, frame.format.is_planar)


INTEGER_SCALE = {"u1": 2.0**7, "i2": 2.0**15, "i4": 2.0**31, "i8": 2.0**63}


def _floats(data: NDArray[Any], channels: int, planar: bool) -> NDArray[np.float32]:
    """A decoder's own sample format as (channels, n) floats with full scale 1.

    Conversion stays here because FFmpeg's resampler does not know every channel layout.
    """
    block = data if planar else data.reshape(-1, channels).T
    kind = data.dtype.str[1:]
    if kind not in INTEGER_SCALE:
        return block.astype(np.float32)
    zero = 2.0**7 if kind == "u1" else 0.0
    return ((block - zero) / INTEGER_SCALE[kind]).astype(np.float32)


def _heard(
    path: Path, blocks: Iterator[NDArray[np.float32]], expected: int, rate: int
) -> tuple[NDArray[np.float32], int]:
    """All blocks in one channel, at no more than the rate of listening; and that rate."""
    import soxr

    from composer.audio.features import SAMPLE_HZ

    wanted = min(rate, SAMPLE_HZ)
    stream = soxr.ResampleStream(rate, wanted, 1, dtype="float32", quality="HQ")

    def slower() -> Iterator[NDArray[np.float32]]:
        for block in blocks:
            finite = np.nan_to_num(block.mean(axis=0), nan=0.0, posinf=1.0, neginf=-1.0)
            yield stream.resample_chunk(finite)[None]
        yield stream.resample_chunk(np.zeros(0, np.float32), last=True)[None]

    return _gathered(path, slower(), expected * wanted // rate, wanted), wanted


def _gathered(
    path: Path, blocks: Iterator[NDArray[np.float32]], expected: int, rate: int
) -> NDArray[np.float32]:
    """All blocks one after the other, (n, channels), in one array that grows by quarters."""
    filled = 0
    store: NDArray[np.float32] | None = None
    for part in blocks:
        if store is None:
            store = np.empty((max(expected, part.shape[1]), part.shape[0]), np.float32)
        if part.shape[0] != store.shape[1]:
            raise TrackError(f"{path}: the number of channels changes inside the file")
        if filled + part.shape[1] > len(store):
            _check_length(path, filled + part.shape[1], rate)
            grown = np.empty(
                (max(len(store) * 5 // 4, filled + part.shape[1]), store.shape[1]), np.float32
            )
            grown[:filled] = store[:filled]
            store = grown
        finite = np.nan_to_num(part.T, nan=0.0, posinf=1.0, neginf=-1.0)
        store[filled : filled + part.shape[1]] = finite
        filled += part.shape[1]
    if store is None or not filled:
        raise TrackError(f"{path}: no sound could be decoded from this file")
    return store[:filled]
