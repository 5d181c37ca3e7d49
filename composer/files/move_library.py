"""The performer's own moves: files that are added to the shipped library."""

from collections.abc import Sequence
from pathlib import Path

from composer.errors import MoveFileError
from composer.files.keys_file import user_folder
from composer.files.text_file import file_text
from composer.moves.library import Library, library_from_text, shipped_library

LARGEST_BYTES = 4_000_000


def moves_folder() -> Path:
    """Where a performer's own moves are looked for: XDG_CONFIG_HOME, by default in ~/.config."""
    return user_folder() / "moves"


def load_library(more: Sequence[Path] = ()) -> Library:
    """The shipped moves, every .toml file of :func:`moves_folder` by name, then the given files.

    Raises
    ------
    MoveFileError
        One line: which file, which move, what is wrong.
    """
    library = shipped_library()
    folder = moves_folder()
    own = sorted(folder.glob("*.toml")) if folder.is_dir() else []
    for path in [*own, *more]:
        library = library_from_text(_text(path), path.name, library)
    return library


def _text(path: Path) -> str:
    try:
        return file_text(path, "file of moves", LARGEST_BYTES, MoveFileError)
    except FileNotFoundError:
        raise MoveFileError(f"{path} is not there; check the name of the file of moves") from None
