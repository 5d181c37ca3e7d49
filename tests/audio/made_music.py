"""Music made from numbers, with exact truth: clicks, and drums with bass and chords."""

from dataclasses import dataclass

import numpy as np

RATE_HZ = 22050


def click(rate_hz: int = RATE_HZ, pitch_hz: float = 1000.0) -> np.ndarray:
    """A decaying tone that begins at full level on its first sample."""
    t = np.arange(int(0.03 * rate_hz)) / rate_hz
    return (np.cos(2 * np.pi * pitch_hz * t) * np.exp(-t / 0.006)).astype(np.float32)


def clicks(times_s, duration_s: float, rate_hz: int = RATE_HZ, levels=None) -> np.ndarray:
    """Clicks at the given times, each at the nearest sample."""
    out = np.zeros(int(duration_s * rate_hz), np.float32)
    sound = click(rate_hz)
    for i, time_s in enumerate(times_s):
        at = round(time_s * rate_hz)
        part = sound[: max(0, len(out) - at)]
        out[at : at + len(part)] += part * (1.0 if levels is None else levels[i])
    return 0.8 * out


def kick() -> np.ndarray:
    t = np.arange(int(0.25 * RATE_HZ)) / RATE_HZ
    sweep = 48 + 120 * np.exp(-t * 35)
    return np.sin(2 * np.pi * np.cumsum(sweep) / RATE_HZ) * np.exp(-t / 0.10)


def snare(rng: np.random.Generator) -> np.ndarray:
    t = np.arange(int(0.2 * RATE_HZ)) / RATE_HZ
    body = 0.7 * rng.standard_normal(len(t)) + 0.5 * np.sin(2 * np.pi * 185 * t)
    return 0.7 * body * np.exp(-t / 0.06)


def hat(rng: np.random.Generator) -> np.ndarray:
    t = np.arange(int(0.06 * RATE_HZ)) / RATE_HZ
    return 0.3 * np.diff(rng.standard_normal(len(t) + 1)) * np.exp(-t / 0.018)


def tone(midi: float, length_s: float, decay_s: float) -> np.ndarray:
    t = np.arange(max(64, int(length_s * RATE_HZ))) / RATE_HZ
    hz = 440 * 2 ** ((midi - 69) / 12)
    wave = sum(np.sin(2 * np.pi * hz * k * t) / k for k in (1, 2, 3, 4))
    edge = np.minimum(1, np.minimum(t / 0.004, (t[-1] - t) / 0.01 + 1e-3))
    return 0.25 * wave * edge * np.exp(-t / decay_s)


DRUMS = {  # strokes in a bar, in beats: kick, snare, hat
    "four": ((0, 1, 2, 3), (1, 3), (0.5, 1.5, 2.5, 3.5)),
    "rock": ((0, 2, 2.5), (1, 3), (0, 0.5, 1, 1.5, 2, 2.5, 3, 3.5)),
    "waltz": ((0,), (1, 2), (0, 1, 2)),
    "none": ((), (), ()),
}
CHORDS = ((57, 60, 64), (53, 57, 60), (48, 52, 55), (55, 59, 62))


@dataclass
class Made:
    """Samples and the truth about them."""

    samples: np.ndarray
    beats_s: np.ndarray
    downbeats_s: np.ndarray
    boundaries_s: np.ndarray


@dataclass
class Plan:
    """A song: sections of so many bars and what plays: k s h drums, b bass, c chords."""

    bpm: float
    sections: tuple[tuple[int, str], ...] = (
        (8, "kh"),
        (8, "kshb"),
        (8, "kshbc"),
        (8, "bc"),
        (8, "kshbc"),
    )
    style: str = "rock"
    beats_per_bar: int = 4
    lead_s: float = 0.5
    upbeat: int = 0
    bpm_after: float | None = None
    change_at_section: int = 0
    seed: int = 1


def make(plan: Plan) -> Made:
    """Render a plan. Beat k of the first tempo sounds at lead + k * 60 / bpm seconds."""
    rng = np.random.default_rng(plan.seed)
    meter = plan.beats_per_bar
    bars = sum(count for count, _ in plan.sections)
    gaps = np.full(bars * meter + plan.upbeat, 60 / plan.bpm)
    if plan.bpm_after:
        before = sum(count for count, _ in plan.sections[: plan.change_at_section])
        gaps[plan.upbeat + before * meter :] = 60 / plan.bpm_after
    beat_s = plan.lead_s + np.concatenate([[0.0], np.cumsum(gaps)])
    out = np.zeros(int((beat_s[-1] + 1.0) * RATE_HZ))

    def put(sound: np.ndarray, beat: float, level: float = 1.0) -> None:
        whole = int(beat)
        time_s = beat_s[whole] + (beat - whole) * gaps[min(whole, len(gaps) - 1)]
        at = round(time_s * RATE_HZ)
        part = sound[: max(0, len(out) - at)]
        out[at : at + len(part)] += level * part

    sounds = {"k": kick(), "s": snare(rng), "h": hat(rng)}
    for k in range(plan.upbeat):
        put(tone(76, 0.3, 0.2), k, 0.7)
    bar = 0
    starts = []
    for count, layers in plan.sections:
        starts.append(bar)
        for b in range(bar, bar + count):
            first = plan.upbeat + b * meter
            chord = CHORDS[b % 4]
            for name, strokes in zip("ksh", DRUMS[plan.style], strict=True):
                for stroke in strokes if name in layers else ():
                    put(sounds[name], first + stroke)
            if "b" in layers:
                for beat in range(meter):
                    put(
                        tone(chord[0] - 24, 50 / plan.bpm, 0.4),
                        first + beat,
                        1.2 - 0.4 * (beat > 0),
                    )
            if "c" in layers:
                for pitch in chord:
                    put(tone(pitch, 60 / plan.bpm * meter * 0.95, 1.5), first, 0.5)
        bar += count
    downs = plan.upbeat + meter * np.arange(bars)
    out *= 0.7 / max(1e-9, np.abs(out).max())
    return Made(
        out.astype(np.float32),
        beat_s[:-1],
        beat_s[downs],
        beat_s[plan.upbeat + meter * np.array(starts[1:], int)],
    )
