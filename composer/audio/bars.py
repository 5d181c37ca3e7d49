"""From a reading to the grid: numbered beats, bars and the tempo map."""

import itertools
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from composer.audio.pulse import Pulse
from composer.audio.readings import FASTEST_BEAT_BPM, BeatTrain, Reading
from composer.timing.meter import Meter, MeterChange, MeterMap
from composer.timing.tempo_map import Knot, TempoMap

Doubles = NDArray[np.float64]
TERNARY = 0.35
"""Thirds of the beat this much stronger than halves (log ratio) make the beat a dotted one."""


def meter_of(reading: Reading) -> Meter:
    """The time signature that a musician would write for a reading."""
    beats = reading.beats_per_bar
    if beats in (2, 3, 4) and beat_is_ternary(reading.train):
        return Meter(3 * beats, 8)
    eighths = reading.train.bpm > FASTEST_BEAT_BPM
    return Meter(beats, 8 if eighths else 4)


def beat_is_ternary(train: BeatTrain) -> bool:
    """Whether the beat divides in three evenly, as in 6/8, rather than in two or in swing."""
    thirds_1, thirds_2, half = (float(train.slots[4, :, i].mean()) for i in (2, 4, 3))
    if train.pulses_per_beat in (3.0, 6.0):
        return True
    return min(thirds_1, thirds_2) > half * np.exp(TERNARY) and train.bpm < 130


def tempo_map_of(train: BeatTrain, pulse: Pulse, first_downbeat: int) -> TempoMap:
    """Knots only where the tempo changes: at the ends of exact spans, on every beat elsewhere."""
    index = train.first_pulse + train.pulses_per_beat * np.arange(len(train.times_s))
    needed = np.zeros(len(index), bool)
    needed[[0, -1]] = True
    for span in pulse.spans:
        inside = np.flatnonzero((index >= span.first) & (index <= span.last))
        if span.steady:
            needed[inside[[0, -1]] if len(inside) else []] = True
        else:
            needed[inside] = True
    knots = [
        Knot(Fraction(int(k) - first_downbeat), float(train.times_s[k]))
        for k in np.flatnonzero(needed)
    ]
    return TempoMap(tuple(knots))


def meter_map_of(downbeats: list[int], meter: Meter) -> MeterMap:
    """Bars from the numbers of their first beats, in order, the first of them beat 0.

    Bars of another length than the metre's become a change of metre, or of the bar count only
    where the metre would have cut the bar at that place anyway.
    """
    changes = [MeterChange(Fraction(0), meter)]
    for start, end in itertools.pairwise(downbeats):
        length = end - start
        here = changes[-1]
        due = (start - here.start_beat) % here.meter.beats_per_bar == 0
        wanted = meter if length == meter.beats_per_bar else _of_length(length, meter)
        if not due or wanted != here.meter:
            if here.start_beat == start:
                changes[-1] = MeterChange(Fraction(start), wanted)
            else:
                changes.append(MeterChange(Fraction(start), wanted))
    return MeterMap(tuple(changes))


def _of_length(beats: int, like: Meter) -> Meter:
    """A metre of so many beats of the same kind: 9/8 for three beats of 6/8."""
    if like.beats_per_bar != like.numerator:
        return Meter(3 * beats, like.denominator, beats)
    return Meter(beats, like.denominator, beats)
