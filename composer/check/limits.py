"""Every limit that a check compares with, in one table: figure, unit, levels and where it is from.

"Ours" marks a setting without a published source; those between moves were set so that common
transitions come out as practised spinners judge them (``tests/check/transition_bench.toml``). They
hold for what has to happen within the time allowed (see ``composer.check.transitions``).
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import lru_cache
from math import inf, isfinite
from types import MappingProxyType

from composer.check.findings import Level
from composer.score.routine import Performer


@dataclass(frozen=True, slots=True)
class Limit:
    """From which value on a measured figure is a note, a warning or an error.

    ``inf`` means that the level is never reached. A falling limit counts from which value down.
    """

    name: str
    unit: str
    note: float
    warning: float
    error: float
    source: str
    falling: bool = False

    def level(self, measured: float) -> Level | None:
        """None while the figure stays inside the limits."""
        sign = -1 if self.falling else 1
        reached = sign * measured + _SLACK
        if reached < sign * self.note:
            return None
        if reached >= sign * self.error:
            return Level.ERROR
        return Level.WARNING if reached >= sign * self.warning else Level.NOTE

    def at(self, level: Level) -> float:
        if level is Level.NOTE:
            return self.note
        return self.warning if level is Level.WARNING else self.error

    def passed(self, level: Level, measured: float) -> bool:
        found = self.level(measured)
        return found is not None and found >= level

    def strain(self, measured: float) -> float:
        """For ranking, on one scale for all limits: 1 where a note begins, 2 a warning, 3 an error.

        Straight lines in between and beyond; below 2 for ever where no warning is set.
        """
        if self.falling:
            return self._strain_of_fall(measured)
        if measured <= self.note:
            return measured / self.note
        if self.warning == inf:
            return 2 - self.note / measured
        if measured <= self.warning:
            return 1 + (measured - self.note) / (self.warning - self.note)
        if self.error == inf:
            return 2 * measured / self.warning
        if measured <= self.error:
            return 2 + (measured - self.warning) / (self.error - self.warning)
        return 3 * measured / self.error

    def _strain_of_fall(self, measured: float) -> float:
        if measured >= self.note:
            return self.note / measured
        if measured >= self.warning:
            return 1 + (self.note - measured) / (self.note - self.warning)
        return 3 - measured / self.warning

    def with_warning_at(self, value: float) -> "Limit":
        """The limit moved so that it warns at ``value``; its other levels keep their ratios."""
        if not isfinite(self.warning):
            return replace(self, note=value)
        ratio = value / self.warning
        return replace(self, note=self.note * ratio, warning=value, error=self.error * ratio)


_SLACK = 1e-9
"""A figure that meets its threshold exactly has reached it, rounding aside."""

LIMITS: Mapping[str, Limit] = MappingProxyType(
    {
        limit.name: limit
        for limit in (
            # ------------------------------------------------ between two moves
            Limit(
                "hand way",
                "m/s",
                0.9,
                3.0,
                5.0,
                "ours; peak of a minimum-jerk reach is 15/8 of its mean: Flash & Hogan, "
                "J. Neurosci. 5 (1985) 1688",
            ),
            Limit(
                "hand turn-back",
                "m/s2",
                7.0,
                14.0,
                40.0,
                "ours; 16.3 m/s2 is near the limit of performance on a 0.10 m crank: Hermus et "
                "al., J. Neurophysiol. 2020",
            ),
            Limit(
                "head heading",
                "turns",
                1 / 8,
                0.3,
                inf,
                "ours; a quarter turn is what a plane change on the common line asks",
            ),
            Limit(
                "head turn-round",
                "m/s",
                0.3,
                1.0,
                4.0,
                "ours; a reversal is natural at a stall and wrenching otherwise (common practice)",
            ),
            Limit(
                "tether catch-up",
                "turns a beat",
                1 / 24,
                1 / 6,
                inf,
                "ours; 1/24 turn is 15 degrees",
            ),
            Limit(
                "rate jump",
                "of the slower rate",
                0.4,
                1.5,
                inf,
                "ours; double time is a wanted accent, three times is not (common practice)",
            ),
            Limit("plane change", "turns", 1 / 24, inf, inf, "ours; 15 degrees"),
            Limit(
                "stall push",
                "m/s",
                1.5,
                7.0,
                inf,
                "ours; from rest a head falls into motion, upwards it must be thrown",
            ),
            Limit("body turn", "turns a beat", 3 / 8, 3 / 4, inf, "ours"),
            Limit("arms cross", "m", 0.05, inf, inf, "ours; how far past the other hand"),
            Limit(
                "hands apart",
                "m",
                0.15,
                0.08,
                -inf,
                "ours; about a hand's breadth",
                falling=True,
            ),
            # ------------------------------------------------ within a move
            Limit(
                "hand speed",
                "m/s",
                4.5,
                5.0,
                7.0,
                "7 m/s: punches in combination run 7.5 to 8: Piorkowski, Lees & Barton, Sports "
                "Biomech. 2011; the lower two are ours",
            ),
            Limit(
                "hand acceleration",
                "m/s2",
                50.0,
                60.0,
                inf,
                "ours; no published limit for free circles was found",
            ),
            Limit(
                "hand turns",
                "turns/s",
                1.8,
                2.0,
                inf,
                "2 turns/s is near the limit of performance on a crank: Hermus et al., "
                "J. Neurophysiol. 2020",
            ),
            Limit(
                "head turns",
                "turns/s",
                3.0,
                4.0,
                5.0,
                "rope turners work at 1.7 to 3 Hz (Bioengineering 12 (2025) 162); the hand's "
                "repetitions fall apart above 5 Hz (PubMed 19429090, 2009)",
            ),
            Limit(
                "reach",
                "of the arm",
                1.05,
                1.12,
                1.25,
                "geometry: the hand's distance from where the shoulder rests; that the shoulder "
                "gives way by a tenth of the arm is ours",
            ),
            Limit(
                "slack",
                "share of the cycle",
                0.05,
                0.25,
                inf,
                "share of the cycle in which a tether would have to push; ours",
            ),
            # ------------------------------------------------ on the timeline
            Limit("gap", "beats", 2.0, 16.0, inf, "ours; longer than a bridge between moves"),
            # ------------------------------------------------ on the floor
            Limit(
                "circles apart",
                "m",
                0.3,
                0.29,
                0.0,
                "derived: middles stand both reaches (arm, prop, head) and the margin apart; the "
                "stage's own margin takes the place of 0.3, less a centimetre of rounding",
                falling=True,
            ),
            Limit(
                "front edge",
                "m",
                0.3,
                0.01,
                -inf,
                "ours; from the reach circle to the edge, with no distance to the audience given",
                falling=True,
            ),
            Limit(
                "side edge",
                "m",
                0.01,
                -inf,
                -inf,
                "ours; from the reach circle to the sides and the back of the floor",
                falling=True,
            ),
            Limit(
                "walk while spinning",
                "m/s",
                1.3,
                1.5,
                2.5,
                "comfortable gait is 1.2 to 1.5 m/s: Bohannon, Age Ageing 26 (1997) 15 (from "
                "memory); the error is ours",
            ),
            Limit("walk at rest", "m/s", 2.5, 4.0, inf, "ours; faster than that is a run"),
            Limit(
                "covered",
                "of the shoulders",
                0.25,
                0.75,
                inf,
                "ours; of a performer's breadth behind somebody else's, seen from the audience",
            ),
            Limit("mirror askew", "turns", 1 / 12, inf, inf, "ours; 30 degrees"),
        )
    }
)
"""By name. A performer's own limit of that name says where it warns for her."""


@lru_cache(maxsize=256)
def limits_for(performer: Performer) -> Mapping[str, Limit]:
    """The table with the performer's own comfort and limits in it.

    Her body's comfort sets where hand speed, acceleration and turning warn; a limit of her own
    by name wins over both. What cannot be used is left out here and told by
    :func:`limit_faults`.
    """
    comfort = performer.body.comfort
    table = dict(LIMITS)
    speed = table["hand speed"].with_warning_at(comfort.hand_speed_m_s)
    table["hand speed"] = replace(speed, error=comfort.hand_speed_limit_m_s)
    table["hand way"] = replace(table["hand way"], error=comfort.hand_speed_m_s)
    for name, value in (
        ("hand acceleration", comfort.hand_acceleration_m_s2),
        ("hand turns", comfort.hand_turns_per_s),
    ):
        table[name] = table[name].with_warning_at(value)
    table["head turns"] = replace(table["head turns"], error=comfort.hand_events_hz)
    for name, value in performer.limits:
        if name in table and _is_usable(value):
            table[name] = table[name].with_warning_at(value)
    return MappingProxyType(table)


def limit_faults(performer: Performer) -> tuple[tuple[str, str], ...]:
    """The performer's limits that no check can use, each by name and with what is wrong."""
    faults = []
    for name, value in performer.limits:
        if name not in LIMITS:
            near = get_close_matches(name, LIMITS, n=1, cutoff=0.5)
            known = f'did you mean "{near[0]}"?' if near else f"known are {', '.join(LIMITS)}"
            faults.append((name, f'no limit is called "{name}"; {known}'))
        elif not _is_usable(value):
            faults.append((name, f'the limit "{name}" must be a positive number, got {value}'))
    return tuple(faults)


def _is_usable(value: float) -> bool:
    return isfinite(value) and value > 0
