"""petalbar compare: what changed between two versions of a routine, part by part."""

import json
from itertools import groupby
from pathlib import Path

import click

from composer.arrange.compare import Change, changes
from composer.files.routine_file import load_routine
from composer.timing.beats import beats_text

EPILOG = """\b
Examples:
  petalbar compare last_week.toml mine.toml
  petalbar compare last_week.toml mine.toml --performer Wren
  petalbar compare last_week.toml mine.toml --json

\b
Exit status: 0 nothing changed, 1 something did, 2 a file could not be read."""


@click.command("compare", epilog=EPILOG)
@click.argument("before", type=click.Path(path_type=Path))
@click.argument("after", type=click.Path(path_type=Path))
@click.option("--performer", metavar="NAME", default="", help="Only this performer's changes.")
@click.option("--json", "as_json", is_flag=True, help="For programs: each change with its beat.")
@click.pass_context
def command(
    context: click.Context, before: Path, after: Path, performer: str, *, as_json: bool
) -> None:
    """Say in words what changed: moves, times, spots, music, part by part."""
    old, new = load_routine(before), load_routine(after)
    if performer and performer not in {p.name for p in old.performers}:
        new.performer(performer)
    found = [one for one in changes(old, new) if not performer or one.performer == performer]
    if as_json:
        rows = [_row(one) for one in found]
        click.echo(json.dumps({"changes": rows}, ensure_ascii=False, indent=1))
    elif found:
        click.echo("\n".join(_lines(found)))
    else:
        click.echo("nothing changed")
    context.exit(1 if found else 0)


def _lines(found: list[Change]) -> list[str]:
    lines = []
    for performer, group in groupby(found, key=lambda one: one.performer):
        lines.append(f"{performer or 'The piece'}:")
        lines += [f"  {one.words}" for one in group]
    return lines


def _row(one: Change) -> dict[str, object]:
    return {
        "performer": one.performer,
        "beat": None if one.beat is None else beats_text(one.beat),
        "words": one.words,
    }
