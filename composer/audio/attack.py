"""Where strokes begin: the pulse's last few milliseconds."""

import numpy as np
import scipy.ndimage as ndi
from numpy.typing import NDArray

from composer.audio.features import ATTACK_HZ, Features

Doubles = NDArray[np.float64]

ATTACK_REACH_S = (0.050, 0.015)
"""Attacks are looked for from so long before to so long after where the onset curves peak."""
ATTACK_SMOOTHINGS = ((1, 2.5), (6, 1.3))
"""Blocks that a rise is averaged over, and how far it must stand above the usual: first finely,
then, for soft strokes, more coarsely."""
ATTACK_FLOOR = 0.3
"""The rise belongs to the attack as long as it is this share of the steepest."""
BEGUN_SHARE = 0.2
"""An attack has begun when this share of its rise is over.

Measured, median offset from the true beat of drum machines, recorded bands, rendered pianos:
-0.5, -0.3 and 4.5 ms; at half of the rise 0.4, 1.7 and 6.4 ms."""


def attack_shift_s(features: Features, times_s: Doubles) -> float:
    """How far the attacks lie from pulse times that follow the onset curves, signed.

    The onset curves see a stroke through a window of 46 ms, so their peaks stand off from it by
    some milliseconds that depend on the sound. The attack curve, averaged around all pulses,
    shows where the level itself rises; where that begins is the stroke, for a string or a reed
    is loudest only later. 0 where that is not clear.
    """
    reach, later = (round(span_s * ATTACK_HZ) for span_s in ATTACK_REACH_S)
    centre = np.round(times_s * ATTACK_HZ).astype(int)
    centre = centre[(centre > reach) & (centre < len(features.attack) - later - 1)]
    if len(centre) < 8:
        return 0.0
    fine = features.attack[centre[:, None] + np.arange(-reach, later + 1)].mean(axis=0)
    for blocks, clear in ATTACK_SMOOTHINGS:
        around = ndi.uniform_filter1d(fine, blocks)
        top = int(around[1:-1].argmax()) + 1
        usual = float(np.median(around))
        if around[top] >= clear * usual:
            first, after = _run_above(around, top, usual + ATTACK_FLOOR * (around[top] - usual))
            risen = np.append(0.0, np.cumsum(np.maximum(0, around[first:after] - usual)))
            begin = np.interp(BEGUN_SHARE * risen[-1], risen, np.arange(first, after + 1))
            return (float(begin) - reach) / ATTACK_HZ
    return 0.0


def _run_above(values: Doubles, inside: int, floor: float) -> tuple[int, int]:
    """First and after-last index of the run above a floor that an index lies in."""
    below = np.flatnonzero(values <= floor)
    before, after = below[below < inside], below[below > inside]
    return (
        int(before[-1]) + 1 if len(before) else 0,
        int(after[0]) if len(after) else len(values),
    )
