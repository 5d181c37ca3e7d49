"""What can be asked for on the floor screen: one table for its keys, key lines and help."""

from tui.actions import Action
from tui.views.key_lines import KeyTable

SPOTS, TOGETHER, TIMES, FOUND, BACK = (
    "Spots",
    "Everybody",
    "Going through the piece",
    "What is found",
    "Back and forth",
)

FLOOR_ACTIONS: tuple[Action, ...] = (
    Action("help", "question_mark,f1", "What every key does", BACK, "help"),
    Action("leave", "q,escape,G", "Back to the moves", BACK, "back"),
    Action("right", "right", "Move the spot 25 cm to the right on the page", SPOTS, "move"),
    Action("left", "left", "Move the spot 25 cm to the left", SPOTS),
    Action("down", "down", "Move the spot 25 cm down the page", SPOTS),
    Action("up", "up", "Move the spot 25 cm up", SPOTS),
    Action("fine-right", "shift+right,L", "Move the spot 5 cm to the right", SPOTS, "5 cm"),
    Action("fine-left", "shift+left,H", "Move the spot 5 cm to the left", SPOTS),
    Action("fine-down", "shift+down,J", "Move the spot 5 cm down", SPOTS),
    Action("fine-up", "shift+up,K", "Move the spot 5 cm up", SPOTS),
    Action("next-performer", "j", "Next performer", SPOTS, "who"),
    Action("previous-performer", "k", "Performer before", SPOTS),
    Action("face-left", "comma", "Face an eighth further against the clock", SPOTS, "face"),
    Action("face-right", "full_stop", "Face an eighth further with the clock", SPOTS),
    Action("next-phrase", "right_square_bracket", "Next phrase", TIMES, "phrase"),
    Action("previous-phrase", "left_square_bracket", "Phrase before", TIMES),
    Action("next-stop", "right_curly_bracket", "Where somebody next leaves or arrives", TIMES),
    Action("previous-stop", "left_curly_bracket", "Where somebody left or arrived before", TIMES),
    Action("formation", "f", "Everybody into a formation from here on", TOGETHER, "formation"),
    Action("mend", "i", "See what would mend the finding", FOUND, "mend"),
    Action("new-spot", "s", "A spot of her own from here on", SPOTS, "new spot"),
    Action("undo", "u,ctrl+z", "Undo", BACK, "undo"),
    Action("save", "ctrl+s", "Save the routine", BACK, "save"),
    Action("longer", "plus,equals_sign", "Walk there in a beat more", SPOTS, "walk"),
    Action("shorter", "minus", "Walk there in a beat less", SPOTS),
    Action("later", "greater_than_sign", "Arrive a beat later", SPOTS, "arrive"),
    Action("earlier", "less_than_sign", "Arrive a beat earlier", SPOTS),
    Action("remove", "delete,x", "Take the spot out", SPOTS, "remove"),
    Action("type-place", "enter", "Type the place in metres", SPOTS, "type"),
    Action("next-finding", "n", "Next finding about the floor", FOUND, "next finding"),
    Action("previous-finding", "N", "Finding before", FOUND),
    Action("list", "tab", "Between the plan and the list of findings", FOUND, "list"),
    Action("everybody", "e", "Arrows move everybody, or one again", TOGETHER, "everybody"),
    Action(
        "audience", "a", "Audience at the bottom of the page, or at its top", TIMES, "turn page"
    ),
    Action("walk", "space", "Let everybody walk from here on, or stand", TIMES, "walk it"),
    Action("to-start", "home", "Start of the music", TIMES),
    Action("to-end", "end", "End of the music", TIMES),
    Action("go-to-bar", "g", "Go to a bar by its number", TIMES),
    *(
        Action(f"performer-{number}", str(number), f"Performer number {number}", SPOTS)
        for number in range(1, 10)
    ),
    Action("stage", "S", "Size of the floor", TOGETHER),
    Action("obstacle", "o", "Mark something on the floor to keep away from", TOGETHER),
    Action("redo", "U,ctrl+y", "Redo", BACK),
)
FLOOR_KEYS = KeyTable(
    FLOOR_ACTIONS,
    (SPOTS, TOGETHER, TIMES, FOUND, BACK),
    prefix="floor-",
    pairs={
        "right": "←↑↓→",
        "fine-right": "shift+←↑↓→",
        "next-performer": "j k",
        "face-left": ", .",
        "next-phrase": "[ ]",
        "longer": "+ -",
        "later": "< >",
    },
)

FLOOR_READING = (
    "The floor from above, the audience at the bottom unless the page is turned. Names are cut to "
    "three letters; the arrow shows where each one faces, the ring of dots how far arm, prop and "
    "head reach. Where two rings meet they are drawn with ×. ∙ is the way somebody walks or has "
    "just walked, its beats in the middle; it stands after the arrow of who is walking. # is what "
    "to keep away from, ┊ the middle line.",
    "Moving a spot moves the place she stands on from its beat until her next walk. The line below "
    "the plan says which beat that is; s gives her a spot of her own here first.",
    "With the mouse: take a name and drag it.",
    "Clear a circle of arm, prop and margin, ceiling and lights included. Local codes, the venue "
    "and licensed practice decide how near fire may come.",
)
