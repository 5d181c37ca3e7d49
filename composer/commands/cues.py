"""petalbar cues: the cue list of a routine, for people or programs."""

import json
from fractions import Fraction
from pathlib import Path

import click

from composer.files.routine_file import load_routine
from composer.score.cues import Cue, cue_list
from composer.score.routine import Routine
from composer.timing.beats import beats_text, exact_beats
from composer.timing.grid import clock_text

LONGEST_LEAD_BEATS = 256


def _lead(_context: click.Context, _option: click.Parameter, text: str | None) -> Fraction | None:
    try:
        lead = exact_beats(text) if text is not None else None
    except ValueError as error:
        raise click.BadParameter(str(error)) from None
    if lead is not None and not 0 <= lead <= LONGEST_LEAD_BEATS:
        raise click.BadParameter(
            f"a call comes before its cue: give 0 to {LONGEST_LEAD_BEATS} beats, not {text}"
        )
    return lead


@click.command("cues", epilog="\b\nExample:\n  petalbar cues mine.toml --performer Wren --lead 8")
@click.argument("routine", type=click.Path(path_type=Path))
@click.option("--performer", metavar="NAME", help="Only this performer's cues.")
@click.option(
    "--lead", metavar="BEATS", callback=_lead, help="Beats ahead of the cue that it is called."
)
@click.option("--json", "as_json", is_flag=True, help="For programs: each cue with its time_s.")
def command(routine: Path, performer: str | None, lead: Fraction | None, *, as_json: bool) -> None:
    """Print what is called to each performer, and when."""
    loaded = load_routine(routine)
    names = [performer] if performer else [p.name for p in loaded.performers]
    lists = {name: cue_list(loaded, loaded.performer(name).name, lead_beats=lead) for name in names}
    if as_json:
        rows = [cue_row(loaded, cue) for cues in lists.values() for cue in cues]
        click.echo(json.dumps({"title": loaded.title, "cues": rows}, ensure_ascii=False, indent=1))
        return
    for name, cues in lists.items():
        click.echo("\n".join(cue_sheet_lines(loaded, name, cues)))


def cue_row(routine: Routine, cue: Cue) -> dict[str, object]:
    """A cue as JSON: beats exact as text, times in seconds of the decoded track."""
    seconds = routine.grid.tempo_map.seconds
    position = routine.grid.meter_map.position(cue.beat)
    return {
        "performer": cue.performer,
        "kind": cue.kind,
        "text": cue.text,
        "hand": cue.hand,
        "beat": beats_text(cue.beat),
        "bar": position.bar,
        "count": beats_text(position.count),
        "time_s": round(seconds(cue.beat), 4),
        "call_beat": beats_text(cue.call_beat),
        "call_time_s": round(seconds(cue.call_beat), 4),
    }


def cue_sheet_lines(routine: Routine, name: str, cues: tuple[Cue, ...]) -> list[str]:
    """The cue list as plain text, phrase by phrase."""
    grid = routine.grid
    lines = [f"Cues for {name}, {routine.title}", "  bar.count    time    called   what"]
    phrase = None
    for cue in cues:
        here = grid.phrase_index_at(cue.beat)
        if here is not None and here != phrase:
            phrase = here
            lines.append(f"  -- {grid.phrases[here].name} --")
        position = grid.meter_map.position(cue.beat)
        ahead = beats_text(cue.beat - cue.call_beat)
        at = clock_text(grid.tempo_map.seconds(cue.beat))
        kind = "" if cue.kind == "move" else f"[{cue.kind}] "
        bar = f"{position.bar}.{position.count}"
        lines.append(f"  {bar:>9} {at:>9} {ahead:>4} ahead   {kind}{cue.text}")
    if not cues:
        lines.append("  nothing is placed yet")
    return [*lines, ""]
