"""Small routines built in code, with a library of three moves and a synthetic track."""

from dataclasses import replace
from fractions import Fraction
from types import MappingProxyType

import numpy as np
import pytest

from composer.export.kinds import Sound
from composer.motion.plane import Plane
from composer.moves.lengths import length_from_text
from composer.moves.library import Library
from composer.moves.model import OneHandMove, Relation
from composer.moves.perform import Style
from composer.moves.recipe import FlowerRecipe
from composer.score.routine import (
    CueNote,
    Following,
    Likeness,
    Part,
    Performer,
    Placement,
    Routine,
    Spot,
    TrackRef,
)
from composer.timing.beats import BeatSpan
from composer.timing.grid import Accent, MusicGrid, Phrase
from composer.timing.tempo_map import Knot, TempoMap, steady_tempo_map

RATE_HZ = 44_100


def span(start: int | str, length: int | str) -> BeatSpan:
    return BeatSpan(Fraction(start), Fraction(length))


def flower_move(name: str, head_turns: int, plane: Plane = Plane.WALL) -> OneHandMove:
    recipe = FlowerRecipe(Fraction(head_turns), length_from_text("0.65 arm"))
    return OneHandMove(name, "a flower", recipe, plane=plane)


@pytest.fixture(scope="session")
def library() -> Library:
    moves = [
        flower_move("extension", 1),
        flower_move("triquetra", -2),
        flower_move("wheel extension", 1, Plane.WHEEL),
    ]
    return Library(MappingProxyType({move.name: move for move in moves}), MappingProxyType({}))


def played_tempo_map(first_s: float, last_beat: int, bpm: float = 120.0) -> TempoMap:
    """A knot on every beat, the tempo breathing by 3 % either way over 16 beats."""
    times_s, time_s = [], first_s
    for beat in range(last_beat + 1):
        times_s.append(time_s)
        time_s += 60 / bpm * (1 + 0.03 * np.sin(2 * np.pi * beat / 16))
    return TempoMap(tuple(Knot(Fraction(b), float(t)) for b, t in enumerate(times_s)))


def moves(*rows: tuple[int, int, str]) -> tuple[Placement, ...]:
    return tuple(Placement(span(start, length), name) for start, length, name in rows)


@pytest.fixture(scope="session")
def solo() -> Routine:
    """One performer, 32 beats at 120 bpm from 0.35 s on, two phrases of four bars."""
    grid = MusicGrid(
        steady_tempo_map(120.0, 0.35),
        Fraction(32),
        phrases=(Phrase(Fraction(0), "opening", 0.3), Phrase(Fraction(16), "lift", 0.9)),
        accents=(Accent(8.35, "hit"),),
    )
    placements = (
        *moves((0, 8, "extension"), (8, 8, "triquetra")),
        Placement(span(16, 8), "triquetra", style=Style(relation=Relation(Fraction(1, 2)))),
        Placement(span(24, "15/2"), "wheel extension", notes="breathe"),
    )
    return Routine(
        "Lanterns",
        TrackRef("lanterns.ogg"),
        grid,
        (Performer("Wren"),),
        (Part("Wren", placements),),
        spots=(
            Spot("Wren", Fraction(0), 0.0, 2.0),
            Spot("Wren", Fraction(20), 1.5, 3.0),
        ),
        notes=(CueNote(Fraction(28), "blue wash", "light"),),
    )


@pytest.fixture(scope="session")
def duo(solo: Routine) -> Routine:
    """Wren, and Ash who does the same mirrored four beats later; names that formats trip over."""
    awkward = 'Ash "the, comma" --> ערב 🔥'
    return replace(
        solo,
        title="=SUM(Lanterns), «dusk»",
        performers=(Performer("Wren"), Performer(awkward, fire=True)),
        parts=(
            *solo.parts,
            Part(awkward, following=(Following("Wren", Likeness.MIRRORED, Fraction(4)),)),
        ),
        grid=replace(
            solo.grid,
            phrases=(Phrase(Fraction(0), "a --> b & <i>", 0.3), Phrase(Fraction(16), "ליפט", 0.9)),
        ),
    )


@pytest.fixture(scope="session")
def sound() -> Sound:
    """17 s of a quiet tone with a click on every beat of ``solo``, in two channels."""
    samples = np.zeros((17 * RATE_HZ, 2), np.float32)
    time_s = np.arange(len(samples)) / RATE_HZ
    samples += (0.05 * np.sin(2 * np.pi * 220 * time_s))[:, None].astype(np.float32)
    for beat in range(33):
        at = round((0.35 + beat * 0.5) * RATE_HZ)
        samples[at : at + 200] += 0.6
    return Sound(samples, RATE_HZ)
