"""petalbar open: the composing screen on a routine or a track."""

from pathlib import Path

import click


@click.command("open", epilog="\b\nExample:\n  petalbar open mine.toml")
@click.argument("path", type=click.Path(path_type=Path), required=False)
def command(path: Path | None) -> int:
    """Place moves on the beats of a ROUTINE or a TRACK."""
    from tui.app import run_compose

    return run_compose(path)
