"""Short spoken words for calls and counts, where the system has a voice."""

import io
import shutil
import subprocess
import tempfile
import wave
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from math import gcd
from pathlib import Path

import numpy as np

from composer.errors import DeviceError
from composer.playback.due import TimedCue
from composer.playback.mixer import Samples

WORDS_PER_MINUTE = 170
"""160 to 180 words a minute are heard with ease: figures of the British regulator quoted in BBC
R&D, "How fast should subtitles be?", 2015."""
PEAK = 0.6
HEARD = 0.02
"""Share of the peak at which speech begins: what is before it would make the call late."""
COUNTS = ("one", "two", "three", "four", "five", "six", "seven", "eight")
ARGUMENTS: dict[str, tuple[str, ...]] = {
    "espeak-ng": ("-s", str(WORDS_PER_MINUTE), "--stdin", "-w", "{path}"),
    "espeak": ("-s", str(WORDS_PER_MINUTE), "--stdin", "-w", "{path}"),
    "say": (
        *("-r", str(WORDS_PER_MINUTE), "-f", "-", "-o", "{path}"),
        *("--file-format=WAVE", "--data-format=LEI16@22050"),
    ),
}
"""Programs looked for, in this order, and how each is told to speak its input into a file."""

Run = Callable[[Sequence[str], str], None]
"""Runs a command with a text as its input; raises OSError or CalledProcessError."""


def _run(command: Sequence[str], text: str) -> None:
    subprocess.run(command, input=text.encode(), capture_output=True, check=True, timeout=20)


@dataclass(frozen=True)
class Voice:
    """A program that speaks; words once spoken are kept."""

    program: str
    path: str
    run: Run = _run
    _spoken: dict[tuple[str, int], Samples] = field(default_factory=dict)

    def speak(self, text: str, sample_rate: int) -> Samples:
        """The words as samples that begin with their first sound, shape (frames,).

        Raises
        ------
        DeviceError
            If the program fails.
        """
        key = (text, sample_rate)
        if key not in self._spoken:
            self._spoken[key] = _trimmed(self._samples(text, sample_rate))
        return self._spoken[key]

    def _samples(self, text: str, sample_rate: int) -> Samples:
        try:
            with tempfile.TemporaryDirectory() as folder:
                file = Path(folder, "words.wav")
                arguments = [a.format(path=file) for a in ARGUMENTS[self.program]]
                self.run([self.path, *arguments], text)
                return _from_wav(file.read_bytes(), sample_rate)
        except (OSError, subprocess.SubprocessError, wave.Error, EOFError) as error:
            raise DeviceError(
                f'the voice {self.program} could not say "{text}" ({error}); '
                "calls stay as text, or choose tones"
            ) from None


def find_voice(which: Callable[[str], str | None] = shutil.which, run: Run = _run) -> Voice:
    """The first voice program on this machine.

    Raises
    ------
    DeviceError
        If there is none.
    """
    for program in ARGUMENTS:
        path = which(program)
        if path:
            return Voice(program, path, run)
    raise DeviceError(
        "no voice was found on this machine; install espeak-ng, or have the calls as tones"
    )


def spoken_calls(
    cues: Iterable[TimedCue], voice: Voice, sample_rate: int
) -> dict[TimedCue, Samples]:
    """Every cue's words; it takes some tenths of a second for each, so run it in a worker."""
    return {cue: voice.speak(cue.text, sample_rate) for cue in cues}


def spoken_counts(voice: Voice, sample_rate: int) -> tuple[Samples, ...]:
    """One to eight."""
    return tuple(voice.speak(word, sample_rate) for word in COUNTS)


def _from_wav(data: bytes, sample_rate: int) -> Samples:
    from scipy.signal import resample_poly

    with wave.open(io.BytesIO(data)) as file:
        if file.getsampwidth() != 2:
            raise wave.Error("16 bits a sample are needed")
        pcm = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2")
        mono = pcm.reshape(-1, file.getnchannels()).mean(axis=1) / 32768
        rate = file.getframerate()
    common = gcd(sample_rate, rate)
    return np.asarray(resample_poly(mono, sample_rate // common, rate // common), dtype=np.float32)


def _trimmed(samples: Samples) -> Samples:
    peak = float(np.abs(samples).max(initial=0.0))
    if peak == 0.0:
        return samples[:0]
    heard = np.flatnonzero(np.abs(samples) >= HEARD * peak)
    return samples[heard[0] : heard[-1] + 1] * np.float32(PEAK / peak)
