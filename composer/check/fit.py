"""How a placed move fits its stretch of music: does it close, on which beats, and what would.

Everything here is exact: beats and cycles are fractions. A rate is downbeats of the busier hand
for each beat, so a cycle lasts its downbeats / rate.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, lru_cache

import numpy as np

from composer.check.performed import Performed, performed
from composer.check.physics import is_possible
from composer.motion.hands import Hand
from composer.motion.kinematics import motion_at
from composer.motion.measures import symmetries
from composer.motion.pattern import Pattern
from composer.moves.library import Library
from composer.score.routine import Performer, Placement
from composer.timing.beats import least_common_beats
from composer.timing.grid import MusicGrid

RATES = tuple(Fraction(*pair) for pair in ((1, 2), (2, 3), (3, 4), (1, 1), (4, 3), (3, 2), (2, 1)))
"""Rates that are offered: simple ratios are the easier to keep (Perc. Mot. Skills 88 (1999))."""
MOST_PARTS = 4
"""Figures that are not simple flowers are tried at halves, thirds and quarters of the cycle."""
SAME_PLACE_M = 1e-9


@dataclass(frozen=True, eq=False)
class Fit:
    """A placed move against its stretch; made by :func:`fit`."""

    placement: Placement
    performer: Performer
    grid: MusicGrid
    done: Performed

    # ------------------------------------------------------------------ closing

    @cached_property
    def cycle_beats(self) -> Fraction:
        """Beats until both hands have closed."""
        return self.done.performance.cycle_beats(self.placement.rate)

    @cached_property
    def repetitions(self) -> Fraction:
        return self.placement.span.length_beats / self.cycle_beats

    @cached_property
    def symmetry_turns(self) -> Fraction | None:
        """How far the figure has turned where the move ends in its first state turned.

        0 where the state is the first one itself; None where it is not even that turned.
        """
        return _symmetry_turns(self.done, self.repetitions % 1)

    @property
    def closes(self) -> bool:
        """Whether hands and heads end in the state they began in."""
        return self.symmetry_turns == 0

    @property
    def closes_turned(self) -> bool:
        """Whether it ends part-way in its first state turned about the middle."""
        return self.symmetry_turns is not None and self.symmetry_turns != 0

    @cached_property
    def closes_mirrored(self) -> bool:
        """Whether it ends part-way as the mirror image of its first state.

        So does a pendulum after half its cycle: at the bottom again, swinging the other way.
        """
        passed = self.repetitions % 1
        tracks = self.done.performance.tracks.values()
        return self.symmetry_turns is None and all(
            _is_mirror_image(track.pattern, track.cycles * passed % 1) for track in tracks
        )

    @property
    def remainder_beats(self) -> Fraction:
        """Beats beyond the last whole cycle; 0 where it closes."""
        if self.closes:
            return Fraction(0)
        return self.placement.span.length_beats % self.cycle_beats

    @property
    def missing_beats(self) -> Fraction:
        """Beats short of the next whole cycle; 0 where it closes: what a filler would take."""
        rest = self.remainder_beats
        return self.cycle_beats - rest if rest else Fraction(0)

    # ------------------------------------------------------------------ what would close

    @cached_property
    def bar_beats(self) -> Fraction:
        """The bar in which the move begins."""
        meters = self.grid.meter_map
        return meters.bar_length_beats(meters.position(self.placement.span.start_beat).bar)

    @property
    def closing_lengths(self) -> tuple[Fraction, Fraction]:
        """Nearest lengths of whole cycles, below (0: none) and above."""
        return _around(self.placement.span.length_beats, self.cycle_beats)

    @property
    def bar_closing_lengths(self) -> tuple[Fraction, Fraction]:
        """Nearest lengths of whole cycles and whole bars, below (0: none) and above."""
        common = least_common_beats([self.cycle_beats, self.bar_beats])
        return _around(self.placement.span.length_beats, common)

    @cached_property
    def closing_rates(self) -> tuple[Fraction, ...]:
        """Of RATES: those at which it closes in this length and is possible at this tempo."""
        span = self.placement.span
        return tuple(
            rate
            for rate in _rates_closing_in(self.done, span.length_beats)
            if is_possible(self.done, self.performer, span, rate, self.grid)
        )

    # ------------------------------------------------------------------ downbeats

    @property
    def entries(self) -> int:
        """In how many ways the move can be entered: downbeats of its busier hand in a cycle."""
        return self.done.entries

    @property
    def exit_entry(self) -> int | None:
        """The entry at which the same move could be taken up again where this one ends.

        None if it ends between downbeats. The tracks begin at the placement's own entry, so the
        downbeats that follow it are numbered on from there.
        """
        performance, passed = self.done.performance, self.repetitions % 1
        for hand in self.done.hands:
            shares = self.done.downbeat_shares[hand]
            busiest = len(shares) == performance.downbeats_per_cycle
            if busiest and Fraction(0) in shares and passed in shares:
                return (self.placement.style.entry - 1 + shares.index(passed)) % len(shares) + 1
        return None

    def downbeats(self, hand: Hand) -> Iterator[Fraction]:
        """Beats of the stretch on which a hand's tether passes straight down, in time order."""
        span = self.placement.span
        passed = self.done.downbeats(hand, self.placement.rate, span.length_beats)
        return (span.start_beat + beats for beats in passed)

    @property
    def beat_step(self) -> Fraction:
        """The subdivision that a rate lands on: 1 for 1/2 and 1; 1/2 for 2, 2/3; 1/3 for 3/2."""
        return Fraction(1, self.placement.rate.numerator)

    @cached_property
    def on_the_beat(self) -> bool:
        """Whether some hand's every downbeat lands on the beat, or on the rate's subdivision."""
        span, step = self.placement.span, self.beat_step
        off = span.start_beat % step
        return _lands(self.done, self.placement.rate, span.length_beats, off, step)


def fit(placement: Placement, library: Library, performer: Performer, grid: MusicGrid) -> Fit:
    """How the placement fits its stretch.

    Raises
    ------
    UnknownName, CannotEnter
        If the move is not in the library or cannot be performed as placed.
    """
    return Fit(placement, performer, grid, performed(placement, performer, library))


def _around(length: Fraction, step: Fraction) -> tuple[Fraction, Fraction]:
    below = length // step * step
    return (below, below + step) if below != length else (below - step, below + step)


@lru_cache(maxsize=20_000)
def _rates_closing_in(done: Performed, length: Fraction) -> tuple[Fraction, ...]:
    cycles = length / done.performance.cycle_length_beats
    return tuple(rate for rate in RATES if _symmetry_turns(done, cycles * rate % 1) == 0)


@lru_cache(maxsize=20_000)
def _symmetry_turns(done: Performed, passed: Fraction) -> Fraction | None:
    """How far every hand's figure has turned after a share of the cycle; None if not alike."""
    turns = None
    for track in done.performance.tracks.values():
        own = _own_turns(track.pattern, track.cycles * passed % 1)
        if own is None or turns not in (None, own):
            return None
        turns = own
    return turns


def _own_turns(pattern: Pattern, passed: Fraction) -> Fraction | None:
    return Fraction(0) if passed == 0 else _turns_by_phase(pattern).get(passed)


@lru_cache(maxsize=2_000)
def _turns_by_phase(pattern: Pattern) -> dict[Fraction, Fraction]:
    return {found.phase: found.turns for found in symmetries(pattern, most=MOST_PARTS)}


@lru_cache(maxsize=2_000)
def _is_mirror_image(pattern: Pattern, passed: Fraction) -> bool:
    """Whether hand and head go on from a phase as they began, left and right exchanged.

    The mirror stands upright through the middle of the hand's places.
    """
    phases = np.arange(24) / 24
    motion = motion_at(pattern, np.concatenate([phases, phases + float(passed)]))
    axis = 2 * motion.hand_m[: len(phases)].real.mean()
    return all(
        bool(np.abs(later - (axis - np.conj(first))).max() < SAME_PLACE_M)
        for first, later in (np.split(motion.hand_m, 2), np.split(motion.head_m, 2))
    )


@lru_cache(maxsize=20_000)
def _lands(
    done: Performed, rate: Fraction, length: Fraction, off: Fraction, step: Fraction
) -> bool:
    """Whether all downbeats of some hand stand on a multiple of the step.

    A cycle is a whole number of steps, d downbeats at p/q a beat d q steps of 1/p beat: every one
    falls on the same parts of the beat.
    """
    period = min(length, done.performance.cycle_beats(rate))
    told = [list(done.downbeats(hand, rate, period)) for hand in done.hands]
    return not any(told) or any(
        all((off + beat) % step == 0 for beat in beats) for beats in told if beats
    )
