"""Sight lines: who stands behind whom for the middle of the audience."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import permutations
from math import inf

from composer.check.moment import Same
from composer.check.spacing import stretches_in
from composer.score.floor import Place, Way
from composer.score.routine import Performer, Stage
from composer.timing.beats import BeatSpan

STANDS_BEATS = Fraction(4)
"""Ours: whoever is passed in a bar or less is not hidden."""
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
    for behind, before in permutations(ways, 2):
        breadths = people[behind].body.shoulder_breadth_m, people[before].body.shoulder_breadth_m
        yield from _covered(Same(ways[behind]), Same(ways[before]), breadths, viewer_m, span)


@lru_cache(maxsize=4_000)
def _covered(
    behind: Same[Way],
    before: Same[Way],
    breadths: tuple[float, float],
    viewer_m: float,
    span: BeatSpan,
) -> tuple[Covered, ...]:
    names = behind.value.performer, before.value.performer
    found = []
    for both, hers, other in _standing_together(behind.value, before.value, span):
        share = covered_share(hers, breadths[0], other, breadths[1], viewer_m)
        if share > 0:
            found.append(Covered(*names, both, share))
    return tuple(found)


def _standing_together(
    one: Way, other: Way, span: BeatSpan
) -> Iterator[tuple[BeatSpan, Place, Place]]:
    others = list(stretches_in(other, span))
    for start, end, stretch in stretches_in(one, span):
        for other_start, other_end, there in others:
            first, last = max(start, other_start), min(end, other_end)
            if last - first >= STANDS_BEATS and not (stretch.walks or there.walks):
                yield BeatSpan(first, last - first), stretch.start, there.start
