"""Listening: samples in, beats, bars, phrases and accents out."""

import dataclasses
import itertools
from collections.abc import Callable
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from composer.audio.accents import find_accents
from composer.audio.analysis import ENVELOPE_HZ, Alternative, Analysis, Confidence
from composer.audio.bar_walk import downbeats_of
from composer.audio.bars import meter_map_of, meter_of, tempo_map_of
from composer.audio.choice import Choice, choose_reading
from composer.audio.curves import Curves, curves_of
from composer.audio.features import FRAME_HZ, Features, features_of
from composer.audio.free_beats import free_pulses
from composer.audio.naming import phrase_names
from composer.audio.phrases import measure_bars, phrase_starts
from composer.audio.pulse import Pulse, find_pulse, peaks_near_times, pulse_curve
from composer.errors import ComposerError
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.tempo_map import steady_tempo_map

Doubles = NDArray[np.float64]

PLAIN_BPM = 120.0
"""Grid offered where no beat is heard: the middle of the preferred tempi (Moelants 2002)."""


class ListeningStopped(ComposerError):
    """The user stopped the analysis."""


def analyse(
    samples: NDArray[np.float32],
    sample_rate_hz: int,
    *,
    progress: Callable[[float], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Analysis:
    """Listen to a track.

    Parameters
    ----------
    samples : np.ndarray, shape=(n,) or (n, channels)
        Full scale is 1.
    progress
        Told the share done, 0..1, now and then.
    cancelled
        Asked now and then whether to stop.

    Raises
    ------
    ListeningStopped
        If ``cancelled`` said so.
    ValueError
        If the samples have another shape, none are given or the rate is not positive.
    """
    if samples.ndim not in (1, 2) or not len(samples):
        raise ValueError(f"samples must be (n,) or (n, channels), got shape {samples.shape}")
    if sample_rate_hz <= 0:
        raise ValueError(f"the sample rate must be positive, got {sample_rate_hz}")

    def step(share: float) -> None:
        if cancelled is not None and cancelled():
            raise ListeningStopped("listening was stopped")
        if progress is not None:
            progress(share)

    features = features_of(samples, sample_rate_hz, step=lambda share: step(0.7 * share))
    curves = curves_of(features)
    step(0.8)
    choice = choose_reading(pulses_of(features, curves), curves)
    step(0.9)
    if choice is None:
        return without_beat(features)
    analysis = with_beat(features, curves, choice)
    step(1.0)
    return analysis


def pulses_of(features: Features, curves: Curves) -> list[Pulse]:
    """The pulses that beats are looked for in: the strokes', and the ear's unless that is even."""
    pulse = find_pulse(features)
    if pulse is None or pulse.steady:
        return [pulse] if pulse is not None else []
    return [pulse, *free_pulses(features, curves.heard)]


def with_beat(features: Features, curves: Curves, choice: Choice) -> Analysis:
    reading = choice.reading
    train = reading.train
    pulse = train.pulse
    heard = np.flatnonzero(
        (train.times_s >= features.first_sound_s - 0.05)
        & (train.times_s <= features.last_sound_s + 0.02)
    )
    if len(heard) < 4:
        return without_beat(features)
    per_bar = reading.beats_per_bar
    downs = downbeats_of(reading)
    downs = downs[(downs >= heard[0]) & (downs <= heard[-1])]
    if not len(downs):
        return without_beat(features)
    zero = int(downs[0])
    meter = meter_of(reading)
    tempo_map = tempo_map_of(train, pulse, zero)
    end_beat = Fraction(int(np.ceil(tempo_map.beat_at(features.last_sound_s) - 0.1)))
    ends_s = np.append(
        train.times_s[downs[1:]], tempo_map.seconds_of(float(downs[-1] - zero + per_bar))
    )
    bars = measure_bars(curves, train.times_s[downs], ends_s)
    starts, clear = phrase_starts(bars)
    energy = _energies(features, train.times_s[downs], ends_s, starts)
    phrases = tuple(
        Phrase(Fraction(int(downs[bar]) - zero), name, level)
        for bar, name, level in zip(
            starts, phrase_names(bars.alike, starts, energy), energy, strict=True
        )
    )
    grid = MusicGrid(
        tempo_map,
        max(end_beat, Fraction(1)),
        meter_map_of((downs - zero).tolist(), meter),
        phrases,
        find_accents(features),
    )
    listed = (heard, downs)
    if pulse.steady:
        listed = _whole_bars(heard, downs, per_bar, len(train.times_s))
    # The first may be placed just before the file.
    beats_s, downbeats_s = (np.maximum(0.0, train.times_s[which]) for which in listed)
    turns = starts if heard[0] < zero else starts[1:]
    return Analysis(
        grid=grid,
        beats_s=beats_s,
        downbeats_s=downbeats_s,
        boundaries_s=train.times_s[downs[turns]],
        bpm=_tempo_bpm(train.times_s, pulse),
        steady=pulse.steady,
        residual_ms=_residual_ms(features, beats_s),
        confidence=Confidence(
            pulse.trust * choice.beat_belief,
            pulse.trust * choice.bar_belief,
            min(pulse.trust * choice.bar_belief, clear),
        ),
        alternatives=tuple(
            dataclasses.replace(other, score=pulse.trust * other.score)
            for other in choice.alternatives
        ),
        beat_confidence=_beat_confidence(features, beats_s),
        loudness_db=_for_drawing(features.loudness_db),
        onset_strength=_for_drawing(features.onsets["full"]),
        duration_s=features.duration_s,
    )


def without_beat(features: Features) -> Analysis:
    """An answer for what has no beat to find: a plain grid, and no belief in it."""
    start_s = features.first_sound_s
    tempo_map = steady_tempo_map(PLAIN_BPM, start_s)
    end_beat = max(Fraction(1), Fraction(int(tempo_map.beat_at(features.duration_s))))
    silent = not features.last_sound_s
    note = "the track is silent" if silent else "no beat was heard; the grid is only a start"
    empty = np.zeros(0)
    return Analysis(
        grid=MusicGrid(tempo_map, end_beat),
        beats_s=empty,
        downbeats_s=empty,
        boundaries_s=empty,
        bpm=PLAIN_BPM,
        steady=False,
        residual_ms=0.0,
        confidence=Confidence(0.0, 0.0, 0.0),
        alternatives=(
            Alternative(2 * PLAIN_BPM, "double", 0.0),
            Alternative(PLAIN_BPM / 2, "half", 0.0),
        ),
        beat_confidence=np.zeros(0, np.float32),
        loudness_db=_for_drawing(features.loudness_db),
        onset_strength=_for_drawing(features.onsets["full"]),
        duration_s=features.duration_s,
        notes=(note,),
    )


def _whole_bars(
    heard: NDArray[np.intp], downs: NDArray[np.intp], per_bar: int, count: int
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Beats and downbeats of all bars that sound, with the beats before the first and after the
    last sound: where the tempo is steady they are as sure as any other.

    ``heard`` are the beats that sound, of ``count`` beats that the track has time for.
    """
    first, after = int(downs[0]), int(downs[-1]) + per_bar
    if heard[0] < first:
        first -= per_bar
        downs = np.append(first, downs) if first >= 0 else downs
    return np.arange(max(0, first), min(max(after, heard[-1] + 1), count)), downs


def _tempo_bpm(times_s: Doubles, pulse: Pulse) -> float:
    gaps = np.diff(times_s)
    if pulse.steady:
        return float(60 * len(gaps) / (times_s[-1] - times_s[0]))
    return float(60 / np.median(gaps))


def _residual_ms(features: Features, beats_s: Doubles) -> float:
    """Median distance of the onsets near beats from where they usually lie."""
    offsets_s = peaks_near_times(pulse_curve(features), beats_s, reach_s=0.050)
    if not len(offsets_s):
        return 0.0
    return float(1000 * np.median(np.abs(offsets_s - np.median(offsets_s))))


def _beat_confidence(features: Features, beats_s: Doubles) -> NDArray[np.float32]:
    """How much onset strength lies on each beat against between beats, over 8 beats, 0..1."""
    curve = pulse_curve(features)
    frames = np.arange(len(curve))
    on = np.interp(beats_s * FRAME_HZ, frames, curve)
    window = np.ones(9) / 9
    mean_on = np.convolve(np.pad(on, 4, mode="edge"), window, mode="valid")
    level = np.interp(beats_s * FRAME_HZ, frames, np.convolve(curve, np.ones(401) / 401, "same"))
    return np.clip(1 - level / (mean_on + 1e-6), 0, 1).astype(np.float32)


def _energies(
    features: Features, starts_s: Doubles, ends_s: Doubles, phrase_bars: list[int]
) -> list[float]:
    """Energy of each phrase, 0..1 against the track: loudness and onset density together."""
    power = np.power(10.0, features.loudness_db / 10)
    busy = features.mel.mean(axis=1)
    edges = [*phrase_bars, len(starts_s)]
    values = []
    for first, after in itertools.pairwise(edges):
        a = int(max(0.0, starts_s[first]) * FRAME_HZ)
        b = max(a + 1, int(ends_s[after - 1] * FRAME_HZ))
        values.append((10 * np.log10(float(power[a:b].mean()) + 1e-9), float(busy[a:b].mean())))
    table = np.array(values)
    low, high = table.min(axis=0), table.max(axis=0)
    spread = np.maximum(high - low, [6.0, 0.3])
    return [float(v) for v in np.clip(1 - ((high - table) / spread).mean(axis=1), 0, 1)]


def _for_drawing(curve: NDArray[np.float32]) -> NDArray[np.float32]:
    """A frame curve at ENVELOPE_HZ."""
    count = int(len(curve) / FRAME_HZ * ENVELOPE_HZ)
    at = np.arange(count) * (FRAME_HZ / ENVELOPE_HZ)
    return np.asarray(np.interp(at, np.arange(len(curve)), curve), np.float32)
