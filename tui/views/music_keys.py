"""What can be asked for on the music screen: one table for its keys, key lines and help."""

from tui.actions import Action
from tui.views.key_lines import KeyTable

ABOUT, HEAR, BARS, PHRASES, BACK = (
    "Moving about",
    "Hearing it",
    "Beats and bars",
    "Phrases",
    "Back and forth",
)

MUSIC_ACTIONS: tuple[Action, ...] = (
    Action("play", "space", "Play from the cursor with a click on top, or stop", HEAR, "play"),
    Action("one-here", "1", "Count 1 is here (or is heard now): all bars move", BARS, "is here"),
    Action("later", "greater_than_sign", "Bars begin a beat later", BARS, "shift bars"),
    Action("earlier", "less_than_sign", "Bars begin a beat earlier", BARS),
    Action("tap", "t", "Tap along to a passage and fit the beats to it", BARS, "tap"),
    Action("double", "plus,equals_sign", "Two beats where there was one", BARS, "double, halve"),
    Action("halve", "minus", "One beat where there were two", BARS),
    Action("metre", "m", "Another metre", BARS, "metre"),
    Action("leave", "q,escape,M", "Back to the moves", BACK, "back"),
    Action("help", "question_mark,f1", "What every key does", BACK, "help"),
    Action("nudge-later", "full_stop", "All beats 5 ms later", BARS, "nudge"),
    Action("nudge-earlier", "comma", "All beats 5 ms earlier", BARS),
    Action("phrase", "p", "A phrase begins here (or where it is heard now)", PHRASES, "phrase"),
    Action("name", "e", "Name the phrase", PHRASES, "name"),
    Action(
        "phrase-later", "right_parenthesis", "The phrase begins a beat later", PHRASES, "its start"
    ),
    Action("undo", "u,ctrl+z", "Undo", BACK, "undo"),
    Action("click", "c", "Hear music and click, the click alone, or the music alone", HEAR),
    Action("loop", "r", "Repeat the phrase under the cursor, or play on", HEAR),
    Action("half", "h", "Bars begin half a beat later", BARS),
    Action("bars-from", "b", "Bars are counted anew from here (or from what is heard now)", BARS),
    Action("split", "s", "Another tempo from here to the end of the music", BARS),
    Action("by-ms", "o", "All beats by so many ms, typed", BARS),
    Action("align", "a", "Set the beats on what is struck in this phrase", BARS),
    Action("hold", "f", "Hold the beats of this phrase against later analyses", BARS),
    Action("phrase-earlier", "left_parenthesis", "The phrase begins a beat earlier", PHRASES),
    Action("phrase-bar-later", "right_curly_bracket", "The phrase begins a bar later", PHRASES),
    Action("phrase-bar-earlier", "left_curly_bracket", "The phrase begins a bar earlier", PHRASES),
    Action("remove", "delete,x", "Remove the phrase: it joins the one before", PHRASES),
    Action("lock", "l", "Lock the phrase, or let it go: no analysis moves a locked one", PHRASES),
    Action("lock-all", "L", "Lock all phrases, or let all go", PHRASES),
    Action("redo", "U,ctrl+y", "Redo", BACK),
    Action("listen", "A", "Listen anew and see what would change; what you put right holds", BARS),
    Action("cut", "k", "Cut the music to stage length, phrase by phrase", PHRASES, "cut"),
    Action("put-right", "y", "Everything that was put right about the beats", BACK),
    Action("next-count", "right", "Next count", ABOUT),
    Action("previous-count", "left", "Previous count", ABOUT),
    Action("next-row", "down", "Next row", ABOUT),
    Action("previous-row", "up", "Previous row", ABOUT),
    Action("next-bar", "shift+right", "Next bar", ABOUT),
    Action("previous-bar", "shift+left", "Previous bar", ABOUT),
    Action("next-phrase", "right_square_bracket", "Next phrase", ABOUT),
    Action("previous-phrase", "left_square_bracket", "Previous phrase", ABOUT),
    Action("screen-down", "pagedown", "A screen down", ABOUT),
    Action("screen-up", "pageup", "A screen up", ABOUT),
    Action("to-start", "home", "Start of the music", ABOUT),
    Action("to-end", "end", "End of the music", ABOUT),
    Action("go-to-bar", "g", "Go to a bar by its number", ABOUT),
    Action("zoom-in", "z", "Fewer counts on a row", ABOUT),
    Action("zoom-out", "Z", "More counts on a row", ABOUT),
)
MUSIC_KEYS = KeyTable(
    MUSIC_ACTIONS,
    (BARS, PHRASES, HEAR, BACK, ABOUT),
    prefix="music-",
    pairs={"later": "< >", "double": "+ -", "nudge-later": ", .", "phrase-later": "( )"},
)

READING = (
    "Above: how strongly something is struck, moment by moment; the columns over a count are "
    "that count. Below: ┃1 where a bar begins, ╵ the other counts, ┠ where a move begins, "
    "♩ where another tempo does.",
    "Left: bar, loudness of each count, time. Where the strokes stand over the signs, the beats "
    "are right.",
    "Moves keep their beats when the beats move; what then sounds elsewhere is told in seconds. "
    "What you put right is kept with the routine and put on any later analysis again.",
    "A phrase's heading may be dragged with the mouse to the bar where the phrase begins.",
    "While the music plays, 1, b and p take the beat that is heard.",
)
