"""Writing files so that a reader, or a crash, sees the old text or the new one, never a part."""

import os
import stat
import tempfile
from pathlib import Path


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
    _flush_folder(target.parent)


def _mode_for(target: Path) -> int:
    if target.exists():
        return stat.S_IMODE(target.stat().st_mode)
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _flush_folder(folder: Path) -> None:
    """Make the rename itself last; not every system lets a folder be opened."""
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
