"""What a performer sets once for this machine: how she is called, and how late her sound is."""

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, TypeAdapter, ValidationError

from composer.errors import ComposerError
from composer.files.atomic import write_atomic
from composer.files.text_file import file_text, toml_rows
from composer.moves.written import first_problem

SETTINGS_FILE = "rehearsal.toml"
LARGEST_BYTES = 1_000_000
LATEST_MS = 2000
"""Ours: more than any wireless headphones are late by."""


@dataclass(frozen=True, slots=True)
class Settings:
    """Kept between rehearsals."""

    calls: Literal["text", "tones", "words"] = "tones"
    count_in_bars: Annotated[int, Field(ge=0, le=8)] = 1
    click: bool = False
    count_aloud: bool = False
    offset_ms: Annotated[float, Field(ge=-LATEST_MS, le=LATEST_MS, allow_inf_nan=False)] = 0.0


def load_settings(path: Path) -> Settings:
    """The settings in a file; the usual ones where there is none.

    Raises
    ------
    ComposerError
        If the file is there but is not such a file.
    """
    rows = kept_rows(path)
    try:
        return TypeAdapter(Settings).validate_python(rows or {})
    except ValidationError as error:
        problem = first_problem(error, rows or {})
        raise ComposerError(f"{path}, {problem}; mend or delete it") from None


def save_settings(settings: Settings, path: Path) -> None:
    """Write the settings.

    Raises
    ------
    ComposerError
        If the file cannot be written.
    """
    keep_rows(asdict(settings), path)


def kept_rows(path: Path) -> dict[str, Any] | None:
    """What a small file of settings says; None where there is none.

    Raises
    ------
    ComposerError
        If the file cannot be read or is not TOML.
    """
    try:
        text = file_text(path, "file of settings", LARGEST_BYTES, ComposerError)
        return toml_rows(text, str(path), ComposerError)
    except FileNotFoundError:
        return None
    except ComposerError as error:
        raise ComposerError(f"{error}; mend or delete it") from None


def keep_rows(rows: dict[str, Any], path: Path) -> None:
    """Write a small file of settings.

    Raises
    ------
    ComposerError
        If it cannot be written.
    """
    import tomlkit

    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_atomic(path, tomlkit.dumps(rows).encode())
    except OSError as error:
        raise ComposerError(
            f"{path} cannot be written: {error.strerror}; what was set holds for this time only"
        ) from None
