"""Edits of who follows whom: a stretch of one part taken from another's, given up, or made her own.

A stretch is in the follower's own time. Followed moves are worked out when they are looked at and
never written into the file; only :func:`made_own` writes them.
"""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from composer.arrange.edits import clear_span
from composer.errors import ComposerError
from composer.score.parts import PlacedMove, performed_part, performed_parts
from composer.score.routine import Following, Part, Routine
from composer.timing.beats import BeatSpan, beats_words


def follow(routine: Routine, performer: str, following: Following) -> Routine:
    """Let a part follow another's over a stretch, instead of whom it followed there before.

    Moves of her own in the stretch go, except those pinned: they would stand before the followed
    ones. A stretch that goes on in the same way as the one beside it becomes one with it.

    Raises
    ------
    ComposerError
        If parts would follow each other in a circle; the chain is named.
    ValueError
        If the following has no stretch.
    """
    if following.span is None:
        raise ValueError("say over which stretch the part follows")
    cleared = unfollowed(routine, performer, following.span)
    pins = [p for p in cleared.part(performer).placements if p.pinned]
    cleared = clear_span(cleared, performer, following.span)
    part = cleared.part(performer)
    kept = tuple(p for p in pins if p not in part.placements)
    joined = tuple(_joined([*part.following, following]))
    changed = cleared.with_part(
        replace(part, placements=(*part.placements, *kept), following=joined)
    )
    performed_parts(changed)
    return changed


def unfollowed(routine: Routine, performer: str, span: BeatSpan) -> Routine:
    """A part that follows nobody over a stretch; what it followed around it stays."""
    part = routine.part(performer)
    whole = BeatSpan(Fraction(0), max(routine.grid.end_beat, span.end_beat))
    left = tuple(piece for one in part.following for piece in _outside(one, span, whole))
    return routine.with_part(replace(part, following=left))


def made_own(routine: Routine, performer: str, span: BeatSpan) -> Routine:
    """The followed moves that begin in a stretch written into her own part, there to be changed.

    Raises
    ------
    ComposerError
        If she follows nobody there.
    """
    taken = tuple(
        replace(move.placement, pinned=False)
        for move in performed_part(routine, performer)
        if move.written_by != performer and span.contains(move.span.start_beat)
    )
    if not taken:
        raise ComposerError(f"{performer} follows nobody here")
    part = unfollowed(routine, performer, span).part(performer)
    return routine.with_part(replace(part, placements=(*part.placements, *taken)))


def following_at(routine: Routine, performer: str, beat: Fraction) -> Following | None:
    """Whom a part follows on a beat by its latest word; None if nobody."""
    here = [
        one
        for one in routine.part(performer).following
        if one.span is None or one.span.contains(beat)
    ]
    return here[-1] if here else None


def leader_words(routine: Routine, move: PlacedMove) -> str:
    """With or after whom she does a followed move: ``"2 beats after Wren"``; else empty."""
    if move.written_by == move.performer:
        return ""
    one = following_at(routine, move.performer, move.span.start_beat)
    if one is None or not one.delay_beats:
        return f"with {move.written_by if one is None else one.performer}"
    return f"{beats_words(one.delay_beats)} after {one.performer}"


def _outside(following: Following, span: BeatSpan, whole: BeatSpan) -> Iterator[Following]:
    """What is left of a following before and after a stretch."""
    own = following.span or whole
    if not own.intersects(span):
        yield following
        return
    edges = ((own.start_beat, span.start_beat), (span.end_beat, own.end_beat))
    for start, end in edges:
        if start < end:
            yield replace(following, span=BeatSpan(start, end - start))


def _joined(following: list[Following]) -> Iterator[Following]:
    """In time order, those that go on in one way made one."""
    before: Following | None = None
    for one in sorted(following, key=_start_beat):
        if before is not None and _goes_on(before, one):
            assert before.span is not None
            assert one.span is not None
            length = one.span.end_beat - before.span.start_beat
            before = replace(before, span=BeatSpan(before.span.start_beat, length))
            continue
        if before is not None:
            yield before
        before = one
    if before is not None:
        yield before


def _start_beat(following: Following) -> Fraction:
    return Fraction(0) if following.span is None else following.span.start_beat


def _goes_on(before: Following, after: Following) -> bool:
    if before.span is None or after.span is None:
        return False
    alike = replace(before, span=None) == replace(after, span=None)
    return alike and before.span.end_beat == after.span.start_beat


def own_moves_in(part: Part, span: BeatSpan) -> int:
    """How many moves of her own, not pinned, begin in a stretch."""
    return sum(not p.pinned and span.contains(p.span.start_beat) for p in part.placements)
