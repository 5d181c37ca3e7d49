"""Everybody's parts as values: the list to switch between them, and all of them side by side."""

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from composer.arrange.compare import following_words
from composer.check.findings import Finding, Level
from composer.check.landing import Landing, LandingRow
from composer.check.landing_unison import UnisonWindow
from composer.score.floor import reach_m
from composer.score.parts import PlacedMove
from composer.score.routine import Performer, Routine
from composer.timing.beats import beats_words
from tui.views.marks import LEVEL_GLYPHS
from tui.views.paper import Line, LineWriter, Piece, shortened
from tui.views.rows import Row
from tui.views.words import count_pieces

GUTTER_CELLS = 6
"""Bar number and a mark where all close."""
NARROWEST_CELLS = 14
HEAD_CELLS = 3
"""Before a move's name: in unison or mirrored with others, and how she lands on the bar line."""
FOLLOWED, GOES_ON, MIRRORED = "»", "¦", "⇄"
TOGETHER, IN_MIRROR = "┃", "╏"
MOST_STRETCHES = 4
CLOSE_SIGNS = (("C", "closes"), ("D", "downbeat"), ("x", "meets"))


@dataclass(frozen=True, slots=True)
class PartChoice:
    """A performer as the part switcher lists her."""

    performer: str
    words: str
    """What her part is made of, in short: so many moves of her own, and whom she follows."""
    stretches: tuple[str, ...]
    """Every stretch of another's part in full."""
    counts: tuple[Piece, ...]

    @property
    def row(self) -> Line:
        return (Piece(f"{self.performer:<12} ", "strong"), Piece(f"{self.words}  "), *self.counts)

    def told(self, performer: Performer) -> tuple[Line, ...]:
        """Her props and reach, then each stretch of another's part, as many as a dialog holds."""
        props = " and ".join(dict.fromkeys(f"{p.kind} {p.length_m:g} m" for p in performer.props))
        reach = f" {props}, reach {reach_m(performer):.2f} m"
        more = len(self.stretches) - MOST_STRETCHES
        shown = [(Piece(f" {words}"),) for words in self.stretches[:MOST_STRETCHES]]
        tail = [(Piece(f" and {more} more stretches", "quiet"),)] if more > 0 else []
        return ((Piece(reach, "quiet"),), *shown, *tail)


def part_choices(routine: Routine, findings: Sequence[Finding]) -> tuple[PartChoice, ...]:
    """Every performer with what her part is made of and how much is found about it."""
    return tuple(
        PartChoice(
            performer.name,
            part_words(routine, performer.name),
            tuple(
                following_words(one, routine.grid) for one in routine.part(performer.name).following
            ),
            count_pieces([one for one in findings if one.is_about(performer.name)]),
        )
        for performer in routine.performers
    )


def part_words(routine: Routine, performer: str) -> str:
    """``"3 moves of her own, follows Wren and Lark"``."""
    part = routine.part(performer)
    words = []
    if part.placements:
        count = len(part.placements)
        words.append(f"{count} move{'' if count == 1 else 's'} of her own")
    leaders = tuple(dict.fromkeys(one.performer for one in part.following))
    if leaders:
        words.append(f"follows {' and '.join(leaders)}")
    return ", ".join(words) or "nothing yet"


def next_performer(routine: Routine, performer: str, step: int) -> str:
    """The performer after or before one, going round."""
    names = [one.name for one in routine.performers]
    return names[(names.index(performer) + step) % len(names)]


# ------------------------------------------------------------------ side by side


@dataclass(frozen=True, slots=True)
class Columns:
    """Where each shown performer's column begins; those that do not fit are scrolled to."""

    names: tuple[str, ...]
    starts: tuple[int, ...]
    width_cells: int

    @property
    def whole_cells(self) -> int:
        return GUTTER_CELLS + self.width_cells * len(self.names)

    def performer_at(self, column: int) -> str:
        """Whose column a cell lies in; empty in the gutter."""
        index = bisect_right(self.starts, column) - 1
        return self.names[index] if index >= 0 else ""


def fitted_columns(names: Sequence[str], width_cells: int, first: int = 0) -> Columns:
    """As many columns as a width holds, from the ``first`` performer on."""
    room = max(NARROWEST_CELLS, width_cells - GUTTER_CELLS)
    many = max(1, min(len(names), room // NARROWEST_CELLS))
    first = min(max(0, first), len(names) - many)
    each = room // many
    shown = tuple(names[first : first + many])
    return Columns(shown, tuple(GUTTER_CELLS + each * k for k in range(many)), each)


def heading_line(columns: Columns, selected: str) -> Line:
    """The names over their columns."""
    writer = LineWriter(columns.whole_cells)
    writer.put(0, " bar", "quiet")
    for name, start in zip(columns.names, columns.starts, strict=True):
        role = "ruler cursor" if name == selected else "strong"
        writer.put(start + HEAD_CELLS, shortened(name, columns.width_cells - 1 - HEAD_CELLS), role)
    return writer.line()


@dataclass(frozen=True)
class Together:
    """Who lands where and who is in unison: worked out apart, for it takes its time."""

    landings: tuple[LandingRow, ...] = ()
    windows: tuple[UnisonWindow, ...] = ()

    def at(self, beat: Fraction) -> LandingRow | None:
        """The bar line on a beat."""
        return next((row for row in self.landings if row.beat == beat), None)

    def windows_at(self, beat: Fraction) -> tuple[UnisonWindow, ...]:
        """Those that hold on a beat, the largest first."""
        here = (one for one in self.windows if one.span.contains(beat))
        return tuple(sorted(here, key=lambda one: -len(one.performers)))

    @property
    def all_close_beats(self) -> tuple[Fraction, ...]:
        return tuple(row.beat for row in self.landings if row.all_close)

    @property
    def window_beats(self) -> tuple[Fraction, ...]:
        return tuple(sorted({one.span.start_beat for one in self.windows}))


@dataclass(frozen=True)
class PartsPage:
    """All parts side by side, drawn: a line for each row, and one above for each phrase."""

    rows: tuple[Row, ...]
    columns: Columns
    lines: tuple[Line, ...]
    line_of_row: tuple[int, ...]

    def row_of_line(self, line: int) -> int:
        """The row a line shows; for the name of a phrase the row below it."""
        return min(bisect_left(self.line_of_row, line), len(self.rows) - 1)


def parts_page(
    rows: Sequence[Row],
    parts: Mapping[str, Sequence[PlacedMove]],
    columns: Columns,
    *,
    phrases: Sequence[str] = (),
    together: Together | None = None,
    findings: Mapping[str, Sequence[Finding]] | None = None,
) -> PartsPage:
    """What each performer begins or goes on with in every row.

    A followed move bears the sign FOLLOWED, one done as its mirror image MIRRORED, one that goes on
    from the row before GOES_ON; a warning or an error stands at the end of its column. Before the
    names: TOGETHER in unison with others, IN_MIRROR mirrored; C, D, x how she lands on the bar
    line that begins the row. ``*`` in the gutter: all close there.

    Parameters
    ----------
    phrases : sequence of str
        Their names, by the index that a row bears where one begins.
    findings : mapping
        What is found about each performer.
    """
    together = together or Together()
    landed = {row.beat: row for row in together.landings}
    dealt = {name: _by_row(rows, parts.get(name, ())) for name in columns.names}
    found = findings or {}
    marks = {name: _marks_by_row(rows, found.get(name, ())) for name in columns.names}
    bars = _bars_by_row(rows, together.windows)
    lines: list[Line] = []
    line_of_row = []
    for index, row in enumerate(rows):
        if row.phrase is not None and row.phrase < len(phrases):
            lines.append(_phrase_line(phrases[row.phrase], columns))
        line_of_row.append(len(lines))
        landing = landed.get(row.span.start_beat)
        writer = LineWriter(columns.whole_cells)
        all_close = "*" if landing is not None and landing.all_close else ""
        writer.put(0, f"{row.label:>4}{all_close}", "quiet")
        signs = {} if landing is None else {one.performer: one for one in landing.landings}
        for name, start in zip(columns.names, columns.starts, strict=True):
            writer.put(start, bars[index].get(name, ""), "good")
            writer.put(start + 1, _landing_sign(signs.get(name)), "quiet")
            words, role = _cell(row, dealt[name][index])
            mark = marks[name].get(index)
            room = columns.width_cells - HEAD_CELLS - 1 - (2 if mark else 0)
            writer.put(start + HEAD_CELLS, _fitted(words, room), role)
            if mark:
                at = start + columns.width_cells - 2
                writer.put(at, LEVEL_GLYPHS[mark], str(mark))
        lines.append(writer.line())
    return PartsPage(tuple(rows), columns, tuple(lines), tuple(line_of_row))


def _phrase_line(name: str, columns: Columns) -> Line:
    writer = LineWriter(columns.whole_cells)
    writer.put(0, "─" * columns.whole_cells, "heading rule")
    writer.put(GUTTER_CELLS, f" {name} ", "heading")
    return writer.line()


def _fitted(words: str, room: int) -> str:
    """Words cut to a width; what many names begin with is the first to be cut."""
    if len(words) > room:
        words = words.replace("mirrored ", "mirr. ")
    return shortened(words, room)


def _landing_sign(one: Landing | None) -> str:
    """The first that holds: closes, passes down, heads meet; nothing where she rests."""
    if one is None or one.rests:
        return ""
    return next((sign for sign, holds in CLOSE_SIGNS if getattr(one, holds)), "")


def _bars_by_row(rows: Sequence[Row], windows: Sequence[UnisonWindow]) -> list[dict[str, str]]:
    """For each row who is in unison, and who mirrored, all through it."""
    found: list[dict[str, str]] = [{} for _ in rows]
    for window in sorted(windows, key=lambda one: not one.mirrored):
        for index, row in enumerate(rows):
            inside = (
                window.span.start_beat <= row.span.start_beat
                and row.span.end_beat <= window.span.end_beat
            )
            if inside:
                sign = IN_MIRROR if window.mirrored else TOGETHER
                found[index].update(dict.fromkeys(window.performers, sign))
    return found


# ------------------------------------------------------------------ where the cursor is


def landing_words(row: LandingRow | None) -> str:
    """Who closes on a bar line and who is part-way; empty within a bar."""
    if row is None:
        return ""
    moving = [one for one in row.landings if not one.rests]
    if not moving:
        return "nobody has a move under way"
    if row.all_close:
        return "all close here"
    closing = [one.performer for one in moving if one.closes]
    others = [one.performer for one in moving if not one.closes]
    if not closing:
        return "nobody closes here"
    return f"{', '.join(closing)} close here; part-way: {', '.join(others)}"


def window_words(window: UnisonWindow, routine: Routine) -> str:
    """``"Wren, Lark in unison for 32 beats from bar 17, count 1"``."""
    how = "mirrored" if window.mirrored else "in unison"
    length = beats_words(window.span.length_beats)
    start = routine.grid.meter_map.position(window.span.start_beat)
    return f"{', '.join(window.performers)} {how} for {length} from {start}"


# ------------------------------------------------------------------ inside


def _by_row(rows: Sequence[Row], moves: Sequence[PlacedMove]) -> list[list[PlacedMove]]:
    dealt: list[list[PlacedMove]] = [[] for _ in rows]
    starts = [float(row.span.start_beat) for row in rows]
    for move in moves:
        start, end = float(move.span.start_beat), float(move.span.end_beat)
        index = max(0, bisect_right(starts, start) - 1)
        while index < len(rows) and starts[index] < end:
            dealt[index].append(move)
            index += 1
    return dealt


def _marks_by_row(rows: Sequence[Row], findings: Sequence[Finding]) -> dict[int, Level]:
    """The gravest warning or error among a performer's findings in each row."""
    starts = [float(row.span.start_beat) for row in rows]
    found: dict[int, Level] = {}
    for one in findings:
        if one.level > Level.NOTE:
            index = max(0, bisect_right(starts, float(one.beat)) - 1)
            found[index] = max(one.level, found.get(index, one.level))
    return found


def _cell(row: Row, moves: Sequence[PlacedMove]) -> tuple[str, str]:
    """What a performer's cell of a row says; where several begin, all of them in order."""
    begun = [move for move in moves if row.span.contains(move.span.start_beat)]
    if not begun:
        if not moves:
            return "", ""
        return f"{GOES_ON} {moves[-1].placement.move}", "quiet"
    words = "; ".join(_words(row, move) for move in begun)
    followed = all(move.written_by != move.performer for move in begun)
    return words, "followed move name" if followed else "move name"


def _words(row: Row, move: PlacedMove) -> str:
    placement = move.placement
    passed = move.span.start_beat - row.span.start_beat
    count = f"{passed + 1}: " if passed else ""
    sign = f"{FOLLOWED} " if move.written_by != move.performer else ""
    mirrored = f"{MIRRORED} " if placement.style.mirrored else ""
    return f"{count}{sign}{mirrored}{placement.move}"
