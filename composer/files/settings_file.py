"""What a performer sets once for this machine: how she is called, and how late her sound is."""

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

from pydantic import TypeAdapter, ValidationError

from composer.errors import ComposerError
from composer.files.atomic import write_atomic
from composer.files.text_file import file_text, toml_rows

SETTINGS_FILE = "rehearsal.toml"
LARGEST_BYTES = 1_000_000


@dataclass(frozen=True, slots=True)
class Settings:
    """Kept between rehearsals."""

    calls: Literal["text", "tones", "words"] = "tones"
    count_in_bars: int = 1
    click: bool = False
    count_aloud: bool = False
    offset_ms: float = 0.0


def load_settings(path: Path) -> Settings:
    """The settings in a file; the usual ones where there is none.

    Raises
    ------
    ComposerError
        If the file is there but is not such a file.
    """
    try:
        text = file_text(path, "file of settings", LARGEST_BYTES, ComposerError)
        rows = toml_rows(text, str(path), ComposerError)
        return TypeAdapter(Settings).validate_python(rows)
    except FileNotFoundError:
        return Settings()
    except ComposerError as error:
        raise ComposerError(f"{error}; mend or delete it") from None
    except ValidationError:
        raise ComposerError(
            f"{path} is not a file of rehearsal settings; mend or delete it"
        ) from None


def save_settings(settings: Settings, path: Path) -> None:
    """Write the settings.

    Raises
    ------
    ComposerError
        If the file cannot be written.
    """
    import tomlkit

    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_atomic(path, tomlkit.dumps(asdict(settings)).encode())
    except OSError as error:
        raise ComposerError(
            f"{path} cannot be written: {error.strerror}; the settings hold for this time only"
        ) from None
