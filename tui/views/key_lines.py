"""Keys of the screens: the lines below them, and their help."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from tui.actions import ACTIONS, CHANGE, MOVE, PLACE, SEE, WORK, Action, all_key_words, key_words
from tui.views.paper import Line, Piece

SIGNS = {
    "right_parenthesis": ")",
    "left_parenthesis": "(",
    "right_curly_bracket": "}",
    "left_curly_bracket": "{",
}


@dataclass(frozen=True)
class KeyTable:
    """What can be asked for on one screen."""

    actions: tuple[Action, ...]
    groups: tuple[str, ...]
    """In the order of the help."""
    prefix: str
    """Before an action's name in the user's own keys: the composing screen has some names too."""
    pairs: Mapping[str, str] = field(default_factory=dict)
    """Signs shown together with those of the opposite, unless the user has keys of her own."""

    def own_name(self, action: Action) -> str:
        return self.prefix + action.name

    def keys_of(self, action: Action, own: Mapping[str, str]) -> str:
        return own.get(self.own_name(action), action.keys)

    def sign_of(self, action: Action, own: Mapping[str, str]) -> str:
        if self.own_name(action) not in own and action.name in self.pairs:
            return self.pairs[action.name]
        return sign(self.keys_of(action, own))


COMPOSE_KEYS = KeyTable(
    ACTIONS,
    (MOVE, PLACE, CHANGE, SEE, WORK),
    prefix="",
    pairs={"longer": "+ -", "later": "< >", "zoom-in": "z Z"},
)


def sign(keys: str) -> str:
    """The first of some keys as a keyboard has it."""
    first = keys.split(",")[0].strip()
    return SIGNS.get(first, key_words(first))


def key_lines(table: KeyTable, own: Mapping[str, str], width: int) -> tuple[Line, Line]:
    """The keys with their words on two lines, as many as they hold."""
    lines: list[Line] = []
    waiting = [action for action in table.actions if action.short]
    for _ in range(2):
        pieces: list[Piece] = []
        used = 0
        while waiting:
            key, short = table.sign_of(waiting[0], own), waiting[0].short
            if used + len(key) + len(short) + 3 > width:
                break
            pieces += [Piece(f" {key}", "key"), Piece(f" {short} ", "quiet")]
            used += len(key) + len(short) + 3
            waiting.pop(0)
        lines.append(tuple(pieces))
    return lines[0], lines[1]


def key_help(table: KeyTable, own: Mapping[str, str]) -> list[Line]:
    """Every key with what it does, in groups."""
    lines: list[Line] = []
    for group in table.groups:
        lines += [(), (Piece(f" {group}", "title"),)]
        for action in table.actions:
            if action.group == group:
                shown = table.keys_of(action, own)
                words = all_key_words(",".join(SIGNS.get(k, k) for k in shown.split(",")))
                name = Piece(f"  ({table.own_name(action)})", "quiet")
                lines.append((Piece(f"  {words:<16}", "key"), Piece(f" {action.words}"), name))
    return lines[1:]
