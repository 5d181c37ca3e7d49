"""The kinds of invented tunes: tempi, metres, what fills their beats and how bars are grouped."""

from dataclasses import dataclass

Cell = tuple[float, ...]
"""Note lengths that fill one beat (or two)."""


@dataclass(frozen=True)
class Family:
    """Tunes of one kind. ``cells`` come from the most usual to the rarest.

    A bar that is grouped unevenly tells of its groups, in beats, in every way that is usual; with
    no cells, each group is filled as one (``GROUP_CELLS``).
    """

    name: str
    bpm: tuple[float, float]
    beats_per_bar: int
    cells: tuple[Cell, ...]
    share: float = 1.0
    voices: bool = False
    swing: tuple[float, float] = (0.5, 0.5)
    groups: tuple[tuple[float, ...], ...] = ()

    @property
    def ternary(self) -> bool:
        return self.cells in (JIG, LILT)


T = 1 / 3
EVEN: tuple[Cell, ...] = ((0.5, 0.5), (1.0,), (0.75, 0.25), (0.25,) * 4, (0.5, 0.25, 0.25))
QUICK: tuple[Cell, ...] = ((0.25,) * 4, (0.5, 0.25, 0.25), (0.5, 0.5), (0.25, 0.25, 0.5), (1.0,))
BROAD: tuple[Cell, ...] = ((1.0,), (0.5, 0.5), (1.5, 0.5), (2.0,), (0.75, 0.25))
RUNNING: tuple[Cell, ...] = ((0.5, 0.5), (0.5, 0.5), (1.0,), (T, T, T))
DOTTED: tuple[Cell, ...] = ((0.75, 0.25), (0.5, 0.5), (1.0,), (0.25, 0.75))
JIG: tuple[Cell, ...] = ((T, T, T), (2 * T, T), (1.0,), (T, 2 * T), (0.5, 0.5 * T, T))
LILT: tuple[Cell, ...] = ((2 * T, T), (1.0,), (T, T, T), (0.5, 0.5 * T, T))

FAMILIES = (
    Family("quick two", (84, 132), 2, QUICK, 1.6),
    Family("two", (84, 132), 2, EVEN, 1.2),
    Family("slow two", (54, 84), 2, QUICK, 0.6),
    Family("three", (90, 176), 3, EVEN, 1.6),
    Family("broad three", (100, 190), 3, BROAD, 1.0),
    Family("slow three", (54, 96), 3, EVEN, 0.8),
    Family("running four", (150, 214), 4, RUNNING, 1.8),
    Family("dotted four", (130, 190), 4, RUNNING, 0.6, swing=(0.56, 0.66)),
    Family("march in four", (88, 126), 4, DOTTED, 0.8),
    Family("air in four", (60, 120), 4, EVEN, 1.6),
    Family("slow air", (54, 84), 4, QUICK, 1.0),
    Family("six", (66, 132), 2, JIG, 2.4),
    Family("slow six", (52, 74), 2, LILT, 0.8),
    Family("nine", (66, 132), 3, JIG, 1.4),
    Family("twelve", (66, 132), 4, JIG, 1.2),
    Family("five", (90, 210), 5, EVEN, 0.8, groups=((3, 2), (2, 3))),
    Family("seven", (90, 210), 7, EVEN, 0.5, groups=((4, 3), (3, 4), (2, 2, 3))),
    Family("quick five", (160, 320), 5, (), 0.5, groups=((2, 3), (3, 2))),
    Family("quick seven", (160, 320), 7, (), 0.8, groups=((2, 2, 3), (3, 2, 2), (2, 3, 2))),
    Family("quick nine", (200, 330), 9, (), 0.2, groups=((2, 2, 2, 3), (2, 3, 2, 2))),
    Family("three, three and two", (96, 170), 4, (), 0.5, groups=((1.5, 1.5, 1), (1, 1.5, 1.5))),
    Family("uneven ten", (100, 176), 5, (), 0.25, groups=((1.5, 1.5, 1, 1), (1, 1, 1.5, 1.5))),
    Family("hymn in four", (60, 112), 4, BROAD, 1.6, voices=True),
    Family("hymn in three", (66, 126), 3, BROAD, 1.2, voices=True),
)

GROUP_CELLS: dict[int, tuple[Cell, ...]] = {
    2: ((1, 1), (2,), (1, 0.5, 0.5), (0.5, 0.5, 1), (1.5, 0.5)),
    3: ((1, 1, 1), (2, 1), (1, 2), (3,), (1, 0.5, 0.5, 1), (1, 1, 0.5, 0.5)),
}
"""What fills a group of two or three short units, in units; the most usual first."""


@dataclass(frozen=True)
class Manner:
    """A family, and what one tune (or a part of it) favours of it."""

    family: Family
    cells: dict[int, list[tuple[Cell, float]]]
    """The few kinds of beat, or of group by its units, with how often each comes."""
    groups: tuple[float, ...]
    """Of a bar, in beats; empty where all beats are alike."""

    @property
    def by_groups(self) -> bool:
        return not self.family.cells

    @property
    def unit_beats(self) -> float:
        """What the bar runs in when it runs."""
        if self.by_groups and all(group % 1 == 0 for group in self.groups):
            return 1.0
        return T if self.family.ternary else 0.5

    def groups_of(self, meter: int) -> tuple[float, ...]:
        """Of a bar that may be longer or shorter than usual: the last group gives way."""
        groups = list(self.groups)
        while groups and sum(groups) > meter:
            groups.pop()
        left = meter - sum(groups)
        return (*groups, left) if left else tuple(groups)


def eighth_beats(manner: Manner) -> float:
    """How long a written eighth is, in the beats that are counted."""
    return T if manner.family.ternary else 1.0 if manner.unit_beats == 1.0 else 0.5
