"""The lines around the sheet in words: where the cursor is, what stands there, the work's state."""

import textwrap
from collections.abc import Iterable
from fractions import Fraction

from composer.check.findings import Finding, Level
from composer.moves.library import Library
from composer.score.parts import PlacedMove
from composer.score.routine import Routine
from composer.timing.beats import beats_words
from tui.views.followed import how_followed
from tui.views.marks import LEVEL_GLYPHS
from tui.views.paper import Line, Piece
from tui.views.performed import style_words


def title_line(
    routine: Routine, performer: str, state: str, counts: tuple[Piece, ...], tail: str = ""
) -> Line:
    names = [p.name for p in routine.performers]
    who = performer
    if len(names) > 1:
        who += f" ({names.index(performer) + 1} of {len(names)})"
    pieces = [Piece(" petalbar ", "title"), Piece(f"{routine.title} · {who} · {state} · ", "quiet")]
    return (*pieces, *counts, Piece(f"· {tail}" if tail else "", "note"))


def count_pieces(findings: Iterable[Finding]) -> tuple[Piece, ...]:
    """``"✖ 1 error ▲ 3 warnings"``, or that nothing was found."""
    levels = [finding.level for finding in findings]
    pieces = []
    for level in (Level.ERROR, Level.WARNING, Level.NOTE):
        number = levels.count(level)
        if number:
            words = f"{LEVEL_GLYPHS[level]} {number} {level}{'s' if number > 1 else ''} "
            pieces.append(Piece(words, str(level)))
    return tuple(pieces) or (Piece("no findings ", "good"),)


def where_line(routine: Routine, beat: Fraction, hands: str, tail: str = "") -> Line:
    """``"bar 9, count 1 (0:16.5) · verse, 1 of 32 · 4/4 at 120.0"``."""
    grid = routine.grid
    words = [grid.place_text(beat)]
    index = grid.phrase_index_at(beat)
    if index is not None:
        span = grid.phrase_span(index)
        count = int(beat - span.start_beat) + 1
        words.append(f"{grid.phrases[index].name}, {count} of {int(span.length_beats)}")
    words.append(f"{grid.meter_map.meter_at(beat)} at {grid.tempo_map.bpm_at(beat):.1f}")
    if hands != "both":
        words.append(f"places for the {hands} hand")
    if tail:
        words.append(tail)
    return (Piece(" " + " · ".join(words), "strong"),)


def here_line(move: PlacedMove | None, beat: Fraction, library: Library, routine: Routine) -> Line:
    """The move under the cursor, how far into it the cursor stands, and whose it is."""
    if move is None:
        return (Piece(" nothing is placed here", "quiet"),)
    placement = move.placement
    into = beat - move.span.start_beat
    words = f" {style_words(placement)} · {beats_words(placement.span.length_beats)}"
    if into:
        words += f", {into + 1}. count" if into.denominator == 1 else f", {into} in"
    how = how_followed(routine, move)
    words += f" · {how}" if how else ""
    known = placement.move in library.names()
    return (Piece(words), *(() if known else (Piece(" ✖ not in the library", "error"),)))


def finding_line(finding: Finding, more: int = 0) -> Line:
    return (Piece(f" {_finding_text(finding, more)}", str(finding.level)),)


def finding_lines(finding: Finding, more: int, width: int) -> tuple[Line, ...]:
    """A finding on as many lines as it takes, two at the most."""
    rows = textwrap.wrap(_finding_text(finding, more), max(20, width - 2))
    return tuple((Piece(f" {row}", str(finding.level)),) for row in rows[:2])


def _finding_text(finding: Finding, more: int) -> str:
    tail = f" (+{more} here)" if more else ""
    return f"{LEVEL_GLYPHS[finding.level]} {finding.level}: {finding.message}{tail}"


def finding_row(routine: Routine, finding: Finding) -> Line:
    """A row of the findings list: place, level, hand, rule and what was found."""
    position = routine.grid.meter_map.position(finding.beat)
    place = f"{position.bar}.{position.count}"
    hand = f" {finding.hand} hand" if finding.hand else ""
    return (
        Piece(f"{place:>6} "),
        Piece(f"{LEVEL_GLYPHS[finding.level]} {finding.rule}", str(finding.level)),
        Piece(f"{hand}: {finding.message}", "quiet"),
    )


def finding_details(routine: Routine, finding: Finding) -> tuple[Line, ...]:
    """Everything about a finding: words, figures, why it matters."""
    place = routine.grid.place_text(finding.beat)
    head = f" {LEVEL_GLYPHS[finding.level]} {finding.level}: {finding.rule}, {place}"
    lines: list[Line] = [(Piece(head, str(finding.level)),), (Piece(f" {finding.message}"),)]
    if finding.measured is not None:
        figures = f" measured {finding.measured:.3g} {finding.unit}"
        if finding.limit is not None:
            figures += f", limit {finding.limit:.3g} {finding.unit}"
        lines.append((Piece(figures, "strong"),))
    if finding.moves:
        lines.append((Piece(f" {' → '.join(finding.moves)}", "quiet"),))
    lines.append((Piece(f" {finding.why}", "quiet"),))
    return tuple(lines)


def sentence(text: str, width: int) -> tuple[Line, ...]:
    """A sentence on as many lines as it takes."""
    rows = textwrap.wrap(text, max(20, width - 2)) or [""]
    return tuple((Piece(f" {row}", "strong"),) for row in rows)
