"""Whether what stands in the routine is firm enough, now that the performance is so near."""

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from composer.check.findings import Finding, Level
from composer.errors import UnknownName
from composer.moves.library import Library
from composer.score.parts import PlacedMove, performed_parts
from composer.score.repertoire import Firmness, Repertoire
from composer.score.routine import Routine


@dataclass(frozen=True, slots=True)
class Nearness:
    """From so many days before the performance on, what is less firm is found."""

    days: int
    wanted: Firmness
    level: Level


NEARNESS = (
    Nearness(3, Firmness.READY, Level.WARNING),
    Nearness(10, Firmness.RELIABLE, Level.WARNING),
    Nearness(10, Firmness.READY, Level.NOTE),
    Nearness(42, Firmness.RELIABLE, Level.NOTE),
)
"""Ours, no source: what is still being learnt in the last ten days is seldom sure on the day, and
what is not ready in the last three is better left out or made easier. The first that applies
counts."""

NOT_READY, WAY_NOT_READY = "not ready", "way in not ready"
READINESS_RULES = frozenset((NOT_READY, WAY_NOT_READY))
WHY = "What is not firm in rehearsal fails on stage; practise it, or put in what she has."


def readiness_findings(
    routine: Routine,
    repertoires: Mapping[str, Repertoire],
    library: Library,
    today: datetime.date,
) -> tuple[Finding, ...]:
    """Moves, and ways into them, that are not as firm as so near the date they should be.

    Each is told once, where it stands first. Performers without a repertoire are not judged; of
    transitions only those are that her repertoire names. Nothing is found without a date, or
    after it.
    """
    if routine.performance_date is None:
        return ()
    days = (routine.performance_date - today).days
    if days < 0:
        return ()
    return tuple(
        finding
        for name, moves in performed_parts(routine).items()
        if name in repertoires
        for finding in _of(repertoires[name], moves, library, days)
    )


def level_of(firmness: Firmness | None, days: int) -> Level | None:
    """How grave it is that something is had so firmly, or not at all, so many days before."""
    return next(
        (
            near.level
            for near in NEARNESS
            if days <= near.days and (firmness is None or firmness < near.wanted)
        ),
        None,
    )


def _of(
    repertoire: Repertoire, moves: tuple[PlacedMove, ...], library: Library, days: int
) -> Iterator[Finding]:
    told: set[object] = set()
    before = ""
    for index, move in enumerate(moves):
        name = _called(move, library)
        firmness = repertoire.of_move(name)
        if name not in told:
            told.add(name)
            words = f"{name}: {_words(firmness)}"
            yield from _finding(repertoire, move, index, firmness, days, words)
        pair = before, name
        way = repertoire.of_transition(*pair)
        if way is not None and pair not in told and (firmness is None or way < firmness):
            told.add(pair)
            words = f"{before} into {name}: {_words(way)}"
            yield from _finding(repertoire, move, index, way, days, words, WAY_NOT_READY)
        before = name


def _called(move: PlacedMove, library: Library) -> str:
    """The name the library lists it under; the name as written where it has none."""
    try:
        return library.get(move.placement.move).name
    except UnknownName:
        return move.placement.move


def _words(firmness: Firmness | None) -> str:
    return "not in her repertoire" if firmness is None else f"{firmness}"


def _finding(
    repertoire: Repertoire,
    move: PlacedMove,
    index: int,
    firmness: Firmness | None,
    days: int,
    words: str,
    rule: str = NOT_READY,
) -> Iterator[Finding]:
    level = level_of(firmness, days)
    if level is not None:
        yield Finding(
            rule,
            level,
            repertoire.performer,
            move.span.start_beat,
            f"{words}, {days} day{'' if days == 1 else 's'} before the performance",
            WHY,
            moves=(move.placement.move,),
            indexes=(index,),
            measured=float(days),
            unit="days",
        )
