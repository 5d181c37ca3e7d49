"""What the performer's choices do to a move: entries, relations, mirrors, places.

Statements follow from the definitions (derivation) unless a source is named.
"""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.motion.body import Body, Prop
from composer.motion.hands import Hand
from composer.motion.kinematics import track_motion
from composer.motion.plane import Plane
from composer.motion.relation import constant_relation, hand_relations
from composer.moves.library import library_from_text, shipped_library
from composer.moves.model import relation_from_text
from composer.moves.perform import Style, perform

BODY, PROPS = Body(), (Prop(), Prop())
SHARES = np.linspace(0, 1, 97)
NAMES = st.sampled_from(shipped_library().names())


def performed(name, style=Style(), props=PROPS):  # noqa: B008 - a frozen value
    return perform(shipped_library().get(name), style, BODY, props)


def heads(performance, hand):
    return performance.room_places_m(hand, SHARES)[1]


@given(name=NAMES, data=st.data())
def test_at_every_entry_the_busier_tether_points_straight_down(name, data):
    count = performed(name).downbeats_per_cycle
    entry = data.draw(st.integers(1, count))
    performance = performed(name, Style(entry=entry))
    busier = max(performance.tracks.values(), key=lambda track: len(track.downbeats))
    start = track_motion(busier, [0.0])
    assert (start.tether_turns[0] - 0.75) % 1 == pytest.approx(0, rel=0, abs=1e-9) or (
        start.tether_turns[0] - 0.75
    ) % 1 == pytest.approx(1, rel=0, abs=1e-9)
    assert Fraction(0) in busier.downbeats


@given(name=NAMES, data=st.data())
def test_the_next_entry_is_where_the_one_before_is_on_its_next_downbeat(name, data):
    """Entries are numbered in time order from the first: each is the same cycle, taken up later."""
    first = performed(name)
    entry = data.draw(st.integers(1, first.downbeats_per_cycle))
    later = performed(name, Style(entry=entry))
    busier = max(first.tracks, key=lambda hand: len(first.tracks[hand].downbeats))
    passed = float(first.tracks[busier].downbeats[entry - 1])
    for hand in first.tracks:
        here = track_motion(first.tracks[hand], SHARES + passed)
        there = track_motion(later.tracks[hand], SHARES)
        np.testing.assert_allclose(there.head_m, here.head_m, rtol=0, atol=1e-9)


@given(name=NAMES)
def test_an_entry_beyond_the_last_downbeat_is_refused(name):
    count = performed(name).downbeats_per_cycle
    with pytest.raises(ValueError, match=f"{count} downbeats"):
        performed(name, Style(entry=count + 1))


def test_three_downbeats_at_rate_one_take_three_beats_and_at_three_halves_two():
    """Beats of a cycle: downbeats / rate."""
    performance = performed("diamond")
    assert performance.cycle_beats(Fraction(1)) == 3
    assert performance.cycle_beats(Fraction(3, 2)) == 2
    assert performance.phase_at(Hand.RIGHT, Fraction(3), Fraction(1)) == performance.phase_at(
        Hand.RIGHT, Fraction(0), Fraction(1)
    )
    step = performance.phase_at(Hand.RIGHT, Fraction(1), Fraction(1))
    assert (step - performance.tracks[Hand.RIGHT].offset) % 1 == Fraction(1, 3)


@given(name=NAMES, swapped=st.booleans(), turned=st.integers(0, 7))
def test_the_mirror_image_is_the_room_seen_in_a_mirror(name, swapped, turned):
    """Left and right exchanged in space and in the hands: x -> -x, whatever else was chosen."""
    plain = Style(orientation_turns=Fraction(turned, 8), swapped=swapped, centre="right side")
    straight, mirrored = performed(name, plain), performed(name, replace(plain, mirrored=True))
    for hand in Hand:
        expected = heads(straight, hand) * np.array([-1, 1, 1])
        np.testing.assert_allclose(heads(mirrored, hand.other), expected, rtol=0, atol=1e-9)


@given(name=NAMES)
def test_swapped_hands_do_each_others_part(name):
    straight, swapped = performed(name), performed(name, Style(swapped=True))
    for hand in Hand:
        ours = track_motion(straight.tracks[hand], SHARES)
        theirs = track_motion(swapped.tracks[hand.other], SHARES)
        np.testing.assert_allclose(theirs.head_m, ours.head_m, rtol=0, atol=1e-9)


@pytest.mark.parametrize("timing", ["together", "split", "quarter", "three-quarter"])
@pytest.mark.parametrize("direction", ["same", "opposite"])
@pytest.mark.parametrize("name", ["extension", "triquetra", "diamond", "box", "pentagram"])
def test_a_wanted_relation_is_what_the_hands_then_have(name, timing, direction):
    relation = relation_from_text(f"{timing} {direction}")
    two = performed(name, Style(relation=relation)).two_hands
    found = constant_relation(hand_relations(two))
    assert (found.timing, found.direction) == (relation.timing, direction)


def test_orientation_turns_the_whole_figure_about_its_middle():
    upright = track_motion(performed("triquetra").tracks[Hand.RIGHT], np.arange(3600) / 3600)
    turned = track_motion(
        performed("triquetra", Style(orientation_turns=Fraction(1, 4))).tracks[Hand.RIGHT],
        np.arange(3600) / 3600,
    )
    tips = [motion.head_m[np.argmax(np.abs(motion.head_m))] for motion in (upright, turned)]
    third = (np.angle(tips[1] / tips[0]) / (2 * np.pi) - 1 / 4) % (1 / 3)
    assert min(third, 1 / 3 - third) < 1e-3


def test_a_centre_may_be_named_or_given_in_metres():
    half = BODY.arm_m / 2
    for centre in ("overhead", complex(0, half)):
        places = track_motion(
            performed("static spin", Style(centre=centre)).tracks[Hand.RIGHT], [0.0]
        )
        assert places.hand_m[0] == pytest.approx(complex(0, half), rel=0, abs=1e-12)
    with pytest.raises(ValueError, match="one of chest"):
        Style(centre="somewhere")


def test_one_hand_alone_runs_its_own_cycle():
    performance = performed("extension with triquetra", Style(hand="right"))
    assert set(performance.tracks) == {Hand.RIGHT}
    assert performance.cycle_beats(Fraction(1)) == 1
    assert performance.two_hands is None


def test_the_quicker_hand_of_a_hybrid_alone_closes_in_its_own_time():
    """A static spin runs twice while a pentagram's hand goes round twice; by itself it has closed
    after its one downbeat."""
    both = performed("static spin with pentagram")
    assert both.tracks[Hand.RIGHT].cycles == 2
    alone = performed("static spin with pentagram", Style(hand="right"))
    assert alone.cycle_beats(Fraction(1)) == alone.downbeats_per_cycle == 1
    assert alone.tracks[Hand.RIGHT].cycles == 1


@pytest.mark.parametrize(
    "style",
    [Style(), Style(mirrored=True), Style(swapped=True), Style(mirrored=True, swapped=True)],
)
def test_unequal_tethers_give_each_hand_its_own(style):
    """Whatever the hands do for each other, the props stay in them."""
    props = (Prop(length_m=0.5), Prop(length_m=0.6))
    done = performed("isolation", style, props=props)
    for hand, length in ((Hand.RIGHT, 0.5), (Hand.LEFT, 0.6)):
        motion = track_motion(done.tracks[hand], SHARES)
        np.testing.assert_allclose(np.abs(motion.hand_m), length / 2, rtol=0, atol=1e-12)


def test_wheel_plane_hands_stand_at_their_own_sides_and_the_wall_before_the_chest():
    wheel = performed("forward spin")
    assert wheel.plane is Plane.WHEEL
    assert heads(wheel, Hand.RIGHT)[:, 0].min() > 0.2
    assert heads(wheel, Hand.LEFT)[:, 0].max() < -0.2
    moving = heads(wheel, Hand.RIGHT)
    top = int(np.argmax(moving[:, 2]))
    assert moving[top + 1, 1] > moving[top, 1]  # forward: the top of the wheel runs forward
    wall = heads(performed("static spin"), Hand.RIGHT)
    np.testing.assert_allclose(wall[:, 1], 0.25, rtol=0, atol=1e-12)


def test_facing_turns_the_planes_with_the_body():
    places, _ = performed("static spin").room_places_m(Hand.RIGHT, [0.0], Fraction(1, 4))
    np.testing.assert_allclose(places[0], [-0.25, 0, BODY.shoulder_height_m], rtol=0, atol=1e-12)


def test_a_tilt_belongs_to_the_plane_it_was_given_in():
    """A wall that leans by 30 degrees has its highest place L cos 30 above the hand and L sin 30
    beside its upright (geometry); the same spin in the wheel plane stands upright."""
    text = (
        '[[one_hand]]\nname = "leaning spin"\nwords = "x"\ntilt = 0.0833333333333333\n'
        'segments = [{ share = "1", hold = ["0", "0"], spin = { from = "down", turns = "1" } }]\n'
    )
    move = library_from_text(text, "mine.toml").get("leaning spin")
    leaning, upright = (
        perform(move, Style(plane=plane), BODY, PROPS) for plane in (None, Plane.WHEEL)
    )
    hand, head = (places[0] for places in leaning.room_places_m(Hand.RIGHT, [0.5]))
    length = PROPS[0].length_m
    assert abs(head[1] - hand[1]) == pytest.approx(length / 2, rel=0, abs=1e-9)
    assert head[2] - hand[2] == pytest.approx(length * np.sqrt(3) / 2, rel=0, abs=1e-9)
    assert upright.tilt_turns == 0
    np.testing.assert_allclose(np.ptp(heads(upright, Hand.RIGHT)[:, 0]), 0, rtol=0, atol=1e-12)


def test_a_move_without_downbeats_lasts_the_beats_it_says():
    text = (
        '[[one_hand]]\nname = "held up"\nwords = "x"\nbeats = "4"\n'
        'segments = [{ share = "1", hold = ["0", "0"], spin = { from = "up", turns = "0" } }]\n'
    )
    move = library_from_text(text, "mine.toml").get("held up")
    performance = perform(move, Style(), BODY, PROPS)
    assert performance.downbeats_per_cycle == 0
    assert performance.cycle_beats(Fraction(1)) == 4
    assert performance.phase_at(Hand.LEFT, Fraction(1), Fraction(1)) == Fraction(1, 4)


@pytest.mark.parametrize(
    ("choice", "says"),
    [({"entry": 0}, "counted from 1"), ({"hand": "neither"}, "a hand is")],
)
def test_choices_that_cannot_be_are_refused(choice, says):
    with pytest.raises(ValueError, match=says):
        Style(**choice)
