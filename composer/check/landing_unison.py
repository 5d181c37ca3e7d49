"""Unison windows: where several performers do the same move at the same place of its cycle."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import TypeAlias

from composer.check.moment import CannotEnter, performed
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
    """Whether some of them do the mirror image of the others, anywhere in it."""


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
        for span, who, mirrored in _windows(spans, doing)
        if span.length_beats >= least_beats
    ]
    return tuple(sorted(found, key=lambda one: (one.span.start_beat, -len(one.performers))))


@dataclass(frozen=True, slots=True)
class _Open:
    start_beat: Fraction
    mirrored: bool


def _windows(
    spans: Sequence[BeatSpan], doing: Mapping[str, Sequence[tuple[Doing, bool] | None]]
) -> Iterable[tuple[BeatSpan, frozenset[str], bool]]:
    running: dict[frozenset[str], _Open] = {}
    end = Fraction(0)
    for index, span in enumerate(spans):
        end = span.end_beat
        going_on: dict[frozenset[str], _Open] = {}
        for who, mirrored in _alike({name: told[index] for name, told in doing.items()}):
            _carry_on(going_on, who, _Open(span.start_beat, mirrored))
            for before, opened in running.items():
                both = before & who
                if len(both) > 1:
                    kept = _Open(opened.start_beat, opened.mirrored or mirrored)
                    _carry_on(going_on, both, kept)
        for who, opened in running.items():
            if who not in going_on or going_on[who].start_beat > opened.start_beat:
                yield _closed(who, opened, span.start_beat)
        running = going_on
    for who, opened in running.items():
        yield _closed(who, opened, end)


def _carry_on(going_on: dict[frozenset[str], _Open], who: frozenset[str], one: _Open) -> None:
    known = going_on.get(who)
    if known is None or one.start_beat < known.start_beat:
        going_on[who] = one


def _closed(
    who: frozenset[str], opened: _Open, end_beat: Fraction
) -> tuple[BeatSpan, frozenset[str], bool]:
    return BeatSpan(opened.start_beat, end_beat - opened.start_beat), who, opened.mirrored


def _alike(told: Mapping[str, tuple[Doing, bool] | None]) -> list[tuple[frozenset[str], bool]]:
    """Sets of two or more who do the same, and whether some of a set do its mirror image."""
    groups: dict[Doing, dict[str, bool]] = {}
    for name, one in told.items():
        if one is not None:
            groups.setdefault(one[0], {})[name] = one[1]
    return [
        (frozenset(group), len(set(group.values())) > 1)
        for group in groups.values()
        if len(group) > 1
    ]


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
