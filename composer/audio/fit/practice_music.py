"""Invented music in many styles, as Standard MIDI Files with exact beats and bars.

The weights of the listening stage are fitted on it (see ``fit_readings`` and ``fit_phrases``).
Everything is drawn from a seeded generator; nothing is taken from a recording or a score.
"""

import numpy as np

from composer.audio.fit.practice_band import BandWriter
from composer.audio.fit.practice_tunes import TuneWriter
from composer.audio.fit.practice_writer import Song

SHARE_OF_TUNES = 0.3


def invent(seed: int) -> Song:
    """The song that belongs to a seed."""
    rng = np.random.default_rng(seed)
    return TuneWriter(rng).song() if rng.random() < SHARE_OF_TUNES else BandWriter(rng).song()
