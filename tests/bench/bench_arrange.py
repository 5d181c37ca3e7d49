"""How quickly proposals are made: what can follow, fillings, the solver; processor time."""

import multiprocessing
import random
import time
from collections.abc import Callable
from fractions import Fraction

from composer.arrange.follow import what_can_follow
from composer.arrange.highlights import fillings
from composer.arrange.keeping import Keeping
from composer.arrange.solve import Freed, solve_span
from composer.moves.library import shipped_library
from composer.score.repertoire import Firmness, Repertoire
from composer.score.routine import Part, Performer, Placement, Routine, TrackRef
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.tempo_map import steady_tempo_map

LIBRARY = shipped_library()
BEATS = 1200
FOLLOW_MS, FILL_S = 100, 1.0


def took_s(job: Callable[[], object]) -> float:
    begun = time.process_time()
    job()
    return time.process_time() - begun


def composed(*placements: Placement) -> Routine:
    phrases = tuple(Phrase(Fraction(32 * k), f"phrase {k + 1}") for k in range(BEATS // 32))
    grid = MusicGrid(steady_tempo_map(120), Fraction(BEATS), phrases=phrases)
    part = Part("Wren", placements)
    return Routine("bench", TrackRef("bench.ogg"), grid, (Performer("Wren"),), (part,))


def at(start: int, length: int, move: str, *, pinned: bool = False) -> Placement:
    return Placement(BeatSpan(Fraction(start), Fraction(length)), move, pinned=pinned)


def test_what_can_follow_at_every_beat_of_a_long_routine() -> None:
    """The whole shipped library at a place under 100 ms, with filters too."""
    names = random.Random(1).choices(LIBRARY.names(), k=100)
    routine = composed(*(at(8 * k, 8, name) for k, name in enumerate(names)))

    def follow(beat: int, *filters: Keeping) -> object:
        return what_can_follow(routine, LIBRARY, "Wren", Fraction(beat), filters=filters)

    first = took_s(lambda: follow(8))
    times = sorted(took_s(lambda b=beat: follow(b)) for beat in range(16, 400, 5))
    middle, worst = (1000 * times[at] for at in (len(times) // 2, -1))
    print(
        f"\nwhat can follow, {len(LIBRARY.names())} moves: {middle:.0f} ms, worst of {len(times)} "
        f"places {worst:.0f} ms; with everything performed for the first time {first:.2f} s"
    )
    for keeping in Keeping:
        follow(16, keeping)
        kept = sorted(took_s(lambda b=beat, k=keeping: follow(b, k)) for beat in range(16, 96, 8))
        print(f"  only where {keeping}: {1000 * kept[len(kept) // 2]:.0f} ms")
        assert 1000 * kept[len(kept) // 2] < FOLLOW_MS
    assert middle < FOLLOW_MS


def between_pins() -> tuple[Routine, BeatSpan]:
    routine = composed(
        at(4, 12, "mirrored diamonds", pinned=True), at(80, 8, "mirrored triquetras", pinned=True)
    )
    return routine, BeatSpan(Fraction(16), Fraction(64))


def first_filling_s() -> float:
    routine, span = between_pins()
    return took_s(lambda: fillings(routine, LIBRARY, "Wren", span))


def test_fillings_of_sixteen_bars() -> None:
    """At least five different ones, each checked in place, in under a second."""
    with multiprocessing.get_context("spawn").Pool(1) as fresh:
        first = fresh.apply(first_filling_s)
    print(f"\nthe first filling of 16 bars in a new process: {first:.2f} s")
    assert first < FILL_S
    routine, span = between_pins()
    learnt = random.Random(2).sample(LIBRARY.names(), 50)
    own = Repertoire("Wren", dict.fromkeys(learnt, Firmness.RELIABLE))
    fillings(routine, LIBRARY, "Wren", span)
    for words, repertoire in (("the library", None), ("a repertoire of 50 moves", own)):
        found = fillings(routine, LIBRARY, "Wren", span, repertoire=repertoire)
        took = min(
            took_s(lambda r=repertoire: fillings(routine, LIBRARY, "Wren", span, repertoire=r))
            for _ in range(3)
        )
        clean = sum(one.is_clean for one in found)
        print(f"\n{len(found)} fillings of 16 bars from {words}, {clean} clean: {took:.2f} s")
        assert len(found) >= 5
        assert took < FILL_S


def test_best_entries_of_twenty_moves() -> None:
    names = random.Random(3).choices(LIBRARY.names(), k=20)
    routine = composed(*(at(8 * k, 8, name) for k, name in enumerate(names)))
    span = BeatSpan(Fraction(0), Fraction(160))
    for words, freed in (
        ("entries and quarter turns", Freed()),
        ("mirror too", Freed(mirror=True)),
    ):
        took = took_s(lambda f=freed: solve_span(routine, LIBRARY, "Wren", span, f))
        again = took_s(lambda f=freed: solve_span(routine, LIBRARY, "Wren", span, f))
        print(f"\n20 moves, {words}: {took:.2f} s, again {again:.2f} s")
        assert again < 5
