"""petalbar check: what does not fit, what wrenches, and what to be careful about."""

import datetime
import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import isfinite
from pathlib import Path

import click

from composer.arrange.remedies import Remedy, remedies_for
from composer.check.cautions import caution_lines
from composer.check.checks import check_routine
from composer.check.findings import Finding, Level, worst
from composer.check.limits import LIMITS
from composer.check.readiness import readiness_findings
from composer.commands.printing import wrapped
from composer.commands.remedying import apply_remedies, mendable, remedy_lines, remedy_row
from composer.commands.writing import save_unless_open
from composer.files.move_library import load_library
from composer.files.repertoire_file import load_repertoires, repertoire_path
from composer.files.routine_file import load_routine
from composer.moves.library import Library
from composer.score.repertoire import Repertoire
from composer.score.routine import Routine
from composer.timing.beats import beats_text

LEVELS = {str(level): level for level in Level}
GLYPHS = {Level.NOTE: "○", Level.WARNING: "▲", Level.ERROR: "✖"}
HANGING = " " * 4

EPILOG = """\b
Levels:
  note      it can be done, and it shows
  warning   it does not close, or hand or head is wrenched
  error     it cannot be done, or hardly without harm

\b
Examples:
  petalbar check mine.toml
  petalbar check mine.toml --performer Wren --fail-on error
  petalbar check mine.toml --remedies
  petalbar check mine.toml --apply 2.1
  petalbar check mine.toml --json
  petalbar check --limits

\b
What mine.repertoire.toml beside mine.toml says a performer has is held against the date.

\b
Exit status: 0 nothing at the level of --fail-on or above, 1 something is,
2 the routine could not be checked."""


def _print_limits(context: click.Context, _option: click.Parameter, wanted: bool) -> None:
    if wanted:
        click.echo("\n".join(limit_lines()))
        context.exit()


@click.command("check", epilog=EPILOG)
@click.argument("routine", type=click.Path(path_type=Path))
@click.option(
    "--performer", metavar="NAME", help="Only this performer's findings; else everybody's."
)
@click.option(
    "--fail-on",
    type=click.Choice(list(LEVELS)),
    default="warning",
    show_default=True,
    help="From which level on the exit status is 1.",
)
@click.option(
    "--limits",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_print_limits,
    help="Print every limit with its source and stop.",
)
@click.option("--json", "as_json", is_flag=True, help="For programs: every finding with its place.")
@click.option("--remedies", "with_remedies", is_flag=True, help="Look for ways out, each tried.")
@click.option(
    "--apply",
    "wanted",
    metavar="WHICH",
    help='Apply a remedy and save: 2.1 (finding, remedy), 2 (its best), "all".',
)
@click.pass_context
def command(
    context: click.Context,
    routine: Path,
    performer: str | None,
    fail_on: str,
    wanted: str | None,
    *,
    as_json: bool,
    with_remedies: bool,
) -> None:
    """Say which moves do not fit their bars and which transitions wrench a hand or a head."""
    loaded = load_routine(routine)
    names = (loaded.performer(performer).name,) if performer else ()
    library = load_library()
    repertoires = load_repertoires(repertoire_path(routine), library)
    found = _found(loaded, library, names, repertoires)
    if wanted is not None:
        loaded, done = apply_remedies(loaded, library, wanted, found)
        save_unless_open(loaded, routine)
        click.echo("\n".join(done), err=as_json)
        found = _found(loaded, library, names, repertoires)
    ways = _ways(loaded, library, found) if with_remedies else {}
    cautions = caution_lines(loaded, library, names)
    if as_json:
        row = check_row(loaded, found, cautions, ways)
        click.echo(json.dumps(row, ensure_ascii=False, indent=1))
    else:
        click.echo("\n".join(check_lines(loaded, found, cautions, ways)))
    gravest = worst(tuple(found))
    context.exit(1 if gravest is not None and gravest >= LEVELS[fail_on] else 0)


def _found(
    routine: Routine,
    library: Library,
    names: tuple[str, ...],
    repertoires: Mapping[str, Repertoire],
) -> list[Finding]:
    """The findings of these performers, of everybody if none is named, in time order."""
    found = [
        *check_routine(routine, library),
        *readiness_findings(routine, repertoires, library, datetime.date.today()),
    ]
    found.sort(key=lambda finding: finding.beat)
    return [one for one in found if not names or one.is_about(*names)]


def _ways(
    routine: Routine, library: Library, found: Sequence[Finding]
) -> dict[Finding, tuple[Remedy, ...]]:
    """The remedies of every finding that they are looked for."""
    return {finding: remedies_for(routine, library, finding) for finding in mendable(found)}


# ------------------------------------------------------------------ for programs


def check_row(
    routine: Routine,
    found: Sequence[Finding],
    cautions: Sequence[str],
    ways: Mapping[Finding, Sequence[Remedy]],
) -> dict[str, object]:
    """The whole check as JSON: beats exact as text, times in seconds of the decoded track."""
    gravest = worst(tuple(found))
    return {
        "title": routine.title,
        "worst": None if gravest is None else str(gravest),
        "findings": [
            finding_row(routine, one)
            | ({"remedies": [remedy_row(way) for way in ways[one]]} if one in ways else {})
            for one in found
        ],
        "cautions": list(cautions),
    }


def finding_row(routine: Routine, finding: Finding) -> dict[str, object]:
    position = routine.grid.meter_map.position(finding.beat)
    return {
        "rule": finding.rule,
        "level": str(finding.level),
        "performer": finding.performer,
        "others": list(finding.others),
        "beat": beats_text(finding.beat),
        "bar": position.bar,
        "count": beats_text(position.count),
        "time_s": round(routine.grid.tempo_map.seconds(finding.beat), 4),
        "hand": None if finding.hand is None else str(finding.hand),
        "moves": list(finding.moves),
        "indexes": list(finding.indexes),
        "message": finding.message,
        "why": finding.why,
        "measured": finding.measured,
        "limit": finding.limit,
        "unit": finding.unit,
    }


# ------------------------------------------------------------------ for people


def check_lines(
    routine: Routine,
    found: Sequence[Finding],
    cautions: Sequence[str],
    ways: Mapping[Finding, Sequence[Remedy]],
) -> Iterator[str]:
    """The findings phrase by phrase with their remedies, their count, and the cautions."""
    yield f"{routine.title}: {count_words(found)}"
    phrase: int | None = None
    group = len({one.performer for one in found}) > 1
    numbers = {finding: number for number, finding in enumerate(mendable(found), 1)}
    for finding in found:
        here = routine.grid.phrase_index_at(finding.beat)
        if here is not None and here != phrase:
            phrase = here
            yield ""
            yield f"-- {routine.grid.phrases[here].name} --"
        yield from finding_lines(routine, finding, group=group)
        if finding in ways:
            for line in remedy_lines(ways[finding], numbers[finding]):
                yield from wrapped(line, HANGING)
    yield ""
    for caution in cautions:
        yield from wrapped(caution)


def finding_lines(routine: Routine, finding: Finding, *, group: bool) -> Iterator[str]:
    who = f"{finding.performer}: " if group and finding.performer else ""
    place = routine.grid.place_text(finding.beat)
    yield f"{GLYPHS[finding.level]} {finding.level}  {place}  {who}{finding.rule}"
    limit = "" if finding.limit is None else f" ({finding.level} from {_figure(finding)})"
    yield from wrapped(f"{finding.message}{limit}", HANGING)
    yield from wrapped(finding.why, HANGING)


def limit_lines() -> Iterator[str]:
    """Every limit: from which figure on it is which level, and where that is from."""
    yield "A performer's own figure, under her limits in the routine file, says where it warns;"
    yield "note and error move in proportion."
    for limit in LIMITS.values():
        levels = (
            f"{level} {'up to' if limit.falling else 'from'} {limit.at(level):.3g}"
            for level in Level
            if isfinite(limit.at(level))
        )
        yield ""
        yield f"{limit.name} ({limit.unit}): {', '.join(levels)}"
        yield from wrapped(limit.source, HANGING)


def count_words(found: Iterable[Finding]) -> str:
    """``"1 error, 3 warnings"``; ``"nothing found"``."""
    counts = Counter(one.level for one in found)
    words = [
        f"{counts[level]} {level}{'s' if counts[level] > 1 else ''}"
        for level in sorted(Level, reverse=True)
        if counts[level]
    ]
    return ", ".join(words) or "nothing found"


def _figure(finding: Finding) -> str:
    return f"{finding.limit:.3g} {finding.unit}"
