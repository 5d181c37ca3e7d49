"""What can follow at a place: every move of the library in its ways, ranked, with the reasons.

The way that flows best is kept of each move. What counts: how smoothly it is entered from what
goes before, whether it closes, where it leaves the phrase, comfort at this tempo, difficulty,
variety, and what the performer has in her repertoire (:mod:`composer.arrange.costs`).
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
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
    points_of,
    practised_cost,
    repertoire_cost,
)
from composer.arrange.keeping import Keeping, keeps
from composer.arrange.place import Place
from composer.arrange.room import Lasting, lasting_in, stands_after
from composer.arrange.ways import (
    Way,
    distinct_ways,
    entered_edge,
    meet,
)
from composer.check.change import Change, Kind
from composer.check.fit import Fit
from composer.check.performed import Performed
from composer.check.transition_words import RULES
from composer.moves.library import Library
from composer.moves.perform import Style, WhichHand
from composer.score.repertoire import Repertoire
from composer.score.routine import Placement, Routine
from composer.timing.beats import BeatSpan, beats_words

SAME_AGAIN_COST = 1.5
LATELY_COST = 0.5
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
    place = Place(routine, library, routine.performer(performer), beat, hand, length_beats)
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
    place: Place,
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
    place: Place, name: str, styles: tuple[Style, ...], extra: Costs
) -> Iterator[_Judged]:
    ways = distinct_ways(name, styles, place.library, place.performer)
    if ways:
        for rate in _rates(place, ways[0].done):
            yield from _at_rate(place, ways, rate, extra)


def _rates(place: Place, done: Performed) -> tuple[Fraction, ...]:
    """The rates worth trying: where none is comfortable, half of one downbeat a beat too."""
    beats_s = place.beat_lengths_s(Fraction(1))
    comfortable = any(
        comfort_of(done, place.performer, rate, beats_s).is_comfortable for rate in place.rates
    )
    return place.rates if comfortable else tuple(dict.fromkeys((*place.rates, HALF)))


def _at_rate(place: Place, ways: Sequence[Way], rate: Fraction, extra: Costs) -> Iterator[_Judged]:
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


def _entered(place: Place, placement: Placement, way: Way) -> tuple[Change, ...]:
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


def _variety(place: Place, name: str) -> float:
    if name == place.came_from:
        return SAME_AGAIN_COST
    return LATELY_COST if name in place.lately else 0.0


# ------------------------------------------------------------------ the answer in words


def _option(place: Place, judged: _Judged) -> Option:
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


def _reasons(place: Place, judged: _Judged) -> Iterator[str]:
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
