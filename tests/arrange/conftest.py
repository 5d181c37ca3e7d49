"""Routines for the tests of proposals: one performer, a steady track in phrases of eight bars."""

from fractions import Fraction
from types import SimpleNamespace

import pytest

from composer.moves.library import Library, shipped_library
from composer.moves.perform import Style
from composer.score.routine import Part, Performer, Placement, Routine, TrackRef
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.meter import Meter, MeterChange, MeterMap
from composer.timing.tempo_map import steady_tempo_map

LIBRARY: Library = shipped_library()


def placed(
    start: object,
    length: object,
    move: str,
    rate: object = 1,
    *,
    pinned: bool = False,
    **style: object,
) -> Placement:
    span = BeatSpan(Fraction(start), Fraction(length))  # type: ignore[arg-type]
    return Placement(span, move, Fraction(rate), Style(**style), pinned=pinned)  # type: ignore[arg-type]


def piece(
    *placements: Placement,
    bpm: float = 100.0,
    meter: Meter = Meter(4, 4),  # noqa: B008 - a frozen value
    beats: int = 256,
    phrase_beats: int = 32,
    energies: tuple[float, ...] = (),
    **more: object,
) -> Routine:
    starts = range(0, beats, phrase_beats)
    levels = (*energies, *(0.5 for _ in starts))
    grid = MusicGrid(
        steady_tempo_map(bpm),
        Fraction(beats),
        MeterMap((MeterChange(Fraction(0), meter),)),
        tuple(
            Phrase(Fraction(start), f"phrase at {start}", level)
            for start, level in zip(starts, levels, strict=False)
        ),
    )
    part = Part("Wren", placements)
    return Routine("Piece", TrackRef("x.ogg"), grid, (Performer("Wren"),), (part,), **more)  # type: ignore[arg-type]


class Kit(SimpleNamespace):
    """Shown by its name only: the library is too long to print with every failing test."""

    def __repr__(self) -> str:
        return "kit"


@pytest.fixture(scope="session")
def kit() -> Kit:
    """The functions above, and the shipped library."""
    return Kit(library=LIBRARY, placed=placed, piece=piece)
