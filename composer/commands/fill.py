"""petalbar fill: whole fillings for the bars between two highlights."""

import json
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

import click

from composer.arrange.highlights import Filling, fillings
from composer.commands.follow import style_words
from composer.commands.numbers import Whole
from composer.commands.places import bars_typed, performer_typed
from composer.commands.printing import wrapped
from composer.commands.writing import save_unless_open
from composer.errors import ComposerError
from composer.files.move_library import load_library
from composer.files.repertoire_file import load_repertoires, repertoire_path
from composer.files.routine_file import load_routine
from composer.score.routine import Placement, Routine
from composer.timing.beats import beats_text, beats_words
from composer.timing.grid import MusicGrid

EPILOG = """\b
Examples:
  petalbar fill mine.toml --from 17 --to 24
  petalbar fill mine.toml --from 17 --to 24 --apply 2

The bars must be free; what is placed is never moved. With mine.repertoire.toml beside
mine.toml the fillings are made of what the performer has."""


@click.command("fill", epilog=EPILOG)
@click.argument("routine", type=click.Path(path_type=Path))
@click.option("--from", "first", type=Whole(1), required=True, help="First bar to fill.")
@click.option("--to", "last", type=Whole(1), required=True, help="Last bar to fill.")
@click.option("--performer", metavar="NAME", help="For whom; needed where there are several.")
@click.option("--count", type=Whole(1, 12), default=6, show_default=True, help="How many.")
@click.option("--apply", "wanted", type=Whole(1, 12), help="Place this one and save.")
@click.option("--json", "as_json", is_flag=True, help="For programs.")
def command(
    routine: Path,
    first: int,
    last: int,
    performer: str | None,
    count: int,
    wanted: int | None,
    *,
    as_json: bool,
) -> None:
    """Propose ways through free bars, each tried in place with what stands on both sides."""
    loaded, library = load_routine(routine), load_library()
    who = performer_typed(loaded, performer)
    found = fillings(
        loaded,
        library,
        who.name,
        bars_typed(loaded.grid, first, last),
        repertoire=load_repertoires(repertoire_path(routine), library).get(who.name),
        count=max(count, wanted or 1),
    )
    if not found:
        raise ComposerError("no moves that close fill these bars; take a bar more or fewer")
    if wanted is not None and wanted > len(found):
        raise ComposerError(f"there are {len(found)} fillings, no number {wanted}")
    if wanted is not None:
        save_unless_open(found[wanted - 1].routine, routine)
    if as_json:
        rows = [filling_row(filling) for filling in found]
        click.echo(json.dumps({"fillings": rows, "applied": wanted}, ensure_ascii=False, indent=1))
    elif wanted is not None:
        click.echo(f"placed: {found[wanted - 1].words}")
    else:
        click.echo("\n".join(filling_lines(loaded, found)))


def filling_row(filling: Filling) -> dict[str, object]:
    """A filling as JSON; beats exact as text."""
    return {
        "cost": round(filling.cost, 3),
        "moves": [_placement_row(placement) for placement in filling.placements],
        "adds": [
            {"rule": one.rule, "level": str(one.level), "beat": beats_text(one.beat)}
            for one in filling.adds
        ],
    }


def _placement_row(placement: Placement) -> dict[str, object]:
    return {
        "at": beats_text(placement.span.start_beat),
        "beats": beats_text(placement.span.length_beats),
        "move": placement.move,
        "rate": beats_text(placement.rate),
        "entry": placement.style.entry,
        "mirrored": placement.style.mirrored,
    }


def filling_lines(routine: Routine, found: Sequence[Filling]) -> Iterator[str]:
    """Each filling with its moves by bar, and what it brings."""
    for number, filling in enumerate(found, 1):
        counts = Counter(str(one.level) for one in filling.adds)
        told = [f"{many} {level}{'s' if many > 1 else ''}" for level, many in counts.items()]
        yield f"{number}  {', '.join(told) or 'nothing found'}"
        moves = "; ".join(_placed_words(routine.grid, one) for one in filling.placements)
        yield from wrapped(moves, "   ")


def _placed_words(grid: MusicGrid, placement: Placement) -> str:
    position = grid.meter_map.position(placement.span.start_beat)
    words = style_words(placement.move, placement.style)
    rate = "" if placement.rate == 1 else f" at {placement.rate} downbeats a beat"
    return (
        f"{position.bar}.{position.count} {words}, {beats_words(placement.span.length_beats)}{rate}"
    )
