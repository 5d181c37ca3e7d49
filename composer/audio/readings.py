"""Readings of a pulse: which pulses are beats, how many beats make a bar, where bars begin.

Every reading (beat length in pulses, first beat, metre, first downbeat) is described by numbers
that do not depend on the track's length, so that fitted weights can rank all of them at once.
That one decision covers double and half tempo, the off-beat, the metre and the downbeat.
"""

from dataclasses import dataclass

import numpy as np
import scipy.ndimage as ndi
from numpy.typing import NDArray

from composer.audio.curves import Curves
from composer.audio.ear_evidence import (
    BAR_NAMES,
    LEVEL_NAMES,
    BeatsHeard,
    bars_heard,
    beats_heard,
)
from composer.audio.features import BANDS
from composer.audio.pulse import Pulse

Doubles = NDArray[np.float64]

SLOWEST_BEAT_BPM, FASTEST_BEAT_BPM = 52.0, 216.0
FASTEST_ODD_BPM = 330.0
"""Bars of five and seven are also counted in eighths, up to this tempo."""
PULSES_PER_BEAT = (0.5, 2 / 3, 0.75, 1.0, 4 / 3, 1.5, 2.0, 3.0, 4.0, 6.0)
FREE_BEATS_PER_BEAT = (1 / 3, 0.5, 1.0, 2.0, 3.0)
"""The same where the pulse follows the ear's beats, which are beats already."""
METERS = (2, 3, 4, 5, 7)
ODD_METERS = (5, 7)
SLOTS = (0.0, 1 / 4, 1 / 3, 1 / 2, 2 / 3, 3 / 4)
LAGS = (1, 2, 3, 4, 5, 6, 7, 8, 12, 16)
PERIODS = (2, 3, 4, 6, 8)
START_S = 0.02
"""How near the file's first sample a beat counts as begun with it."""
SOUNDS = ("harmony", "bass", "timbre")
"""What is heard apart from strokes, and changes where bars begin."""
CONTEXT_BARS = (0.5, 1, 2, 4)
PATTERN_BEATS = 4
"""Of how many beats of the bar, from the first, the struck pattern is looked at."""


@dataclass(frozen=True)
class BeatTrain:
    """One choice of beats, with everything about it that does not depend on the metre."""

    pulse: Pulse
    pulses_per_beat: float
    first_pulse: float
    times_s: Doubles
    bpm: float
    level: Doubles
    """Numbers that describe the level, see :func:`level_names`."""
    accents: Doubles
    """(len(ACCENTS), beats): how strongly each beat is struck, evened out and scaled."""
    slots: Doubles
    """(bands, beats, len(SLOTS)) onset strengths within each beat."""
    likeness: Doubles
    """See :func:`likeness`."""
    harmony_likeness: Doubles
    """The same of what sounds during the beats, see :func:`sound_likeness`."""
    heard: BeatsHeard


@dataclass(frozen=True)
class Reading:
    train: BeatTrain
    beats_per_bar: int
    first_downbeat: int
    numbers: Doubles
    """Level and bar numbers together, see :func:`number_names`."""


ACCENTS = (*BANDS, "lowxmid", "long", "lasting", "deep")


def beat_trains(pulse: Pulse, curves: Curves) -> list[BeatTrain]:
    """All trains of beats that the pulse allows, within the tempo range."""
    pulse_s = float(np.median(np.diff(pulse.times_s)))
    trains = []
    for ratio in PULSES_PER_BEAT if pulse.exact else FREE_BEATS_PER_BEAT:
        bpm = 60 / (pulse_s * ratio)
        if not SLOWEST_BEAT_BPM <= bpm <= FASTEST_ODD_BPM:
            continue
        step = 1.0 if not pulse.exact else 0.5 if ratio >= 1 else ratio / 2
        for first in np.arange(0.0, ratio - 1e-6, step):
            index = np.arange(first, len(pulse.times_s) - 1 + 1e-6, ratio)
            if len(index) >= 8:
                times_s = pulse.time_at(index)
                trains.append(_train(curves, pulse, ratio, float(first), times_s, bpm))
    return trains


def _train(
    curves: Curves, pulse: Pulse, ratio: float, first: float, times_s: Doubles, bpm: float
) -> BeatTrain:
    gaps = np.diff(times_s, append=2 * times_s[-1] - times_s[-2])
    at = times_s[:, None] + gaps[:, None] * np.array(SLOTS)
    slots = curves.onsets_at(at)
    strikes = slots[:, :, 0]
    low, mid = strikes[BANDS.index("low")], strikes[BANDS.index("mid")]
    full = slots[BANDS.index("full")]
    long = full[:, 0] - 0.5 * (full[:, 3] + full[:, 1:].max(axis=1))
    others = (np.sqrt(low * mid), long, note_lengths(curves, times_s, gaps), depth(curves, times_s))
    accents = np.stack([evened(x) for x in (*strikes, *others)])
    alike, sounds_alike = likeness(slots), sound_likeness(curves, times_s, gaps)
    level = _level_numbers(curves, times_s, gaps, slots, bpm)
    heard = beats_heard(curves.ear, times_s, gaps)
    kind = [
        float(pulse.exact),
        float(np.abs(np.diff(np.log(gaps))).mean()),
        float(bpm > FASTEST_BEAT_BPM),
    ]
    level = np.concatenate([level, alike, sounds_alike, heard.numbers, kind])
    return BeatTrain(
        pulse, ratio, first, times_s, bpm, level, accents, slots, alike, sounds_alike, heard
    )


def note_lengths(curves: Curves, times_s: Doubles, gaps: Doubles) -> Doubles:
    """How long it is, in beats and up to 4, from a note on the beat to the next; 0 without one."""
    notes = curves.note_times_s
    if not len(notes):
        return np.zeros(len(times_s))
    at = np.searchsorted(notes, times_s - 0.15 * gaps)
    beyond_s = notes[-1] + 4 * gaps[-1]
    here = np.append(notes, beyond_s)[at]
    after = np.append(notes, [beyond_s, beyond_s])[at + 1]
    length = np.clip((after - here) / gaps, 0, 4)
    return np.asarray(np.where(here <= times_s + 0.15 * gaps, length, 0.0))


def depth(curves: Curves, times_s: Doubles) -> Doubles:
    """How far, in semitones, what begins with each beat lies below what begins with its like."""
    begun = curves.means("pitch", times_s - 0.04, times_s + 0.08)
    heard = begun[:, 1] > 0.1 * float(begun[:, 1].mean()) + 1e-6
    pitch = begun[:, 0] / (begun[:, 1] + 1e-6)
    usual = ndi.uniform_filter1d(np.where(heard, pitch, 0.0), 17) / (
        ndi.uniform_filter1d(heard.astype(float), 17) + 1e-6
    )
    return np.asarray(np.where(heard, usual - pitch, 0.0))


def _level_numbers(
    curves: Curves, times_s: Doubles, gaps: Doubles, slots: Doubles, bpm: float
) -> Doubles:
    mean = slots.mean(axis=1)  # (bands, slots)
    on = mean[:, 0] + 0.05
    octave = np.log2(bpm / 110)
    strength = np.log((mean + 0.05) / (mean.mean(axis=1, keepdims=True) + 0.05))
    half = np.log((mean[:, 3] + 0.05) / on)
    quarters = np.log((0.5 * (mean[:, 1] + mean[:, 5]) + 0.05) / on)
    thirds = np.log((0.5 * (mean[:, 2] + mean[:, 4]) + 0.05) / on)
    harmony = [_turnover(curves, times_s, gaps, name) for name in SOUNDS]
    beats = len(times_s)
    inside = [
        np.searchsorted(t, times_s[[0, -1]]) for t in (curves.note_times_s, curves.low_note_times_s)
    ]
    density = [float(np.log2((b - a + 1) / beats)) for a, b in inside]
    edges = [nearness(place, 1) for place in edge_places(curves, times_s)]
    edges.append(nearness(start_place(times_s), 1, START_S * bpm / 60))
    return np.concatenate(
        [
            [octave, octave**2, max(0.0, octave - 0.45) ** 2, max(0.0, -octave - 0.55) ** 2],
            density,
            edges,
            strength[:, 0],
            half,
            quarters,
            thirds,
            *harmony,
            recurrence(slots[:, :, 0]).ravel(),
        ]
    )


def edge_places(curves: Curves, times_s: Doubles) -> list[float]:
    """Beat positions of the first note, the first low one and the last note."""
    notes = [curves.note_times_s[:1], curves.low_note_times_s[:1], curves.note_times_s[-1:]]
    return [place_of(float(note[0]) if len(note) else float(times_s[0]), times_s) for note in notes]


def start_place(times_s: Doubles) -> float:
    """Beat position of the file's first sample: what a program writes begins with a bar."""
    return place_of(0.0, times_s)


def place_of(at_s: float, times_s: Doubles) -> float:
    """A time in beats, counted on in the usual beat before the first and after the last."""
    gap = float(np.median(np.diff(times_s)))
    if at_s < times_s[0]:
        return float((at_s - times_s[0]) / gap)
    if at_s > times_s[-1]:
        return float(len(times_s) - 1 + (at_s - times_s[-1]) / gap)
    return float(np.interp(at_s, times_s, np.arange(len(times_s))))


def nearness(place: float, period: float, width: float = 0.15) -> float:
    """1 on a multiple of the period, falling to 0 within about twice the width, in beats."""
    off = min(place % period, period - place % period)
    return float(np.exp(-np.square(off / width)))


def recurrence(strikes: Doubles) -> Doubles:
    """(bands, len(PERIODS)): how much of the beats' strength comes and goes every PERIODS beats.

    0 for even strokes, 1 where only one beat in the period is struck.
    """
    beat = np.arange(strikes.shape[1])
    turn = np.exp(-2j * np.pi * beat[:, None] / np.array(PERIODS))
    return np.asarray(np.abs(strikes @ turn) / (strikes.sum(axis=1, keepdims=True) + 1e-6))


def _turnover(curves: Curves, times_s: Doubles, gaps: Doubles, name: str) -> list[float]:
    """How much changes over a beat, and how much more at the beat than half a beat later."""
    change = change_at(curves, name, times_s, gaps)
    between = change_at(curves, name, times_s + 0.5 * gaps, gaps)
    size = float(change.mean()) + 0.02
    return [float(np.log(size)), float(np.log(size / (float(between.mean()) + 0.02)))]


def change_at(curves: Curves, name: str, times_s: Doubles, reach_s: Doubles) -> Doubles:
    """Cosine distance, 0..2, between what sounds ``reach_s`` before and after each time."""
    before = curves.means(name, times_s - reach_s, times_s)
    after = curves.means(name, times_s, times_s + reach_s)
    norms = np.linalg.norm(before, axis=1) * np.linalg.norm(after, axis=1)
    return np.asarray(1 - (before * after).sum(axis=1) / (norms + 1e-6))


def likeness(slots: Doubles) -> Doubles:
    """How like each other beats LAGS apart are struck: correlation of their patterns, -1..1."""
    pattern = np.sqrt(slots[:, :, [0, 1, 3, 5]])
    pattern = pattern - pattern.mean(axis=1, keepdims=True)
    flat = pattern.transpose(1, 0, 2).reshape(pattern.shape[1], -1)
    power = float(np.square(flat).sum(axis=1).mean()) + 1e-6
    out = np.zeros(len(LAGS))
    for i, lag in enumerate(LAGS):
        if len(flat) > lag + 4:
            out[i] = float((flat[lag:] * flat[:-lag]).sum(axis=1).mean()) / power
    return out


def sound_likeness(curves: Curves, times_s: Doubles, gaps: Doubles) -> Doubles:
    """How like each other the harmonies of beats LAGS apart are: mean cosine, -1..1."""
    chords = np.hstack(
        [curves.means(name, times_s, times_s + gaps) for name in ("harmony", "bass")]
    )
    unit = chords / (np.linalg.norm(chords, axis=1, keepdims=True) + 1e-6)
    out = np.zeros(len(LAGS))
    for i, lag in enumerate(LAGS):
        if len(unit) > lag + 4:
            out[i] = float((unit[lag:] * unit[:-lag]).sum(axis=1).mean())
    return out


def bar_pattern(train: BeatTrain, meter: int) -> Doubles:
    """(bands, meter, 4): how strongly the quarters of each beat of the bar are struck.

    Log ratio to the band's mean over the track, for bars that begin with the first beat.
    """
    slots = train.slots[:, :, [0, 1, 3, 5]]
    whole = slots.mean(axis=(1, 2), keepdims=True)
    beats = np.stack([slots[:, k::meter].mean(axis=1) for k in range(meter)], axis=1)
    return np.asarray(np.log((beats + 0.05) / (whole + 0.05)))


def readings_of(train: BeatTrain, curves: Curves) -> list[Reading]:
    """Every metre and first downbeat of one train of beats."""
    readings = []
    tables = [dict(zip(LAGS, x, strict=True)) for x in (train.likeness, train.harmony_likeness)]
    for meter in METERS:
        if len(train.times_s) < 3 * meter:
            continue
        if train.bpm > FASTEST_BEAT_BPM and meter not in ODD_METERS:
            continue
        heard = bars_heard(train.heard, meter)
        evidence = bar_evidence(train, curves, meter)
        fit = [number for like in tables for number in _repetition(like, meter)]
        pattern = bar_pattern(train, meter)
        kind = [float(meter == m) for m in METERS]
        octave = train.level[0]
        places, start = edge_places(curves, train.times_s), start_place(train.times_s)
        tempo_of_kind = [octave * (meter == 3), octave * (meter == 2)]
        for first in range(meter):
            down = evidence[:, first::meter].mean(axis=1)
            half = (
                evidence[:, (first + meter // 2) % meter :: meter].mean(axis=1)
                if meter % 2 == 0
                else np.zeros(len(evidence))
            )
            edges = [nearness(place - first, meter) for place in places]
            edges.append(nearness(places[0] - first + 1, meter))
            edges.append(nearness(start - first, meter, START_S * train.bpm / 60))
            turned = np.zeros((len(BANDS), PATTERN_BEATS, 4))
            shown = min(meter, PATTERN_BEATS)
            turned[:, :shown] = np.roll(pattern, -first, axis=1)[:, :shown]
            numbers = np.concatenate(
                [
                    train.level,
                    down,
                    half * (meter == 4),
                    fit,
                    kind,
                    edges,
                    tempo_of_kind,
                    turned.ravel(),
                    heard[first],
                ]
            )
            readings.append(Reading(train, meter, first, numbers))
    return readings


def _repetition(like: dict[int, float], meter: int) -> list[float]:
    """How much more alike beats are a bar or two apart than at lengths of other bars."""
    repeats = [like.get(meter, 0.0), like.get(2 * meter, like.get(meter, 0.0))]
    others = [like[lag] for lag in (3, 4, 5, 7) if lag % meter and meter % lag]
    return [*repeats, repeats[0] - max(others), float(np.mean(repeats)) - float(np.mean(others))]


def bar_evidence(train: BeatTrain, curves: Curves, meter: int) -> Doubles:
    """(numbers, beats): what marks a beat as the first of a bar of ``meter`` beats."""
    times = train.times_s
    gaps = np.diff(times, append=2 * times[-1] - times[-2])
    local = ndi.uniform_filter1d(gaps, 9, mode="nearest")
    rows = list(train.accents)
    for name in SOUNDS:
        rows.append(evened(change_at(curves, name, times, local)))
        for bars in CONTEXT_BARS:
            rows.append(evened(change_at(curves, name, times, local * meter * bars)))
    for bars in (1, 4):
        reach = local * meter * bars
        level = curves.means("timbre", times, times + reach).mean(axis=1) - curves.means(
            "timbre", times - reach, times
        ).mean(axis=1)
        rows.append(evened(np.maximum(0, level)))
    return np.stack(rows)


def level_names() -> list[str]:
    kinds = ("on", "half", "quarters", "thirds")
    return [
        *("octave", "octave2", "fast", "slow", "notes", "deep notes"),
        *("first on beat", "first deep on beat", "last on beat", "start on beat"),
        *(f"{kind} {band}" for kind in kinds for band in BANDS),
        *(f"{kind} {name}" for name in SOUNDS for kind in ("turn", "off")),
        *(f"every {period} {band}" for band in BANDS for period in PERIODS),
        *(f"{kind} {lag}" for kind in ("like", "sounds like") for lag in LAGS),
        *LEVEL_NAMES,
        *("exact", "unrest", "eighths"),
    ]


def bar_names() -> list[str]:
    changes = [f"{name} {bars}" for name in SOUNDS for bars in ("beat", *CONTEXT_BARS)]
    return [*(f"accent {name}" for name in ACCENTS), *changes, "rise 1", "rise 4"]


def number_names() -> list[str]:
    """What each of the numbers of a reading is."""
    bars = bar_names()
    fit = ("repeat", "repeat twice", "repeat over others", "repeats over others")
    return [
        *level_names(),
        *(f"{place} {n}" for place in ("down", "half") for n in bars),
        *(f"{kind} {n}" for kind in ("strokes", "sounds") for n in fit),
        *(f"metre {m}" for m in METERS),
        *("first on down", "first deep on down", "last on down", "first on upbeat"),
        "start on down",
        *("fast three", "fast two"),
        *(
            f"beat {beat} quarter {part} {band}"
            for band in BANDS
            for beat in range(PATTERN_BEATS)
            for part in range(4)
        ),
        *BAR_NAMES,
    ]


def number_sources() -> NDArray[np.intp]:
    """The band or sound that each number of a reading is measured in, as a count; 0 for none."""
    sources = ("", *BANDS, *SOUNDS)
    named = [[w for w in name.split() if w in sources] for name in number_names()]
    return np.array([sources.index(words[0]) if words else 0 for words in named])


def evened(values: Doubles) -> Doubles:
    """Values against their surroundings (33 beats), in standard deviations, within +-3."""
    offset = values - ndi.uniform_filter1d(values, 33, mode="nearest")
    return np.asarray(np.clip(offset / (offset.std() + 1e-9), -3, 3))
