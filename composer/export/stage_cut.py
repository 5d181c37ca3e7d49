"""The piece as it is played on stage: routine and sound cut to the stretches that are kept."""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from composer.audio.cut import cut_grid, joined_spans, render_cut
from composer.score.parts import performed_parts
from composer.score.routine import CueNote, Part, Placement, Routine, Spot
from composer.timing.beats import BeatSpan


def kept_spans(routine: Routine) -> tuple[BeatSpan, ...]:
    """The stretches of the source that the cut keeps; all of it where it names none."""
    if routine.cut is None or not routine.cut.keep:
        return (BeatSpan(Fraction(0), routine.grid.end_beat),)
    return joined_spans(routine.cut.keep)


def cut_routine(routine: Routine) -> Routine:
    """The routine on the beats of the cut music; itself where there is no cut.

    Every part is written out as performed. A move that the cut begins in starts anew on the first
    beat that is kept, one that it ends in stops there. A performer who would stand elsewhere
    after a join travels there on the beats before it.
    """
    if routine.cut is None:
        return routine
    spans = kept_spans(routine)
    grid = cut_grid(routine.grid, spans, lead_in_s=routine.cut.lead_in_s)
    moved = list(_moved(spans))
    parts = tuple(
        Part(name, tuple(p for span, by in moved for p in _placements(span, by, moves)))
        for name, moves in (
            (name, [move.placement for move in moves])
            for name, moves in performed_parts(routine).items()
        )
    )
    spots = tuple(
        spot
        for performer in routine.performers
        for spot in _spots([s for s in routine.spots if s.performer == performer.name], moved)
    )
    notes = tuple(note for span, by in moved for note in _notes(span, by, routine.notes))
    # Corrections are places in the whole track; the grid of the cut holds them already.
    return replace(
        routine, grid=grid, parts=parts, spots=spots, notes=notes, cut=None, corrections=()
    )


def cut_sound(
    routine: Routine, samples: NDArray[np.float32], sample_rate_hz: int
) -> NDArray[np.float32]:
    """The samples of the cut music; the track's own where there is no cut."""
    if routine.cut is None:
        return samples
    return render_cut(
        samples,
        sample_rate_hz,
        routine.grid,
        kept_spans(routine),
        lead_in_s=routine.cut.lead_in_s,
        fade_out_s=routine.cut.fade_out_s,
    )


def _moved(spans: tuple[BeatSpan, ...]) -> Iterator[tuple[BeatSpan, Fraction]]:
    """Each stretch of the source and by how many beats it moves."""
    beat = Fraction(0)
    for span in spans:
        yield span, beat - span.start_beat
        beat += span.length_beats


def _placements(
    span: BeatSpan, by_beats: Fraction, placements: list[Placement]
) -> Iterator[Placement]:
    for placement in placements:
        if placement.span.intersects(span):
            start = max(placement.span.start_beat, span.start_beat)
            end = min(placement.span.end_beat, span.end_beat)
            yield replace(placement, span=BeatSpan(start + by_beats, end - start))


def _notes(span: BeatSpan, by_beats: Fraction, notes: tuple[CueNote, ...]) -> Iterator[CueNote]:
    for note in notes:
        if span.contains(note.beat):
            yield replace(note, beat=note.beat + by_beats)


def _spots(spots: list[Spot], moved: list[tuple[BeatSpan, Fraction]]) -> Iterator[Spot]:
    """One performer's spots on the cut's beats, with where she must be after each join."""
    ordered = sorted(spots, key=lambda spot: spot.beat)
    stands: Spot | None = None
    for span, by_beats in moved:
        before = [spot for spot in ordered if spot.beat <= span.start_beat]
        if before and not _same_place(before[-1], stands):
            stands = replace(before[-1], beat=span.start_beat + by_beats)
            yield stands
        for spot in ordered:
            if span.start_beat < spot.beat < span.end_beat:
                stands = replace(spot, beat=spot.beat + by_beats)
                yield stands


def _same_place(spot: Spot, other: Spot | None) -> bool:
    return other is not None and (spot.x_m, spot.y_m, spot.facing_turns) == (
        other.x_m,
        other.y_m,
        other.facing_turns,
    )
