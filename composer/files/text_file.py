"""Text and TOML that people wrote by hand, read with one clear line for whatever is wrong."""

import tomllib
from pathlib import Path
from typing import Any

from composer.errors import ComposerError


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
