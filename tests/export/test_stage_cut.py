"""A routine with a cut: everything that is taken out is of the cut piece, beat for beat."""

from dataclasses import replace

import numpy as np
import pytest

from composer.export.choice import choose
from composer.export.stage_cut import cut_routine, cut_sound
from composer.score.parts import performed_part
from composer.score.routine import Cut

from .conftest import RATE_HZ, span


@pytest.fixture
def cut_piece(duo):
    """Bars 2 to 3 (beats 4 to 12) and 5 to 8 (16 to 32) kept, a second of silence before."""
    return replace(duo, cut=Cut((span(4, 8), span(16, 16)), fade_out_s=1.0, lead_in_s=1.0))


def test_moves_land_on_the_beats_of_the_cut(cut_piece):
    """Beats 4-12 become 0-8, beats 16-32 become 8-24; a move that is cut into is shortened."""
    moves = performed_part(cut_routine(cut_piece), "Wren")
    found = [(m.placement.move, m.span.start_beat, m.span.end_beat) for m in moves]
    assert [(name, float(start), float(end)) for name, start, end in found] == [
        ("extension", 0, 4), ("triquetra", 4, 8), ("triquetra", 8, 16),
        ("wheel extension", 16, 23.5),
    ]  # fmt: skip


def test_a_follower_s_part_is_cut_as_it_is_performed(cut_piece):
    """Ash begins four beats late: extension 4-12 becomes 0-8."""
    moves = performed_part(cut_routine(cut_piece), cut_piece.performers[1].name)
    first = moves[0]
    assert (first.placement.move, first.span.start_beat, first.span.end_beat) == ("extension", 0, 8)
    assert first.placement.style.mirrored


def test_beats_and_phrases_follow_the_cut(cut_piece):
    """Beat 0 after the lead-in of 1 s; 24 beats at 120; both phrases go on existing."""
    grid = cut_routine(cut_piece).grid
    assert grid.tempo_map.seconds(0) == pytest.approx(1.0, rel=0, abs=1e-9)
    assert grid.tempo_map.seconds(24) == pytest.approx(13.0, rel=0, abs=1e-9)
    assert [(p.name, p.start_beat) for p in grid.phrases] == [("a --> b & <i>", 0), ("ליפט", 8)]
    assert choose(cut_routine(cut_piece), phrase="2").phrase == 1


def test_notes_and_spots_move_with_their_beats(cut_piece):
    """The light of beat 28 comes on beat 20; the spot of beat 20 on beat 12; the first at 0."""
    staged = cut_routine(cut_piece)
    assert [(note.text, note.beat) for note in staged.notes] == [("blue wash", 20)]
    assert [(s.beat, s.x_m) for s in staged.spots if s.performer == "Wren"] == [(0, 0.0), (12, 1.5)]


def test_the_cut_sound_clicks_on_the_cut_s_beats(cut_piece, sound):
    """The source clicks on every beat; so does the cut, from 1 s on, every half second."""
    made = cut_sound(cut_piece, sound.samples, RATE_HZ)
    assert len(made) / RATE_HZ == pytest.approx(13.0, rel=0, abs=0.001)
    mono = np.abs(made[:, 0])
    assert mono[: round(0.98 * RATE_HZ)].max() == 0
    for beat in range(22):  # the last two lie in the fade
        at = round((1.0 + 0.5 * beat) * RATE_HZ)
        loud = np.flatnonzero(mono[at - 500 : at + 500] > 0.3)
        assert loud[0] - 500 == pytest.approx(0, abs=0.002 * RATE_HZ)


def test_without_a_cut_nothing_changes(duo, sound):
    assert cut_routine(duo) is duo
    assert cut_sound(duo, sound.samples, RATE_HZ) is sound.samples


def test_a_cut_that_names_no_stretches_keeps_all(duo, sound):
    whole = replace(duo, cut=Cut((), lead_in_s=0.5))
    assert cut_routine(whole).grid.end_beat == 32
    assert len(cut_sound(whole, sound.samples, RATE_HZ)) / RATE_HZ == pytest.approx(
        16.5, rel=0, abs=0.001
    )
