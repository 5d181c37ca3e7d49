"""What to play: from here, a phrase, a transition; with what count before it, at what speed."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

from composer.score.passes import Transition
from composer.timing.grid import MusicGrid

BREATH_BEATS = Fraction(2)
"""Silence before a loop comes round: time to bring the props back. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Passage:
    """A stretch of the music to play, once or over and over."""

    start_beat: Fraction
    end_beat: Fraction
    name: str
    loops: bool = True
    breath_beats: Fraction = BREATH_BEATS

    def __post_init__(self) -> None:
        if self.end_beat <= self.start_beat:
            raise ValueError(f"a passage ends after beat {self.start_beat}, got {self.end_beat}")


def from_here(grid: MusicGrid, beat: Fraction) -> Passage:
    """From a beat to the end of the music, once."""
    start = min(beat, grid.end_beat - 1)
    return Passage(start, grid.end_beat, "from here", loops=False)


def phrase_passage(grid: MusicGrid, index: int) -> Passage:
    """One phrase, over and over.

    Raises
    ------
    IndexError
        If there is no such phrase.
    """
    span = grid.phrase_span(index)
    return Passage(span.start_beat, span.end_beat, grid.phrases[index].name)


def transition_passage(
    grid: MusicGrid,
    beat: Fraction,
    name: str,
    *,
    before_beats: Fraction = Fraction(4),
    after_beats: Fraction = Fraction(4),
) -> Passage:
    """A transition with so many beats on either side, over and over, within the music."""
    start = max(beat - before_beats, min(beat, Fraction(0)))
    end = min(beat + after_beats, max(grid.end_beat, beat + 1))
    return Passage(start, end, name)


@dataclass(frozen=True, slots=True)
class Count:
    """One beat counted before the music: how long before it, and which count of the bar."""

    before_s: float
    number: int
    eight: int
    """Count of the eight, as :func:`count_of_eight` tells it."""

    @property
    def accented(self) -> bool:
        return self.number == 1


@dataclass(frozen=True, slots=True)
class RunUp:
    """Silence before the music, with its counts, in the tempo and metre of what follows."""

    length_s: float = 0.0
    counts: tuple[Count, ...] = ()


def count_in(grid: MusicGrid, start_beat: Fraction, bars: int) -> RunUp:
    """So many whole bars, and the counts of the first bar that come before the start.

    Starting on count 3 of a bar of four with one bar to count: 1 2 3 4 1 2, then the music.
    """
    if bars <= 0:
        return RunUp()
    into_bar_beats = grid.meter_map.position(start_beat).count - 1
    beats_per_bar = grid.meter_map.meter_at(start_beat).beats_per_bar
    return run_up(grid, start_beat, bars * beats_per_bar + into_bar_beats)


def run_up(grid: MusicGrid, start_beat: Fraction, length_beats: Fraction) -> RunUp:
    """So many beats before a start, counted on every whole count of the bar."""
    count = grid.meter_map.position(start_beat).count
    beats_per_bar = grid.meter_map.meter_at(start_beat).beats_per_bar
    beat_s = 60 / grid.tempo_map.bpm_at(start_beat)
    eight = count_of_eight(grid, start_beat - count + 1)
    counts = [
        Count(
            float(count - whole) * beat_s,
            (whole - 1) % beats_per_bar + 1,
            (eight + whole - 2) % (2 * beats_per_bar if beats_per_bar == 4 else beats_per_bar) + 1,
        )
        for whole in range(ceil(count - length_beats), ceil(count))
    ]
    return RunUp(float(length_beats) * beat_s, tuple(counts))


def count_of_eight(grid: MusicGrid, beat: Fraction) -> int:
    """What is counted aloud on a beat: in bars of four, eights from the phrase's start (common
    practice, no source); in other metres, the count of the bar.
    """
    if grid.meter_map.meter_at(beat).beats_per_bar != 4:
        return int(grid.meter_map.position(beat).count)
    index = grid.phrase_index_at(beat)
    start_beat = Fraction(0) if index is None else grid.phrases[index].start_beat
    return floor(beat - start_beat) % 8 + 1


def clicks(grid: MusicGrid, from_beat: int, to_beat: Fraction) -> list[tuple[float, bool]]:
    """Track time of every whole beat of a stretch and whether it is a downbeat."""
    beats = [Fraction(beat) for beat in range(from_beat, ceil(to_beat))]
    times_s = grid.tempo_map.seconds_of([float(beat) for beat in beats])
    downbeats = [grid.meter_map.is_downbeat(beat) for beat in beats]
    return list(zip(times_s.tolist(), downbeats, strict=True))


@dataclass(frozen=True, slots=True)
class SpeedLadder:
    """Raises the speed a step whenever so many passes in a row were clean."""

    step_percent: int = 5
    clean_passes: int = 3
    top_percent: int = 100

    def next_percent(self, percent: int, passes_at_it: Sequence[bool]) -> int:
        """The speed for the next pass, after these passes at ``percent``, clean or not.

        Only the passes since the last rise are given; the answer never falls.
        """
        last = list(passes_at_it)[-self.clean_passes :]
        if len(last) < self.clean_passes or not all(last):
            return percent
        return max(percent, min(percent + self.step_percent, self.top_percent))


def nearest_count_beat(grid: MusicGrid, time_s: float) -> Fraction:
    """The whole beat at or before a track time: where playing from the cursor begins."""
    return Fraction(floor(grid.tempo_map.beat_at(time_s) + 1e-6))


def marked_transition(
    transitions: Sequence[Transition], passage: Passage, beat: float, *, come_round: bool
) -> Transition | None:
    """Which transition a mark is for, when the key is pressed with ``beat`` being heard.

    The last one passed in this passage; early in a loop that has ``come_round``, the last one
    of the pass before.
    """
    inside = [t for t in transitions if passage.start_beat <= t.beat < passage.end_beat]
    passed = [t for t in inside if t.beat <= beat]
    if passed and not (come_round and beat <= passage.start_beat):
        return max(passed, key=lambda t: t.beat)
    return max(inside, key=lambda t: t.beat, default=None) if come_round else None
