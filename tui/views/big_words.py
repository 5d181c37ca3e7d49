"""Words large enough to read from across a room, drawn in quarter-cell blocks."""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

QUARTERS = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"
"""By upper left 1, upper right 2, lower left 4, lower right 8."""
SMALLEST_ROWS = 3
"""Below three rows of cells block letters cannot be read: plain text is clearer."""
INK, BOLD_INK = 0.3, 0.42
"""Share of a quarter that must be inked for it to be filled, by thickness of the strokes."""
OVERSAMPLED = 4
BOLD_FROM_ROWS = 8
"""From this height on a dot of stroke is added round each letter: thin strokes vanish from afar.
Lower letters run together if they are bold."""
STRETCH = 2
"""A quarter of a cell is about twice as tall as wide."""


@lru_cache(maxsize=256)
def big_lines(text: str, columns: int, rows: int) -> tuple[str, ...]:
    """Text as large as fits, in one line or two; plain text where blocks would be too small.

    Returns at most ``rows`` strings of at most ``columns`` cells.
    """
    if not text or rows < 1 or columns < 1:
        return ()
    best: tuple[str, ...] = ()
    if text.isascii():
        for lines in _wrappings(text):
            drawn = _drawn(lines, columns, rows)
            if len(drawn) > len(best):
                best = drawn
    return best or _plain(text, columns, rows)


def _wrappings(text: str) -> list[tuple[str, ...]]:
    """The text in one line, and in the two lines that are most alike in length."""
    words = text.split()
    pairs = [(" ".join(words[:i]), " ".join(words[i:])) for i in range(1, len(words))]
    two = min(pairs, key=lambda pair: max(map(len, pair)), default=None)
    return [(text,), *([two] if two else [])]


def _plain(text: str, columns: int, rows: int) -> tuple[str, ...]:
    import textwrap

    return tuple(textwrap.wrap(text, columns)[:rows])


def _drawn(lines: tuple[str, ...], columns: int, rows: int) -> tuple[str, ...]:
    """The lines in blocks, each as high as fits both ways; nothing where that is too small."""
    rows_each = rows // len(lines)
    while rows_each >= SMALLEST_ROWS:
        drawn = [_block(line, rows_each) for line in lines]
        if max(block.shape[1] for block in drawn) <= 2 * columns:
            return tuple(row for block in drawn for row in _cells(block))
        rows_each -= 1
    return ()


@lru_cache(maxsize=512)
def _block(line: str, rows: int) -> NDArray[np.bool_]:
    """One line of text as filled quarters, shape=(2 rows, width)."""
    from PIL import Image, ImageDraw, ImageFont

    height = 2 * rows * OVERSAMPLED
    font = ImageFont.load_default(size=height)
    bolder = int(rows >= BOLD_FROM_ROWS)
    top, bottom = _reach(font, line, bolder)
    width = max(1, round(font.getlength(line)) + 2 * bolder)
    image = Image.new("L", (width, bottom - top))
    ImageDraw.Draw(image).text((bolder, -top), line, font=font, fill=255, stroke_width=bolder)
    wide = max(1, round(width * STRETCH / OVERSAMPLED * height / (bottom - top)))
    small = image.resize((wide + wide % 2, 2 * rows), Image.Resampling.BOX)
    return np.asarray(small) > 255 * (BOLD_INK if bolder else INK)


def _reach(font, line: str, bolder: int) -> tuple[int, int]:  # type: ignore[no-untyped-def]
    """From the top of the tallest letter to the bottom of the lowest, so that lines are alike.

    Numbers have no letters below the line, so they may be taller.
    """
    has_letters = any(letter.isalpha() for letter in line)
    box = font.getbbox("bdfghjlpqy" if has_letters else "0123456789", stroke_width=bolder)
    return int(box[1]), int(box[3])


def _cells(block: NDArray[np.bool_]) -> list[str]:
    upper, lower = block[0::2], block[1::2]
    codes = upper[:, 0::2] + 2 * upper[:, 1::2] + 4 * lower[:, 0::2] + 8 * lower[:, 1::2]
    return ["".join(QUARTERS[code] for code in row) for row in codes.astype(int)]
