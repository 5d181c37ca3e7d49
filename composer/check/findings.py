"""What a check has found: a value that screens, sheets and programs all read."""

from dataclasses import dataclass
from enum import IntEnum
from fractions import Fraction

from composer.motion.hands import Hand


class Level(IntEnum):
    """How much a finding matters; they compare: note < warning < error."""

    NOTE = 1
    WARNING = 2
    ERROR = 3

    def __str__(self) -> str:
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing about a routine that the performer should know, with its figures."""

    rule: str
    """Stable identifier in plain words, such as ``"hand turns abruptly"``."""
    level: Level
    performer: str
    beat: Fraction
    message: str
    """What was found, with the figures, in one sentence."""
    why: str
    """Why it matters, in one sentence."""
    moves: tuple[str, ...] = ()
    indexes: tuple[int, ...] = ()
    """Places of the moves in the performer's performed part, in time order."""
    hand: Hand | None = None
    measured: float | None = None
    limit: float | None = None
    unit: str = ""
    others: tuple[str, ...] = ()
    """Everybody else it is about, as where two meet."""

    def at(self, indexes: tuple[int, ...]) -> "Finding":
        """The same about moves at other places of the part."""
        return Finding(
            self.rule, self.level, self.performer, self.beat, self.message, self.why, self.moves,
            indexes, self.hand, self.measured, self.limit, self.unit, self.others,
        )  # fmt: skip

    @property
    def performers(self) -> tuple[str, ...]:
        """Everybody it is about; empty for the whole group."""
        return (self.performer, *self.others) if self.performer else self.others

    def is_about(self, *names: str) -> bool:
        """Whether it is about one of these performers, or about the whole group."""
        return not self.performer or not set(names).isdisjoint(self.performers)

    @property
    def key(self) -> tuple[str, str, Fraction, Hand | None]:
        """What makes two findings of different checks the same one."""
        return (self.rule, ", ".join(self.performers), self.beat, self.hand)


def worst(findings: tuple[Finding, ...]) -> Level | None:
    """The gravest level among findings; None when there are none."""
    return max((finding.level for finding in findings), default=None)
