"""Clicks, counts and calls as short tones, made from nothing.

Every sound begins on its first sample, within a millisecond of full strength, so that what is
scheduled on a beat is heard on it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

ATTACK_S, RELEASE_S = 0.001, 0.008
CLICK_HZ, DOWNBEAT_HZ = 1000.0, 1600.0
CLICK_DECAY_S = 0.012
CLICK_LENGTH_S = 0.06
CLICK_PEAK, DOWNBEAT_PEAK = 0.4, 0.6
CALL_PEAK = 0.35


@dataclass(frozen=True, slots=True)
class Tone:
    """One note of a call: its pitch and how long it sounds, then how long nothing does."""

    hz: float
    length_s: float
    rest_s: float = 0.03


LOW, MIDDLE, HIGH, TOP = 392.0, 523.25, 783.99, 1046.5
"""G4, C5, G5, C6 in equal temperament on 440 Hz: far apart, over most bass and drums."""

CALL_TONES: dict[str, tuple[Tone, ...]] = {
    "move": (Tone(MIDDLE, 0.09), Tone(HIGH, 0.14)),
    "end": (Tone(HIGH, 0.09), Tone(MIDDLE, 0.14)),
    "spot": (Tone(MIDDLE, 0.07), Tone(MIDDLE, 0.07), Tone(MIDDLE, 0.07)),
    "phrase": (Tone(MIDDLE, 0.07), Tone(HIGH, 0.07), Tone(TOP, 0.14)),
    "accent": (Tone(TOP, 0.16),),
    "light": (Tone(TOP, 0.07), Tone(TOP, 0.07)),
    "costume": (Tone(LOW, 0.07), Tone(LOW, 0.14)),
    "release": (Tone(TOP, 0.07), Tone(HIGH, 0.07), Tone(MIDDLE, 0.14)),
    "note": (Tone(LOW, 0.16),),
}
"""What each kind of cue sounds like: told apart by rhythm and by rise or fall, not by pitch."""


def click(sample_rate: int, *, accented: bool = False) -> NDArray[np.float32]:
    """A struck click; the accented one, for downbeats, is higher and louder.

    Returns
    -------
    np.ndarray, shape=(frames,), float32
        Within -1..1.
    """
    _check_rate(sample_rate)
    hz, peak = (DOWNBEAT_HZ, DOWNBEAT_PEAK) if accented else (CLICK_HZ, CLICK_PEAK)
    times_s = np.arange(round(CLICK_LENGTH_S * sample_rate)) / sample_rate
    wave = np.sin(2 * np.pi * hz * times_s) * np.exp(-times_s / CLICK_DECAY_S)
    return _shaped(peak * wave, sample_rate)


def call_sound(kind: str, sample_rate: int) -> NDArray[np.float32]:
    """The tone pattern that stands for a kind of cue; unknown kinds sound as a note."""
    return tone_pattern(CALL_TONES.get(kind, CALL_TONES["note"]), sample_rate)


def tone_pattern(tones: Sequence[Tone], sample_rate: int) -> NDArray[np.float32]:
    """Tones one after another.

    Returns
    -------
    np.ndarray, shape=(frames,), float32
        Within -1..1; the rest after the last tone is left out.

    Raises
    ------
    ValueError
        If no tone is given, or one lies above half the sample rate.
    """
    _check_rate(sample_rate)
    if not tones:
        raise ValueError("a call needs at least one tone")
    parts = []
    for tone in tones:
        if not 0 < tone.hz < sample_rate / 2:
            raise ValueError(f"a tone lies below {sample_rate / 2:g} Hz, got {tone.hz:g}")
        times_s = np.arange(round(tone.length_s * sample_rate)) / sample_rate
        parts.append(_shaped(CALL_PEAK * np.sin(2 * np.pi * tone.hz * times_s), sample_rate))
        parts.append(np.zeros(round(tone.rest_s * sample_rate), dtype=np.float32))
    return np.concatenate(parts[:-1])


def _shaped(wave: NDArray[np.float64], sample_rate: int) -> NDArray[np.float32]:
    """Ramps at both ends, so that neither end cracks."""
    for ramp_s, part in ((ATTACK_S, wave), (RELEASE_S, wave[::-1])):
        count = min(round(ramp_s * sample_rate), len(wave))
        part[:count] *= np.linspace(0, 1, count, endpoint=False)
    return wave.astype(np.float32)


def _check_rate(sample_rate: int) -> None:
    if sample_rate < 4000:
        raise ValueError(f"a sample rate of 4000 Hz or more is needed, got {sample_rate}")
