"""petalbar repertoire: which moves a performer has, and how firmly."""

from collections.abc import Iterator
from pathlib import Path

import click

from composer.commands.places import performer_typed
from composer.errors import UnknownName
from composer.files.move_library import load_library
from composer.files.repertoire_file import load_repertoires, repertoire_path, save_repertoires
from composer.files.routine_file import load_routine
from composer.moves.library import Library
from composer.score.parts import performed_part
from composer.score.repertoire import Firmness, Repertoire, firmness_from_text
from composer.score.routine import Routine

EPILOG = """\b
Examples:
  petalbar repertoire mine.toml
  petalbar repertoire mine.toml --move triquetra --as reliable
  petalbar repertoire mine.toml --move diamond --from triquetra --as learning
  petalbar repertoire mine.toml --move pentagram --forget

It is kept beside the routine, in mine.repertoire.toml, and counts in what can follow, in fillings
and, when the date is near, in what check finds."""


@click.command("repertoire", epilog=EPILOG)
@click.argument("routine", type=click.Path(path_type=Path))
@click.option("--performer", metavar="NAME", help="Whose; needed where there are several.")
@click.option("--move", "move_name", metavar="MOVE", help="The move to tell of.")
@click.option("--from", "from_name", metavar="MOVE", help="Tell of the way from this move into it.")
@click.option(
    "--as", "firmness", metavar="FIRMNESS", help='"learning", "reliable" or "ready for the stage".'
)
@click.option("--forget", is_flag=True, help="Take the move, or the way into it, out.")
def command(
    routine: Path,
    performer: str | None,
    move_name: str | None,
    from_name: str | None,
    firmness: str | None,
    *,
    forget: bool,
) -> None:
    """Show or change which moves a performer has, and how firmly."""
    loaded = load_routine(routine)
    library = load_library()
    who = performer_typed(loaded, performer).name
    path = repertoire_path(routine)
    had = load_repertoires(path, library).get(who, Repertoire(who))
    if move_name is not None:
        told = _told(firmness, forget=forget)
        had = _changed(had, library, move_name, from_name, told)
        save_repertoires([had], path)
    elif firmness is not None or from_name is not None or forget:
        raise click.UsageError("say which move with --move")
    click.echo("\n".join(repertoire_lines(loaded, had)))


def _told(firmness: str | None, *, forget: bool) -> Firmness | None:
    if forget == (firmness is not None):
        raise click.UsageError("say how firmly with --as, or take it out with --forget")
    try:
        return None if firmness is None else firmness_from_text(firmness)
    except ValueError as error:
        raise click.UsageError(str(error)) from None


def _changed(
    had: Repertoire, library: Library, name: str, from_name: str | None, told: Firmness | None
) -> Repertoire:
    to_move = library.get(name).name
    if from_name is None:
        if told is None and to_move not in had.moves:
            raise UnknownName(f'{had.performer} has no "{to_move}" that could be taken out')
        return had.with_move(to_move, told)
    way = library.get(from_name).name, to_move
    if told is None and way not in had.transitions:
        raise UnknownName(f'{had.performer} has no way from "{way[0]}" into "{way[1]}"')
    return had.with_transition(way, told)


def repertoire_lines(routine: Routine, had: Repertoire) -> Iterator[str]:
    """What is had, the firmest first, and what the routine asks for beyond it."""
    yield f"{had.performer} has {len(had.moves)} moves"
    for firmness in sorted(Firmness, reverse=True):
        moves = sorted(name for name, told in had.moves.items() if told is firmness)
        ways = sorted(pair for pair, told in had.transitions.items() if told is firmness)
        if moves or ways:
            yield f"  {firmness}"
        for name in moves:
            yield f"    {name}"
        for before, after in ways:
            yield f"    {before} into {after}"
    placed = dict.fromkeys(m.placement.move for m in performed_part(routine, had.performer))
    missing = [name for name in placed if had.of_move(name) is None]
    if missing:
        yield f"  in {routine.title}, but not told of"
        for name in missing:
            yield f"    {name}"
