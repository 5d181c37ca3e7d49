"""What can follow at a place: rows with a move, its length there and the reason for its rank."""

from collections.abc import Collection
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from composer.moves.library import Library
from composer.moves.perform import WhichHand
from composer.score.repertoire import Firmness, Repertoire
from composer.score.routine import Placement, Routine
from tui.views.paper import Line, Piece, shortened
from tui.views.performed import style_words

if TYPE_CHECKING:
    from composer.arrange.keeping import Keeping
    from composer.check.change import Kind

FIRMNESS_GLYPHS: dict[Firmness | None, str] = {
    None: " ",
    Firmness.LEARNING: "◔",
    Firmness.RELIABLE: "◑",
    Firmness.READY: "●",
}


@dataclass(frozen=True, slots=True)
class FollowRow:
    """A placement that could stand at the cursor, and why it stands where it does in the list."""

    placement: Placement
    reason: str
    fits: bool
    kind: "Kind | None" = None
    """How it is entered; None where nothing goes before."""

    @property
    def name(self) -> str:
        return self.placement.move


def follow_rows(
    routine: Routine,
    library: Library,
    performer: str,
    beat: Fraction,
    hand: WhichHand,
    *,
    keeps: "Collection[Keeping]" = (),
    repertoire: Repertoire | None = None,
) -> tuple[FollowRow, ...]:
    """Every move of the library that keeps what is wanted, as it would be placed here, best first.

    ``repertoire`` counts in the ranking.
    """
    from composer.arrange.follow import what_can_follow  # here: it is not needed to start

    options = what_can_follow(
        routine, library, performer, beat, hand=hand, filters=keeps, repertoire=repertoire
    )
    return tuple(
        FollowRow(
            option.placement,
            "; ".join(option.reasons),
            option.closes and option.kind in (None, "smooth"),
            option.kind,
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


# ------------------------------------------------------------------ as lines


def follow_line(
    number: int, row: FollowRow, firmness: Firmness | None, width_cells: int = 26
) -> Line:
    """A row of what can follow: its key, how firmly it is had, the move, why it stands there."""
    return (
        Piece(f"{number} " if number <= 9 else "  ", "key"),
        *choice_line(row, firmness, width_cells),
        Piece(row.reason, "good" if row.fits else "quiet"),
    )


def choice_line(row: FollowRow, firmness: Firmness | None, width_cells: int) -> Line:
    """How firmly a move is had, and its name."""
    return (
        Piece(f"{FIRMNESS_GLYPHS[firmness]} "),
        Piece(f"{shortened(row.name, width_cells):<{width_cells}} ", "strong"),
    )


def entered_line(row: FollowRow, firmness: Firmness | None, width_cells: int) -> Line:
    """A row where there is no room for reasons: the move, and how it is entered in a word."""
    kind = row.kind or "a new start"
    return (
        *choice_line(row, firmness, width_cells - len("noticeable") - 3),
        Piece(kind, "good" if row.fits else "quiet"),
    )


def detail_lines(
    row: FollowRow, library: Library, firmness: Firmness | None, width_cells: int
) -> tuple[Line, Line, Line]:
    """All about a row: how it would be placed and why, what the move is, how firmly she has it."""
    move = library.get(row.name)
    also = f" Also: {', '.join(move.also)}." if move.also else ""
    had = f"{FIRMNESS_GLYPHS[firmness]} {firmness}" if firmness else "not in your repertoire"
    style = style_words(row.placement).removeprefix(row.name).removeprefix(", ")
    reason = f"{row.reason}{'; ' if style else ''}{style}"
    return (
        (Piece(f" {shortened(reason, width_cells - 2)}", "good" if row.fits else ""),),
        (Piece(f" {shortened(move.words + also, width_cells - 2)}", "quiet"),),
        (Piece(f" {had}", "strong"),),
    )
