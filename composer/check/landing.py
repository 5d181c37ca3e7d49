"""Who lands on which bar line: who closes a cycle, passes down, or has her heads meet there."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from composer.check.fit import Fit
from composer.check.performed import CannotEnter, Performed, performed
from composer.errors import UnknownName
from composer.motion.approach import meetings
from composer.motion.hands import Hand
from composer.moves.library import Library
from composer.score.parts import PlacedMove, performed_parts
from composer.score.routine import Performer, Placement, Routine
from composer.score.same import Same
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid


@dataclass(frozen=True, slots=True)
class Landing:
    """One performer on one beat, seen from what she does up to it."""

    performer: str
    moves: tuple[str, ...]
    """What she ends or is in the middle of; empty where she rests or begins from rest."""
    closes: bool
    """Every hand that moves has come back to where its move began."""
    downbeat: bool
    """A tether passes straight down, of the move that ends, goes on or begins here."""
    meets: bool
    """Her two heads meet here."""
    known: bool = True
    """False where the library cannot tell."""

    @property
    def rests(self) -> bool:
        return not self.moves


@dataclass(frozen=True, slots=True)
class LandingRow:
    """The first beat of a bar, or the end of the music."""

    bar: int
    beat: Fraction
    phrase: str
    """The phrase that begins here; empty elsewhere."""
    landings: tuple[Landing, ...]
    ends: bool = False
    """Whether this is where the music ends."""

    @property
    def closing(self) -> tuple[str, ...]:
        return tuple(one.performer for one in self.landings if one.closes)

    @property
    def all_close(self) -> bool:
        """Whether everybody who has a move under way closes here, and somebody has."""
        moving = [one for one in self.landings if not one.rests]
        return bool(moving) and all(one.closes for one in moving)


def landing_table(routine: Routine, library: Library) -> tuple[LandingRow, ...]:
    """For every bar line, from bar 1 to the end of the music, how everybody lands on it."""
    grid = routine.grid
    parts = {name: MovesInOrder(moves) for name, moves in performed_parts(routine).items()}
    named = {phrase.start_beat: phrase.name for phrase in grid.phrases}
    beats = [grid.meter_map.bar_start_beat(bar) for bar in range(1, grid.bar_count + 1)]
    rows = []
    for bar, beat in enumerate([*beats, grid.end_beat], 1):
        landings = tuple(
            landing(moves, routine.performer(name), library, grid, beat)
            for name, moves in parts.items()
        )
        ends = beat == grid.end_beat
        rows.append(LandingRow(bar, beat, named.get(beat, ""), landings, ends))
    return tuple(rows)


class MovesInOrder:
    """A performer's moves in time order, asked for those about a beat without a look at all.

    Of moves that overlap in a hand, the one that began last is what the hand does. They are looked
    for by floats: beats of routines have small denominators, so no two stand for one float.
    """

    def __init__(self, moves: Sequence[PlacedMove]) -> None:
        self._moves = moves
        self._starts = [float(move.placement.span.start_beat) for move in moves]

    def up_to(self, beat: Fraction) -> list[Placement]:
        """Those that end on the beat or are in their middle."""
        return [p for p in self._last_begun(beat) if beat <= p.span.end_beat]

    def beginning(self, beat: Fraction) -> list[Placement]:
        at = float(beat)
        low, high = bisect_left(self._starts, at), bisect_right(self._starts, at)
        return [move.placement for move in self._moves[low:high]]

    def during(self, start_beat: Fraction, end_beat: Fraction) -> bool:
        """Whether any is under way between two beats."""
        return any(p.span.end_beat > start_beat for p in self._last_begun(end_beat))

    def _last_begun(self, beat: Fraction) -> list[Placement]:
        """For each hand what it began last before a beat."""
        found: list[Placement] = []
        left = set(Hand)
        index = bisect_left(self._starts, float(beat))
        while index > 0 and left:
            index -= 1
            placement = self._moves[index].placement
            if not left.isdisjoint(placement.hands):
                found.append(placement)
                left.difference_update(placement.hands)
        return found[::-1]


def landing(
    moves: MovesInOrder, performer: Performer, library: Library, grid: MusicGrid, beat: Fraction
) -> Landing:
    """How one performer lands on a beat."""
    here = moves.up_to(beat)
    about = here + moves.beginning(beat)
    told = [(placement, _done(placement, performer, library)) for placement in about]
    known = [(placement, done) for placement, done in told if done is not None]
    return Landing(
        performer.name,
        tuple(placement.move for placement in here),
        closes=bool(here) and all(closes_at(p, performer, library, grid, beat) for p in here),
        downbeat=any(_passes_down(p, done, beat) for p, done in known),
        meets=any(_heads_meet(p, done, beat) for p, done in known),
        known=len(known) == len(told),
    )


def _done(placement: Placement, performer: Performer, library: Library) -> Performed | None:
    try:
        return performed(placement, performer, library)
    except (UnknownName, CannotEnter):
        return None  # a finding of its own says so


def closes_at(
    placement: Placement, performer: Performer, library: Library, grid: MusicGrid, beat: Fraction
) -> bool:
    """Whether a placement stands on a beat as it began; False where that is not known."""
    return _closes_at(Same(placement), Same(performer), Same(library), Same(grid), beat)


@lru_cache(maxsize=50_000)
def _closes_at(
    placement: Same[Placement],
    performer: Same[Performer],
    library: Same[Library],
    grid: Same[MusicGrid],
    beat: Fraction,
) -> bool:
    done = _done(placement.value, performer.value, library.value)
    if done is None:
        return False
    start = placement.value.span.start_beat
    shortened = replace(placement.value, span=BeatSpan(start, beat - start))
    return Fit(shortened, performer.value, grid.value, done).closes


def _passes_down(placement: Placement, done: Performed, beat: Fraction) -> bool:
    passed = done.share_passed(beat - placement.span.start_beat, placement.rate)
    return any(passed in done.performance.tracks[hand].downbeats for hand in done.hands)


def _heads_meet(placement: Placement, done: Performed, beat: Fraction) -> bool:
    passed = done.share_passed(beat - placement.span.start_beat, placement.rate)
    return passed in _meetings(Same(done))


@lru_cache(maxsize=2_000)
def _meetings(done: Same[Performed]) -> frozenset[Fraction]:
    """Shares of the common cycle at which both heads are at one place."""
    pair = done.value.performance.room_pair
    if pair is None or set(done.value.hands) != set(Hand):
        return frozenset()
    return frozenset(share % 1 for share in meetings(pair))
