"""petalbar export: a routine as MIDI, captions, tables, sheets, sound, pages and pictures."""

import json
import re
import sys
from dataclasses import replace
from pathlib import Path

import click

from composer.check.findings import Finding
from composer.commands.numbers import Number, Whole
from composer.commands.writing import check_target, write_export
from composer.export.choice import Choice, View, choose
from composer.export.kinds import KINDS, Kind, Material, Sound, Wishes, kind_named
from composer.export.practice import Practice
from composer.export.sheet import PAGES, PAPERS, Page, Paper
from composer.export.stage_cut import cut_routine, cut_sound
from composer.files.routine_file import load_routine
from composer.files.routine_track import find_track
from composer.score.routine import Routine

KIND_LINES = "\n".join(f"  {name:<15} {kind.words}" for name, kind in KINDS.items())
EPILOG = f"""\b
What can be exported:
{KIND_LINES}

\b
Examples:
  petalbar export mine.toml --as pdf -o sheet.pdf --paper letter
  petalbar export mine.toml --as html --performer Wren
  petalbar export mine.toml --as midi --phrase 3
  petalbar export mine.toml --as practice-audio --speed 75 --by-phrase -o slow.m4a"""


def _print_schema(context: click.Context, _option: click.Parameter, wanted: bool) -> None:
    if not wanted:
        return
    from composer.export.report_schema import report_schema

    click.echo(json.dumps(report_schema(), indent=1))
    context.exit()


@click.command("export", epilog=EPILOG)
@click.argument("routine", type=click.Path(path_type=Path))
@click.option("--as", "kind_name", type=click.Choice(list(KINDS)), help="What to make.")
@click.option("-o", "--output", type=click.Path(path_type=Path), help="The file to write.")
@click.option(
    "--performer", metavar="NAME", default="", help="Only for this performer; else the whole group."
)
@click.option(
    "--phrase", metavar="PHRASE", default="", help="Only this phrase, by name or by number from 1."
)
@click.option(
    "--view",
    type=click.Choice([view.value for view in View]),
    default=View.AUDIENCE.value,
    show_default=True,
    help="Whose eyes pictures are seen through.",
)
@click.option(
    "--paper", type=click.Choice(list(PAPERS)), default="a4", show_default=True, help="For pdf."
)
@click.option(
    "--sheet",
    "sheets",
    type=click.Choice(PAGES),
    multiple=True,
    help="pdf: only this sheet; may be given several times.",
)
@click.option("--clicks/--no-clicks", default=True, help="MIDI, practice sound: with clicks.")
@click.option("--calls/--no-calls", default=True, help="Practice sound: tones ahead of each move.")
@click.option(
    "--speed",
    type=Number(),
    default=100.0,
    show_default=True,
    help="Practice sound: per cent of the speed, 50 to 110, pitch kept.",
)
@click.option("--count-in", type=Whole(), help="Practice sound: beats counted in; else one bar.")
@click.option("--by-phrase", is_flag=True, help="Practice sound: each phrase counted in alone.")
@click.option(
    "--gap",
    type=Number(),
    default=3.0,
    show_default=True,
    help="Practice sound: seconds of rest after each phrase.",
)
@click.option("--uncut", is_flag=True, help="Of the whole source, though the routine has a cut.")
@click.option("--force", is_flag=True, help="Replace the file if there is one already.")
@click.option(
    "--schema", is_flag=True, is_eager=True, expose_value=False, callback=_print_schema,
    help="Print the JSON Schema of the json export and stop.",
)  # fmt: skip
def command(
    routine: Path,
    kind_name: str | None,
    output: Path | None,
    performer: str,
    phrase: str,
    view: str,
    paper: Paper,
    sheets: tuple[Page, ...],
    speed: float,
    count_in: int | None,
    gap: float,
    *,
    clicks: bool,
    calls: bool,
    by_phrase: bool,
    uncut: bool,
    force: bool,
) -> None:
    """Write a routine for other hands: sheets, sound, MIDI, captions, a page for the phone."""
    if kind_name is None and output is None:
        raise click.UsageError("say what to make with --as, or name the file with -o")
    loaded = load_routine(routine)
    if uncut:
        loaded = replace(loaded, cut=None)
    choice = choose(cut_routine(loaded), performer, phrase, View(view))
    target = output or routine.with_name(usual_name(routine, choice, kind_name or ""))
    music = routine.parent / loaded.track.file
    check_target(target, force=force, made_from=(routine, music))
    kind = kind_named(kind_name or "", target.name)
    practice = Practice(speed / 100, clicks, calls, count_in, by_phrase, gap)
    wishes = Wishes(paper, sheets or PAGES, practice, _told if sys.stderr.isatty() else None)
    write_export(target, kind.make(gather(loaded, routine, kind, choice, wishes, target)))
    made = ", ".join(sheets) if sheets and kind is KINDS["pdf"] else kind.words
    click.echo(f"{target}: {made}")


def _told(share: float) -> None:
    """How far a long job is, on one line that is written over."""
    click.echo(f"\r{100 * share:3.0f} %" + ("\r      \r" if share >= 1 else ""), err=True, nl=False)


def usual_name(routine_path: Path, choice: Choice, kind_name: str) -> str:
    """``mine.mid``, ``mine-Wren-3-practice.flac``: the routine's name and what was chosen."""
    parts = [routine_path.stem]
    if choice.performer:
        parts.append(re.sub(r"[^\w-]+", "_", choice.performer))
    if choice.phrase is not None:
        parts.append(str(choice.phrase + 1))
    kind = KINDS[kind_name]
    return "-".join([*parts, kind.called] if kind.called else parts) + kind.suffixes[0]


def gather(
    routine: Routine, routine_path: Path, kind: Kind, choice: Choice, wishes: Wishes, target: Path
) -> Material:
    """All that an export of a kind needs, opened, decoded and cut to stage length.

    A notice about the track goes to standard error.
    """
    from composer.files.move_library import load_library

    library = load_library()
    staged = cut_routine(routine)
    findings: tuple[Finding, ...] = ()
    if kind.needs_findings:
        from composer.check.checks import check_routine

        findings = check_routine(staged, library)
    material = Material(
        staged, library, findings, choice=choice, wishes=wishes, suffix=target.suffix.lower()
    )
    return _with_sound(material, routine, routine_path) if kind.needs_sound else material


def _with_sound(material: Material, routine: Routine, routine_path: Path) -> Material:
    from composer.files.track import decode_track

    found = find_track(routine, routine_path)
    if found.path is None:
        return replace(material, no_sound=found.trouble)
    if found.notice:
        click.echo(found.notice, err=True)
    track = decode_track(found.path)
    samples = cut_sound(routine, track.samples, track.sample_rate_hz)
    return replace(material, sound=Sound(samples, track.sample_rate_hz))
