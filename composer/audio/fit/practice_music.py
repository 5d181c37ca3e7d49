"""Practice music in many manners, as Standard MIDI Files with exact beats and bars.

The weights of the listening stage are fitted on it (see ``fit_ear`` and ``fit_readings``).
Everything is drawn from a seeded generator: invented songs, dances, tunes and keyboard pieces,
and folk tunes that are given as notes (see ``airs_of_abc``). Nothing is taken from a recording.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from composer.audio.fit.abc_tune import Air
from composer.audio.fit.practice_airs import AirWriter
from composer.audio.fit.practice_ballads import BalladWriter
from composer.audio.fit.practice_band import BandWriter
from composer.audio.fit.practice_changes import ChangingTuneWriter
from composer.audio.fit.practice_dance import DanceWriter
from composer.audio.fit.practice_hymns import HymnWriter
from composer.audio.fit.practice_minuets import MinuetWriter
from composer.audio.fit.practice_piano import PianoWriter
from composer.audio.fit.practice_tunes import TuneWriter
from composer.audio.fit.practice_writer import Song

Kind = Callable[[np.random.Generator, Sequence[Air]], Song]


def invent(seed: int, airs: Sequence[Air] = ()) -> Song:
    """The song that belongs to a seed; without airs, tunes are invented in their stead."""
    rng = np.random.default_rng(seed)
    shares = np.array([share for share, _ in KINDS])
    _, kind = KINDS[int(rng.choice(len(KINDS), p=shares / shares.sum()))]
    return kind(rng, airs)


def _band(rng: np.random.Generator, _: Sequence[Air]) -> Song:
    song = BandWriter(rng).song()
    return replace(song, sound="machine") if rng.random() < PLAYED_BY_MACHINE else song


def _air(rng: np.random.Generator, airs: Sequence[Air]) -> Song:
    return AirWriter(rng, list(airs)).song() if airs else TuneWriter(rng).song()


PLAYED_BY_MACHINE = 0.2
KINDS: tuple[tuple[float, Kind], ...] = (
    (0.22, _band),
    (0.26, lambda rng, _: DanceWriter(rng).song()),
    (0.14, lambda rng, _: PianoWriter(rng).song()),
    (0.12, lambda rng, _: BalladWriter(rng).song()),
    (0.09, _air),
    (0.07, lambda rng, _: TuneWriter(rng).song()),
    (0.05, lambda rng, _: HymnWriter(rng).song()),
    (0.05, lambda rng, _: ChangingTuneWriter(rng).song()),
    (0.03, lambda rng, _: MinuetWriter(rng).song()),
)
