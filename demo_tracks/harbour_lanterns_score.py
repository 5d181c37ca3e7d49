"""Harbour Lanterns as written: its plan, harmony, melody and rows of steps."""

from notation import chord
from timing import Accent, Clock, Plan, Section

PLAN = Plan(
    name="harbour_lanterns",
    clock=Clock(bpm=126, first_downbeat_s=0.35),
    beats_per_bar=4,
    sections=(
        Section("intro", 4),
        Section("verse", 8),
        Section("build", 4),
        Section("drop", 8),
        Section("break", 8),
        Section("lift", 4),
        Section("finale", 8),
        Section("ending", 2),
    ),
    last_struck_beat=176,
    accents=(
        Accent(63, "stop"),
        Accent(64, "drop"),
        Accent(143, "stop"),
        Accent(144, "drop"),
        Accent(176, "hit"),
    ),
)

CHORDS = {
    "Dm7": chord("D2", "A3 C4 D4 F4"),
    "Bbmaj7": chord("Bb1", "F3 A3 D4 F4"),
    "F": chord("F2", "F3 A3 C4 F4"),
    "C": chord("C2", "G3 C4 D4 E4"),
    "C/E": chord("E2", "G3 C4 E4 G4"),
    "Gm7": chord("G1", "G3 Bb3 D4 F4"),
    "Am7": chord("A1", "G3 C4 E4 G4"),
    "Ebmaj7": chord("Eb2", "G3 Bb3 D4 G4"),
    "A7sus": chord("A1", "G3 A3 D4 E4"),
    "A7": chord("A1", "G3 A3 C#4 E4"),
    "D": chord("D2", "F#3 A3 D4 E4 F#4"),
}

DROP_HARMONY = "Bbmaj7 | C | Dm7 | Am7 | Bbmaj7 | C | F C/E | Dm7 A7"
HARMONY = {
    "intro": "Dm7 | Bbmaj7 | F | C",
    "verse": "Dm7 | Bbmaj7 | F | C | Dm7 | Bbmaj7 | Gm7 | A7sus A7",
    "build": "Gm7 | Bbmaj7 | C | A7sus A7",
    "drop": DROP_HARMONY,
    "break": "Gm7 | Dm7 | Ebmaj7 | Bbmaj7 | Gm7 | Dm7 | Ebmaj7 | C",
    "lift": "Gm7 | Am7 | Bbmaj7 | A7sus A7",
    "finale": "Bbmaj7 | C | Dm7 | Am7 | Bbmaj7 | C | Bbmaj7 C | A7sus A7",
}

# The motif is long, long, short: three, three and two sixteenth pairs, then three steps home.
DROP_MELODY = """
    F5:.75 D5:.75 F5:.5 G5:1 F5:.5 D5:.5 | E5:.75 C5:.75 E5:.5 G5:1.5 A5:.5 |
    A5:.75 F5:.75 D5:.5 F5:1 E5:.5 D5:.5 | E5:1.5 C5:.5 A4:1 C5:1 |
    F5:.75 D5:.75 F5:.5 G5:1 F5:.5 D5:.5 | E5:.75 C5:.75 E5:.5 G5:1 C6:1"""
MELODY = {
    "verse": """
    A4:.75 F4:.75 A4:.5 C5:1 A4:.5 F4:.5 | D4:1.5 F4:.5 F4:2 |
    A4:.75 F4:.75 A4:.5 C5:1 D5:.5 C5:.5 | G4:2 r:2 |
    A4:.75 F4:.75 A4:.5 C5:1 A4:.5 F4:.5 | D5:1.5 C5:.5 A4:1 F4:1 |
    G4:.75 Bb4:.75 D5:.5 F5:1 D5:.5 Bb4:.5 | A4:1.5 D5:.5 C#5:2""",
    "drop": DROP_MELODY
    + "| A5:.75 G5:.75 F5:.5 G5:.75 F5:.75 E5:.5 | F5:.75 E5:.75 D5:.5 C#5:.5 E5:.5 A5:1",
    "break": """
    D5:1.5 Bb4:1.5 D5:1 | F5:2 D5:1 A4:1 | G4:1.5 Bb4:1.5 D5:1 | F5:2 D5:2 |
    D5:1.5 Bb4:1.5 D5:1 | A5:2 F5:1 D5:1 | G5:1.5 F5:1.5 D5:1 | E5:3 C5:1""",
    "lift": "D5:4 | E5:4 | F5:2 G5:2 | A5:1 G5:1 A5:1 r:1",
    "finale": DROP_MELODY + "| F5:.75 D5:.75 F5:.5 G5:.75 E5:.75 G5:.5 | A5:1 G5:1 E5:1 C#5:1",
}

FOUR = "X...|X...|X...|X..."
HATS = "x.o.|x.o.|x.o.|x.o."
# One row of sixteenths for each bar of the section; a short list starts over.
DROP_DRUMS = {
    "kick": [FOUR],
    "clap": ["....|X...|....|X..."] * 3 + ["....|X...|....|X..o"],
    "open hat": ["..o.|..o.|..o.|..o."],
    "hat": ["X,.,|x,.,|x,.,|x,.,"],
    "snare": ["...."] * 3 + ["....|....|....|..oo"] + ["...."] * 3 + ["....|....|..o.|oxxX"],
}
DRUMS = {
    "intro": {
        "soft kick": [FOUR],
        "shaker": ["x.,.|o.,.|x.,.|o.,."],
        "rim": ["...."] * 2 + ["....|x...|....|x..."] * 2,
    },
    "verse": {
        "kick": ["X...|o...|X...|o...", "X...|o...|X...|o..o"],
        "clap": ["....|x...|....|x..."],
        "hat": [HATS],
        "shaker": ["..,.|..,.|..,.|..,."],
        "snare": ["...."] * 7 + ["....|....|....|o.xo"],
    },
    "build": {
        "kick": [FOUR] * 3 + ["X...|X...|X...|...."],
        "snare": ["o...|o...|o...|o...", "o.o.|o.o.|o.o.|o.o.", "x.o.|x.o.|xoxo|xoxo",
                  "xoxo|xxxx|X...|...."],
        "hat": [HATS] * 3 + ["x.o.|x.o.|x...|...."],
    },
    "drop": DROP_DRUMS,
    "break": {
        "soft kick": ["X...|....|....|...."] * 4 + ["X...|....|X...|...."] * 4,
        "rim": ["x...|x...|x...|x..."] * 4 + ["o...|X...|o...|X..."] * 4,
        "shaker": ["x.o.|x.o.|x.o.|x.o."] * 4 + ["X,o,|x,o,|x,o,|x,o,"] * 4,
    },
    "lift": {
        "kick": [FOUR] * 3 + ["X...|X...|X...|...."],
        "shaker": ["x,o,|x,o,|x,o,|x,o,"] * 3 + ["x,o,|x,o,|x...|...."],
        "snare": ["....", "o...|o...|o...|o...", "o.o.|o.o.|x.x.|x.xo",
                  "X...|X...|X...|...."],
    },
    "finale": DROP_DRUMS | {
        "kick": [FOUR],
        "shaker": [".o,o|.o,o|.o,o|.o,o"],
        "clap": ["....|X...|....|X..."] * 7 + ["X...|X...|X...|X..."],
        "hat": ["X,.,|x,.,|x,.,|x,.,"] * 7 + ["...."],
        "snare": ["...."] * 3 + ["....|....|....|..oo"] + ["...."] * 2
        + ["....|....|....|.oxx", "X...|X...|X...|X..."],
    },
}  # fmt: skip

BASS_STEPS = {
    "verse": "X.....x.|x.....x.",
    "build": "x.o.x.o.|x.o.x.o.",
    "drop": "X.X...X.|..X...Xo",
    "lift": "x.o.x.o.|x.o.x.o.",
    "finale": "X.X...X.|..X...Xo",
}

STABS = "X..x..x.|..x...x."
STOP_BEATS = (63, 143)
"""Beats of silence before the drop and the finale."""
