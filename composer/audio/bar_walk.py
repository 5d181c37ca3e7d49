"""Bars that do not all have the same number of beats: where the ear hears them change."""

import numpy as np
from numpy.typing import NDArray

from composer.audio.readings import METERS, Reading

Doubles = NDArray[np.float64]

BELIEF = 0.6
"""Share of the ear's evidence for a downbeat that is believed: it repeats itself."""
CHANGE_COST = 4.0
"""Log odds against a bar of another length than the one before."""
STRANGE_COST = 0.4
"""Log odds against each bar of another length than the track's own."""
LEAST_GAIN = 38.0
"""Log odds in favour of changing bars, over all bars being alike, from which they are believed."""


def downbeats_of(reading: Reading) -> NDArray[np.intp]:
    """Indices of the reading's beats that begin bars, in order."""
    gain = BELIEF * np.clip(reading.train.heard.down_gain, -4, 4)
    plain = np.arange(reading.first_downbeat, len(gain), reading.beats_per_bar)
    changing, score = _walk(gain, reading.beats_per_bar, reading.first_downbeat)
    return changing if score - float(gain[plain].sum()) > LEAST_GAIN else plain


def _walk(gain: Doubles, meter: int, first: int) -> tuple[NDArray[np.intp], float]:
    """The likeliest bars from the first downbeat on, and how likely, in log odds.

    Viterbi search over bars: ``best[k, m]`` is the score of the ways that end with a bar of
    METERS[m] beats just before beat k; the last bar may be cut off by the end of the music.
    """
    count = len(gain)
    kinds = np.array(METERS)
    strange = np.where(kinds == meter, 0.0, STRANGE_COST)
    best = np.full((count + int(kinds.max()), len(kinds)), -np.inf)
    came = np.zeros(best.shape, np.intp)
    best[first, kinds == meter] = 0.0
    for k in range(first, count):
        top = int(best[k].argmax())
        for m, beats in enumerate(kinds):
            stays = best[k, m] >= best[k, top] - CHANGE_COST
            before = m if stays else top
            score = best[k, before] - (0.0 if stays else CHANGE_COST) + gain[k] - strange[m]
            if score > best[k + beats, m]:
                best[k + beats, m], came[k + beats, m] = score, before
    ended = best[count:]
    end, kind = (int(x) for x in np.unravel_index(int(ended.argmax()), ended.shape))
    score, at = float(ended[end, kind]), count + end
    downs = []
    while at > first:
        kind, at = int(came[at, kind]), at - int(kinds[kind])
        downs.append(at)
    return np.array(downs[::-1], dtype=np.intp), score
