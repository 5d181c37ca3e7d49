"""The floor in the cells of a terminal: names, facings, reach circles, walks and the front edge.

A cell is about twice as high as wide, so a row stands for twice as many metres as a column.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import cos, pi, sin

from composer.export.choice import View
from composer.export.floor_plan import from_above
from composer.score.floor import Place, Standing, reach_m, standings, ways
from composer.score.routine import Routine, Stage
from composer.score.stage_words import seen_from_the_other_side
from composer.timing.beats import beats_text

ARROWS = "↓↘→↗↑↖←↙"
"""For the audience's plan, from facing the audience counter-clockwise by eighths of a turn."""
PLAIN_ARROWS = "v\\>/^\\</"
CELLS_HIGH_TO_WIDE = 2.0
FEWEST_COLUMNS, FEWEST_ROWS = 20, 8
STEPS_WITH_BEATS = 3
"""Ways of fewer signs than that are hidden by their beats."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A character and what it is: ``"floor"``, ``"edge"``, ``"circle"``, ``"walk"`` and so on."""

    letter: str
    role: str
    performer: str = ""


@dataclass(frozen=True, slots=True)
class FloorScale:
    """Where the cells of a plan lie on the floor."""

    columns: int
    rows: int
    column_m: float
    stage: Stage
    view: View

    @property
    def row_m(self) -> float:
        return self.column_m * CELLS_HIGH_TO_WIDE

    def cell(self, place: Place) -> tuple[int, int]:
        """Column and row of a place; perhaps outside the plan."""
        across, down = from_above(place, self.stage, self.view)
        return round(across / self.column_m - 0.5), round(down / self.row_m - 0.5)

    def place(self, column: int, row: int) -> Place:
        """The place in the middle of a cell."""
        across, down = (column + 0.5) * self.column_m, (row + 0.5) * self.row_m
        place = Place(self.stage.width_m / 2 - across, self.stage.depth_m - down)
        if self.view is View.PERFORMER:
            return seen_from_the_other_side(place, self.stage)
        return place


def floor_scale(stage: Stage, view: View, columns: int, rows: int) -> FloorScale:
    """The largest plan of the floor that so many cells hold.

    Raises
    ------
    ValueError
        If there are too few cells to draw in.
    """
    if columns < FEWEST_COLUMNS or rows < FEWEST_ROWS:
        raise ValueError(f"a plan needs at least {FEWEST_COLUMNS} x {FEWEST_ROWS} cells")
    column_m = max(stage.width_m / columns, stage.depth_m / rows / CELLS_HIGH_TO_WIDE)
    wide = max(1, round(stage.width_m / column_m))
    high = max(1, round(stage.depth_m / column_m / CELLS_HIGH_TO_WIDE))
    return FloorScale(min(wide, columns), min(high, rows), column_m, stage, view)


def floor_cells(
    routine: Routine, beat: Fraction, scale: FloorScale, *, plain: bool = False
) -> tuple[tuple[Cell, ...], ...]:
    """Rows of cells from the top: everybody as she stands on a beat.

    A performer is her first letters and an arrow for where she faces; round her runs her circle.
    """
    page = [[Cell(" ", "floor") for _ in range(scale.columns)] for _ in range(scale.rows)]
    there = standings(routine, beat)
    _middle_line(page, scale, plain=plain)
    for thing in scale.stage.obstacles:
        _round(page, scale, Place(thing.x_m, thing.y_m), thing.radius_m, Cell("#", "obstacle"))
        _write(page, scale.cell(Place(thing.x_m, thing.y_m)), thing.name[:6], "obstacle")
    for one in there:
        radius = reach_m(routine.performer(one.performer))
        letter = "." if plain else "·"
        _round(page, scale, one.place, radius, Cell(letter, "circle", one.performer))
    _walks(page, scale, routine, beat, plain=plain)
    for one in there:
        column, row = scale.cell(one.place)
        mark = one.performer[:3] + _arrow(one, scale.view, plain=plain)
        _write(page, (column - len(mark) // 2, row), mark, "performer", one.performer)
    return tuple(tuple(line) for line in page)


def floor_lines(
    routine: Routine,
    beat: Fraction,
    view: View = View.AUDIENCE,
    *,
    columns: int = 64,
    rows: int = 24,
    plain: bool = False,
) -> tuple[str, ...]:
    """The plan as lines of text with its edges told."""
    scale = floor_scale(routine.stage, view, columns, rows)
    cells = floor_cells(routine, beat, scale, plain=plain)
    inner = ["".join(cell.letter for cell in line) for line in cells]
    bar, side = ("-", "|") if plain else ("─", "│")
    top, bottom = edge_words(routine.stage, view)
    return (
        top.center(scale.columns + 2).rstrip(),
        f"+{bar * scale.columns}+",
        *(f"{side}{line}{side}" for line in inner),
        f"+{bar * scale.columns}+",
        bottom.center(scale.columns + 2).rstrip(),
    )


def edge_words(stage: Stage, view: View) -> tuple[str, str]:
    """What is beyond the upper and beyond the lower edge of the plan."""
    far, near = ("north", "south") if stage.in_the_round else ("upstage", "audience")
    return (far, near) if view is View.AUDIENCE else (near, far)


def _arrow(one: Standing, view: View, *, plain: bool) -> str:
    eighths = round(float(one.facing_turns) * 8) + (0 if view is View.AUDIENCE else 4)
    return (PLAIN_ARROWS if plain else ARROWS)[eighths % 8]


Page = list[list[Cell]]


def _put(page: Page, at: tuple[int, int], cell: Cell) -> None:
    column, row = at
    if 0 <= row < len(page) and 0 <= column < len(page[row]):
        page[row][column] = cell


def _write(page: Page, at: tuple[int, int], text: str, role: str, performer: str = "") -> None:
    for step, letter in enumerate(text):
        _put(page, (at[0] + step, at[1]), Cell(letter, role, performer))


def _middle_line(page: Page, scale: FloorScale, *, plain: bool) -> None:
    column, _ = scale.cell(Place(0.0, 0.0))
    for row in range(scale.rows):
        _put(page, (column, row), Cell(":" if plain else "┊", "middle"))


def _round(page: Page, scale: FloorScale, middle: Place, radius_m: float, cell: Cell) -> None:
    steps = max(8, round(2 * pi * radius_m / scale.column_m))
    for k in range(steps):
        angle = 2 * pi * k / steps
        x_m, y_m = middle.x_m + radius_m * cos(angle), middle.y_m + radius_m * sin(angle)
        _put(page, scale.cell(Place(x_m, y_m)), cell)


def _walks(page: Page, scale: FloorScale, routine: Routine, beat: Fraction, *, plain: bool) -> None:
    """The way of everybody who has just arrived or is under way, with its beats in its middle."""
    for name, way in ways(routine).items():
        walk = way.walk_to(beat)
        if walk is None:
            continue
        steps = max(1, round(walk.start.distance_m(walk.end) / scale.column_m / 2))
        for k in range(steps):
            there = walk.start.towards(walk.end, k / steps)
            _put(page, scale.cell(there), Cell("*" if plain else "∙", "walk", name))
        if steps >= STEPS_WITH_BEATS and walk.span is not None:
            column, row = scale.cell(walk.start.towards(walk.end, 0.5))
            beats = beats_text(walk.span.length_beats)
            _write(page, (column - len(beats) // 2, row), beats, "walk", name)
