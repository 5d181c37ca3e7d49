"""Pure changes of the phrases of a music grid; what is named or moved by hand is locked."""

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

from composer.timing.grid import MusicGrid, Phrase


def add_phrase(
    grid: MusicGrid, beat: Fraction | int, name: str, *, locked: bool = True
) -> MusicGrid:
    """A phrase begins on a beat; one that began there already takes the new name."""
    start = Fraction(beat)
    index = grid.phrase_index_at(start)
    energy = grid.phrases[index].energy if index is not None else 0.5
    others = [p for p in grid.phrases if p.start_beat != start]
    return replace(grid, phrases=in_order([*others, Phrase(start, name, energy, locked)]))


def move_phrase(grid: MusicGrid, index: int, beat: Fraction | int) -> MusicGrid:
    """A phrase begins elsewhere, between its neighbours, and is locked there.

    Raises
    ------
    ValueError
        If it would pass a neighbouring phrase.
    """
    start = Fraction(beat)
    before = grid.phrases[index - 1].start_beat if index > 0 else None
    after = grid.phrases[index + 1].start_beat if index + 1 < len(grid.phrases) else None
    if (before is not None and start <= before) or (after is not None and start >= after):
        raise ValueError("a phrase cannot move past its neighbour")
    return _with_phrase(grid, index, replace(grid.phrases[index], start_beat=start, locked=True))


def rename_phrase(grid: MusicGrid, index: int, name: str) -> MusicGrid:
    return _with_phrase(grid, index, replace(grid.phrases[index], name=name, locked=True))


def lock_phrase(grid: MusicGrid, index: int, locked: bool = True) -> MusicGrid:
    return _with_phrase(grid, index, replace(grid.phrases[index], locked=locked))


def remove_phrase(grid: MusicGrid, index: int) -> MusicGrid:
    """The phrase joins the one before it."""
    return replace(grid, phrases=grid.phrases[:index] + grid.phrases[index + 1 :])


def _with_phrase(grid: MusicGrid, index: int, phrase: Phrase) -> MusicGrid:
    phrases = list(grid.phrases)
    phrases[index] = phrase
    return replace(grid, phrases=tuple(phrases))


def in_order(phrases: Iterable[Phrase]) -> tuple[Phrase, ...]:
    """By time; where two begin together the locked one stays."""
    by_start: dict[Fraction, Phrase] = {}
    for phrase in sorted(phrases, key=lambda p: (p.start_beat, p.locked)):
        by_start[phrase.start_beat] = phrase
    return tuple(by_start.values())
