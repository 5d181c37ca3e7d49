"""Remedies: edits tried in place and found to mend a finding without making a worse one."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain

from composer.arrange import candidates as make
from composer.arrange.candidates import Candidate, Seat
from composer.arrange.effect import Standing
from composer.arrange.floor_remedies import FLOOR_RULES, floor_ways
from composer.check.findings import Finding
from composer.moves.library import Library
from composer.score.parts import PlacedMove, performed_part
from composer.score.routine import Routine
from composer.timing.beats import BeatSpan

MOST_TRIED = 1200
"""Candidates tried for one finding before the best so far are given."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """A checked way out of a finding."""

    kind: str
    words: str
    routine: Routine
    """The routine with the remedy applied."""
    removes: tuple[Finding, ...]
    adds: tuple[Finding, ...]
    """Lesser findings that come with it; none is as grave as the one that goes."""
    cost: float
    """Less is better: how much it changes, less what else it mends."""


def remedies_for(
    routine: Routine,
    library: Library,
    finding: Finding,
    *,
    limit: int = 5,
    tries: int = MOST_TRIED,
) -> tuple[Remedy, ...]:
    """The best remedies of a finding, each tried in place with both neighbours.

    A remedy removes the finding and adds none as grave, for no performer; pinned placements stay
    as they are. An empty answer means that none of the ways tried here mends it.
    """
    if finding.rule in FLOOR_RULES:
        return _on_the_floor(routine, finding, limit, tries)
    found: list[Remedy] = []
    standing = Standing(routine, library)
    for count, candidate in enumerate(_candidates(routine, library, finding)):
        if count >= tries:
            break
        remedy = _tried(routine, standing, finding, candidate)
        if remedy is not None:
            found.append(remedy)
    found.sort(key=lambda remedy: (remedy.cost, remedy.words))
    return tuple(_varied(found, limit))


def _on_the_floor(routine: Routine, finding: Finding, limit: int, tries: int) -> tuple[Remedy, ...]:
    """Remedies by other spots and ways, judged by the check of the floor."""
    found = [
        Remedy(way.kind, way.words, way.routine, way.removes, way.adds, way.cost)
        for way in floor_ways(routine, finding, tries)
    ]
    found.sort(key=lambda remedy: (remedy.cost, remedy.words))
    return tuple(_varied(found, limit))


def _tried(
    routine: Routine, standing: Standing, finding: Finding, candidate: Candidate
) -> Remedy | None:
    if not _keeps_pins(routine, candidate.routine):
        return None
    if standing.leaves_or_worsens(candidate.routine, finding):
        return None
    found = standing.effect(candidate.routine)
    if finding.key not in {one.key for one in found.removes}:
        return None
    cost = candidate.weight - found.gain
    return Remedy(
        candidate.kind, candidate.words, candidate.routine, found.removes, found.adds, cost
    )


def _keeps_pins(old: Routine, new: Routine) -> bool:
    return all(
        placement in new.part(part.performer).placements
        for part in old.parts
        for placement in part.placements
        if placement.pinned
    )


def _varied(found: list[Remedy], limit: int) -> list[Remedy]:
    """The best, but no more than two of a kind while other kinds are to be had."""
    kept: list[Remedy] = []
    kinds: dict[str, int] = {}
    for remedy in found:
        if kinds.get(remedy.kind, 0) < 2:
            kept.append(remedy)
            kinds[remedy.kind] = kinds.get(remedy.kind, 0) + 1
    kept += [remedy for remedy in found if remedy not in kept]
    return kept[:limit]


# ------------------------------------------------------------------ what to try


def _candidates(routine: Routine, library: Library, finding: Finding) -> Iterator[Candidate]:
    seats = _seats(routine, library, finding)
    if len(seats) == 1:
        return _for_one(seats[0], finding)
    if len(seats) == 2:
        return _for_two(seats[0], seats[1], finding)
    return iter(())


def _seats(routine: Routine, library: Library, finding: Finding) -> list[Seat]:
    """The placements that a finding names, in the parts in which they are written."""
    moves = performed_part(routine, finding.performer)
    named = [moves[index] for index in finding.indexes if index < len(moves)]
    return [_seat(routine, library, move) for move in named]


def _seat(routine: Routine, library: Library, move: PlacedMove) -> Seat:
    return Seat(routine, library, routine.performer(move.written_by), move.index)


def _for_one(seat: Seat, finding: Finding) -> Iterator[Candidate]:
    grid = seat.routine.grid
    match finding.rule:
        case "unknown move" | "move cannot be done so":
            return make.other_names(seat)
        case "runs past the music":
            return make.cut_back(seat, grid.end_beat, "with the music")
        case "runs over a phrase":
            return chain(_cut_at_phrase(seat), make.lengths(seat))
        case "does not close" | "closes turned" | "closes mirrored":
            return chain(make.lengths(seat), make.rates(seat), make.restyles(seat))
        case _:
            return chain(make.rates(seat), make.restyles(seat), make.lengths(seat))


def _cut_at_phrase(seat: Seat) -> Iterator[Candidate]:
    span = seat.placement.span
    for phrase in seat.routine.grid.phrases:
        if span.start_beat < phrase.start_beat < span.end_beat:
            yield from make.cut_back(seat, phrase.start_beat, f"where {phrase.name} begins")


def _for_two(before: Seat, after: Seat, finding: Finding) -> Iterator[Candidate]:
    first, second = before.placement.span, after.placement.span
    if finding.rule == "moves overlap":
        return chain(
            make.cut_back(before, second.start_beat, f"where {after.name} begins"),
            make.begin_later(after, first.end_beat),
        )
    if finding.rule == "nothing is placed":
        room = BeatSpan(first.end_beat, second.start_beat - first.end_beat)
        words = "fill the rest with "
        return chain(
            make.lengthened(before, second.start_beat),
            make.fillers(before.routine, before, room, words),
        )
    return chain(
        make.restyles(after),
        make.restyles(before),
        make.body_turns(after),
        make.rates(after),
        make.rates(before),
        make.shared_boundary(before, after),
        make.swapped_order(before, after),
        make.bridges(before, after),
    )
