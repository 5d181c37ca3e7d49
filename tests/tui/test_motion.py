"""The motion pane: where hands and heads are drawn, and the figures in words."""

import math
from fractions import Fraction
from types import SimpleNamespace

import pytest

from composer.check.performed import performed
from composer.export.choice import View
from composer.moves.library import shipped_library
from composer.score.parts import performed_part
from composer.score.routine import Performer, Placement
from composer.timing.beats import BeatSpan
from tui.views.motion import closing_words, step_share, top_speeds, trail_of
from tui.views.motion_pane import motion_lines, step_from
from tui.views.motion_state import MotionState
from tui.views.paper import plain

WREN = Performer("Wren")
LIBRARY = shipped_library()


def placement(move: str, beats: int = 8) -> Placement:
    return Placement(BeatSpan(Fraction(0), Fraction(beats)), move)


def pane_of(piece: SimpleNamespace, move: Placement, state: MotionState) -> list[str]:
    routine = piece.routine_of(move)
    moves = performed_part(routine, "Wren")
    lines = motion_lines(
        routine, LIBRARY, moves, moves[0], (), state, columns=60, rows=30
    )  # fmt: skip
    return [plain(line) for line in lines]


def cell_of(lines: list[str], sign: str) -> tuple[int, int]:
    (found,) = [(row, line.index(sign)) for row, line in enumerate(lines) if sign in line]
    return found


def test_a_head_hangs_below_its_hand_at_a_downbeat(piece: SimpleNamespace) -> None:
    """A static spin is entered on its downbeat: the tether points straight down."""
    lines = pane_of(piece, placement("static spin"), MotionState())[:25]
    for hand, head in ("rR", "lL"):
        if any(hand in line for line in lines):
            (hand_row, hand_column), (head_row, head_column) = (
                cell_of(lines, hand), cell_of(lines, head),
            )  # fmt: skip
            assert head_row > hand_row
            assert abs(head_column - hand_column) <= 1


def test_two_eighths_after_a_downbeat_the_tether_is_level(piece: SimpleNamespace) -> None:
    """Two steps of an eighth are a quarter turn: from down, a tether that turns lies level."""
    state = MotionState()
    for _ in range(2):
        state = step_from(state, placement("static spin"), LIBRARY, WREN, 1)
    assert state.beats == Fraction(1, 4)
    lines = pane_of(piece, placement("static spin"), state)[:25]
    rows = {sign: [row for row, line in enumerate(lines) if sign in line] for sign in "lL"}
    assert rows["l"] == rows["L"]


def test_the_audience_sees_the_mirror_image(piece: SimpleNamespace) -> None:
    """Her right hand is right of her left in her own view, left of it in the audience's."""
    own = pane_of(piece, placement("static spins at both sides"), MotionState())[:25]
    theirs = pane_of(
        piece, placement("static spins at both sides"), MotionState(View.AUDIENCE)
    )[:25]  # fmt: skip
    assert cell_of(own, "r")[1] > cell_of(own, "l")[1]
    assert cell_of(theirs, "r")[1] < cell_of(theirs, "l")[1]


def test_a_step_back_undoes_a_step() -> None:
    state = step_from(MotionState(), placement("triquetra"), LIBRARY, WREN, 1)
    assert step_from(state, placement("triquetra"), LIBRARY, WREN, -1) == MotionState()


def test_a_triquetra_has_sixteen_eighths_in_a_cycle() -> None:
    """Its head turns twice for each turn of the hand: 2 turns of 8 eighths."""
    performance = performed(placement("triquetra"), WREN, LIBRARY).performance
    assert step_share(performance) == Fraction(1, 16)


def test_a_static_spin_of_one_turn_a_second_runs_two_pi_lengths_a_second() -> None:
    """v = 2 pi L / T on a held hand: 2 pi x 0.55 m = 3.456 m/s; the hand does not move."""
    performance = performed(placement("static spin"), WREN, LIBRARY).performance
    head, hand = top_speeds(performance, 1.0)
    assert math.isclose(head, 2 * math.pi * 0.55, rel_tol=0, abs_tol=1e-6)
    assert math.isclose(hand, 0.0, rel_tol=0, abs_tol=1e-9)


def test_the_words_tell_cycle_relation_and_speed(piece: SimpleNamespace) -> None:
    """An extension closes with each beat at rate 1; both hands do the same, together."""
    text = "\n".join(pane_of(piece, placement("extension"), MotionState())[-5:])
    assert "cycle 1 beat, 1 downbeat, closes" in text
    assert "together same" in text
    assert "m/s" in text


@pytest.mark.parametrize(
    ("closes", "turned", "missing", "words"),
    [
        (True, False, "0", "closes"),
        (False, True, "1", "ends in the same figure turned"),
        (False, False, "5/2", "open, 2 1/2 beats short of closing"),
    ],
)
def test_closing_is_told_in_words(closes: bool, turned: bool, missing: str, words: str) -> None:
    assert closing_words(closes, turned, Fraction(missing)) == words


def test_too_few_rows_for_a_picture_leave_the_words(piece: SimpleNamespace) -> None:
    routine = piece.routine_of(placement("extension"))
    moves = performed_part(routine, "Wren")
    lines = motion_lines(routine, LIBRARY, moves, moves[0], (), MotionState(), columns=60, rows=6)
    assert len(lines) == 5


def test_a_trail_is_drawn_once_for_one_size() -> None:
    performance = performed(placement("triquetra"), WREN, LIBRARY).performance
    first = trail_of(performance, WREN.body, View.PERFORMER, 40, 20)
    assert trail_of(performance, WREN.body, View.PERFORMER, 40, 20) is first
    assert trail_of(performance, WREN.body, View.AUDIENCE, 40, 20) is not first


def test_a_timeline_beat_and_beats_into_the_move_agree() -> None:
    later = Placement(BeatSpan(Fraction(16), Fraction(8)), "extension")
    assert MotionState().at_beat(Fraction(35, 2)).beats_into(later) == Fraction(3, 2)


def test_run_slowly_it_comes_out_of_the_move_before(piece: SimpleNamespace) -> None:
    """Half a beat before the boundary the hands still do the move before: a static spin's hand
    stays at its place, an extension's is at the end of its circle's radius."""
    before, move = (
        placement("static spin"),
        Placement(BeatSpan(Fraction(8), Fraction(8)), "extension"),
    )
    routine = piece.routine_of(before, move)
    moves = performed_part(routine, "Wren")

    def seen(state: MotionState) -> list[str]:
        lines = motion_lines(routine, LIBRARY, moves, moves[1], (), state, columns=60, rows=25)
        return [plain(line) for line in lines]

    early, late = seen(MotionState().at_beats_in(Fraction(-1))), seen(MotionState())
    assert "1.00 beats before" in "".join(early)
    hands = [
        next((y, row.index(sign)) for y, row in enumerate(rows) for sign in "l" if sign in row)
        for rows in (early[:20], late[:20])
    ]
    assert hands[0] != hands[1]
