"""How long a group takes to check: 12 performers with 400 moves each, and one edit of it."""

import gc
import time
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from composer.arrange.edits import set_spot
from composer.arrange.formations import FORMATIONS, formed
from composer.check import (
    checks,
    demands,
    fit,
    group,
    landing,
    moment,
    spacing,
    spacing_sight,
    spacing_walks,
    spacing_words,
)
from composer.check.checks import check_routine
from composer.check.group import group_findings
from composer.check.landing import landing_table
from composer.check.landing_unison import unison_windows
from composer.moves import perform
from composer.moves.library import Library, shipped_library
from composer.moves.perform import Style
from composer.score import floor
from composer.score.parts import performed_parts
from composer.score.routine import (
    Following,
    Likeness,
    Part,
    Performer,
    Placement,
    Routine,
    Stage,
    TrackRef,
)
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.tempo_map import steady_tempo_map
from tui.main import GC_THRESHOLDS

PERFORMERS, MOVES, BEATS = 12, 400, 1200
NAMES = [f"Voice {k}" for k in range(PERFORMERS)]


def music() -> MusicGrid:
    phrases = tuple(Phrase(Fraction(32 * k), f"phrase {k + 1}") for k in range(BEATS // 32))
    return MusicGrid(steady_tempo_map(120), Fraction(BEATS), phrases=phrases)


def moves(library: Library, first: int) -> tuple[Placement, ...]:
    """400 moves of 3 beats, of 40 that everybody has, each performer from another one on."""
    names = library.names()[:40]
    return tuple(
        Placement(
            BeatSpan(Fraction(3 * k), Fraction(3)),
            names[(7 * k + first) % len(names)],
            style=Style(mirrored=k % 2 == 1),
        )
        for k in range(MOVES)
    )


def large_group(library: Library, *, followed: bool) -> Routine:
    """Everybody with moves of her own, or all but one following her in canon and mirror."""
    parts = [Part(NAMES[0], moves(library, 0))]
    for k, name in enumerate(NAMES[1:], 1):
        if followed:
            likeness = Likeness.MIRRORED if k % 2 else Likeness.UNISON
            parts.append(Part(name, (), (Following(NAMES[0], likeness, Fraction(k)),)))
        else:
            parts.append(Part(name, moves(library, 3 * k)))
    people = tuple(Performer(name) for name in NAMES)
    routine = Routine(
        "bench", TrackRef("x.ogg"), music(), people, tuple(parts), stage=Stage(40, 30)
    )
    for k, phrase in enumerate(routine.grid.phrases):
        shape = list(FORMATIONS)[k % len(FORMATIONS)]
        routine = formed(routine, shape, phrase.start_beat, travel_beats=Fraction(16))
    return routine


def forget_everything() -> None:
    for kept in (
        checks._desk, moment._performed, moment._moment, demands._shape, demands.demands,
        fit._rates_closing_in, fit._symmetry_turns, fit._turns_by_phase, fit._lands, fit._shares,
        perform._perform, floor._ways, floor._way, spacing._times_nearer, spacing_sight._covered,
        group._mirror_stands, group._closing, spacing_words._pair, spacing.times_near_an_edge,
        spacing_walks.walks, landing._closes_at, landing._meetings,
    ):  # fmt: skip
        kept.cache_clear()
    gc.collect()


def took_ms(routine: Routine, library: Library) -> float:
    begun = time.process_time()
    check_routine(routine, library)
    return 1000 * (time.process_time() - begun)


def move_edits(routine: Routine, library: Library) -> Iterator[Routine]:
    """Twenty edits, each of another move of the first performer."""
    part, names = routine.parts[0], library.names()
    for k in range(20):
        place = 17 * k % MOVES
        new = replace(part.placements[place], move=names[(11 * k + 5) % 40], style=Style())
        changed = (*part.placements[:place], new, *part.placements[place + 1 :])
        yield routine.with_part(replace(part, placements=changed))


def spot_edits(routine: Routine) -> Iterator[Routine]:
    """Twenty edits, each of another spot."""
    for k in range(20):
        spot = routine.spots[23 * k % len(routine.spots)]
        yield set_spot(routine, replace(spot, x_m=spot.x_m + 0.25))


def test_a_large_group_is_checked_and_edited() -> None:
    """12 performers with 400 moves each under 2 s, after any edit under 50 ms.

    Garbage is collected as in the app: with the usual thresholds, looking through all that is kept
    of the checks takes 50 to 70 ms of every twentieth edit or so.
    """
    library = shipped_library()
    usual = gc.get_threshold()
    gc.set_threshold(*GC_THRESHOLDS)
    try:
        check_and_edit(library)
    finally:
        gc.set_threshold(*usual)


def check_and_edit(library: Library) -> None:
    for followed in (False, True):
        routine = large_group(library, followed=followed)
        forget_everything()
        whole = took_ms(routine, library)
        again = min(took_ms(routine, library) for _ in range(5))
        moved = sorted(took_ms(edited, library) for edited in move_edits(routine, library))
        spots = sorted(took_ms(edited, library) for edited in spot_edits(routine))
        parts = performed_parts(routine)
        begun = time.process_time()
        group_findings(routine, parts, library)
        alone = 1000 * (time.process_time() - begun)
        print(
            f"\n{PERFORMERS} x {MOVES} moves, {len(routine.spots)} spots, "
            f"{'one leads' if followed else 'all their own'}: whole {whole:.0f} ms, unchanged "
            f"{again:.0f} ms (the group's part {alone:.0f} ms); a move {moved[10]:.0f} ms, worst "
            f"{moved[-1]:.0f} ms; a spot {spots[10]:.0f} ms, worst {spots[-1]:.0f} ms"
        )
        assert whole < 2000
        assert moved[-1] < 50
        assert spots[-1] < 50


def test_landing_and_unison_of_a_large_group() -> None:
    library = shipped_library()
    routine = large_group(library, followed=True)
    begun = time.process_time()
    rows = landing_table(routine, library)
    table_ms = 1000 * (time.process_time() - begun)
    begun = time.process_time()
    windows = unison_windows(routine, library)
    unison_ms = 1000 * (time.process_time() - begun)
    print(
        f"\nlanding of {len(rows)} bars {table_ms:.0f} ms; "
        f"{len(windows)} unison windows {unison_ms:.0f} ms"
    )
    assert table_ms < 3000
    assert unison_ms < 3000
