"""How invented songs sound: played by a synthesiser, then mixed as unlike as records are."""

import itertools
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import scipy.signal
from numpy.typing import NDArray

from composer.audio.features import SAMPLE_HZ
from composer.audio.fit.abc_tune import Air
from composer.audio.fit.practice_machine import machine_sound
from composer.audio.fit.practice_music import invent
from composer.audio.fit.practice_writer import Song
from composer.audio.fit.truth import write_track

LENGTH_S = 150
"""How much of a song is kept: a longer one tells nothing more about its bars."""


def write_song(seed: int, fonts: list[Path], folder: Path, airs: Sequence[Air] = ()) -> None:
    """Leave the song of a seed in a folder, as sound and with its beats and phrases."""
    song, rng = invent(seed, airs), np.random.default_rng((seed, 1))
    if song.sound == "machine":
        samples = machine_sound(song, rng, LENGTH_S)
    else:
        samples = mixed(played(song, fonts[seed % len(fonts)]), rng)
    _leave(song, samples, folder / f"{seed:05d}")


def played(song: Song, font: Path) -> NDArray[np.float32]:
    """The song as FluidSynth plays it with a General MIDI sound font, in one channel."""
    import soundfile

    with tempfile.TemporaryDirectory() as scratch:
        midi, wav = Path(scratch, "song.mid"), Path(scratch, "song.wav")
        song.midi.save(midi)
        subprocess.run(
            ["fluidsynth", "-ni", "-q", "-F", wav, "-r", str(SAMPLE_HZ), "-g", "0.5", font, midi],
            check=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        samples, rate = soundfile.read(wav, dtype="float32", always_2d=True)
    return np.asarray(samples[: LENGTH_S * rate].mean(axis=1), np.float32)


def mixed(samples: NDArray[np.float32], rng: np.random.Generator) -> NDArray[np.float32]:
    """The samples with more or less bass and treble, and pressed against full scale.

    Half of the songs stay as they are.
    """
    if rng.random() < 0.5:
        return samples
    for cut_hz, kind in ((150, "lowpass"), (3000, "highpass")):
        b, a = scipy.signal.butter(1, cut_hz, kind, fs=SAMPLE_HZ)
        part = scipy.signal.lfilter(b, a, samples)
        samples = np.asarray(samples + rng.uniform(-0.7, 1.5) * part, np.float32)
    press = float(rng.choice([0.5, 1.5, 4.0])) / (float(np.percentile(np.abs(samples), 99)) + 1e-9)
    return np.asarray(np.tanh(press * samples), np.float32)


def _leave(song: Song, samples: NDArray[np.float32], stem: Path) -> None:
    """The sound of a song and, as far as it lasts, its beats and phrases."""
    end_s = len(samples) / SAMPLE_HZ
    beats = [
        (time_s, place)
        for time_s, place in zip(song.beats_s, song.positions, strict=True)
        if time_s < end_s
    ]
    starts = [*(s for s in song.sections_s if s < end_s - 1), min(end_s, song.beats_s[-1])]
    write_track(samples, SAMPLE_HZ, beats, itertools.pairwise(starts), stem)
