"""Pure changes of the beats and bars of a music grid: level, downbeat, metre, taps, held beats."""

import itertools
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from math import log2

from composer.timing.grid import MusicGrid
from composer.timing.meter import Meter, MeterChange, MeterMap
from composer.timing.phrase_changes import in_order
from composer.timing.tempo_map import Knot, TempoMap

TEMPO_LIMITS_BPM = (20.0, 400.0)
SAME_TEMPO = 0.04
"""Tempi closer than this ratio count as one (Gouyon et al., IEEE TASLP 14, 2006, from memory)."""
CLEAR_S = 0.02
"""Beats that link a tapped passage to what lies around it are at least so far apart."""


def shift_downbeat(grid: MusicGrid, by_beats: Fraction | int) -> MusicGrid:
    """Beat 1 of bar 1 moves later by so many beats, a half for the off-beat.

    Phrases move along with the bars; locked ones keep their time.
    """
    by = Fraction(by_beats)
    knots = tuple(Knot(knot.beat - by, knot.time_s) for knot in grid.tempo_map.knots)
    phrases = (replace(p, start_beat=p.start_beat - by) if p.locked else p for p in grid.phrases)
    return replace(
        grid,
        tempo_map=TempoMap(knots),
        end_beat=max(grid.end_beat - by, Fraction(1)),
        phrases=in_order(phrases),
    )


def double_tempo(grid: MusicGrid) -> MusicGrid:
    """Two beats where there was one; bars are half as long, phrases keep their time."""
    return _rescaled(grid, Fraction(2))


def halve_tempo(grid: MusicGrid) -> MusicGrid:
    """One beat where there were two, beat 0 staying; phrases keep their time."""
    return _rescaled(grid, Fraction(1, 2))


def tempo_level(grid: MusicGrid, bpm: float) -> MusicGrid:
    """The doubling or halving of the tempo that comes nearest to ``bpm``.

    Raises
    ------
    ValueError
        If the tempo is not between 20 and 400.
    """
    if not TEMPO_LIMITS_BPM[0] <= bpm <= TEMPO_LIMITS_BPM[1]:
        raise ValueError(f"a tempo lies between 20 and 400 beats a minute, got {bpm}")
    octaves = round(log2(bpm / main_bpm(grid)))
    return _rescaled(grid, Fraction(2) ** octaves) if octaves else grid


def main_bpm(grid: MusicGrid) -> float:
    """The tempo of the longest stretch between two knots."""
    knots = grid.tempo_map.knots
    before, after = max(itertools.pairwise(knots), key=lambda pair: pair[1].beat - pair[0].beat)
    if after.beat - before.beat <= 1:  # a knot on every beat: the mean
        before, after = knots[0], knots[-1]
    return float(60 * (after.beat - before.beat) / (after.time_s - before.time_s))


def _rescaled(grid: MusicGrid, factor: Fraction) -> MusicGrid:
    changes = (
        MeterChange(change.start_beat * factor, change.meter) for change in grid.meter_map.changes
    )
    return replace(
        grid,
        tempo_map=TempoMap(
            tuple(Knot(knot.beat * factor, knot.time_s) for knot in grid.tempo_map.knots)
        ),
        end_beat=grid.end_beat * factor,
        meter_map=MeterMap(tuple(changes)),
        phrases=tuple(replace(p, start_beat=p.start_beat * factor) for p in grid.phrases),
    )


def set_meter(
    grid: MusicGrid, meter: Meter, at: Fraction | int = 0, until: Fraction | int | None = None
) -> MusicGrid:
    """From beat ``at``, which begins a bar, to ``until`` (or the end) the metre holds.

    What stood after ``until`` goes on from there.

    Raises
    ------
    ValueError
        If the end is not after the start, or the start lies before beat 0.
    """
    start = Fraction(at)
    if start < 0:
        raise ValueError(f"metres are counted from beat 0 on, got {start}")
    end = None if until is None else Fraction(until)
    if end is not None and end <= start:
        raise ValueError(f"the metre must end after it begins, got {start} to {end}")
    old = grid.meter_map
    kept = [c for c in old.changes if c.start_beat < start]
    kept.append(MeterChange(start, meter))
    if end is not None and end < grid.end_beat:
        kept.append(MeterChange(end, old.meter_at(end)))
        kept += [c for c in old.changes if c.start_beat > end]
    changes = [kept[0]]
    for change in kept[1:]:  # a change to the same metre on a bar line changes nothing
        due = change.start_beat - changes[-1].start_beat
        if change.meter != changes[-1].meter or due % change.meter.beats_per_bar:
            changes.append(change)
    return replace(grid, meter_map=MeterMap(tuple(changes)))


def downbeat_here(grid: MusicGrid, beat: Fraction | int) -> MusicGrid:
    """All bars move together, by half a bar at most, so that one begins on ``beat``."""
    position = grid.meter_map.position(Fraction(beat))
    off = position.count - 1
    length = grid.meter_map.bar_length_beats(position.bar)
    return shift_downbeat(grid, off if off <= length / 2 else off - length)


def bars_from_here(grid: MusicGrid, beat: Fraction | int) -> MusicGrid:
    """From ``beat`` on bars are counted anew; the bar before it ends there, perhaps short.

    At or before beat 0 this moves all bars.
    """
    here = Fraction(beat)
    if here <= 0 or grid.meter_map.is_downbeat(here):
        return downbeat_here(grid, here)
    return set_meter(grid, grid.meter_map.meter_at(here), at=here)


def shift_time(grid: MusicGrid, by_s: float) -> MusicGrid:
    """The whole grid sounds later by so many seconds, as after another encoder's delay."""
    knots = tuple(Knot(knot.beat, knot.time_s + by_s) for knot in grid.tempo_map.knots)
    return replace(grid, tempo_map=TempoMap(knots))


def nearest_bar_beat(grid: MusicGrid, beat: Fraction) -> Fraction:
    """The first beat of the bar that begins nearest to a beat."""
    bar = grid.meter_map.position(beat).bar
    options = [grid.meter_map.bar_start_beat(bar), grid.meter_map.bar_start_beat(bar + 1)]
    return min(options, key=lambda option: abs(option - beat))


def fit_to_taps(grid: MusicGrid, taps_s: Sequence[float], *, whole: bool = False) -> MusicGrid:
    """Beats from taps on every beat over a passage.

    The taps' tempo and phase replace the grid between the first and the last tap; with
    ``whole`` they are carried on over the whole track. One tap may be missing or doubled: taps
    are numbered by their distance, and a straight line is fitted. The first tap falls on the
    beat of the grid that is nearest, so bars go on as they were; beats after the passage are
    renumbered where the taps count more or fewer than the grid did. People tap some 20 to 80 ms
    early (Repp, Psychon. Bull. Rev. 12, 2005, from memory): that lead is taken off ``taps_s``
    before, as it moves the beats and never their distance.

    Raises
    ------
    ValueError
        If there are under four taps, or they have no tempo between 20 and 400.
    """
    import numpy as np  # here: it takes long to load, and few routines were tapped

    times = np.sort(np.asarray(taps_s, float))
    if len(times) < 4:
        raise ValueError(f"at least four taps are needed, got {len(times)}")
    gap = float(np.median(np.diff(times)))
    if not 60 / TEMPO_LIMITS_BPM[1] <= gap <= 60 / TEMPO_LIMITS_BPM[0]:
        raise ValueError(f"the taps lie {gap:.2f} s apart, too close or too far for beats")
    count = np.cumsum(np.concatenate([[0], np.round(np.diff(times) / gap)]))
    keep = np.concatenate([[True], np.diff(count) > 0])
    period, start = np.polyfit(count[keep], times[keep], 1)
    beats = int(count[-1])
    first = Fraction(round(grid.tempo_map.beat_at(float(start))))
    line = (Knot(first, float(start)), Knot(first + beats, float(start + beats * period)))
    if whole:
        tempo_map = TempoMap(line)
        end = Fraction(max(1, round(tempo_map.beat_at(grid.tempo_map.seconds(grid.end_beat)))))
        return _renumbered(grid, tempo_map, end, first, Fraction(0))
    replaced = Fraction(round(grid.tempo_map.beat_at(line[1].time_s)))
    more = line[1].beat - replaced
    before = _knots_before(grid.tempo_map, first, line[0].time_s)
    after = _knots_after(grid.tempo_map, replaced, line[1].time_s)
    after = [Knot(knot.beat + more, knot.time_s) for knot in after]
    tempo_map = TempoMap(tuple(_thinned([*before, *line, *after])))
    return _renumbered(grid, tempo_map, grid.end_beat + more, replaced, more)


def _knots_before(tempo_map: TempoMap, beat: Fraction, time_s: float) -> list[Knot]:
    """The map up to the last beat before ``beat`` that is clear of a time: two knots or more."""
    link = beat - 1
    while tempo_map.seconds(link) > time_s - CLEAR_S:
        link -= 1
    knots = [knot for knot in tempo_map.knots if knot.beat < link]
    knots = knots or [Knot(link - 1, tempo_map.seconds(link - 1))]
    return [*knots, Knot(link, tempo_map.seconds(link))]


def _knots_after(tempo_map: TempoMap, beat: Fraction, time_s: float) -> list[Knot]:
    """The map from the first beat after ``beat`` that is clear of a time: two knots or more."""
    link = beat + 1
    while tempo_map.seconds(link) < time_s + CLEAR_S:
        link += 1
    knots = [knot for knot in tempo_map.knots if knot.beat > link]
    knots = knots or [Knot(link + 1, tempo_map.seconds(link + 1))]
    return [Knot(link, tempo_map.seconds(link)), *knots]


def _renumbered(
    grid: MusicGrid, tempo_map: TempoMap, end: Fraction, after: Fraction, by: Fraction
) -> MusicGrid:
    """The grid on another tempo map; what lies beyond ``after`` is ``by`` beats later."""
    changes = tuple(
        MeterChange(c.start_beat + by, c.meter) if c.start_beat > after else c
        for c in grid.meter_map.changes
    )
    phrases = (
        replace(p, start_beat=p.start_beat + by) if p.start_beat > after else p
        for p in grid.phrases
    )
    return replace(
        grid,
        tempo_map=tempo_map,
        end_beat=max(end, Fraction(1)),
        meter_map=MeterMap(changes),
        phrases=in_order(phrases),
    )


def lock_beats(grid: MusicGrid, times_s: Sequence[float]) -> MusicGrid:
    """The beats of a passage stand exactly at the given times, the first one a downbeat."""
    if len(times_s) < 2:
        raise ValueError("a locked passage holds at least two beats")
    first = Fraction(round(grid.tempo_map.beat_at(times_s[0])))
    last = Fraction(round(grid.tempo_map.beat_at(times_s[-1])))
    more = first + len(times_s) - 1 - last
    held = [Knot(first + k, float(time_s)) for k, time_s in enumerate(times_s)]
    knots = grid.tempo_map.knots
    before = [k for k in knots if k.beat < first and k.time_s < times_s[0]]
    after = [
        Knot(k.beat + more, k.time_s) for k in knots if k.beat > last and k.time_s > times_s[-1]
    ]
    tempo_map = TempoMap((*before, *_thinned(held), *after))
    moved = _renumbered(grid, tempo_map, grid.end_beat + more, last, more)
    return bars_from_here(moved, first)


def _thinned(knots: list[Knot]) -> list[Knot]:
    """Knots without those on a straight line through their neighbours, to a microsecond."""
    kept = [knots[0]]
    for before, here, after in zip(knots[:-2], knots[1:-1], knots[2:], strict=True):
        share = float((here.beat - before.beat) / (after.beat - before.beat))
        if abs(before.time_s + share * (after.time_s - before.time_s) - here.time_s) > 1e-6:
            kept.append(here)
    return [*kept, knots[-1]]
