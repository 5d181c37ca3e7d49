"""What can be asked for while rehearsing: one table for its keys, key lines and help."""

from tui.actions import Action
from tui.views.key_lines import KeyTable

PLAY, LEARN, HEAR, BACK = "Playing", "Learning", "What is heard", "Back and forth"

REHEARSE_ACTIONS: tuple[Action, ...] = (
    Action("play", "space", "Play after a count-in, or pause", PLAY, "play"),
    Action("before", "left", "To the move before", PLAY, "move"),
    Action("next", "right", "To the next move", PLAY),
    Action("slower", "down", "5 % slower, the pitch kept", PLAY, "speed"),
    Action("faster", "up", "5 % faster, the pitch kept", PLAY),
    Action("phrase", "f", "Loop the phrase that is heard", PLAY, "loop phrase"),
    Action("link", "d", "Loop the nearest change of moves", PLAY, "loop change"),
    Action("on", "a", "Play on from here, no loop", PLAY, "play on"),
    Action("clean", "c", "That pass was clean", LEARN, "clean"),
    Action("fumbled", "x", "That pass was fumbled", LEARN, "fumbled"),
    Action("plan", "g", "What to practise next, and why", LEARN, "plan"),
    Action("leave", "q,escape", "Leave", BACK, "leave"),
    Action("help", "question_mark,f1", "What every key does", BACK, "help"),
    Action("click", "s", "A click on every beat, or none", HEAR, "click"),
    Action("calls", "w", "Calls as tones, spoken, or shown only", HEAR, "calls"),
    Action("performer", "tab", "Call for the next performer", HEAR, "performer"),
    Action("ladder", "r", "5 % faster after three clean passes, or not", LEARN, "step up"),
    Action("count-in", "1", "No, one or two bars counted in", HEAR, "count-in"),
    Action("counts", "e", "Counts spoken over the music, or not", HEAR, "counts"),
    Action("mute", "z", "Call for both hands, the right or the left", HEAR, "hands"),
    Action("calibrate", "v", "Measure how late the sound is", HEAR, "lateness"),
    Action("resume", "enter", "Open the sound device again after it was lost", HEAR, "sound again"),
)
REHEARSE_KEYS = KeyTable(
    REHEARSE_ACTIONS,
    (PLAY, LEARN, HEAR, BACK),
    prefix="rehearse-",
    pairs={"before": "← →", "slower": "↓ ↑"},
)

READING = (
    "Above what is on now, with the beats it has left; then what comes next, large; below it "
    "in how many beats it begins, and bar and count. It is called a bar ahead: next becomes "
    "next, called.",
    "A loop comes round after a short breath, counted in. Mark each pass at the place, clean or "
    "fumbled: the plan is made from that, the difficulty and the date of the performance.",
    "Loud music hurts: 85 dB(A) for 8 hours at most, half as long for every 3 dB more (NIOSH).",
)
