"""What is found about spots as written and the ways between them: who hurries, who has no spot."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from composer.check.findings import Finding, Level
from composer.check.landing import MovesInOrder
from composer.check.limits import limits_for
from composer.check.physics import beat_lengths_s
from composer.score.floor import Place, Way, leaves_at, spot_place
from composer.score.parts import PlacedMove
from composer.score.routine import Performer, Routine, Stage
from composer.score.same import Same
from composer.score.stage_words import place_words
from composer.timing.beats import BeatSpan, beats_words
from composer.timing.grid import MusicGrid


def spot_findings(routine: Routine, found: Mapping[str, Way]) -> Iterator[Finding]:
    """Spots that are missing, written twice, or left before they are reached."""
    if len(routine.performers) > 1:
        yield from _without_spots(routine, found)
    yield from _twice(routine)
    for way in found.values():
        yield from _hurried(Same(way))


def _without_spots(routine: Routine, found: Mapping[str, Way]) -> Iterator[Finding]:
    names = tuple(p.name for p in routine.performers if p.name not in found)
    if names:
        yield Finding(
            "no spot",
            Level.NOTE,
            names[0],
            Fraction(0),
            f"{names_words(names)} {'has' if len(names) == 1 else 'have'} no spot on the floor",
            "Without spots nobody can see who comes near to whom.",
            others=names[1:],
        )


def _twice(routine: Routine) -> Iterator[Finding]:
    counts = Counter((spot.performer, spot.beat) for spot in routine.spots)
    for (name, beat), count in counts.items():
        if count > 1:
            yield Finding(
                "two spots on one beat",
                Level.WARNING,
                name,
                beat,
                f"{name} has {count} spots on the same beat; the last one is taken",
                "Nobody can be in two places at once.",
            )


@lru_cache(maxsize=1_000)
def _hurried(way: Same[Way]) -> tuple[Finding, ...]:
    """Where she would have to leave for the next spot before she has reached this one."""
    found = []
    name = way.value.performer
    for before, spot in pairwise(way.value.spots):
        missing = spot.travel_beats - (spot.beat - leaves_at(spot, before))
        if missing > 0 and spot_place(before) != spot_place(spot):
            found.append(
                Finding(
                    "leaves before she has arrived",
                    Level.WARNING,
                    name,
                    before.beat,
                    f"{name} would have to leave for the next spot {beats_words(missing)} before "
                    "she arrives here",
                    "The way that is left is shorter in time than planned.",
                    measured=float(missing),
                    unit="beats",
                )
            )
    return tuple(found)


# ------------------------------------------------------------------ walking


class Walk(NamedTuple):
    """A straight way between two spots."""

    start_beat: Fraction
    end_beat: Fraction
    goal: Place
    distance_m: float
    speed_m_s: float
    """At the fastest tempo met: she walks evenly by the beat. 0 where she has no beats at all."""


@lru_cache(maxsize=1_000)
def walks(way: Same[Way], grid: Same[MusicGrid]) -> tuple[Walk, ...]:
    """Every walk of a way in time order."""
    found = []
    for before, spot in pairwise(way.value.spots):
        start, goal = leaves_at(spot, before), spot_place(spot)
        distance = spot_place(before).distance_m(goal)
        if not distance:
            continue
        speed = 0.0
        if start < spot.beat:
            span = BeatSpan(start, spot.beat - start)
            shortest_s, _ = beat_lengths_s(span, grid.value)
            speed = distance / (float(span.length_beats) * shortest_s)
        found.append(Walk(start, spot.beat, goal, distance, speed))
    return tuple(found)


def walk_findings(
    routine: Routine, found: Mapping[str, Way], parts: Mapping[str, Sequence[PlacedMove]]
) -> Iterator[Finding]:
    """Walks that are too fast for somebody who spins, or for anybody."""
    for name, way in found.items():
        performer, moves = routine.performer(name), parts.get(name, ())
        table = limits_for(performer)
        slowest = min(table[limit].note for limit in ("walk while spinning", "walk at rest"))
        hurried = [
            walk
            for walk in walks(Same(way), Same(routine.grid))
            if walk.start_beat == walk.end_beat or walk.speed_m_s >= slowest
        ]
        if hurried:
            busy = MovesInOrder(moves)
            for walk in hurried:
                yield from _too_fast(performer, walk, busy, routine.stage)


def _too_fast(
    performer: Performer, walk: Walk, busy: MovesInOrder, stage: Stage
) -> Iterator[Finding]:
    goal = place_words(walk.goal, stage)
    if walk.start_beat == walk.end_beat:
        yield Finding(
            "walks too fast",
            Level.ERROR,
            performer.name,
            walk.end_beat,
            f"{performer.name} has no beats at all to go {walk.distance_m:.2f} m to {goal}",
            "A way needs beats to walk it.",
            measured=walk.distance_m,
            unit="m",
        )
        return
    spins = busy.during(walk.start_beat, walk.end_beat)
    limit = limits_for(performer)["walk while spinning" if spins else "walk at rest"]
    level = limit.level(walk.speed_m_s)
    if level is not None:
        beats = beats_words(walk.end_beat - walk.start_beat)
        yield Finding(
            "walks too fast",
            level,
            performer.name,
            walk.start_beat,
            f"{performer.name} has {beats} to get to {goal}, "
            f"{'spinning' if spins else 'with nothing placed'}: {walk.speed_m_s:.2f} m/s",
            "Who hurries bounces, and the heads with her.",
            measured=walk.speed_m_s,
            limit=limit.at(level),
            unit=limit.unit,
        )


def names_words(names: Sequence[str]) -> str:
    """``"Wren, Lark and Tern"``."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
