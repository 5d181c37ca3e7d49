"""How late the sound really is, from tapping along with a click."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

TAP_LEAD_MS = 50.0
"""People tap before the beat, by some 20 to 80 ms, musicians less: Repp, Psychon. Bull. Rev. 12
(2005) 969. The figure is from memory; the middle of the band is taken and the user can change it.
"""
FEWEST_TAPS = 8
WARM_UP_TAPS = 2
"""The first taps find the beat and are not counted."""
NEAR_SHARE = 0.4
"""A tap counts for the click nearest to it, within this share of the interval."""


@dataclass(frozen=True, slots=True)
class Calibration:
    """What the taps say: the offset to set, and how far they scatter round it."""

    offset_ms: float
    spread_ms: float
    taps: int

    @property
    def settled(self) -> bool:
        """Whether the mean is known to about 5 ms: spread over the root of the taps."""
        return self.spread_ms <= 5.0 * sqrt(self.taps)


def calibration_of(
    taps_s: Sequence[float], clicks_s: Sequence[float], *, lead_ms: float = TAP_LEAD_MS
) -> Calibration | None:
    """The offset at which clicks are heard when the clock says they are.

    Parameters
    ----------
    taps_s : sequence of float
        Track times that the clock gave, without any offset, when the performer tapped.
    clicks_s : sequence of float
        Track times of the clicks, rising.

    Returns
    -------
    Calibration or None
        None while there are fewer than eight usable taps. The middle value of the tap errors,
        plus the lead of tapping; one wild tap does not move it.
    """
    clicks = np.asarray(clicks_s, dtype=float)
    taps = np.asarray(taps_s, dtype=float)[WARM_UP_TAPS:]
    if len(clicks) < 2 or not len(taps):
        return None
    nearest = clicks[np.abs(taps[:, None] - clicks[None, :]).argmin(axis=1)]
    errors_s = taps - nearest
    errors_s = errors_s[np.abs(errors_s) < NEAR_SHARE * float(np.median(np.diff(clicks)))]
    if len(errors_s) < FEWEST_TAPS:
        return None
    middle_s = float(np.median(errors_s))
    spread_s = 1.4826 * float(np.median(np.abs(errors_s - middle_s)))
    return Calibration(middle_s * 1000 + lead_ms, spread_s * 1000, len(errors_s))
