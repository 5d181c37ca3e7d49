"""Parts as performed: what each performer does when followed parts are worked out.

Derived placements are computed here and never written into the routine file.
"""

from dataclasses import dataclass, replace
from fractions import Fraction

from composer.errors import ComposerError
from composer.moves.perform import WhichHand
from composer.score.routine import Following, Likeness, Part, Placement, Routine
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
        own = tuple(
            PlacedMove(placement, name, name, index)
            for index, placement in enumerate(part.placements)
        )
        taken: list[PlacedMove] = []
        for following in part.following:
            source = _work_out(routine, following.performer, done, (*chain, name))
            taken += _follow(source, following, name)
        kept = [move for move in taken if not _is_overridden(move, part)]
        done[name] = tuple(sorted((*own, *kept), key=lambda m: (m.span.start_beat, m.index)))
    return done[name]


def _follow(source: tuple[PlacedMove, ...], following: Following, name: str) -> list[PlacedMove]:
    followed = []
    for move in source:
        placement = delayed(like(move.placement, following.likeness), following.delay_beats)
        if following.span is None or _within(placement.span, following.span):
            followed.append(replace(move, placement=placement, performer=name))
    return followed


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
