"""Sight lines: who stands behind whom for the middle of the audience."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from math import inf

from composer.check.spacing import exact_beat, together
from composer.score.floor import Place, Way
from composer.score.routine import Performer, Stage
from composer.score.same import Same
from composer.timing.beats import BeatSpan

STANDS_BEATS = 4.0
"""Ours: whoever is passed sooner is not hidden."""
BEHIND_M = 0.3
"""Ours: less than a body's depth behind is beside."""


@dataclass(frozen=True, slots=True)
class Covered:
    """One performer behind another while both stand."""

    behind: str
    before: str
    span: BeatSpan
    share: float
    """Of the shoulder breadth of her who stands behind."""


def covered_share(
    behind: Place,
    behind_breadth_m: float,
    before: Place,
    before_breadth_m: float,
    viewer_m: float = inf,
) -> float:
    """How much of one performer's shoulders another's hide from the middle of the audience.

    The shoulders of the one in front are thrown on the line on which the other stands (similar
    triangles), from a viewer on the middle line so many metres before the front edge; from very
    far away by default.
    """
    if behind.y_m - before.y_m < BEHIND_M:
        return 0.0
    spread = 1.0 if viewer_m == inf else (behind.y_m + viewer_m) / (before.y_m + viewer_m)
    if spread <= 0:
        return 0.0
    low = spread * (before.x_m - before_breadth_m / 2)
    high = spread * (before.x_m + before_breadth_m / 2)
    left, right = behind.x_m - behind_breadth_m / 2, behind.x_m + behind_breadth_m / 2
    return max(0.0, min(high, right) - max(low, left)) / behind_breadth_m


def covered(
    ways: Mapping[str, Way], people: Mapping[str, Performer], stage: Stage, span: BeatSpan
) -> Iterator[Covered]:
    """Everybody who stands behind somebody for a bar or longer."""
    viewer_m = inf if stage.audience_distance_m is None else stage.audience_distance_m
    for one, other in combinations(ways, 2):
        breadths = people[one].body.shoulder_breadth_m, people[other].body.shoulder_breadth_m
        yield from _covered(Same(ways[one]), Same(ways[other]), breadths, viewer_m, span)


@lru_cache(maxsize=4_000)
def _covered(
    one: Same[Way],
    other: Same[Way],
    breadths: tuple[float, float],
    viewer_m: float,
    span: BeatSpan,
) -> tuple[Covered, ...]:
    """Either behind the other, while both stand."""
    names = one.value.performer, other.value.performer
    found = []
    for start, end, mine, hers in together(one.value, other.value, span):
        if mine.walks or hers.walks or end - start < STANDS_BEATS:
            continue
        places = mine.start, hers.start
        behind, before = (0, 1) if mine.start.y_m > hers.start.y_m else (1, 0)
        share = covered_share(
            places[behind], breadths[behind], places[before], breadths[before], viewer_m
        )
        if share > 0:
            both = BeatSpan(exact_beat(start), exact_beat(end) - exact_beat(start))
            found.append(Covered(names[behind], names[before], both, share))
    return tuple(found)
