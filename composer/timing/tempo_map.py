"""The one place where beats become seconds and seconds become beats."""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import isfinite
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # numpy takes long to load, and single beats do without
    import numpy as np
    from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True, slots=True)
class Knot:
    """A beat whose time in the decoded track is known."""

    beat: Fraction
    time_s: float


@dataclass(frozen=True)
class TempoMap:
    """Straight lines of constant tempo between knots, carried on at both ends.

    A steady track has two knots; a played one has a knot on every beat.
    """

    knots: tuple[Knot, ...]

    def __post_init__(self) -> None:
        if len(self.knots) < 2:
            raise ValueError("a tempo map needs at least two knots")
        for before, after in zip(self.knots, self.knots[1:], strict=False):
            if not (after.beat > before.beat and after.time_s > before.time_s):
                raise ValueError(
                    f"knots must rise in beat and time: {before.beat} at {before.time_s} s, "
                    f"then {after.beat} at {after.time_s} s"
                )
        if not all(isfinite(knot.time_s) for knot in self.knots):
            raise ValueError("knot times must be finite")

    @cached_property
    def _beat_list(self) -> list[float]:
        return [float(knot.beat) for knot in self.knots]

    @cached_property
    def _time_list(self) -> list[float]:
        return [float(knot.time_s) for knot in self.knots]

    @cached_property
    def _beats(self) -> "NDArray[np.float64]":
        import numpy as np

        return np.array(self._beat_list)

    @cached_property
    def _times(self) -> "NDArray[np.float64]":
        import numpy as np

        return np.array(self._time_list)

    def seconds(self, beat: Fraction | int) -> float:
        """Time of a beat in the decoded track, in seconds; before its start it is negative."""
        at = float(beat)  # one beat without arrays, which take longer to set up than to use
        index = self._line_at(at)
        start, start_s = self._beat_list[index], self._time_list[index]
        slope = (self._time_list[index + 1] - start_s) / (self._beat_list[index + 1] - start)
        return start_s + (at - start) * slope

    def bpm_before(self, beat: Fraction | int) -> float:
        """Beats a minute just before a beat, on which the tempo may change."""
        return self._bpm_of(bisect_left(self._beat_list, float(beat)) - 1)

    def _line_at(self, beat: float) -> int:
        """The knot from which the line through a beat begins."""
        return min(max(bisect_right(self._beat_list, beat) - 1, 0), len(self.knots) - 2)

    def seconds_of(self, beats: "ArrayLike") -> "NDArray[np.float64]":
        """:meth:`seconds` for an array of any shape."""
        return _through(beats, self._beats, self._times)

    def beat_at(self, time_s: float) -> float:
        """Beat position that sounds at a time: a measured number, so a float."""
        return float(self.beats_at(time_s))

    def beats_at(self, times_s: "ArrayLike") -> "NDArray[np.float64]":
        """:meth:`beat_at` for an array of any shape."""
        return _through(times_s, self._times, self._beats)

    def bpm_at(self, beat: Fraction | int) -> float:
        """Beats a minute just after a beat."""
        return self._bpm_of(bisect_right(self._beat_list, float(beat)) - 1)

    def _bpm_of(self, knot: int) -> float:
        """Of the line that begins at a knot, the outer ones carried on."""
        index = min(max(knot, 0), len(self.knots) - 2)
        beats = self._beat_list[index + 1] - self._beat_list[index]
        return 60 * beats / (self._time_list[index + 1] - self._time_list[index])

    @property
    def is_steady(self) -> bool:
        """One tempo from the first beat to the last."""
        return len(self.knots) == 2


def steady_tempo_map(bpm: float, first_downbeat_s: float = 0.0) -> TempoMap:
    """Beat 0 at a time, and one tempo throughout.

    Raises
    ------
    ValueError
        If the tempo is not positive and finite.
    """
    if not (isfinite(bpm) and bpm > 0):
        raise ValueError(f"a tempo must be positive, got {bpm}")
    far = 64
    return TempoMap(
        (
            Knot(Fraction(0), first_downbeat_s),
            Knot(Fraction(far), first_downbeat_s + 60 * far / bpm),
        )
    )


def _through(
    at: "ArrayLike", xs: "NDArray[np.float64]", ys: "NDArray[np.float64]"
) -> "NDArray[np.float64]":
    """Straight lines through (xs, ys), the outer ones carried on beyond the ends."""
    import numpy as np

    x = np.asarray(at, dtype=float)
    index = np.clip(np.searchsorted(xs, x, side="right") - 1, 0, len(xs) - 2)
    slope = (ys[index + 1] - ys[index]) / (xs[index + 1] - xs[index])
    return np.asarray(ys[index] + (x - xs[index]) * slope)
