"""What may be wanted to stay into the next move: filters of what can follow, with their keys."""

from collections.abc import Collection

from composer.arrange.keeping import Keeping
from tui.views.paper import Line, Piece

KEEPINGS: tuple[Keeping, ...] = (
    Keeping.HEADS,
    Keeping.HANDS,
    Keeping.UNIT_CIRCLE,
    Keeping.ONE_HAND,
)
"""In the order of their keys."""


def filter_line(keeps: Collection[Keeping], only_had: bool) -> Line:
    """The filters with their keys; a tick stands before those that hold."""
    pieces: list[Piece] = [Piece(" keep")]
    words = [*((str(one), one in keeps) for one in KEEPINGS), ("only mine", only_had)]
    for key, (word, holds) in enumerate(words, 1):
        text = {"one hand changes": "one hand"}.get(word, word)
        pieces += [Piece(f" {key}", "key"), Piece("✓" if holds else " ", "good")]
        pieces.append(Piece(text, "strong" if holds else "quiet"))
    return tuple(pieces)
