"""What can follow at a place: rows with a move, its length there and the reason for its rank."""

from dataclasses import dataclass
from fractions import Fraction

from composer.moves.library import Library
from composer.moves.perform import WhichHand
from composer.score.routine import Placement, Routine


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
    routine: Routine, library: Library, performer: str, beat: Fraction, hand: WhichHand
) -> tuple[FollowRow, ...]:
    """Every move of the library as it would be placed here, best first."""
    from composer.arrange.follow import what_can_follow  # here: it is not needed to start

    options = what_can_follow(routine, library, performer, beat, hand=hand)
    return tuple(
        FollowRow(
            option.placement,
            "; ".join(option.reasons),
            option.closes and option.kind in (None, "smooth"),
        )
        for option in options
    )


def filtered(
    rows: tuple[FollowRow, ...], text: str, also: dict[str, tuple[str, ...]]
) -> tuple[FollowRow, ...]:
    """Rows whose name, or another name of the move, holds every word typed.

    A move that is called just so comes first, then those whose names begin so.
    """
    words = text.casefold().split()
    typed = " ".join(words)
    found = [
        row
        for row in rows
        if all(
            any(word in name.casefold() for name in (row.name, *also.get(row.name, ())))
            for word in words
        )
    ]
    return tuple(
        sorted(
            found,
            key=lambda row: (
                row.name.casefold() != typed,
                not row.name.casefold().startswith(typed),
            ),
        )
    )
