"""What is found about the floor: who comes too near, walks too fast or is not seen."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import combinations
from math import ceil, floor

from composer.check.findings import Finding, Level
from composer.check.limits import Limit, limits_for
from composer.check.spacing import (
    EDGES,
    Nearness,
    apart_limit,
    times_near_a_place,
    times_near_an_edge,
    times_nearer,
)
from composer.check.spacing_sight import Covered, covered
from composer.check.spacing_walks import names_words, spot_findings, walk_findings
from composer.score.floor import Place, Way, reach_m, ways
from composer.score.parts import PlacedMove
from composer.score.routine import Performer, Routine, Stage
from composer.score.same import Same
from composer.timing.beats import BeatSpan, beats_words
from composer.timing.grid import MusicGrid

HITS = "Heads run at the end of arm and prop: where a circle is entered they can hit."


def floor_findings(
    routine: Routine, parts: dict[str, tuple[PlacedMove, ...]]
) -> tuple[Finding, ...]:
    """Everything that spots and the ways between them bring with them, nobody's moves judged.

    Parameters
    ----------
    parts : dict
        Everybody's performed moves: who has a move under way spins while she walks.
    """
    found = ways(routine)
    span = piece_span(routine, found)
    people = {name: routine.performer(name) for name in found}
    desk = _Desk(routine.stage, routine.grid, people, found, span)
    return (
        *spot_findings(routine, found),
        *desk.pairs(),
        *desk.obstacles(),
        *desk.edges(),
        *walk_findings(routine, found, parts),
        *desk.sight(),
        *_fire(routine),
    )


def piece_span(routine: Routine, found: dict[str, Way]) -> BeatSpan:
    """From the first beat of music or way to the last."""
    firsts = [way.spots[0].beat for way in found.values()]
    lasts = [way.spots[-1].beat + 1 for way in found.values()]
    start = min([Fraction(0), *firsts])
    return BeatSpan(start, max([routine.grid.end_beat, *lasts]) - start)


@dataclass(frozen=True)
class _Desk:
    """A floor while it is judged."""

    stage: Stage
    grid: MusicGrid
    people: Mapping[str, Performer]
    ways: Mapping[str, Way]
    span: BeatSpan

    # -------------------------------------------------------------- people and things

    def pairs(self) -> Iterator[Finding]:
        """Two people after two: what is found about them is kept while their ways stay the same."""
        where = Same(self.stage), Same(self.grid)
        known = [(Same(self.people[name]), Same(way)) for name, way in self.ways.items()]
        for one, other in combinations(known, 2):
            yield from _pair(*one, *other, *where, self.span)

    def pair(self, first: Performer, second: Performer) -> Iterator[Finding]:
        limit = apart_limit(self.stage, first, second)
        reaches = reach_m(first), reach_m(second)
        two = self.ways[first.name], self.ways[second.name]
        for time in times_nearer(*two, sum(reaches) + limit.note, self.span):
            free = time.nearest.distance_m - sum(reaches)
            who = f"{first.name} and {second.name} {'pass' if time.walking else 'stand'}"
            yield from self._near(
                "circles meet",
                limit,
                time,
                free,
                f"{who} {time.nearest.distance_m:.2f} m apart, their reaches take "
                f"{reaches[0]:.2f} and {reaches[1]:.2f} m",
                (first.name, second.name),
                over="the circles overlap by {}",
            )

    def obstacles(self) -> Iterator[Finding]:
        for (name, way), thing in (
            (item, thing) for item in self.ways.items() for thing in self.stage.obstacles
        ):
            performer = self.people[name]
            limit = apart_limit(self.stage, performer)
            taken = reach_m(performer) + thing.radius_m
            place = Place(thing.x_m, thing.y_m)
            for time in times_near_a_place(way, place, taken + limit.note, self.span):
                yield from self._near(
                    "obstacle in reach",
                    limit,
                    time,
                    time.nearest.distance_m - taken,
                    f"{name} {'passes' if time.walking else 'stands'} "
                    f"{time.nearest.distance_m:.2f} m from the middle of {thing.name}",
                    (name,),
                )

    def _near(
        self,
        rule: str,
        limit: Limit,
        time: Nearness,
        free_m: float,
        words: str,
        names: tuple[str, ...],
        *,
        over: str = "the circle reaches {} into it",
        why: str = HITS,
    ) -> Iterator[Finding]:
        level = limit.level(free_m)
        if level is None:
            return
        space = f"{free_m:.2f} m are left free"
        if free_m <= 0:
            space = over.format(f"{-free_m:.2f} m")
        yield Finding(
            rule,
            level,
            names[0],
            _whole_beat(time.nearest.beat),
            f"{words}: {space}, {self._when(time)}",
            why,
            measured=free_m,
            limit=limit.at(level),
            unit=limit.unit,
            others=names[1:],
        )

    def _when(self, time: Nearness) -> str:
        if time.start_beat <= self.span.start_beat and time.end_beat >= self.span.end_beat:
            return "all through the piece"
        position = self.grid.meter_map.position
        start = _whole_beat(time.start_beat)
        if time.end_beat >= self.span.end_beat:
            return f"from {position(start)} to the end"
        end = max(Fraction(ceil(time.end_beat - 1e-9)), start + 1)
        return f"from {position(start)} to {position(end)}"

    # -------------------------------------------------------------- edges

    def edges(self) -> Iterator[Finding]:
        for name in self.ways:
            for edge in EDGES:
                audience = edge == "front edge" or self.stage.in_the_round
                yield from self._edge(name, edge, audience=audience)
                yield from self._beyond(name, edge, audience=audience)

    def _edge(self, name: str, edge: str, *, audience: bool) -> Iterator[Finding]:
        performer = self.people[name]
        reach, away = reach_m(performer), self.stage.audience_distance_m
        if audience and away is not None:
            limit, rule, room = apart_limit(self.stage, performer), "reaches the audience", away
            what, why = "the audience", "Nobody in the audience has agreed to be near a head."
        elif audience:
            limit, rule, room = limits_for(performer)["front edge"], "reaches over the edge", 0.0
            what, why = f"the {edge}", "Who sits or stands there is in reach of a head."
        else:
            limit, rule, room = limits_for(performer)["side edge"], "reaches past the side", 0.0
            what, why = f"the {edge}", "Curtains and whoever waits there are in reach."
        for time in self._near_an_edge(name, edge, reach + limit.note - room):
            free = time.nearest.distance_m + room - reach
            middle = f"{time.nearest.distance_m + room:.2f} m from {what}"
            verb = "passes" if time.walking else "stands"
            words, over = f"{name} {verb} {middle}", "the circle reaches {} too far"
            yield from self._near(rule, limit, time, free, words, (name,), over=over, why=why)

    def _near_an_edge(self, name: str, edge: str, level_m: float) -> tuple[Nearness, ...]:
        return times_near_an_edge(Same(self.ways[name]), edge, self.stage, level_m, self.span)

    def _beyond(self, name: str, edge: str, *, audience: bool) -> Iterator[Finding]:
        for time in self._near_an_edge(name, edge, -1e-9):
            yield Finding(
                "off the floor",
                Level.WARNING if audience else Level.NOTE,
                name,
                _whole_beat(time.nearest.beat),
                f"{name} is {-time.nearest.distance_m:.2f} m beyond the {edge}, {self._when(time)}",
                "The floor ends there; widen it if there is more.",
                measured=-time.nearest.distance_m,
                unit="m",
            )

    # -------------------------------------------------------------- sight

    def sight(self) -> Iterator[Finding]:
        if self.stage.in_the_round:
            return
        for one in covered(self.ways, self.people, self.stage, self.span):
            yield from self._covered(one)

    def _covered(self, one: Covered) -> Iterator[Finding]:
        limit = limits_for(self.people[one.behind])["covered"]
        level = limit.level(one.share)
        if level is not None:
            yield Finding(
                "hidden from the audience",
                level,
                one.behind,
                one.span.start_beat,
                f"{one.behind} stands behind {one.before} for "
                f"{beats_words(one.span.length_beats)}, {100 * one.share:.0f} % of her shoulders "
                "covered",
                "Whoever sits in the middle does not see her.",
                measured=one.share,
                limit=limit.at(level),
                unit=limit.unit,
                others=(one.before,),
            )


@lru_cache(maxsize=4_000)
def _pair(
    first: Same[Performer],
    way: Same[Way],
    second: Same[Performer],
    other_way: Same[Way],
    stage: Same[Stage],
    grid: Same[MusicGrid],
    span: BeatSpan,
) -> tuple[Finding, ...]:
    names = first.value.name, second.value.name
    people = dict(zip(names, (first.value, second.value), strict=True))
    two = dict(zip(names, (way.value, other_way.value), strict=True))
    desk = _Desk(stage.value, grid.value, people, two, span)
    return tuple(desk.pair(first.value, second.value))


def _fire(routine: Routine) -> Iterator[Finding]:
    names = tuple(performer.name for performer in routine.performers if performer.fire)
    if names and routine.stage.audience_distance_m is None:
        yield Finding(
            "audience distance missing",
            Level.WARNING,
            names[0],
            Fraction(0),
            f"{names_words(names)} with fire: write the distance to the audience that your "
            "authority asks as audience_distance_m under [stage]; there is no usual figure",
            "Local codes, the venue and licensed practice decide how near fire may come.",
            others=names[1:],
        )


def _whole_beat(beat: float) -> Fraction:
    """The beat that is being counted then."""
    return Fraction(floor(beat + 1e-9))
