"""Samples written as music files."""

import os
import tempfile
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from composer.errors import TrackError

KINDS = {".wav": ("WAV", "PCM_16"), ".flac": ("FLAC", "PCM_16"), ".ogg": ("OGG", "VORBIS")}
BLOCK_S = 1.0


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
    if kind not in KINDS:
        raise TrackError(f"{path}: music is written as .wav, .flac or .ogg")
    if not path.parent.is_dir():
        raise TrackError(f"{path}: the folder {path.parent} does not exist")
    try:
        with tempfile.NamedTemporaryFile(dir=path.parent, suffix=kind, delete=False) as stream:
            place = Path(stream.name)
        try:
            _write(place, kind, samples, sample_rate_hz)
            os.replace(place, path)
        finally:
            place.unlink(missing_ok=True)
    except (OSError, RuntimeError) as error:
        raise TrackError(f"{path}: cannot be written ({error})") from None


def _write(place: Path, kind: str, samples: NDArray[np.float32], rate: int) -> None:
    import soundfile

    container, subtype = KINDS[kind]
    step = max(1, round(BLOCK_S * rate))
    with soundfile.SoundFile(
        place, "w", rate, samples.shape[1], format=container, subtype=subtype
    ) as out:
        for start in range(0, len(samples), step):
            out.write(np.clip(samples[start : start + step], -1, 1))
