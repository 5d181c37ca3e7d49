"""petalbar demo: the whole job on a shipped track, from the music to the sheets."""

import sys
import time
from pathlib import Path

import click

from composer.check.cautions import caution_lines
from composer.check.checks import check_routine
from composer.check.findings import Level
from composer.commands.check import check_lines
from composer.commands.cues import cue_sheet_lines
from composer.commands.export import gather
from composer.commands.listen import report_lines
from composer.commands.writing import write_export
from composer.export.choice import WHOLE
from composer.export.kinds import KINDS, Wishes
from composer.files.analysis_cache import analysis_of
from composer.files.routine_file import load_routine
from composer.moves.library import shipped_library
from composer.score.cues import cue_list
from tui.demo_folder import lay_out, shipped_routine

EXPORTS = ("midi", "webvtt", "csv", "json", "pdf", "html")


@click.command("demo", epilog="\b\nExample:\n  petalbar demo --folder my_demo")
@click.option(
    "--folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("demo_output"),
    show_default=True,
    help="Where the copy of the demo and its exports go.",
)
@click.option("--open/--no-open", "then_open", default=None, help="Open the timeline at the end.")
def command(folder: Path, *, then_open: bool | None) -> int:
    """Analyse the demo track, check its routine, print the cues, write the exports."""
    started = time.monotonic()
    track, routine_path = lay_out(folder)
    _heading(f"1. Listening to {track.name}")
    _, analysis = analysis_of(track, fresh=True)
    click.echo("\n".join(report_lines(track, analysis)))

    _heading(f"2. Checking {routine_path.name}")
    routine = load_routine(routine_path)
    library = shipped_library()
    findings = check_routine(routine, library)
    click.echo("\n".join(check_lines(routine, findings, caution_lines(routine, library), {})))
    count = sum(finding.level >= Level.WARNING for finding in findings)
    if count and routine_path.read_text(encoding="utf-8") == shipped_routine():
        click.echo(
            f"\nThe {count} warnings are there on purpose, so that you see findings.", nl=False
        )
    if count:
        click.echo(f"\nWays out, each tried:\n  petalbar check {routine_path} --remedies")

    _heading("3. The cue list")
    for performer in routine.performers:
        cues = cue_list(routine, performer.name)
        click.echo("\n".join(cue_sheet_lines(routine, performer.name, cues)))

    _heading(f"4. To take away, in {folder}")
    for name in EXPORTS:
        target = folder / f"{routine_path.stem}{KINDS[name].suffixes[0]}"
        material = gather(routine, routine_path, KINDS[name], WHOLE, Wishes(), target)
        write_export(target, KINDS[name].make(material))
        click.echo(f"  {target.name:<24} {KINDS[name].words}")
    click.echo(f"\nDone in {time.monotonic() - started:.0f} s. Next: petalbar open {routine_path}")

    at_a_terminal = sys.stdin.isatty() and sys.stdout.isatty()
    if at_a_terminal if then_open is None else then_open:
        from tui.app import run_compose

        if then_open is None:
            click.pause("Press any key to open the timeline.")
        return run_compose(routine_path)
    return 0


def _heading(text: str) -> None:
    click.echo(f"\n{text}\n{'=' * len(text)}")
