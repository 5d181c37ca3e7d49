"""What to practise next, and why: from the log, the difficulty and the date of the performance.

The weights are common sense put in order, not a measured model of learning; each proposal says
what it rests on, so that the performer can judge.
"""

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from composer.check.findings import Finding, Level
from composer.score.passes import Pass, Transition, passes_of

USUAL_DIFFICULTY = 0.3
DIFFICULTY_OF_LEVEL = {Level.NOTE: 0.4, Level.WARNING: 0.65, Level.ERROR: 0.9}
HALF_LIFE_PASSES = 4
"""A pass counts half as much as one made four passes later."""
FIRST_PERCENT, STEP_PERCENT, FULL_PERCENT = 70, 5, 100
SURE_PASSES = 3
"""Clean so many times in a row at a speed: time for the next."""
REST_SHARE = 0.15
"""A good rest between repetitions is some 10 to 20 percent of the time that the learning must
last: Cepeda et al., Psychol. Sci. 19 (2008) 1095. From memory."""
LONGEST_REST_DAYS, USUAL_REST_DAYS = 7.0, 3.0
CLOSE_DAYS = 3


@dataclass(frozen=True, slots=True)
class Proposal:
    """A transition to loop next, at a speed, with the reasons in words."""

    transition: Transition
    percent: int
    need: float
    """0 well known to about 2; only for the order."""
    reason: str


@dataclass(frozen=True, slots=True)
class DayTally:
    """How one transition went on one day."""

    day: datetime.date
    clean: int
    fumbled: int


def practice_plan(
    passes: Iterable[Pass],
    transitions: Sequence[Transition],
    now: datetime.datetime,
    *,
    performance_date: datetime.date | None = None,
    difficulty: Mapping[Transition, float] | None = None,
) -> tuple[Proposal, ...]:
    """Every transition, the one that needs practice most first.

    Parameters
    ----------
    difficulty : mapping, optional
        0 easy to 1 hard, such as :func:`difficulty_of` gives; 0.3 where none is told.
    """
    days_left = None if performance_date is None else (performance_date - now.date()).days
    made = passes_of(passes, transitions)
    proposals = [
        _proposal(t, made[t], now, days_left, (difficulty or {}).get(t, USUAL_DIFFICULTY))
        for t in transitions
    ]
    return tuple(sorted(proposals, key=lambda p: (-p.need, p.transition.beat)))


def difficulty_of(
    findings: Iterable[Finding], transitions: Sequence[Transition]
) -> dict[Transition, float]:
    """How hard each transition is by the gravest finding on its beat."""
    hardest: dict[Transition, float] = {}
    at = {(t.performer, t.beat): t for t in transitions}
    for finding in findings:
        transition = at.get((finding.performer, finding.beat))
        if transition is not None:
            figure = DIFFICULTY_OF_LEVEL[finding.level]
            hardest[transition] = max(figure, hardest.get(transition, 0.0))
    return hardest


def tallies(passes: Iterable[Pass]) -> tuple[DayTally, ...]:
    """One transition's passes by day, in order: what its small chart shows."""
    by_day: dict[datetime.date, list[bool]] = {}
    for one in passes:
        by_day.setdefault(one.at.date(), []).append(one.clean)
    return tuple(
        DayTally(day, marks.count(True), marks.count(False))
        for day, marks in sorted(by_day.items())
    )


def fumble_share(marks: Sequence[bool], difficulty: float) -> float:
    """How likely the next pass fails: recent passes count most, difficulty until there are some.

    The weighted mean of the marks and of one expected pass, 0.2 to 0.8 by difficulty.
    """
    weights: list[float] = [0.5 ** (age / HALF_LIFE_PASSES) for age in range(len(marks))]
    failed = sum(w for w, clean in zip(weights, reversed(marks), strict=True) if not clean)
    return (0.2 + 0.6 * difficulty + failed) / (1 + sum(weights))


def next_percent(passes: Sequence[Pass]) -> int:
    """The speed to practise at: a step up when sure at the last one, a step down after failing."""
    if not passes:
        return FIRST_PERCENT
    percent = passes[-1].percent
    here = [one.clean for one in passes if one.percent == percent][-SURE_PASSES:]
    if len(here) == SURE_PASSES and all(here):
        return max(percent, min(percent + STEP_PERCENT, FULL_PERCENT))
    if len(here) >= 2 and not any(here[-2:]):
        return max(percent - STEP_PERCENT, min(percent, 50))
    return percent


def _proposal(
    transition: Transition,
    passes: Sequence[Pass],
    now: datetime.datetime,
    days_left: int | None,
    difficulty: float,
) -> Proposal:
    percent = next_percent(passes)
    if days_left is not None and 0 <= days_left <= CLOSE_DAYS and passes and passes[-1].clean:
        percent = max(percent, FULL_PERCENT)
    failing = fumble_share([one.clean for one in passes], difficulty)
    fastest = max((one.percent for one in passes if one.clean), default=0)
    slow = max(0.0, FULL_PERCENT - max(fastest, 50)) / 50
    rest = _rest_days(days_left)
    overdue = min(2.0, _days_since(passes, now) / rest) if passes else 0.0
    need = failing + 0.4 * slow + 0.2 * overdue
    reasons = [
        _how_it_went(passes, difficulty),
        f"clean up to {fastest} %" if 0 < fastest < FULL_PERCENT else "",
        _how_long_ago(passes, now) if overdue >= 1 else "",
        _time_left(days_left, failing if passes else 0.0),
    ]
    return Proposal(transition, percent, need, "; ".join(filter(None, reasons)))


def _rest_days(days_left: int | None) -> float:
    if days_left is None or days_left < 0:
        return USUAL_REST_DAYS
    return min(max(REST_SHARE * days_left, 1.0), LONGEST_REST_DAYS)


def _days_since(passes: Sequence[Pass], now: datetime.datetime) -> float:
    return max(0.0, (now - passes[-1].at).total_seconds() / 86400)


def _how_it_went(passes: Sequence[Pass], difficulty: float) -> str:
    if not passes:
        return "not practised yet" + (", and a hard one" if difficulty >= 0.6 else "")
    last = passes[-5:]
    fumbled = sum(not one.clean for one in last)
    if fumbled:
        return f"fumbled {fumbled} of the last {len(last)} passes"
    return f"clean {len(last)} of the last {len(last)} passes"


def _how_long_ago(passes: Sequence[Pass], now: datetime.datetime) -> str:
    days = round(_days_since(passes, now))
    return f"last practised {days} day{'' if days == 1 else 's'} ago"


def _time_left(days_left: int | None, failing: float) -> str:
    if days_left is None or days_left < 0:
        return ""
    left = "the performance is today" if days_left == 0 else f"{days_left} days left"
    left = "1 day left" if days_left == 1 else left
    if days_left <= CLOSE_DAYS and failing > 0.5:
        return f"{left} and it still fails: an easier link may serve better"
    return left
