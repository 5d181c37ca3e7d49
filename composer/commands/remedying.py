"""Remedies on the command line: told under their findings, and applied to the routine file."""

import re
from collections.abc import Iterator, Sequence

from composer.arrange.remedies import Remedy, remedies_for
from composer.check.checks import check_routine
from composer.check.findings import Finding, Level
from composer.check.readiness import READINESS_RULES
from composer.errors import ComposerError
from composer.moves.library import Library
from composer.score.routine import Routine

MOST_APPLIED = 200
"""Remedies applied in one go before it is called a day."""


def mendable(found: Sequence[Finding]) -> list[Finding]:
    """The findings that remedies are looked for, in the order in which they are numbered.

    Against not being ready no edit helps but practice.
    """
    return [
        finding
        for finding in found
        if finding.level >= Level.WARNING and finding.rule not in READINESS_RULES
    ]


def remedy_lines(remedies: Sequence[Remedy], number: int) -> Iterator[str]:
    """A line for each remedy, numbered as ``--apply`` takes it."""
    for rank, remedy in enumerate(remedies, 1):
        brings = f" (brings {_brought(remedy)})" if remedy.adds else ""
        yield f"remedy {number}.{rank}: {remedy.words}{brings}"
    if not remedies:
        yield "no remedy found by entry, hands, turn, centre, length, rate, order or bridge"


def _brought(remedy: Remedy) -> str:
    count = len(remedy.adds)
    return f"{count} {remedy.adds[0].level}{'s' if count > 1 else ''}"


def remedy_row(remedy: Remedy) -> dict[str, object]:
    return {
        "kind": remedy.kind,
        "words": remedy.words,
        "removes": [finding.rule for finding in remedy.removes],
        "adds": [{"level": str(one.level), "rule": one.rule} for one in remedy.adds],
    }


def apply_remedies(
    routine: Routine, library: Library, wanted: str, found: Sequence[Finding]
) -> tuple[Routine, list[str]]:
    """The routine with remedies applied, and a line for each that says what was done.

    ``wanted`` is ``"all"``, a finding's number, or finding and remedy such as ``"2.3"``.

    Raises
    ------
    ComposerError
        If there is no such finding or remedy.
    """
    if wanted == "all":
        return _apply_all(routine, library)
    match = re.fullmatch(r"(\d+)(?:\.(\d+))?", wanted.strip())
    if match is None:
        raise ComposerError(f'--apply takes "all", 2 or 2.3, not "{wanted}"')
    number, rank = int(match[1]), int(match[2] or 1)
    numbered = mendable(found)
    if not numbered:
        raise ComposerError("nothing is found that a remedy could mend")
    if not 1 <= number <= len(numbered):
        raise ComposerError(
            f"there is no finding {number} to mend; they run from 1 to {len(numbered)}"
        )
    remedies = remedies_for(routine, library, numbered[number - 1])
    if not 1 <= rank <= len(remedies):
        raise ComposerError(f"finding {number} has {len(remedies)} remedies, no number {rank}")
    remedy = remedies[rank - 1]
    return remedy.routine, [_done(routine, numbered[number - 1], remedy)]


def _apply_all(routine: Routine, library: Library) -> tuple[Routine, list[str]]:
    """The best remedy of each finding in turn, until none is left that can be mended."""
    lines: list[str] = []
    given_up: set[object] = set()
    for _ in range(MOST_APPLIED):
        left = [
            finding
            for finding in mendable(check_routine(routine, library))
            if finding.key not in given_up
        ]
        if not left:
            break
        finding = left[0]
        remedies = remedies_for(routine, library, finding, limit=1)
        if remedies:
            lines.append(_done(routine, finding, remedies[0]))
            routine = remedies[0].routine
        else:
            given_up.add(finding.key)
            lines.append(f"{routine.grid.place_text(finding.beat)}: no remedy for {finding.rule}")
    return routine, lines


def _done(routine: Routine, finding: Finding, remedy: Remedy) -> str:
    return f"{routine.grid.place_text(finding.beat)}: {finding.rule}; now {remedy.words}"
