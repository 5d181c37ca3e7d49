"""Ways out of what is found about the floor: other spots, other ways, other times to walk.

Each is tried with the whole check of the group: it must take the finding away and bring nothing as
grave about anybody.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import islice
from math import hypot
from typing import TypeAlias

from composer.arrange import edits
from composer.arrange.effect import weight_of
from composer.check.findings import Finding, Level
from composer.check.group import where_they_stand
from composer.check.spacing import EDGES, inside_m
from composer.score.floor import Place, spot_place, spots_of, ways
from composer.score.parts import PlacedMove, performed_parts
from composer.score.routine import Routine, Spot
from composer.score.stage_words import place_words
from composer.timing.beats import beats_words

FLOOR_RULES = frozenset(
    {
        "circles meet",
        "obstacle in reach",
        "reaches over the edge",
        "reaches the audience",
        "reaches past the side",
        "off the floor",
        "walks too fast",
        "leaves before she has arrived",
        "two spots on one beat",
        "hidden from the audience",
        "mirror stands askew",
    }
)
"""Findings that another spot or another way can mend."""

STEPS_M = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0)
DIRECTIONS = tuple(
    (x / hypot(x, y), y / hypot(x, y)) for x in (-1, 0, 1) for y in (-1, 0, 1) if x or y
)
SPREADS = (1.1, 1.2, 1.35, 1.5)
WAITS = (2, 4, 8)
TRAVELS = (2, 4, 8, 12, 16)

Parts: TypeAlias = dict[str, tuple[PlacedMove, ...]]
Count: TypeAlias = Counter[tuple[str, frozenset[str]]]


@dataclass(frozen=True, slots=True)
class FloorWay:
    """Another floor that mends a finding, in words."""

    kind: str
    words: str
    weight: float
    """How much it changes; less is better."""
    routine: Routine
    removes: tuple[Finding, ...]
    adds: tuple[Finding, ...]

    @property
    def cost(self) -> float:
        """How much it changes, less what else it mends: as remedies of moves are ranked."""
        return self.weight - weight_of(self.removes) + weight_of(self.adds)


def floor_ways(routine: Routine, finding: Finding, tries: int) -> Iterator[FloorWay]:
    """Every way tried here that takes a finding about the floor away and brings none as grave."""
    parts = performed_parts(routine)
    before = where_they_stand(routine, parts)
    for kind, words, weight, changed in islice(_tried(routine, finding), tries):
        after = where_they_stand(changed, parts)
        if _mends(before, after, finding):
            removes, adds = _less(before, after), _less(after, before)
            yield FloorWay(kind, words, weight, changed, removes, adds)


def _mends(before: tuple[Finding, ...], after: tuple[Finding, ...], finding: Finding) -> bool:
    """Whether there are fewer of this finding, and of no other as grave there are more."""
    old, new = _counts(before, finding.level), _counts(after, finding.level)
    own = (finding.rule, frozenset(finding.performers))
    return new[own] < old[own] and all(new[key] <= old[key] for key in new)


def _counts(found: tuple[Finding, ...], least: Level) -> Count:
    return Counter((one.rule, frozenset(one.performers)) for one in found if one.level >= least)


def _less(some: tuple[Finding, ...], others: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """What is found about people more often in the one than in the other, level by level."""
    known = Counter((one.rule, one.performers, one.level) for one in others)
    left = []
    for one in some:
        key = one.rule, one.performers, one.level
        if known[key] > 0:
            known[key] -= 1
        else:
            left.append(one)
    return tuple(left)


# ------------------------------------------------------------------ what to try

Tried: TypeAlias = tuple[str, str, float, Routine]


def _tried(routine: Routine, finding: Finding) -> Iterator[Tried]:
    if finding.rule == "two spots on one beat":
        yield from _one_of_two(routine, finding)
        return
    if finding.rule in ("walks too fast", "leaves before she has arrived"):
        yield from _other_times(routine, finding)
    for name in finding.performers:
        for spot in _spots_about(routine, name, finding.beat):
            yield from _nearer_spot(routine, finding, spot)
            yield from _other_walk(routine, spot)
            yield from _round_about(routine, finding, spot)
    if len(finding.performers) == 2:
        yield from _changed_places(routine, finding)
        yield from _spread(routine, finding)


def _spots_about(routine: Routine, name: str, beat: Fraction) -> list[Spot]:
    """The spot a performer stands at, or is walking to and from, on a beat."""
    own = spots_of(routine.spots, name)
    earlier = [spot for spot in own if spot.beat <= beat]
    later = [spot for spot in own if spot.beat > beat and spot.beat - spot.travel_beats <= beat]
    return [*later[:1], *earlier[-1:]] or own[:1]


def _move_spot(routine: Routine, spot: Spot, goal: Place) -> Routine:
    there = Place(round(goal.x_m, 2) + 0.0, round(goal.y_m, 2) + 0.0)
    return edits.set_spot(routine, replace(spot, x_m=there.x_m, y_m=there.y_m))


def _spot_words(routine: Routine, spot: Spot, goal: Place) -> str:
    position = routine.grid.meter_map.position(spot.beat)
    where = f"bar {position.bar}" if position.count == 1 else str(position)
    distance = spot_place(spot).distance_m(goal)
    place = place_words(goal, routine.stage)
    return f"{spot.performer} {distance:.2f} m away, to {place}, from {where}"


def _nearer_spot(routine: Routine, finding: Finding, spot: Spot) -> Iterator[Tried]:
    """The spot moved: just as far as is missing, then in steps in eight directions."""
    here = spot_place(spot)
    goals = [*_straight_out(routine, finding, spot)]
    goals += [
        Place(here.x_m + step * x, here.y_m + step * y) for step in STEPS_M for x, y in DIRECTIONS
    ]
    for goal in goals:
        words = _spot_words(routine, spot, goal)
        yield "spot", words, 1.0 + here.distance_m(goal), _move_spot(routine, spot, goal)


def _straight_out(routine: Routine, finding: Finding, spot: Spot) -> Iterator[Place]:
    """Straight away from whoever or whatever is too near, by what is missing."""
    if finding.measured is None or finding.limit is None or finding.unit != "m":
        return
    missing = finding.limit - finding.measured + 0.02
    here = spot_place(spot)
    for other in _in_the_way(routine, finding, spot):
        gap = here.distance_m(other)
        if gap > 0:
            yield other.towards(here, (gap + missing) / gap)
    for edge in EDGES:
        inside = inside_m(here, edge, routine.stage)
        for goal in (Place(here.x_m + x * missing, here.y_m + y * missing) for x, y in DIRECTIONS):
            if inside_m(goal, edge, routine.stage) - inside > missing - 1e-9:
                yield goal


def _in_the_way(routine: Routine, finding: Finding, spot: Spot) -> Iterator[Place]:
    found = ways(routine)
    for name in finding.performers:
        if name != spot.performer and name in found:
            yield found[name].place_at(finding.beat)
    if finding.rule == "obstacle in reach":
        yield from (Place(thing.x_m, thing.y_m) for thing in routine.stage.obstacles)


def _other_times(routine: Routine, finding: Finding) -> Iterator[Tried]:
    """More beats for the way: leaving earlier, or arriving later."""
    own = spots_of(routine.spots, finding.performer)
    for spot in own:
        if not spot.beat - spot.travel_beats <= finding.beat <= spot.beat:
            continue
        for more in (1, 2, 4, 8, 12, 16):
            longer = replace(spot, travel_beats=spot.travel_beats + more)
            words = f"{spot.performer} leaves {beats_words(Fraction(more))} earlier"
            yield "walk", words, 0.5 + more / 8, edits.set_spot(routine, longer)
            later = replace(spot, beat=spot.beat + more, travel_beats=spot.travel_beats + more)
            words = f"{spot.performer} arrives {beats_words(Fraction(more))} later"
            yield "walk", words, 0.6 + more / 8, _instead(routine, spot, later)
        for fewer in (1, 2, 3, 4, 6, 8):
            if spot.travel_beats > fewer:
                shorter = replace(spot, travel_beats=spot.travel_beats - fewer)
                words = f"{spot.performer} leaves {beats_words(Fraction(fewer))} later"
                yield "walk", words, 0.5 + fewer / 8, edits.set_spot(routine, shorter)


def _instead(routine: Routine, old: Spot, new: Spot) -> Routine:
    kept = tuple(s for s in routine.spots if (s.performer, s.beat) != (old.performer, old.beat))
    return edits.set_spot(replace(routine, spots=kept), new)


def _other_walk(routine: Routine, spot: Spot) -> Iterator[Tried]:
    """The same spots, walked at another time: the other has passed by then."""
    for wait in WAITS:
        for by in (wait, -wait):
            moved = replace(spot, beat=spot.beat + by)
            if moved.beat - moved.travel_beats >= 0 and spot.beat > 0:
                side = "later" if by > 0 else "earlier"
                words = f"{spot.performer} walks {beats_words(Fraction(wait))} {side}"
                yield "walk", words, 1.5 + wait / 4, _instead(routine, spot, moved)
    for beats in TRAVELS:
        if beats != spot.travel_beats and spot.beat - beats >= 0:
            other = replace(spot, travel_beats=Fraction(beats))
            words = f"{spot.performer} walks in {beats_words(Fraction(beats))}"
            yield "walk", words, 2.0, edits.set_spot(routine, other)


def _round_about(routine: Routine, finding: Finding, spot: Spot) -> Iterator[Tried]:
    """A bow: a spot half-way that lies beside the straight way."""
    way = ways(routine).get(spot.performer)
    if way is None or spot.travel_beats < 4:
        return
    leaves = spot.beat - spot.travel_beats
    start, goal = way.place_at(leaves), spot_place(spot)
    length = start.distance_m(goal)
    if length == 0 or not leaves <= finding.beat <= spot.beat:
        return
    middle, half = start.towards(goal, 0.5), spot.travel_beats / 2
    across = Place((goal.y_m - start.y_m) / length, (start.x_m - goal.x_m) / length)
    for aside in (0.5, 1.0, 1.5, 2.0, -0.5, -1.0, -1.5, -2.0):
        at = Place(
            round(middle.x_m + aside * across.x_m, 2), round(middle.y_m + aside * across.y_m, 2)
        )
        via = Spot(spot.performer, leaves + half, at.x_m, at.y_m, spot.facing_turns, half)
        bowed = edits.set_spot(edits.set_spot(routine, replace(spot, travel_beats=half)), via)
        words = f"{spot.performer} goes in a bow by way of {place_words(at, routine.stage)}"
        yield "bow", words, 2.0 + abs(aside), bowed


def _changed_places(routine: Routine, finding: Finding) -> Iterator[Tried]:
    """Both go where the other was to go, so that their ways do not cross."""
    one, other = finding.performers
    for first in _spots_about(routine, one, finding.beat):
        for second in _spots_about(routine, other, finding.beat):
            if first.beat == second.beat:
                swapped = _move_spot(routine, first, spot_place(second))
                swapped = _move_spot(swapped, second, spot_place(first))
                position = routine.grid.meter_map.position(first.beat)
                words = f"{one} and {other} change places from {position}"
                yield "places", words, 4.0, swapped


def _spread(routine: Routine, finding: Finding) -> Iterator[Tried]:
    """Everybody's spots of one beat further from their middle."""
    beats = {
        s.beat for name in finding.performers for s in _spots_about(routine, name, finding.beat)
    }
    for beat in sorted(beats):
        there = [spot for spot in routine.spots if spot.beat == beat]
        middle = Place(
            sum(s.x_m for s in there) / len(there), sum(s.y_m for s in there) / len(there)
        )
        for by in SPREADS:
            wider = routine
            for spot in there:
                wider = _move_spot(wider, spot, middle.towards(spot_place(spot), by))
            position = routine.grid.meter_map.position(beat)
            words = f"everybody {round(100 * (by - 1))} % further apart from {position}"
            yield "spread", words, 3.0 + 4 * (by - 1), wider


def _one_of_two(routine: Routine, finding: Finding) -> Iterator[Tried]:
    """Only the spot that is taken anyway."""
    kept = spots_of(routine.spots, finding.performer)
    others = [spot for spot in routine.spots if spot.performer != finding.performer]
    ordered = tuple(sorted((*others, *kept), key=lambda spot: spot.beat))
    words = f"keep only the last spot of {finding.performer} on each beat"
    yield "spot", words, 1.0, replace(routine, spots=ordered)
