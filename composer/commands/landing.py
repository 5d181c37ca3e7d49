"""petalbar landing: bar by bar, who closes, who is on a downbeat, and who is in unison."""

import json
from collections.abc import Iterator
from pathlib import Path

import click

from composer.check.landing import Landing, LandingRow, landing_table
from composer.check.landing_unison import UnisonWindow, unison_windows
from composer.files.move_library import load_library
from composer.files.routine_file import load_routine
from composer.score.routine import Routine
from composer.timing.beats import beats_text

EPILOG = """\b
Each performer has a column:
  C  closes here    D  passes down here    x  her heads meet here
  -  rests          ?  not known           all close: * before the bar

\b
Examples:
  petalbar landing group.toml
  petalbar landing group.toml --together
  petalbar landing group.toml --json"""


@click.command("landing", epilog=EPILOG)
@click.argument("routine", type=click.Path(path_type=Path))
@click.option("--together", is_flag=True, help="Only the bar lines on which all close.")
@click.option("--json", "as_json", is_flag=True, help="For programs: every bar and window.")
def command(routine: Path, *, together: bool, as_json: bool) -> None:
    """Show where everybody lands together, and the stretches in unison."""
    loaded, library = load_routine(routine), load_library()
    rows, windows = landing_table(loaded, library), unison_windows(loaded, library)
    if together:
        rows = tuple(row for row in rows if row.all_close)
    if as_json:
        told = {
            "title": loaded.title,
            "bars": [_row(row) for row in rows],
            "unison": [_window_row(window) for window in windows],
        }
        click.echo(json.dumps(told, ensure_ascii=False, indent=1))
        return
    click.echo("\n".join(table_lines(loaded, rows)))
    click.echo("\n".join(unison_lines(loaded, windows)))


def table_lines(routine: Routine, rows: tuple[LandingRow, ...]) -> Iterator[str]:
    names = [performer.name for performer in routine.performers]
    yield "    bar  " + "  ".join(f"{name:>6}" for name in names)
    for row in rows:
        if row.phrase:
            yield f"  -- {row.phrase} --"
        bar = "end" if row.ends else str(row.bar)
        signs = "  ".join(f"{_sign(one):>{max(6, len(one.performer))}}" for one in row.landings)
        yield f"  {'*' if row.all_close else ' '} {bar:>3}  {signs}"


def _sign(one: Landing) -> str:
    if not one.known:
        return "?"
    if one.rests:
        return "-"
    signs = (("C", one.closes), ("D", one.downbeat), ("x", one.meets))
    return "".join(sign for sign, holds in signs if holds) or "."


def unison_lines(routine: Routine, windows: tuple[UnisonWindow, ...]) -> Iterator[str]:
    if windows:
        yield "Together:"
    for one in windows:
        where = routine.grid.place_text(one.span.start_beat)
        how = "mirrored" if one.mirrored else "in unison"
        yield f"  {where}, {one.span.length_beats} beats: {', '.join(one.performers)} {how}"


def _row(row: LandingRow) -> dict[str, object]:
    return {
        "bar": row.bar,
        "beat": beats_text(row.beat),
        "phrase": row.phrase,
        "ends": row.ends,
        "all_close": row.all_close,
        "performers": [
            {
                "performer": one.performer,
                "moves": list(one.moves),
                "closes": one.closes,
                "downbeat": one.downbeat,
                "meets": one.meets,
                "known": one.known,
            }
            for one in row.landings
        ],
    }


def _window_row(window: UnisonWindow) -> dict[str, object]:
    return {
        "start_beat": beats_text(window.span.start_beat),
        "beats": beats_text(window.span.length_beats),
        "performers": list(window.performers),
        "mirrored": window.mirrored,
    }
