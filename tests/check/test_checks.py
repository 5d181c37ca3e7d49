"""The whole check of a routine: what is found on the timeline, and that nothing stale is kept."""

import itertools
from dataclasses import replace
from fractions import Fraction as F
from math import pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.check import checks
from composer.check.cautions import CLOSING, FIRE, caution_lines, fastest_head
from composer.check.checks import check_part, check_routine
from composer.check.findings import Level
from composer.errors import ComposerError
from composer.motion.body import Body, Prop
from composer.motion.hands import Hand
from composer.score.parts import performed_part
from composer.score.routine import Following, Likeness, Part, Performer
from composer.timing.grid import MusicGrid
from composer.timing.tempo_map import Knot, TempoMap


def found(kit, *placements, **options):
    return check_routine(kit.routine(*placements, **options), kit.library)


def rules(findings) -> list[str]:
    return [one.rule for one in findings]


def only(findings, rule: str):
    (one,) = [one for one in findings if one.rule == rule]
    return one


def test_a_move_that_closes_and_goes_on_as_itself_is_clean(kit):
    """Twelve beats of diamond are four cycles; then the same again."""
    assert found(kit, kit.placed("diamond", 0, 12), kit.placed("diamond", 12, 12)) == ()


def test_nothing_placed_is_nothing_found(kit):
    assert found(kit) == ()


def test_a_diamond_does_not_close_in_a_bar_of_four(kit):
    """4 beats are 1 1/3 cycles of 3; 2 short; 3, 6 or 12 beats close, or 3/4 and 3/2 a beat."""
    one = only(found(kit, kit.placed("diamond", 4, 4)), "does not close")
    assert (one.level, one.beat, one.measured, one.unit) == (Level.WARNING, 8, 1.0, "beats")
    for words in (
        "4 beats are 1 1/3 cycles of 3 beats",
        "2 beats short",
        "closes in 3, 6 or 12 beats",
        "at 3/4 or 3/2 downbeats a beat",
        "downbeat 2 of 3",
    ):
        assert words in one.message


def test_a_turned_closure_is_only_a_note(kit):
    one = only(found(kit, kit.placed("triquetra", 0, F(14, 3))), "closes turned")
    assert one.level is Level.NOTE
    assert "1/3 of a turn" in one.message or "2/3 of a turn" in one.message


def test_a_move_entered_beside_the_beat(kit):
    one = only(found(kit, kit.placed("static spin", F(1, 4), 4)), "downbeats miss the beat")
    assert (one.level, one.measured) == (Level.NOTE, 0.25)
    assert "1/4 beat after the beat" in one.message
    one = only(found(kit, kit.placed("static spin", F(3, 4), 4)), "downbeats miss the beat")
    assert "1/4 beat before the beat" in one.message


@pytest.mark.parametrize(
    ("start", "length", "level"),
    [(28, 8, Level.WARNING), (26, 12, Level.NOTE), (20, 12, None), (32, 12, None)],
)
def test_a_move_that_runs_over_a_phrase(kit, start, length, level):
    """Phrases of 32: a diamond from 28 stands part-way through its cycle of 3 on 32, one from 26
    has closed twice; one that ends or begins on 32 runs over nothing."""
    on = kit.grid(phrases=(0, 32, 64))
    over = [one for one in found(kit, kit.placed("diamond", start, length), on=on)
            if one.rule == "runs over a phrase"]  # fmt: skip
    assert [one.level for one in over] == ([] if level is None else [level])
    assert all(one.beat == 32 for one in over)


def test_a_move_that_outlasts_the_music(kit):
    one = only(
        found(kit, kit.placed("diamond", 24, 12), on=kit.grid(beats=32)), "runs past the music"
    )
    assert (one.level, one.beat, one.measured) == (Level.ERROR, 32, 4.0)


def test_hands_asked_twice_at_once_and_hands_that_share_the_time(kit):
    """Right and left may do different moves at once; one hand may not."""
    right = kit.placed("extension", 0, 8, hand="right")
    left = kit.placed("diamond", 0, 12, hand="left")
    assert "moves overlap" not in rules(found(kit, right, left))
    both = kit.placed("extension", 6, 8)
    overlaps = [one for one in found(kit, right, left, both) if one.rule == "moves overlap"]
    assert [(one.hand, one.measured) for one in overlaps] == [(Hand.LEFT, 6.0), (Hand.RIGHT, 2.0)]
    assert all(one.level is Level.ERROR and one.beat == 6 for one in overlaps)


def test_an_overlap_is_seen_past_a_short_move(kit):
    """A long move is still going on when the third begins, though the second is over."""
    long, short, third = (
        kit.placed("extension", 0, 16),
        kit.placed("extension", 2, 2),
        kit.placed("extension", 8, 4),
    )
    overlaps = [one for one in found(kit, long, short, third) if one.rule == "moves overlap"]
    assert {one.indexes for one in overlaps} == {(0, 1), (0, 2)}
    assert {one.measured for one in overlaps} == {2.0, 4.0}, "no more than the second lasts"


def test_an_empty_stretch_is_told_once_and_by_its_length(kit):
    """2 beats and more are a rest; with one hand still busy nothing is empty."""
    apart = kit.placed("extension", 0, 8), kit.placed("extension", 12, 8)
    one = only(found(kit, *apart), "nothing is placed")
    assert (one.level, one.beat, one.measured, one.hand) == (Level.NOTE, 8, 4.0, None)
    long = kit.placed("extension", 0, 8), kit.placed("extension", 40, 8)
    assert only(found(kit, *long), "nothing is placed").level is Level.WARNING
    busy = (
        kit.placed("extension", 0, 8),
        kit.placed("diamond", 8, 12, hand="left"),
        kit.placed("extension", 20, 4),
    )
    assert "nothing is placed" not in rules(found(kit, *busy))


def test_each_hand_is_followed_to_its_own_next_move(kit):
    """The left hand rests for two beats while the right goes on: its boundary is the wider one."""
    both = kit.placed("static spin", 0, 4)
    right = kit.placed("static spin", 4, 2, hand="right")
    back = kit.placed("static spin", 6, 4, mirrored=True)
    reversals = [one for one in found(kit, both, right, back)
                 if one.rule == "spin reverses without a stall"]  # fmt: skip
    assert {(one.hand, one.indexes) for one in reversals} == {
        (Hand.RIGHT, (1, 2)),
        (Hand.LEFT, (0, 2)),
    }


def test_an_unknown_move_is_found_with_its_nearest_names_and_stops_nothing(kit):
    findings = found(
        kit,
        kit.placed("static spin", 0, 4),
        kit.placed("pentagramm", 4, 4),
        kit.placed("diamond", 8, 4),
    )
    one = only(findings, "unknown move")
    assert (one.level, one.beat) == (Level.ERROR, 4)
    assert "pentagram" in one.message
    assert "does not close" in rules(findings)


def test_an_entry_that_the_move_does_not_have(kit):
    """A diamond has three downbeats."""
    one = only(found(kit, kit.placed("diamond", 0, 12, entry=4)), "move cannot be done so")
    assert one.level is Level.ERROR
    assert "3 downbeats" in one.message


def test_a_wide_circle_for_a_short_arm_is_out_of_reach(kit):
    """Centred two arms overhead, the hand is far from any shoulder."""
    one = only(found(kit, kit.placed("static spin", 0, 4, centre=1.2j)), "hand is out of reach")
    assert one.level is Level.ERROR
    assert one.limit == 1.25


def test_too_slow_for_a_tether_and_too_fast_for_a_hand(kit):
    """30 turns a minute on 0.55 m: slack for a third of the turn; 320: 5.3 turns a second."""
    slow = found(kit, kit.placed("static spin", 0, 4), on=kit.grid(bpm=30))
    assert only(slow, "tether goes slack").level is Level.WARNING
    fast = found(kit, kit.placed("static spin", 0, 4), on=kit.grid(bpm=320))
    assert only(fast, "head turns too often").level is Level.ERROR
    staffs = Performer("Wren", right_prop=Prop("staff"), left_prop=Prop("staff"))
    rigid = found(kit, kit.placed("static spin", 0, 4), on=kit.grid(bpm=30), performer=staffs)
    assert rigid == ()


def test_a_limit_that_no_check_knows(kit):
    one = only(
        found(kit, performer=Performer("Wren", limits=(("hand wai", 2.0),))), "limit not usable"
    )
    assert 'did you mean "hand way"' in one.message


def test_findings_come_in_time_order_and_name_their_moves(kit):
    placements = [kit.placed("static spin", 4 * k, 4, mirrored=k % 2 == 1) for k in range(6)]
    findings = found(kit, *placements)
    assert len(findings) == 5
    assert [one.indexes for one in findings] == [(k, k + 1) for k in range(5)]
    assert [one.beat for one in findings] == [4, 8, 12, 16, 20]


def test_absurd_figures_are_found_and_stop_nothing(kit):
    """A move of a million million beats, and a rate no wrist knows: findings, at once."""
    endless = found(kit, kit.placed("static spin", 0, 10**12))
    assert only(endless, "runs past the music").measured == 10**12 - 256
    whirl = found(kit, kit.placed("static spin", 0, 4, rate=10**9))
    assert only(whirl, "head turns too often").level is Level.ERROR
    knots = tuple(Knot(F(k), 0.5 * k + 0.01 * k**2) for k in range(20))
    slowing = MusicGrid(TempoMap(knots), F(20))
    assert "runs past the music" in rules(
        found(kit, kit.placed("static spin", 0, 10**12), on=slowing)
    )


# ------------------------------------------------------------------ groups


def test_a_follower_is_checked_in_her_own_time_with_her_own_arms(kit):
    """Delayed by 8 beats, with a shorter tether: the same fault, later and slower."""
    lead, small = (
        kit.wren,
        Performer("Robin", Body(stature_m=1.5), Prop(length_m=0.45), Prop(length_m=0.45)),
    )
    piece = kit.routine(
        kit.placed("static spin", 0, 4), kit.placed("static spin", 4, 4, mirrored=True)
    )
    piece = replace(
        piece,
        performers=(lead, small),
        parts=(*piece.parts, Part("Robin", (), (Following("Wren", delay_beats=F(8)),))),
    )
    both = [one for one in check_routine(piece, kit.library)
            if one.rule == "spin reverses without a stall"]  # fmt: skip
    assert [(one.performer, one.beat) for one in both] == [("Wren", 4), ("Robin", 12)]
    assert both[0].measured / both[1].measured == pytest.approx(0.55 / 0.45, rel=1e-9)


def test_parts_that_follow_each_other_cannot_be_checked(kit):
    piece = kit.routine(kit.placed("static spin", 0, 4))
    piece = replace(
        piece,
        performers=(kit.wren, Performer("Robin")),
        parts=(
            Part("Wren", (), (Following("Robin"),)),
            Part("Robin", (), (Following("Wren", Likeness.MIRRORED),)),
        ),
    )
    with pytest.raises(ComposerError, match="circle"):
        check_routine(piece, kit.library)


# ------------------------------------------------------------------ kept judgements

MOVES = ["static spin", "extension", "triquetra", "diamond", "pendulum", "no such move"]
EDITS = st.lists(
    st.tuples(
        st.sampled_from(["replace", "insert", "delete", "move"]),
        st.integers(0, 11),
        st.sampled_from(MOVES),
        st.sampled_from([F(1), F(2), F(5, 2), F(4)]),
        st.booleans(),
    ),
    min_size=1,
    max_size=5,
)


def edited(kit, placements, edit):
    action, place, name, length, mirrored = edit
    place %= len(placements)
    new = kit.placed(name, placements[place].span.start_beat, length, mirrored=mirrored)
    match action:
        case "replace":
            return [*placements[:place], new, *placements[place + 1 :]]
        case "insert":
            return [*placements[:place], new, *placements[place:]]
        case "delete" if len(placements) > 1:
            return [*placements[:place], *placements[place + 1 :]]
        case _:
            moved = replace(placements[place], span=placements[place].span.shifted(F(1)))
            return [*placements[:place], moved, *placements[place + 1 :]]


@settings(max_examples=40, deadline=None)
@given(edits=EDITS)
def test_after_any_edits_the_findings_are_those_of_a_fresh_check(kit, edits):
    """What is kept from before an edit never differs from judging everything again."""
    on = kit.grid(phrases=(0, 16, 32))
    names = itertools.cycle(MOVES[:5])
    placements = [kit.placed(next(names), 4 * k, 4) for k in range(10)]
    found(kit, *placements, on=on)
    for edit in edits:
        placements = edited(kit, placements, edit)
        kept = found(kit, *placements, on=on)
        checks._desk.cache_clear()
        assert kept == found(kit, *placements, on=on)


def test_an_edit_judges_only_what_it_touches(kit, monkeypatch):
    """Of 40 moves one is changed: one move and its two boundaries are judged again."""
    judged = []

    def counted(name):
        real = getattr(checks, name)

        def wrapper(*args, **options):
            judged.append(name)
            return real(*args, **options)

        return wrapper

    for name in ("fit_findings", "transition"):
        monkeypatch.setattr(checks, name, counted(name))
    on = kit.grid()
    placements = [kit.placed("diamond", 6 * k, 6, entry=1 + k % 3) for k in range(40)]
    found(kit, *placements, on=on)
    judged.clear()
    placements[20] = replace(placements[20], move="triquetra", style=placements[0].style)
    found(kit, *placements, on=on)
    assert sorted(judged) == ["fit_findings", "transition", "transition"]


def test_a_proposal_is_checked_like_a_part(kit):
    """The findings of a list of moves are those of the routine that holds them."""
    piece = kit.routine(kit.placed("static spin", 0, 4), kit.placed("diamond", 4, 4))
    moves = performed_part(piece, "Wren")
    assert check_part(moves, kit.library, kit.wren, piece.grid) == check_routine(piece, kit.library)


# ------------------------------------------------------------------ cautions


def test_the_fastest_head_is_told_with_its_energy(kit):
    """Extension at R = 0.45, L = 0.55 and 128 turns a minute: 13.4 m/s, and m v^2 / 2 = 8.98 J."""
    wren = Performer("Wren", Body(arm_m=0.45 / 0.65))
    piece = kit.routine(
        kit.placed("static spin", 0, 4), kit.placed("extension", 4, 4), on=kit.grid(bpm=128),
        performer=wren,
    )  # fmt: skip
    fastest = fastest_head(piece, wren, performed_part(piece, "Wren"), kit.library)
    assert fastest.speed_m_s == pytest.approx(13.4, abs=0.05)
    assert fastest.energy_j == pytest.approx(0.05 * 13.404**2, abs=0.01)
    assert fastest.move.placement.move == "extension"
    assert fastest.clear_radius_m == pytest.approx(0.45 / 0.65 + 0.55 + 0.04, abs=1e-12)


def test_a_faster_head_in_the_left_hand_is_told_with_its_own_prop(kit):
    """v = 2 pi f L about still hands: 0.5 m in the right, 0.7 m and twice the mass in the left, at
    one turn a second 2 pi 0.7 = 4.40 m/s and 0.2 v^2 / 2 = 1.93 J."""
    right, left = Prop(length_m=0.5), Prop(length_m=0.7, head_mass_kg=0.2, head_radius_m=0.06)
    wren = Performer("Wren", Body(arm_m=0.6), right, left)
    assert (wren.prop(Hand.RIGHT), wren.prop(Hand.LEFT)) == (right, left)
    piece = kit.routine(kit.placed("static spin", 0, 4), on=kit.grid(bpm=60), performer=wren)
    fastest = fastest_head(piece, wren, performed_part(piece, "Wren"), kit.library)
    assert fastest.hand is Hand.LEFT
    assert fastest.speed_m_s == pytest.approx(2 * pi * 0.7, abs=1e-9)
    assert fastest.energy_j == pytest.approx(0.1 * (2 * pi * 0.7) ** 2, abs=1e-9)
    assert fastest.clear_radius_m == pytest.approx(0.6 + 0.7 + 0.06, abs=1e-12)


def test_cautions_defer_to_local_codes_and_never_certify(kit):
    piece = kit.routine(kit.placed("extension", 0, 4), performer=Performer("Wren", fire=True))
    lines = caution_lines(piece, kit.library)
    assert lines[0].startswith("Wren: heads run up to ")
    assert "face and eyes: no contact is acceptable" in lines[0], "energy, and no verdict on it"
    assert lines[1:] == (FIRE, CLOSING)
    assert "unlit" in FIRE
    assert "does not certify" in CLOSING
    assert "local code" in FIRE.lower()
    assert not any("safe " in line.lower() or "safely" in line.lower() for line in lines)
    unlit = kit.routine(kit.placed("extension", 0, 4))
    assert FIRE not in caution_lines(unlit, kit.library)
    assert caution_lines(kit.routine(), kit.library) == (CLOSING,)


def test_performers_who_do_the_same_are_cautioned_in_one_line(kit):
    from composer.score.routine import Following, Part

    alone = kit.routine(kit.placed("extension", 0, 4))
    follows = Part("Ash", following=(Following("Wren"),))
    (wren,) = alone.performers
    both = replace(
        alone, performers=(wren, replace(wren, name="Ash")), parts=(*alone.parts, follows)
    )
    (line, closing) = caution_lines(both, kit.library)
    assert line.startswith("Wren, Ash: heads run up to ")
    assert "about each of them" in line
    assert closing == CLOSING
