"""petalbar new: a routine file on a track, its music analysed."""

import json
import os
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

import click

from composer.errors import RoutineFileError, TrackError
from composer.files.analysis_cache import analysis_of
from composer.files.routine_file import save_routine
from composer.files.routine_schema import routine_json_schema
from composer.files.track import content_hash
from composer.motion.body import MEDIAN_STATURE_M, Body, Prop
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
    "--performer", "performers", multiple=True, help="A performer's name; repeat for a group."
)
@click.option("--stature", type=click.FloatRange(0.6, 2.5), help="Stature in metres.")
@click.option("--arm", type=click.FloatRange(0.2, 1.2), help="Shoulder to grip, metres.")
@click.option("--tether", type=click.FloatRange(0.05, 3.0), help="Hand to head, metres.")
@click.option("--date", "on", type=click.DateTime(["%Y-%m-%d"]), help="Day of the performance.")
def command(
    track: Path,
    output: Path | None,
    title: str | None,
    performers: tuple[str, ...],
    stature: float | None,
    arm: float | None,
    tether: float | None,
    on: datetime | None,
) -> None:
    """Analyse a track and write an empty routine on its beats."""
    place = output or Path(f"{track.stem}.toml")
    if place.exists():
        raise RoutineFileError(f"{place} exists already; choose another name with -o")
    routine = start_routine(track, place, title or track.stem.replace("_", " "))
    body = Body(stature_m=stature or MEDIAN_STATURE_M, arm_m=arm or 0.0)
    prop = Prop(length_m=tether) if tether else Prop()
    routine = replace(
        routine,
        performers=tuple(
            Performer(name, body, prop, prop) for name in performers or ("Performer",)
        ),
        performance_date=date(on.year, on.month, on.day) if on else None,
    )
    save_routine(routine, place, overwrite=False)
    grid = routine.grid
    click.echo(
        f"{place}: {grid.bar_count} bars of {grid.meter_map.meter_at(grid.end_beat)} at "
        f"{grid.tempo_map.bpm_at(0):.2f} beats a minute, {len(grid.phrases)} phrases"
    )
    click.echo(f"Next: petalbar open {place}")


def start_routine(track: Path, place: Path, title: str) -> Routine:
    """An empty routine on a track, for a file that will stand at ``place``."""
    _, analysis = analysis_of(track, samples=False)
    if analysis.loudness_db.size == 0 or analysis.loudness_db.max() < SILENT_DB:
        raise TrackError(f"{track} is silent; choose a file with music in it")
    ref = TrackRef(
        file=os.path.relpath(str(track), str(place.parent)),
        sha256=content_hash(track),
        duration_s=analysis.duration_s,
    )
    return Routine(title=title, track=ref, grid=analysis.grid, performers=(Performer("Performer"),))
