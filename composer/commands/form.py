"""petalbar form: the group in a formation from a bar on."""

from fractions import Fraction
from pathlib import Path

import click

from composer.arrange.formations import FORMATIONS, formed
from composer.commands.numbers import Number, Whole
from composer.commands.places import beat_typed
from composer.files.routine_file import load_routine, save_routine

EPILOG = """\b
Examples:
  petalbar form group.toml --as circle --at 17
  petalbar form group.toml --as "two rows" --at 33 --travel 16

Spots are written into the routine; petalbar check says what is too near, too fast or hidden."""


@click.command("form", epilog=EPILOG)
@click.argument("routine", type=click.Path(path_type=Path))
@click.option("--as", "formation", type=click.Choice(list(FORMATIONS)), required=True)
@click.option(
    "--at", "place", metavar="BAR", required=True, help="From this bar on, such as 17 or 17.3."
)
@click.option("--travel", type=Whole(1, 256), default=8, show_default=True, help="Beats.")
@click.option("--apart", type=Number(0.1, 20), help="Metres between neighbours.")
def command(routine: Path, formation: str, place: str, travel: int, apart: float | None) -> None:
    """Put everybody in a formation, reach circles and margin apart."""
    loaded = load_routine(routine)
    beat = beat_typed(loaded.grid, place)
    placed = formed(loaded, formation, beat, travel_beats=Fraction(travel), apart_m=apart)
    save_routine(placed, routine)
    for spot in placed.spots:
        if spot.beat == beat:
            side = "stage right" if spot.x_m >= 0 else "stage left"
            click.echo(f"{spot.performer}: {abs(spot.x_m):.2f} m {side}, {spot.y_m:.2f} m upstage")
