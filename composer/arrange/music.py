"""Putting the music right under a routine: its grid changes, its placements keep their beats.

Every change of the beats also leaves a record, so that :func:`relisten` can apply it again to
another analysis. Phrases the user set need none: they are locked in the grid and carried over.
"""

import contextlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from composer.errors import ComposerError
from composer.score.routine import Routine
from composer.timing import phrase_changes, regrid
from composer.timing.corrections import Correction, apply_correction, lock_of
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.meter import Meter, MeterChange, MeterMap
from composer.timing.regrid import main_bpm, nearest_bar_beat
from composer.timing.tempo_map import Knot, TempoMap

Extent = Literal["passage", "to the end", "all along"]
"""How far a tempo that was tapped holds."""

FEWEST_BEATS = 4
"""A tempo is set over four beats or more, as many as taps are needed for one."""
LARGEST_NUDGE_S = 60.0


# ------------------------------------------------------------------ beats and bars


def shift_bars(routine: Routine, by_beats: Fraction | int) -> Routine:
    """Every bar begins so many beats later; phrases go along, locked ones keep their time."""
    grid = regrid.shift_downbeat(routine.grid, by_beats)
    return _recorded(routine, grid, Correction("downbeat", grid.tempo_map.seconds(0)))


def count_one_here(routine: Routine, beat: Fraction) -> Routine:
    """All bars move together, by half a bar at most, so that one begins on a beat."""
    record = Correction("downbeat", routine.grid.tempo_map.seconds(beat))
    return _recorded(routine, regrid.downbeat_here(routine.grid, beat), record)


def bars_from(routine: Routine, beat: Fraction) -> Routine:
    """From a beat on bars are counted anew; the bar before it may be short."""
    grid = regrid.bars_from_here(routine.grid, beat)
    if grid == routine.grid:
        return routine
    record = Correction("bars from here", routine.grid.tempo_map.seconds(beat))
    return _recorded(routine, grid, record)


def nudge(routine: Routine, by_s: float) -> Routine:
    """All beats sound later by so many seconds.

    Raises
    ------
    ComposerError
        If that is more than a minute.
    """
    if not abs(by_s) <= LARGEST_NUDGE_S:
        raise ComposerError(f"beats are moved by a minute at most, not by {by_s:g} s")
    return _recorded(routine, regrid.shift_time(routine.grid, by_s), Correction("time shift", by_s))


def scale_tempo(routine: Routine, doubled: bool) -> Routine:
    """Two beats where there was one, or one where there were two.

    Raises
    ------
    ComposerError
        If the tempo would leave the 20 to 400 beats a minute that can be counted.
    """
    change = regrid.double_tempo if doubled else regrid.halve_tempo
    grid = change(routine.grid)
    bpm, (low, high) = main_bpm(grid), regrid.TEMPO_LIMITS_BPM
    if not low <= bpm <= high:
        raise ComposerError(f"{bpm:.0f} beats a minute cannot be counted; {low:g} to {high:g} can")
    return _recorded(routine, grid, Correction("tempo level", bpm=bpm))


def set_bars(
    routine: Routine, meter: Meter, at: Fraction = Fraction(0), until: Fraction | None = None
) -> Routine:
    """A metre from a beat, which begins a bar, to another or to the end of the music.

    Raises
    ------
    ComposerError
        If the stretch begins before beat 0 or is empty.
    """
    old = routine.grid
    with _told():
        grid = regrid.set_meter(old, meter, at=at, until=until)
    records = [Correction("metre", old.tempo_map.seconds(at), meter=meter)]
    if until is not None and until < old.end_beat:
        after = old.meter_map.meter_at(until)
        records.append(Correction("metre", old.tempo_map.seconds(until), meter=after))
    return _recorded(routine, grid, *records)


# ------------------------------------------------------------------ tempo


def tempo_from(routine: Routine, beat: Fraction, bpm: float) -> Routine:
    """From a beat to the end of the music another tempo holds: the map is split there.

    Raises
    ------
    ComposerError
        If it is no tempo, or fewer than four beats are left.
    """
    low, high = regrid.TEMPO_LIMITS_BPM
    if not low <= bpm <= high:
        raise ComposerError(f"a tempo lies between {low:g} and {high:g} beats a minute")
    start_s = routine.grid.tempo_map.seconds(beat)
    return _with_taps(routine, Correction("taps", taps_s=_even_taps(routine.grid, start_s, bpm)))


def _even_taps(grid: MusicGrid, start_s: float, bpm: float) -> tuple[float, ...]:
    """Taps that say an even tempo from a time to the end: four for the tempo, one for the end."""
    period_s = 60 / bpm
    beats = round((grid.tempo_map.seconds(grid.end_beat) - start_s) / period_s)
    if beats < FEWEST_BEATS:
        raise ComposerError("fewer than four beats are left here; set the tempo further back")
    return tuple(start_s + k * period_s for k in (0, 1, 2, 3, beats))


def fit_taps(routine: Routine, taps_s: Sequence[float], extent: Extent) -> Routine:
    """Beats from taps on every beat; their lead must have been taken off already.

    Raises
    ------
    ComposerError
        If there are under four taps, or they have no tempo between 20 and 400.
    """
    taps = tuple(sorted(float(time_s) for time_s in taps_s))
    if extent == "all along":
        return _with_taps(routine, Correction("taps all along", taps_s=taps))
    if extent == "passage":
        return _with_taps(routine, Correction("taps", taps_s=taps))
    with _told():
        tapped = regrid.fit_to_taps(routine.grid, taps).tempo_map
    first = Fraction(round(tapped.beat_at(taps[0])))
    even = _even_taps(routine.grid, tapped.seconds(first), tapped.bpm_at(first))
    return _with_taps(routine, Correction("taps", taps_s=even))


def _with_taps(routine: Routine, record: Correction) -> Routine:
    with _told():
        return _recorded(routine, corrected(routine.grid, record), record)


def hold_beats(routine: Routine, index: int) -> Routine:
    """The beats of a phrase stay where they are now, whatever a later analysis says.

    Raises
    ------
    ComposerError
        If the phrase holds under two beats.
    """
    span = routine.grid.phrase_span(index)
    with _told():
        record = lock_of(routine.grid, span.start_beat, span.end_beat)
    return _recorded(routine, routine.grid, record)


# ------------------------------------------------------------------ phrases


def new_phrase(routine: Routine, beat: Fraction, name: str) -> Routine:
    """A phrase begins on a beat and is locked there.

    Raises
    ------
    ComposerError
        If a phrase begins there already, or the music has ended.
    """
    _within_music(routine, beat)
    if any(phrase.start_beat == beat for phrase in routine.grid.phrases):
        raise ComposerError("a phrase begins here already; name it instead")
    return replace(routine, grid=phrase_changes.add_phrase(routine.grid, beat, name))


def move_phrase(routine: Routine, index: int, beat: Fraction) -> Routine:
    """A phrase begins elsewhere and is locked there.

    Raises
    ------
    ComposerError
        If it would pass a neighbour or leave the music.
    """
    _within_music(routine, beat)
    with _told():
        grid = phrase_changes.move_phrase(routine.grid, index, beat)
    return _recorded(routine, grid, *_gone(routine, index))


def name_phrase(routine: Routine, index: int, name: str) -> Routine:
    return replace(routine, grid=phrase_changes.rename_phrase(routine.grid, index, name))


def lock_phrase(routine: Routine, index: int, locked: bool) -> Routine:
    return replace(routine, grid=phrase_changes.lock_phrase(routine.grid, index, locked))


def lock_phrases(routine: Routine, locked: bool) -> Routine:
    """All phrases at once."""
    phrases = tuple(replace(phrase, locked=locked) for phrase in routine.grid.phrases)
    return replace(routine, grid=replace(routine.grid, phrases=phrases))


def remove_phrase(routine: Routine, index: int) -> Routine:
    """A phrase joins the one before it; the first one joins the one after it.

    Raises
    ------
    ComposerError
        If it is the only one.
    """
    phrases = routine.grid.phrases
    if len(phrases) == 1:
        raise ComposerError("this is the only phrase; name it instead")
    grid = phrase_changes.remove_phrase(routine.grid, index)
    if index > 0:
        return _recorded(routine, grid, *_gone(routine, index))
    return _recorded(
        routine, phrase_changes.move_phrase(grid, 0, phrases[0].start_beat), *_gone(routine, 1)
    )


def _gone(routine: Routine, index: int) -> tuple[Correction, ...]:
    """The record that no phrase begins where an analysis heard one."""
    phrase = routine.grid.phrases[index]
    time_s = routine.grid.tempo_map.seconds(phrase.start_beat)
    return () if phrase.locked else (Correction("no phrase", time_s),)


def _within_music(routine: Routine, beat: Fraction) -> None:
    if beat >= routine.grid.end_beat:
        raise ComposerError("a phrase begins before the music ends")
    if routine.grid.tempo_map.seconds(beat + 1) <= 0:
        raise ComposerError("a phrase begins after the track does")


# ------------------------------------------------------------------ records


def corrected(grid: MusicGrid, correction: Correction) -> MusicGrid:
    """A correction applied. Where taps move the beats, phrases stay at the bar line that is
    nearest to where they are heard, on the beat if they did not begin with a bar.

    Raises
    ------
    ValueError
        If the correction makes no sense on this grid.
    """
    new = apply_correction(grid, correction)
    if correction.kind not in ("taps", "taps all along"):
        return new
    return replace(new, phrases=_phrases_in_time(grid.phrases, grid, new))


def _phrases_in_time(
    phrases: Sequence[Phrase], old: MusicGrid, new: MusicGrid
) -> tuple[Phrase, ...]:
    """Phrases of one grid on another, by the time at which they are heard."""
    placed: dict[Fraction, Phrase] = {}
    for phrase in phrases:
        if old.meter_map.is_downbeat(phrase.start_beat):
            heard = new.tempo_map.beat_at(old.tempo_map.seconds(phrase.start_beat))
            beat = nearest_bar_beat(new, Fraction(heard).limit_denominator(960))
        else:
            beat = _same_time(phrase.start_beat, old, new)
        placed.setdefault(beat, replace(phrase, start_beat=beat))
    return tuple(placed[beat] for beat in sorted(placed))


def _same_time(beat: Fraction, old: MusicGrid, new: MusicGrid) -> Fraction:
    """The beat of another grid that sounds when this one did, as far from a whole beat."""
    part = beat % 1
    return round(new.tempo_map.beat_at(old.tempo_map.seconds(beat)) - float(part)) + part


def _recorded(routine: Routine, grid: MusicGrid, *records: Correction) -> Routine:
    kept = routine.corrections
    for record in records:
        kept = _joined(kept, record)
    return replace(routine, grid=grid, corrections=kept)


def _joined(records: tuple[Correction, ...], new: Correction) -> tuple[Correction, ...]:
    """The records with a new one, which takes the place of one it makes idle."""
    last = records[-1] if records else None
    if last is None or last.kind != new.kind:
        return (*records, new)
    if new.kind == "time shift":
        by_s = round(last.time_s + new.time_s, 6)
        return (*records[:-1], Correction("time shift", by_s)) if by_s else records[:-1]
    idle = new.kind in ("downbeat", "tempo level", "taps all along") or (
        new.kind == "metre" and last.time_s == new.time_s
    )
    return (*records[:-1], new) if idle else (*records, new)


@contextlib.contextmanager
def _told() -> Iterator[None]:
    """What a grid refuses is told to the user."""
    try:
        yield
    except ValueError as error:
        raise ComposerError(str(error)) from None


# ------------------------------------------------------------------ another analysis


@dataclass(frozen=True, slots=True)
class Relistened:
    """A routine on another analysis of its music, and the corrections that no longer fit it."""

    routine: Routine
    refused: tuple[tuple[Correction, str], ...] = ()
    """Each with the reason; they stay in the routine."""


def relisten(routine: Routine, heard: MusicGrid) -> Relistened:
    """The routine on a fresh analysis, with everything the user put right applied again.

    The tempo level and the number of each bar stay as they were, so that placements keep their
    beats at the same music; locked phrases stay where they are heard, with name and lock.
    """
    old = routine.grid
    bpm, (low, high) = main_bpm(old), regrid.TEMPO_LIMITS_BPM
    grid = regrid.tempo_level(heard, bpm) if low <= bpm <= high else heard
    refused = []
    for correction in routine.corrections:
        try:
            grid = corrected(grid, correction)
        except ValueError as error:
            refused.append((correction, str(error)))
    grid = _numbered_like(grid, old)
    grid = replace(grid, phrases=_with_locked(grid, old))
    return Relistened(replace(routine, grid=grid), tuple(refused))


def _numbered_like(grid: MusicGrid, old: MusicGrid) -> MusicGrid:
    """The grid counted from the bar line nearest to the old beat 0: no time changes."""
    near = Fraction(round(grid.tempo_map.beat_at(old.tempo_map.seconds(0))))
    by = nearest_bar_beat(grid, near)
    if by == 0 or by >= grid.end_beat:
        return grid
    meters = grid.meter_map
    changes = [MeterChange(Fraction(0), meters.meter_at(by))]
    changes += [
        MeterChange(change.start_beat - by, change.meter)
        for change in meters.changes
        if change.start_beat > max(by, Fraction(0))
    ]
    return replace(
        grid,
        tempo_map=TempoMap(tuple(Knot(k.beat - by, k.time_s) for k in grid.tempo_map.knots)),
        end_beat=grid.end_beat - by,
        meter_map=MeterMap(tuple(changes)),
        phrases=tuple(replace(p, start_beat=p.start_beat - by) for p in grid.phrases),
    )


def _with_locked(grid: MusicGrid, old: MusicGrid) -> tuple[Phrase, ...]:
    """The heard phrases with the old locked ones in place of those within two bars of them.

    Where all old ones are locked the user has set the whole form: no heard one is added.
    """
    locked: dict[Fraction, Phrase] = {}
    for phrase in old.phrases:
        beat = _same_time(phrase.start_beat, old, grid)
        if phrase.locked and beat < grid.end_beat:
            locked.setdefault(beat, replace(phrase, start_beat=beat))
    if locked and all(phrase.locked for phrase in old.phrases):
        return tuple(locked[beat] for beat in sorted(locked))
    reach = 2 * grid.meter_map.meter_at(Fraction(0)).beats_per_bar
    heard = {
        phrase.start_beat: phrase
        for phrase in grid.phrases
        if all(abs(phrase.start_beat - beat) >= reach for beat in locked)
    }
    together = heard | locked
    return tuple(together[beat] for beat in sorted(together))
