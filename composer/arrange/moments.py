"""The moments of the music that ask for something: what a best move is set on."""

from dataclasses import dataclass
from fractions import Fraction

from composer.timing.grid import AccentKind, MusicGrid

MOST = 12
KIND_STRENGTH: dict[AccentKind, float] = {"drop": 2.0, "hit": 0.6, "stop": 0.8}
"""Ours: a drop is stronger than any phrase begins; single hits and stops weigh with their own
strength."""
PEAK_ENERGY = 0.6
"""Ours: a phrase from here on begins on a moment of its own."""
NEAR_BEATS = Fraction(1, 4)
"""What sounds this near a beat is meant for it."""


@dataclass(frozen=True, slots=True)
class StrongMoment:
    """A beat worth a best move, and what happens there."""

    beat: Fraction
    words: str
    strength: float


def strong_moments(grid: MusicGrid, most: int = MOST) -> tuple[StrongMoment, ...]:
    """The strongest moments of the music, the strongest first.

    They are its drops, hits and stops, on the beat nearest to each, and the beginnings of phrases
    of high energy. What falls on one beat counts together.
    """
    found: dict[Fraction, StrongMoment] = {}

    def add(beat: Fraction, words: str, strength: float) -> None:
        old = found.get(beat)
        if old is not None:
            words, strength = f"{old.words}, {words}", old.strength + strength
        found[beat] = StrongMoment(beat, words, strength)

    for phrase in grid.phrases:
        if phrase.energy >= PEAK_ENERGY:
            add(phrase.start_beat, f"{phrase.name} begins", phrase.energy)
    for accent in grid.accents:
        at = Fraction(grid.tempo_map.beat_at(accent.time_s)).limit_denominator(960)
        beat = Fraction(round(at))
        if 0 <= beat < grid.end_beat and abs(at - beat) <= NEAR_BEATS:
            add(beat, accent.kind, KIND_STRENGTH[accent.kind] * accent.strength)
    ranked = sorted(found.values(), key=lambda moment: (-moment.strength, moment.beat))
    return tuple(ranked[:most])
