"""The kinds of invented keyboard music: tempi, metres, forms and how the hands are set.

What is usual in them is common practice without a source.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Kind:
    """Pieces of one kind. ``bpm`` counts the beat that is felt: half a bar in six eighths."""

    name: str
    bpm: tuple[float, float]
    beats_per_bar: int
    ternary: bool = False
    textures: tuple[str, ...] = ("song", "song", "song", "runs", "chorale")
    accompaniments: tuple[str, ...] = (
        *("broken", "broken", "broken", "repeated", "repeated", "after beat"),
        *("beats", "held", "line", "octaves", "low high"),
    )
    share: float = 1.0
    freedom: float = 1.0
    """How freely its tempo is played, against the rest."""
    ornaments: float = 0.08


SONG = ("song",)
STUDY = ("study", "study", "runs")
VOICES = ("imitation",)
RUN_ON = ("imitation", "study", "runs")
"""Textures whose phrases may go on into each other."""

KINDS = (
    Kind("quick four", (96, 190), 4, share=1.4, freedom=0.7),
    Kind("quick two", (76, 144), 2, share=1.2, freedom=0.7),
    Kind("easy three", (84, 160), 3, share=1.2, freedom=0.8),
    Kind("alla breve", (60, 116), 2, share=1.4, freedom=0.8),
    Kind("walking four", (56, 92), 4, share=1.0, ornaments=0.2),
    Kind("walking two", (50, 84), 2, share=1.0, ornaments=0.2),
    Kind("walking three", (54, 92), 3, share=1.0, ornaments=0.2),
    Kind("slow four", (38, 62), 4, textures=("song", "song", "chorale"), ornaments=0.35),
    Kind("slow three", (38, 64), 3, textures=("song", "song", "chorale"), ornaments=0.35),
    Kind("minuet", (92, 156), 3, textures=SONG, accompaniments=("line", "low high", "beats")),
    Kind("waltz", (110, 208), 3, textures=SONG, accompaniments=("low high",), share=1.6),
    Kind("mazurka", (96, 176), 3, textures=SONG, accompaniments=("low high", "beats"), share=1.4),
    Kind("polonaise", (70, 112), 3, textures=SONG, accompaniments=("polonaise",), share=0.8),
    Kind("scherzo", (150, 216), 3, accompaniments=("repeated", "low high", "beats"), share=0.8),
    Kind("march", (88, 132), 4, textures=SONG, accompaniments=("beats", "low high", "octaves")),
    Kind("hymn", (48, 92), 4, textures=("chorale",), share=0.6),
    Kind("hymn in three", (54, 100), 3, textures=("chorale",), share=0.4),
    Kind("study in four", (66, 168), 4, textures=STUDY, share=1.2, freedom=0.6),
    Kind("study in two", (60, 132), 2, textures=STUDY, freedom=0.6),
    Kind("study in three", (66, 160), 3, textures=STUDY, freedom=0.6),
    Kind("study in triplets", (60, 150), 4, True, STUDY, freedom=0.6),
    Kind("invention", (54, 150), 4, textures=VOICES, share=1.6, freedom=0.5),
    Kind("invention in three", (60, 200), 3, textures=VOICES, share=1.0, freedom=0.5),
    Kind("fugue alla breve", (50, 100), 2, textures=VOICES, share=0.8, freedom=0.5),
    Kind("gigue in six", (76, 150), 2, True, ("imitation", "song", "runs"), share=1.2, freedom=0.5),
    Kind("gigue in twelve", (80, 150), 4, True, ("imitation", "song", "runs"), freedom=0.5),
    Kind("cradle song", (40, 72), 2, True, SONG, ("broken", "low high", "repeated"), share=1.4),
    Kind("night piece", (40, 76), 4, True, SONG, ("broken", "repeated"), ornaments=0.25),
    Kind("nine eighths", (44, 96), 3, True, ("song", "study"), ("broken", "after beat")),
    Kind("presto in six", (110, 190), 2, True, ("song", "runs"), ("repeated", "low high")),
)
FOLLOWS = {0: (3, 4, 5, 1, 3, 4), 1: (4, 4, 6), 2: (5, 3), 3: (4, 0, 1), 4: (0, 0, 5), 5: (3, 1, 4)}
"""Degrees to which a chord goes on."""
FORMS = ("ABA", "AABB", "AABA", "ABACA", "AAB", "ABCA", "ABC", "AABBA")
KEYBOARDS = ((0,), (0,), (0,), (0,), (1,), (1,), (2,), (2,), (6,), (19,))
ENSEMBLES = ((48,), (24,), (46,), (40, 0), (73, 0), (40, 42), (11,), (71, 70))
DOUBLINGS = ("single",) * 5 + ("thirds", "octaves", "chords")
WITHOUT_TOUCH = (6, 19)
