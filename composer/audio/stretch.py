"""Slower or a little faster with the pitch kept: samples in, samples out."""

import numpy as np
from numpy.typing import NDArray

SLOWEST, FASTEST = 0.5, 1.1
SEED = 1
"""The method draws random phases: a fixed seed makes the same samples every time."""


def stretched(samples: NDArray[np.float32], sample_rate: int, rate: float) -> NDArray[np.float32]:
    """The same music at ``rate`` times its speed.

    Holds the interpreter for the whole call: a program that plays at the same time runs it in
    a process of its own.

    Parameters
    ----------
    samples : np.ndarray, shape=(frames, channels), float32
    rate : float
        0.5 (half speed) to 1.1.

    Returns
    -------
    np.ndarray, shape=(round(frames / rate), channels), float32
        What was at ``t`` seconds is at ``t / rate``.

    Raises
    ------
    ValueError
        If the rate is outside those bounds or the samples are not of that shape.

    References
    ----------
    The Signalsmith Stretch method, by way of the python-stretch library.
    """
    if not SLOWEST <= rate <= FASTEST:
        raise ValueError(f"speed lies between {SLOWEST} and {FASTEST}, got {rate}")
    if samples.ndim != 2 or samples.dtype != np.float32:
        raise ValueError(
            f"samples are float32 of shape (frames, channels), got {samples.dtype} {samples.shape}"
        )
    wanted = round(len(samples) / rate)
    if rate == 1.0 or not len(samples):
        return samples.copy()
    made = _by_channel(np.ascontiguousarray(samples.T), sample_rate, rate).T
    fitted = np.zeros((wanted, samples.shape[1]), dtype=np.float32)
    fitted[: len(made)] = made[:wanted]
    return fitted


def _by_channel(
    channels: NDArray[np.float32], sample_rate: int, rate: float
) -> NDArray[np.float32]:
    from python_stretch import Signalsmith

    stretch = Signalsmith.Stretch(SEED)
    stretch.preset(len(channels), sample_rate)  # another count here would crash the process
    stretch.setTimeFactor(rate)
    # Too short for one block of the method: silence after it is cut off again by the caller.
    short = max(0, stretch.blockSamples() * 2 - channels.shape[1])
    return np.asarray(stretch.process(np.pad(channels, ((0, 0), (0, short)))), dtype=np.float32)
