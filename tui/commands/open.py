"""petalbar open: the composing screen on a routine or a track."""

import gc
from pathlib import Path

import click


@click.command("open", epilog="\b\nExample:\n  petalbar open mine.toml\n  petalbar open song.mp3")
@click.argument("path", type=click.Path(path_type=Path), required=False)
@click.option("--tour", is_flag=True, help="With a hint for each step.")
def command(path: Path | None, *, tour: bool) -> int:
    """Place moves on the beats of a routine, or begin one on a track.

    Without a PATH the first screen offers the demo, a tour and a file to open.
    """
    gc.disable()  # what is loaded stays; run_compose takes it out of the collector's sight
    from tui.app import run_compose

    return run_compose(path, tour=tour)
