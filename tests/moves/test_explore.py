"""Hybrids told apart on arrays agree with each looked at by itself, and are what was asked for."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.motion.body import Body, Comfort, Prop
from composer.motion.family import Family, families
from composer.motion.tension import tension
from composer.moves.difficulty import difficulty
from composer.moves.explore import FOUR_RELATIONS, candidates, is_even
from composer.moves.found import Tempo, is_wanted, looked_at, search
from composer.moves.library import shipped_library
from composer.moves.model import Relation, relation_from_text
from composer.moves.neighbours import next_moves
from composer.moves.perform import Style, perform
from composer.moves.wanted import Wanted, at_tempo, chosen

BODY, PROPS = Body(), (Prop(), Prop())
LIBRARY = shipped_library()
EVEN = [move for move in LIBRARY.one_hand() if is_even(move) and move.plane == "wall"]
RELATIONS = tuple(
    Relation(Fraction(timing, 4), direction)
    for timing in range(4)
    for direction in ("same", "opposite")
)
TURNS = (Fraction(0), Fraction(1, 8), Fraction(1, 4), Fraction(1, 2))
EVERYTHING = candidates(EVEN, BODY, PROPS, relations=RELATIONS, orientations=TURNS)
AT_TEMPO = {bpm: at_tempo(EVERYTHING, bpm, Fraction(1)) for bpm in (50.0, 90.0, 140.0)}


def moves(*names):
    return [LIBRARY.get_one_hand(name) for name in names]


def test_tens_of_thousands_are_enumerated_and_each_once():
    assert len(EVERYTHING) > 20_000
    keys = np.stack(
        [
            EVERYTHING.right,
            EVERYTHING.left,
            EVERYTHING.relation,
            EVERYTHING.orientation,
            EVERYTHING.left_entry,
        ]
    )
    assert len(np.unique(keys, axis=1).T) == len(EVERYTHING)


def test_two_patterns_have_as_many_entries_as_the_left_passes_the_bottom():
    """A pentagram's hand passes the bottom twice in a closure, a static spin's head once."""
    found = candidates(moves("pentagram", "static spin"), BODY, PROPS, relations=FOUR_RELATIONS[:1])
    names = [
        (found.moves[right].name, found.moves[left].name)
        for right, left in zip(found.right, found.left, strict=True)
    ]
    assert names.count(("pentagram", "pentagram")) == 2
    assert names.count(("pentagram", "static spin")) == 1
    assert names.count(("static spin", "pentagram")) == 3


@settings(max_examples=60, deadline=None)
@given(number=st.integers(0, len(EVERYTHING) - 1))
def test_a_row_is_what_the_hybrid_is_by_itself(number):
    """The slow way (one hybrid, exact search) is the reference for the quick one."""
    two = perform(EVERYTHING.hybrid(number), Style(), BODY, PROPS)
    hands = two.two_hands
    rows = EVERYTHING.rows
    assert rows.right_downbeats[number] == len(hands.right.downbeats)
    assert rows.left_downbeats[number] == len(hands.left.downbeats)
    assert EVERYTHING.families(number) == families(hands)
    assert EVERYTHING.points[number] == pytest.approx(difficulty(two).points, rel=0, abs=1e-9)
    alone = looked_at(EVERYTHING.hybrid(number), BODY, PROPS, Tempo())
    assert rows.nearest_heads_m[number] == pytest.approx(alone.nearest_heads_m, rel=0, abs=0.01)
    if alone.heads is not None and rows.head_timing[number] >= 0:
        assert rows.heads_same[number] == (alone.heads.direction == "same")


@settings(max_examples=25, deadline=None)
@given(number=st.integers(0, len(EVERYTHING) - 1), bpm=st.sampled_from(sorted(AT_TEMPO)))
def test_a_row_at_tempo_pulls_as_the_tether_does(number, bpm):
    """Tension by the search over the cycle is the reference; 64 instants come within 0.5 m/s^2."""
    speeds = AT_TEMPO[bpm]
    performance = perform(EVERYTHING.hybrid(number), Style(), BODY, PROPS)
    cycle_s = float(performance.cycle_beats(Fraction(1))) * 60 / bpm
    prop = Prop(head_mass_kg=1.0)
    track = performance.two_hands.right
    exact = tension(track.pattern, prop, cycle_s=cycle_s / track.cycles).lowest_n.value
    assert speeds.right_pull[number] == pytest.approx(exact, rel=0.02, abs=0.5)


def test_only_what_was_wanted_comes_out_and_the_easiest_first():
    wanted = Wanted(
        families=frozenset({Family.EQUAL_DOWNBEATS}),
        downbeats=2,
        clearance_m=0.1,
        most_points=6.0,
    )
    numbers = chosen(EVERYTHING, wanted)
    assert len(numbers)
    for number in numbers:
        assert Family.EQUAL_DOWNBEATS in EVERYTHING.families(number)
        assert EVERYTHING.rows.right_downbeats[number] == 2
        assert EVERYTHING.rows.nearest_heads_m[number] >= 0.1
    assert np.all(np.diff(EVERYTHING.points[numbers]) >= 0)
    assert EVERYTHING.points[numbers].max() <= 6


def test_every_triquetra_pairs_with_a_one_petal_in_spin_in_four_relations():
    """|n| equal, so as many downbeats for the same hand turns (common practice)."""
    result = search(
        moves("triquetra", "one-petal in-spin"),
        BODY,
        PROPS,
        Wanted(families=frozenset({Family.EQUAL_DOWNBEATS})),
    )
    assert {str(found.hybrid.hands) for found in result.shown} == {str(r) for r in FOUR_RELATIONS}
    assert result.as_wanted == 2 * 4  # either way round


def test_composites_and_pendulums_are_combined_too():
    wanted = Wanted(families=frozenset({Family.COMPOSITE}), downbeats=2)
    result = search(moves("pendulum", "three-petal composite"), BODY, PROPS, wanted, limit=100)
    assert result.combined > result.as_wanted > 0
    pairs = {(f.hybrid.right.move.name, f.hybrid.left.move.name) for f in result.shown}
    assert ("pendulum", "three-petal composite") in pairs
    assert all(is_wanted(found, wanted) for found in result.shown)


def test_too_quick_or_too_slow_a_tempo_is_not_feasible():
    """A still hand's tether falls slack below sqrt(g/L)/(2 pi): 40 turns a minute at 0.55 m."""
    static = moves("static spin")
    for bpm, fits in ((39, False), (42, True)):
        result = search(static, BODY, PROPS, Wanted(feasible=True), tempo=Tempo(float(bpm)))
        assert (result.as_wanted > 0) is fits
    calm = Body(comfort=Comfort(hand_turns_per_s=1.0))
    quick = search(moves("extension"), calm, PROPS, Wanted(feasible=True), tempo=Tempo(130.0))
    assert quick.as_wanted == 0


def test_heads_of_a_wanted_relation():
    """Isolation and extension with hands together have heads split (derivation)."""
    found = search(
        moves("small extension", "isolation"),
        BODY,
        PROPS,
        Wanted(heads=relation_from_text("split same")),
        relations=FOUR_RELATIONS[:1],
    )
    pairs = {(f.hybrid.right.move.name, f.hybrid.left.move.name) for f in found.shown}
    assert pairs == {("small extension", "isolation"), ("isolation", "small extension")}


def test_uneven_moves_and_several_planes_are_refused_on_arrays():
    with pytest.raises(ValueError, match='"pendulum" is not one even pattern'):
        candidates(moves("pendulum"), BODY, PROPS)
    with pytest.raises(ValueError, match="one plane"):
        search(moves("extension", "floor spin overhead"), BODY, PROPS, Wanted())


# ------------------------------------------------------------------ what to learn next


def steps(*known):
    found = next_moves(LIBRARY, [LIBRARY.get(name) for name in known], BODY, PROPS)
    return {step.move.name: step for step in found}


def test_what_is_one_change_away_of_a_one_hand_move():
    found = steps("triquetra")
    assert found["diamond"].change == "a petal more"
    assert found["triquetra pointing left"].change == "turned another way"
    assert found["small triquetra"].change == "another size of the hand's circle"
    assert "five-petal anti-spin" not in found
    assert "extension with triquetra" not in found


def test_two_known_moves_may_be_put_together():
    assert "extension with triquetra" in steps("extension", "triquetra")
    assert "extension with triquetra" not in steps("extension")


def test_a_hybrid_leads_to_the_same_in_another_relation():
    found = steps("triquetra with one-petal in-spin, together same")
    assert found["triquetra with one-petal in-spin, split same"].change == "hands split same"
    assert "diamond with two-petal in-spin, together same" not in found  # two changes


def test_the_easiest_comes_first_and_nothing_known_comes_again():
    known = ("extension", "triquetra", "isolation")
    found = list(steps(*known).values())
    assert [step.points for step in found] == sorted(step.points for step in found)
    assert not {step.move.name for step in found} & set(known)
