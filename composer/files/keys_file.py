"""The user's own keys: a small TOML file of names and keys."""

import os
from pathlib import Path

from composer.errors import ComposerError
from composer.files.text_file import file_text, toml_rows

KEYS_FILE = "keys.toml"
LARGEST_BYTES = 1_000_000


def user_folder() -> Path:
    """Where the user's own settings are: under XDG_CONFIG_HOME, by default in ~/.config."""
    return _root("XDG_CONFIG_HOME", ".config") / "petalbar"


def state_folder() -> Path:
    """Where what the program keeps for itself is: under XDG_STATE_HOME, or ~/.local/state."""
    return _root("XDG_STATE_HOME", ".local/state") / "petalbar"


def _root(variable: str, usual: str) -> Path:
    base = os.environ.get(variable, "")
    return Path(base) if base and Path(base).is_absolute() else Path.home() / usual


def load_keys(path: Path) -> dict[str, str]:
    """Keys by the name of what they do, such as ``save = "ctrl+s"``; none if there is no file.

    Several keys stand in one text, parted by commas, or in a list.

    Raises
    ------
    ComposerError
        If the file cannot be read or is not such a list.
    """
    try:
        text = file_text(path, "file of keys", LARGEST_BYTES, ComposerError)
        rows = toml_rows(text, str(path), ComposerError)
    except FileNotFoundError:
        return {}
    except ComposerError as error:
        raise ComposerError(f"{error}; the usual keys hold") from None
    keys = {}
    for name, value in rows.items():
        texts = value if isinstance(value, list) else [value]
        if not texts or not all(isinstance(text, str) and text.strip() for text in texts):
            raise ComposerError(
                f'{path}: {name} must be keys as text, such as {name} = "ctrl+s"; '
                "the usual keys hold"
            )
        keys[name] = ",".join(text.strip() for text in texts)
    return keys
