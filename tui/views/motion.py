"""The motion of a placed move in terminal cells: trails, where hands and heads are, and figures."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

import numpy as np

from composer.check.findings import Finding
from composer.check.fit import fit
from composer.check.performed import performed
from composer.export.choice import View
from composer.export.picture_cells import DOTS_ACROSS, DOTS_DOWN
from composer.export.picture_lens import Box, Lens, extent_m, fitted_lens, view_words
from composer.motion.body import Body
from composer.motion.hands import Hand, TwoHands
from composer.motion.kinematics import Floats, motion_at
from composer.motion.relation import head_relations, relation_words
from composer.moves.library import Library
from composer.moves.perform import Performance
from composer.score.parts import PlacedMove
from composer.score.routine import Performer, Placement, Routine
from composer.score.same import Same
from composer.timing.beats import beats_words
from tui.views.braille import trail_rows
from tui.views.marks import LEVEL_GLYPHS
from tui.views.paper import Line, LineWriter, Piece

EIGHTHS = 8
_ROLES = {"": "", "body": "quiet", "right": "right hand", "left": "left hand", "both": "both hands"}
_SIGNS = {Hand.RIGHT: ("r", "R"), Hand.LEFT: ("l", "L")}
"""Hand and head of each side as letters: they are told apart without colour."""


@dataclass(frozen=True, eq=False)
class Trail:
    """A move's trails drawn once: lines to write hands and heads over, and how to place them."""

    performance: Performance
    body: Body
    view: View
    lines: tuple[Line, ...]
    lens: Lens

    @property
    def words(self) -> str:
        return view_words(self.performance.plane, self.view)


def trail_of(
    performance: Performance, body: Body, view: View, columns: int, rows: int, braille: bool = True
) -> Trail:
    """The trails of a move drawn into so many cells; kept, as long as nothing changes."""
    return _trail(Same(performance), body, view, columns, rows, braille)


@lru_cache(maxsize=64)
def _trail(
    same: Same[Performance], body: Body, view: View, columns: int, rows: int, braille: bool
) -> Trail:
    performance = same.value
    drawn = trail_rows(performance, body, view, columns=columns, rows=rows, braille=braille)
    lines = tuple(tuple(Piece(run.text, _ROLES[run.role]) for run in row) for row in drawn)
    box = Box(0, 0, columns * DOTS_ACROSS, rows * DOTS_DOWN)
    lens = fitted_lens(performance, view, box, extent_m(performance, body, view))
    return Trail(performance, body, view, lines, lens)


def step_share(performance: Performance) -> Fraction:
    """An eighth of a turn of the busier head, as a share of the common cycle."""
    return Fraction(1, EIGHTHS * max(1, performance.downbeats_per_cycle))


def frame(trail: Trail, passed: float, way_m: Sequence[Floats] = ()) -> tuple[Line, ...]:
    """The trails with hands and heads after a share of the cycle, as :func:`frame_of`."""
    performance = trail.performance
    places = {hand: performance.room_places_m(hand, [passed]) for hand in performance.tracks}
    return frame_of(trail, places, way_m)


def frame_of(
    trail: Trail, places_m: Mapping[Hand, tuple[Floats, Floats]], way_m: Sequence[Floats] = ()
) -> tuple[Line, ...]:
    """The trails with hands (r, l), heads (R, L) and tethers at some places in the room.

    ``way_m`` are room points, shape=(n, 3), of the heads' way into the move, written as crosses.
    """
    width = sum(len(piece.text) for piece in trail.lines[0])
    writers = [_writer(line, width) for line in trail.lines]
    for points in way_m:
        _write_points(writers, trail.lens.page(points), "×", "strong")
    for hand, (hand_m, head_m) in places_m.items():
        between = hand_m + (head_m - hand_m) * np.linspace(0, 1, 7)[1:-1, None]
        role = f"{hand} hand"
        _write_points(writers, trail.lens.page(between), "•", role)
        for place, sign in zip((hand_m, head_m), _SIGNS[hand], strict=True):
            _write_points(writers, trail.lens.page(place), sign, role + " sign")
    return tuple(writer.line() for writer in writers)


def _writer(line: Line, width: int) -> LineWriter:
    writer, column = LineWriter(width), 0
    for piece in line:
        writer.put(column, piece.text, piece.role)
        column += len(piece.text)
    return writer


def _write_points(writers: list[LineWriter], dots: Floats, sign: str, role: str) -> None:
    for across, down in np.floor(dots / (DOTS_ACROSS, DOTS_DOWN)).astype(int):
        if 0 <= down < len(writers):
            writers[down].put(int(across), sign, role)


# ------------------------------------------------------------------ in words


def motion_words(
    placement: Placement, library: Library, performer: Performer, routine: Routine
) -> tuple[Line, ...]:
    """What matters of the motion: cycle and closing, hands against each other, speeds."""
    performance = performed(placement, performer, library).performance
    told = fit(placement, library, performer, routine.grid)
    cycle_s = (
        float(told.cycle_beats) * 60 / routine.grid.tempo_map.bpm_at(placement.span.start_beat)
    )
    downbeats = performance.downbeats_per_cycle
    cycle = f"cycle {beats_words(told.cycle_beats)}, {downbeats} downbeat{'s' * (downbeats != 1)}"
    closing = closing_words(told.closes, told.closes_turned, told.missing_beats)
    head, hand = top_speeds(performance, cycle_s)
    return (
        (Piece(f" {cycle}, {closing}"),),
        (Piece(f" heads {_relation(performance)}"),),
        (Piece(f" fastest head {head:.1f} m/s, hand {hand:.1f} m/s", "strong"),),
    )


def closing_words(closes: bool, closes_turned: bool, missing_beats: Fraction) -> str:
    if closes:
        return "closes"
    if closes_turned:
        return "ends in the same figure turned"
    return f"open, {beats_words(missing_beats)} short of closing"


def _relation(performance: Performance) -> str:
    tracks = performance.tracks
    if len(tracks) < 2:
        return "of one hand only"
    return relation_words(head_relations(TwoHands(tracks[Hand.RIGHT], tracks[Hand.LEFT])))


@lru_cache(maxsize=2_000)
def _speeds_a_cycle(same: Same[Performance]) -> tuple[float, float]:
    """Fastest head and hand in metres for each common cycle, over both sides."""
    heads, hands = [0.0], [0.0]
    for track in same.value.tracks.values():
        phases = np.linspace(0, 1, 400, endpoint=False)
        motion = motion_at(track.pattern, phases, cycle_s=1 / track.cycles)
        heads.append(float(np.abs(motion.head_velocity).max()))
        hands.append(float(np.abs(motion.hand_velocity).max()))
    return max(heads), max(hands)


def top_speeds(performance: Performance, cycle_s: float) -> tuple[float, float]:
    """Fastest head and hand in m/s where the common cycle lasts so many seconds."""
    head, hand = _speeds_a_cycle(Same(performance))
    return head / cycle_s, hand / cycle_s


def into_line(before: PlacedMove | None, findings: Sequence[Finding]) -> Line:
    """How the move is come into: smoothly, or what was found at its start."""
    if before is None:
        return (Piece(" begins from rest", "quiet"),)
    if not findings:
        return (Piece(f" flows out of {before.placement.move}", "good"),)
    first = findings[0]
    glyph = LEVEL_GLYPHS[first.level]
    return (
        Piece(f" out of {before.placement.move}: "),
        Piece(f"{glyph} {first.rule}", str(first.level)),
    )
