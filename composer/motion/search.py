"""Peaks of a quantity along a stretch of time: sampled, then narrowed down."""

from collections.abc import Callable

import numpy as np

from composer.motion.kinematics import Floats

_PARTS = 16
_NARROWINGS = 10
"""Each round leaves an eighth of a bracket: 9e-10 of its width in the end."""


def local_peaks(
    value: Callable[[Floats], Floats], grid: Floats, *, within: float | None = 0.05
) -> tuple[Floats, Floats]:
    """Places and heights of local peaks: those on a rising grid and what lies beside them.

    Parameters
    ----------
    value : callable
        Values at points, shape=(n,) in and out; continuous between the ends of the grid.
    within : float or None
        Only peaks of the samples no further below the highest than this share of their range are
        narrowed down; None for all of them.
    """
    values = value(grid)
    level = np.round(values, 13)  # a level stretch is one peak, whatever the rounding in it
    padded = np.concatenate([[-np.inf], level, [-np.inf]])
    tops = np.flatnonzero((level > padded[:-2]) & (level >= padded[2:]))
    if within is not None:
        tops = tops[level[tops] >= level.max() - within * float(np.ptp(level))]
    low, high = grid[np.maximum(tops - 1, 0)], grid[np.minimum(tops + 1, len(grid) - 1)]
    passed, reached = narrow(value, low, high)
    on_grid = values[tops] >= reached
    return np.where(on_grid, grid[tops], passed), np.maximum(values[tops], reached)


def narrow(value: Callable[[Floats], Floats], low: Floats, high: Floats) -> tuple[Floats, Floats]:
    """Search for the peak in every bracket at once, each round beside the best point so far."""
    steps = np.arange(_PARTS + 1) / _PARTS
    rows = np.arange(len(low))
    for _ in range(_NARROWINGS):
        points = low[:, None] + (high - low)[:, None] * steps
        best = np.argmax(value(points.ravel()).reshape(points.shape), axis=1)
        low, high = (
            points[rows, np.maximum(best - 1, 0)],
            points[rows, np.minimum(best + 1, _PARTS)],
        )
    middle = (low + high) / 2
    return middle, value(middle)
