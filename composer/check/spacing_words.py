"""What is found about the floor: who comes too near, walks too fast or is not seen."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, pairwise
from math import ceil, floor

from composer.check.findings import Finding, Level
from composer.check.limits import Limit, limits_for
from composer.check.physics import beat_lengths_s
from composer.check.spacing import (
    Nearness,
    apart_limit,
    stretches_in,
    times_near_a_line,
    times_near_a_place,
    times_nearer,
)
from composer.check.spacing_sight import Covered, covered
from composer.score.floor import Place, Way, leaves_at, reach_m, spot_place, spots_of, ways
from composer.score.parts import PlacedMove
from composer.score.routine import Performer, Routine, Stage
from composer.score.stage_words import place_words
from composer.timing.beats import BeatSpan, beats_words

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
    desk = _Desk(routine, found, span)
    return (
        *desk.spots(),
        *desk.pairs(),
        *desk.obstacles(),
        *desk.edges(),
        *desk.walks(parts),
        *desk.sight(),
        *_fire(routine),
    )


def piece_span(routine: Routine, found: dict[str, Way]) -> BeatSpan:
    """From the first beat of music or way to the last."""
    edges = [edge for way in found.values() for edge in way.edges]
    start = min([Fraction(0), *edges])
    return BeatSpan(start, max([routine.grid.end_beat, *(e + 1 for e in edges)]) - start)


@dataclass(frozen=True)
class _Desk:
    """One routine's floor while it is judged."""

    routine: Routine
    ways: dict[str, Way]
    span: BeatSpan

    @property
    def stage(self) -> Stage:
        return self.routine.stage

    # -------------------------------------------------------------- spots as written

    def spots(self) -> Iterator[Finding]:
        if len(self.routine.performers) > 1:
            yield from self._without_spots()
        for name in self.ways:
            yield from self._twice(name)
            yield from self._hurried(name)

    def _without_spots(self) -> Iterator[Finding]:
        names = tuple(p.name for p in self.routine.performers if p.name not in self.ways)
        if names:
            has = "has" if len(names) == 1 else "have"
            yield Finding(
                "no spot",
                Level.NOTE,
                names[0],
                Fraction(0),
                f"{_list(names)} {has} no spot on the floor",
                "Without spots nobody can see who comes near to whom.",
                others=names[1:],
            )

    def _twice(self, name: str) -> Iterator[Finding]:
        beats = [spot.beat for spot in self.routine.spots if spot.performer == name]
        for beat in sorted({beat for beat in beats if beats.count(beat) > 1}):
            yield Finding(
                "two spots on one beat",
                Level.WARNING,
                name,
                beat,
                f"{name} has {beats.count(beat)} spots on the same beat; the last one is taken",
                "Nobody can be in two places at once.",
            )

    def _hurried(self, name: str) -> Iterator[Finding]:
        own = spots_of(self.routine.spots, name)
        for before, spot in pairwise(own):
            missing = spot.travel_beats - (spot.beat - leaves_at(spot, before))
            if missing > 0 and spot_place(before) != spot_place(spot):
                yield Finding(
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

    # -------------------------------------------------------------- people and things

    def pairs(self) -> Iterator[Finding]:
        for (one, way), (other, other_way) in combinations(self.ways.items(), 2):
            first, second = self.routine.performer(one), self.routine.performer(other)
            limit = apart_limit(self.stage, first, second)
            reaches = reach_m(first), reach_m(second)
            for time in times_nearer(way, other_way, sum(reaches) + limit.note, self.span):
                free = time.nearest.distance_m - sum(reaches)
                who = f"{one} and {other} {'pass' if time.walking else 'stand'}"
                yield from self._near(
                    "circles meet",
                    limit,
                    time,
                    free,
                    f"{who} {time.nearest.distance_m:.2f} m apart, their reaches take "
                    f"{reaches[0]:.2f} and {reaches[1]:.2f} m",
                    (one, other),
                )

    def obstacles(self) -> Iterator[Finding]:
        for (name, way), thing in (
            (item, thing) for item in self.ways.items() for thing in self.stage.obstacles
        ):
            performer = self.routine.performer(name)
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
        why: str = HITS,
    ) -> Iterator[Finding]:
        level = limit.level(free_m)
        if level is None:
            return
        space = (
            f"{free_m:.2f} m are left free" if free_m > 0 else f"{-free_m:.2f} m too near for any"
        )
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
        position = self.routine.grid.meter_map.position
        start = _whole_beat(time.start_beat)
        if time.end_beat >= self.span.end_beat:
            return f"from {position(start)} to the end"
        end = max(Fraction(ceil(time.end_beat - 1e-9)), start + 1)
        return f"from {position(start)} to {position(end)}"

    # -------------------------------------------------------------- edges

    def edges(self) -> Iterator[Finding]:
        for name in self.ways:
            for edge, distance in edge_distances(self.stage).items():
                audience = edge == "front edge" or self.stage.in_the_round
                yield from self._edge(name, edge, distance, audience=audience)
                yield from self._beyond(name, edge, distance, audience=audience)

    def _edge(
        self, name: str, edge: str, distance: Callable[[Place], float], *, audience: bool
    ) -> Iterator[Finding]:
        performer = self.routine.performer(name)
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
        level_m = reach + limit.note - room
        for time in times_near_a_line(self.ways[name], distance, level_m, self.span):
            free = time.nearest.distance_m + room - reach
            middle = f"{time.nearest.distance_m + room:.2f} m from {what}"
            verb = "passes" if time.walking else "stands"
            yield from self._near(rule, limit, time, free, f"{name} {verb} {middle}", (name,), why)

    def _beyond(
        self, name: str, edge: str, distance: Callable[[Place], float], *, audience: bool
    ) -> Iterator[Finding]:
        for time in times_near_a_line(self.ways[name], distance, -1e-9, self.span):
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

    # -------------------------------------------------------------- walking

    def walks(self, parts: dict[str, tuple[PlacedMove, ...]]) -> Iterator[Finding]:
        for name, way in self.ways.items():
            yield from self._jumps(name)
            busy = _Busy(parts.get(name, ()))
            table = limits_for(self.routine.performer(name))
            for start, end, stretch in stretches_in(way, self.span):
                if not stretch.walks:
                    continue
                spins = busy.during(start, end)
                limit = table["walk while spinning" if spins else "walk at rest"]
                speed = self._speed_m_s(start, end, stretch.start.distance_m(stretch.end))
                yield from self._too_fast(name, start, end, stretch.end, speed, limit)

    def _speed_m_s(self, start: Fraction, end: Fraction, distance_m: float) -> float:
        """At the fastest tempo of the way: she walks evenly by the beat."""
        shortest_s, _ = beat_lengths_s(BeatSpan(start, end - start), self.routine.grid)
        return distance_m / (float(end - start) * shortest_s)

    def _too_fast(
        self, name: str, start: Fraction, end: Fraction, goal: Place, speed: float, limit: Limit
    ) -> Iterator[Finding]:
        level = limit.level(speed)
        if level is not None:
            how = "spinning" if limit.name == "walk while spinning" else "with nothing placed"
            yield Finding(
                "walks too fast",
                level,
                name,
                start,
                f"{name} has {beats_words(end - start)} to get to "
                f"{place_words(goal, self.stage)}, {how}: {speed:.2f} m/s",
                "Who hurries bounces, and the heads with her.",
                measured=speed,
                limit=limit.at(level),
                unit=limit.unit,
            )

    def _jumps(self, name: str) -> Iterator[Finding]:
        own = spots_of(self.routine.spots, name)
        for before, spot in pairwise(own):
            gap = spot_place(before).distance_m(spot_place(spot))
            if leaves_at(spot, before) == spot.beat and gap > 0:
                yield Finding(
                    "walks too fast",
                    Level.ERROR,
                    name,
                    spot.beat,
                    f"{name} has no beats at all to go {gap:.2f} m to "
                    f"{place_words(spot_place(spot), self.stage)}",
                    "A way needs beats to walk it.",
                    measured=gap,
                    unit="m",
                )

    # -------------------------------------------------------------- sight

    def sight(self) -> Iterator[Finding]:
        if self.stage.in_the_round:
            return
        people = {name: self.routine.performer(name) for name in self.ways}
        for one in covered(self.ways, people, self.stage, self.span):
            yield from self._covered(one, people)

    def _covered(self, one: Covered, people: dict[str, Performer]) -> Iterator[Finding]:
        limit = limits_for(people[one.behind])["covered"]
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


def edge_distances(stage: Stage) -> dict[str, Callable[[Place], float]]:
    """By edge of the floor: how far inside a place is, in metres; negative beyond the edge."""
    half = stage.width_m / 2
    return {
        "front edge": lambda place: place.y_m,
        "back edge": lambda place: stage.depth_m - place.y_m,
        "edge at stage right": lambda place: half - place.x_m,
        "edge at stage left": lambda place: half + place.x_m,
    }


class _Busy:
    """When a performer has moves under way."""

    def __init__(self, moves: tuple[PlacedMove, ...]) -> None:
        self._spans = sorted((float(m.span.start_beat), float(m.span.end_beat)) for m in moves)

    def during(self, start: Fraction, end: Fraction) -> bool:
        return any(low < end and start < high for low, high in self._spans)


def _fire(routine: Routine) -> Iterator[Finding]:
    names = tuple(performer.name for performer in routine.performers if performer.fire)
    if names and routine.stage.audience_distance_m is None:
        yield Finding(
            "audience distance missing",
            Level.WARNING,
            names[0],
            Fraction(0),
            f"{_list(names)} with fire: write the distance to the audience that your authority "
            "asks as audience_distance_m under [stage]; there is no usual figure",
            "Local codes, the venue and licensed practice decide how near fire may come.",
            others=names[1:],
        )


def _whole_beat(beat: float) -> Fraction:
    """The beat that is being counted then."""
    return Fraction(floor(beat + 1e-9))


def _list(names: tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
