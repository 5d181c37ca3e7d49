"""Synthesised voices for invented dance music: drums and tones, each drawn anew for a song.

Every sound begins with its first sample, so that a stroke is heard where its note begins.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import scipy.signal
from numpy.typing import NDArray

from composer.audio.features import SAMPLE_HZ

Sound = NDArray[np.float32]
NYQUIST_HZ = SAMPLE_HZ / 2


def seconds(length_s: float) -> Sound:
    count = max(1, round(length_s * SAMPLE_HZ))
    return np.asarray(np.arange(count) / SAMPLE_HZ, np.float32)


def filtered(sound: Sound, kind: str, cut_hz: float | tuple[float, float], order: int = 2) -> Sound:
    """Butterworth filter; frequencies are kept inside what can be heard at this rate."""
    cut = np.clip(cut_hz, 20, 0.95 * NYQUIST_HZ)
    sos = scipy.signal.butter(order, cut, kind, fs=SAMPLE_HZ, output="sos")
    return np.asarray(scipy.signal.sosfilt(sos, sound), np.float32)


def resonant(sound: Sound, cut_hz: float, q: float) -> Sound:
    """Second-order low-pass with a peak at its corner.

    References
    ----------
    R. Bristow-Johnson, Cookbook formulae for audio equalizer biquad filter coefficients.
    """
    w = 2 * np.pi * min(cut_hz, 0.9 * NYQUIST_HZ) / SAMPLE_HZ
    alpha, cos = np.sin(w) / (2 * q), np.cos(w)
    b = np.array([(1 - cos) / 2, 1 - cos, (1 - cos) / 2]) / (1 + alpha)
    a = np.array([1.0, -2 * cos / (1 + alpha), (1 - alpha) / (1 + alpha)])
    return np.asarray(scipy.signal.lfilter(b, a, sound), np.float32)


def swept(sound: Sound, cut_hz: Sound, q: float, steps: int = 5) -> Sound:
    """A moving low-pass: fixed ones at ``steps`` corners, faded into each other."""
    low, high = float(cut_hz.min()), float(cut_hz.max())
    if high < 1.1 * low:
        return resonant(sound, low, q)
    corners = np.geomspace(low, high, steps)
    place = np.log(cut_hz / low) / np.log(high / low) * (steps - 1)
    out = np.zeros_like(sound)
    for k, corner in enumerate(corners):
        share = np.maximum(0, 1 - np.abs(place - k))
        out += resonant(sound, float(corner), q) * share
    return out


def oscillator(wave: str, hz: float, count: int, phase: float, width: float) -> Sound:
    """A band-limited wave (polynomial steps); ``width`` is the pulse's share."""
    step = hz / SAMPLE_HZ
    turn = np.asarray((phase + step * np.arange(count)) % 1.0, np.float32)
    if wave == "sine":
        return np.asarray(np.sin(2 * np.pi * turn), np.float32)
    if wave == "triangle":
        return np.asarray(4 * np.abs(turn - 0.5) - 1, np.float32)
    if wave == "saw":
        return _smooth_saw(turn, step)
    return _smooth_saw(turn, step) - _smooth_saw(np.asarray((turn + width) % 1, np.float32), step)


def _smooth_saw(turn: Sound, step: float) -> Sound:
    """A saw whose jump is rounded over a sample to each side."""
    out = 2 * turn - 1
    near = turn < step
    part = turn[near] / step
    out[near] -= part + part - part * part - 1
    near = turn > 1 - step
    part = (turn[near] - 1) / step
    out[near] -= part * part + part + part + 1
    return out


@dataclass(frozen=True)
class Level:
    """How a tone rises and falls: to full level, down to ``sustain``, and off when let go."""

    attack_s: float = 0.003
    decay_s: float = 0.3
    sustain: float = 0.6
    release_s: float = 0.05

    def curve(self, t: Sound, length_s: float) -> Sound:
        rise = np.minimum(1, t / self.attack_s)
        since = np.maximum(0, t - self.attack_s)
        fall = self.sustain + (1 - self.sustain) * np.exp(-since / self.decay_s)
        release = np.clip((length_s + self.release_s - t) / self.release_s, 0, 1)
        return np.asarray(rise * fall * release, np.float32)


@dataclass(frozen=True)
class Filter:
    """A low-pass that closes after the stroke, or that swings to and fro."""

    rest: float = 200.0
    stroke: float = 200.0
    """Corners as multiples of the pitch."""
    decay_s: float = 0.2
    q: float = 0.8
    wobble_hz: float = 0.0

    def through(self, tone: Sound, t: Sound, hz: float) -> Sound:
        rest, stroke = np.clip(np.array([self.rest, self.stroke]) * hz, 60, 0.9 * NYQUIST_HZ)
        if min(rest, stroke) > 0.6 * NYQUIST_HZ:
            return tone
        open_share = (
            0.5 - 0.5 * np.cos(2 * np.pi * self.wobble_hz * t)
            if self.wobble_hz
            else np.exp(-t / self.decay_s)
        )
        return swept(tone, np.asarray(rest * (stroke / rest) ** open_share, np.float32), self.q)


@dataclass(frozen=True)
class Stack:
    """Oscillators side by side, a little out of tune."""

    cents: tuple[float, ...] = (0.0,)
    phases: tuple[float, ...] = (0.0,)


@dataclass(frozen=True)
class Modulation:
    """A sine that bends the phase of another."""

    ratio: float
    depth: float
    decay_s: float


@dataclass(frozen=True)
class Voice:
    """A tone: oscillators, a filter that opens and closes, a level that rises and falls."""

    wave: str
    level: Level = Level()
    filter: Filter = Filter()
    stack: Stack = Stack()
    width: float = 0.5
    octave: int = 0
    sub: float = 0.0
    """Share of a sine an octave below."""
    fm: Modulation | None = None
    drive: float = 0.0

    def play(self, pitch: int, length_s: float) -> Sound:
        hz = 440 * 2 ** ((pitch - 69) / 12 + self.octave)
        t = seconds(length_s + self.level.release_s)
        tone = self.filter.through(self._tone(hz, t), t, hz)
        tone *= self.level.curve(t, length_s)
        return np.asarray(np.tanh(tone * (1 + 4 * self.drive)) if self.drive else tone, np.float32)

    def _tone(self, hz: float, t: Sound) -> Sound:
        if self.fm:
            bend = self.fm.depth * np.exp(-t / self.fm.decay_s)
            bend *= np.sin(2 * np.pi * self.fm.ratio * hz * t)
            tone = np.sin(2 * np.pi * hz * t + bend)
        else:
            tone = np.zeros_like(t)
            for cents, phase in zip(self.stack.cents, self.stack.phases, strict=True):
                bent_hz = hz * 2 ** (cents / 1200)
                tone += oscillator(self.wave, bent_hz, len(t), phase, self.width)
            tone /= np.sqrt(len(self.stack.phases))
        if self.sub:
            tone = tone + self.sub * np.sin(np.pi * hz * t)
        return np.asarray(tone, np.float32)


def _log(rng: np.random.Generator, low: float, high: float) -> float:
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


def _stack(rng: np.random.Generator, count: int) -> Stack:
    wide = float(rng.uniform(6, 30))
    cents = np.linspace(-wide, wide, count) if count > 1 else np.zeros(1)
    return Stack(tuple(float(c) for c in cents), tuple(float(p) for p in rng.random(count)))


def draw_bass(rng: np.random.Generator) -> Voice:
    kind = str(rng.choice(["saw", "square", "sine", "fm", "acid", "reese"]))
    level = Level(
        attack_s=_log(rng, 0.001, 0.012),
        decay_s=_log(rng, 0.08, 1.5),
        sustain=float(rng.choice([0.1, 0.5, 0.9])),
        release_s=_log(rng, 0.01, 0.08),
    )
    drive, sub = float(rng.choice([0, 0, 0.3, 1.0])), float(rng.choice([0, 0, 0.6]))
    if kind == "sine":
        return Voice("sine", level, drive=drive, sub=sub)
    if kind == "fm":
        ratio = float(rng.choice([0.5, 1, 2, 3]))
        fm = Modulation(ratio, _log(rng, 0.5, 5), _log(rng, 0.05, 0.4))
        return Voice("sine", level, fm=fm, drive=drive, sub=sub)
    rest = _log(rng, 2, 8)
    if kind == "acid":
        sharp = Filter(rest, rest * _log(rng, 3, 12), _log(rng, 0.05, 0.25), rng.uniform(3, 9))
        return Voice(str(rng.choice(["saw", "square"])), level, sharp, drive=drive, sub=sub)
    swings = kind == "reese" and rng.random() < 0.6
    soft = Filter(
        rest,
        rest * _log(rng, 1, 8),
        _log(rng, 0.04, 0.4),
        float(rng.uniform(0.7, 2.5)),
        _log(rng, 1, 8) if swings else 0.0,
    )
    return Voice(
        "square" if kind == "square" else "saw",
        level,
        soft,
        _stack(rng, 3 if kind == "reese" else int(rng.choice([1, 1, 2]))),
        width=float(rng.choice([0.5, 0.25, 0.12])),
        drive=drive,
        sub=sub,
    )


def draw_lead(rng: np.random.Generator, plucked: float) -> Voice:
    """A lead, stab or arpeggio; ``plucked`` is how likely it dies away by itself."""
    kind = str(rng.choice(["stack", "stack", "saw", "square", "bell", "triangle", "organ"]))
    short = rng.random() < plucked
    level = Level(
        attack_s=_log(rng, 0.001, 0.006 if short else 0.03),
        decay_s=_log(rng, 0.06, 0.35) if short else _log(rng, 0.2, 1.5),
        sustain=0.0 if short else float(rng.uniform(0.3, 0.95)),
        release_s=_log(rng, 0.02, 0.25),
    )
    octave = int(rng.choice([0, 0, 0, 1]))
    if kind == "bell":
        ratio = float(rng.choice([1, 2, 3.5, 7, 1.41]))
        fm = Modulation(ratio, _log(rng, 0.6, 4), _log(rng, 0.05, 0.8))
        return Voice("sine", level, octave=octave, fm=fm)
    if kind == "triangle":
        count = int(rng.choice([1, 2]))
        return Voice("triangle", level, stack=_stack(rng, count), octave=octave)
    if kind == "organ":
        fm = Modulation(2.0, _log(rng, 0.3, 1.2), 30.0)
        return Voice("sine", level, octave=octave, fm=fm)
    rest = _log(rng, 1.5, 20)
    return Voice(
        "square" if kind == "square" else "saw",
        level,
        Filter(rest, rest * _log(rng, 1, 6), _log(rng, 0.05, 0.5), float(rng.uniform(0.7, 3))),
        _stack(rng, 5 if kind == "stack" else 1),
        width=float(rng.choice([0.5, 0.25, 0.12, 0.06])),
        octave=octave,
    )


def draw_chip(rng: np.random.Generator) -> Voice:
    sustain = float(rng.choice([0.0, 0.5, 1.0]))
    return Voice(
        str(rng.choice(["square", "square", "triangle", "saw"])),
        Level(0.001, _log(rng, 0.1, 1.0), sustain, 0.005),
        width=float(rng.choice([0.5, 0.25, 0.125])),
    )


def draw_pad(rng: np.random.Generator) -> Voice:
    rest = _log(rng, 1.5, 10)
    slow = Filter(rest, rest * _log(rng, 0.5, 3), _log(rng, 0.3, 3), float(rng.uniform(0.6, 1.6)))
    return Voice(
        str(rng.choice(["saw", "saw", "square", "triangle"])),
        Level(_log(rng, 0.02, 0.8), 2.0, 0.8, _log(rng, 0.1, 0.6)),
        slow,
        _stack(rng, 3),
        width=float(rng.uniform(0.2, 0.5)),
    )


def draw_kick(rng: np.random.Generator) -> Sound:
    """A sine that falls in pitch: from a soft thud to a long, distorted boom."""
    decay_s = _log(rng, 0.06, 0.35)
    t = seconds(min(0.9, 5 * decay_s))
    end_hz, start_hz = _log(rng, 38, 62), _log(rng, 110, 900)
    hz = end_hz + (start_hz - end_hz) * np.exp(-t / _log(rng, 0.006, 0.05))
    tone = np.sin(2 * np.pi * np.cumsum(hz) / SAMPLE_HZ + rng.uniform(0, 1.2)) * np.exp(
        -t / decay_s
    )
    click = rng.normal(0, 1, len(t)) * np.exp(-t / _log(rng, 0.001, 0.006))
    kick = tone + float(rng.choice([0.0, 0.1, 0.3, 0.7])) * click
    drive = float(rng.choice([0, 0, 1.5, 4, 12]))
    if drive:
        kick = np.tanh(kick * drive)
    return np.asarray(kick * np.minimum(1, (t[-1] - t) / 0.02), np.float32)


def _noise(rng: np.random.Generator, length_s: float, decay_s: float) -> Sound:
    t = seconds(length_s)
    return np.asarray(rng.normal(0, 1, len(t)) * np.exp(-t / decay_s), np.float32)


def draw_snare(rng: np.random.Generator) -> Sound:
    """Noise over a tone, or a clap: a few bursts close together."""
    length_s = 0.5
    decay_s = _log(rng, 0.04, 0.18)
    low = _log(rng, 300, 2500)
    noise = filtered(_noise(rng, length_s, decay_s), "bandpass", (low, low * _log(rng, 3, 10)))
    t = seconds(length_s)
    if rng.random() < 0.4:
        gap_s, bursts = float(rng.uniform(0.006, 0.011)), int(rng.integers(2, 4))
        burst = np.exp(-(t % gap_s) / 0.004) * (t < bursts * gap_s)
        out = noise * (t >= bursts * gap_s) + 0.8 * burst * filtered(
            _noise(rng, length_s, 9.0), "bandpass", (low, low * 4)
        )
    else:
        hz = _log(rng, 140, 280) * (1 + 0.6 * np.exp(-t / 0.012))
        tone = np.sin(2 * np.pi * np.cumsum(hz) / SAMPLE_HZ) * np.exp(-t / _log(rng, 0.03, 0.14))
        out = noise * float(rng.uniform(0.6, 2.0)) + tone
    drive = float(rng.choice([0, 0, 2, 5]))
    return np.asarray(np.tanh(out * drive) if drive else out, np.float32)


def draw_hat(rng: np.random.Generator, decay_s: float) -> Sound:
    """Filtered noise or a clang of squares that do not agree."""
    length_s = min(2.5, 5 * decay_s)
    t = seconds(length_s)
    if rng.random() < 0.4:
        base = _log(rng, 250, 600)
        ratios = (1.0, 1.342, 1.2312, 1.6532, 1.9523, 2.1523)
        clang = sum(np.sign(np.sin(2 * np.pi * base * r * t)) for r in ratios)
        raw = np.asarray(clang * np.exp(-t / decay_s), np.float32)
    else:
        raw = _noise(rng, length_s, decay_s)
    return filtered(raw, "highpass", _log(rng, 2500, 8000), order=int(rng.choice([2, 4])))


def draw_tom(rng: np.random.Generator, hz: float) -> Sound:
    t = seconds(0.5)
    fall = hz * (1 + float(rng.uniform(0.2, 1.5)) * np.exp(-t / _log(rng, 0.01, 0.08)))
    tone = np.sin(2 * np.pi * np.cumsum(fall) / SAMPLE_HZ) * np.exp(-t / _log(rng, 0.05, 0.18))
    return np.asarray(tone + 0.1 * _noise(rng, 0.5, 0.01), np.float32)


def draw_blip(rng: np.random.Generator) -> Sound:
    """A small percussion: a wood block, a cowbell, a zap or a short noise."""
    kind, t = str(rng.choice(["block", "bell", "zap", "noise"])), seconds(0.25)
    fall = np.exp(-t / _log(rng, 0.012, 0.07))
    hz = _log(rng, 400, 2000)
    if kind == "block":
        return np.asarray(np.sin(2 * np.pi * hz * t) * fall, np.float32)
    if kind == "bell":
        squares = np.sign(np.sin(2 * np.pi * hz * t)) + np.sign(np.sin(2 * np.pi * 1.5 * hz * t))
        return filtered(np.asarray(squares * fall, np.float32), "bandpass", (hz, 3 * hz))
    if kind == "zap":
        falling = 80 + 4000 * np.exp(-t / _log(rng, 0.01, 0.05))
        return np.asarray(np.sin(2 * np.pi * np.cumsum(falling) / SAMPLE_HZ) * fall, np.float32)
    return filtered(
        np.asarray(rng.normal(0, 1, len(t)) * fall, np.float32), "bandpass", (hz, 3 * hz)
    )


def riser(rng: np.random.Generator, length_s: float) -> Sound:
    """Noise, and perhaps a tone, that swells and brightens until it stops."""
    t = seconds(length_s)
    part = t / length_s
    noise = np.asarray(rng.normal(0, 1, len(t)), np.float32)
    cut = np.asarray(300 * 25.0**part, np.float32)
    out = swept(noise, cut, 1.5) * part ** float(rng.uniform(0.7, 2.5))
    if rng.random() < 0.4:
        hz = 200 * 2 ** (float(rng.uniform(1, 3)) * part)
        out = out + 0.3 * part * np.sign(np.sin(2 * np.pi * np.cumsum(hz) / SAMPLE_HZ))
    return np.asarray(out, np.float32)


def drum_sounds(rng: np.random.Generator) -> Callable[[int], Sound]:
    """A kit: gives the sound of a General MIDI drum note, drawn when first asked for."""
    made: dict[int, Sound] = {}
    toms = {41: 70, 43: 85, 45: 105, 47: 130, 48: 150, 50: 180, 62: 320, 63: 260, 64: 190}

    def sound(note: int) -> Sound:
        if note not in made:
            made[note] = drawn(note)
        return made[note]

    def drawn(note: int) -> Sound:
        if note in (35, 36):
            return draw_kick(rng)
        if note in (38, 39, 40):
            return draw_snare(rng)
        if note in (42, 44):
            return draw_hat(rng, _log(rng, 0.012, 0.06))
        if note == 46:
            return draw_hat(rng, _log(rng, 0.06, 0.3))
        if note in (49, 52, 55, 57):
            return draw_hat(rng, _log(rng, 0.4, 1.2))
        if note in (51, 53, 59):
            return draw_hat(rng, _log(rng, 0.1, 0.4))
        if note in (54, 69, 70, 82):
            return draw_hat(rng, _log(rng, 0.015, 0.05))
        if note in toms:
            return draw_tom(rng, toms[note])
        return draw_blip(rng)

    return sound
