"""The journal: every edit since the last save, written beside the routine file as it is made.

A record is one line: a checksum and a JSON object. The first holds the whole routine, later ones
only the moves that changed, so an edit costs a few hundred bytes. A line that was cut short when
the program died fails its checksum and is left out, and so is everything after it.
"""

import json
import os
import time
import zlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from composer.errors import ComposerError, RoutineFileError
from composer.files.atomic import flush_folder
from composer.files.routine_rows import placement_rows, routine_of, rows_of
from composer.files.routine_schema import RoutineFile
from composer.score.routine import Part, Placement, Routine

LARGEST_BYTES = 200_000_000


@dataclass(frozen=True, slots=True)
class Recovered:
    """Edits that were never saved: the routine they led to, and what they were."""

    routine: Routine
    edits: tuple[str, ...]
    """Words of each edit, oldest first."""
    last_time: float
    """When the last one was made, in seconds since 1970."""


def journal_path(routine_path: Path, fallback: Path) -> Path:
    """Where the journal of a routine file stands: beside it, or in ``fallback`` if that folder
    cannot be written."""
    target = Path(os.path.realpath(routine_path))
    beside = target.with_name(f".{target.name}.journal")
    if os.access(beside if beside.exists() else target.parent, os.W_OK):
        return beside
    tag = f"{zlib.crc32(str(target).encode()):08x}"
    return fallback / f"{target.stem}-{tag}.journal"


class Journal:
    """The open journal of one routine. Every record has reached the system when a call returns.

    Raises
    ------
    OSError
        By :meth:`record`, if the disk is full or was taken away. The next record then holds the
        whole routine again.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._handle: int | None = None
        self._last: Routine | None = None
        self._number = 0
        self._flushed = True

    def record(self, routine: Routine, words: str) -> None:
        """Write down the routine as it stands after an edit."""
        before, self._last = self._last, None  # until it is written, nothing can build on it
        content = _difference(before, routine) if before is not None else None
        if content is None:
            content = {"whole": rows_of(routine)}
        self._number += 1
        self._append({"n": self._number, "time": time.time(), "words": words} | content)
        self._last = routine

    def flush(self) -> Callable[[], None] | None:
        """What brings the newest records down to the disk itself, against a power cut.

        It may wait long for a busy disk, so it is to be called in a thread; it raises OSError if
        the disk is full or was taken away. None if nothing is new.
        """
        if self._handle is None or self._flushed:
            return None
        self._flushed = True
        handle = os.dup(self._handle)  # its own: the journal may be closed meanwhile

        def down_to_disk() -> None:
            try:
                os.fsync(handle)
            finally:
                os.close(handle)

        return down_to_disk

    def begin_anew(self) -> None:
        """Write the whole routine with the next record: what was written cannot be relied on."""
        self._last = None

    def clear(self) -> None:
        """Forget everything: the routine has been saved, or its edits were given up."""
        self.close()
        self.path.unlink(missing_ok=True)
        self._last = None
        self._number = 0

    def set_aside(self) -> Path:
        """Stop offering these edits; they stay in the file that is given, beside the journal."""
        self.close()
        aside, number = self.path.with_name(self.path.name + ".aside"), 1
        while aside.exists():
            number += 1
            aside = self.path.with_name(f"{self.path.name}.aside{number}")
        if self.path.exists():
            os.replace(self.path, aside)
        self._last = None
        self._number = 0
        return aside

    def close(self) -> None:
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None

    def _append(self, record: dict[str, Any]) -> None:
        if self._handle is None:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            flags = os.O_WRONLY | os.O_CREAT | os.O_APPEND
            self._handle = os.open(self.path, flags, 0o600)
            flush_folder(self.path.parent)
        text = json.dumps(record, default=str, ensure_ascii=False, separators=(",", ":"))
        data = text.encode()
        # A new line first: a record that was cut short does not swallow the one after it.
        line = b"\n%08x %s" % (zlib.crc32(data), data)
        written = os.write(self._handle, line)
        self._flushed = False
        if written != len(line):
            raise OSError(28, "the disk is full")


def _difference(before: Routine, after: Routine) -> dict[str, Any] | None:
    """The one stretch of one part that changed; None if more than that did."""
    if not _same_but_parts(before, after):
        return None
    changed = [
        (old, new) for old, new in zip(before.parts, after.parts, strict=True) if old is not new
    ]
    if len(changed) != 1 or changed[0][0].following != changed[0][1].following:
        return None
    return _splice(*changed[0])


def _same_but_parts(before: Routine, after: Routine) -> bool:
    names = [one.name for one in fields(Routine) if one.name != "parts"]
    return [part.performer for part in before.parts] == [
        part.performer for part in after.parts
    ] and all(getattr(before, name) is getattr(after, name) for name in names)


def _splice(old: Part, new: Part) -> dict[str, Any]:
    a, b = old.placements, new.placements
    shortest = min(len(a), len(b))
    start = _same(zip(a, b, strict=False), shortest)
    same_end = _same(zip(reversed(a), reversed(b), strict=False), shortest - start)
    rows = [placement_rows(placement) for placement in b[start : len(b) - same_end]]
    return {"part": new.performer, "from": start, "to": len(a) - same_end, "moves": rows}


def _same(pairs: Iterable[tuple[Placement, Placement]], most: int) -> int:
    """How many pairs from the first on are of equals, up to so many; most are one object."""
    for count, (old, new) in enumerate(pairs):
        if count == most or (old is not new and old != new):
            return count
    return most


# ------------------------------------------------------------------ recovery


def recover(path: Path) -> Recovered | None:
    """What a journal holds; None if there is none or no whole record is left in it.

    Raises
    ------
    RoutineFileError
        If the journal cannot be read.
    """
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise RoutineFileError(f"{path} cannot be read: {error.strerror}") from None
    if len(data) > LARGEST_BYTES:
        raise RoutineFileError(f"{path} is too large for a journal; move it away")
    return _replay(_records(data), path)


def _records(data: bytes) -> list[dict[str, Any]]:
    records = []
    for line in data.split(b"\n"):
        checksum, _, text = line.partition(b" ")
        if checksum == b"%08x" % zlib.crc32(text):
            records.append(json.loads(text))
    return records


def _replay(records: list[dict[str, Any]], path: Path) -> Recovered | None:
    rows: dict[str, Any] | None = None
    edits: list[str] = []
    number, last_time = 0, 0.0
    for record in records:
        if "whole" in record:
            rows = record["whole"]
        elif rows is None or record["n"] != number + 1:
            break  # a record is missing: what follows builds on it
        else:
            _apply(rows, record)
        number, last_time = record["n"], record["time"]
        edits.append(record["words"])
    if rows is None:
        return None
    try:
        routine = routine_of(RoutineFile.model_validate(rows), str(path))
    except (ValueError, ComposerError) as error:
        raise RoutineFileError(f"{path} holds no usable routine: {error}") from None
    return Recovered(routine, tuple(edits), last_time)


def _apply(rows: dict[str, Any], record: dict[str, Any]) -> None:
    for part in rows["part"]:
        if part["performer"] == record["part"]:
            part.setdefault("moves", [])[record["from"] : record["to"]] = record["moves"]
