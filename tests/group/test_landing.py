"""Who lands together: arithmetic of cycles, and canons read back."""

from dataclasses import replace
from fractions import Fraction

from composer.check.checks import check_routine
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
from composer.timing.grid import MusicGrid, Phrase
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


def test_where_heads_meet_and_tethers_pass_down_is_told_of_each_landing() -> None:
    """Extension with triquetra, hands together: the heads meet at a petal tip half a beat after a
    downbeat of the triquetra and every 2/3 of a beat from there (derivation); so, begun on beat
    7/2, on every bar line from 4 on, between downbeats. Isolations held apart never meet; a spin
    passes down on every beat of its own, those it begins and ends on among them."""
    off = Placement(BeatSpan(Fraction(7, 2), Fraction(20)), "extension with triquetra")
    routine = group(
        Part("A", (off,)),
        Part("B", (placed(0, 24, "extension with isolation, together"),)),
        Part("C", (placed(4, 8, "static spin"),)),
    )
    rows = landing_table(routine, LIBRARY)
    assert [row.beat for row in rows] == [0, 4, 8, 12, 16, 20, 24]
    first, second, third = zip(*(row.landings for row in rows), strict=True)
    assert [one.meets for one in first] == [False, *[True] * 5, False]
    assert not any(one.downbeat for one in first)
    assert not any(one.meets for one in second)
    assert all(one.downbeat for one in second)
    assert [one.downbeat for one in third] == [False, True, True, True, False, False, False]
    assert [one.rests for one in third] == [True, True, False, False, True, True, True]


def test_who_rests_is_not_waited_for() -> None:
    """At the end of the phrase A is part-way: news where B closes, none where B has stopped."""
    for length, told in ((24, 1), (8, 0)):
        routine = group(
            Part("A", (placed(0, 26, "mirrored diamonds"),)),
            Part("B", (placed(0, length, "mirrored triquetras"),)),
        )
        grid = replace(
            routine.grid, end_beat=Fraction(26),
            phrases=(Phrase(Fraction(0), "verse"), Phrase(Fraction(16), "end")),
        )  # fmt: skip
        found = [
            one
            for one in check_routine(replace(routine, grid=grid), LIBRARY)
            if (one.rule, one.beat) == ("not everybody closes", 16)
        ]
        assert len(found) == told


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
