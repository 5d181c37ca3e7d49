"""Styles of invented dance music: tempi, metres, drum patterns and the ways parts are played.

What counts as the beat of a style, and its usual tempi, are common practice without a source.
"""

from dataclasses import dataclass, field

FOUR = (
    "x...x...x...x...",
    "x...x...x...x...",
    "x...x...x...x..o",
    "x...x...x...x...x...x...x...x.?o",
)
BACK = ("....x.......x...", "....x.......x...", "....x.......x..-", "....x..-.-..x...")
OFF = ("..x...x...x...x.", "..x...x...x...x.", "..x...x...x...xx")
HATS = (
    "x.x.x.x.x.x.x.x.",
    "x-x-x-x-x-x-x-x-",
    "-.x.-.x.-.x.-.x.",
    "..x...x...x...x.",
    "x--x--x--x--x-x-",
    "..xx..x...xx..x.",
    "xoxoxxoxxoxoxxox",
)
PERC = (
    "...x..x....x..x.",
    "..x..x....x..x..",
    "x..x..x...x.x...",
    "......x.......x.",
    "...?..?....?..?.",
    ".x....x..x......",
    "x..x..x..x..x..x..x..x..x..x..x.",
)
SHAKE = ("-x-x-x-x-x-x-x-x", "x-x-x-x-x-x-x-x-", "-.x--.x--.x--.x-", "..-x..-x..-x..-x")
BROKEN = (
    "x.....x...x.....",
    "x..x......x.....",
    "x.x.......x..x..",
    "x.........x.....",
    "x..x..x...x.....x..x......x..x..",
    "x.......x.x.......x...x.x.......",
)
HALF_TIME = (
    "x...............",
    "x.....x.........",
    "x..x......x...x.",
    "x.x.......x.....",
    "x...x...........",
    "x.........x.....",
    "x...x.....x...x.",
    "x...........x...",
)
ON_THREE = ("........x.......",)
DEMBOW = ("...x..x....x..x.", "...x..x....x..x.", "...x..x....x..xx")
BEND_NONE = (0.5, 0.5)


@dataclass(frozen=True)
class DanceStyle:
    """A way of making dance music.

    For each drum part there are patterns over one bar or more, of which a song takes one:
    "x" a stroke, "-" a weak one, "o" one that is there in half of the songs, "?" a chance
    stroke, "." none.
    """

    name: str
    bpm: tuple[float, float]
    drums: dict[str, tuple[str, ...]]
    bass: tuple[str, ...]
    chords: tuple[str, ...] = ("riff", "offbeat", "long", "pushed")
    beats_per_bar: int = 4
    parts_per_beat: int = 4
    swing: tuple[float, float] = BEND_NONE
    swung_beats: float = 0.5
    """Span that is bent: half a beat for swung sixteenths, a beat for swung eighths."""
    rolls: bool = False
    """Hats break into faster notes at times."""
    plans: tuple[str, ...] = ("club", "club", "loop")
    bars_per_chord: tuple[float, ...] = (1, 2, 4)
    share: float = 1.0
    tonal: dict[str, float] = field(
        default_factory=lambda: {"bass": 0.95, "chords": 0.7, "arp": 0.5, "lead": 0.6, "pad": 0.5}
    )
    """How likely a song of the style has each part."""


def _floor(
    clap: tuple[str, ...] = BACK, open_hat: tuple[str, ...] = OFF
) -> dict[str, tuple[str, ...]]:
    return {
        "kick": FOUR,
        "clap": clap,
        "open": open_hat,
        "hats": HATS,
        "shaker": SHAKE,
        "perc": PERC,
    }


_SPARSE = {"bass": 0.9, "chords": 0.55, "arp": 0.35, "lead": 0.3, "pad": 0.45}
_RICH = {"bass": 0.95, "chords": 0.75, "arp": 0.75, "lead": 0.85, "pad": 0.7}

DANCE_STYLES = (
    DanceStyle("house", (118, 130), _floor(), ("offbeat", "riff", "eighths", "house"), share=2),
    DanceStyle(
        "deep house",
        (114, 124),
        _floor(),
        ("riff", "house", "long", "offbeat"),
        ("pushed", "long", "riff"),
        swing=(0.5, 0.58),
    ),
    DanceStyle(
        "techno",
        (122, 148),
        _floor(("....x.......x...", "............x...", "....x..x....x...")),
        ("offbeat", "rolling", "sixteenths", "acid", "riff"),
        ("riff", "offbeat", "dotted"),
        bars_per_chord=(4, 8),
        share=2,
        tonal=_SPARSE,
    ),
    DanceStyle(
        "minimal",
        (118, 128),
        _floor(("....x.......x...", "............x...")),
        ("riff", "offbeat", "house"),
        ("riff", "dotted"),
        swing=(0.5, 0.57),
        plans=("loop",),
        bars_per_chord=(4, 8),
        tonal=_SPARSE,
    ),
    DanceStyle(
        "trance",
        (128, 145),
        _floor(),
        ("offbeat", "offbeat", "rolling", "sixteenths"),
        ("long", "riff", "offbeat", "dotted"),
        tonal=_RICH,
        share=2,
    ),
    DanceStyle(
        "psy",
        (136, 150),
        _floor(("....x.......x...", "............x...")),
        ("rolling", "rolling", "sixteenths"),
        ("riff", "dotted", "long"),
        bars_per_chord=(4, 8),
        tonal={**_SPARSE, "arp": 0.7, "lead": 0.6},
    ),
    DanceStyle(
        "hard",
        (145, 190),
        {"kick": FOUR, "clap": BACK, "open": OFF, "hats": HATS[:4]},
        ("offbeat", "offbeat", "rolling"),
        ("long", "riff", "quarters"),
        tonal=_RICH,
    ),
    DanceStyle(
        "eurodance",
        (128, 150),
        _floor(),
        ("offbeat", "octaves", "riff", "eighths"),
        ("riff", "offbeat", "pushed", "quarters"),
        plans=("song", "club"),
        tonal=_RICH,
        share=1.5,
    ),
    DanceStyle(
        "disco",
        (108, 128),
        _floor(),
        ("octaves", "eighths", "walk", "riff"),
        ("offbeat", "riff", "pushed"),
        plans=("song", "loop"),
    ),
    DanceStyle(
        "big room",
        (124, 132),
        {"kick": FOUR, "clap": BACK, "hats": HATS, "perc": PERC, "open": OFF},
        ("follow", "riff", "sixteenths"),
        ("riff", "pushed", "dotted"),
        tonal=_RICH,
        share=1.5,
    ),
    DanceStyle(
        "electro",
        (112, 134),
        {
            "kick": (
                "x.....x...x.....",
                "x..x......x.....",
                "x.....x..x......",
                "..x...x.x....x..",
            ),
            "clap": BACK,
            "hats": HATS,
            "perc": PERC,
            "open": ("......x.......x.", "..x...........x."),
        },
        ("riff", "acid", "eighths", "sixteenths", "octaves"),
    ),
    DanceStyle(
        "breakbeat",
        (112, 142),
        {
            "kick": BROKEN,
            "clap": ("....x.......x...", "....x..-.-..x..-", "....x..-....x.-."),
            "hats": HATS,
            "shaker": SHAKE,
            "perc": PERC,
        },
        ("riff", "acid", "long", "follow"),
        swing=(0.5, 0.58),
        share=1.3,
    ),
    DanceStyle(
        "drum and bass",
        (164, 180),
        {
            "kick": (
                "x.........x.....",
                "x.........x.....",
                "x.x.......x.....",
                "x.........x...x.x.x.......x.....",
                "x.........x.......x.......x.....",
            ),
            "clap": ("....x.......x...", "....x..-.-..x...", "....x.......x..-"),
            "hats": HATS[:5],
            "shaker": SHAKE,
            "perc": PERC,
        },
        ("long", "riff", "follow", "wobble"),
        ("long", "pushed", "riff"),
        bars_per_chord=(2, 4),
        share=2,
    ),
    DanceStyle(
        "dubstep",
        (136, 150),
        {"kick": HALF_TIME, "clap": ON_THREE, "hats": HATS, "perc": PERC, "shaker": SHAKE},
        ("wobble", "follow", "riff", "long"),
        ("long", "pushed", "riff"),
        share=1.3,
    ),
    DanceStyle(
        "trap",
        (128, 152),
        {
            "kick": (*HALF_TIME, "x.....x...x.x..."),
            "clap": ON_THREE,
            "hats": ("x.x.x.x.x.x.x.x.", "xxxxxxxxxxxxxxxx", "x.x.x.xxx.x.x.x."),
            "open": ("..............x.", "......x........."),
            "perc": PERC,
        },
        ("follow", "long"),
        ("long", "riff", "quarters"),
        rolls=True,
        plans=("song", "loop"),
        share=1.3,
    ),
    DanceStyle(
        "future bass",
        (138, 162),
        {"kick": HALF_TIME, "clap": ON_THREE, "hats": HATS, "perc": PERC, "open": OFF},
        ("follow", "long", "riff"),
        ("riff", "pushed", "tresillo"),
        rolls=True,
        tonal=_RICH,
    ),
    DanceStyle(
        "footwork",
        (154, 164),
        {
            "kick": ("x..x..x.x..x..x.", "x..x..x.....x...", "x..x..x..x..x..x..x..x..x.x.x.x."),
            "clap": ("............x...", "........x.......", "....x.......x..."),
            "hats": HATS,
            "perc": PERC,
        },
        ("tresillo", "follow", "long"),
        plans=("loop",),
        share=0.6,
    ),
    DanceStyle(
        "hip-hop",
        (74, 100),
        {
            "kick": ("x......x..x.....", "x.x.......x.....", "x.....x.x.......", *BROKEN),
            "clap": ("....x.......x...",),
            "hats": HATS,
            "perc": PERC,
            "shaker": SHAKE,
        },
        ("follow", "riff", "long"),
        ("long", "riff", "pushed", "quarters"),
        swing=(0.5, 0.64),
        plans=("song", "loop"),
        share=1.3,
    ),
    DanceStyle(
        "lo-fi",
        (68, 92),
        {
            "kick": ("x......x..x.....", "x.........x.....", "x..x......x....."),
            "clap": ("....x.......x...",),
            "hats": ("x.x.x.x.x.x.x.x.", "x-x-x-x-x-x-x-x-"),
            "shaker": SHAKE,
        },
        ("long", "riff", "walk"),
        ("long", "pushed", "riff"),
        swing=(0.53, 0.66),
        plans=("loop", "song"),
    ),
    DanceStyle(
        "downtempo",
        (66, 112),
        {"kick": (*BROKEN, *FOUR), "clap": BACK, "hats": HATS, "shaker": SHAKE, "perc": PERC},
        ("long", "riff", "eighths", "house"),
        swing=(0.5, 0.6),
        plans=("loop", "song"),
        share=1.3,
    ),
    DanceStyle(
        "synth pop",
        (96, 136),
        {
            "kick": ("x.......x.......", "x.....x.x.......", *FOUR),
            "clap": ("....x.......x...",),
            "hats": HATS[:4],
            "perc": PERC,
        },
        ("eighths", "octaves", "sixteenths", "riff"),
        ("long", "quarters", "riff", "pushed"),
        plans=("song",),
        tonal=_RICH,
        share=2,
    ),
    DanceStyle(
        "synth drive",
        (78, 120),
        {"kick": (*FOUR, "x.......x......."), "clap": ("....x.......x...",), "hats": HATS[:2]},
        ("sixteenths", "eighths", "octaves"),
        ("long", "pushed"),
        plans=("song", "loop"),
        tonal=_RICH,
    ),
    DanceStyle(
        "chiptune",
        (108, 180),
        {
            "kick": ("x...x...x...x...", "x.......x.......", "x.....x.x....x..", *BROKEN[:2]),
            "clap": BACK,
            "hats": HATS,
        },
        ("eighths", "octaves", "riff", "beats"),
        ("arpeggiated", "riff", "quarters"),
        plans=("song", "loop"),
        tonal={**_RICH, "pad": 0.2},
        share=1.5,
    ),
    DanceStyle(
        "tracker",
        (104, 165),
        {"kick": (*FOUR, *BROKEN), "clap": BACK, "hats": HATS, "perc": PERC, "open": OFF},
        ("riff", "octaves", "eighths", "offbeat", "sixteenths"),
        ("arpeggiated", "long", "riff", "offbeat"),
        plans=("loop", "song"),
        tonal=_RICH,
        share=1.5,
    ),
    DanceStyle(
        "swung game",
        (100, 150),
        {
            "kick": ("x...x...x...x...", "x.......x......."),
            "clap": BACK[:2],
            "hats": ("x.x.x.x.x.x.x.x.", "x...x.x.x...x.x."),
        },
        ("walk", "beats", "eighths"),
        ("offbeat", "riff"),
        swing=(0.6, 0.68),
        swung_beats=1.0,
        plans=("song",),
        tonal=_RICH,
        share=0.7,
    ),
    DanceStyle(
        "ambient",
        (60, 112),
        {"kick": ("x.......x.......", "x...............", *FOUR), "hats": SHAKE, "perc": PERC},
        ("long", "beats"),
        ("long", "long", "pushed", "dotted"),
        plans=("loop",),
        tonal={"bass": 0.7, "chords": 0.6, "arp": 0.8, "lead": 0.5, "pad": 0.95},
    ),
    DanceStyle(
        "dembow",
        (84, 106),
        {
            "kick": ("x...x...x...x...", "x.......x.......", "x...x...x...x..."),
            "clap": DEMBOW,
            "hats": HATS,
            "shaker": SHAKE,
            "perc": PERC,
        },
        ("tresillo", "follow", "long"),
        ("tresillo", "riff", "offbeat", "long"),
        plans=("song", "loop"),
        share=1.6,
    ),
    DanceStyle(
        "moombahton",
        (106, 114),
        {"kick": FOUR, "clap": DEMBOW, "hats": HATS, "perc": PERC, "shaker": SHAKE},
        ("tresillo", "riff", "follow"),
        ("tresillo", "riff", "pushed"),
        share=0.8,
    ),
    DanceStyle(
        "garage",
        (126, 138),
        {
            "kick": ("x.........x.....", "x......x..x.....", "x.....x...x..x..", *FOUR[:1]),
            "clap": ("....x.......x...",),
            "hats": ("..x...x...x...x.", "x-xx-.x-x-x.-xx-"),
            "shaker": SHAKE,
            "perc": PERC,
        },
        ("riff", "house", "follow"),
        ("riff", "offbeat", "pushed"),
        swing=(0.54, 0.64),
        share=1.3,
    ),
    DanceStyle(
        "waltz",
        (84, 170),
        {
            "kick": ("x...........", "x...x...x...", "x.........x."),
            "clap": ("....x...x...", "........x...", "....x......."),
            "hats": ("x.x.x.x.x.x.", "x...x...x...", "..x...x...x."),
        },
        ("beats", "long", "riff", "offbeat"),
        ("afterbeats", "long", "riff"),
        beats_per_bar=3,
        plans=("song", "loop"),
        tonal=_RICH,
        share=1.2,
    ),
    DanceStyle(
        "six-eight",
        (60, 92),
        {
            "kick": ("x.....", "x..x..", "x....x"),
            "clap": ("...x..", "...x.."),
            "hats": ("xxxxxx", "x.xx.x", "x--x--"),
        },
        ("long", "riff", "beats"),
        ("long", "riff", "quarters"),
        beats_per_bar=2,
        parts_per_beat=3,
        plans=("song", "loop"),
        tonal=_RICH,
        share=0.8,
    ),
    DanceStyle(
        "twelve-eight",
        (60, 140),
        {
            "kick": ("x.....x.....", "x..x..x..x..", "x....xx....."),
            "clap": ("...x.....x..",),
            "hats": ("xxxxxxxxxxxx", "x.xx.xx.xx.x", "x--x--x--x--"),
        },
        ("long", "riff", "beats"),
        ("long", "riff", "quarters"),
        parts_per_beat=3,
        plans=("song", "loop"),
        share=0.8,
    ),
)
