"""The performer's own moves: files that are added to the shipped library."""

import os
from collections.abc import Sequence
from pathlib import Path

from composer.errors import MoveFileError
from composer.moves.library import Library, library_from_text, shipped_library

LARGEST_BYTES = 4_000_000


def moves_folder() -> Path:
    """Where a performer's own moves are looked for: XDG_CONFIG_HOME, by default in ~/.config."""
    base = os.environ.get("XDG_CONFIG_HOME", "")
    root = Path(base) if base and Path(base).is_absolute() else Path.home() / ".config"
    return root / "petalbar" / "moves"


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
        if path.is_dir():
            raise MoveFileError(f"{path} is a folder; name the file of moves inside it")
        if path.stat().st_size > LARGEST_BYTES:
            raise MoveFileError(f"{path} is too large for a file of moves")
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise MoveFileError(f"{path} is not there; check the name of the file of moves") from None
    except UnicodeDecodeError:
        raise MoveFileError(f"{path} is not text in UTF-8; is it a file of moves?") from None
    except OSError as error:
        raise MoveFileError(f"{path} cannot be read: {error.strerror}") from None
