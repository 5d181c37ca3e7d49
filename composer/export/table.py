"""CSV of the cue list with bars, counts and clock times, for any spreadsheet.

Layout: RFC 4180, section 2, in UTF-8 with a byte order mark, without which common spreadsheets
misread letters beyond ASCII. Beats are decimals here: a spreadsheet reads 7/2 as a date.
"""

import csv
import io
from collections.abc import Iterator
from fractions import Fraction

from composer.export.choice import (
    WHOLE,
    Call,
    Choice,
    chosen_calls,
    chosen_moves,
    chosen_names,
    sections,
)
from composer.score.parts import PlacedMove
from composer.score.routine import Routine

COLUMNS = (
    "performer",
    "kind",
    "what",
    "phrase",
    "bar",
    "count",
    "beat",
    "time_s",
    "call_beat",
    "call_time_s",
    "length_beats",
    "end_time_s",
    "move",
    "hand",
    "relation",
    "rate",
    "entry",
    "plane",
    "facing_turns",
    "notes",
)
"""Names of the fields; times are seconds of the whole track, beats count from its beat 0."""
FORMULA_STARTS = (*"=+-@＝＋－＠", "\t", "\n", "\r")
"""A spreadsheet takes a cell that begins so for a formula and would run it; our own rule."""


def cue_csv(routine: Routine, choice: Choice = WHOLE) -> str:
    """One record for each cue of each performer, in time order; every record has all fields."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    phrases = sections(routine, choice)
    moves: dict[tuple[str, Fraction, str], PlacedMove] = {
        (name, move.span.start_beat, move.placement.style.hand): move
        for name in chosen_names(routine, choice)
        for move in chosen_moves(routine, name, choice)
    }
    for call in chosen_calls(routine, choice):
        phrase = next((p.name for p in phrases if p.span.contains(call.beat)), "")
        for name in call.performers:
            move = moves.get((name, call.beat, call.hand)) if call.kind == "move" else None
            row = _call_cells(routine, call, name, phrase)
            row |= dict(_move_cells(routine, move)) if move else {}
            writer.writerow([row.get(column, "") for column in COLUMNS])
    return "\ufeff" + out.getvalue()


def _call_cells(routine: Routine, call: Call, performer: str, phrase: str) -> dict[str, str]:
    grid = routine.grid
    position = grid.meter_map.position(call.beat)
    return {
        "performer": harmless(performer),
        "kind": call.kind,
        "what": harmless(call.text),
        "phrase": harmless(phrase),
        "bar": str(position.bar),
        "count": decimal(position.count),
        "beat": decimal(call.beat),
        "time_s": f"{grid.tempo_map.seconds(call.beat):.3f}",
        "call_beat": decimal(call.call_beat),
        "call_time_s": f"{grid.tempo_map.seconds(call.call_beat):.3f}",
        "hand": call.hand,
    }


def _move_cells(routine: Routine, move: PlacedMove) -> Iterator[tuple[str, str]]:
    placement, style = move.placement, move.placement.style
    yield "length_beats", decimal(move.span.length_beats)
    yield "end_time_s", f"{routine.grid.tempo_map.seconds(move.span.end_beat):.3f}"
    yield "move", harmless(placement.move)
    yield "relation", str(style.relation or "")
    yield "rate", decimal(placement.rate)
    yield "entry", str(style.entry)
    yield "plane", str(style.plane or "")
    yield "facing_turns", decimal(placement.facing_turns)
    yield "notes", harmless(placement.notes)


def decimal(value: Fraction) -> str:
    """Up to six decimals, no more than needed: ``"3.5"``, ``"0.333333"``, ``"12"``."""
    return f"{float(value):.6f}".rstrip("0").rstrip(".")


def harmless(text: str) -> str:
    """Text that a spreadsheet shows and does not run; breaks of line become plain ones."""
    plain = text.replace("\r\n", "\n").replace("\r", "\n").replace("\0", "")
    return f"'{plain}" if plain.startswith(FORMULA_STARTS) else plain
