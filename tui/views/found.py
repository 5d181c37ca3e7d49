"""One performer's findings, read in the ways the screen needs: each way is worked out once."""

from bisect import bisect_left
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import overload

from composer.check.findings import Finding
from tui.views.marks import Mark, finding_marks
from tui.views.paper import Line, Piece
from tui.views.words import count_pieces


@dataclass(frozen=True, eq=False)
class Found:
    """Findings in time order, gravest first on each beat."""

    findings: tuple[Finding, ...] = ()

    @cached_property
    def marks(self) -> tuple[Mark, ...]:
        return finding_marks(self.findings)

    @cached_property
    def counts(self) -> tuple[Piece, ...]:
        return count_pieces(self.findings)

    @cached_property
    def beats(self) -> list[float]:
        return [float(finding.beat) for finding in self.findings]

    def between(self, start_beat: Fraction, end_beat: Fraction) -> tuple[Finding, ...]:
        """Findings from a beat on and before another."""
        first = bisect_left(self.beats, float(start_beat))
        return self.findings[first : bisect_left(self.beats, float(end_beat))]

    def next_beat(self, beat: Fraction, step: int) -> Fraction:
        """The beat of the next finding, or the one before; the same beat if there is none."""
        index = bisect_left(self.beats, float(beat))
        if step > 0:
            later = (f.beat for f in self.findings[index:] if f.beat > beat)
            return next(later, beat)
        return self.findings[index - 1].beat if index else beat


NOTHING_FOUND = Found()


def found_by_performer(findings: Sequence[Finding], performers: Iterable[str]) -> dict[str, Found]:
    """Findings parted by performer, with all that drawing them needs worked out."""
    parted = {}
    for name in performers:
        own = Found(tuple(f for f in findings if f.is_about(name)))
        _ = own.marks, own.counts, own.beats  # here, in the thread that checks
        parted[name] = own
    return parted


class LazyLines(Sequence[Line]):
    """Lines that are made when they are looked at."""

    def __init__(self, count: int, make: Callable[[int], Line]) -> None:
        self._count = count
        self._make = make

    def __len__(self) -> int:
        return self._count

    @overload
    def __getitem__(self, index: int) -> Line: ...
    @overload
    def __getitem__(self, index: slice) -> Sequence[Line]: ...
    def __getitem__(self, index: int | slice) -> Line | Sequence[Line]:
        if isinstance(index, slice):
            return [self._make(one) for one in range(self._count)[index]]
        return self._make(range(self._count)[index])
