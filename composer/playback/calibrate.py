"""How late the sound really is, from tapping along with a click."""

import time
from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from composer.audio.clicks import click
from composer.playback.clock import TimeSource
from composer.playback.device import OpenDevice
from composer.playback.mixer import Beeper
from composer.playback.player import Player

CLICK_INTERVAL_S = 0.6
"""100 a minute: an easy tempo to tap, and wide enough to tell long delays apart."""
LONGEST_S = 120.0
SAMPLE_RATE = 44100

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


class Calibrator:
    """A click to tap along with; each tap is timed by the clock that the offset is for."""

    def __init__(self, open_device: OpenDevice, *, now: TimeSource = time.monotonic) -> None:
        silence = np.zeros((round(LONGEST_S * SAMPLE_RATE), 1), dtype=np.float32)
        self.player = Player(silence, SAMPLE_RATE, open_device, now=now)
        self._clicks_s = np.arange(1, LONGEST_S / CLICK_INTERVAL_S) * CLICK_INTERVAL_S
        self._taps_s: list[float] = []
        sounds = [click(SAMPLE_RATE)] * len(self._clicks_s)
        self.player.set_layer("click", Beeper(self._clicks_s.tolist(), sounds, in_music=True))

    def start(self) -> None:
        """Begin, or begin again with no taps; the player's notice says if there is no sound."""
        self._taps_s.clear()
        self.player.seek(0.0)
        self.player.play()

    def tap(self, *, lead_ms: float = TAP_LEAD_MS) -> Calibration | None:
        """Note a tap now; what the taps say so far."""
        self._taps_s.append(self.player.position_s())
        return calibration_of(self._taps_s, self._clicks_s.tolist(), lead_ms=lead_ms)

    def close(self) -> None:
        self.player.close()
