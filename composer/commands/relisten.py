"""petalbar relisten: a routine on a fresh analysis, with what was put right applied again."""

import os
from dataclasses import replace
from pathlib import Path

import click

from composer.arrange.moved import correction_words, moved_lines
from composer.arrange.music import relisten
from composer.commands.new import heard
from composer.commands.writing import save_unless_open
from composer.files.music_file import content_hash
from composer.files.routine_file import load_routine
from composer.score.routine import Routine, TrackRef


@click.command(
    "relisten",
    epilog="\b\nExample:\n  petalbar relisten mine.toml --dry-run\n"
    "  petalbar relisten mine.toml --track new_master.flac",
)
@click.argument("routine", type=click.Path(path_type=Path))
@click.option("--track", type=click.Path(path_type=Path), help="Music to change to.")
@click.option("--fresh", is_flag=True, help="Listen again, even to a known track.")
@click.option("--dry-run", is_flag=True, help="Only tell what would move.")
def command(routine: Path, track: Path | None, fresh: bool, dry_run: bool) -> None:
    """Listen to a routine's track again and keep what you put right.

    Moves keep their beats, locked phrases their name and their time; what moved is told in seconds.
    """
    before = load_routine(routine)
    place = track or routine.parent / before.track.file
    analysis = heard(place, fresh=fresh)
    again = relisten(before, analysis.grid)
    after = replace(again.routine, track=_track_ref(before, routine, track, analysis.duration_s))
    if before.track.sha256 not in ("", after.track.sha256):
        click.echo(f"{place} is other music than the routine was made on")
    count = len(before.corrections)
    click.echo(f"{place}: {count} correction{'' if count == 1 else 's'} applied again")
    for correction in before.corrections:
        refused = dict(again.refused).get(correction)
        tail = f": no longer fits ({refused}), kept" if refused else ""
        click.echo(f"  {correction_words(correction)}{tail}")
    for line in moved_lines(before, after):
        click.echo(line)
    if dry_run:
        click.echo("Nothing was written; leave --dry-run out to write it")
    else:
        save_unless_open(after, routine)
        click.echo(f"Written: {routine}. Next: petalbar check {routine}")


def _track_ref(routine: Routine, place: Path, track: Path | None, duration_s: float) -> TrackRef:
    """The track as it is now: its name only changes when another was asked for."""
    path = track or place.parent / routine.track.file
    name = routine.track.file if track is None else os.path.relpath(track, place.parent)
    return TrackRef(name, content_hash(path), duration_s)
