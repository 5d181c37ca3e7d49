"""Fillings between highlights: whole, different, closed, on the phrases, checked from nothing."""

from fractions import Fraction
from itertools import combinations
from types import SimpleNamespace

import pytest

from composer.arrange.highlights import Filling, fillings
from composer.arrange.stretch import Stretch
from composer.check.checks import check_routine
from composer.check.demands import demands
from composer.check.findings import Level
from composer.check.performed import performed
from composer.errors import ComposerError
from composer.score.repertoire import Firmness, Repertoire
from composer.score.routine import Placement, Routine
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid
from composer.timing.meter import Meter
from composer.timing.tempo_map import Knot, TempoMap


def fill(
    kit: SimpleNamespace, routine: Routine, start: int, length: int, **more: object
) -> tuple[Filling, ...]:
    span = BeatSpan(Fraction(start), Fraction(length))
    return fillings(routine, kit.library, "Wren", span, **more)  # type: ignore[arg-type]


def highlights(kit: SimpleNamespace, start: int, end: int, **more: object) -> Routine:
    """Two pinned moves, the stretch between them free."""
    return kit.piece(
        kit.placed(start - 12, 12, "mirrored diamonds", pinned=True),
        kit.placed(end, 8, "mirrored triquetras", pinned=True),
        **more,
    )


def assert_whole(kit: SimpleNamespace, routine: Routine, filling: Filling, span: BeatSpan) -> None:
    """Nothing that was placed is touched; no beat is free or taken twice; all whole cycles."""
    old = routine.part("Wren").placements
    new = filling.routine.part("Wren").placements
    assert [one for one in new if one in old] == list(old)
    assert sorted(one.span for one in new if one not in old) == [
        one.span for one in filling.placements
    ]
    beat = span.start_beat
    for placement in filling.placements:
        assert placement.span.start_beat == beat
        beat = placement.span.end_beat
        done = performed(placement, routine.performers[0], kit.library).performance
        cycles = placement.span.length_beats * placement.rate / done.cycle_length_beats
        assert cycles.denominator == 1
    assert beat == span.end_beat


def assert_judged(kit: SimpleNamespace, routine: Routine, filling: Filling) -> None:
    """The whole check, from nothing, finds what the filling says it brings and no more."""
    before = {one.key: one.level for one in check_routine(routine, kit.library)}
    after = check_routine(filling.routine, kit.library)
    brought = {one.key for one in after if before.get(one.key, 0) < one.level}
    assert brought == {one.key for one in filling.adds}
    assert filling.is_clean == all(one.level < Level.WARNING for one in filling.adds)


@pytest.mark.parametrize("bars", [2, 4, 8, 16])
def test_at_least_five_different_fillings_each_checked_in_place(
    kit: SimpleNamespace, bars: int
) -> None:
    routine = highlights(kit, 16, 16 + 4 * bars)
    span = BeatSpan(Fraction(16), Fraction(4 * bars))
    found = fill(kit, routine, 16, 4 * bars)
    assert len(found) >= 5
    for filling in found:
        assert_whole(kit, routine, filling, span)
        assert_judged(kit, routine, filling)
    orders = [tuple((p.move, p.span) for p in one.placements) for one in found]
    assert all(one != other for one, other in combinations(orders, 2))


def test_at_least_five_of_sixteen_bars_bring_no_warning_and_share_half_at_most(
    kit: SimpleNamespace,
) -> None:
    found = fill(kit, highlights(kit, 16, 80), 16, 64)
    clean = [one for one in found if one.is_clean]
    assert len(clean) >= 5
    assert len({one.placements[0].move for one in clean}) >= 3


def test_every_phrase_begins_with_a_move(kit: SimpleNamespace) -> None:
    """Phrases of 32 beats begin at 32 and 64: no clean filling runs over one."""
    clean = [one for one in fill(kit, highlights(kit, 16, 80), 16, 64) if one.is_clean]
    assert clean
    for filling in clean:
        starts = {placement.span.start_beat for placement in filling.placements}
        assert {32, 64} <= starts


def test_fillings_are_made_of_the_repertoire_where_it_will_do(kit: SimpleNamespace) -> None:
    names = (
        "mirrored pendulums", "mirrored travelling pendulums", "mirrored one-and-a-halves",
        "pendulum with static spin", "sideways triquetras", "mirrored diamonds",
        "mirrored three-petal composites", "mirrored triquetras",
    )  # fmt: skip
    repertoire = Repertoire("Wren", dict.fromkeys(names, Firmness.RELIABLE))
    found = fill(kit, highlights(kit, 16, 80), 16, 64, repertoire=repertoire)
    assert len(found) >= 5
    assert {p.move for one in found[:3] for p in one.placements} <= set(names)


def test_a_move_that_is_learnt_gives_way_to_one_that_is_ready(kit: SimpleNamespace) -> None:
    """The dearest way round is not taken: with all else equal, readiness decides."""
    routine = highlights(kit, 16, 32)
    first = fill(kit, routine, 16, 16)[0]
    learning = dict.fromkeys(kit.library.names(), Firmness.READY)
    learning |= {one.move: Firmness.LEARNING for one in first.placements}
    repertoire = Repertoire("Wren", learning)
    again = fill(kit, routine, 16, 16, repertoire=repertoire)[0]
    used = [sum(repertoire.moves[p.move] is Firmness.LEARNING for p in one.placements)
            for one in (first, again)]  # fmt: skip
    assert used[1] < used[0]


def head_speed_m_s(kit: SimpleNamespace, routine: Routine, found: tuple[Filling, ...]) -> float:
    """Mean over fillings and beats of the heads' top speeds."""
    total, beats = 0.0, 0.0
    for placement in (p for one in found for p in one.placements):
        who = routine.performers[0]
        done = performed(placement, who, kit.library)
        cycle_s = float(done.performance.cycle_beats(placement.rate)) * 0.6
        told = demands(done, who.body, who.props, cycle_s, cycle_s)
        mean = sum(one.head_speed_m_s for one in told.values()) / 2
        total += mean * float(placement.span.length_beats)
        beats += float(placement.span.length_beats)
    return total / beats


def test_loud_phrases_get_faster_heads_than_quiet_ones(kit: SimpleNamespace) -> None:
    speeds = []
    for energy in (0.0, 1.0):
        routine = kit.piece(energies=(energy,) * 8)
        speeds.append(head_speed_m_s(kit, routine, fill(kit, routine, 32, 32)))
    assert speeds[1] > speeds[0] * 1.2


def test_other_metres_and_an_unsteady_tempo_are_filled_too(kit: SimpleNamespace) -> None:
    waltz = kit.piece(meter=Meter(3, 4), phrase_beats=24, beats=96)
    beats = [Knot(Fraction(k), 0.6 * k + 0.01 * (k % 7)) for k in range(97)]
    played = MusicGrid(TempoMap(tuple(beats)), Fraction(96))
    loose = Routine("Piece", waltz.track, played, waltz.performers)
    for routine, length in ((waltz, 24), (loose, 32)):
        found = fill(kit, routine, 0, length)
        assert len(found) >= 5
        for filling in found:
            assert_whole(kit, routine, filling, BeatSpan(Fraction(0), Fraction(length)))
            assert_judged(kit, routine, filling)


def test_hands_that_come_from_different_moves_are_both_taken_up(kit: SimpleNamespace) -> None:
    routine = kit.piece(
        kit.placed(0, 8, "triquetra", hand="right"), kit.placed(0, 8, "pendulum", hand="left")
    )
    found = fill(kit, routine, 8, 16)
    assert len(found) >= 5
    for filling in found:
        assert_judged(kit, routine, filling)


def test_what_is_placed_is_never_moved_out_of_the_way(kit: SimpleNamespace) -> None:
    routine = highlights(kit, 16, 48)
    with pytest.raises(ComposerError, match="mirrored triquetras stands there, from bar 13"):
        fill(kit, routine, 16, 36)
    with pytest.raises(ComposerError, match="17 bars are too long"):
        fill(kit, routine, 56, 68)


def test_fewer_are_given_where_fewer_are_asked_for(kit: SimpleNamespace) -> None:
    routine = highlights(kit, 16, 32)
    found = fill(kit, routine, 16, 16, count=2)
    assert len(found) == 2
    placements: tuple[Placement, ...] = found[0].placements
    assert found[0].words.startswith(f"{placements[0].move} for ")


@pytest.mark.parametrize(
    ("left", "right", "beats"),
    [("mirrored diamonds", "diamond", 32), ("static spin", "pentagram", 24)],
)
def test_a_filling_ends_in_what_leads_well_into_the_move_behind_it(
    kit: SimpleNamespace, left: str, right: str, beats: int
) -> None:
    """Both need the heads to run otherwise than before; of all ways to end the stretch, the one
    chosen is among the twentieth that goes over into the pinned move with least trouble."""
    routine = kit.piece(
        kit.placed(0, 16, left, pinned=True), kit.placed(16 + beats, 8, right, pinned=True)
    )
    best = fill(kit, routine, 16, beats)[0]
    span = BeatSpan(Fraction(16), Fraction(beats))
    stretch = Stretch(routine, kit.library, routine.performers[0], span, kit.library.names())
    costs = {
        (item.name, item.way.style, item.rate): stretch.cost_into_after(number)
        for number, item in enumerate(stretch.items)
    }
    last = best.placements[-1]
    own = costs[last.move, last.style, last.rate]
    assert sum(cost < own for cost in costs.values()) <= len(costs) / 20


def test_the_next_phrase_is_filled_with_other_moves(kit: SimpleNamespace) -> None:
    """Two calm phrases alike: the same moves would do again, but were seen a moment ago."""
    first = fill(kit, kit.piece(bpm=112.0, energies=(0.3, 0.3)), 0, 32)[0]
    second = fill(kit, first.routine, 32, 32)[:3]
    seen = {placement.move for placement in first.placements}
    assert len(seen) >= 2
    assert not seen & {one.move for filling in second for one in filling.placements}
