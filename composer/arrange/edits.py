"""Edits: each takes a routine and gives a new one; the old one stays as it was.

``index`` is the place of a placement in the performer's own part. An edit may leave overlaps or
gaps behind: that is for the checks to say, not for an edit to refuse.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from composer.errors import ComposerError
from composer.score.parts import delayed, like
from composer.score.routine import CueNote, Likeness, Part, Placement, Routine, Spot
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid


def place(routine: Routine, performer: str, placement: Placement) -> Routine:
    """Add a placement, keeping the part in time order."""
    part = routine.part(performer)
    return routine.with_part(replace(part, placements=(*part.placements, placement)))


def place_over(routine: Routine, performer: str, placement: Placement) -> Routine:
    """Add a placement where others stand: those it covers go, those it cuts into are shortened."""
    part = routine.part(performer)
    kept = [piece for old in part.placements for piece in _outside(old, placement)]
    return routine.with_part(replace(part, placements=(*kept, placement)))


def _outside(old: Placement, new: Placement) -> Iterable[Placement]:
    """What is left of an old placement beside a new one on the same hand."""
    if not (old.span.intersects(new.span) and set(old.hands) & set(new.hands)):
        yield old
        return
    if old.span.start_beat < new.span.start_beat:
        kept = new.span.start_beat - old.span.start_beat
        yield replace(old, span=BeatSpan(old.span.start_beat, kept))


def remove(routine: Routine, performer: str, index: int) -> Routine:
    part = _part_with(routine, performer, index)
    kept = part.placements[:index] + part.placements[index + 1 :]
    return routine.with_part(replace(part, placements=kept))


def change(routine: Routine, performer: str, index: int, new: Placement) -> Routine:
    """Another placement instead of this one."""
    part = _part_with(routine, performer, index)
    changed = (*part.placements[:index], new, *part.placements[index + 1 :])
    return routine.with_part(replace(part, placements=changed))


def shift(routine: Routine, performer: str, index: int, by_beats: Fraction) -> Routine:
    """Move one placement along the timeline."""
    old = placement_at(routine, performer, index)
    return change(routine, performer, index, delayed(old, by_beats))


def resize(routine: Routine, performer: str, index: int, length_beats: Fraction) -> Routine:
    """Give a placement another length.

    Raises
    ------
    ComposerError
        If the length is not positive.
    """
    if length_beats <= 0:
        raise ComposerError(f"a move lasts at least a part of a beat, not {length_beats}")
    old = placement_at(routine, performer, index)
    span = BeatSpan(old.span.start_beat, length_beats)
    return change(routine, performer, index, replace(old, span=span))


def restyle(routine: Routine, performer: str, index: int, **choices: Any) -> Routine:
    """Change choices of the style (entry, relation, mirrored, ...) of one placement."""
    old = placement_at(routine, performer, index)
    return change(routine, performer, index, replace(old, style=replace(old.style, **choices)))


def set_rate(routine: Routine, performer: str, index: int, rate: Fraction) -> Routine:
    """Give a placement another number of downbeats a beat.

    Raises
    ------
    ComposerError
        If the rate is not positive.
    """
    if rate <= 0:
        raise ComposerError(f"a rate is positive, such as 1 or 1/2, not {rate}")
    return change(
        routine, performer, index, replace(placement_at(routine, performer, index), rate=rate)
    )


def repeat_until(routine: Routine, performer: str, index: int, end_beat: Fraction) -> Routine:
    """Copies of a placement, one after another, as many as fit whole before a beat."""
    placed = placement_at(routine, performer, index)
    step = placed.span.length_beats
    copies = []
    start = placed.span.end_beat
    while start + step <= end_beat:
        copies.append(delayed(placed, start - placed.span.start_beat))
        start += step
    part = routine.part(performer)
    return routine.with_part(replace(part, placements=(*part.placements, *copies)))


def placement_at(routine: Routine, performer: str, index: int) -> Placement:
    """One of a performer's own placements."""
    return _part_with(routine, performer, index).placements[index]


def _part_with(routine: Routine, performer: str, index: int) -> Part:
    part = routine.part(performer)
    if not 0 <= index < len(part.placements):
        raise IndexError(f"{performer} has {len(part.placements)} placements, no index {index}")
    return part


# ------------------------------------------------------------------ copying stretches


@dataclass(frozen=True, slots=True)
class Clip:
    """Placements cut out of a part, timed from the start of the stretch."""

    placements: tuple[Placement, ...]
    length_beats: Fraction


def copy_clip(routine: Routine, performer: str, span: BeatSpan) -> Clip:
    """The placements that begin inside a stretch, those that reach beyond it cut at its end."""
    taken = []
    for placed in routine.part(performer).placements:
        if span.contains(placed.span.start_beat):
            end = min(placed.span.end_beat, span.end_beat)
            trimmed = BeatSpan(placed.span.start_beat, end - placed.span.start_beat)
            taken.append(delayed(replace(placed, span=trimmed), -span.start_beat))
    return Clip(tuple(taken), span.length_beats)


def paste_clip(
    routine: Routine,
    performer: str,
    at_beat: Fraction,
    clip: Clip,
    likeness: Likeness = Likeness.UNISON,
) -> Routine:
    """Put a clip down from a beat on, over what stands there."""
    for placed in clip.placements:
        pasted = like(delayed(placed, at_beat), likeness)
        routine = place_over(routine, performer, replace(pasted, pinned=False))
    return routine


def clear_span(routine: Routine, performer: str, span: BeatSpan) -> Routine:
    """Remove the placements that begin inside a stretch."""
    part = routine.part(performer)
    kept = tuple(p for p in part.placements if not span.contains(p.span.start_beat))
    return routine.with_part(replace(part, placements=kept))


# ------------------------------------------------------------------ music, spots, notes


def with_grid(routine: Routine, grid: MusicGrid) -> Routine:
    """The same placements, beat for beat, on a corrected grid."""
    return replace(routine, grid=grid)


def set_spot(routine: Routine, spot: Spot) -> Routine:
    """Add a spot, or replace the performer's spot on the same beat."""
    kept = tuple(s for s in routine.spots if (s.performer, s.beat) != (spot.performer, spot.beat))
    return replace(routine, spots=tuple(sorted((*kept, spot), key=lambda s: s.beat)))


def add_note(routine: Routine, note: CueNote) -> Routine:
    return replace(routine, notes=tuple(sorted((*routine.notes, note), key=lambda n: n.beat)))


def remove_note(routine: Routine, index: int) -> Routine:
    return replace(routine, notes=routine.notes[:index] + routine.notes[index + 1 :])
