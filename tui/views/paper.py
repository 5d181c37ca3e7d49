"""A line of text cells, each with a role that the widget gives a colour: written, then cut up."""

from functools import lru_cache
from itertools import groupby
from typing import NamedTuple

from rich.cells import cell_len, get_character_cell_size


class Piece(NamedTuple):
    """A run of text with one role, such as ``"name"`` or ``"warning"``."""

    text: str
    role: str = ""


Line = tuple[Piece, ...]


def plain(line: Line) -> str:
    """A line as the terminal shows it, without its roles."""
    return "".join(piece.text for piece in line)


class LineWriter:
    """A line of a given width that is filled by position; later text lies over earlier text."""

    def __init__(self, width_cells: int) -> None:
        self._texts = [" "] * width_cells
        self._roles = [""] * width_cells

    def put(self, at_cell: int, text: str, role: str = "") -> None:
        """Write text from a cell on; what would stand outside the line is left out.

        A sign that takes two cells stands in the first of them; an accent that takes none joins
        the sign before it.
        """
        if is_one_cell_each(text):
            self._put_plain(at_cell, text, role)
            return
        cell = at_cell
        for letter in text:
            width = get_character_cell_size(letter)
            if not width:
                if 0 < cell <= len(self._texts):
                    self._texts[cell - 1] += letter
            elif cell >= 0 and cell + width <= len(self._texts):
                for taken in range(cell, cell + width):
                    self._clear(taken)
                    self._texts[taken] = letter if taken == cell else ""
                    self._roles[taken] = role
            cell += width

    def _put_plain(self, at_cell: int, text: str, role: str) -> None:
        start, end = max(0, at_cell), min(len(self._texts), at_cell + len(text))
        if start < end:
            self._clear(start)
            self._clear(end - 1)
            self._texts[start:end] = text[start - at_cell : end - at_cell]
            self._roles[start:end] = [role] * (end - start)

    def _clear(self, cell: int) -> None:
        """Take a sign off the line, the other half of a wide one too."""
        if self._texts[cell] == "":
            self._texts[cell - 1] = " "
        elif cell + 1 < len(self._texts) and self._texts[cell + 1] == "":
            self._texts[cell + 1] = " "

    def is_free(self, start_cell: int, end_cell: int) -> bool:
        return all(text == " " for text in self._texts[max(0, start_cell) : end_cell])

    def line(self) -> Line:
        pieces: list[Piece] = []
        start = 0
        for role, run in groupby(self._roles):
            end = start + len(list(run))
            pieces.append(Piece("".join(self._texts[start:end]), role))
            start = end
        return tuple(pieces)


@lru_cache(maxsize=4096)
def is_one_cell_each(text: str) -> bool:
    """Whether every sign of a text takes one cell."""
    return text.isascii() or all(get_character_cell_size(letter) == 1 for letter in text)


def shortened(text: str, width_cells: int) -> str:
    """Text cut to a width, with an ellipsis where something is missing."""
    if cell_len(text) <= width_cells:
        return text
    kept, room = "", width_cells - 1
    for letter in text:
        room -= get_character_cell_size(letter)
        if room < 0:
            break
        kept += letter
    return kept + "…" if width_cells > 0 else ""
