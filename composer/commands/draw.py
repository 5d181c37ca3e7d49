"""petalbar draw: a move as a picture, or many on a contact sheet, SVG or PNG by the file's name."""

from pathlib import Path

import click

from composer.commands.move import performed
from composer.commands.numbers import Whole
from composer.commands.performing import (
    body_and_props,
    body_options,
    moves_option,
    style_of,
    way_options,
)
from composer.commands.writing import check_picture, write_picture
from composer.export.choice import View
from composer.export.picture_page import move_picture
from composer.export.picture_sheet import contact_sheet
from composer.files.move_library import load_library
from composer.motion.body import PropKind
from composer.moves.library import Library
from composer.moves.model import Move, Relation
from composer.moves.perform import WhichHand

EPILOG = """\b
Examples:
  petalbar draw "extension with triquetra" -o meeting.svg
  petalbar draw triquetra diamond box -o three.png --view audience
  petalbar draw --all -o moves.png"""


@click.command("draw", epilog=EPILOG)
@click.argument("names", nargs=-1)
@click.option("--all", "every", is_flag=True, help="Every move of the library on one sheet.")
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), required=True, help="A .svg or .png file."
)
@click.option(
    "--view",
    type=click.Choice([view.value for view in View]),
    default=View.PERFORMER.value,
    show_default=True,
    help="Whose eyes it is seen through.",
)
@way_options
@click.option(
    "--columns", type=Whole(1, 12), default=6, show_default=True, help="Of a contact sheet."
)
@click.option("--size", type=Whole(300, 4000), default=900, help="Pixels, for one move.")
@body_options
@moves_option
@click.option("--force", is_flag=True, help="Replace the file if there is one already.")
def command(
    names: tuple[str, ...],
    output: Path,
    view: str,
    hand: WhichHand | None,
    relation: Relation | None,
    columns: int,
    size: int,
    stature: float,
    arm: float | None,
    tether: float,
    prop: PropKind,
    files: tuple[Path, ...],
    *,
    every: bool,
    mirrored: bool,
    force: bool,
) -> None:
    """Draw a move as SVG or PNG; several names make a contact sheet."""
    check_picture(output, force=force)
    body, props = body_and_props(stature, arm, tether, prop)
    moves = _moves(load_library(files), names, every=every)
    shown = [
        (move, performed(move, style_of(move, hand, relation, mirrored=mirrored), body, props))
        for move in moves
    ]
    if len(shown) == 1:
        picture = move_picture(*shown[0], body, View(view), side=size)
    else:
        picture = contact_sheet(shown, body, View(view), columns=columns)
    click.echo(write_picture(output, picture))


def _moves(library: Library, names: tuple[str, ...], *, every: bool) -> list[Move]:
    if every == bool(names):
        raise click.UsageError("give the names of moves, or --all for every one")
    return list(library.moves.values()) if every else [library.get(name) for name in names]
