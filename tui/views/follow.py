"""What can follow at a place: rows with a move, its length there and the reason for its rank."""

from dataclasses import dataclass
from fractions import Fraction

from composer.check.moment import CannotEnter
from composer.moves.library import Library
from composer.moves.perform import Style
from composer.score.routine import Placement, Routine
from composer.timing.beats import BeatSpan
from tui.views.fit import room_after, usual_length


@dataclass(frozen=True, slots=True)
class FollowRow:
    """A placement that could stand at the cursor, and why it stands where it does in the list."""

    placement: Placement
    reason: str
    fits: bool

    @property
    def name(self) -> str:
        return self.placement.move


def follow_rows(
    routine: Routine, library: Library, performer: str, beat: Fraction, style: Style
) -> tuple[FollowRow, ...]:
    """Every move of the library as it would be placed here, best first."""
    who = routine.performer(performer)
    starts = [
        p.span.start_beat
        for p in routine.part(performer).placements
        if set(p.hands) & set(Placement(p.span, "any", style=style).hands)
    ]
    room = room_after(routine.grid, beat, starts)
    rows = []
    for name in library.names():
        trial = Placement(BeatSpan(beat, Fraction(1)), name, style=style)
        try:
            length = usual_length(trial, library, who, routine.grid, room)
        except CannotEnter:
            continue
        placement = Placement(BeatSpan(beat, length.length_beats), name, style=style)
        rows.append(FollowRow(placement, length.words, length.closes))
    return tuple(sorted(rows, key=lambda row: not row.fits))


def filtered(
    rows: tuple[FollowRow, ...], text: str, also: dict[str, tuple[str, ...]]
) -> tuple[FollowRow, ...]:
    """Rows whose name, or another name of the move, holds every word typed."""
    words = text.casefold().split()
    return tuple(
        row
        for row in rows
        if all(
            any(word in name.casefold() for name in (row.name, *also.get(row.name, ())))
            for word in words
        )
    )
