"""Metre: how beats group into bars, and where in which bar a beat lies.

Bars and counts start from 1. Beat 0 is bar 1, count 1; beats before it are the upbeat, bar 0
and below.
"""

import itertools
from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction

COMPOUND_NUMERATORS = (6, 9, 12)


@dataclass(frozen=True, slots=True)
class Meter:
    """A time signature and how many beats a bar of it is counted in.

    6/8 is counted in two dotted quarters unless ``beats_per_bar`` says six.
    """

    numerator: int
    denominator: int
    beats_per_bar: int = 0
    """0 at construction means the usual count: numerator / 3 in 6/8, 9/8 and 12/8."""

    def __post_init__(self) -> None:
        if not 1 <= self.numerator <= 32:
            raise ValueError(f"a bar has 1 to 32 counts, got {self.numerator}")
        if self.denominator not in (1, 2, 4, 8, 16, 32):
            raise ValueError(f"the lower number is 1, 2, 4, 8, 16 or 32, got {self.denominator}")
        if self.beats_per_bar == 0:
            compound = self.numerator in COMPOUND_NUMERATORS and self.denominator >= 8
            object.__setattr__(
                self, "beats_per_bar", self.numerator // 3 if compound else self.numerator
            )
        if self.beats_per_bar not in (self.numerator, Fraction(self.numerator, 3)):
            raise ValueError(
                f"{self.numerator}/{self.denominator} is counted in {self.numerator} or a third "
                f"of it, got {self.beats_per_bar}"
            )

    @property
    def quarters_per_beat(self) -> Fraction:
        """How many quarter notes one counted beat lasts: 3/2 for 6/8 counted in two."""
        return Fraction(4 * self.numerator, self.denominator * self.beats_per_bar)

    def __str__(self) -> str:
        text = f"{self.numerator}/{self.denominator}"
        usual = Meter(self.numerator, self.denominator).beats_per_bar
        return text if self.beats_per_bar == usual else f"{text} in {self.beats_per_bar}"


def meter_from_text(text: str) -> Meter:
    """``"4/4"``, ``"6/8"`` (counted in two) or ``"6/8 in 6"``.

    Raises
    ------
    ValueError
        If the text is not a time signature.
    """
    signature, _, count = text.partition(" in ")
    upper, slash, lower = signature.strip().partition("/")
    try:
        if not slash:
            raise ValueError
        return Meter(int(upper), int(lower), int(count) if count else 0)
    except ValueError as error:
        detail = f": {error}" if str(error) and "invalid literal" not in str(error) else ""
        raise ValueError(
            f'a metre is written like "4/4" or "6/8 in 6", not "{text}"{detail}'
        ) from None


FOUR_FOUR = Meter(4, 4)


@dataclass(frozen=True, slots=True)
class BarPosition:
    """Bar from 1; count from 1, with its exact fraction (count 5/2 is the "and" of two)."""

    bar: int
    count: Fraction

    def __str__(self) -> str:
        whole, part = divmod(self.count, 1)
        return f"bar {self.bar}, count {whole}" + (f" + {part}" if part else "")


@dataclass(frozen=True, slots=True)
class MeterChange:
    """From this beat on, which must begin a bar, the metre holds."""

    start_beat: Fraction
    meter: Meter


@dataclass(frozen=True, slots=True)
class MeterMap:
    """The metre all along the track: the first change stands at or before beat 0.

    A change that would cut the bar before it short ends that bar early; the short bar keeps its
    number.
    """

    changes: tuple[MeterChange, ...] = (MeterChange(Fraction(0), FOUR_FOUR),)

    def __post_init__(self) -> None:
        if not self.changes or self.changes[0].start_beat != 0:
            raise ValueError("the first metre begins at beat 0")
        starts = [change.start_beat for change in self.changes]
        if any(b <= a for a, b in itertools.pairwise(starts)):
            raise ValueError("metre changes must follow each other in time")

    def _change_index(self, beat: Fraction) -> int:
        starts = [change.start_beat for change in self.changes]
        return max(0, bisect_right(starts, beat) - 1)

    def _bars_in(self, index: int) -> int:
        """How many bars, the last perhaps short, stand between a change and the next one."""
        here, after = self.changes[index], self.changes[index + 1]
        length = after.start_beat - here.start_beat
        return -(-length // here.meter.beats_per_bar)  # rounded up

    def _first_bar(self, index: int) -> int:
        return 1 + sum(self._bars_in(i) for i in range(index))

    def meter_at(self, beat: Fraction) -> Meter:
        return self.changes[self._change_index(beat)].meter

    def position(self, beat: Fraction) -> BarPosition:
        index = self._change_index(beat)
        change = self.changes[index]
        bars, within = divmod(beat - change.start_beat, change.meter.beats_per_bar)
        return BarPosition(self._first_bar(index) + int(bars), within + 1)

    def bar_start_beat(self, bar: int) -> Fraction:
        """The beat on which a bar begins; bar 1 begins on beat 0, bar 0 before it."""
        index = 0
        while index + 1 < len(self.changes) and bar >= self._first_bar(index + 1):
            index += 1
        change = self.changes[index]
        return change.start_beat + (bar - self._first_bar(index)) * change.meter.beats_per_bar

    def bar_length_beats(self, bar: int) -> Fraction:
        return self.bar_start_beat(bar + 1) - self.bar_start_beat(bar)

    def is_downbeat(self, beat: Fraction) -> bool:
        return self.position(beat).count == 1
