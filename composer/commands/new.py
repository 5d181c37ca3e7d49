"""petalbar new: a routine file on a track, its music analysed."""

import json
import os
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

import click

from composer.audio.analysis import Analysis
from composer.commands.numbers import Day
from composer.commands.performing import body_and_props, body_options
from composer.commands.writing import check_target
from composer.errors import RoutineFileError, TrackError
from composer.files.analysis_cache import analysis_of
from composer.files.music_file import content_hash
from composer.files.routine_file import save_routine
from composer.files.routine_schema import routine_json_schema
from composer.motion.body import Body, Prop, PropKind
from composer.score.routine import Performer, Routine, TrackRef

SILENT_DB = -60.0
"""Below the noise of a room microphone: nothing there to place moves on."""


def print_schema(context: click.Context, _option: click.Parameter, wanted: bool) -> None:
    """Print what may stand in a routine file, and stop."""
    if wanted:
        click.echo(json.dumps(routine_json_schema(), indent=1))
        context.exit()


@click.command(
    "new",
    epilog="\b\nExample:\n  petalbar new song.mp3 -o mine.toml --performer Wren --tether 0.52",
)
@click.argument("track", type=click.Path(path_type=Path))
@click.option(
    "--schema",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=print_schema,
    help="Print the JSON Schema of routine files, for editors, and stop.",
)
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Routine file to write.")
@click.option("--title", help="Name of the routine; by default the track's.")
@click.option(
    "--performer",
    "performers",
    metavar="NAME",
    multiple=True,
    help="A performer's name; repeat for a group.",
)
@click.option("--date", "on", type=Day(), help="Day of the performance.")
@body_options
def command(
    track: Path,
    output: Path | None,
    title: str | None,
    performers: tuple[str, ...],
    on: date | None,
    stature: float,
    arm: float | None,
    tether: float,
    prop: PropKind,
) -> None:
    """Analyse a track and write an empty routine on its beats."""
    place = output or Path(f"{track.stem}.toml")
    if place.suffix.lower() != ".toml":
        raise RoutineFileError(f"{place}: a routine file ends in .toml; name it so with -o")
    if place.exists():
        raise RoutineFileError(f"{place} exists already; choose another name with -o")
    check_target(place)
    body, props = body_and_props(stature, arm, tether, prop)
    group = _group(performers or ("Performer",), body, props)
    routine = start_routine(track, place, title or track.stem.replace("_", " "))
    routine = replace(routine, performers=group, performance_date=on)
    save_routine(routine, place, overwrite=False)
    grid = routine.grid
    middle = grid.end_beat / 2
    click.echo(
        f"{place}: {grid.bar_count} bars of {grid.meter_map.meter_at(middle)} at "
        f"{grid.tempo_map.bpm_at(middle):.2f} beats a minute, {len(grid.phrases)} phrases"
    )
    click.echo(f"Next: petalbar open {place}")


def _group(names: Sequence[str], body: Body, props: tuple[Prop, Prop]) -> tuple[Performer, ...]:
    """Performers who are built alike, each with a name of her own."""
    for name, count in Counter(names).items():
        if not name.strip():
            raise RoutineFileError("--performer needs a name")
        if count > 1:
            raise RoutineFileError(f'two performers are called "{name}"; tell them apart')
    return tuple(Performer(name, body, *props) for name in names)


def heard(track: Path, *, fresh: bool = False) -> Analysis:
    """What a track is made of.

    Raises
    ------
    TrackError
        If there is nothing in it to place moves on.
    """
    _, analysis = analysis_of(track, fresh=fresh, samples=False)
    if analysis.loudness_db.size == 0 or analysis.loudness_db.max() < SILENT_DB:
        raise TrackError(f"{track} is silent; choose a file with music in it")
    return analysis


def start_routine(track: Path, place: Path, title: str) -> Routine:
    """An empty routine on a track, for a file that will stand at ``place``."""
    analysis = heard(track)
    ref = TrackRef(
        file=os.path.relpath(str(track), str(place.parent)),
        sha256=content_hash(track),
        duration_s=analysis.duration_s,
    )
    return Routine(title=title, track=ref, grid=analysis.grid, performers=(Performer("Performer"),))
