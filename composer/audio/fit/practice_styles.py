"""Styles of invented band music: tempi, metres, drum patterns and what goes with them.

What counts as the beat of a style, and its usual tempi, are common practice without a source.
"""

from dataclasses import dataclass, field
from typing import Literal

KICK, RIM, SNARE, CLAP, CLOSED, OPEN = 36, 37, 38, 39, 42, 46
CRASH, RIDE, SHAKER, LOW_TOM, TOM, HIGH_TOM = 49, 51, 70, 43, 45, 47

Accompaniment = Literal[
    "arpeggio",
    "blocks",
    "figure",
    "gallop",
    "offbeat",
    "oompah",
    "pad",
    "power",
    "pushed",
    "riff",
    "stabs",
    "strum",
    "voices",
]


@dataclass(frozen=True)
class Style:
    """A way of playing: tempo, metre, drum patterns and what goes with them.

    Patterns run over one bar (or two): "x" a stroke, "o" one that is there in half the songs,
    "?" a chance stroke, "." none.
    """

    name: str
    bpm: tuple[float, float]
    beats_per_bar: int = 4
    parts_per_beat: int = 4
    drums: dict[int, str] = field(default_factory=dict)
    accompaniments: tuple[Accompaniment, ...] = ("blocks", "arpeggio", "pad")
    bass: tuple[str, ...] = ("beats", "long", "eighths")
    swing: tuple[float, float] = (0.5, 0.5)
    share: float = 1.0
    bars_per_chord: tuple[float, ...] = (1, 1, 2, 0.5)


STYLES = (
    Style(
        "house",
        (116, 132),
        drums={
            KICK: "x...x...x...x...",
            CLAP: "....x.......x...",
            CLOSED: "..x...x...x...x.",
            SHAKER: "oooooooooooooooo",
        },
        accompaniments=("stabs", "pad", "offbeat"),
        bass=("offbeat", "riff", "eighths"),
        share=1.6,
        bars_per_chord=(1, 2, 4),
    ),
    Style(
        "techno",
        (124, 146),
        drums={
            KICK: "x...x...x...x...",
            OPEN: "..x...x...x...x.",
            CLOSED: "xoxoxoxoxoxoxoxo",
            RIM: "...?..?....?..?.",
        },
        accompaniments=("riff", "pad"),
        bass=("offbeat", "sixteenths"),
        share=1.3,
        bars_per_chord=(2, 4),
    ),
    Style(
        "trance",
        (130, 145),
        drums={KICK: "x...x...x...x...", CLAP: "....o.......o...", OPEN: "..x...x...x...x."},
        accompaniments=("arpeggio", "pad", "riff"),
        bass=("offbeat", "sixteenths"),
        share=1.3,
    ),
    Style(
        "disco",
        (108, 128),
        drums={
            KICK: "x...x...x...x...",
            SNARE: "....x.......x...",
            CLOSED: "x.x.x.x.x.x.x.x.",
            OPEN: "..o...o...o...o.",
        },
        accompaniments=("strum", "stabs", "pad"),
        bass=("octaves", "eighths"),
    ),
    Style(
        "rock",
        (92, 152),
        drums={KICK: "x.....o.x.x.....", SNARE: "....x.......x...", CLOSED: "x.x.x.x.x.x.x.x."},
        accompaniments=("strum", "riff", "blocks"),
        bass=("eighths", "beats"),
        share=2.0,
    ),
    Style(
        "straight rock",
        (80, 140),
        drums={KICK: "x.......x.......", SNARE: "....x.......x...", RIDE: "x.x.x.x.x.x.x.x."},
        accompaniments=("strum", "blocks", "arpeggio"),
        share=1.2,
    ),
    Style(
        "fast rock",
        (150, 200),
        drums={KICK: "x...o...x.o.....", SNARE: "....x.......x...", CLOSED: "x.o.x.o.x.o.x.o."},
        accompaniments=("strum", "riff"),
        bass=("eighths",),
        share=2.0,
    ),
    Style(
        "double kick",
        (150, 200),
        drums={KICK: "x.x.x.x.x.x.x.x.", SNARE: "....x.......x...", RIDE: "x...x...x...x..."},
        accompaniments=("riff", "strum"),
        bass=("eighths",),
        share=1.2,
    ),
    Style(
        "drum and bass",
        (160, 180),
        drums={
            KICK: "x.........x.....",
            SNARE: "....x.......x...",
            CLOSED: "x.x.x.x.x.x.x.x.",
            RIM: ".......?.?....?.",
        },
        accompaniments=("pad", "arpeggio"),
        bass=("long", "syncopated"),
        share=1.6,
        bars_per_chord=(2, 4),
    ),
    Style(
        "break",
        (100, 140),
        drums={KICK: "x.x.......xo....", SNARE: "....x..o.o..x..o", CLOSED: "x.x.x.x.x.x.x.x."},
        accompaniments=("pad", "stabs"),
        bass=("syncopated", "beats"),
        share=1.4,
    ),
    Style(
        "boom bap",
        (78, 100),
        drums={KICK: "x..o..o.x.xo....", SNARE: "....x.......x...", CLOSED: "x.x.x.x.x.x.x.x."},
        accompaniments=("stabs", "pad", "arpeggio"),
        bass=("syncopated", "beats"),
        swing=(0.5, 0.66),
        share=1.4,
    ),
    Style(
        "slow groove",
        (62, 84),
        drums={KICK: "x.....o.x.x.....", SNARE: "....x.......x...", CLOSED: "x.xox.x.x.x.x.xo"},
        accompaniments=("pad", "arpeggio", "blocks"),
        bass=("beats", "long", "syncopated"),
        swing=(0.5, 0.6),
        share=1.4,
    ),
    Style(
        "dembow",
        (86, 106),
        drums={KICK: "x...x...x...x...", SNARE: "...x..x....x..x.", CLOSED: "x.o.x.o.x.o.x.o."},
        accompaniments=("stabs", "offbeat"),
        bass=("beats", "syncopated"),
    ),
    Style(
        "fast dembow",
        (168, 190),
        drums={KICK: "x.......x.......", SNARE: "......x.....x...", CLOSED: "x...x...x...x..."},
        accompaniments=("stabs", "offbeat"),
        bass=("beats",),
        share=0.4,
    ),
    Style(
        "funk",
        (94, 120),
        drums={KICK: "x.o...x...x..o..", SNARE: "....x..o.o..x..o", CLOSED: "xxxxxxxxxxxxxxxx"},
        accompaniments=("stabs", "riff"),
        bass=("syncopated", "riff"),
    ),
    Style(
        "one drop",
        (66, 88),
        drums={KICK: "........x.......", RIM: "........x.......", CLOSED: "x.x.x.x.x.x.x.x."},
        accompaniments=("offbeat",),
        bass=("syncopated", "beats"),
        swing=(0.5, 0.6),
        share=0.6,
    ),
    Style(
        "shuffle",
        (84, 140),
        parts_per_beat=3,
        drums={KICK: "x.....x.o...", SNARE: "...x.....x..", RIDE: "x.xx.xx.xx.x"},
        accompaniments=("blocks", "riff", "strum"),
        bass=("beats", "walk"),
    ),
    Style(
        "swing",
        (120, 200),
        parts_per_beat=3,
        drums={RIDE: "x..x.xx..x.x", CLOSED: "...x.....x..", KICK: "o..o..o..o.."},
        accompaniments=("stabs", "blocks"),
        bass=("walk",),
    ),
    Style(
        "slow six",
        (46, 76),
        beats_per_bar=2,
        parts_per_beat=3,
        drums={KICK: "x...o.", SNARE: "...x..", CLOSED: "xxxxxx"},
        accompaniments=("arpeggio", "blocks"),
        share=0.8,
    ),
    Style(
        "slow twelve",
        (56, 84),
        parts_per_beat=3,
        drums={KICK: "x.....x.o...", SNARE: "...x.....x..", CLOSED: "xxxxxxxxxxxx"},
        accompaniments=("arpeggio", "blocks", "pad"),
    ),
    Style(
        "waltz",
        (84, 190),
        beats_per_bar=3,
        drums={KICK: "x...........", SNARE: "....x...x...", CLOSED: "o.o.o.o.o.o."},
        accompaniments=("oompah", "arpeggio", "blocks"),
        bass=("long", "beats"),
        share=1.8,
    ),
    Style(
        "slow three",
        (66, 110),
        beats_per_bar=3,
        drums={KICK: "x.......o...", SNARE: "....o...x...", CLOSED: "x.x.x.x.x.x."},
        accompaniments=("arpeggio", "pad", "blocks"),
        share=0.8,
    ),
    Style(
        "five",
        (110, 180),
        beats_per_bar=5,
        drums={
            KICK: "x...........x.......",
            SNARE: "........x.......x...",
            RIDE: "x.x.x.x.x.x.x.x.x.x.",
        },
        accompaniments=("riff", "blocks"),
        share=0.6,
    ),
    Style(
        "seven",
        (180, 250),
        beats_per_bar=7,
        parts_per_beat=2,
        drums={KICK: "x.......x...o.", SNARE: "....x.......x.", CLOSED: "xoxoxoxoxoxoxo"},
        accompaniments=("riff", "blocks"),
        share=0.4,
    ),
    Style(
        "march",
        (100, 128),
        beats_per_bar=2,
        drums={KICK: "x.......", SNARE: "..x.x.xo"},
        accompaniments=("oompah",),
        bass=("beats",),
        share=0.8,
    ),
    Style(
        "quick two",
        (100, 140),
        beats_per_bar=2,
        drums={KICK: "x...x...", SNARE: "..x...x."},
        accompaniments=("oompah",),
        bass=("beats",),
        share=0.6,
    ),
    Style(
        "half-time",
        (132, 152),
        drums={KICK: "x.?.o.o...o.?.o.", SNARE: "........x.......", CLOSED: "x.o.x.o.x.o.x.o."},
        accompaniments=("pad", "riff", "arpeggio", "stabs"),
        bass=("long", "syncopated", "eighths"),
        share=3.0,
        bars_per_chord=(1, 2),
    ),
    Style(
        "half-time roll",
        (130, 150),
        drums={KICK: "x.....x...x..o..", CLAP: "........x.......", CLOSED: "x.x.x.xxx.x.xoxo"},
        accompaniments=("pad", "arpeggio", "stabs"),
        bass=("long", "syncopated"),
        share=1.2,
    ),
    Style(
        "hard four",
        (145, 162),
        drums={KICK: "x...x...x...x...", CLAP: "....o.......o...", OPEN: "..o...o...o...o."},
        accompaniments=("riff", "arpeggio", "pad", "stabs"),
        bass=("offbeat", "eighths"),
        share=1.2,
        bars_per_chord=(1, 2),
    ),
    Style(
        "two step",
        (126, 138),
        drums={
            KICK: "x.........x.....",
            SNARE: "....x.......x...",
            CLOSED: "..x.o.x...x.o.xo",
            RIM: ".......?.?...?..",
        },
        accompaniments=("stabs", "pad"),
        bass=("syncopated", "offbeat"),
        swing=(0.5, 0.62),
        share=1.2,
    ),
    Style(
        "electro",
        (112, 135),
        drums={KICK: "x.....x...x.....", CLAP: "....x.......x...", CLOSED: "x.xxx.xxx.xxx.xx"},
        accompaniments=("riff", "stabs", "arpeggio"),
        bass=("syncopated", "eighths", "riff"),
        share=1.2,
    ),
    Style(
        "fast break",
        (164, 182),
        drums={
            KICK: "x.x.......xx....x.x.......x.....",
            SNARE: "....x..o.o..x..o....x..o.o....x.",
            RIDE: "x.x.x.x.x.x.x.x.x.x.x.x.x.x.x.x.",
        },
        accompaniments=("pad", "arpeggio", "stabs"),
        bass=("long", "syncopated"),
        share=1.4,
        bars_per_chord=(2, 4),
    ),
    Style(
        "half step",
        (164, 178),
        drums={KICK: "x.....o.........", SNARE: "........x.......", CLOSED: "x.o.x.o.x.o.x.oo"},
        accompaniments=("pad", "riff"),
        bass=("long", "syncopated"),
        share=0.8,
        bars_per_chord=(2, 4),
    ),
    Style(
        "quick machine",
        (120, 180),
        drums={KICK: "x...o...x...o...", SNARE: "....x.......x...", CLOSED: "x.x.x.x.x.x.x.x."},
        accompaniments=("arpeggio", "riff"),
        bass=("octaves", "eighths", "riff"),
        share=1.6,
    ),
    Style(
        "driven eighths",
        (120, 190),
        drums={KICK: "x.....x.x.......", SNARE: "....x.......x...", CLOSED: "x.x.x.x.x.x.x.x."},
        accompaniments=("power", "strum"),
        bass=("eighths",),
        share=2.0,
    ),
    Style(
        "driven gallop",
        (110, 175),
        drums={KICK: "x.xxx.xxx.xxx.xx", SNARE: "....x.......x...", RIDE: "x...x...x...x..."},
        accompaniments=("gallop", "power"),
        bass=("riff", "eighths"),
        share=1.2,
    ),
    Style(
        "driven half-time",
        (120, 180),
        drums={KICK: "x...o.x...o.....", SNARE: "........x.......", RIDE: "x...x...x...x..."},
        accompaniments=("power", "riff"),
        bass=("eighths", "syncopated"),
        share=1.0,
    ),
    Style(
        "skank",
        (160, 210),
        drums={KICK: "x.......x.......", SNARE: "....x.......x...", CLOSED: "x...x...x...x..."},
        accompaniments=("power", "strum"),
        bass=("eighths",),
        share=1.0,
    ),
    Style(
        "driven six",
        (52, 84),
        beats_per_bar=4,
        parts_per_beat=3,
        drums={KICK: "x..o..o.....", SNARE: "...x.....x..", RIDE: "xxxxxxxxxxxx"},
        accompaniments=("power", "arpeggio"),
        share=0.6,
    ),
    Style(
        "piano ballad",
        (56, 84),
        accompaniments=("figure", "pushed", "arpeggio", "blocks"),
        bass=("long", "beats", "dotted"),
        share=9.0,
    ),
    Style(
        "piano song",
        (80, 136),
        accompaniments=("figure", "pushed", "strum", "blocks"),
        bass=("long", "beats", "eighths", "dotted"),
        share=5.0,
    ),
    Style(
        "soft drums ballad",
        (58, 84),
        drums={KICK: "x.......x.o.....", RIM: "....x.......x...", CLOSED: "x.x.x.x.x.x.x.x."},
        accompaniments=("figure", "pushed", "arpeggio", "pad"),
        bass=("long", "dotted", "beats"),
        share=3.0,
    ),
    Style(
        "ballad",
        (58, 84),
        accompaniments=("arpeggio", "blocks", "pad"),
        bass=("long", "beats"),
        share=4.0,
    ),
    Style(
        "medium ballad",
        (84, 112),
        accompaniments=("arpeggio", "blocks", "strum"),
        bass=("long", "beats", "eighths"),
        share=2.4,
    ),
    Style(
        "lively song",
        (108, 134),
        accompaniments=("strum", "blocks", "arpeggio", "oompah"),
        bass=("beats", "eighths"),
        share=2.0,
    ),
    Style(
        "hymn",
        (66, 110),
        accompaniments=("blocks",),
        bass=("beats",),
        share=1.4,
        bars_per_chord=(0.25, 0.5),
    ),
    Style(
        "hymn in three",
        (66, 120),
        beats_per_bar=3,
        accompaniments=("blocks",),
        bass=("beats",),
        share=0.8,
        bars_per_chord=(1 / 3, 1),
    ),
)

PIANOS, LEADS = (0, 1, 2, 4, 5), (0, 11, 24, 40, 56, 65, 71, 73, 74, 80, 81, 82, 52, 22)
DRIVEN = (29, 30, 30, 27)
KITS = (0, 0, 8, 16, 24, 25, 25, 26, 32, 40)
"""Programs of the drum channel: room, power, electronic, machine, jazz and brush kits."""
PADS, PLUCKS, BASSES = (
    (48, 50, 52, 88, 89, 91, 16, 19),
    (24, 25, 27, 28, 26, 46, 104),
    (32, 33, 34, 38, 39, 87),
)
PROGRESSIONS = (
    (0, 4, 5, 3),
    (5, 3, 0, 4),
    (0, 5, 3, 4),
    (0, 3, 4, 3),
    (5, 4, 3, 4),
    (0, 2, 3, 4),
    (0, 0, 3, 4),
    (1, 4, 0, 5),
    (0, 4, 1, 3),
    (5, 5, 3, 4),
    (0, 3, 0, 4),
)
MAJOR, MINOR = (0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 10)
