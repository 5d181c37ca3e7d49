"""Rhythms of the parts of invented dance music, as loops of strokes in beats."""

from dataclasses import dataclass

import numpy as np

Stroke = tuple[float, float, int, float]
"""Where it begins, how long it sounds, a step of the scale or a lift, velocity."""

FIXED_BASS = {
    "offbeat": (0.5,),
    "rolling": (0.25, 0.5, 0.75),
    "sixteenths": (0.0, 0.25, 0.5, 0.75),
    "eighths": (0.0, 0.5),
    "octaves": (0.0, 0.5),
    "beats": (0.0,),
    "walk": (0.0,),
}
FOUR_BEAT_BASS = {
    "tresillo": ((0.0, 0.75, 1.5, 2.0, 2.75, 3.5), (0.0, 0.75, 1.5), (0.0, 1.5, 3.0)),
    "house": ((0.0, 0.75, 1.5, 2.75, 3.5), (0.5, 1.75, 2.5, 3.75), (0.75, 1.5, 2.5, 3.25)),
}


@dataclass(frozen=True)
class Loop:
    """Strokes that come again every ``beats`` beats."""

    beats: float
    strokes: tuple[Stroke, ...]


def pattern_steps(rng: np.random.Generator, pattern: str) -> list[tuple[int, float]]:
    """(step, weight) of a drum pattern; a weight below 0 marks a chance stroke."""
    optional = rng.random() < 0.5
    weights = {"x": 1.0, "-": 0.45, "?": -0.7, "o": 0.9 if optional else 0.0}
    return [(i, weights[c]) for i, c in enumerate(pattern) if weights.get(c)]


def varied(rng: np.random.Generator, pattern: str, part: str) -> str:
    """The pattern of a drum part as one maker has it: a few strokes more, or fewer.

    The first kick and the claps stay, and an even kick only gets strokes; a new clap is weak.
    """
    steps = list(pattern)
    free = part not in ("kick", "clap")
    even = part == "kick" and all(c == "x" for c in pattern[::4])
    for i, stroke in enumerate(pattern):
        chance = rng.random()
        if stroke == "." and chance < (0.03 if i % 2 else 0.08):
            steps[i] = "-" if part == "clap" else "x"
        elif stroke != "." and chance < 0.12 and (free or (part == "kick" and i and not even)):
            steps[i] = "."
    return "".join(steps)


def syncopated(
    rng: np.random.Generator, beats: int, unit: float, density: float, on_one: float
) -> list[float]:
    """Starts of a riff: accents are as likely off the beat as on it."""
    places = np.arange(0, beats - 1e-6, unit)
    chance = density * rng.uniform(0.5, 1.4, len(places))
    chance[0] = on_one
    starts = [float(p) for p, c in zip(places, chance, strict=True) if rng.random() < c]
    return starts or [0.0]


def bass_loop(
    rng: np.random.Generator, kind: str, meter: int, parts: int, kicks: list[float]
) -> Loop:
    """One bar or more of a bass: the step is a lift in semitones over the chord's root."""
    unit = 1 / parts
    if kind == "long":
        return Loop(meter, ((0.0, meter * 0.96, 0, 92),))
    if kind in FIXED_BASS and not (parts == 3 and kind in ("rolling", "sixteenths")):
        lifts = {"octaves": (0, 12), "walk": (0, 4, 7, 9)}.get(kind, (0,))
        if kind == "sixteenths":
            lifts = ((0,), (0, 0, 12, 0), (0, 12, 0, 12), (0, 0, 0, 12))[int(rng.integers(4))]
        starts = [b + s for b in range(meter) for s in FIXED_BASS[kind] if parts == 4 or s in (0,)]
        starts = starts or [float(b) for b in range(meter)]
        span = float(rng.uniform(0.4, 0.98)) * (starts[1] - starts[0] if len(starts) > 1 else 1.0)
        loud = float(rng.choice([94, 94, 84, 72]))
        return Loop(
            meter,
            tuple(
                (s, span, lifts[i % len(lifts)], loud if s % 1 == 0 else 88)
                for i, s in enumerate(starts)
            ),
        )
    beats = meter * int(rng.choice([1, 1, 2]))
    if kind == "follow" and kicks:
        starts = sorted({k for k in kicks if k < beats})
    elif kind in FOUR_BEAT_BASS and meter == 4 and parts == 4:
        choice = FOUR_BEAT_BASS[kind]
        starts, beats = list(choice[int(rng.integers(len(choice)))]), 4
    elif kind == "wobble":
        rates = rng.choice([0.25, 1 / 3, 0.5, 1.0], size=beats)
        starts = [b + k * r for b, r in enumerate(rates) for k in range(round(1 / r))]
    else:
        density = 0.75 if kind == "acid" else float(rng.uniform(0.25, 0.6))
        starts = syncopated(rng, beats, unit, density, float(rng.choice([0.95, 0.7, 0.3])))
    lifts = rng.choice([0, 0, 0, 0, 7, 12, -12, 10] if kind == "acid" else [0, 0, 0, 0, 12, 7])
    wide = kind in ("acid", "riff", "house")
    many = rng.choice([0, 0, 0, 12, 7, 10, 3, -5], size=len(starts)) if wide else lifts
    lift = np.broadcast_to(many, len(starts))
    gate = float(rng.uniform(0.4, 1.0))
    ends = [*starts[1:], float(beats)]
    return Loop(
        beats,
        tuple(
            (s, max(0.12, min(e - s, 2.0) * gate), int(up), 92 if s % 1 == 0 else 86)
            for s, e, up in zip(starts, ends, lift, strict=True)
        ),
    )


def chord_loop(rng: np.random.Generator, kind: str, meter: int, parts: int) -> Loop:
    """One bar or more of chord strokes; the step is not used."""
    unit, beats = 1 / parts, meter * int(rng.choice([1, 1, 2]))
    half = unit if parts == 3 else 0.5
    starts: list[float]
    if kind in ("long", "arpeggiated"):
        starts, beats = [0.0], meter
    elif kind == "offbeat":
        starts = [b + (2 * unit) for b in range(beats)]
    elif kind == "quarters":
        starts = [float(b) for b in range(beats)]
    elif kind == "afterbeats":
        starts = [float(b) for b in range(beats) if b % meter]
    elif kind == "dotted":
        starts = [float(s) for s in np.arange(0, beats - 1e-6, 3 * unit)]
    elif kind == "pushed":
        early = [0.0, *(m * meter - half for m in range(1, beats // meter + 1))]
        starts = [s for s in early if s >= 0 and (s or rng.random() < 0.5)] or [0.0]
        if rng.random() < 0.5:
            starts = sorted({*starts, meter / 2 - half})
    elif kind == "tresillo":
        starts = [float(s) for s in np.arange(0, beats - 1e-6, 3 * unit) if s % 2 <= 1.5 or s > 3]
    else:
        density = float(rng.uniform(0.2, 0.5))
        starts = syncopated(rng, beats, unit, density, float(rng.choice([0.9, 0.5, 0.2])))
    gate = float(rng.choice([0.25, 0.5, 0.95]))
    ends = [*starts[1:], float(beats)]
    loud = rng.uniform(74, 96, len(starts)) if rng.random() < 0.4 else np.full(len(starts), 86)
    return Loop(
        beats,
        tuple(
            (s, max(0.1, (e - s) * (0.97 if kind in ("long", "arpeggiated") else gate)), 0, v)
            for s, e, v in zip(starts, ends, loud, strict=True)
        ),
    )


def arpeggio_loop(rng: np.random.Generator, parts: int) -> Loop:
    """Chord tones in a cycle that need not agree with the beat (3 against 4, 5 against 8)."""
    unit = 1 / 3 if parts == 3 else float(rng.choice([0.25, 0.25, 0.25, 0.5]))
    cycle = int(rng.choice([3, 4, 4, 6, 8, 8, 16, 5]))
    tones = rng.integers(0, 7, cycle)
    if rng.random() < 0.4:
        tones = np.arange(cycle) % int(rng.choice([3, 4, 6]))
    rest = rng.random(cycle) < float(rng.choice([0.0, 0.0, 0.2, 0.4]))
    rest[0] = rest[0] and cycle > 3
    if rest.all():
        rest[:] = False
    length = cycle * unit
    gate = unit * float(rng.choice([0.4, 0.9, 1.8]))
    loud = np.where(np.arange(cycle) % max(1, cycle // 2) == 0, 92, rng.uniform(66, 90))
    return Loop(
        length,
        tuple(
            (i * unit, gate, int(t), float(v))
            for i, (t, r, v) in enumerate(zip(tones, rest, loud, strict=True))
            if not r
        ),
    )


def tune_loop(rng: np.random.Generator, meter: int, parts: int, bpm: float) -> Loop:
    """A short tune of one, two or four bars; it may well begin off the bar, or before it."""
    bars = int(rng.choice([1, 2, 2, 4]))
    total = bars * meter
    unit = 1 / 3 if parts == 3 else 0.5 if bpm > 150 or rng.random() < 0.35 else 0.25
    dense = float(rng.uniform(0.2, 0.6))
    cell_beats = int(rng.choice([meter, meter, 2 * meter]))
    cell = syncopated(rng, min(cell_beats, total), unit, dense, float(rng.choice([0.9, 0.5, 0.1])))
    if rng.random() < 0.25:
        cell = [s + float(rng.choice([0.5, 1.0, 2 * unit])) for s in cell]
    starts = [
        s + turn
        for turn in range(0, total, min(cell_beats, total))
        for s in cell
        if s + turn < total
    ]
    if bars > 1 and rng.random() < 0.6:
        last = total - meter
        starts = [s for s in starts if s < last]
        starts += [last + s for s in syncopated(rng, meter, unit, dense * 0.8, 0.7)]
    starts = starts or [0.0]
    step = int(rng.integers(0, 7))
    strokes: list[Stroke] = []
    hold = float(rng.choice([0.5, 0.9, 1.0]))
    for start, end in zip(starts, [*starts[1:], float(total)], strict=True):
        step = int(np.clip(step + rng.choice([-4, -2, -1, -1, 0, 1, 1, 2, 3]), -3, 11))
        length = max(0.12, min(end - start, 3.0) * hold)
        strokes.append((start, length, step, float(rng.uniform(80, 98))))
    early = unit * int(rng.integers(1, 1 + round(1 / unit))) if rng.random() < 0.2 else 0.0
    return Loop(total, tuple((at - early, long, tone, loud) for at, long, tone, loud in strokes))
