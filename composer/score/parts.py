"""Parts as performed: what each performer does when followed parts are worked out.

Derived placements are computed here and never written into the routine file.
"""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from composer.errors import ComposerError
from composer.moves.perform import WhichHand
from composer.score.routine import Following, Likeness, Part, Placement, Routine
from composer.score.same import Same
from composer.timing.beats import BeatSpan


@dataclass(frozen=True, slots=True)
class PlacedMove:
    """A placement as performed, and where it is written."""

    placement: Placement
    performer: str
    written_by: str
    """Whose part holds it in the file."""
    index: int
    """Its place in that part's placements."""

    @property
    def span(self) -> BeatSpan:
        return self.placement.span


def performed_parts(routine: Routine) -> dict[str, tuple[PlacedMove, ...]]:
    """Every performer's moves in time order, followed parts worked out.

    Raises
    ------
    ComposerError
        If parts follow each other in a circle; the chain is named.
    """
    done: dict[str, tuple[PlacedMove, ...]] = {}
    for performer in routine.performers:
        _work_out(routine, performer.name, done, ())
    return done


def performed_part(routine: Routine, performer: str) -> tuple[PlacedMove, ...]:
    """One performer's moves in time order, followed parts worked out."""
    return _work_out(routine, performer, {}, ())


def _work_out(
    routine: Routine,
    name: str,
    done: dict[str, tuple[PlacedMove, ...]],
    chain: tuple[str, ...],
) -> tuple[PlacedMove, ...]:
    if name in chain:
        circle = " follows ".join((*chain[chain.index(name) :], name))
        raise ComposerError(
            f"parts follow each other in a circle: {circle}; give one its own moves"
        )
    if name not in done:
        part = routine.part(name)
        sources = tuple(
            Same(_work_out(routine, following.performer, done, (*chain, name)))
            for following in part.following
        )
        done[name] = _performed(Same(part), sources)
    return done[name]


@lru_cache(maxsize=200)
def _performed(
    part: Same[Part], sources: tuple[Same[tuple[PlacedMove, ...]], ...]
) -> tuple[PlacedMove, ...]:
    """A part worked out from those it follows: the same object again while none has changed."""
    name, written = part.value.performer, part.value
    own = tuple(
        PlacedMove(placement, name, name, index)
        for index, placement in enumerate(written.placements)
    )
    if not sources:
        return own
    taken: list[PlacedMove] = []
    for following, source in zip(written.following, sources, strict=True):
        taken += _follow(source.value, following, name)
    if not own and len(sources) == 1:
        return tuple(taken)  # in the leader's order
    kept = [move for move in taken if not _is_overridden(move, written)]
    return tuple(sorted((*own, *kept), key=lambda m: (m.span.start_beat, m.index)))


def _follow(source: tuple[PlacedMove, ...], following: Following, name: str) -> list[PlacedMove]:
    voice = _voice(following.likeness, following.delay_beats)
    placements = [voice.of(move.placement) for move in source]
    return [
        PlacedMove(placement, name, move.written_by, move.index)
        for move, placement in zip(source, placements, strict=True)
        if following.span is None or _within(placement.span, following.span)
    ]


def as_followed(placement: Placement, following: Following) -> Placement:
    """A leader's placement as her follower performs it; the same object each time it is asked."""
    return _voice(following.likeness, following.delay_beats).of(placement)


MOST_KEPT = 20_000
"""Placements kept for one way of following before all are forgotten."""


class _Voice:
    """One way of following, and what came of each placement so far."""

    def __init__(self, likeness: Likeness, delay_beats: Fraction) -> None:
        self._likeness, self._delay_beats = likeness, delay_beats
        self._kept: dict[int, tuple[Placement, Placement]] = {}

    def of(self, placement: Placement) -> Placement:
        known = self._kept.get(id(placement))
        if known is not None and known[0] is placement:
            return known[1]
        if len(self._kept) > MOST_KEPT:
            self._kept.clear()
        done = delayed(like(placement, self._likeness), self._delay_beats)
        self._kept[id(placement)] = placement, done
        return done


@lru_cache(maxsize=64)
def _voice(likeness: Likeness, delay_beats: Fraction) -> _Voice:
    return _Voice(likeness, delay_beats)


def move_before(moves: Sequence[PlacedMove], move: PlacedMove) -> PlacedMove | None:
    """Of moves in time order, the last that ends by the start of this one and shares a hand."""
    hands = set(move.placement.hands)
    last: PlacedMove | None = None
    for other in begun_before(moves, move.span.start_beat):
        if other.span.end_beat <= move.span.start_beat and not hands.isdisjoint(
            other.placement.hands
        ):
            last = other if last is None or other.span.end_beat > last.span.end_beat else last
    return last


def begun_before(moves: Sequence[PlacedMove], beat: Fraction) -> Sequence[PlacedMove]:
    """Of moves in time order, those that begin before a beat."""
    return moves[: bisect_left(moves, beat, key=lambda move: move.placement.span.start_beat)]


def _within(inner: BeatSpan, outer: BeatSpan) -> bool:
    return outer.start_beat <= inner.start_beat and inner.end_beat <= outer.end_beat


def _is_overridden(move: PlacedMove, part: Part) -> bool:
    return any(
        move.span.intersects(own.span) and set(move.placement.hands) & set(own.hands)
        for own in part.placements
    )


_OTHER_HAND: dict[WhichHand, WhichHand] = {"right": "left", "left": "right", "both": "both"}


def like(placement: Placement, likeness: Likeness) -> Placement:
    """A placement as a partner performs it: the same, mirrored, or with hands swapped."""
    style = placement.style
    other = _OTHER_HAND[style.hand]
    match likeness:
        case Likeness.MIRRORED:
            mirrored = replace(style, mirrored=not style.mirrored, hand=other)
            return replace(placement, style=mirrored, facing_turns=-placement.facing_turns)
        case Likeness.HANDS_SWAPPED:
            return replace(placement, style=replace(style, swapped=not style.swapped, hand=other))
        case _:
            return placement


def delayed(placement: Placement, by_beats: Fraction) -> Placement:
    return replace(placement, span=placement.span.shifted(by_beats))
