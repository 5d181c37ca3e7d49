"""Which keys hold: the usual ones, and those of the user's own keys file."""

from collections.abc import Mapping
from dataclasses import dataclass
from importlib import import_module

from textual.binding import Binding
from textual.keys import _character_to_key

SCREENS: Mapping[str, str] = {
    "the composing screen": "tui.screens.compose:ComposeScreen",
    "the music screen": "tui.screens.music:MusicScreen",
    "the floor": "tui.screens.floor:FloorScreen",
    "all parts": "tui.screens.parts:PartsScreen",
    "the rehearsal": "tui.screens.rehearse:RehearseScreen",
    "taking out": "tui.screens.export:ExportScreen",
    "choosing a move": "tui.screens.choose_move:ChooseMove",
    "measures": "tui.screens.measures:Measures",
    "help": "tui.screens.help:Help",
    "cutting the music": "tui.screens.music_cut:CutMusic",
    "tapping along": "tui.screens.music_taps:Tap",
    "how late the sound is": "tui.screens.calibrate:Calibrate",
    "the first screen": "tui.screens.first:FirstScreen",
    "lists": "tui.widgets.pick_list:PickList",
    "every screen": "tui.app:PetalbarApp",
}
"""Where keys are bound, by the words for it. Each binding has an id: its name in a keys file."""


@dataclass(frozen=True, slots=True)
class OwnKeys:
    """Keys by action as the screen binds them, and a line for each that cannot hold."""

    keys: Mapping[str, str]
    notices: tuple[str, ...] = ()


def own_keys(wanted: Mapping[str, str]) -> OwnKeys:
    """Sort out a keys file: unknown names and keys wanted twice are told, the rest hold.

    A sign such as ``+`` may be written as it is.
    """
    if not wanted:
        return OwnKeys({})
    bound = bound_keys()
    usual = {name: keys for names in bound.values() for name, keys in names.items()}
    keys: dict[str, str] = {}
    notices: list[str] = []
    for name, text in wanted.items():
        if name not in usual:
            from difflib import get_close_matches

            near = get_close_matches(name, usual, n=1)
            hint = f'; did you mean "{near[0]}"?' if near else ""
            notices.append(f'keys file: nothing is called "{name}"{hint}')
            continue
        keys[name] = ",".join(key_named(key.strip()) for key in text.split(","))
    for names in bound.values():
        holders: dict[str, str] = {}
        for name, own in names.items():
            for key in keys.get(name, own).split(","):
                first = holders.setdefault(key.strip(), name)
                if first != name:
                    notices.append(f'keys file: "{key}" is wanted by {first} and by {name}')
    return OwnKeys(keys, tuple(notices))


def key_named(text: str) -> str:
    """A key as bindings call it; a sign may be written as it is."""
    return _character_to_key(text) if len(text) == 1 else text


def bound_keys() -> dict[str, dict[str, str]]:
    """The usual keys by name, for each screen; screens are loaded for it."""
    found: dict[str, dict[str, str]] = {}
    for words, place in SCREENS.items():
        module, _, name = place.partition(":")
        bindings = getattr(import_module(module), name).BINDINGS
        found[words] = {
            one.id: one.key for one in bindings if isinstance(one, Binding) and one.id is not None
        }
    return found
