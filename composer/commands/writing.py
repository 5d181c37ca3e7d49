"""What commands write: refused before any work is done, whole or not at all, never unasked."""

from collections.abc import Iterable
from pathlib import Path

from composer.errors import ExportError, RoutineFileError
from composer.export.picture import Picture
from composer.files.atomic import write_atomic
from composer.files.edit_lock import EditLock
from composer.files.routine_file import save_routine
from composer.score.routine import Routine


def check_target(target: Path, *, force: bool = False, made_from: Iterable[Path] = ()) -> None:
    """Refuse, before any work is done, a file that may not or cannot be written.

    Raises
    ------
    ExportError
        If the file exists and is not to be replaced, if it is what the new one is made from, or
        if its folder is not there.
    """
    if target.resolve() in {path.resolve() for path in made_from}:
        raise ExportError(f"{target} is what the export is made from; choose another name")
    if target.is_dir():
        raise ExportError(f"{target} is a folder; name the file to write in it")
    if not target.parent.is_dir():
        wrong = "is not a folder" if target.parent.exists() else "is not there"
        raise ExportError(f"{target.parent} {wrong}; name a folder that is there, or make it first")
    if target.exists() and not force:
        raise ExportError(f"{target} exists already; choose another name or add --force")


def write_export(target: Path, data: bytes) -> None:
    """Write a finished export whole or not at all.

    Raises
    ------
    ExportError
        If the folder cannot be written or the disk is full.
    """
    try:
        write_atomic(target, data)
    except OSError as error:
        raise ExportError(
            f"{target} cannot be written: {error.strerror}; choose another place"
        ) from None


def check_picture(target: Path, *, force: bool) -> None:
    """Refuse, before any work is done, a picture that cannot be written under that name.

    Raises
    ------
    ExportError
        As :func:`check_target`, or if the ending is no picture's.
    """
    if target.suffix.lower() not in (".svg", ".png"):
        raise ExportError(f"{target}: a picture ends in .svg or .png; name the file so")
    check_target(target, force=force)


def write_picture(target: Path, picture: Picture) -> str:
    """Write a picture as its name's ending says; one line that tells how large it is."""
    if target.suffix.lower() == ".png":
        from composer.export.picture_png import picture_png

        write_export(target, picture_png(picture))
    else:
        from composer.export.picture_svg import picture_svg

        write_export(target, picture_svg(picture).encode("utf-8"))
    return f"{target}: {picture.width} x {picture.height}"


def save_unless_open(routine: Routine, path: Path) -> None:
    """Save a changed routine unless an editor holds its file, whose next save would undo this.

    Raises
    ------
    RoutineFileError
        If it is open in an editor or cannot be written.
    """
    lock = EditLock(path)
    if not lock.take():
        raise RoutineFileError(f"{path.parent} cannot be written; copy the routine elsewhere")
    try:
        save_routine(routine, path)
    finally:
        lock.release()
