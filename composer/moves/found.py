"""A search over hybrids: even patterns all at once on arrays, the others one by one."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from composer.motion.approach import Parts, extremes
from composer.motion.batch import TICKS
from composer.motion.body import Body, Prop
from composer.motion.family import Family, families
from composer.motion.hands import TwoHands
from composer.motion.measures import fastest
from composer.motion.relate import entries
from composer.motion.relation import constant_relation, head_relations
from composer.motion.tension import tension
from composer.moves.difficulty import difficulty
from composer.moves.explore import (
    FOUR_RELATIONS,
    UNTURNED,
    Candidates,
    candidates,
    combined_hybrid,
    is_even,
)
from composer.moves.model import Hybrid, OneHandMove, Relation, Use
from composer.moves.perform import Style, drawn, perform
from composer.moves.wanted import AtTempo, Wanted, at_tempo, chosen


@dataclass(frozen=True, slots=True)
class FoundHybrid:
    """A hybrid and what it was chosen by."""

    hybrid: Hybrid
    families: frozenset[Family]
    downbeats: tuple[int, int]
    """Right, left, in the common cycle."""
    closing_turns: int
    """Hand turns of the common cycle; of hands that make none, its cycles."""
    heads: Relation | None
    """Where the heads keep one relation throughout."""
    nearest_heads_m: float
    furthest_heads_m: float
    head_speed_m_s: float
    points: float
    feasible: bool


@dataclass(frozen=True, slots=True)
class Search:
    """What a search came to: how many there are, how many are as wanted, and the easiest."""

    combined: int
    as_wanted: int
    shown: tuple[FoundHybrid, ...]


@dataclass(frozen=True, slots=True)
class Tempo:
    """Beats a minute, and downbeats of the busier hand for each beat."""

    bpm: float = 120.0
    rate: Fraction = Fraction(1)


def search(
    moves: Sequence[OneHandMove],
    body: Body,
    props: tuple[Prop, Prop],
    wanted: Wanted,
    *,
    relations: Sequence[Relation] = FOUR_RELATIONS,
    orientations: Sequence[Fraction] = UNTURNED,
    tempo: Tempo = Tempo(),
    limit: int = 20,
) -> Search:
    """All hybrids of the moves, each pair both ways round, and the easiest of those wanted.

    Tens of thousands of hybrids of even patterns take a second; one with a part put together or
    swinging takes some hundredths of a second each.

    Raises
    ------
    ValueError
        If there is no move or the moves lie in different planes.
    """
    if len({move.plane for move in moves}) != 1:
        raise ValueError("hybrids are sought in one plane; give moves of one plane")
    even = [move for move in moves if is_even(move)]
    combined = as_wanted = 0
    shown: list[FoundHybrid] = []
    if even:
        rows = candidates(even, body, props, relations=relations, orientations=orientations)
        speeds = at_tempo(rows, tempo.bpm, tempo.rate)
        numbers = chosen(rows, wanted)
        if wanted.feasible:
            numbers = numbers[speeds.feasible(body, props)[numbers]]
        combined, as_wanted = len(rows), len(numbers)
        fits = speeds.feasible(body, props)
        shown = [
            _of_row(rows, int(number), speeds, bool(fits[number])) for number in numbers[:limit]
        ]
    uneven = [
        looked_at(hybrid, body, props, tempo)
        for hybrid in _uneven(moves, body, props, relations, orientations)
    ]
    kept = [found for found in uneven if is_wanted(found, wanted)]
    ordered = sorted([*shown, *kept], key=lambda found: found.points)
    return Search(combined + len(uneven), as_wanted + len(kept), tuple(ordered[:limit]))


def _of_row(rows: Candidates, number: int, speeds: AtTempo, fits: bool) -> FoundHybrid:
    told = rows.rows
    timing = int(told.head_timing[number])
    heads = None
    if timing >= 0:
        heads = Relation(Fraction(timing, TICKS), "same" if told.heads_same[number] else "opposite")
    return FoundHybrid(
        rows.hybrid(number),
        rows.families(number),
        (int(told.right_downbeats[number]), int(told.left_downbeats[number])),
        int(told.closing_turns[number]),
        heads,
        float(told.nearest_heads_m[number]),
        float(told.furthest_heads_m[number]),
        float(speeds.head_speed_m_s[number]),
        float(rows.points[number]),
        fits,
    )


def _uneven(
    moves: Sequence[OneHandMove],
    body: Body,
    props: tuple[Prop, Prop],
    relations: Sequence[Relation],
    orientations: Sequence[Fraction],
) -> Iterator[Hybrid]:
    """Every hybrid in which at least one hand is not even, where its relation can be."""
    for right in moves:
        for left in moves:
            if is_even(right) and is_even(left):
                continue
            for turned in orientations:
                patterns = (
                    drawn(Use(right), body, props[0]),
                    drawn(Use(left, turned), body, props[1]),
                )
                for relation in relations:
                    for entry in range(entries(*patterns, relation.timing, relation.direction)):
                        yield combined_hybrid(right, left, relation, turned, entry + 1)


def looked_at(hybrid: Hybrid, body: Body, props: tuple[Prop, Prop], tempo: Tempo) -> FoundHybrid:
    """One hybrid of any kind, by itself."""
    performance = perform(hybrid, Style(), body, props)
    two = performance.two_hands
    assert two is not None
    cycle_s = float(performance.cycle_beats(tempo.rate)) * 60 / tempo.bpm
    traced = None if hybrid.tracing is None else hybrid.tracing.metres_for(body, props[0])
    apart = extremes(performance.room_pair or two, Parts.HEADS)
    steady = constant_relation(head_relations(two))
    heads = None
    if steady is not None and steady.direction != "still":
        heads = Relation(steady.timing, steady.direction)
    return FoundHybrid(
        hybrid,
        families(two, traced_m=traced),
        (len(two.right.downbeats), len(two.left.downbeats)),
        _closing_turns(two),
        heads,
        apart.nearest_m,
        apart.furthest_m,
        max(
            fastest(track.pattern, cycle_s=cycle_s / track.cycles).value
            for track in performance.tracks.values()
        ),
        difficulty(performance).points,
        _is_feasible(two, cycle_s, body, props),
    )


def _closing_turns(two: TwoHands) -> int:
    turns = [abs(track.pattern.hand_turns) * track.cycles for track in (two.right, two.left)]
    return max(1, *(int(count) for count in turns), two.right.cycles, two.left.cycles)


def _is_feasible(two: TwoHands, cycle_s: float, body: Body, props: tuple[Prop, Prop]) -> bool:
    for track, prop in zip((two.right, two.left), props, strict=True):
        own_s = cycle_s / track.cycles
        if prop.is_tether and not tension(track.pattern, prop, cycle_s=own_s).is_taut:
            return False
        if fastest(track.pattern, "hand", cycle_s=own_s).value > body.comfort.hand_speed_m_s:
            return False
        turns_per_s = float(abs(track.pattern.hand_turns)) / own_s
        if turns_per_s > body.comfort.hand_turns_per_s:
            return False
    return True


def is_wanted(found: FoundHybrid, wanted: Wanted) -> bool:
    """Whether one hybrid is as wanted."""
    return (
        wanted.families <= found.families
        and wanted.downbeats in (None, max(found.downbeats))
        and wanted.closing_turns in (None, found.closing_turns)
        and wanted.heads in (None, found.heads)
        and (wanted.clearance_m is None or found.nearest_heads_m >= wanted.clearance_m)
        and (wanted.most_points is None or found.points <= wanted.most_points + 1e-9)
        and (found.feasible or not wanted.feasible)
    )
