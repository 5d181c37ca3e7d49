"""A placed move as its performer does it: one object for all who do it alike."""

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, lru_cache
from typing import NamedTuple

from composer.errors import ComposerError
from composer.motion.body import Body, Prop
from composer.motion.hands import Hand
from composer.moves.library import Library
from composer.moves.model import Move
from composer.moves.perform import Performance, Style, perform
from composer.score.routine import Performer, Placement
from composer.score.same import Same


class CannotEnter(ComposerError):
    """The move exists but cannot be performed as the placement asks."""


@dataclass(frozen=True, eq=False)
class Performed:
    """A move as performers of the same measures do it in one style; one object for all of them."""

    move: Move
    performance: Performance

    @cached_property
    def hands(self) -> tuple[Hand, ...]:
        return tuple(self.performance.tracks)

    @property
    def entries(self) -> int:
        """In how many ways it can be entered: downbeats of its busier hand in a cycle."""
        return max(1, self.performance.downbeats_per_cycle)

    @cached_property
    def downbeat_shares(self) -> Mapping[Hand, tuple[Fraction, ...]]:
        """Shares of the common cycle at which each hand's tether passes straight down."""
        return {hand: track.downbeats for hand, track in self.performance.tracks.items()}

    def downbeats(self, hand: Hand, rate: Fraction, length_beats: Fraction) -> Iterator[Fraction]:
        """Beats after the start, up to a length, on which it does so, in time order."""
        cycle, shares = self.performance.cycle_beats(rate), self.downbeat_shares[hand]
        if not shares:
            return
        for turn in itertools.count():
            for share in shares:
                passed = (turn + share) * cycle
                if passed >= length_beats:
                    return
                yield passed

    def share_passed(self, beats_from_start: Fraction, rate: Fraction) -> Fraction:
        """Share in [0, 1) of the common cycle after so many beats at a rate."""
        return beats_from_start / self.performance.cycle_beats(rate) % 1


def performed(placement: Placement, performer: Performer, library: Library) -> Performed:
    """The placement's move in metres.

    Raises
    ------
    UnknownName
        If the library has no such move; the nearest names are told.
    CannotEnter
        If the move has no such entry, or a length comes out impossible for this body.
    """
    return _performed(Same(library), placement.move, placement.style, _arms(Same(performer)))


@lru_cache(maxsize=20_000)
def _performed(library: Same[Library], name: str, style: Style, arms: "Same[_Arms]") -> Performed:
    move = library.value.get(name)
    body, props = arms.value
    try:
        return Performed(move, perform(move, style, body, props))
    except ValueError as error:
        raise CannotEnter(str(error)) from None


class _Arms(NamedTuple):
    """What of a performer a move depends on; props of right and left."""

    body: Body
    props: tuple[Prop, Prop]


@lru_cache(maxsize=1_000)
def _arms(performer: Same[Performer]) -> Same[_Arms]:
    """One object for all performers of the same measures, so that they share what is known."""
    return _shared(_Arms(performer.value.body, performer.value.props))


@lru_cache(maxsize=1_000)
def _shared(arms: _Arms) -> Same[_Arms]:
    return Same(arms)
