"""How far a move takes a hand out of its plane, at any instants of it."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from composer.motion.hands import HandTrack
from composer.motion.kinematics import Floats


def depth_at(
    steps: Sequence[tuple[float, float, float]], track: HandTrack, passed: ArrayLike
) -> Floats:
    """Metres out of the plane after shares of the common cycle, shape=(n,).

    ``steps`` are shares of the hand's own cycle with the metres at their start and end.
    """
    shares = np.atleast_1d(np.asarray(passed, dtype=float))
    if not steps:
        return np.zeros(len(shares))
    phase = (float(track.offset) + track.cycles * shares) % 1
    ends = np.cumsum([share for share, _, _ in steps])
    which = np.minimum(np.searchsorted(ends, phase, side="right"), len(steps) - 1)
    table = np.array(steps)[which]
    within = np.clip((phase - (ends[which] - table[:, 0])) / table[:, 0], 0, 1)
    eased = (1 - np.cos(np.pi * within)) / 2
    return np.asarray(table[:, 1] + (table[:, 2] - table[:, 1]) * eased)
