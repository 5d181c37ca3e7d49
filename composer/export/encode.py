"""Samples into the bytes of a sound file, with tags, in memory."""

import io
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from composer.errors import ExportError
from composer.export.choice import one_line


@dataclass(frozen=True, slots=True)
class Coding:
    """How files with one ending are coded."""

    container: str
    codec: str
    lossless: bool
    rates_hz: tuple[int, ...] = ()
    """The only sample rates it takes; empty: any."""
    options: tuple[tuple[str, str], ...] = ()


CODINGS: dict[str, Coding] = {
    ".wav": Coding("wav", "pcm_s24le", True),
    ".flac": Coding("flac", "flac", True),
    ".ogg": Coding("ogg", "libopus", False, (48_000,)),
    ".m4a": Coding("ipod", "aac", False, (44_100, 48_000, 32_000), (("aac_coder", "fast"),)),
    ".mp3": Coding("mp3", "libmp3lame", False, (44_100, 48_000, 32_000)),
}
"""By ending. Ogg holds Opus (RFC 7845), m4a AAC in MPEG-4, which phones of every make play."""
USUAL_BIT_RATE = 192_000
BLOCK_SAMPLES = 65_536
LARGEST_WAV_BYTES = 2**32 - 4096
"""RIFF counts its bytes in 32 bits."""


def coding_of(suffix: str) -> Coding:
    """How a file with that ending is coded.

    Raises
    ------
    ExportError
        If sound is not written so.
    """
    coding = CODINGS.get(suffix.lower())
    if coding is None:
        raise ExportError(f'sound is written as {", ".join(CODINGS)}, not as "{suffix}"')
    return coding


def encoded(
    samples: NDArray[np.float32],
    sample_rate_hz: int,
    suffix: str,
    *,
    tags: Mapping[str, str] | None = None,
    bit_rate: int = USUAL_BIT_RATE,
) -> bytes:
    """A whole sound file.

    Parameters
    ----------
    samples : np.ndarray, shape=(n, channels)
        Full scale 1; what is louder is clipped. One or two channels; more are mixed to two.
    suffix : str
        One of :data:`CODINGS`.
    bit_rate : int
        Bits a second, of the codings that lose something.

    Raises
    ------
    ExportError
        If no file ends so, or the sound is longer than a wav file can hold.
    """
    import av

    coding = coding_of(suffix)
    if suffix == ".wav" and len(samples) * 3 * min(samples.shape[1], 2) > LARGEST_WAV_BYTES:
        raise ExportError("the sound is longer than a wav file can hold; write it as .flac")
    out = io.BytesIO()
    with av.open(out, "w", format=coding.container) as container:
        container.metadata.update({key: one_line(text) for key, text in (tags or {}).items()})
        rate = _rate(coding, sample_rate_hz)
        layout = "mono" if samples.shape[1] == 1 else "stereo"
        options = dict(coding.options)
        stream: Any = container.add_stream(coding.codec, rate, options, layout=layout)
        stream.format = stream.codec_context.codec.audio_formats[-1 if coding.lossless else 0]
        if not coding.lossless:
            stream.bit_rate = bit_rate
        _encode(container, stream, samples, sample_rate_hz)
    return out.getvalue()


def _rate(coding: Coding, sample_rate_hz: int) -> int:
    if not coding.rates_hz or sample_rate_hz in coding.rates_hz:
        return sample_rate_hz
    return coding.rates_hz[0]


def _encode(container: Any, stream: Any, samples: NDArray[np.float32], sample_rate_hz: int) -> None:
    import av

    channels = samples.shape[1]
    layout = {1: "mono", 2: "stereo"}.get(channels, f"{channels}c")
    resampler = av.AudioResampler(
        format=stream.format,
        layout=stream.layout,
        rate=stream.rate,
        frame_size=stream.codec_context.frame_size or None,
    )
    for start in range(0, len(samples), BLOCK_SAMPLES):
        block = np.ascontiguousarray(samples[start : start + BLOCK_SAMPLES].T)
        frame = av.AudioFrame.from_ndarray(block, format="fltp", layout=layout)
        frame.sample_rate = sample_rate_hz
        frame.pts = start
        for ready in resampler.resample(frame):
            container.mux(stream.encode(ready))
    for ready in resampler.resample(None):
        container.mux(stream.encode(ready))
    container.mux(stream.encode(None))
