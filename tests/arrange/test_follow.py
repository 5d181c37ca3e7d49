"""What can follow: filters and lengths held to hand-derived facts, costs to the checks' own."""

from fractions import Fraction
from types import SimpleNamespace

import numpy as np
import pytest

from composer.arrange.follow import Option, what_can_follow
from composer.arrange.keeping import Keeping
from composer.check.checks import check_routine
from composer.check.transitions import transition
from composer.errors import UnknownName
from composer.moves.perform import Style, perform
from composer.score.parts import PlacedMove
from composer.score.repertoire import Firmness, Repertoire
from composer.score.routine import Placement, Routine
from composer.timing.meter import Meter


def follow(kit: SimpleNamespace, routine: Routine, beat: int, **more: object) -> tuple[Option, ...]:
    return what_can_follow(routine, kit.library, "Wren", Fraction(beat), **more)  # type: ignore[arg-type]


def names(options: tuple[Option, ...]) -> set[str]:
    return {option.placement.move for option in options}


def option_of(options: tuple[Option, ...], name: str) -> Option:
    return next(option for option in options if option.placement.move == name)


# ------------------------------------------------------------------ what is to be kept


def test_equal_downbeat_flowers_keep_their_heads_while_the_hands_go_apart(
    kit: SimpleNamespace,
) -> None:
    """Derivation: with n = 2 and -2 half a hand turn is one whole head turn, so a hand that goes
    on half a turn apart leaves both heads in their timing and direction."""
    routine = kit.piece(kit.placed(0, 8, "triquetra with one-petal in-spin, together same"))
    kept = names(follow(kit, routine, 8, filters=[Keeping.HEADS]))
    assert "triquetra with one-petal in-spin, split same" in kept
    assert "triquetra with one-petal in-spin, together same" not in kept  # no relation changes


def test_flowers_of_three_downbeats_do_not_keep_their_heads_so(kit: SimpleNamespace) -> None:
    """Derivation: with n = 3 and -3 half a hand turn is one and a half head turns."""
    routine = kit.piece(kit.placed(0, 12, "diamond with two-petal in-spin, together same"))
    kept = names(follow(kit, routine, 12, filters=[Keeping.HEADS]))
    assert "diamond with two-petal in-spin, split same" not in kept


def test_hands_keep_on_where_the_heads_turn_the_other_way(kit: SimpleNamespace) -> None:
    """Derivation: n = -2 and n = 2 on one radius, both tips down, have the hand at the bottom or
    the top on every downbeat and turn it alike; only the heads turn the other way round."""
    routine = kit.piece(kit.placed(0, 8, "triquetra pointing down"))
    kept = names(follow(kit, routine, 8, filters=[Keeping.HANDS]))
    assert "one-petal in-spin" in kept
    assert "triquetra pointing down" not in kept  # nothing changes
    assert "two-petal in-spin" not in kept  # its hand turn lasts three beats, not two


@pytest.mark.parametrize("rate", ["1", "1/2"])
def test_hands_that_are_kept_on_go_where_they_would_have_gone_at_their_own_rate(
    kit: SimpleNamespace, rate: str
) -> None:
    """Both motions looked at every eighth of a beat for four beats: within 5 cm all along."""
    routine = kit.piece(kit.placed(0, 8, "triquetra pointing down", rate))
    (old,) = routine.part("Wren").placements
    options = follow(kit, routine, 8, filters=[Keeping.HANDS])
    assert "one-petal in-spin" in names(options)
    passed = np.arange(33) / 8
    who = routine.performers[0]
    for option in options:
        new = option.placement
        ways = []
        for placement, from_beats in ((old, 8.0), (new, 0.0)):
            move = kit.library.get(placement.move)
            done = perform(move, placement.style, who.body, who.props)
            shares = (passed + from_beats) / float(done.cycle_beats(placement.rate))
            ways.append({hand: done.room_places_m(hand, shares)[0] for hand in done.tracks})
        for hand in ways[1]:
            apart = np.linalg.norm(ways[0][hand] - ways[1][hand], axis=1).max()
            assert apart < 0.05, (new.move, new.rate, hand)


def test_hands_that_are_elsewhere_on_the_downbeat_do_not_keep_on(kit: SimpleNamespace) -> None:
    """Derivation: with its tip up a triquetra's tether points down where its hand is at a side."""
    routine = kit.piece(kit.placed(0, 8, "triquetra"))
    kept = names(follow(kit, routine, 8, filters=[Keeping.HANDS]))
    assert "one-petal in-spin" not in kept


def test_one_hand_changes(kit: SimpleNamespace) -> None:
    """The right hand goes on with its diamond; mirrored triquetras change both hands."""
    routine = kit.piece(kit.placed(0, 12, "mirrored diamonds"))
    kept = names(follow(kit, routine, 12, filters=[Keeping.ONE_HAND]))
    assert "diamond with two-petal in-spin, together opposite" in kept
    assert not kept & {"mirrored triquetras", "mirrored diamonds", "mirrored pendulums"}


def test_the_unit_circle_family_keeps_hands_half_a_tether_from_their_middle(
    kit: SimpleNamespace,
) -> None:
    routine = kit.piece(kit.placed(0, 8, "mirrored isolations"))
    options = follow(kit, routine, 8, filters=[Keeping.UNIT_CIRCLE])
    assert len(options) >= 10
    who = routine.performers[0]
    for option in options:
        move = kit.library.get(option.placement.move)
        done = perform(move, option.placement.style, who.body, who.props)
        for hand in done.tracks:
            places, _ = done.room_places_m(hand, np.arange(12) / 12)
            apart = np.linalg.norm(places - places.mean(axis=0), axis=1)
            np.testing.assert_allclose(apart, who.prop(hand).length_m / 2, rtol=0, atol=1e-6)


def test_everything_kept_is_also_offered_without_the_filter(kit: SimpleNamespace) -> None:
    routine = kit.piece(kit.placed(0, 8, "mirrored triquetras"))
    every = names(follow(kit, routine, 8))
    assert every == set(kit.library.names())
    for keeping in Keeping:
        assert names(follow(kit, routine, 8, filters=[keeping])) < every


# ------------------------------------------------------------------ lengths


@pytest.mark.parametrize(
    ("meter", "move", "beats"),
    [
        (Meter(4, 4), "diamond", 12),  # 3 downbeats: least common multiple of 3 and 4
        (Meter(4, 4), "triquetra", 8),  # 2 downbeats: closes in two bars
        (Meter(4, 4), "pentagram", 12),
        (Meter(3, 4), "diamond", 6),  # closes every bar of three
        (Meter(5, 4), "extension", 10),
        (Meter(7, 8), "triquetra", 14),  # counted in seven
    ],
)
def test_a_move_gets_two_bars_or_what_closes_with_a_bar(
    kit: SimpleNamespace, meter: Meter, move: str, beats: int
) -> None:
    routine = kit.piece(meter=meter, beats=420, phrase_beats=210, bpm=80)
    option = option_of(follow(kit, routine, 0), move)
    assert (option.placement.span.length_beats, option.placement.rate) == (beats, 1)
    assert option.closes


def test_a_move_that_cannot_close_with_a_bar_in_its_room_closes_inside_one(
    kit: SimpleNamespace,
) -> None:
    """Eight beats to the next move: two cycles of three are six."""
    routine = kit.piece(kit.placed(0, 8, "static spin"), kit.placed(16, 8, "static spin"))
    option = option_of(follow(kit, routine, 8), "diamond")
    assert option.placement.span.length_beats == 6
    assert "closes inside a bar after 6 beats" in option.reasons


def test_a_given_length_is_taken_and_judged(kit: SimpleNamespace) -> None:
    """Eight beats of three downbeats are 2 2/3 cycles; forty run over the phrase at 32."""
    routine = kit.piece(kit.placed(0, 8, "static spin"))
    assert not option_of(follow(kit, routine, 8, length_beats=Fraction(8)), "diamond").closes
    long = option_of(follow(kit, routine, 8, length_beats=Fraction(40)), "triquetra")
    assert "closes runs over a phrase after 40 beats" in long.reasons


# ------------------------------------------------------------------ costs


def test_a_move_taken_up_again_on_its_next_downbeat_goes_on_unbroken(
    kit: SimpleNamespace,
) -> None:
    """Four beats are one cycle of three downbeats and one more: the second downbeat comes next."""
    routine = kit.piece(kit.placed(0, 4, "mirrored diamonds"))
    again = option_of(follow(kit, routine, 4), "mirrored diamonds")
    assert again.placement.style.entry == 2
    assert again.costs.smoothness == pytest.approx(0, abs=1e-12)
    assert again.reasons[0] == "goes on unbroken"
    assert "the same again" in again.reasons


def test_the_entry_that_is_kept_is_the_smoothest_by_the_checks(kit: SimpleNamespace) -> None:
    before = kit.placed(0, 8, "triquetra with one-petal in-spin, split opposite")
    routine = kit.piece(before)
    styles = [Style(entry=k, mirrored=m) for k in (1, 2, 3) for m in (False, True)]
    for name, entries in (("diamond", 3), ("mirrored triquetras", 2), ("extension", 1)):
        option = option_of(follow(kit, routine, 8), name)
        every = [
            cost(kit, routine, before, Placement(option.placement.span, name, style=style))
            for style in styles
            if style.entry <= entries
        ]
        assert option.costs.smoothness == pytest.approx(min(every), abs=1e-9)


def cost(kit: SimpleNamespace, routine: Routine, before: Placement, after: Placement) -> float:
    first, second = (PlacedMove(one, "Wren", "Wren", 0) for one in (before, after))
    who = routine.performers[0]
    return transition(first, second, kit.library, who, routine.grid).cost


def test_each_hand_is_led_from_its_own_move(kit: SimpleNamespace) -> None:
    """Right and left come from two moves, the left one still running: it is cut off there."""
    right = kit.placed(0, 8, "triquetra", hand="right")
    left = kit.placed(0, 16, "static spin", hand="left")
    routine = kit.piece(right, left)
    option = option_of(follow(kit, routine, 8, style=Style()), "mirrored triquetras")
    cut = kit.placed(0, 8, "static spin", hand="left")
    apart = [cost(kit, routine, one, option.placement) for one in (right, cut)]
    assert option.costs.smoothness == pytest.approx(sum(apart), abs=1e-9)


def test_after_a_long_rest_a_move_is_a_new_start(kit: SimpleNamespace) -> None:
    """A bridge takes one to four beats (common practice); nine are a rest."""
    routine = kit.piece(kit.placed(0, 8, "static spin"))
    assert {option.kind for option in follow(kit, routine, 17)} == {None}
    assert {option.kind for option in follow(kit, routine, 12)} != {None}


def test_what_is_placed_as_offered_is_found_as_told(kit: SimpleNamespace) -> None:
    """A smooth option brings no finding at its boundary; an abrupt one a warning or worse."""
    routine = kit.piece(kit.placed(0, 8, "mirrored triquetras"))
    options = follow(kit, routine, 8)[::9]
    assert {option.kind for option in options} == {"smooth", "noticeable", "abrupt"}
    for option in options:
        part = routine.part("Wren")
        both = routine.with_part(type(part)("Wren", (*part.placements, option.placement)))
        levels = [one.level for one in check_routine(both, kit.library) if len(one.moves) == 2]
        gravest = max(levels, default=0)
        assert option.kind == ("smooth", "noticeable", "abrupt", "abrupt")[gravest]


def test_fast_music_brings_slower_rates_and_says_so(kit: SimpleNamespace) -> None:
    """At 180 beats a minute an extension of 0.43 m would run its hand at 8 m/s: 2 pi * 0.43 * 3;
    punches in combination run 7.5 to 8 (Piorkowski, Lees & Barton, Sports Biomech. 2011)."""
    option = option_of(follow(kit, kit.piece(bpm=180), 0), "extension")
    assert option.placement.rate == Fraction(1, 2)
    assert "at 1/2 downbeats a beat" in option.reasons


# ------------------------------------------------------------------ repertoire and limits


def test_what_she_has_goes_before_what_she_is_learning(kit: SimpleNamespace) -> None:
    routine = kit.piece(kit.placed(0, 8, "static spin"))
    firm = {told: Repertoire("Wren", {"pendulum": told}) for told in Firmness}
    costs = [
        option_of(follow(kit, routine, 8, repertoire=firm[told]), "pendulum").cost
        for told in Firmness
    ]
    assert costs[0] > costs[1] > costs[2]
    without = option_of(follow(kit, routine, 8, repertoire=Repertoire("Wren")), "pendulum")
    assert without.cost > costs[0]
    assert "not firm in her repertoire" in without.reasons


def test_a_practised_way_in_is_worth_something(kit: SimpleNamespace) -> None:
    routine = kit.piece(kit.placed(0, 8, "static spin"))
    moves = {"static spin": Firmness.READY, "pendulum": Firmness.READY}
    plain = Repertoire("Wren", moves)
    practised = plain.with_transition(("static spin", "pendulum"), Firmness.READY)
    costs = [
        option_of(follow(kit, routine, 8, repertoire=one), "pendulum").cost
        for one in (plain, practised)
    ]
    assert costs[1] < costs[0]


def test_the_best_come_first_and_no_more_than_asked_for(kit: SimpleNamespace) -> None:
    routine = kit.piece(kit.placed(0, 8, "static spin"))
    every = follow(kit, routine, 8)
    assert [o.cost for o in every] == sorted(o.cost for o in every)
    assert follow(kit, routine, 8, limit=5) == every[:5]
    assert all(option.reasons and 0 <= option.smooth_ways <= option.ways for option in every)


def test_one_hand_alone_and_a_performer_who_is_not_there(kit: SimpleNamespace) -> None:
    routine = kit.piece(kit.placed(0, 8, "static spin"))
    options = follow(kit, routine, 8, hand="left")
    assert {option.placement.style.hand for option in options} == {"left"}
    with pytest.raises(UnknownName, match="Ash"):
        what_can_follow(routine, kit.library, "Ash", Fraction(8))
