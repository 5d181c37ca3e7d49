"""Whether a performer wants a light or a dark screen, once for this machine."""

from pathlib import Path

from composer.errors import ComposerError
from composer.files.atomic import write_atomic
from composer.files.text_file import file_text, toml_rows

SCREEN_FILE = "screen.toml"
LARGEST_BYTES = 1_000_000


def load_light(path: Path) -> bool | None:
    """True for light, False for dark, None where nothing was chosen yet.

    Raises
    ------
    ComposerError
        If the file is there but is not such a file.
    """
    try:
        text = file_text(path, "file of settings", LARGEST_BYTES, ComposerError)
        light = toml_rows(text, str(path), ComposerError).get("light")
    except FileNotFoundError:
        return None
    except ComposerError as error:
        raise ComposerError(f"{error}; mend or delete it") from None
    if not isinstance(light, bool):
        raise ComposerError(f"{path} should say light = true or light = false; mend or delete it")
    return light


def save_light(light: bool, path: Path) -> None:
    """Keep the choice.

    Raises
    ------
    ComposerError
        If the file cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_atomic(path, f"light = {str(light).lower()}\n".encode())
    except OSError as error:
        raise ComposerError(
            f"{path} cannot be written: {error.strerror}; the choice holds for this time only"
        ) from None
