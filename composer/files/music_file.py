"""A music file before it is decoded: whether it can be one, and which one it is."""

import hashlib
from pathlib import Path

from composer.errors import TrackError


def check_music_file(path: Path) -> None:
    """Raise a TrackError, in one line, for what cannot be a music file."""
    if not path.exists():
        raise TrackError(f"{path}: no such file")
    if path.is_dir():
        raise TrackError(f"{path}: this is a folder, choose one music file in it")
    try:
        size = path.stat().st_size
        with path.open("rb"):
            pass
    except OSError as error:
        raise TrackError(f"{path}: cannot be read ({error.strerror})") from None
    if size == 0:
        raise TrackError(f"{path}: the file is empty")


def content_hash(path: Path) -> str:
    """SHA-256 of the file's bytes, in hexadecimal."""
    try:
        with path.open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest()
    except OSError as error:
        raise TrackError(f"{path}: cannot be read ({error.strerror})") from None
