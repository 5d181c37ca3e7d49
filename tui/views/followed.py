"""How a part comes from another's, in words: of one move, and as marks on the count sheet."""

from collections.abc import Iterator
from fractions import Fraction

from composer.arrange.following import following_at
from composer.score.parts import PlacedMove
from composer.score.routine import Likeness, Routine
from composer.timing.beats import beats_words
from tui.views.marks import Mark


def how_followed(routine: Routine, move: PlacedMove) -> str:
    """How a move comes from another's part: ``"from Wren mirrored, 4 beats later"``; or empty."""
    if move.written_by == move.performer:
        return ""
    one = following_at(routine, move.performer, move.span.start_beat)
    if one is None:
        return f"from {move.written_by}"
    words = f"from {one.performer}"
    if one.performer != move.written_by:
        words += f", who has it from {move.written_by}"
    if one.likeness is not Likeness.UNISON:
        words += f", {one.likeness}"
    if one.delay_beats:
        words += f", {beats_words(one.delay_beats)} later"
    return words


def following_marks(routine: Routine, performer: str) -> Iterator[Mark]:
    """Marks where a part begins to follow another's."""
    if not routine.part(performer).following:
        return
    from composer.arrange.compare import following_words  # here: the first frame does without

    for one in routine.part(performer).following:
        beat = Fraction(0) if one.span is None else one.span.start_beat
        yield Mark(float(beat), "»", following_words(one, routine.grid), "remark")
