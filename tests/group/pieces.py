"""Groups for the tests: the shipped piece for four, and small ones made of spots."""

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path

from composer.files.routine_file import load_routine
from composer.motion.body import Body, Prop
from composer.moves.library import Library, shipped_library
from composer.score.routine import Part, Performer, Placement, Routine, Spot, Stage, TrackRef
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid
from composer.timing.tempo_map import steady_tempo_map

FOUR_FILE = Path(__file__).parents[2] / "routines" / "four_on_the_quay.toml"
LIBRARY: Library = shipped_library()


@cache
def four() -> Routine:
    """The shipped piece for Wren, Lark, Tern and Finch."""
    return load_routine(FOUR_FILE)


def spot(name: str, beat: int, x_m: float, y_m: float = 6.0, travel: int = 4) -> Spot:
    return Spot(name, Fraction(beat), x_m, y_m, travel_beats=Fraction(travel))


def person(name: str, reach_m: float = 1.2) -> Performer:
    """Somebody whose arm, prop and head take exactly so much."""
    prop = Prop(length_m=0.5, head_radius_m=0.04)
    return Performer(name, Body(arm_m=reach_m - 0.54), prop, prop)


def standing(
    spots: Iterable[Spot], *, stage: Stage | None = None, bpm: float = 120, spin: bool = True
) -> Routine:
    """Everybody named in the spots, spinning all the time for 64 beats of 4/4."""
    spots = tuple(spots)
    names = list(dict.fromkeys(one.performer for one in spots))
    whole = Placement(BeatSpan(Fraction(0), Fraction(64)), "static spin")
    return Routine(
        "Group",
        TrackRef("x.ogg"),
        MusicGrid(steady_tempo_map(bpm), Fraction(64)),
        tuple(person(name) for name in names),
        tuple(Part(name, (whole,) if spin else ()) for name in names),
        stage=stage or Stage(40, 30),
        spots=spots,
    )


def with_spot(routine: Routine, performer: str, beat: int, /, **new: object) -> Routine:
    """The routine with one spot otherwise."""
    changed = tuple(
        replace(one, **new) if (one.performer, one.beat) == (performer, beat) else one  # type: ignore[arg-type]
        for one in routine.spots
    )
    assert changed != routine.spots
    return replace(routine, spots=changed)
