"""Integrals over stretches of a curve, to a stated error: Gauss-Legendre, halved where needed."""

from collections.abc import Callable, Sequence

import numpy as np

from composer.motion.kinematics import Floats

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)
_MOST_HALVINGS = 48


def integral(
    function: Callable[[Floats], Floats], edges: Sequence[float], *, error: float = 1e-12
) -> float:
    """Integral of a function that is smooth, or has kinks, between given edges.

    Parameters
    ----------
    function : callable
        Values at points, shape=(n,) in and out.
    edges : sequence of float
        Rising; the function may jump at an edge, but is only asked for points between them.
    error : float
        Absolute; a stretch is halved until the sum over its halves differs by less than its part.
    """
    starts, ends = np.array(edges[:-1], dtype=float), np.array(edges[1:], dtype=float)
    whole = ends[-1] - starts[0] if len(starts) else 1.0
    rough = _gauss(function, starts, ends)
    total = 0.0
    for _ in range(_MOST_HALVINGS):
        if not len(starts):
            return total
        middles = (starts + ends) / 2
        left, right = _gauss(function, starts, middles), _gauss(function, middles, ends)
        done = np.abs(left + right - rough) <= error * np.sqrt((ends - starts) / whole)
        total += float(np.sum((left + right)[done]))
        keep = ~done
        starts, ends, rough = (
            np.concatenate([starts[keep], middles[keep]]),
            np.concatenate([middles[keep], ends[keep]]),
            np.concatenate([left[keep], right[keep]]),
        )
    return total + float(np.sum(rough))


def _gauss(function: Callable[[Floats], Floats], starts: Floats, ends: Floats) -> Floats:
    half = (ends - starts) / 2
    points = starts[:, None] + half[:, None] * (1 + _NODES)
    values = function(points.ravel()).reshape(points.shape)
    return np.asarray(half * (values @ _WEIGHTS))
