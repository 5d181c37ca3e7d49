"""Sentences for a terminal: as wide as it is, and no wider than is easy to read."""

import shutil
import sys
import textwrap

WIDEST, NARROWEST = 96, 40


def text_width() -> int:
    """Cells a line may take; the widest where the output is no terminal."""
    columns = shutil.get_terminal_size((WIDEST, 24)).columns
    return max(NARROWEST, min(WIDEST, columns))


def can_print(letters: str) -> bool:
    """Whether the output has these letters: not every terminal speaks Unicode."""
    try:
        letters.encode(sys.stdout.encoding or "utf-8")
    except UnicodeEncodeError:
        return False
    return True


def wrapped(text: str, indent: str = "") -> list[str]:
    """The text in lines, each with the indent before it."""
    return textwrap.wrap(text, text_width(), initial_indent=indent, subsequent_indent=indent)
