"""The rehearsal as lines to read from three metres: what is on, what comes, in how many beats."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from composer.score.cues import Cue
from composer.score.parts import PlacedMove
from composer.timing.grid import MusicGrid
from tui.views.big_words import big_lines
from tui.views.paper import Line, Piece, shortened

FEWEST_COLUMNS, FEWEST_ROWS = 60, 16
TRAIL_FROM_COLUMNS = 120
NOW_LARGE_FROM_ROWS = 24
ABOUT_NOW = 1e-6


@dataclass(frozen=True, slots=True)
class Standing:
    """Where the rehearsal stands: everything the screen shows, in whole beats."""

    now: str
    now_left_beats: int | None
    """Until what is on ends; None while nothing is on."""
    next: str
    next_in_beats: int | None
    called: bool
    """The call for what comes next has been made."""
    bar: int
    count: int
    counting: bool
    phrase: str
    phrase_passed: int
    phrase_beats: int

    @property
    def countdown(self) -> str:
        return "" if self.next_in_beats is None else str(self.next_in_beats)


def standing(
    grid: MusicGrid,
    moves: Sequence[PlacedMove],
    cues: Sequence[Cue],
    beat: float,
    *,
    bar: int,
    count: int,
    counting: bool,
) -> Standing:
    """What is on at a beat and what comes next; in a count-in, nothing is on yet."""
    here = beat + ABOUT_NOW
    on = [] if counting else [m for m in moves if m.span.start_beat <= here < m.span.end_beat]
    coming = [cue for cue in cues if cue.beat > here]
    after = coming[0] if coming else None
    together = [cue for cue in coming if after is not None and cue.beat == after.beat]
    index = grid.phrase_index_at(Fraction(here).limit_denominator(10**6))
    span = None if index is None else grid.phrase_span(index)
    return Standing(
        now=" + ".join(dict.fromkeys(_name(m) for m in on)),
        now_left_beats=ceil(max(m.span.end_beat for m in on) - here) if on else None,
        next="; ".join(dict.fromkeys(cue.text for cue in together)),
        next_in_beats=None if after is None else ceil(after.beat - here),
        called=after is not None and after.call_beat <= here,
        bar=bar,
        count=count,
        counting=counting,
        phrase="" if index is None else grid.phrases[index].name,
        phrase_passed=0 if span is None else max(0, int(here - span.start_beat)),
        phrase_beats=1 if span is None else int(span.length_beats),
    )


def _name(move: PlacedMove) -> str:
    hand = move.placement.style.hand
    return move.placement.move if hand == "both" else f"{hand}: {move.placement.move}"


def stage_lines(seen: Standing, columns: int, rows: int) -> tuple[Line, ...]:
    """The large part of the screen: what is on, what comes with its countdown, bar and count.

    Each name stands in plain letters too. Where rows are few, only what comes is large.
    """
    number_rows = 3 if rows < 18 else 4 if rows < 26 else 6
    words_rows = max(2, rows - number_rows - 3)
    now_rows = words_rows * 2 // 5 if rows >= NOW_LARGE_FROM_ROWS else 0
    next_rows = words_rows - now_rows
    now = seen.now or ("count in" if seen.counting else "nothing is placed")
    lines: list[Line] = [_label("now", now, _left_words(seen), columns)]
    lines += _block(now, columns, now_rows, "quiet" if not seen.now else "")
    called = "next, called" if seen.called else "next"
    lines.append(_label(called, seen.next or "the end", "", columns))
    lines += _block(seen.next or "the end", columns, next_rows, "strong")
    lines.append(_label(_number_words(seen), "", "", columns))
    lines += _numbers(seen, columns, number_rows)
    return tuple(lines)


def _left_words(seen: Standing) -> str:
    left = seen.now_left_beats
    return "" if left is None else f"{left} beat{'s' if left != 1 else ''} left"


def _number_words(seen: Standing) -> str:
    if seen.next_in_beats is None:
        return "bar . count"
    return "beats until it begins, bar . count"


def _label(word: str, name: str, right: str, columns: int) -> Line:
    """What a part shows, the name in it if there is one, and a word at the right, on a rule."""
    head = f" {word} "
    name = shortened(f"{name} ", max(0, columns - len(head) - len(right) - 4)) if name else ""
    end = f" {right} " if right else ""
    rule = "─" * max(0, columns - len(head) - len(name) - len(end))
    return (Piece(head, "key"), Piece(name, "strong"), Piece(rule, "ruler"), Piece(end, "quiet"))


def _block(text: str, columns: int, rows: int, role: str) -> list[Line]:
    """Large words in the upper part of so many rows."""
    drawn = big_lines(text, columns - 2, rows)
    return [
        (Piece(f" {drawn[row]}", role or "title"),) if row < len(drawn) else ()
        for row in range(rows)
    ]


def _numbers(seen: Standing, columns: int, rows: int) -> list[Line]:
    """The countdown to the left, bar and count to the right."""
    half = columns // 2
    left = big_lines(seen.countdown, half - 2, rows)
    right = big_lines(f"{seen.bar}.{seen.count}", half - 2, rows)
    lines: list[Line] = []
    for row in range(rows):
        here = left[row] if row < len(left) else ""
        there = right[row] if row < len(right) else ""
        role = "strong" if seen.called else "quiet"
        lines.append((Piece(f" {here}".ljust(half), role), Piece(there, "title")))
    return lines


def phrase_line(seen: Standing, columns: int) -> Line:
    """How far the phrase has gone, as a bar with words."""
    words = f" {shortened(seen.phrase, 24)} {seen.phrase_passed} of {seen.phrase_beats} "
    width = max(0, columns - len(words) - 1)
    filled = min(width, width * seen.phrase_passed // max(1, seen.phrase_beats))
    return (
        Piece(words, "heading"),
        Piece("█" * filled, "heading-rule"),
        Piece("·" * (width - filled), "ruler"),
    )
