"""The shipped demo: where it is, and a copy of it to work on."""

from pathlib import Path

from composer.errors import ComposerError
from composer.files.atomic import write_atomic

ROUTINE = "lantern_quay.toml"
TRACK = "harbour_lanterns.ogg"


def lay_out(folder: Path) -> tuple[Path, Path]:
    """Copy the demo's track and routine into a folder, over an older copy of the track only.

    Raises
    ------
    ComposerError
        If the folder cannot be written or the demo was not installed.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        track, routine = folder / TRACK, folder / ROUTINE
        write_atomic(track, shipped_demo()[0].read_bytes())
        if not routine.exists():
            write_atomic(routine, shipped_routine().encode("utf-8"))
    except OSError as error:
        raise ComposerError(
            f"{folder} cannot be written: {error.strerror}; choose another with --folder"
        ) from None
    return track, routine


def shipped_routine() -> str:
    """The demo's routine as it is laid out beside its track."""
    text = shipped_demo()[1].read_text(encoding="utf-8")
    return text.replace(f"../demo_tracks/{TRACK}", TRACK)


def shipped_demo() -> tuple[Path, Path]:
    """The demo's track and routine, inside the installed package or in the checkout.

    Raises
    ------
    ComposerError
        If neither is there.
    """
    package = Path(__file__).parent
    for tracks, routines in (
        (package / "demo", package / "demo"),
        (package.parent / "demo_tracks", package.parent / "routines"),
    ):
        if (tracks / TRACK).is_file() and (routines / ROUTINE).is_file():
            return tracks / TRACK, routines / ROUTINE
    raise ComposerError("the demo is not part of this installation; work from a checkout")
