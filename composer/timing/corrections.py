"""What the user puts right about the music, as a record.

A :class:`Correction` says what was put right in terms of time in the track, not of beat numbers,
so that it can be applied again to another analysis of the same music.
"""

from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from composer.timing.grid import MusicGrid
from composer.timing.meter import Meter
from composer.timing.phrase_changes import add_phrase, remove_phrase
from composer.timing.regrid import (
    bars_from_here,
    downbeat_here,
    fit_to_taps,
    lock_beats,
    nearest_bar_beat,
    set_meter,
    shift_time,
    tempo_level,
)

CorrectionKind = Literal[
    "tempo level",
    "downbeat",
    "bars from here",
    "metre",
    "time shift",
    "taps",
    "taps all along",
    "phrase",
    "no phrase",
    "lock",
]


@dataclass(frozen=True, slots=True)
class Correction:
    """One thing the user put right, in terms that outlive an analysis.

    ``time_s`` is the place in the decoded track; ``bpm`` serves "tempo level"; ``meter`` serves
    "metre"; ``name`` serves "phrase"; ``taps_s`` serves the taps, and for "lock" holds the time
    of every beat that must stay, the first of which is a downbeat.
    """

    kind: CorrectionKind
    time_s: float = 0.0
    bpm: float = 0.0
    meter: Meter | None = None
    name: str = ""
    taps_s: tuple[float, ...] = ()


def apply_corrections(grid: MusicGrid, corrections: Iterable[Correction]) -> MusicGrid:
    """All corrections one after the other, on a fresh analysis or on any other grid."""
    for correction in corrections:
        grid = apply_correction(grid, correction)
    return grid


def apply_correction(grid: MusicGrid, correction: Correction) -> MusicGrid:
    """One correction. Applying it again changes nothing further, but for the time shift."""
    beat = Fraction(round(grid.tempo_map.beat_at(correction.time_s)))
    match correction.kind:
        case "tempo level":
            return tempo_level(grid, correction.bpm)
        case "downbeat":
            half_beats = round(2 * grid.tempo_map.beat_at(correction.time_s))
            return downbeat_here(grid, Fraction(half_beats, 2))
        case "bars from here":
            return bars_from_here(grid, beat)
        case "metre":
            if correction.meter is None:
                raise ValueError("a correction of the metre needs a metre")
            return set_meter(grid, correction.meter, at=max(beat, Fraction(0)))
        case "time shift":
            return shift_time(grid, correction.time_s)
        case "taps" | "taps all along":
            whole = correction.kind == "taps all along"
            return fit_to_taps(grid, correction.taps_s, whole=whole)
        case "phrase":
            return add_phrase(grid, nearest_bar_beat(grid, beat), correction.name)
        case "no phrase":
            return _without_phrase_near(grid, beat)
        case "lock":
            return lock_beats(grid, correction.taps_s)


def lock_of(grid: MusicGrid, start_beat: Fraction, end_beat: Fraction) -> Correction:
    """The record that holds the beats of a passage where they are now.

    ``start_beat`` is moved back to the bar line at or before it.

    Raises
    ------
    ValueError
        If the passage holds under two beats.
    """
    position = grid.meter_map.position(start_beat)
    first = grid.meter_map.bar_start_beat(position.bar)
    beats = [first + k for k in range(int(end_beat - first) + 1)]
    if len(beats) < 2:
        raise ValueError("a locked passage holds at least two beats")
    return Correction(
        "lock",
        float(grid.tempo_map.seconds(first)),
        taps_s=tuple(grid.tempo_map.seconds(beat) for beat in beats),
    )


def _without_phrase_near(grid: MusicGrid, beat: Fraction) -> MusicGrid:
    """The phrase that begins within two bars of a beat joins the one before; locked ones stay."""
    starts = [phrase.start_beat for phrase in grid.phrases]
    at = bisect_left(starts, beat)
    near = [i for i in (at - 1, at) if 0 <= i < len(starts) and not grid.phrases[i].locked]
    if not near:
        return grid
    index = min(near, key=lambda i: abs(starts[i] - beat))
    reach = 2 * grid.meter_map.meter_at(beat).beats_per_bar
    return remove_phrase(grid, index) if abs(starts[index] - beat) < reach else grid
