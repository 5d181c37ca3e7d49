"""Followed parts are worked out, never copied; every call comes early enough."""

from dataclasses import replace
from fractions import Fraction

import pytest

from composer.errors import ComposerError, UnknownName
from composer.moves.perform import Style
from composer.score.cues import LEAD_S, cue_list, usual_lead_beats
from composer.score.parts import like, performed_part, performed_parts
from composer.score.routine import (
    CueNote,
    Following,
    Likeness,
    Part,
    Performer,
    Placement,
    Routine,
    Spot,
    TrackRef,
)
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.meter import Meter, MeterChange, MeterMap
from composer.timing.tempo_map import steady_tempo_map


def placed(start: int, length: int, move: str = "extension", **style: object) -> Placement:
    return Placement(
        BeatSpan(Fraction(start), Fraction(length)),
        move,
        style=Style(**style),  # type: ignore[arg-type]
    )


def routine(*parts: Part, bpm: float = 120, counts: int = 4, **more: object) -> Routine:
    grid = MusicGrid(
        steady_tempo_map(bpm, 0.5),
        Fraction(64),
        MeterMap((MeterChange(Fraction(0), Meter(counts, 4)),)),
        phrases=(Phrase(Fraction(0), "intro"), Phrase(Fraction(16), "verse")),
    )
    performers = tuple(Performer(part.performer) for part in parts)
    return Routine("Test piece", TrackRef("x.ogg"), grid, performers, parts, **more)  # type: ignore[arg-type]


LEADER = Part("Wren", (placed(0, 8), placed(8, 8, "isolation")))


def test_a_canon_stands_its_delay_behind_at_all_times() -> None:
    """Definition of a canon: voice k is voice 0 at t - d_k; four entries a quarter of 16 apart."""
    voices = [
        Part(f"Voice {k}", following=(Following("Wren", delay_beats=Fraction(4 * k)),))
        for k in (1, 2, 3)
    ]
    piece = routine(LEADER, *voices)
    spans = {name: [m.span for m in moves] for name, moves in performed_parts(piece).items()}
    for k in (1, 2, 3):
        assert spans[f"Voice {k}"] == [s.shifted(Fraction(4 * k)) for s in spans["Wren"]]


def test_a_canon_inside_a_stretch_only() -> None:
    stretch = BeatSpan(Fraction(12), Fraction(8))
    follower = Part("Jay", following=(Following("Wren", delay_beats=Fraction(4), span=stretch),))
    moves = performed_part(routine(LEADER, follower), "Jay")
    assert [m.span.start_beat for m in moves] == [12]
    assert moves[0].written_by == "Wren"


def test_own_moves_win_over_followed_ones() -> None:
    follower = Part("Jay", (placed(8, 4, "stall"),), (Following("Wren"),))
    moves = performed_part(routine(LEADER, follower), "Jay")
    assert [m.placement.move for m in moves] == ["extension", "stall"]


def test_her_own_move_takes_only_the_hands_it_needs_from_the_followed_part() -> None:
    lead = Part("Wren", (placed(0, 8, "diamond", hand="right"), placed(8, 8, "isolation")))
    follower = Part("Jay", (placed(0, 4, "stall", hand="left"),), (Following("Wren"),))
    moves = performed_part(routine(lead, follower), "Jay")
    assert {(m.placement.move, m.placement.style.hand) for m in moves} == {
        ("stall", "left"), ("diamond", "right"), ("isolation", "both"),
    }  # fmt: skip


def test_hands_swapped_do_the_same_at_the_same_places_with_the_other_hand() -> None:
    one = replace(placed(0, 4, hand="right"), facing_turns=Fraction(1, 4))
    swapped = like(one, Likeness.HANDS_SWAPPED)
    assert (swapped.style.hand, swapped.style.swapped) == ("left", True)
    assert (swapped.style.mirrored, swapped.facing_turns) == (False, Fraction(1, 4))


def test_a_mirror_undoes_itself_and_changes_hands() -> None:
    one = replace(placed(0, 4, hand="right"), facing_turns=Fraction(1, 4))
    mirrored = like(one, Likeness.MIRRORED)
    assert mirrored.style.hand == "left"
    assert mirrored.facing_turns == Fraction(-1, 4)
    assert like(mirrored, Likeness.MIRRORED) == one
    assert like(like(one, Likeness.HANDS_SWAPPED), Likeness.HANDS_SWAPPED) == one


def test_a_circle_of_followers_is_refused_with_its_chain() -> None:
    piece = routine(
        Part("Wren", following=(Following("Jay"),)),
        Part("Jay", following=(Following("Finch"),)),
        Part("Finch", following=(Following("Wren"),)),
    )
    with pytest.raises(ComposerError, match="Wren follows Jay follows Finch follows Wren"):
        performed_part(piece, "Wren")


def test_a_part_needs_its_performer() -> None:
    with pytest.raises(ValueError, match="Jay"):
        replace(routine(LEADER), parts=(Part("Jay"),))
    with pytest.raises(UnknownName, match="Wren"):
        routine(LEADER).performer("Jay")


@pytest.mark.parametrize(("bpm", "counts", "beats"), [(120, 4, 4), (60, 3, 3), (180, 3, 4)])
def test_a_call_is_one_bar_and_at_least_1_3_s_ahead(bpm: float, counts: int, beats: int) -> None:
    """Furneaux & Land, Proc. R. Soc. B 266 (1999) 2435: players look 1.0 to 1.3 s ahead.

    At 180 a bar of three lasts 1.0 s, so four whole beats (1.33 s) are needed.
    """
    piece = routine(LEADER, bpm=bpm, counts=counts)
    lead = usual_lead_beats(piece, Fraction(12))
    assert lead == beats
    assert float(lead) * 60 / bpm >= LEAD_S


def test_the_bar_ahead_is_the_one_that_leads_up_to_the_cue() -> None:
    """In four up to beat 16, in three from there: what comes on 16 is called a bar of four ahead,
    what comes on 19 a bar of three (at 60 a beat lasts a second)."""
    piece = routine(LEADER, bpm=60)
    meters = MeterMap(
        (MeterChange(Fraction(0), Meter(4, 4)), MeterChange(Fraction(16), Meter(3, 4)))
    )
    piece = replace(piece, grid=replace(piece.grid, meter_map=meters))
    assert [usual_lead_beats(piece, Fraction(beat)) for beat in (0, 16, 17, 19)] == [4, 4, 3, 3]


def test_the_cue_list_says_what_begins_ends_and_changes() -> None:
    piece = routine(
        LEADER,
        spots=(Spot("Wren", Fraction(12), 1.5, 2.0),),
        notes=(
            CueNote(Fraction(4), "lights out", "light"),
            CueNote(Fraction(4), "x", performer="Y"),
        ),
    )
    cues = cue_list(piece, "Wren")
    assert [(c.beat, c.kind, c.text) for c in cues] == [
        (0, "move", "extension"),
        (4, "light", "lights out"),
        (8, "move", "isolation"),
        (8, "spot", "travel to 1.5 m stage right, 2 m upstage"),
        (16, "end", "end of isolation"),
        (16, "phrase", "end of intro, verse begins"),
    ]
    assert all(cue.call_beat == cue.beat - 4 for cue in cues)
    assert all(c.call_beat == c.beat - 8 for c in cue_list(piece, "Wren", lead_beats=Fraction(8)))


def test_a_call_names_what_is_particular() -> None:
    piece = routine(Part("Wren", (placed(0, 4, hand="left", mirrored=True),)))
    assert cue_list(piece, "Wren")[0].text == "extension, left hand, mirrored"
