"""Hybrids told apart on arrays agree with each looked at by itself, and are what was asked for."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.motion.approach import Parts, extremes
from composer.motion.body import Body, Comfort, Prop
from composer.motion.family import Family, families
from composer.motion.measures import fastest
from composer.motion.placed_plane import PlacedPlane
from composer.motion.plane import Plane
from composer.motion.relation import constant_relation, head_relations
from composer.motion.tension import tension
from composer.moves.difficulty import difficulty
from composer.moves.explore import FOUR_RELATIONS, candidates
from composer.moves.found import Tempo, search
from composer.moves.library import library_from_text, shipped_library
from composer.moves.model import Relation, relation_from_text
from composer.moves.neighbours import next_moves
from composer.moves.perform import Style, perform
from composer.moves.recipe import build
from composer.moves.wanted import Wanted, at_tempo, chosen

BODY, PROPS = Body(), (Prop(), Prop())
LIBRARY = shipped_library()
RELATIONS = tuple(
    Relation(Fraction(timing, 4), direction)
    for timing in range(4)
    for direction in ("same", "opposite")
)
TURNS = (Fraction(0), Fraction(1, 8), Fraction(1, 4), Fraction(1, 2))
WALL = candidates(
    [move for move in LIBRARY.one_hand() if move.plane is Plane.WALL],
    BODY,
    PROPS,
    relations=RELATIONS,
    orientations=TURNS,
)
OTHERS = [
    candidates([m for m in LIBRARY.one_hand() if m.plane is plane], BODY, PROPS)
    for plane in (Plane.WHEEL, Plane.FLOOR)
]
ALL = [WALL, *OTHERS]
AT_TEMPO = {
    bpm: [at_tempo(found, bpm, Fraction(1)) for found in ALL] for bpm in (50.0, 90.0, 140.0)
}
ANY_ROW = st.integers(0, 2).flatmap(
    lambda which: st.tuples(st.just(which), st.integers(0, len(ALL[which]) - 1))
)


def moves(*names):
    return [LIBRARY.get_one_hand(name) for name in names]


def test_tens_of_thousands_are_enumerated_and_each_once():
    assert len(WALL) > 50_000
    numbers = np.stack([WALL.right, WALL.left, WALL.relation, WALL.orientation, WALL.left_entry])
    assert len(np.unique(numbers, axis=1).T) == len(WALL)


def test_every_shipped_one_hand_pattern_is_in_some_hybrid():
    found = search(list(LIBRARY.one_hand()), BODY, PROPS, Wanted(), limit=100_000)
    used = {hand.move.name for one in found.shown for hand in (one.hybrid.right, one.hybrid.left)}
    assert used == {move.name for move in LIBRARY.one_hand() if one_downbeat(move)}
    assert found.combined == len(found.shown) > 10_000


def one_downbeat(move):
    """Whether its head points straight down at all: the rest cannot be set by a downbeat."""
    return bool(build(move.recipe, BODY, PROPS[0]).downbeats)


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


@settings(max_examples=100, deadline=None)
@given(row=ANY_ROW)
def test_a_row_is_what_the_hybrid_is_by_itself(row):
    """The slow way (one hybrid, exact search) is the reference for the quick one."""
    which, number = row
    found, rows = ALL[which], ALL[which].rows
    performance = perform(found.hybrid(number), Style(), BODY, PROPS)
    two = performance.two_hands
    assert rows.right_downbeats[number] == len(two.right.downbeats)
    assert rows.left_downbeats[number] == len(two.left.downbeats)
    assert found.families(number) == families(two)
    assert found.points[number] == pytest.approx(difficulty(performance).points, rel=0, abs=1e-6)
    apart = extremes(performance.room_pair, Parts.HEADS)
    assert rows.nearest_heads_m[number] == pytest.approx(apart.nearest_m, rel=0, abs=0.005)
    assert rows.furthest_heads_m[number] == pytest.approx(apart.furthest_m, rel=0, abs=0.005)
    heads = constant_relation(head_relations(two))
    assert (heads is None) == bool(np.isnan(rows.head_timing[number]))
    if heads is not None:
        assert rows.heads_sense[number] == {"same": 1, "opposite": -1, "still": 0}[heads.direction]
        off = (rows.head_timing[number] - float(heads.timing) + 0.5) % 1 - 0.5
        assert off == pytest.approx(0, abs=1e-6)


@settings(max_examples=40, deadline=None)
@given(row=ANY_ROW, bpm=st.sampled_from(sorted(AT_TEMPO)))
def test_a_row_at_tempo_pulls_and_hurries_as_the_hybrid_does(row, bpm):
    """Tension and speeds by the search over the cycle are the reference for the instants."""
    which, number = row
    speeds = AT_TEMPO[bpm][which]
    performance = perform(ALL[which].hybrid(number), Style(), BODY, PROPS)
    plane = PlacedPlane(performance.plane)
    cycle_s = float(performance.cycle_beats(Fraction(1))) * 60 / bpm
    prop = Prop(head_mass_kg=1.0)
    two = performance.two_hands
    for track, pull in ((two.right, speeds.right_pull), (two.left, speeds.left_pull)):
        told = tension(track.pattern, prop, cycle_s=cycle_s / track.cycles, plane=plane)
        assert pull[number] == pytest.approx(told.lowest_n.value, rel=0.02, abs=0.5)
    for point, speed in (("hand", speeds.hand_speed_m_s), ("head", speeds.head_speed_m_s)):
        exact = max(
            fastest(track.pattern, point, cycle_s=cycle_s / track.cycles).value
            for track in (two.right, two.left)
        )
        assert speed[number] == pytest.approx(exact, rel=0.01)


def test_only_what_was_wanted_comes_out_and_the_easiest_first():
    wanted = Wanted(
        families=frozenset({Family.EQUAL_DOWNBEATS}),
        downbeats=2,
        clearance_m=0.1,
        most_points=6.0,
    )
    numbers = chosen(WALL, wanted)
    assert len(numbers)
    for number in numbers:
        assert Family.EQUAL_DOWNBEATS in WALL.families(number)
        assert WALL.rows.right_downbeats[number] == 2
        assert WALL.rows.nearest_heads_m[number] >= 0.1
    assert np.all(np.diff(WALL.points[numbers]) >= 0)
    assert WALL.points[numbers].max() <= 6


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
    assert all(Family.COMPOSITE in f.families and max(f.downbeats) == 2 for f in result.shown)


def test_too_quick_or_too_slow_a_tempo_is_not_feasible():
    """A still hand's tether falls slack below sqrt(g/L)/(2 pi): 40 turns a minute at 0.55 m."""
    static = moves("static spin")
    for bpm, fits in ((39, False), (42, True)):
        result = search(static, BODY, PROPS, Wanted(feasible=True), tempo=Tempo(float(bpm)))
        assert (result.as_wanted > 0) is fits
    calm = Body(comfort=Comfort(hand_turns_per_s=1.0))
    quick = search(moves("extension"), calm, PROPS, Wanted(feasible=True), tempo=Tempo(130.0))
    assert quick.as_wanted == 0


@pytest.mark.parametrize(("kinds", "fits"), [
    (("poi", "poi"), False), (("poi", "staff"), False), (("staff", "poi"), True),
    (("staff", "staff"), True),
])  # fmt: skip
def test_only_a_tether_falls_slack_and_each_hand_has_its_own_prop(kinds, fits):
    """At 50 beats a minute a triquetra's head turns at 50 a minute and holds its tether; a static
    spin, once for its two downbeats, turns at 25 and does not (40 is the least, at the top)."""
    props = tuple(Prop(kind) for kind in kinds)
    found = candidates(moves("static spin", "triquetra"), BODY, props, relations=FOUR_RELATIONS[:1])
    feasible = at_tempo(found, 50.0, Fraction(1)).feasible(BODY, props)
    (row,) = [k for k in range(len(found)) if (found.right[k], found.left[k]) == (0, 1)][:1]
    assert bool(feasible[row]) is fits


@pytest.mark.parametrize(("heads", "count"), [("split same", 2), ("split opposite", 0)])
def test_a_wanted_relation_of_heads_has_its_direction_too(heads, count):
    found = search(
        moves("small extension", "isolation"), BODY, PROPS,
        Wanted(heads=relation_from_text(heads)), relations=FOUR_RELATIONS[:1],
    )  # fmt: skip
    assert found.as_wanted == count


def test_a_wanted_closure_is_counted_in_hand_turns():
    """A pentagram closes after two turns of the hand, a triquetra after one."""
    for turns, names in ((2, {"pentagram"}), (1, {"triquetra"})):
        found = search(
            moves("pentagram", "triquetra"), BODY, PROPS, Wanted(closing_turns=turns), limit=100
        )
        alike = [
            one.hybrid.right.move.name
            for one in found.shown
            if one.hybrid.right.move is one.hybrid.left.move
        ]
        assert set(alike) == names


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


def test_each_hand_goes_out_of_the_plane_by_its_own_tether():
    """Spins alike, a tether's third before the plane each: heads 0.2 m apart along tethers of 0.5
    and 0.7 m in one direction, and 0.2 / 3 m apart in depth (geometry)."""
    move = library_from_text(
        '[[one_hand]]\nname = "out spin"\nwords = "x"\n'
        'depth = [{ share = "1", from = "1/3 tether", to = "1/3 tether" }]\n'
        'segments = [{ share = "1", hold = ["0", "0"], spin = { from = "down", turns = "1" } }]\n',
        "mine.toml",
    ).get_one_hand("out spin")
    props = Prop(length_m=0.5), Prop(length_m=0.7)
    found = candidates([move], BODY, props, relations=FOUR_RELATIONS[:1])
    apart = np.hypot(0.2, 0.2 / 3)
    assert found.rows.nearest_heads_m == pytest.approx([apart], rel=0, abs=1e-6)
    alone = perform(found.hybrid(0), Style(), BODY, props)
    assert extremes(alone.room_pair, Parts.HEADS).nearest_m == pytest.approx(apart, abs=1e-9)


def test_hybrids_lie_in_one_plane_each():
    with pytest.raises(ValueError, match="one plane"):
        candidates(moves("extension", "floor spin overhead"), BODY, PROPS)
    found = search(moves("extension", "floor spin overhead"), BODY, PROPS, Wanted(), limit=1000)
    pairs = {(f.hybrid.right.move.name, f.hybrid.left.move.name) for f in found.shown}
    assert pairs == {("extension", "extension"), ("floor spin overhead", "floor spin overhead")}


def test_a_floor_spin_does_not_fall_slack():
    """In a level plane gravity has no part along the tether, however slow (derivation)."""
    level = search(
        moves("floor spin overhead"), BODY, PROPS, Wanted(feasible=True), tempo=Tempo(20.0)
    )
    assert level.as_wanted == level.combined > 0


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
