"""Writing files so that a reader, or a crash, sees the old text or the new one, never a part."""

import contextlib
import glob
import os
import stat
import tempfile
import time
from pathlib import Path

ABANDONED_AFTER_S = 60.0
"""No write takes so long: a temporary file older than this belongs to a program that was killed."""


def write_atomic(path: Path, data: bytes) -> None:
    """Put ``data`` under ``path``: a temporary file beside it, flushed to disk, then renamed.

    Links are followed, so the file they lead to is replaced and the link stays. The old file's
    mode is kept.

    Raises
    ------
    OSError
        If the folder cannot be written or the disk is full; what stood there is untouched.
    """
    target = Path(os.path.realpath(path))
    handle, name = tempfile.mkstemp(prefix=f".{target.name}.", suffix=".part", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        os.chmod(name, _mode_for(target))
        os.replace(name, target)
    except BaseException:
        os.unlink(name)
        raise
    flush_folder(target.parent)


def _mode_for(target: Path) -> int:
    if target.exists():
        return stat.S_IMODE(target.stat().st_mode)
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def sweep_abandoned(path: Path) -> None:
    """Remove the temporary files that killed programs left beside ``path``."""
    target = Path(os.path.realpath(path))
    oldest_s = time.time() - ABANDONED_AFTER_S
    for left in target.parent.glob(f".{glob.escape(target.name)}.*.part"):
        with contextlib.suppress(OSError):  # another program swept it, or may only read here
            if left.stat().st_mtime < oldest_s:
                left.unlink()


def flush_folder(folder: Path) -> None:
    """Make a new name in a folder itself last; not every system lets a folder be opened."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        pass
    finally:
        os.close(handle)
