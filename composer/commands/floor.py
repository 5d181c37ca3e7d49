"""petalbar floor: who stands where, as text, SVG or PNG."""

import json
from pathlib import Path

import click

from composer.commands.places import beat_typed
from composer.commands.writing import check_picture, write_picture
from composer.export.choice import View, choose
from composer.export.floor_cells import floor_lines
from composer.export.floor_plan import FloorTime, floor_time
from composer.export.floor_sheet import chosen_times, floor_picture
from composer.files.routine_file import load_routine
from composer.score.floor import reach_m, standings
from composer.score.routine import Routine
from composer.score.stage_words import area_words, facing_words, place_words
from composer.timing.beats import beats_text

EPILOG = """\b
Examples:
  petalbar floor mine.toml                               where all stand, phrase by phrase
  petalbar floor mine.toml --at 25 --view performer
  petalbar floor mine.toml -o floor.svg                  every plan on one page
  petalbar floor mine.toml --phrase finale -o end.png"""


@click.command("floor", epilog=EPILOG)
@click.argument("routine", type=click.Path(path_type=Path))
@click.option(
    "--at", metavar="BAR", default="", help="Only here: bar and count, such as 25 or 25.3."
)
@click.option(
    "--phrase", metavar="PHRASE", default="", help="Only this phrase, by name or by number from 1."
)
@click.option(
    "--view",
    type=click.Choice([view.value for view in View]),
    default=View.AUDIENCE.value,
    show_default=True,
    help="The audience at the bottom of the plan, or at its top.",
)
@click.option("-o", "--output", type=click.Path(path_type=Path), help="A .svg or .png file.")
@click.option("--plain", is_flag=True, help="ASCII characters only.")
@click.option("--json", "as_json", is_flag=True, help="For programs: places and facings.")
@click.option("--force", is_flag=True, help="Replace the file if there is one already.")
def command(
    routine: Path,
    at: str,
    phrase: str,
    view: str,
    output: Path | None,
    *,
    plain: bool,
    as_json: bool,
    force: bool,
) -> None:
    """Show the floor: spots, facings, reach circles and the ways between them."""
    loaded = load_routine(routine)
    times = _times(loaded, at, phrase)
    if output is not None:
        check_picture(output, force=force)
        click.echo(write_picture(output, floor_picture(loaded, times, View(view))))
    elif as_json:
        rows = [_row(loaded, time) for time in times]
        click.echo(json.dumps({"title": loaded.title, "floor": rows}, ensure_ascii=False, indent=1))
    else:
        for time in times:
            click.echo("\n".join(_lines(loaded, time, View(view), plain=plain)))


def _times(routine: Routine, at: str, phrase: str) -> tuple[FloorTime, ...]:
    if at:
        return (floor_time(routine, beat_typed(routine.grid, at)),)
    return chosen_times(routine, choose(routine, phrase=phrase))


def _lines(routine: Routine, time: FloorTime, view: View, *, plain: bool) -> list[str]:
    lines = [f"{time.name}, {routine.grid.place_text(time.beat)}".lstrip(", ")]
    lines += floor_lines(routine, time.beat, view, plain=plain)
    for one in standings(routine, time.beat):
        goal = one.walks_to
        going = f", on her way to {place_words(goal, routine.stage)}" if goal else ""
        facing = facing_words(one.facing_turns, routine.stage)
        reach = reach_m(routine.performer(one.performer))
        lines.append(
            f"{one.performer}: {place_words(one.place, routine.stage)} "
            f"({area_words(one.place, routine.stage)}), facing {facing}, reach {reach:.2f} m{going}"
        )
    return [*lines, ""]


def _row(routine: Routine, time: FloorTime) -> dict[str, object]:
    position = routine.grid.meter_map.position(time.beat)
    return {
        "phrase": time.name,
        "beat": beats_text(time.beat),
        "bar": position.bar,
        "count": beats_text(position.count),
        "performers": [
            {
                "performer": one.performer,
                "x_m": round(one.place.x_m, 3),
                "y_m": round(one.place.y_m, 3),
                "area": area_words(one.place, routine.stage),
                "facing": beats_text(one.facing_turns),
                "reach_m": round(reach_m(routine.performer(one.performer)), 3),
                "walking": one.walks_to is not None,
            }
            for one in standings(routine, time.beat)
        ],
    }
