"""Routines for the tests of checks: one performer, a steady track, moves placed in a row."""

from fractions import Fraction
from types import SimpleNamespace

import pytest

from composer.moves.library import Library, shipped_library
from composer.moves.perform import Style
from composer.score.parts import PlacedMove
from composer.score.routine import Part, Performer, Placement, Routine, TrackRef
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.meter import Meter, MeterChange, MeterMap
from composer.timing.tempo_map import steady_tempo_map

LIBRARY: Library = shipped_library()
WREN = Performer("Wren")


def grid(
    bpm: float = 100.0,
    meter: Meter = Meter(4, 4),  # noqa: B008 - a frozen value
    beats: int = 256,
    phrases: tuple[int, ...] = (),
) -> MusicGrid:
    return MusicGrid(
        steady_tempo_map(bpm),
        Fraction(beats),
        MeterMap((MeterChange(Fraction(0), meter),)),
        tuple(Phrase(Fraction(start), f"phrase {i}") for i, start in enumerate(phrases, 1)),
    )


def placed(
    move: str, start: object, length: object, rate: object = 1, facing: object = 0, **style: object
) -> Placement:
    return Placement(
        BeatSpan(Fraction(start), Fraction(length)),
        move,
        Fraction(rate),
        Style(**style),
        Fraction(facing),
    )


def done(placement: Placement, index: int = 0, performer: str = "Wren") -> PlacedMove:
    return PlacedMove(placement, performer, performer, index)


def routine(
    *placements: Placement, on: MusicGrid | None = None, performer: Performer = WREN
) -> Routine:
    return Routine(
        "test piece",
        TrackRef("piece.ogg"),
        on or grid(),
        (performer,),
        (Part(performer.name, placements),),
    )


class Kit(SimpleNamespace):
    """Shown by its name only: the library is too long to print with every failing test."""

    def __repr__(self) -> str:
        return "kit"


@pytest.fixture(scope="session")
def kit() -> Kit:
    """The functions above, and the shipped library."""
    return Kit(library=LIBRARY, wren=WREN, grid=grid, placed=placed, done=done, routine=routine)
