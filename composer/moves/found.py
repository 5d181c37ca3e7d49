"""A search over hybrids: all of them told apart at once, the easiest of those wanted shown."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from composer.motion.body import Body, Prop
from composer.motion.family import Family
from composer.moves.explore import FOUR_RELATIONS, UNTURNED, Candidates, candidates
from composer.moves.model import Hybrid, OneHandMove, Relation
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

    Moves of several planes are combined plane by plane. Tens of thousands take a second.

    Raises
    ------
    ValueError
        If there is no move.
    """
    if not moves:
        raise ValueError("give at least one move")
    combined = as_wanted = 0
    shown: list[FoundHybrid] = []
    for plane in dict.fromkeys(move.plane for move in moves):
        alike = [move for move in moves if move.plane is plane]
        rows = candidates(alike, body, props, relations=relations, orientations=orientations)
        speeds = at_tempo(rows, tempo.bpm, tempo.rate)
        fits = speeds.feasible(body, props)
        numbers = chosen(rows, wanted)
        if wanted.feasible:
            numbers = numbers[fits[numbers]]
        combined, as_wanted = combined + len(rows), as_wanted + len(numbers)
        shown += [_of_row(rows, int(n), speeds, bool(fits[n])) for n in numbers[:limit]]
    easiest = sorted(shown, key=lambda found: found.points)
    return Search(combined, as_wanted, tuple(easiest[:limit]))


def _of_row(rows: Candidates, number: int, speeds: AtTempo, fits: bool) -> FoundHybrid:
    told = rows.rows
    heads, sense = None, int(told.heads_sense[number])
    if sense:
        timing = Fraction(float(told.head_timing[number])).limit_denominator(10_000)
        heads = Relation(timing, "same" if sense > 0 else "opposite")
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
