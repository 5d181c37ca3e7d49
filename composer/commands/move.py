"""petalbar move: everything about one move, computed for one performer at one tempo."""

import json
import os
from dataclasses import fields, is_dataclass
from enum import Enum
from fractions import Fraction
from pathlib import Path

import click

from composer.commands.numbers import Whole
from composer.commands.performing import (
    body_and_props,
    body_options,
    moves_option,
    style_of,
    tempo_options,
    way_options,
)
from composer.commands.printing import can_print
from composer.errors import ComposerError
from composer.export.choice import View
from composer.export.picture_cells import move_cells
from composer.export.picture_lens import view_words
from composer.files.move_library import load_library
from composer.motion.body import Body, Prop, PropKind
from composer.moves.library import Library
from composer.moves.measure_words import MeasureRow, measure_rows
from composer.moves.measured import Measured, measured
from composer.moves.model import Hybrid, Move, Relation
from composer.moves.perform import Performance, Style, WhichHand, perform

EPILOG = """\b
Examples:
  petalbar move triquetra
  petalbar move "extension with isolation, head-to-hand" --bpm 110 --tether 0.5
  petalbar move diamond --hand both --relation "split same"
  petalbar move pendulum --bpm 90 --json"""


@click.command("move", epilog=EPILOG)
@click.argument("name")
@tempo_options
@body_options
@way_options
@click.option(
    "--view",
    type=click.Choice([view.value for view in View]),
    default=View.PERFORMER.value,
    show_default=True,
    help="Whose eyes the trail is seen through.",
)
@click.option(
    "--columns", type=Whole(40, 200), default=60, show_default=True, help="How wide the trail is."
)
@click.option("--plain", is_flag=True, help="The trail in plain characters, without braille.")
@moves_option
@click.option("--json", "as_json", is_flag=True, help="For programs; without the trail.")
def command(
    name: str,
    bpm: float,
    rate: Fraction,
    stature: float,
    arm: float | None,
    tether: float,
    prop: PropKind,
    hand: WhichHand | None,
    relation: Relation | None,
    view: str,
    columns: int,
    files: tuple[Path, ...],
    *,
    mirrored: bool,
    plain: bool,
    as_json: bool,
) -> None:
    """Everything about one move, computed."""
    body, props = body_and_props(stature, arm, tether, prop)
    library = load_library(files)
    move = library.get(name)
    style = style_of(move, hand, relation, mirrored=mirrored)
    performance = performed(move, style, body, props)
    figures = measured(move, performance, body, props, bpm=bpm, rate=rate)
    if as_json:
        click.echo(json.dumps(move_row(library, move, figures), ensure_ascii=False, indent=1))
        return
    braille = not plain and os.environ.get("TERM", "") != "dumb" and can_print("⠿")
    seen = move_cells(
        performance,
        body,
        View(view),
        columns=columns,
        rows=max(20, columns // 2),
        braille=braille,
    )
    lines = [
        *_heading(move),
        *(line.rstrip(" ⠀") for line in seen.lines),
        f"({view_words(performance.plane, View(view))}; whole line right, dotted left)",
        *row_lines(measure_rows(figures, body)),
        *_cautions(library, move),
    ]
    click.echo("\n".join(lines))


def performed(move: Move, style: Style, body: Body, props: tuple[Prop, Prop]) -> Performance:
    """The move performed; a choice it does not allow becomes one line for the user."""
    try:
        return perform(move, style, body, props)
    except ValueError as error:
        raise ComposerError(str(error)) from None


def _heading(move: Move) -> list[str]:
    lines = [move.name, move.words]
    if isinstance(move, Hybrid):
        lines.append(
            f"Right: {move.right.move.name}. Left: {move.left.move.name}. Hands {move.hands}."
        )
    if move.also:
        lines.append("Also: " + "; ".join(move.also) + ".")
    return lines


def row_lines(rows: tuple[MeasureRow, ...]) -> list[str]:
    """Rows under their headings."""
    width = max(len(row.label) for row in rows)
    lines: list[str] = []
    heading = ""
    for row in rows:
        if row.heading != heading:
            heading = row.heading
            lines += ["", heading.capitalize()]
        lines.append(f"  {row.label:<{width}}  {row.text}")
    return lines


def _cautions(library: Library, move: Move) -> list[str]:
    told = library.caution_lines(move)
    return ["", "Cautions", *(f"  - {line}" for line in told)] if told else []


def move_row(library: Library, move: Move, figures: Measured) -> dict[str, object]:
    """A move and its measures as JSON: fractions as text, infinite values as null."""
    parts: dict[str, object] = {}
    if isinstance(move, Hybrid):
        parts = {
            "right": move.right.move.name,
            "left": move.left.move.name,
            "relation": str(move.hands),
        }
    return {
        "name": move.name,
        "words": move.words,
        **parts,
        "cautions": list(library.caution_lines(move)),
        "difficulty_points": round(figures.difficulty.points, 3),
        "measures": _plain(figures),
    }


def _plain(value: object) -> object:
    match value:
        case Fraction():
            return str(value)
        case Enum():
            return value.value
        case float():
            return round(value, 9) if abs(value) != float("inf") else None
        case frozenset():
            return sorted(str(one) for one in value)
        case tuple() | list():
            return [_plain(one) for one in value]
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    return value
