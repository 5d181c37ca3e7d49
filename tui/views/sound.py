"""Loudness and onsets as small marks, one for each cell of the count sheet."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

LOUDNESS_GLYPHS = " ▁▂▃▄▅▆▇█"
ONSET_GLYPHS = " ·•●"
NEAR_S = 0.07
"""Ours: an onset this near a count is heard as on it."""


@dataclass(frozen=True, eq=False)
class Sound:
    """Two curves of a track at an even rate, and the marks that stand for stretches of them."""

    loudness_db: NDArray[np.float32]
    onset_strength: NDArray[np.float32]
    rate_hz: float

    @cached_property
    def _sums(self) -> NDArray[np.float64]:
        return np.concatenate([[0.0], np.cumsum(self.loudness_db, dtype=float)])

    @cached_property
    def _range_db(self) -> tuple[float, float]:
        if not len(self.loudness_db):
            return 0.0, 1.0
        low, high = np.percentile(self.loudness_db, [5, 99])
        return float(low), float(max(high, low + 1.0))

    @cached_property
    def strongest(self) -> float:
        if not len(self.onset_strength):
            return 1.0
        return max(float(np.percentile(self.onset_strength, 99)), 1e-9)

    def loudness_marks(self, edges_s: NDArray[np.float64]) -> str:
        """A bar glyph for each stretch between neighbouring times, by its mean loudness."""
        index = np.clip(np.round(edges_s * self.rate_hz).astype(int), 0, len(self.loudness_db))
        counts = np.maximum(np.diff(index), 1)
        means = np.diff(self._sums[index]) / counts
        low, high = self._range_db
        share = np.clip((means - low) / (high - low), 0, 1)
        steps = np.where(np.diff(index) > 0, 1 + np.round(share * 7), 0).astype(int)
        return "".join(LOUDNESS_GLYPHS[step] for step in steps)

    def onset_marks(self, edges_s: NDArray[np.float64]) -> str:
        """A dot for each stretch by the strongest onset at its beginning: on the count itself."""
        marks = []
        for start_s in edges_s[:-1]:
            first = max(0, round((start_s - NEAR_S) * self.rate_hz))
            near = self.onset_strength[first : max(0, round((start_s + NEAR_S) * self.rate_hz)) + 1]
            share = float(near.max()) / self.strongest if len(near) else 0.0
            marks.append(ONSET_GLYPHS[min(3, int(share * 4))])
        return "".join(marks)
