"""The practice log: one line of JSON for each pass, beside the routine file.

Lines are only ever added, each flushed to disk before the next pass, so that a crash costs at
most the line it cut short; such a line is left out when reading.
"""

import datetime
import json
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from composer.errors import RoutineFileError
from composer.score.passes import Pass, Transition
from composer.timing.beats import beats_text, exact_beats


@dataclass(frozen=True, slots=True)
class PracticeLog:
    """What a log holds, and how many of its lines could not be understood."""

    passes: tuple[Pass, ...]
    unreadable_lines: int = 0


def practice_log_path(routine_path: Path) -> Path:
    """``show.toml`` has its log in ``show.practice.jsonl``."""
    return routine_path.with_suffix(".practice.jsonl")


def add_pass(path: Path, one: Pass) -> None:
    """Append a pass and flush it to disk.

    Raises
    ------
    RoutineFileError
        If the file cannot be written.
    """
    line = json.dumps(_row_of(one), ensure_ascii=False, separators=(", ", ": "))
    try:
        with open(path, "ab+") as file:
            file.write((b"" if _ends_whole(file) else b"\n") + line.encode() + b"\n")
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise RoutineFileError(
            f"the practice log {path} cannot be written: {error.strerror}; this pass is not kept"
        ) from None


def read_log(path: Path) -> PracticeLog:
    """Every pass of a log, in the order written; an empty log where there is no file.

    Raises
    ------
    RoutineFileError
        If the file is there but cannot be read.
    """
    try:
        lines = path.read_bytes().split(b"\n")
    except FileNotFoundError:
        return PracticeLog(())
    except OSError as error:
        raise RoutineFileError(
            f"the practice log {path} cannot be read: {error.strerror}"
        ) from None
    read = [_pass_of(line) for line in lines if line.strip()]
    passes = tuple(one for one in read if one is not None)
    return PracticeLog(passes, len(read) - len(passes))


def _ends_whole(file: Any) -> bool:
    """Whether what stands in the file ends with a whole line."""
    size = file.seek(0, os.SEEK_END)
    if size == 0:
        return True
    file.seek(size - 1)
    return bool(file.read(1) == b"\n")


def _row_of(one: Pass) -> dict[str, object]:
    place = one.transition
    return {
        "at": one.at.isoformat(timespec="seconds"),
        "performer": place.performer,
        "beat": beats_text(place.beat),
        "from": place.from_move,
        "to": place.to_move,
        "clean": one.clean,
        "percent": one.percent,
    }


def _pass_of(line: bytes) -> Pass | None:
    """The pass that a line tells of; None for a line cut short or not ours."""
    try:
        row = json.loads(line)
        words = [row[name] for name in ("at", "performer", "beat", "from", "to")]
        if not all(isinstance(word, str) for word in words) or not isinstance(row["clean"], bool):
            return None
        at, performer, beat, from_move, to_move = words
        place = Transition(performer, exact_beats(beat), from_move, to_move)
        return Pass(datetime.datetime.fromisoformat(at), place, row["clean"], row["percent"])
    except (ValueError, TypeError, KeyError):
        return None
