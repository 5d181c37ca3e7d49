"""Beats: exact positions and lengths on the timeline.

Beat 0 is the first downbeat. Beats are counted in the beat of the metre (a quarter in 4/4, a
dotted quarter in 6/8 counted in two) and are always exact fractions; only the tempo map turns
them into seconds.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from numbers import Rational

LONGEST_TEXT = 40
"""Ours: letters of an exact number; more would be a mistake."""


def exact_beats(value: object) -> Fraction:
    """Beats from a Fraction, an int or text such as ``"7/2"`` or ``"12"``.

    Raises
    ------
    TypeError
        For a float (``Fraction(0.1)`` is not 1/10) or any other type.
    ValueError
        For text that is not a fraction.
    """
    if isinstance(value, bool) or not isinstance(value, (Rational, str)):
        raise TypeError(f'beats must be exact, such as "7/2", not {value!r}')
    if isinstance(value, str):
        text = value.strip()
        try:
            if len(text) > LONGEST_TEXT or "e" in text.lower():  # 1e99999999 would fill memory
                raise ValueError
            return Fraction(text)
        except (ValueError, ZeroDivisionError):
            shown = value[:LONGEST_TEXT]
            raise ValueError(f'beats must be a fraction, such as "7/2", not "{shown}"') from None
    return Fraction(value)


def beats_text(beats: Fraction) -> str:
    """Shortest exact text, read back by :func:`exact_beats`: ``"12"``, ``"7/2"``."""
    return str(Fraction(beats))


def beats_words(beats: Fraction) -> str:
    """For people: ``"3 1/2 beats"``, ``"1 beat"``."""
    whole, part = divmod(abs(beats), 1)
    sign = "-" if beats < 0 else ""
    number = f"{whole} {part}" if whole and part else str(part if part else whole)
    return f"{sign}{number} beat{'' if abs(beats) <= 1 and beats != 0 else 's'}"


def rate_words(rate: Fraction) -> str:
    """For people: ``"2 downbeats a beat"``, ``"1 downbeat in 2 beats"``."""
    count = f"{rate.numerator} downbeat{'' if rate.numerator == 1 else 's'}"
    return f"{count} a beat" if rate.denominator == 1 else f"{count} in {rate.denominator} beats"


@dataclass(frozen=True, slots=True, order=True)
class BeatSpan:
    """A half-open stretch of the timeline: [start_beat, end_beat)."""

    start_beat: Fraction
    length_beats: Fraction
    end_beat: Fraction = field(init=False, repr=False, compare=False)
    """Kept, as it is asked for more often than spans are made."""

    def __post_init__(self) -> None:
        for name in ("start_beat", "length_beats"):
            value = getattr(self, name)
            if not isinstance(value, Rational):
                raise TypeError(f"{name} must be exact, such as Fraction(1, 3), got {value!r}")
        if self.length_beats <= 0:
            raise ValueError(f"length_beats must be positive, got {self.length_beats}")
        object.__setattr__(self, "end_beat", self.start_beat + self.length_beats)

    def contains(self, beat: Fraction) -> bool:
        return self.start_beat <= beat < self.end_beat

    def intersects(self, other: "BeatSpan") -> bool:
        """Whether the two share any time; touching ends do not count."""
        return self.start_beat < other.end_beat and other.start_beat < self.end_beat

    def shifted(self, by_beats: Fraction) -> "BeatSpan":
        return BeatSpan(self.start_beat + by_beats, self.length_beats)


def least_common_beats(lengths: Iterable[Fraction]) -> Fraction:
    """The shortest length that every given length divides, exactly.

    Loops of 3 and 4 beats return together after 12, loops of 3/2 and 4 after 12 (arithmetic).

    Raises
    ------
    ValueError
        If a length is not positive or none is given.
    """
    result: Fraction | None = None
    for length in lengths:
        if length <= 0:
            raise ValueError(f"lengths must be positive, got {length}")
        if result is None:
            result = Fraction(length)
        else:
            ratio = result / length
            result = length * ratio.numerator
    if result is None:
        raise ValueError("at least one length is needed")
    return result
