"""petalbar settle: the best entries and turns for moves whose order stands."""

import json
from collections.abc import Iterator
from pathlib import Path

import click

from composer.arrange.solve import Freed, Solution, solve_span
from composer.commands.follow import style_words
from composer.commands.numbers import Whole
from composer.commands.places import bars_typed, performer_typed
from composer.commands.writing import save_unless_open
from composer.files.move_library import load_library
from composer.files.routine_file import load_routine
from composer.score.routine import Placement, Routine
from composer.timing.beats import beats_text

EPILOG = """\b
Examples:
  petalbar settle mine.toml --from 1 --to 16
  petalbar settle mine.toml --from 1 --to 16 --free mirror --free hands --apply

The entry is the downbeat that a move is begun on; the turn, by how much its figure is turned.
Pinned moves stay as they are. Which moves, when and how long is not touched."""


@click.command("settle", epilog=EPILOG)
@click.argument("routine", type=click.Path(path_type=Path))
@click.option("--from", "first", type=Whole(1), required=True, help="First bar.")
@click.option("--to", "last", type=Whole(1), required=True, help="Last bar.")
@click.option("--performer", metavar="NAME", help="For whom; needed where there are several.")
@click.option(
    "--free",
    multiple=True,
    type=click.Choice(["mirror", "hands"]),
    help="What else may change: the mirror image, how the hands go.",
)
@click.option("--apply", "wanted", is_flag=True, help="Save the routine so.")
@click.option("--json", "as_json", is_flag=True, help="For programs.")
def command(
    routine: Path,
    first: int,
    last: int,
    performer: str | None,
    free: tuple[str, ...],
    *,
    wanted: bool,
    as_json: bool,
) -> None:
    """Choose entry and turn of every move in these bars so that all flow at the least cost."""
    loaded = load_routine(routine)
    who = performer_typed(loaded, performer)
    freed = Freed(mirror="mirror" in free, relation="hands" in free)
    span = bars_typed(loaded.grid, first, last)
    found = solve_span(loaded, load_library(), who.name, span, freed)
    if wanted:
        save_unless_open(found.routine, routine)
    if as_json:
        click.echo(json.dumps(solution_row(found), ensure_ascii=False, indent=1))
    else:
        click.echo("\n".join(solution_lines(loaded, found)))


def solution_row(found: Solution) -> dict[str, object]:
    """The answer as JSON; beats exact as text."""
    return {
        "cost": round(found.cost, 3),
        "cost_as_written": round(found.cost_as_written, 3),
        "changed": [
            {
                "at": beats_text(new.span.start_beat),
                "move": new.move,
                "entry": new.style.entry,
                "turned": beats_text(new.style.orientation_turns),
                "mirrored": new.style.mirrored,
                "hands": None if new.style.relation is None else str(new.style.relation),
            }
            for _, new in found.changed
        ],
        "transitions": [
            {"beat": beats_text(one.beat), "kind": one.kind, "cost": round(one.cost, 3)}
            for one in found.boundaries
        ],
        "not_smooth": None if found.blocked is None else found.blocked.words,
    }


def solution_lines(routine: Routine, found: Solution) -> Iterator[str]:
    yield f"{routine.title}: cost {found.cost_as_written:.1f} as written, {found.cost:.1f} so"
    for written, new in found.changed:
        yield f"  {_place(routine, new)}  {style_words(written.move, written.style)}"
        yield f"      now {style_words(new.move, new.style)}"
    if not found.changed:
        yield "  no other entry or turn costs less"
    for one in found.boundaries:
        yield f"  {routine.grid.place_text(one.beat)}  {one.kind}  {one.words}"
    if found.blocked is not None:
        yield f"No choice is smooth throughout: {found.blocked.words}."


def _place(routine: Routine, placement: Placement) -> str:
    return routine.grid.place_text(placement.span.start_beat)
