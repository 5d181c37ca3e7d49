"""Beats of music that breathes: the likeliest walk through tempo and place within the beat.

References
----------
F. Krebs, S. Böck, G. Widmer, An efficient state-space model for joint tempo and meter tracking,
ISMIR 2015.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from composer.audio.attack import attack_shift_s
from composer.audio.ear import EAR_HZ, Heard
from composer.audio.features import FRAME_HZ, Features
from composer.audio.pulse import Pulse, PulseSpan, clarity_of, pulse_curve

Doubles = NDArray[np.float64]

SLOWEST_BPM, FASTEST_BPM = 40.0, 230.0
LEAST = 1e-3
SNAP_S = 0.045
"""A beat is moved to the strongest stroke within this of where the ear hears it."""


@dataclass(frozen=True)
class Walk:
    """What is expected of beats."""

    share: float
    """Share of the beat, from its start, in which the ear should hear it."""
    steadiness: float
    """How much less likely a beat is the more its length differs, as a ratio, from the last."""


WALKS = (Walk(1 / 6, 80.0), Walk(0.08, 20.0))
"""Strict about tempo and lenient about place, and the other way round."""


def free_pulses(features: Features, heard: Heard) -> list[Pulse]:
    """The ear's beats, walked in each way, as pulses without any even span.

    A walk of under four beats is left out.
    """
    curve = pulse_curve(features)
    pulses = []
    for walk in WALKS:
        times_s = snapped(curve, free_beat_times_s(heard.beat, walk))
        if len(times_s) >= 4:
            span = PulseSpan(0, len(times_s) - 1, steady=False)
            clarity = clarity_of(curve, times_s)
            pulses.append(Pulse(times_s + attack_shift_s(features, times_s), (span,), clarity))
    return pulses


def snapped(curve: Doubles, times_s: Doubles) -> Doubles:
    """Times moved to the strokes near them; the further off a stroke, the less it counts."""
    reach = round(SNAP_S * FRAME_HZ)
    centre = np.round(times_s * FRAME_HZ).astype(int)
    offsets = np.arange(-reach, reach + 1)
    at = np.clip(centre[:, None] + offsets, 0, len(curve) - 1)
    near = np.exp(-0.5 * np.square(offsets / (0.6 * reach)))
    strength = curve[at] * near
    best = strength.argmax(axis=1)
    moved = (centre + offsets[best]) / FRAME_HZ
    clear = strength.max(axis=1) > float(curve.mean())
    return np.asarray(np.where(clear, moved, times_s))


def free_beat_times_s(chance: Doubles, walk: Walk) -> Doubles:
    """Times of the beats that the ear's chances of one, at EAR_HZ, speak for.

    Viterbi search over how long the beat lasts (in moments) and how far into it a moment lies;
    its length changes only from one beat to the next.
    """
    shortest, longest = (int(60 * EAR_HZ / bpm) for bpm in (FASTEST_BPM, SLOWEST_BPM))
    lengths = np.arange(shortest, longest + 1)
    starts = np.concatenate([[0], np.cumsum(lengths)[:-1]])
    lasts = starts + lengths - 1
    ratio = lengths[None, :] / lengths[:, None]
    step = -walk.steadiness * np.abs(ratio - 1)
    step -= np.log(np.exp(step).sum(axis=1, keepdims=True))
    on_beat = np.zeros(int(lengths.sum()), bool)
    for start, length in zip(starts, lengths, strict=True):
        on_beat[start : start + max(1, round(length * walk.share))] = True
    believed = np.clip(chance, LEAST, 1 - LEAST)
    hit, miss = np.log(believed), np.log((1 - believed) * walk.share)
    best = np.zeros(len(on_beat))
    came = np.empty((len(chance), len(lengths)), np.int16)
    own = np.arange(len(lengths))
    for t in range(len(chance)):
        into = best[lasts][:, None] + step
        came[t] = into.argmax(axis=0)
        entered = into[came[t], own]
        best[1:] = best[:-1].copy()
        best[starts] = entered
        best += np.where(on_beat, hit[t], miss[t])
        best -= best.max()
    begun = _walked_back(came, int(best.argmax()), starts, lengths)
    return (
        np.array([_heard_from(chance, moment, length * walk.share) for moment, length in begun])
        / EAR_HZ
    )


def _heard_from(chance: Doubles, moment: int, moments: float) -> float:
    """The middle of what is heard within so many moments from a moment on."""
    heard = chance[moment : moment + max(1, round(moments))] + LEAST
    return moment + float((heard * np.arange(len(heard))).sum() / heard.sum())


def _walked_back(
    came: NDArray[np.int16], state: int, starts: NDArray[np.intp], lengths: NDArray[np.intp]
) -> list[tuple[int, int]]:
    """Moments in which beats begin on the way that ends in a state, and how long they last."""
    kind = int(np.searchsorted(starts, state, side="right")) - 1
    back = state - int(starts[kind])
    moment = len(came) - 1
    beats = []
    while moment - back >= 0:
        moment -= back
        beats.append((moment, int(lengths[kind])))
        kind = int(came[moment, kind])
        back = int(lengths[kind])
    return beats[::-1]
