"""The motion pane as text: trails above, the measures that matter in words below."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from composer.check.findings import Finding
from composer.check.performed import performed
from composer.moves.library import Library
from composer.score.parts import PlacedMove, move_before
from composer.score.routine import Performer, Placement, Routine
from tui.views.motion import (
    frame,
    frame_of,
    into_line,
    motion_words,
    step_share,
    trail_of,
)
from tui.views.motion_state import MotionState
from tui.views.paper import Line, Piece
from tui.views.trying import tried_at

NEAR_BEATS = 1
"""After so many beats the change from the move before has long ended."""
FEWEST_ROWS = 4
"""Fewer rows than this show words only."""
WORD_LINES = 5


def step_from(
    state: MotionState, placement: Placement, library: Library, performer: Performer, step: int
) -> MotionState:
    """So many eighths of a turn of the busier head on, or back."""
    performance = performed(placement, performer, library).performance
    beats = step_share(performance) * performance.cycle_beats(placement.rate)
    return replace(state, beats=state.beats_into(placement) + step * beats, on_timeline=False)


def turned_beats(
    placement: Placement, library: Library, performer: Performer, turns: float
) -> Fraction:
    """How many beats the busier head takes for so many turns."""
    performance = performed(placement, performer, library).performance
    eighth = step_share(performance) * performance.cycle_beats(placement.rate)
    return eighth * 8 * Fraction(turns).limit_denominator(1000)


def motion_lines(
    routine: Routine,
    library: Library,
    moves: Sequence[PlacedMove],
    move: PlacedMove | None,
    findings: Sequence[Finding],
    state: MotionState,
    *,
    columns: int,
    rows: int,
) -> tuple[Line, ...]:
    """The pane for a placed move, or one that might be placed, in so many cells.

    Raises
    ------
    UnknownName, CannotEnter
        If the move is not in the library or cannot be performed as placed.
    """
    if move is None:
        return ((Piece(" nothing is placed here", "quiet"),),)
    placement, performer = move.placement, routine.performer(move.performer)
    before = move_before(moves, move)
    text = _words(routine, library, move, before, findings, state)
    picture_rows = rows - WORD_LINES
    if picture_rows < FEWEST_ROWS or columns < FEWEST_ROWS:
        return text
    performance = performed(placement, performer, library).performance
    passed = state.beats_into(placement) / performance.cycle_beats(placement.rate) % 1
    trail = trail_of(performance, performer.body, state.view, columns, picture_rows)
    into = state.beats_into(placement)
    if into >= NEAR_BEATS:
        return (*frame(trail, float(passed)), *text)
    trial = tried_at(routine, library, moves, move)
    beat = placement.span.start_beat + into
    if into != 0 and trial.span[0] <= beat < trial.window[1]:
        return (*frame_of(trail, trial.places(beat), trial.way_m), *text)
    return (*frame(trail, float(passed), trial.way_m if into == 0 else ()), *text)


def _words(
    routine: Routine,
    library: Library,
    move: PlacedMove,
    before: PlacedMove | None,
    findings: Sequence[Finding],
    state: MotionState,
) -> tuple[Line, ...]:
    placement, performer = move.placement, routine.performer(move.performer)
    start = placement.span.start_beat
    into_beats = float(state.beats_into(placement))
    where = f"{into_beats:.2f} beats in" if into_beats >= 0 else f"{-into_beats:.2f} beats before"
    at_start = [f for f in findings if f.beat == start and len(f.moves) == 2]
    tried = move.index < 0
    into: Line = (Piece(" tried here; findings follow once it is placed", "quiet"),)
    return (
        (
            Piece(f" {placement.move}", "strong"),
            Piece(f" · {state.view}'s view · {where}", "quiet"),
        ),
        into if tried else into_line(before, at_start),
        *motion_words(placement, library, performer, routine),
    )
