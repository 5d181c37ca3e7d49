"""The file side of an open routine: lock, journal, saving, and whether it changed underneath."""

import contextlib
import time
from dataclasses import dataclass
from pathlib import Path

from composer.errors import RoutineFileError
from composer.files.atomic import sweep_abandoned, write_atomic
from composer.files.edit_lock import EditLock, FileStamp, stamp_of
from composer.files.journal import Journal, Recovered, journal_path, recover
from composer.files.routine_file import load_routine, save_routine
from composer.score.routine import Routine


@dataclass
class Work:
    """Where a routine is kept while it is edited.

    ``notice`` is one line for the user about what is not as usual; empty if all is.
    """

    path: Path
    journals: Path
    """Where journals go when the file's own folder cannot be written."""
    journal: Journal
    lock: EditLock
    stamp: FileStamp
    can_save: bool
    notice: str = ""
    undecided: bool = False
    """Whether the journal holds edits of an earlier sitting that nobody has decided about."""
    _kept_before: bool = False

    def record(self, routine: Routine, words: str) -> str:
        """Write an edit into the journal; gives a warning line if that failed.

        Edits nobody has decided about are set aside first, not built on.
        """
        try:
            if self.undecided:
                self.set_aside()
            self.journal.record(routine, words)
        except RoutineFileError as error:
            return str(error)
        except OSError as error:
            return f"edits are not kept beside the file ({error.strerror}): save elsewhere"
        return ""

    def changed_on_disk(self) -> bool:
        return not self.stamp.still_holds(self.path)

    def save(self, routine: Routine) -> None:
        """Write the routine; the file as it was first stays beside it.

        Raises
        ------
        RoutineFileError
            If the file cannot be written.
        """
        if not self.can_save:
            raise RoutineFileError(f"{self.path.parent} cannot be written; save under another name")
        if not self._kept_before:
            self._keep_before()
        save_routine(routine, self.path)
        self.stamp = stamp_of(self.path)

    def _keep_before(self) -> None:
        before = self.path.with_name(f".{self.path.name}.before")
        try:
            if self.path.exists():
                write_atomic(before, self.path.read_bytes())
        except OSError as error:
            raise RoutineFileError(
                f"{before} cannot be written: {error.strerror}; save under another name"
            ) from None
        self._kept_before = True

    def saved(self) -> None:
        """What the journal held of this sitting is in the file now."""
        if not self.undecided:
            with contextlib.suppress(OSError):  # what stays behind says no more than the file
                self.journal.clear()

    def set_aside(self) -> Path:
        """Stop offering what the journal holds; gives the file that keeps it.

        Raises
        ------
        RoutineFileError
            If the journal cannot be renamed.
        """
        try:
            aside = self.journal.set_aside()
        except OSError as error:
            raise RoutineFileError(
                f"{self.journal.path} cannot be set aside: {error.strerror}; move it away"
            ) from None
        self.undecided = False
        return aside

    def close(self) -> None:
        self.journal.close()
        self.lock.release()


def open_work(path: Path, journals: Path) -> Work:
    """Take hold of a routine file, which may not exist yet.

    Raises
    ------
    RoutineFileError
        If another editor has it open.
    """
    lock = EditLock(path)
    can_save = lock.take()
    notice = "" if can_save else f"{path.parent or '.'} cannot be written: save under another name"
    journal = Journal(journal_path(path, journals))
    if can_save:
        sweep_abandoned(path)
    else:
        with contextlib.suppress(OSError):
            journals.mkdir(parents=True, exist_ok=True)
        lock = EditLock(journal.path)
        lock.take()
    return Work(path, journals, journal, lock, stamp_of(path), can_save, notice)


def unsaved_edits(work: Work, opened: Routine) -> Recovered | None:
    """Edits that a journal holds and the opened routine lacks; a useless journal is set aside.

    Raises
    ------
    RoutineFileError
        If the journal cannot be used.
    """
    try:
        found = recover(work.journal.path)
    except RoutineFileError:
        work.set_aside()
        raise
    work.undecided = found is not None and found.routine != opened
    if work.path.exists():
        work.saved()
    return found if work.undecided else None


def read_again(work: Work) -> Routine:
    """The routine as the file holds it now."""
    work.stamp = stamp_of(work.path)
    return load_routine(work.path)


def when_words(time_s: float, now_s: float | None = None) -> str:
    """``"12 minutes ago"``, ``"yesterday"``, in whole units."""
    passed = max(0.0, (time.time() if now_s is None else now_s) - time_s)
    for size, word in ((86_400, "day"), (3_600, "hour"), (60, "minute")):
        number = int(passed // size)
        if number:
            return f"{number} {word}{'s' if number > 1 else ''} ago"
    return "just now"
