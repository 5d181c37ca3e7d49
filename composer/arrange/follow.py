"""What can follow at a place: every move of the library in its ways, ranked, with the reasons.

The way that flows best is kept of each move. What counts: how smoothly it is entered from what
goes before, whether it closes, where it leaves the phrase, comfort at this tempo, difficulty,
variety, and what the performer has in her repertoire (:mod:`composer.arrange.costs`).
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from composer.arrange.costs import (
    CLOSING_COST,
    ENDING_COST,
    POINT_COST,
    Closing,
    Comfort,
    Costs,
    Ending,
    comfort_of,
    ending_of,
    points_of,
    practised_cost,
    repertoire_cost,
)
from composer.arrange.keeping import Keeping, keeps
from composer.arrange.room import Lasting, Room, lasting_in, room_at, stands_after, starts_on
from composer.arrange.ways import (
    Neighbour,
    Way,
    distinct_ways,
    entered_edge,
    left_edge,
    meet,
    neighbours,
)
from composer.check.change import Change, Kind
from composer.check.fit import Fit
from composer.check.hand_change import TimeAllowed
from composer.check.limits import Limit, limits_for
from composer.check.moment import Performed
from composer.check.physics import beat_lengths_s
from composer.check.transition_words import RULES
from composer.check.transitions import LONGEST_REST_BEATS, time_allowed
from composer.motion.hands import Hand
from composer.moves.library import Library
from composer.moves.perform import Style, WhichHand
from composer.score.parts import PlacedMove, performed_part
from composer.score.repertoire import Repertoire
from composer.score.routine import Performer, Placement, Routine
from composer.timing.beats import BeatSpan, beats_words
from composer.timing.grid import MusicGrid

SAME_AGAIN_COST = 1.5
LATELY_COST = 0.5
LATELY_MOVES = 6
"""A move that is among so many before this place is no news."""
HARD_POINTS = 7.0
HALF = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class Option:
    """A move that could stand at the place, in the way of it that flows best."""

    placement: Placement
    costs: Costs
    kind: Kind | None
    """How it is entered; None where nothing goes before."""
    closes: bool
    points: float
    """Difficulty."""
    reasons: tuple[str, ...]
    """In words, what decides first."""
    ways: int
    """In how many ways the move was tried here."""
    smooth_ways: int

    @property
    def cost(self) -> float:
        return self.costs.total


def what_can_follow(
    routine: Routine,
    library: Library,
    performer: str,
    beat: Fraction,
    *,
    hand: WhichHand = "both",
    length_beats: Fraction | None = None,
    style: Style | None = None,
    filters: Collection[Keeping] = (),
    repertoire: Repertoire | None = None,
    limit: int | None = None,
) -> tuple[Option, ...]:
    """Every move that could begin at a beat, the best first.

    Parameters
    ----------
    hand : "both", "right" or "left"
        Which hands are to do it.
    length_beats : Fraction, optional
        By default each move gets the length that fits it best in the room there is.
    style : Style, optional
        Held as given, but for the entry; by default each move and its mirror image are tried.
    filters : Keeping, several
        What has to stay as it is; moves that do not keep it are left out.
    limit : int, optional
        How many to give at the most.

    Raises
    ------
    UnknownName
        If there is no such performer.
    """
    place = _Place(routine, library, routine.performer(performer), beat, hand, length_beats)
    styles = _styles(hand, style)
    found = [
        best
        for name in library.names()
        if (best := _best(place, name, styles, filters, repertoire)) is not None
    ]
    found.sort(key=lambda judged: judged.costs.total)  # the library's order breaks ties
    return tuple(_option(place, judged) for judged in found[:limit])


def _styles(hand: WhichHand, style: Style | None) -> tuple[Style, ...]:
    if style is not None:
        return (replace(style, hand=hand),)
    return Style(hand=hand), Style(hand=hand, mirrored=True)


@dataclass(frozen=True, eq=False)
class _Place:
    """Where something is to follow, with what is the same for every move tried there."""

    routine: Routine
    library: Library
    performer: Performer
    beat: Fraction
    hand: WhichHand
    length_beats: Fraction | None

    @property
    def grid(self) -> MusicGrid:
        return self.routine.grid

    @property
    def hands(self) -> tuple[Hand, ...]:
        return tuple(Hand) if self.hand == "both" else (Hand(self.hand),)

    @cached_property
    def moves(self) -> tuple[PlacedMove, ...]:
        return performed_part(self.routine, self.performer.name)

    @cached_property
    def limits(self) -> Mapping[str, Limit]:
        return limits_for(self.performer)

    @cached_property
    def before(self) -> tuple[Neighbour, ...]:
        """What each hand comes from; nothing where it has rested too long to be led."""
        last: dict[Hand, Placement] = {}
        for move in self.moves:
            if move.span.start_beat < self.beat:
                ended = cut_at(move.placement, self.beat)
                last |= {hand: ended for hand in move.placement.hands if hand in self.hands}
        near = {
            hand: placement
            for hand, placement in last.items()
            if self.beat - placement.span.end_beat <= LONGEST_REST_BEATS
        }
        return neighbours(near, left_edge, self.library, self.performer, self.grid)

    @cached_property
    def room(self) -> Room:
        return room_at(self.grid, self.beat, starts_on(self.moves, self.hands))

    @cached_property
    def came_from(self) -> str:
        return self.before[0].way.done.move.name if self.before else ""

    @cached_property
    def rates(self) -> tuple[Fraction, ...]:
        """The rate that goes on, and one downbeat a beat."""
        told = [before.edge.placement.rate for before in self.before]
        return tuple(dict.fromkeys((*told, Fraction(1))))

    @cached_property
    def facing_turns(self) -> Fraction:
        return self.before[0].edge.placement.facing_turns if self.before else Fraction(0)

    @cached_property
    def lately(self) -> frozenset[str]:
        names = [m.placement.move for m in self.moves if m.span.start_beat < self.beat]
        return frozenset(names[-LATELY_MOVES:])

    @cached_property
    def _endings(self) -> dict[Fraction, Ending]:
        return {}

    def ending(self, span: BeatSpan) -> Ending:
        known = self._endings.get(span.end_beat)
        if known is None:
            known = self._endings[span.end_beat] = ending_of(span, self.grid)
        return known

    @cached_property
    def _beat_lengths_s(self) -> dict[Fraction, tuple[float, float]]:
        return {}

    def beat_lengths_s(self, beats: Fraction) -> tuple[float, float]:
        """Shortest and longest beat of so many from the place on, in seconds."""
        known = self._beat_lengths_s.get(beats)
        if known is None:
            known = beat_lengths_s(BeatSpan(self.beat, beats), self.grid)
            self._beat_lengths_s[beats] = known
        return known

    @cached_property
    def _times(self) -> dict[tuple[int, Fraction], TimeAllowed]:
        return {}

    def time(self, number: int, after: Placement) -> TimeAllowed:
        """The time that the change from one of the moves before has."""
        late = min(after.span.length_beats, Fraction(1))
        known = self._times.get((number, late))
        if known is None:
            first = self.before[number].edge.placement
            known = self._times[number, late] = time_allowed(first, after, self.grid)
        return known


def cut_at(placement: Placement, beat: Fraction) -> Placement:
    """The placement ended at a beat, if it lasts longer."""
    span = placement.span
    if span.end_beat <= beat:
        return placement
    return replace(placement, span=BeatSpan(span.start_beat, beat - span.start_beat))


# ------------------------------------------------------------------ one move


class _Judged(NamedTuple):
    """A way to do a move at the place, and everything that was found about it."""

    way: Way
    placement: Placement
    costs: Costs
    changes: tuple[Change, ...]
    lasting: Lasting
    comfort: Comfort
    ways: int
    smooth_ways: int


def _best(
    place: _Place,
    name: str,
    styles: tuple[Style, ...],
    filters: Collection[Keeping],
    repertoire: Repertoire | None,
) -> _Judged | None:
    """The best way to do a move at the place; None if it cannot be done or does not keep."""
    best: _Judged | None = None
    ways = smooth = 0
    extra = Costs(
        variety=_variety(place, name),
        repertoire=repertoire_cost(repertoire, name)
        + practised_cost(repertoire, place.came_from, name),
    )
    for judged in _all_ways(place, name, styles, extra):
        if not all(
            keeps(one, place.before, judged.way, judged.placement, judged.changes)
            for one in filters
        ):
            continue
        ways += 1
        smooth += all(change.level is None for change in judged.changes)
        if best is None or judged.costs.total < best.costs.total:
            best = judged
    return best and best._replace(ways=ways, smooth_ways=smooth)


def _all_ways(
    place: _Place, name: str, styles: tuple[Style, ...], extra: Costs
) -> Iterator[_Judged]:
    ways = distinct_ways(name, styles, place.library, place.performer)
    if ways:
        for rate in _rates(place, ways[0].done):
            yield from _at_rate(place, ways, rate, extra)


def _rates(place: _Place, done: Performed) -> tuple[Fraction, ...]:
    """The rates worth trying: where none is comfortable, half of one downbeat a beat too."""
    beats_s = place.beat_lengths_s(Fraction(1))
    comfortable = any(
        comfort_of(done, place.performer, rate, beats_s).is_comfortable for rate in place.rates
    )
    return place.rates if comfortable else tuple(dict.fromkeys((*place.rates, HALF)))


def _at_rate(place: _Place, ways: Sequence[Way], rate: Fraction, extra: Costs) -> Iterator[_Judged]:
    """Every way at one rate: they close alike and differ in how they are entered."""
    trial = ways[0].placed(place.room.span, rate, place.facing_turns)
    fitted = Fit(trial, place.performer, place.grid, ways[0].done)
    if place.length_beats is None:
        lasting = lasting_in(place.room, fitted)
    else:
        lasting = stands_after(fitted, place.length_beats)
    span = BeatSpan(place.beat, lasting.length_beats)
    beats_s = place.beat_lengths_s(lasting.length_beats)
    costs = extra._replace(
        closure=CLOSING_COST[lasting.closing],
        phrase=ENDING_COST[place.ending(span)],
        difficulty=POINT_COST * points_of(ways[0].done, place.hand),
    )
    for way in ways:
        placement = way.placed(span, rate, place.facing_turns)
        changes = _entered(place, placement, way)
        comfort = comfort_of(way.done, place.performer, rate, beats_s)
        own = costs._replace(
            smoothness=sum(change.cost for change in changes), comfort=comfort.cost
        )
        yield _Judged(way, placement, own, changes, lasting, comfort, 0, 0)


def _entered(place: _Place, placement: Placement, way: Way) -> tuple[Change, ...]:
    """The change from each of the moves before."""
    edge = entered_edge(placement, way, place.grid)
    return tuple(
        meet(
            before.edge,
            edge,
            place.limits,
            place.grid,
            hands=before.hands,
            time=place.time(number, placement),
        )
        for number, before in enumerate(place.before)
    )


def _variety(place: _Place, name: str) -> float:
    if name == place.came_from:
        return SAME_AGAIN_COST
    return LATELY_COST if name in place.lately else 0.0


# ------------------------------------------------------------------ the answer in words


def _option(place: _Place, judged: _Judged) -> Option:
    return Option(
        judged.placement,
        judged.costs,
        max((change.kind for change in judged.changes), key=_GRAVITY.index, default=None),
        judged.lasting.closing is Closing.CLOSES,
        points_of(judged.way.done, place.hand),
        tuple(_reasons(place, judged)),
        judged.ways,
        judged.smooth_ways,
    )


_GRAVITY: tuple[Kind, ...] = ("smooth", "noticeable", "abrupt")


def _reasons(place: _Place, judged: _Judged) -> Iterator[str]:
    yield entered_words(judged.changes)
    yield lasting_words(judged.lasting, place.ending(judged.placement.span))
    if judged.comfort.rule:
        yield f"{judged.comfort.rule} at this tempo"
    if judged.placement.rate not in (place.rates[0], Fraction(1)):
        yield f"at {judged.placement.rate} downbeats a beat"
    points = judged.costs.difficulty / POINT_COST
    if points >= HARD_POINTS:
        yield f"hard, {points:g} points"
    if judged.costs.variety:
        yield "the same again" if judged.way.name == place.came_from else "seen a moment ago"
    if judged.costs.repertoire >= 1:
        yield "not firm in her repertoire"


def entered_words(changes: Sequence[Change]) -> str:
    """How a move is entered: what decides, and of which hand."""
    hardest = [change for change in changes if change.hardest is not None]
    if not changes:
        return "a new start"
    if not hardest:
        return "goes on unbroken"
    worst = max(hardest, key=lambda change: (_GRAVITY.index(change.kind), change.cost))
    one = worst.hardest
    assert one is not None
    if one.level is None:
        return "flows on"
    whose = "" if one.hand is None else f", {one.hand} hand"
    return f"{worst.kind}: {RULES[one.limit.name][0]}{whose}"


def lasting_words(lasting: Lasting, ending: Ending) -> str:
    """``"closes with a bar after 8 beats"``."""
    return f"{lasting.closing} {ending} after {beats_words(lasting.length_beats)}"
