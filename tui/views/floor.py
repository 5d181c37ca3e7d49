"""The floor plan as a value: lines of cells with roles, what lies under a cell, and edits by hand.

Directions of keys and mouse are those of the page; which way that is on the floor depends on whose
view the page shows.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from composer.arrange.edits import set_spot
from composer.check.findings import Finding, Level
from composer.export.choice import View
from composer.export.floor_cells import (
    Cell,
    FloorScale,
    edge_words,
    floor_cells,
    floor_scale,
)
from composer.score.floor import Place, Standing, reach_m, spots_of, standings, ways
from composer.score.routine import Routine, Spot
from composer.score.stage_words import area_words, facing_words, place_words
from tui.views.marks import LEVEL_GLYPHS
from tui.views.paper import Line, LineWriter, Piece, shortened

STEP_M = 0.25
"""How far one press of a key moves a spot."""
SNAP_M = 0.1
"""What a place under the mouse is rounded to."""
EIGHTH = Fraction(1, 8)


@dataclass(frozen=True)
class FloorPage:
    """One moment of the floor, drawn."""

    beat: Fraction
    view: View
    heading: str
    lines: tuple[Line, ...]
    """Top edge, the cells between two side edges, bottom edge, each of one length."""
    told: tuple[Line, ...]
    """A line for every performer: where she is, how she faces, how grave what is found is."""
    scale: FloorScale
    cells: tuple[tuple[Cell, ...], ...]
    selected: str = ""

    def performer_at(self, column: int, line: int) -> str:
        """Whose name or circle stands in a cell of the page; empty where nobody's does."""
        column, row = column - 1, line - 2
        if not (0 <= row < self.scale.rows and 0 <= column < self.scale.columns):
            return ""
        for reach in (0, 1):
            for cell in self.cells[row][max(0, column - reach) : column + reach + 1]:
                if cell.role == "performer":
                    return cell.performer
        return self.cells[row][column].performer

    def place_at(self, column: int, line: int) -> Place | None:
        """The place on the floor under a cell of the page; None beside the floor."""
        column, row = column - 1, line - 2
        if not (0 <= row < self.scale.rows and 0 <= column < self.scale.columns):
            return None
        place = self.scale.place(column, row)
        return Place(_snapped(place.x_m), _snapped(place.y_m))


def _snapped(value: float) -> float:
    return round(round(value / SNAP_M) * SNAP_M, 2) + 0.0


def floor_page(
    routine: Routine,
    beat: Fraction,
    *,
    view: View = View.AUDIENCE,
    columns: int = 64,
    rows: int = 24,
    selected: str = "",
    findings: Sequence[Finding] = (),
    plain: bool = False,
) -> FloorPage:
    """The floor on a beat in so many cells, edges included.

    Parameters
    ----------
    selected : str
        The performer whose name and circle are drawn as chosen.
    findings : sequence of Finding
        Those of the floor are told where they hold; others are left out.
    """
    scale = floor_scale(routine.stage, view, columns - 2, rows - 4)
    cells = floor_cells(routine, beat, scale, plain=plain)
    here = [one for one in findings if one.beat <= beat and _is_of_the_floor(one)]
    return FloorPage(
        beat,
        view,
        _heading(routine, beat),
        _framed(cells, scale, view, selected, plain=plain),
        tuple(_told(routine, one, beat, here, selected) for one in standings(routine, beat)),
        scale,
        cells,
        selected,
    )


def _heading(routine: Routine, beat: Fraction) -> str:
    index = routine.grid.phrase_index_at(beat)
    place = routine.grid.place_text(beat)
    return place if index is None else f"{routine.grid.phrases[index].name}, {place}"


def _framed(
    cells: Sequence[Sequence[Cell]], scale: FloorScale, view: View, selected: str, *, plain: bool
) -> tuple[Line, ...]:
    bar, side = ("-", "|") if plain else ("─", "│")
    corners = "++++" if plain else "┌┐└┘"
    width = scale.columns + 2
    top, bottom = (words.center(width) for words in edge_words(scale.stage, view))
    middle = [
        (Piece(side, "quiet"), *_pieces(line, selected), Piece(side, "quiet")) for line in cells
    ]
    return (
        (Piece(top, "remark"),),
        (Piece(f"{corners[0]}{bar * scale.columns}{corners[1]}", "quiet"),),
        *middle,
        (Piece(f"{corners[2]}{bar * scale.columns}{corners[3]}", "quiet"),),
        (Piece(bottom, "remark"),),
    )


ROLES = {
    "floor": "",
    "middle": "quiet",
    "circle": "quiet",
    "walk": "remark",
    "obstacle": "warning",
    "performer": "strong",
}
CHOSEN_ROLES = {"circle": "key", "walk": "remark", "performer": "ruler cursor"}


def _pieces(line: Sequence[Cell], selected: str) -> Line:
    def role(cell: Cell) -> str:
        chosen = bool(selected) and cell.performer == selected
        return CHOSEN_ROLES[cell.role] if chosen else ROLES[cell.role]

    return tuple(
        Piece("".join(cell.letter for cell in group), name) for name, group in groupby(line, role)
    )


def _is_of_the_floor(finding: Finding) -> bool:
    return not finding.moves and not finding.indexes and finding.hand is None


def _told(
    routine: Routine,
    one: Standing,
    beat: Fraction,
    findings: Sequence[Finding],
    selected: str,
) -> Line:
    stage = routine.stage
    role = "ruler cursor" if one.performer == selected else "strong"
    walking = f", walking to {place_words(one.walks_to, stage)}" if one.walks_to else ""
    words = (
        f" {place_words(one.place, stage)} ({area_words(one.place, stage)}), facing "
        f"{facing_words(one.facing_turns, stage)}, reach "
        f"{reach_m(routine.performer(one.performer)):.2f} m{walking}"
    )
    own = [f for f in findings if f.is_about(one.performer) and f.level > Level.NOTE]
    since = max((stop for stop in floor_stops(routine) if stop <= beat), default=beat)
    own = [f for f in own if f.beat >= since]
    marks = [Piece(f"  {LEVEL_GLYPHS[f.level]} {f.rule}", str(f.level)) for f in own]
    return (Piece(one.performer, role), Piece(words), *marks)


def floor_stops(routine: Routine) -> tuple[Fraction, ...]:
    """The beats to step through: where phrases begin and where somebody leaves or arrives."""
    edges = {edge for way in ways(routine).values() for edge in way.edges}
    starts = {phrase.start_beat for phrase in routine.grid.phrases}
    return tuple(sorted({Fraction(0), *edges, *starts}))


def next_stop(routine: Routine, beat: Fraction, step: int) -> Fraction:
    """The next stop or the one before; the same beat where there is none."""
    stops = floor_stops(routine)
    if step > 0:
        return min((stop for stop in stops if stop > beat), default=beat)
    return max((stop for stop in stops if stop < beat), default=beat)


def phrase_stop(routine: Routine, beat: Fraction, step: int) -> Fraction:
    """The beginning of the next phrase or of the one before."""
    starts = [phrase.start_beat for phrase in routine.grid.phrases]
    if step > 0:
        return min((start for start in starts if start > beat), default=beat)
    return max((start for start in starts if start < beat), default=beat)


# ------------------------------------------------------------------ edits


def spot_here(routine: Routine, performer: str, beat: Fraction) -> Spot | None:
    """The spot that is moved on a beat: the one she walks to, or else the one she stands on."""
    own = spots_of(routine.spots, performer)
    coming = [s for s in own if s.beat > beat and s.beat - s.travel_beats < beat]
    reached = [spot for spot in own if spot.beat <= beat]
    return coming[0] if coming else reached[-1] if reached else own[0] if own else None


def with_spot_at(routine: Routine, performer: str, beat: Fraction, place: Place) -> Routine:
    """Her spot moved to a place; a first one on this beat if she has none at all."""
    spot = spot_here(routine, performer, beat)
    if spot is None:
        return set_spot(routine, Spot(performer, beat, place.x_m, place.y_m))
    return set_spot(routine, replace(spot, x_m=place.x_m, y_m=place.y_m))


def with_new_spot(routine: Routine, performer: str, beat: Fraction) -> Routine:
    """A spot of her own on this beat, where she is now: from here it can be moved."""
    way = ways(routine).get(performer)
    place = way.place_at(beat) if way else Place(0.0, routine.stage.depth_m / 2)
    old = spot_here(routine, performer, beat)
    facing = old.facing_turns if old else Fraction(0)
    x_m, y_m = _snapped(place.x_m), _snapped(place.y_m)
    return set_spot(routine, Spot(performer, beat, x_m, y_m, facing))


def without_spot(routine: Routine, performer: str, beat: Fraction) -> Routine:
    """The routine without the spot that is moved on this beat."""
    spot = spot_here(routine, performer, beat)
    return replace(routine, spots=tuple(s for s in routine.spots if s != spot))


def nudged(
    routine: Routine, performer: str, beat: Fraction, right: int, down: int, view: View
) -> Routine:
    """Her spot some steps to the right and down on the page."""
    spot = spot_here(routine, performer, beat)
    if spot is None:
        return with_new_spot(routine, performer, beat)
    way = -1 if view is View.AUDIENCE else 1
    x_m = round(spot.x_m + way * right * STEP_M, 2) + 0.0
    y_m = round(spot.y_m + way * down * STEP_M, 2) + 0.0
    return set_spot(routine, replace(spot, x_m=x_m, y_m=y_m))


def turned(routine: Routine, performer: str, beat: Fraction, eighths: int) -> Routine:
    """Her spot facing so many eighths of a turn further to her left."""
    spot = spot_here(routine, performer, beat)
    if spot is None:
        return routine
    return set_spot(routine, replace(spot, facing_turns=(spot.facing_turns + eighths * EIGHTH) % 1))


def walking_longer(routine: Routine, performer: str, beat: Fraction, beats: int) -> Routine:
    """Her way to the spot with more or fewer beats, one at the least."""
    spot = spot_here(routine, performer, beat)
    if spot is None:
        return routine
    travel = max(Fraction(1), spot.travel_beats + beats)
    return set_spot(routine, replace(spot, travel_beats=travel))


def told_lines(page: FloorPage, width_cells: int) -> tuple[Line, ...]:
    """The lines under the plan cut to a width."""
    lines = []
    for line in page.told:
        writer, at = LineWriter(width_cells), 0
        for piece in line:
            writer.put(at, shortened(piece.text, width_cells - at), piece.role)
            at += len(piece.text)
        lines.append(writer.line())
    return tuple(lines)
