"""Samples written as music files."""

import os
import tempfile
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from composer.errors import TrackError

CODECS = {".wav": ("pcm_s16", "wav"), ".flac": ("flac", "flac"), ".ogg": ("libvorbis", "ogg")}
BLOCK = 4096


def write_track(path: Path, samples: NDArray[np.float32], sample_rate_hz: int) -> None:
    """Write wav or flac (16 bit) or ogg (Vorbis); an old file goes only when the new one is whole.

    Parameters
    ----------
    samples : np.ndarray, shape=(n, channels)
        Full scale is 1; louder samples are clipped.

    Raises
    ------
    TrackError
        For another file ending or a place that cannot be written.
    """
    kind = path.suffix.lower()
    if kind not in CODECS:
        raise TrackError(f"{path}: music is written as .wav, .flac or .ogg")
    if not path.parent.is_dir():
        raise TrackError(f"{path}: the folder {path.parent} does not exist")
    try:
        with tempfile.NamedTemporaryFile(dir=path.parent, suffix=kind, delete=False) as stream:
            place = Path(stream.name)
        try:
            if kind == ".wav":
                _write_wav(place, samples, sample_rate_hz)
            else:
                _encode(place, kind, samples, sample_rate_hz)
            os.replace(place, path)
        finally:
            place.unlink(missing_ok=True)
    except OSError as error:
        raise TrackError(f"{path}: cannot be written ({error.strerror or error})") from None


def _sixteen_bit(samples: NDArray[np.float32]) -> NDArray[np.int16]:
    return np.round(np.clip(samples, -1, 1) * 32767).astype("<i2")


def _write_wav(place: Path, samples: NDArray[np.float32], rate: int) -> None:
    import wave

    with wave.open(str(place), "wb") as out:
        out.setnchannels(samples.shape[1])
        out.setsampwidth(2)
        out.setframerate(rate)
        out.writeframes(_sixteen_bit(samples).tobytes())


def _encode(place: Path, kind: str, samples: NDArray[np.float32], rate: int) -> None:
    import av

    codec, container_format = CODECS[kind]
    layout = {1: "mono", 2: "stereo", 6: "5.1", 8: "7.1"}.get(samples.shape[1])
    if layout is None:
        samples, layout = samples[:, :2], "stereo"
    flac = kind == ".flac"
    data = _sixteen_bit(samples) if flac else np.clip(samples, -1, 1)
    with av.open(str(place), "w", format=container_format) as container:
        stream = container.add_stream(codec, rate=rate, layout=layout)
        for start in range(0, len(data), BLOCK):
            block = data[start : start + BLOCK]
            plane = block.reshape(1, -1) if flac else block.T
            frame = av.AudioFrame.from_ndarray(
                np.ascontiguousarray(plane), format="s16" if flac else "fltp", layout=layout
            )
            frame.sample_rate, frame.pts = rate, start
            frame.time_base = Fraction(1, rate)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
