"""Which keys hold: the usual ones, and those of the user's own keys file."""

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from tui.actions import ACTIONS, BY_NAME, KEY_WORDS

WORD_KEYS = {words: key for key, words in KEY_WORDS.items()}


@dataclass(frozen=True, slots=True)
class OwnKeys:
    """Keys by action as the screen binds them, and a line for each that cannot hold."""

    keys: Mapping[str, str]
    notices: tuple[str, ...] = ()


def own_keys(wanted: Mapping[str, str]) -> OwnKeys:
    """Sort out a keys file: unknown names and keys wanted twice are told, the rest hold.

    A sign such as ``+`` may be written as it is.
    """
    keys: dict[str, str] = {}
    notices: list[str] = []
    for name, text in wanted.items():
        if name not in BY_NAME:
            near = get_close_matches(name, BY_NAME, n=1)
            hint = f'; did you mean "{near[0]}"?' if near else ""
            notices.append(f'keys file: nothing is called "{name}"{hint}')
            continue
        keys[name] = ",".join(WORD_KEYS.get(key.strip(), key.strip()) for key in text.split(","))
    holders: dict[str, str] = {}
    for action in ACTIONS:
        for key in keys.get(action.name, action.keys).split(","):
            first = holders.setdefault(key, action.name)
            if first != action.name:
                notices.append(f'keys file: "{key}" is wanted by {first} and by {action.name}')
    return OwnKeys(keys, tuple(notices))
