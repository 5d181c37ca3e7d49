"""Unison windows: where several performers do the same move at the same place of its cycle."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import TypeAlias

from composer.check.performed import CannotEnter, performed
from composer.errors import UnknownName
from composer.moves.library import Library
from composer.score.parts import PlacedMove, like, performed_parts
from composer.score.routine import Likeness, Performer, Placement, Routine
from composer.timing.beats import BeatSpan

LEAST_BEATS = Fraction(4)
"""Ours: less than a bar together is not seen as unison."""


@dataclass(frozen=True, slots=True)
class UnisonWindow:
    """The longest stretch through which exactly these performers, at least, are alike."""

    span: BeatSpan
    performers: tuple[str, ...]
    mirrored: bool
    """Whether some of them do the mirror image of the others, all through it."""


Doing: TypeAlias = tuple[tuple[object, ...], ...]
"""What somebody does at an instant, the same for unison and for the mirror image."""


def unison_windows(
    routine: Routine, library: Library, *, least_beats: Fraction = LEAST_BEATS
) -> tuple[UnisonWindow, ...]:
    """Every set of two or more who are in unison or mirrored, each for as long as it lasts.

    A set is told only where it is not part of a larger one that lasts as long. Alike are two at
    the same move, rate and way, in the same place of its cycle, whenever each has begun it.
    """
    parts = performed_parts(routine)
    spans_of_all = [move.span for moves in parts.values() for move in moves]
    edges = sorted({e for s in spans_of_all for e in (s.start_beat, s.end_beat)})
    spans = [BeatSpan(start, end - start) for start, end in pairwise(edges)]
    doing = {
        name: _doing(moves, spans, routine.performer(name), library)
        for name, moves in parts.items()
    }
    order = list(parts)
    found = [
        UnisonWindow(span, tuple(name for name in order if name in who), mirrored)
        for mirrored in (False, True)
        for span, who in _windows(spans, doing, mirrored=mirrored)
        if span.length_beats >= least_beats
    ]
    return tuple(sorted(found, key=lambda one: (one.span.start_beat, -len(one.performers))))


@dataclass(frozen=True, slots=True)
class _Alike:
    """Who do the same from a beat on, and who of them did its mirror image, each time anew."""

    start_beat: Fraction
    images: frozenset[frozenset[str]]

    def holds_for(self, who: frozenset[str], *, mirrored: bool) -> bool:
        """Whether all are in unison all the time; or, mirrored, on two sides of a mirror."""
        return all((0 < len(who & image) < len(who)) is mirrored for image in self.images)


def _windows(
    spans: Sequence[BeatSpan],
    doing: Mapping[str, Sequence[tuple[Doing, bool] | None]],
    *,
    mirrored: bool,
) -> Iterator[tuple[BeatSpan, frozenset[str]]]:
    running: dict[frozenset[str], _Alike] = {}
    end = Fraction(0)
    for index, span in enumerate(spans):
        end = span.end_beat
        going_on: dict[frozenset[str], _Alike] = {}
        told = {name: one[index] for name, one in doing.items()}
        for who, image in _alike(told, mirrored=mirrored):
            here = frozenset({image})
            _carry_on(going_on, who, _Alike(span.start_beat, here))
            for before, alike in running.items():
                both, longer = before & who, _Alike(alike.start_beat, alike.images | here)
                if len(both) > 1 and longer.holds_for(both, mirrored=mirrored):
                    _carry_on(going_on, both, longer)
        for who, alike in running.items():
            if who not in going_on or going_on[who].start_beat > alike.start_beat:
                yield BeatSpan(alike.start_beat, span.start_beat - alike.start_beat), who
        running = going_on
    for who, alike in running.items():
        yield BeatSpan(alike.start_beat, end - alike.start_beat), who


def _carry_on(going_on: dict[frozenset[str], _Alike], who: frozenset[str], one: _Alike) -> None:
    known = going_on.get(who)
    if known is None or one.start_beat < known.start_beat:
        going_on[who] = one


def _alike(
    told: Mapping[str, tuple[Doing, bool] | None], *, mirrored: bool
) -> list[tuple[frozenset[str], frozenset[str]]]:
    """Sets of two or more who do the same, and who of each set do its mirror image.

    In unison the two sides of a mirror are sets of their own; mirrored, a set has both sides.
    """
    groups: dict[tuple[Doing, bool], dict[str, bool]] = {}
    for name, one in told.items():
        if one is not None:
            groups.setdefault((one[0], one[1] and not mirrored), {})[name] = one[1]
    found = []
    for group in groups.values():
        image = frozenset(name for name, is_image in group.items() if is_image)
        if len(group) > 1 and (not mirrored or 0 < len(image) < len(group)):
            found.append((frozenset(group), image))
    return found


def _doing(
    moves: Sequence[PlacedMove], spans: Sequence[BeatSpan], performer: Performer, library: Library
) -> list[tuple[Doing, bool] | None]:
    """For each span what one performer does all through it, and whether that is a mirror image."""
    found: list[tuple[Doing, bool] | None] = [None] * len(spans)
    starts = {span.start_beat: index for index, span in enumerate(spans)}
    under_way: dict[int, list[Placement]] = {}
    for move in moves:
        index = starts[move.span.start_beat]
        while index < len(spans) and spans[index].start_beat < move.span.end_beat:
            under_way.setdefault(index, []).append(move.placement)
            index += 1
    for index, placements in under_way.items():
        found[index] = _what(placements, spans[index].start_beat, performer, library)
    return found


def _what(
    placements: Sequence[Placement], beat: Fraction, performer: Performer, library: Library
) -> tuple[Doing, bool]:
    cycles = [_cycle_beats(p, performer, library) for p in placements]
    plain = sorted(_key(p, beat, cycle) for p, cycle in zip(placements, cycles, strict=True))
    mirrored = sorted(
        _key(like(p, Likeness.MIRRORED), beat, cycle)
        for p, cycle in zip(placements, cycles, strict=True)
    )
    return (tuple(min(plain, mirrored)), mirrored < plain)


def _cycle_beats(placement: Placement, performer: Performer, library: Library) -> Fraction | None:
    try:
        done = performed(placement, performer, library)
    except (UnknownName, CannotEnter):
        return None
    return done.performance.cycle_beats(placement.rate)


def _key(placement: Placement, beat: Fraction, cycle_beats: Fraction | None) -> tuple[str, ...]:
    """Everything that can be seen of a placement at an instant, as words that can be sorted."""
    passed = beat - placement.span.start_beat
    if cycle_beats is not None:
        passed %= cycle_beats
    style = replace(placement.style, mirrored=False, hand="both")
    return (
        placement.move,
        str(placement.rate),
        str(passed),
        placement.style.hand,
        str(placement.style.mirrored),
        str(placement.facing_turns),
        repr(style),
    )
