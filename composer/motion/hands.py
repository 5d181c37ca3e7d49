"""Two hands at once: which cycle each runs, how often, and from where."""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from composer.motion.pattern import Pattern
from composer.motion.transforms import mirror


class Hand(StrEnum):
    RIGHT = "right"
    LEFT = "left"

    @property
    def other(self) -> "Hand":
        return Hand.LEFT if self is Hand.RIGHT else Hand.RIGHT


@dataclass(frozen=True, slots=True)
class HandTrack:
    """One hand's pattern inside a common cycle: so many closures of it, begun at a phase."""

    pattern: Pattern
    cycles: int = 1
    offset: Fraction = Fraction(0)
    """Phase of the pattern at the start of the common cycle."""

    def __post_init__(self) -> None:
        if self.cycles < 1:
            raise ValueError(f"a hand closes at least once in the cycle, got {self.cycles}")

    def phase_at(self, passed: Fraction) -> Fraction:
        """The pattern's phase in [0, 1) after a share of the common cycle."""
        return (self.offset + self.cycles * passed) % 1

    @property
    def downbeats(self) -> tuple[Fraction, ...]:
        """Shares in [0, 1) of the common cycle at which the tether passes straight down."""
        return tuple(sorted(self._downbeats()))

    @property
    def downbeat_count(self) -> int:
        """How many they are, whatever the offset."""
        return self.cycles * len(self.pattern.downbeats)

    def _downbeats(self) -> Iterator[Fraction]:
        for phase in self.pattern.downbeats:
            first = (phase - self.offset) % 1
            for turn in range(self.cycles):
                yield (first + turn) / self.cycles


@dataclass(frozen=True, slots=True)
class TwoHands:
    """A hybrid: both hands over one common cycle, after which both have closed."""

    right: HandTrack
    left: HandTrack

    def track(self, hand: Hand) -> HandTrack:
        return self.right if hand is Hand.RIGHT else self.left

    @property
    def downbeats_per_cycle(self) -> int:
        """Downbeats of the busier hand: what the rate counts."""
        return max(self.right.downbeat_count, self.left.downbeat_count)

    def swap_hands(self) -> "TwoHands":
        """Each hand does what the other did, at the same places."""
        return TwoHands(self.left, self.right)

    def mirrored(self) -> "TwoHands":
        """The mirror image, as a partner opposite sees it: hands exchanged, sides exchanged."""
        return TwoHands(_mirror(self.left), _mirror(self.right))


def _mirror(track: HandTrack) -> HandTrack:
    return HandTrack(mirror(track.pattern), track.cycles, track.offset)
