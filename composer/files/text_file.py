"""Text and TOML that people wrote by hand, read with one clear line for whatever is wrong."""

import re
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any

from composer.errors import ComposerError

if TYPE_CHECKING:
    from pydantic import ValidationError


def file_text(path: Path, what: str, largest_bytes: int, failure: type[ComposerError]) -> str:
    """The text of a file that is ``what``, such as "routine file"; a byte order mark is left out.

    Raises
    ------
    FileNotFoundError
        If it is not there: what to do then only the caller knows.
    ComposerError
        Of the kind of ``failure``: a folder, too large, not text, or it cannot be read.
    """
    try:
        if path.is_dir():
            raise failure(f"{path} is a folder; name the {what} inside it")
        with path.open("rb") as stream:
            data = stream.read(largest_bytes + 1)
    except FileNotFoundError:
        raise
    except OSError as error:
        raise failure(f"{path} cannot be read: {error.strerror}") from None
    if len(data) > largest_bytes:
        raise failure(f"{path} is over {largest_bytes // 1_000_000} MB, too large for a {what}")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise failure(f"{path} is not text in UTF-8; is it a {what}?") from None


def toml_rows(text: str, source: str, failure: type[ComposerError]) -> dict[str, Any]:
    """The values of TOML text; ``source`` names it in errors.

    Raises
    ------
    ComposerError
        Of the kind of ``failure``, with the line and column where the text breaks off.
    """
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise failure(f"{source} is not a whole TOML file: {error}") from None
    except ValueError:
        raise failure(f"{source} holds a number of thousands of digits; shorten it") from None
    except RecursionError:
        raise failure(f"{source} is nested too deeply; three levels are usual") from None


_OWN_WORDS = {
    "extra_forbidden": "this key is not known; check its spelling",
    "missing": "this must be given",
}


def first_problem(error: "ValidationError", rows: dict[str, Any]) -> str:
    """Where in the rows the first mistake stands, what it is, and how many more there are."""
    problems = error.errors(include_url=False)
    # A misspelt key is also a missing one: the misspelling is what to mend.
    problem = min(problems, key=lambda p: p["type"] != "extra_forbidden")
    more = error.error_count() - 1
    text = _OWN_WORDS.get(problem["type"], _plain_words(problem["msg"]))
    where = _place_words(problem["loc"], rows)
    return f"{where}: {text}" + (f" (and {more} more)" if more else "")


def _plain_words(message: str) -> str:
    """Pydantic's sentence without the words that only programmers know."""
    for theirs, ours in (("Value error, ", ""), (" after validation", "")):
        message = message.replace(theirs, ours)
    return re.sub(r"^(Input|String|List|Value) should", "this should", message)


def _place_words(location: tuple[int | str, ...], rows: object) -> str:
    """``("part", 0, "moves", 3, "beats")`` as ``part 1 (Wren), moves 4, beats``."""
    words: list[str] = []
    for step in location:
        if isinstance(step, int):
            rows = rows[step] if isinstance(rows, list) and step < len(rows) else None
            owner = rows.get("performer") or rows.get("name") if isinstance(rows, dict) else None
            words[-1] += f" {step + 1}" + (f" ({owner})" if isinstance(owner, str) else "")
        elif isinstance(rows, dict) and step in rows:
            rows = rows[step]
            words.append(step)
        elif "[" not in step and step not in ("str", "float", "int", "list"):
            words.append(step)
    return ", ".join(words) or "at the top"
