"""What can be asked for on the composing screen: one table for keys, key line, palette and help."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Action:
    """``name`` is how a keys file calls it; ``keys`` are comma-separated, the first one is shown.

    ``short`` is what the key line says, empty if it has no place there.
    """

    name: str
    keys: str
    words: str
    group: str
    short: str = ""


MOVE, PLACE, CHANGE, SEE, WORK = "Moving about", "Placing", "Changing", "Seeing", "The work itself"

ACTIONS: tuple[Action, ...] = (
    Action("help", "question_mark,f1", "Keys and trade words explained", WORK, "help"),
    Action("choose", "enter", "Choose a move to place here", PLACE, "place"),
    Action("fill-free", "0", "Fill what is free here with a whole filling", PLACE, "fill"),
    Action("next-finding", "n", "Go to the next finding", MOVE, "finding"),
    Action("mend", "i", "See what would mend the finding here", CHANGE, "mend"),
    Action("undo", "u,ctrl+z", "Undo", WORK, "undo"),
    Action("save", "ctrl+s", "Save the routine", WORK, "save"),
    Action("quit", "q,ctrl+q", "Leave", WORK, "leave"),
    Action("play", "space", "Play from the cursor, or stop", SEE, "play"),
    Action("music", "M", "Put beats, bars and phrases right", SEE, "music"),
    Action("remove", "delete,x", "Remove the move under the cursor", PLACE, "remove"),
    Action("longer", "plus,equals_sign", "Lengthen the move by a count", CHANGE, "length"),
    Action("shorter", "minus", "Shorten the move by a count", CHANGE),
    Action("later", "greater_than_sign", "Shift the move a count later", CHANGE, "shift"),
    Action("earlier", "less_than_sign", "Shift the move a count earlier", CHANGE),
    Action("highlight", "H", "Set a best move on a strong moment, pinned", PLACE, "highlight"),
    Action("settle", "S", "Settle entries and turns over a stretch", CHANGE, "settle"),
    Action("firmness", "asterisk", "How firmly you have it", CHANGE, "how firm"),
    Action("export", "X", "To take away: sheets, sound, MIDI, a page", WORK, "take away"),
    Action("rehearse", "ctrl+r", "Rehearse from the cursor on", SEE, "rehearse"),
    Action("next-pane", "tab", "Show the next pane", SEE, "panes"),
    Action("zoom-in", "z", "Fewer counts on a row", SEE, "zoom"),
    Action("zoom-out", "Z", "More counts on a row", SEE),
    Action("redo", "U,ctrl+y", "Redo", WORK),
    Action("next-count", "right", "Next count", MOVE),
    Action("previous-count", "left", "Previous count", MOVE),
    Action("next-row", "down", "Next row", MOVE),
    Action("previous-row", "up", "Previous row", MOVE),
    Action("next-bar", "shift+right,l", "Next bar", MOVE),
    Action("previous-bar", "shift+left,h", "Previous bar", MOVE),
    Action("next-phrase", "right_square_bracket", "Next phrase", MOVE),
    Action("previous-phrase", "left_square_bracket", "Previous phrase", MOVE),
    Action("next-move", "j", "Start of the next move", MOVE),
    Action("previous-move", "k", "Start of the move before", MOVE),
    Action("screen-down", "pagedown", "A screen down", MOVE),
    Action("screen-up", "pageup", "A screen up", MOVE),
    Action("to-start", "home", "Start of the music", MOVE),
    Action("to-end", "end", "End of the music", MOVE),
    Action("go-to-bar", "g", "Go to a bar by its number", MOVE),
    Action("previous-finding", "N", "Go to the finding before", MOVE),
    *(
        Action(f"place-{number}", str(number), f"Place number {number} of what can follow", PLACE)
        for number in range(1, 10)
    ),
    Action("hands", "b", "Next place for: both hands, right, left", PLACE),
    Action("fill", "f", "Repeat the move until its phrase ends", PLACE),
    Action("copy", "c", "Copy the phrase under the cursor", PLACE),
    Action("copy-move", "C", "Copy the move under the cursor", PLACE),
    Action("paste", "v", "Paste here", PLACE),
    Action("paste-mirrored", "V", "Paste mirrored here", PLACE),
    Action("swap", "s", "Swap what the hands do", CHANGE),
    Action("mirror", "m", "Mirror the move", CHANGE),
    Action("entry", "e", "Enter on the next downbeat of the move", CHANGE),
    Action("entry-back", "E", "Enter on the downbeat before", CHANGE),
    Action("faster", "r", "More downbeats a beat", CHANGE),
    Action("slower", "R", "Fewer downbeats a beat", CHANGE),
    Action("relation", "o", "Next relation of the hands", CHANGE),
    Action("turn", "t", "Turn the figure by an eighth", CHANGE),
    Action("face", "d", "Turn the body by a quarter", CHANGE),
    Action("pin", "p", "Pin the move to its moment, or let go", CHANGE),
    Action("note", "semicolon", "Write a note on the move", CHANGE),
    Action("step", "full_stop", "Motion: an eighth of a turn on", SEE),
    Action("step-back", "comma", "Motion: an eighth of a turn back", SEE),
    Action("audience", "a", "Motion: performer's or audience's view", SEE),
    Action("animate", "w", "Motion: run slowly, or stand", SEE),
    Action("way-firmness", "ampersand", "How firmly you have the way into the move", CHANGE),
    Action("measures", "B", "Your name, arm, tether and stage date", WORK),
    Action("listen", "L", "Listen to the track for its sound marks, or stop", SEE),
    Action("performer", "P", "Next performer", SEE),
    Action("part", "W", "Whose part: choose a performer, see what parts are made of", SEE),
    Action("parts", "A", "All parts side by side, who lands together, who follows whom", SEE),
    Action("floor", "G", "The group on the floor: spots, ways, spacing", SEE),
    Action("end-tour", "ctrl+t", "Leave the tour", WORK),
    Action("history", "y", "Everything done so far, to go back to", WORK),
    Action("save-as", "ctrl+e", "Save under another name", WORK),
)

BY_NAME = {action.name: action for action in ACTIONS}

KEY_WORDS = {
    "plus": "+",
    "equals_sign": "=",
    "minus": "-",
    "greater_than_sign": ">",
    "less_than_sign": "<",
    "right_square_bracket": "]",
    "left_square_bracket": "[",
    "question_mark": "?",
    "semicolon": ";",
    "full_stop": ".",
    "comma": ",",
    "asterisk": "*",
    "ampersand": "&",
    "delete": "del",
    "escape": "esc",
    "pagedown": "page down",
    "pageup": "page up",
}


def key_words(keys: str) -> str:
    """The first of some keys as a keyboard has it: ``"greater_than_sign"`` is ``">"``."""
    first = keys.split(",")[0].strip()
    return KEY_WORDS.get(first, first)


def all_key_words(keys: str) -> str:
    return " or ".join(KEY_WORDS.get(key.strip(), key.strip()) for key in keys.split(","))
