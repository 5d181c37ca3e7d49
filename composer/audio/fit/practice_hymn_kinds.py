"""The metres, forms and instruments of invented hymns, minuets and slow movements.

What is usual in them is common practice without a source.
"""

from dataclasses import dataclass

Bar = tuple[int, ...]
"""The pulses of a bar on which chords come."""


@dataclass(frozen=True)
class Metre:
    """A metre; ``pulses`` a beat are the steps its chords go in. ``bpm`` counts its beats."""

    name: str
    bpm: tuple[float, float]
    beats: int
    pulses: int
    strengths: tuple[int, ...]
    bars: tuple[Bar, ...]
    """From the most usual to the rarest."""
    pickups: dict[int, float]
    """Pulses before the downbeat, with how often each comes."""
    closes: dict[int, float]
    """Where in its bar the last chord of a phrase comes."""
    share: float = 1.0

    @property
    def bar_pulses(self) -> int:
        return self.beats * self.pulses


FOURS = ((0, 1, 2, 3), (0, 2), (0, 2, 3), (0, 1, 2), (0,), (0, 3))
THREES = ((0, 1, 2), (0, 2), (0,), (0, 1))
SIXES = ((0, 2, 3, 5), (0, 3), (0, 2, 3), (0, 3, 5), (0, 3, 4, 5))
BY_ONE = {0: 0.40, 1: 0.50, 2: 0.10}
METRES = (
    Metre("four", (54, 132), 4, 1, (3, 1, 2, 1), FOURS, BY_ONE | {3: 0.03}, {0: 6, 2: 4}, 3.0),
    Metre("three", (58, 140), 3, 1, (3, 1, 1), THREES, BY_ONE, {0: 1}, 3.0),
    Metre("alla breve", (40, 84), 2, 2, (3, 1, 2, 1), FOURS, BY_ONE, {0: 6, 2: 4}, 1.2),
    Metre("three halves", (44, 92), 3, 1, (3, 1, 1), THREES, BY_ONE, {0: 1}, 0.6),
    Metre(
        "six quarters",
        (36, 58),
        2,
        3,
        (3, 0, 1, 2, 0, 1),
        SIXES,
        {0: 4, 1: 5, 3: 1},
        {0: 5, 3: 5},
        0.5,
    ),
    Metre(
        "six eighths",
        (42, 80),
        2,
        3,
        (3, 0, 1, 2, 0, 1),
        SIXES,
        {0: 4, 1: 5, 3: 1},
        {0: 5, 3: 5},
        0.9,
    ),
)
FORMS = ("ABCD", "ABCD", "AABC", "AABA", "ABAB", "ABABCDE", "ABABCDB", "ABCDEF", "ABAC", "AB")
GROUPS: tuple[tuple[int, int, int, int], ...] = (
    *((52, 52, 52, 52), (19, 19, 19, 19), (19, 19, 19, 19), (20, 20, 20, 20), (16, 16, 16, 16)),
    *((53, 0, 0, 53), (48, 48, 48, 48), (42, 41, 40, 40), (42, 41, 40, 40), (58, 57, 60, 56)),
    *((57, 57, 56, 56), (61, 61, 61, 61), (70, 71, 69, 68), (70, 60, 71, 73), (67, 66, 65, 64)),
    *((0, 0, 0, 0), (0, 0, 0, 0), (0, 0, 0, 0), (6, 6, 6, 6), (74, 74, 74, 74)),
    *((73, 73, 73, 73), (21, 21, 21, 21), (19, 19, 19, 56), (48, 48, 48, 73), (0, 0, 0, 52)),
)
"""Programs of bass, tenor, alto, soprano."""
ANY = (0, 6, 19, 21, 24, 40, 41, 42, 46, 48, 52, 56, 57, 58, 60, 64, 68, 70, 71, 73, 74, 75)
SLOW = (48, 49, 52, 53)
"""Programs that speak slowly."""

DANCE_FOURS = ((0,), (0, 2), (0, 2, 3))
DANCE_THREES = ((0,), (0, 2), (0, 1, 2))
MINUET_METRES = (
    Metre("minuet", (84, 150), 3, 1, (3, 1, 1), DANCE_THREES, BY_ONE, {0: 1}, 2.0),
    Metre("laendler", (96, 168), 3, 1, (3, 1, 1), ((0,), (0,)), BY_ONE, {0: 1}),
    Metre("slow three", (46, 84), 3, 1, (3, 1, 1), DANCE_THREES, BY_ONE, {0: 1}, 1.4),
    Metre("slow two", (40, 74), 2, 2, (3, 1, 2, 1), DANCE_FOURS, BY_ONE, {0: 1}, 1.2),
    Metre("easy two", (60, 110), 2, 2, (3, 1, 2, 1), DANCE_FOURS, BY_ONE, {0: 1}, 0.8),
    Metre("slow four", (48, 84), 4, 1, (3, 1, 2, 1), DANCE_FOURS, BY_ONE, {0: 3, 2: 1}, 0.8),
)
MINUET_FORMS = ("ABABCDCD", "ABABCBCB", "AABA", "AABB", "ABACAB", "ABCD", "ABABCDCDAB")
MINUET_GROUPS: tuple[tuple[int, int, int, int], ...] = (
    *((42, 41, 40, 40), (42, 41, 40, 40), (42, 41, 40, 40), (48, 48, 48, 48), (48, 48, 48, 40)),
    *((0, 0, 0, 0), (0, 0, 0, 0), (6, 6, 6, 6), (42, 41, 40, 73), (42, 41, 40, 68)),
    *((70, 60, 71, 73), (70, 71, 71, 68), (42, 0, 0, 40), (32, 45, 45, 40), (24, 24, 24, 73)),
    *((21, 21, 21, 21), (43, 60, 60, 71), (6, 6, 6, 74)),
)
