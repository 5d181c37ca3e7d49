"""What can be asked for on the screen of all parts: its keys, key lines and help."""

from tui.actions import Action
from tui.views.key_lines import KeyTable

ABOUT, PARTS, CAST, BACK = "Moving about", "Parts", "Who is in the piece", "Back and forth"

PARTS_ACTIONS: tuple[Action, ...] = (
    Action("help", "question_mark,f1", "What every key does", BACK, "help"),
    Action("leave", "q,escape,A", "Back to the moves", BACK, "back"),
    Action("next-performer", "right", "Next performer", ABOUT, "performer"),
    Action("previous-performer", "left", "Performer before", ABOUT),
    Action("next-row", "down", "Next row", ABOUT, "row"),
    Action("previous-row", "up", "Previous row", ABOUT),
    Action("next-phrase", "right_square_bracket", "Next phrase", ABOUT, "phrase"),
    Action("previous-phrase", "left_square_bracket", "Phrase before", ABOUT),
    Action("edit", "enter", "Edit her part from here, on the composing screen", PARTS, "edit"),
    Action("follow", "f", "Let her part of this phrase follow another's", PARTS, "follow"),
    Action("own", "o", "Make what she follows in this phrase her own moves", PARTS, "her own"),
    Action("unfollow", "delete,x", "Follow nobody in this phrase", PARTS, "unfollow"),
    Action("bring-in", "plus,equals_sign", "Bring in another performer", CAST, "bring in"),
    Action("take-out", "minus", "Take her out of the piece with her part and spots", CAST),
    Action("next-close", "l", "Next bar line on which all close", ABOUT, "all close"),
    Action("previous-close", "L", "Bar line before on which all close", ABOUT),
    Action("next-unison", "w", "Where somebody next begins to be in unison", ABOUT, "unison"),
    Action("previous-unison", "W", "Where somebody began to be in unison before", ABOUT),
    Action("undo", "u,ctrl+z", "Undo", BACK, "undo"),
    Action("save", "ctrl+s", "Save the routine", BACK, "save"),
    Action("next-finding", "n", "Next finding about her", ABOUT, "finding"),
    Action("previous-finding", "N", "Finding about her before", ABOUT),
    Action("zoom-in", "z", "Fewer counts on a row", ABOUT, "zoom"),
    Action("zoom-out", "Z", "More counts on a row", ABOUT),
    Action("screen-down", "pagedown", "A screen down", ABOUT),
    Action("screen-up", "pageup", "A screen up", ABOUT),
    Action("to-start", "home", "Start of the music", ABOUT),
    Action("to-end", "end", "End of the music", ABOUT),
    Action("go-to-bar", "g", "Go to a bar by its number", ABOUT),
    Action("redo", "U,ctrl+y", "Redo", BACK),
)

PARTS_KEYS = KeyTable(
    PARTS_ACTIONS,
    (PARTS, CAST, ABOUT, BACK),
    prefix="parts-",
    pairs={"next-performer": "← →", "next-row": "↑ ↓", "next-phrase": "[ ]"},
)

PARTS_READING = (
    "Time runs down the page, a column for each performer; what does not fit is scrolled to with "
    "the cursor. A name stands where its move begins, after a figure and a colon where that is not "
    "the first count of the row. ¦ it goes on, » it comes from another's part, ⇄ it is done as its "
    "mirror image. ✖ and ▲ at the end of a column: an error or a warning in that row.",
    "Left of a name: ┃ in unison with others all through the row, ╏ mirrored with others; then how "
    "she lands on the bar line that begins the row: C her moves close, D a tether passes straight "
    "down, x her heads meet. * after the bar: all who move close there.",
    "f lets her part of this phrase follow somebody else's: in unison, mirrored or with hands "
    "swapped, at once or some beats later, which is a canon. Followed moves change when the leader "
    "changes hers; o makes them her own.",
)
