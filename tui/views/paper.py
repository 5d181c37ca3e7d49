"""A line of text cells, each with a role that the widget gives a colour: written, then cut up."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Piece:
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
        """Write text from a cell on; what would stand outside the line is left out."""
        for cell, letter in enumerate(text, at_cell):
            if 0 <= cell < len(self._texts):
                self._texts[cell] = letter
                self._roles[cell] = role

    def is_free(self, start_cell: int, end_cell: int) -> bool:
        return all(text == " " for text in self._texts[max(0, start_cell) : end_cell])

    def line(self) -> Line:
        pieces: list[Piece] = []
        start = 0
        for cell in range(1, len(self._texts) + 1):
            if cell == len(self._texts) or self._roles[cell] != self._roles[start]:
                pieces.append(Piece("".join(self._texts[start:cell]), self._roles[start]))
                start = cell
        return tuple(pieces)


def shortened(text: str, width_cells: int) -> str:
    """Text cut to a width, with an ellipsis where something is missing."""
    if len(text) <= width_cells:
        return text
    return text[: max(0, width_cells - 1)] + "…" if width_cells > 0 else ""
