"""petalbar browser: the composing screen in a browser."""

import ipaddress
import os
from pathlib import Path

import click

from composer.commands.numbers import Whole
from composer.errors import ComposerError


@click.command("browser", epilog="\b\nExample:\n  petalbar browser mine.toml\n\nEnds with Ctrl-C.")
@click.argument("path", type=click.Path(path_type=Path), required=False)
@click.option(
    "--port", default=8000, show_default=True, type=Whole(1, 65535), help="Where it answers."
)
@click.option(
    "--address",
    metavar="ADDRESS",
    default="127.0.0.1",
    show_default=True,
    help="Where to listen; another than this machine's own lets others edit and save as you.",
)
def command(path: Path | None, port: int, address: str) -> int:
    """Serve the composing screen for a browser on this machine.

    Sound comes from this machine. Needs: pip install "petalbar[browser]"
    """
    try:
        from tui.browser.serving import is_loopback, serve
    except ImportError as error:
        raise ComposerError(
            f"the browser needs an extra that is not installed ({error.name}): pip install "
            '"petalbar[browser]"'
        ) from None
    if address != "localhost":
        try:
            ipaddress.ip_address(address)
        except ValueError:
            raise ComposerError(
                f"--address is an address of this machine such as 127.0.0.1, not {address}"
            ) from None
    if path is not None:
        _check(path)
    if not is_loopback(address):
        click.echo(
            f"Whoever reaches {address} can edit and save files as you, unencrypted.", err=True
        )
    try:
        serve(path, address, port)
    except OSError as error:
        why = os.strerror(error.errno) if error.errno else str(error)
        raise ComposerError(
            f"{address} port {port} cannot be listened on ({why}); choose another with --port"
        ) from None
    return 0


def _check(path: Path) -> None:
    """What cannot be opened is told here, not in the browser."""
    from composer.files.music_file import check_music_file
    from composer.files.routine_file import load_routine
    from tui.opening import is_begun, is_routine

    if not is_routine(path):
        check_music_file(path)
    elif path.exists() or not is_begun(path):
        load_routine(path)
