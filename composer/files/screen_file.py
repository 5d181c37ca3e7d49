"""Whether a performer wants a light or a dark screen, once for this machine."""

from pathlib import Path

from composer.errors import ComposerError
from composer.files.settings_file import keep_rows, kept_rows

SCREEN_FILE = "screen.toml"


def load_light(path: Path) -> bool | None:
    """True for light, False for dark, None where nothing was chosen yet.

    Raises
    ------
    ComposerError
        If the file is there but is not such a file.
    """
    rows = kept_rows(path)
    if rows is None:
        return None
    light = rows.get("light")
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
    keep_rows({"light": light}, path)
