"""The solver against trying everything; pins, hands on their own, and where nothing is smooth."""

import random
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise, product
from types import SimpleNamespace

import pytest

from composer.arrange.costs import comfort_of
from composer.arrange.solve import CHANGED_COST, QUARTERS, Freed, changes_of, solve_span
from composer.check.performed import performed
from composer.check.physics import beat_lengths_s
from composer.check.transitions import transition
from composer.moves.perform import Style
from composer.score.parts import performed_part
from composer.score.routine import Following, Part, Performer, Placement, Routine
from composer.timing.beats import BeatSpan

ALL = BeatSpan(Fraction(0), Fraction(256))
ENTRIES_ONLY = Freed(turns=(Fraction(0),))


def with_styles(routine: Routine, styles: dict[int, Style]) -> Routine:
    placements = routine.part("Wren").placements
    changed = [
        replace(one, style=styles.get(index, one.style)) for index, one in enumerate(placements)
    ]
    return routine.with_part(Part("Wren", tuple(changed)))


def chain_cost(kit: SimpleNamespace, written: Routine, routine: Routine) -> tuple[float, bool]:
    """Cost of a chain of both hands by the checks' own transitions, and whether all are smooth."""
    who = routine.performers[0]
    moves = performed_part(routine, "Wren")
    cost, smooth = 0.0, True
    for before, after in pairwise(moves):
        found = transition(before, after, kit.library, who, routine.grid)
        cost += found.cost
        smooth = smooth and found.level is None
    for old, move in zip(written.part("Wren").placements, moves, strict=True):
        new = move.placement
        done = performed(new, who, kit.library)
        beats_s = beat_lengths_s(new.span, routine.grid)
        cost += comfort_of(done, who, new.rate, beats_s).cost
        cost += CHANGED_COST * changes_of(old.style, new.style)
    return cost, smooth


def entries(kit: SimpleNamespace, routine: Routine, move: str) -> int:
    who = routine.performers[0]
    trial = kit.placed(0, 1, move)
    return performed(trial, who, kit.library).performance.downbeats_per_cycle


def every_choice(
    kit: SimpleNamespace, routine: Routine, turns: tuple[Fraction, ...]
) -> list[tuple[float, bool]]:
    """All entries and turns of all moves, one after another: no cleverness at all."""
    placements = routine.part("Wren").placements
    styles = [
        [
            Style(entry=entry, orientation_turns=turn)
            for entry, turn in product(range(1, entries(kit, routine, one.move) + 1), turns)
        ]
        for one in placements
    ]
    return [
        chain_cost(kit, routine, with_styles(routine, dict(enumerate(chosen))))
        for chosen in product(*styles)
    ]


CHAINS = (
    ("mirrored diamonds", "mirrored triquetras", "mirrored diamonds"),
    ("triquetra", "static spin", "diamond"),
    ("pendulum", "one-petal in-spin", "triquetra"),
    ("mirrored one-and-a-halves", "mirrored pendulums", "static spins at both sides"),
    ("triquetra with one-petal in-spin, together opposite", "extension", "two-petal in-spin"),
)


@pytest.mark.parametrize("chain", CHAINS)
def test_the_least_cost_of_entries_is_that_of_trying_them_all(
    kit: SimpleNamespace, chain: tuple[str, ...]
) -> None:
    routine = kit.piece(*(kit.placed(7 * k, 7, name) for k, name in enumerate(chain)))
    tried = every_choice(kit, routine, (Fraction(0),))
    found = solve_span(routine, kit.library, "Wren", ALL, ENTRIES_ONLY)
    assert found.cost == pytest.approx(min(cost for cost, _ in tried), abs=1e-9)
    assert chain_cost(kit, routine, found.routine)[0] == pytest.approx(found.cost, abs=1e-9)
    assert (found.blocked is None) == any(smooth for _, smooth in tried)


def test_the_least_cost_of_entries_and_turns_is_that_of_trying_them_all(
    kit: SimpleNamespace,
) -> None:
    turns = (Fraction(0), Fraction(1, 2))
    routine = kit.piece(
        kit.placed(0, 8, "triquetra"), kit.placed(8, 8, "diamond"), kit.placed(16, 8, "triquetra")
    )
    tried = every_choice(kit, routine, turns)
    found = solve_span(routine, kit.library, "Wren", ALL, Freed(turns))
    assert found.cost == pytest.approx(min(cost for cost, _ in tried), abs=1e-9)
    assert (found.blocked is None) == any(smooth for _, smooth in tried)


def test_a_figure_entered_out_of_phase_is_put_back_in_phase(kit: SimpleNamespace) -> None:
    """Four beats of three downbeats end on the second downbeat: there the same figure goes on
    unbroken, and nothing but the changed entry is counted."""
    routine = kit.piece(
        kit.placed(0, 4, "mirrored diamonds", pinned=True), kit.placed(4, 12, "mirrored diamonds")
    )
    found = solve_span(routine, kit.library, "Wren", ALL, ENTRIES_ONLY)
    assert [new.style.entry for _, new in found.changed] == [2]
    assert found.cost == pytest.approx(CHANGED_COST, abs=1e-9)
    assert found.blocked is None
    assert [one.words for one in found.boundaries] == [
        "mirrored diamonds to mirrored diamonds: goes on unbroken"
    ]


def test_pinned_moves_and_moves_outside_the_span_stay(kit: SimpleNamespace) -> None:
    choose = random.Random(5)
    names = choose.sample(kit.library.names(), 6)
    routine = kit.piece(
        *(kit.placed(8 * k, 8, name, pinned=k == 2) for k, name in enumerate(names))
    )
    found = solve_span(routine, kit.library, "Wren", BeatSpan(Fraction(8), Fraction(32)))
    old, new = (one.part("Wren").placements for one in (routine, found.routine))
    assert [old[k] == new[k] for k in (0, 2, 5)] == [True] * 3
    assert [(p.span, p.move, p.rate, p.pinned) for p in old] == [
        (p.span, p.move, p.rate, p.pinned) for p in new
    ]
    assert found.cost <= found.cost_as_written


@pytest.mark.parametrize("seed", range(4))
def test_what_may_change_more_never_costs_more(kit: SimpleNamespace, seed: int) -> None:
    names = random.Random(seed).sample([m.name for m in kit.library.one_hand()], 3)
    routine = kit.piece(*(kit.placed(8 * k, 8, name) for k, name in enumerate(names)))
    costs = [
        solve_span(routine, kit.library, "Wren", ALL, freed).cost
        for freed in (ENTRIES_ONLY, Freed(), Freed(mirror=True), Freed(QUARTERS, True, True))
    ]
    assert costs == sorted(costs, reverse=True)
    written = solve_span(routine, kit.library, "Wren", ALL).cost_as_written
    assert costs[0] <= written


def test_hands_that_go_their_own_ways_are_one_problem(kit: SimpleNamespace) -> None:
    """The left hand spans two moves of the right and leads into what both do next."""
    routine = kit.piece(
        kit.placed(0, 6, "triquetra", hand="right"),
        kit.placed(6, 6, "diamond", hand="right"),
        kit.placed(0, 12, "pendulum", hand="left"),
        kit.placed(12, 12, "mirrored diamonds"),
    )
    found = solve_span(routine, kit.library, "Wren", ALL, ENTRIES_ONLY)
    who, best = routine.performers[0], float("inf")
    placements = routine.part("Wren").placements
    counts = [entries(kit, routine, one.move) for one in placements]
    for chosen in product(*(range(1, count + 1) for count in counts)):
        styles = {
            k: Style(entry=entry, hand=placements[k].style.hand) for k, entry in enumerate(chosen)
        }
        moves = performed_part(with_styles(routine, styles), "Wren")
        by = {(m.placement.move, m.placement.style.hand): m for m in moves}
        pairs = [
            (by["triquetra", "right"], by["diamond", "right"]),
            (by["diamond", "right"], by["mirrored diamonds", "both"]),
            (by["pendulum", "left"], by["mirrored diamonds", "both"]),
        ]
        cost = sum(transition(*pair, kit.library, who, routine.grid).cost for pair in pairs)
        cost += CHANGED_COST * sum(entry != 1 for entry in chosen)
        best = min(best, cost)
    comfort = sum(
        comfort_of(
            performed(one, who, kit.library), who, one.rate, beat_lengths_s(one.span, routine.grid)
        ).cost
        for one in placements
    )
    assert found.cost == pytest.approx(best + comfort, abs=1e-9)


def test_nothing_smooth_is_told_with_the_boundary_and_the_figure(kit: SimpleNamespace) -> None:
    """Forward and backward spins turn the head against each other in one plane at every entry:
    held hands, full speed, so the reversal is wrenching whatever is chosen (mechanics)."""
    routine = kit.piece(
        kit.placed(0, 8, "forward spin"),
        kit.placed(8, 8, "forward spin"),
        kit.placed(16, 8, "backward spin"),
    )
    found = solve_span(routine, kit.library, "Wren", ALL, ENTRIES_ONLY)
    assert found.blocked is not None
    assert found.blocked.beat == 16
    assert found.blocked.moves == ("forward spin", "backward spin")
    assert found.blocked.figure == "head turn-round"
    assert "spin reverses without a stall" in found.blocked.words
    assert [one.kind for one in found.boundaries] == ["smooth", "abrupt"]


def test_freeing_the_hands_mends_a_spin_that_runs_the_wrong_way(kit: SimpleNamespace) -> None:
    """Mirrored extensions run the left head against the right; after them static spins held
    together same must turn one head round, with the hands opposite neither."""
    routine = kit.piece(
        kit.placed(0, 12, "mirrored extensions", rate="1/2"),
        kit.placed(12, 8, "static spin", rate="1/2"),
    )
    last = BeatSpan(Fraction(12), Fraction(8))
    turned_round = []
    for freed in (Freed(), Freed(relation=True)):
        found = solve_span(routine, kit.library, "Wren", last, freed)
        before, after = performed_part(found.routine, "Wren")
        met = transition(before, after, kit.library, routine.performers[0], routine.grid)
        turned_round.append(sum(one.opposed for one in met.hands.values()))
    assert turned_round == [1, 0]
    assert after.placement.style.relation is not None
    assert after.placement.style.relation.direction == "opposite"


def test_after_a_long_rest_nothing_is_entered_from_what_went_before(kit: SimpleNamespace) -> None:
    """A rest of more than four beats is a stop and a new start; one of four is a boundary."""
    kinds = []
    for start in (12, 13):
        routine = kit.piece(
            kit.placed(0, 8, "static spin"), kit.placed(start, 8, "static spin", mirrored=True)
        )
        found = solve_span(routine, kit.library, "Wren", ALL, ENTRIES_ONLY)
        kinds.append([one.kind for one in found.boundaries])
    assert kinds == [["abrupt"], []]


def test_a_followed_part_is_left_as_its_leader_has_it(kit: SimpleNamespace) -> None:
    """The second diamonds are entered out of phase in both parts; only who wrote them may change
    them."""
    solo = kit.piece(
        kit.placed(0, 4, "mirrored diamonds"), kit.placed(4, 12, "mirrored diamonds", entry=3)
    )
    duo = replace(
        solo,
        performers=(*solo.performers, Performer("Jay")),
        parts=(*solo.parts, Part("Jay", (), (Following("Wren"),))),
    )
    held = solve_span(duo, kit.library, "Jay", ALL, ENTRIES_ONLY)
    assert (held.routine, held.changed) == (duo, ())
    assert solve_span(duo, kit.library, "Wren", ALL, ENTRIES_ONLY).changed


def test_an_empty_span_changes_nothing(kit: SimpleNamespace) -> None:
    routine = kit.piece(kit.placed(0, 8, "static spin"))
    found = solve_span(routine, kit.library, "Wren", BeatSpan(Fraction(64), Fraction(8)))
    assert found.routine == routine
    assert (found.cost, found.boundaries, found.blocked) == (0.0, (), None)


def test_a_move_nobody_knows_is_left_alone(kit: SimpleNamespace) -> None:
    routine = kit.piece(
        kit.placed(0, 8, "static spin"),
        kit.placed(8, 8, "no such move"),
        kit.placed(16, 8, "diamond"),
    )
    found = solve_span(routine, kit.library, "Wren", ALL)
    placements: tuple[Placement, ...] = found.routine.part("Wren").placements
    assert placements[1] == routine.part("Wren").placements[1]
