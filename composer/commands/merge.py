"""petalbar merge: two people's versions of a routine in one file."""

from pathlib import Path

import click

from composer.arrange.compare import changes
from composer.arrange.merge import Conflict, Side, merge
from composer.errors import RoutineFileError
from composer.files.atomic import write_atomic
from composer.files.comments import gather_comments
from composer.files.routine_file import (
    load_routine,
    read_text,
    routine_from_text,
    routine_to_text,
)
from composer.score.routine import Routine

EPILOG = """\b
Examples:
  petalbar merge shared.toml mine.toml hers.toml -o both.toml
  petalbar merge shared.toml mine.toml hers.toml -o both.toml --prefer other

\b
Exit status: 0 merged; 1 conflicts (nothing is written unless one side is preferred);
2 a file could not be read or written."""


@click.command("merge", epilog=EPILOG)
@click.argument("base", type=click.Path(path_type=Path))
@click.argument("one", type=click.Path(path_type=Path))
@click.argument("other", type=click.Path(path_type=Path))
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), required=True, help="The file to write."
)
@click.option(
    "--prefer",
    type=click.Choice(["one", "other"]),
    help="Whose version is taken where both changed the same thing.",
)
@click.option("--force", is_flag=True, help="Replace the file if there is one already.")
@click.pass_context
def command(
    context: click.Context,
    base: Path,
    one: Path,
    other: Path,
    output: Path,
    prefer: Side | None,
    *,
    force: bool,
) -> None:
    """Put together what ONE and OTHER each changed since BASE, the version both began with.

    Comments of both are kept where they belong; what has lost its place goes to the file's end.
    """
    if output.exists() and not force:
        raise RoutineFileError(f"{output} exists already; choose another name or add --force")
    old, mine, theirs = (load_routine(path) for path in (base, one, other))
    merged = merge(old, mine, theirs, prefer)
    for conflict in merged.conflicts:
        click.echo(conflict_line(conflict, old), err=True)
    if merged.routine is None:
        count = len(merged.conflicts)
        click.echo(
            f"{count} conflict{'s' if count > 1 else ''}; nothing written: settle "
            f"{'them' if count > 1 else 'it'} in one file, or say --prefer one or other",
            err=True,
        )
        context.exit(1)
    texts = read_text(base), read_text(one), read_text(other)
    gathered = gather_comments(
        routine_to_text(merged.routine, texts[1]),
        *texts,
        "# Comments that had no place any more when two versions were merged:",
    )
    routine_from_text(gathered.text, str(output))  # nothing is written that could not be opened
    _write(output, gathered.text)
    counts = [_changes_words(len(changes(old, version))) for version in (mine, theirs)]
    click.echo(f"{output}: {counts[0]} of {one}, {counts[1]} of {other}")
    for comment in gathered.homeless:
        click.echo(f"at its end, as its place is gone: {comment.text}")
    if merged.conflicts:
        kept = one if prefer == "one" else other
        click.echo(f"{len(merged.conflicts)} settled in favour of {kept}")
        context.exit(1)


def _changes_words(count: int) -> str:
    return f"{count} change{'' if count == 1 else 's'}"


def conflict_line(conflict: Conflict, routine: Routine) -> str:
    """``"conflict at bar 9, count 1, Wren: one has ..., the other ..."``."""
    where = [] if conflict.beat is None else [str(routine.grid.meter_map.position(conflict.beat))]
    where.append(conflict.performer or "the piece")
    return f"conflict at {', '.join(where)}: {conflict.words}"


def _write(path: Path, text: str) -> None:
    try:
        write_atomic(path, text.encode("utf-8"))
    except OSError as error:
        raise RoutineFileError(
            f"{path} cannot be written: {error.strerror}; choose another place"
        ) from None
