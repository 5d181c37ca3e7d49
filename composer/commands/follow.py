"""petalbar follow: what can follow at a place, with the reasons."""

import json
from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path

import click

from composer.arrange.follow import Option, what_can_follow
from composer.arrange.keeping import Keeping
from composer.commands.numbers import Whole
from composer.commands.places import beat_typed, performer_typed
from composer.errors import ComposerError
from composer.files.move_library import load_library
from composer.files.repertoire_file import load_repertoires, repertoire_path
from composer.files.routine_file import load_routine
from composer.moves.perform import Style, WhichHand
from composer.score.routine import Routine
from composer.timing.beats import beats_text, exact_beats

KEEPS = {
    "heads": Keeping.HEADS,
    "hands": Keeping.HANDS,
    "unit-circle": Keeping.UNIT_CIRCLE,
    "one-hand": Keeping.ONE_HAND,
}

EPILOG = """\b
What --keep asks for:
  heads        the heads keep timing and direction, the hands' relation changes
  hands        the hands keep their way and timing, the heads change
  unit-circle  hands stay on a circle of half a tether's radius
  one-hand     one hand goes on, the other begins something else

\b
Examples:
  petalbar follow mine.toml --at 9
  petalbar follow mine.toml --at 9.3 --keep heads --count 5

What mine.repertoire.toml beside mine.toml says of a performer counts too."""


def _beats(_context: click.Context, _option: click.Parameter, text: str | None) -> Fraction | None:
    try:
        beats = None if text is None else exact_beats(text)
    except ValueError as error:
        raise click.BadParameter(str(error)) from None
    if beats is not None and not 0 < beats <= 1000:
        raise click.BadParameter(f"a move lasts more than 0 and up to 1000 beats, not {beats}")
    return beats


@click.command("follow", epilog=EPILOG)
@click.argument("routine", type=click.Path(path_type=Path))
@click.option(
    "--at", "place", metavar="BAR", required=True, help="Bar, or bar and count: 9 or 9.3."
)
@click.option("--performer", metavar="NAME", help="For whom; needed where there are several.")
@click.option(
    "--hand",
    type=click.Choice(["both", "right", "left"]),
    default="both",
    show_default=True,
    help="Which hands it is for.",
)
@click.option(
    "--beats",
    metavar="BEATS",
    callback=_beats,
    help="How long; by default what fits each move best.",
)
@click.option("--keep", multiple=True, type=click.Choice(list(KEEPS)), help="What is to stay.")
@click.option("--count", type=Whole(1, 1000), default=12, show_default=True, help="How many.")
@click.option("--json", "as_json", is_flag=True, help="For programs.")
def command(
    routine: Path,
    place: str,
    performer: str | None,
    hand: WhichHand,
    beats: Fraction | None,
    keep: tuple[str, ...],
    count: int,
    *,
    as_json: bool,
) -> None:
    """List the moves that can follow at a place, the best first, each in its best way."""
    loaded, library = load_routine(routine), load_library()
    who = performer_typed(loaded, performer)
    beat = beat_typed(loaded.grid, place)
    options = what_can_follow(
        loaded,
        library,
        who.name,
        beat,
        hand=hand,
        length_beats=beats,
        filters=[KEEPS[name] for name in keep],
        repertoire=load_repertoires(repertoire_path(routine), library).get(who.name),
        limit=count,
    )
    if not options:
        raise ComposerError("nothing in the library can follow there so; ask for less to be kept")
    if as_json:
        rows = [option_row(option) for option in options]
        click.echo(json.dumps({"options": rows}, ensure_ascii=False, indent=1))
        return
    click.echo("\n".join(option_lines(loaded, beat, options)))


def option_row(option: Option) -> dict[str, object]:
    """An option as JSON; beats exact as text."""
    placement = option.placement
    return {
        "move": placement.move,
        "entry": placement.style.entry,
        "mirrored": placement.style.mirrored,
        "rate": beats_text(placement.rate),
        "beats": beats_text(placement.span.length_beats),
        "entered": option.kind,
        "closes": option.closes,
        "cost": round(option.cost, 3),
        "points": option.points,
        "ways": option.ways,
        "smooth_ways": option.smooth_ways,
        "reasons": list(option.reasons),
    }


def option_lines(routine: Routine, beat: Fraction, options: Sequence[Option]) -> Iterator[str]:
    yield f"{routine.title}, {routine.grid.place_text(beat)}:"
    width = max(len(way_words(option)) for option in options)
    for number, option in enumerate(options, 1):
        yield f"{number:>3} {way_words(option):<{width}}  {'; '.join(option.reasons)}"


def way_words(option: Option) -> str:
    """``"sideways triquetras, mirrored, from downbeat 2"``."""
    return style_words(option.placement.move, option.placement.style)


def style_words(move: str, style: Style) -> str:
    words = [move]
    if style.mirrored:
        words.append("mirrored")
    if style.entry > 1:
        words.append(f"from downbeat {style.entry}")
    if style.relation is not None:
        words.append(f"hands {style.relation}")
    if style.orientation_turns:
        words.append(f"turned {style.orientation_turns}")
    return ", ".join(words)
