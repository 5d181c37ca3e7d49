"""The music as the composer sees it: tempo map, bars, phrases and accents of one track."""

import itertools
from bisect import bisect_right
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from composer.timing.beats import BeatSpan
from composer.timing.meter import MeterMap
from composer.timing.tempo_map import TempoMap


@dataclass(frozen=True, slots=True)
class Phrase:
    """A stretch of music that belongs together, from its start to the next phrase's."""

    start_beat: Fraction
    name: str
    energy: float = 0.5
    """Loudness and density against the rest of the track: 0 lowest, 1 highest."""
    locked: bool = False
    """Set by the user: no analysis moves it."""


AccentKind = Literal["hit", "stop", "drop"]


@dataclass(frozen=True, slots=True)
class Accent:
    """A single moment worth landing on."""

    time_s: float
    kind: AccentKind
    strength: float = 1.0


@dataclass(frozen=True, slots=True)
class MusicGrid:
    """Everything about the track that moves are placed against.

    ``end_beat`` is the first beat after the music; beats before 0 are the upbeat.
    """

    tempo_map: TempoMap
    end_beat: Fraction
    meter_map: MeterMap = field(default_factory=MeterMap)
    phrases: tuple[Phrase, ...] = ()
    accents: tuple[Accent, ...] = ()

    def __post_init__(self) -> None:
        starts = [phrase.start_beat for phrase in self.phrases]
        if any(b <= a for a, b in itertools.pairwise(starts)):
            raise ValueError("phrases must follow each other in time")
        if self.end_beat <= 0:
            raise ValueError(f"the music must last beyond beat 0, got {self.end_beat}")

    def phrase_index_at(self, beat: Fraction) -> int | None:
        """Index of the phrase that holds a beat; None before the first."""
        index = bisect_right([phrase.start_beat for phrase in self.phrases], beat) - 1
        return index if index >= 0 else None

    def phrase_span(self, index: int) -> BeatSpan:
        start = self.phrases[index].start_beat
        later = self.phrases[index + 1 :]
        end = later[0].start_beat if later else max(self.end_beat, start + 1)
        return BeatSpan(start, end - start)

    @property
    def bar_count(self) -> int:
        """Bars from bar 1 to the last one that begins before the music ends."""
        position = self.meter_map.position(self.end_beat)
        return position.bar if position.count > 1 else position.bar - 1

    def place_text(self, beat: Fraction) -> str:
        """``"bar 9, count 1 (0:16.5)"``: where a beat is, for people."""
        time_s = self.tempo_map.seconds(beat)
        return f"{self.meter_map.position(beat)} ({clock_text(time_s)})"


def clock_text(time_s: float) -> str:
    """Minutes and seconds to a tenth: ``"1:04.2"``, ``"-0:00.5"``."""
    tenths = round(abs(time_s) * 10)
    sign = "-" if time_s < 0 and tenths else ""
    return f"{sign}{tenths // 600}:{tenths % 600 // 10:02d}.{tenths % 10}"
