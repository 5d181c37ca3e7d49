"""One editor at a time for a routine file, and whether another program has changed it."""

import contextlib
import hashlib
import os
import socket
from dataclasses import dataclass
from pathlib import Path

from composer.errors import RoutineFileError


class EditLock:
    """Held while a routine is open for editing; the system lets go of it if the program dies."""

    def __init__(self, routine_path: Path) -> None:
        target = Path(os.path.realpath(routine_path))
        self.path = target.with_name(f".{target.name}.lock")
        self._handle: int | None = None

    def take(self) -> bool:
        """Take the lock; False where the folder cannot be written, so nothing can be saved there.

        Raises
        ------
        RoutineFileError
            If another editor holds it; names which.
        """
        try:
            handle = os.open(self.path, os.O_RDWR | os.O_CREAT, 0o600)
        except OSError:
            return False
        locked = _lock(handle)
        if locked and not _is_at(handle, self.path):  # let go of and removed between the two
            os.close(handle)
            return self.take()
        if not locked:
            holder = os.read(handle, 200).decode("utf-8", "replace").strip() or "another program"
            os.close(handle)
            raise RoutineFileError(
                f"{self.path.name[1:-5]} is open in another editor ({holder}); close it there"
            )
        with contextlib.suppress(OSError):  # on a full disk the lock holds without a name in it
            os.ftruncate(handle, 0)
            os.write(handle, f"process {os.getpid()} on {socket.gethostname()}".encode())
        self._handle = handle
        return True

    def release(self) -> None:
        if self._handle is not None:
            with contextlib.suppress(OSError):
                self.path.unlink()
            os.close(self._handle)
            self._handle = None


def _is_at(handle: int, path: Path) -> bool:
    """Whether an open file is still the one that stands under a name."""
    try:
        return os.path.samestat(os.fstat(handle), path.stat())
    except OSError:
        return False


def _lock(handle: int) -> bool:
    """Lock an open file without waiting; True too where the file system knows no locks."""
    try:
        import fcntl
    except ImportError:
        return True
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:
        return True
    return True


@dataclass(frozen=True, slots=True)
class FileStamp:
    """What a file was when it was last read or written here."""

    sha256: str
    size: int
    time_ns: int

    def still_holds(self, path: Path) -> bool:
        """Whether the file is unchanged since; its bytes are read only if its date differs."""
        try:
            status = path.stat()
        except OSError:
            return self.sha256 == ""
        if (status.st_size, status.st_mtime_ns) == (self.size, self.time_ns):
            return True
        return stamp_of(path).sha256 == self.sha256


def stamp_of(path: Path) -> FileStamp:
    """The stamp of a file as it stands; an empty one if it is not there."""
    try:
        status = path.stat()
        data = path.read_bytes()
    except OSError:
        return FileStamp("", -1, -1)
    return FileStamp(hashlib.sha256(data).hexdigest(), status.st_size, status.st_mtime_ns)
