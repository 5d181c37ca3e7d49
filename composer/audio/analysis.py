"""What listening to a track yields: plain values, cheap to import and to pickle."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from composer.timing.grid import MusicGrid

ENVELOPE_HZ = 50.0
"""Rate of the loudness and onset curves that are kept for drawing."""

ANALYSIS_VERSION = 7
"""Raised whenever the same samples would give another answer: stored analyses then expire."""

Relation = Literal["double", "half", "triple", "third", "two thirds", "three halves", "other"]


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another tempo the same music can be counted in."""

    bpm: float
    relation: Relation
    score: float
    """Share of belief, 0..1, on the scale of :attr:`Confidence.beats`."""


@dataclass(frozen=True, slots=True)
class Confidence:
    """How sure the analysis is, each 0..1: the believed chance of needing no correction."""

    beats: float
    bars: float
    phrases: float


@dataclass(frozen=True)
class Analysis:
    """Beats, bars, metre, phrases and accents of one track, with how sure they are.

    Times are seconds in the decoded track. ``beats_s`` holds every beat from the first sound to
    the last (in steady music every beat of the bars that sound), ``downbeats_s`` the first beat of
    each bar, ``boundaries_s`` the phrase starts inside the music. ``residual_ms`` is the median
    distance of the onsets near a beat from it. ``steady`` tells that one tempo holds throughout, to
    a hundredth of a beat a minute. ``beat_confidence`` tells how clearly each beat of ``beats_s``
    is heard, 0..1.
    """

    grid: MusicGrid
    beats_s: NDArray[np.float64]
    downbeats_s: NDArray[np.float64]
    boundaries_s: NDArray[np.float64]
    bpm: float
    steady: bool
    residual_ms: float
    confidence: Confidence
    alternatives: tuple[Alternative, ...]
    beat_confidence: NDArray[np.float32]
    loudness_db: NDArray[np.float32]
    onset_strength: NDArray[np.float32]
    duration_s: float
    notes: tuple[str, ...] = ()
    """What the user should know, each one line: "no steady beat was heard"."""
    version: int = ANALYSIS_VERSION
