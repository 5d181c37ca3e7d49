"""Who lands together: arithmetic of cycles, and canons read back."""

from fractions import Fraction

from composer.check.landing import landing_table
from composer.check.landing_unison import unison_windows
from composer.commands.landing import table_lines, unison_lines
from composer.moves.library import shipped_library
from composer.score.routine import (
    Following,
    Likeness,
    Part,
    Performer,
    Placement,
    Routine,
    TrackRef,
)
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid
from composer.timing.tempo_map import steady_tempo_map

LIBRARY = shipped_library()


def group(*parts: Part) -> Routine:
    grid = MusicGrid(steady_tempo_map(120), Fraction(24))
    performers = tuple(Performer(part.performer) for part in parts)
    return Routine("Group", TrackRef("x.ogg"), grid, performers, parts)


def placed(start: int, length: int, move: str) -> Placement:
    return Placement(BeatSpan(Fraction(start), Fraction(length)), move)


def test_cycles_of_three_and_two_beats_land_together_every_third_bar() -> None:
    """lcm(3, 4) = 12: three downbeats close on every third bar of four; two on every one."""
    rows = landing_table(
        group(
            Part("A", (placed(0, 24, "mirrored diamonds"),)),
            Part("B", (placed(0, 24, "mirrored triquetras"),)),
        ),
        LIBRARY,
    )
    assert [row.bar for row in rows if row.all_close] == [4, 7]
    assert [row.bar for row in rows if "B" in row.closing] == [2, 3, 4, 5, 6, 7]


def test_a_mirrored_part_is_together_throughout_and_a_canon_is_not() -> None:
    lead = Part("A", (placed(0, 8, "triquetra"), placed(8, 8, "static spin")))
    mirror = Part("B", (), (Following("A", Likeness.MIRRORED),))
    late = Part("C", (), (Following("A", delay_beats=Fraction(8)),))
    routine = group(lead, mirror, late)
    windows = unison_windows(routine, LIBRARY)
    assert [(one.span, one.performers, one.mirrored) for one in windows] == [
        (BeatSpan(Fraction(0), Fraction(16)), ("A", "B"), True)
    ]
    shown = "\n".join(
        [*table_lines(routine, landing_table(routine, LIBRARY)), *unison_lines(routine, windows)]
    )
    assert "16 beats: A, B mirrored" in shown
