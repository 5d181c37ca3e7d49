"""What the help screen says: how the sheet is read, the keys, the trade words."""

import textwrap
from collections.abc import Mapping

from tui.actions import ACTIONS, CHANGE, MOVE, PLACE, SEE, WORK, all_key_words
from tui.views.glossary import GLOSSARY
from tui.views.paper import Line, Piece

READING = (
    "The sheet reads down the page like a paper count sheet. Counts run across, an eight a row.",
    "A move is written where it begins and its line runs to where it ends. Where the hands differ, "
    "R and L have a line each.",
    "Under the moves, R, L and B stand where the right head, the left or both pass straight down.",
    "Left of the counts: bar, time, and how loud and how struck each count sounds.",
    "◔ learning, ◑ reliable, ● ready for the stage: how firmly you have a move. * tells it, and "
    "fillings and the list of what can follow go by it. It is kept beside the routine.",
    "✖ error, ▲ warning and ○ note stand under the count they belong to, with their words.",
    "Every edit is kept beside the file at once; undo goes back to where you opened it.",
    "ctrl+p lists every command, to be searched (commands); ctrl+l turns the screen light or "
    "dark (light).",
    "The program advises; it does not certify. Warm up, rest on pain, clear a circle of arm, "
    "tether and margin. Practise unlit. Fire needs a trained safety person, and local codes and "
    "licensed practice come first. Keep rehearsal music at a level you can talk over.",
)

OWN_KEYS = (
    "Write a file keys.toml in the folder ~/.config/petalbar, a line for each key you want other "
    'than it is, with the name that stands in brackets above: save = "f2", or '
    'place-1 = "ctrl+j". Signs may stand as they are: longer = "%". The other screens name theirs '
    'in their own help, such as music-tap = "space".'
)
NUMBERED = {f"place-{number}" for number in range(1, 10)}


def help_lines(keys: Mapping[str, str], width: int) -> list[Line]:
    """Everything, wrapped to a width; ``keys`` are those a keys file changed."""
    lines: list[Line] = [(Piece(" How the sheet is read", "title"),)]
    for text in READING:
        lines += _wrapped(text, width)
    for group in (MOVE, PLACE, CHANGE, SEE, WORK):
        lines += [(), (Piece(f" {group}", "title"),)]
        for action in ACTIONS:
            if action.group == group and action.name not in NUMBERED:
                shown = all_key_words(keys.get(action.name, action.keys))
                lines.append(_key_row(shown, f"{action.words}  ({action.name})"))
        if group == PLACE:
            lines.append(_key_row("1 to 9", "Place that number of what can follow"))
    lines += [(), (Piece(" Words of the trade", "title"),)]
    for word, meaning in GLOSSARY.items():
        lines.append((Piece(f"  {word}", "strong"),))
        lines += _wrapped(meaning, width, 4)
    lines += [(), (Piece(" Keys of your own", "title"),)]
    lines += _wrapped(OWN_KEYS, width)
    return lines


def _key_row(keys: str, words: str) -> Line:
    return (Piece(f"  {keys:<18}", "key"), Piece(f" {words}"))


def _wrapped(text: str, width: int, indent: int = 2) -> list[Line]:
    rows = textwrap.wrap(text, max(20, width - indent - 2))
    return [(Piece(" " * indent + row),) for row in rows]
