"""petalbar explore: combine one-hand moves and see what comes out; or, what to learn next."""

import json
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import click

from composer.commands.numbers import Number, Whole
from composer.commands.performing import (
    body_and_props,
    body_options,
    moves_option,
    one_relation,
    tempo_options,
)
from composer.errors import ComposerError
from composer.files.move_library import load_library
from composer.motion.body import PropKind
from composer.motion.family import Family
from composer.moves.explore import FOUR_RELATIONS, UNTURNED
from composer.moves.found import FoundHybrid, Search, Tempo, search
from composer.moves.library import Library
from composer.moves.model import OneHandMove, Relation, relation_from_text
from composer.moves.move_rows import hybrid_text
from composer.moves.neighbours import NextMove, next_moves
from composer.moves.wanted import Wanted
from composer.timing.beats import exact_beats

EPILOG = """\b
Examples:
  petalbar explore --downbeats 2 --family "equal-downbeat flowers"
  petalbar explore triquetra diamond extension --relation "quarter same"
  petalbar explore --feasible --bpm 128 --clear-by 0.15 --max-difficulty 5
  petalbar explore pendulum triquetra --as-moves > mine.toml
  petalbar explore --known extension --known triquetra"""


def _relations(
    _context: click.Context, _option: click.Parameter, texts: tuple[str, ...]
) -> tuple[Relation, ...]:
    try:
        return tuple(relation_from_text(text) for text in texts)
    except ValueError as error:
        raise click.BadParameter(str(error)) from None


def _turns(
    _context: click.Context, _option: click.Parameter, texts: tuple[str, ...]
) -> tuple[Fraction, ...]:
    try:
        found = tuple(exact_beats(text) for text in texts)
    except ValueError:
        raise click.BadParameter('write turns as a fraction, such as "1/8"') from None
    if any(turns.denominator > 16 for turns in found):
        raise click.BadParameter("write turns in sixteenths or coarser")
    return found


@click.command("explore", epilog=EPILOG)
@click.argument("names", nargs=-1)
@click.option(
    "--known", metavar="MOVE", multiple=True, help="A move you have: list what is one change away."
)
@click.option(
    "--relation",
    "relations",
    metavar="RELATION",
    multiple=True,
    callback=_relations,
    help="Of the hands; repeat. By default together and split, same and opposite.",
)
@click.option(
    "--turned",
    "orientations",
    metavar="TURNS",
    multiple=True,
    callback=_turns,
    help="The left figure turned, in turns; repeat. By default not.",
)
@click.option(
    "--family",
    "families",
    type=click.Choice([one.value for one in Family if one is not Family.BODY_TRACING]),
    multiple=True,
    help="Only of this family; repeat for several at once.",
)
@click.option("--downbeats", type=Whole(1, 99), help="Of the busier hand in a cycle.")
@click.option("--closes", type=Whole(1, 99), help="Hand turns until both close.")
@click.option(
    "--heads",
    metavar="RELATION",
    callback=one_relation,
    help="A relation the heads keep throughout.",
)
@click.option("--clear-by", type=Number(0, 5), help="Heads never nearer, metres.")
@click.option("--max-difficulty", type=Number(0), help="At most so many points.")
@click.option("--feasible", is_flag=True, help="Taut, and the hands comfortable, at the tempo.")
@tempo_options
@body_options
@click.option("--limit", type=Whole(1, 100_000), default=20, show_default=True, help="How many.")
@moves_option
@click.option("--as-moves", is_flag=True, help="As rows for a file of your own moves.")
@click.option("--json", "as_json", is_flag=True, help="For programs.")
def command(
    names: tuple[str, ...],
    known: tuple[str, ...],
    relations: tuple[Relation, ...],
    orientations: tuple[Fraction, ...],
    families: tuple[str, ...],
    downbeats: int | None,
    closes: int | None,
    heads: Relation | None,
    clear_by: float | None,
    max_difficulty: float | None,
    bpm: float,
    rate: Fraction,
    stature: float,
    arm: float | None,
    tether: float,
    prop: PropKind,
    limit: int,
    files: tuple[Path, ...],
    *,
    feasible: bool,
    as_moves: bool,
    as_json: bool,
) -> None:
    """Combine one-hand moves and see what comes out; with --known, what to learn next."""
    body, props = body_and_props(stature, arm, tether, prop)
    library = load_library(files)
    if known:
        steps = next_moves(library, [library.get(name) for name in known], body, props)
        click.echo(_next_text(steps[:limit], as_json=as_json))
        return
    result = search(
        combined_moves(library, names),
        body,
        props,
        Wanted(
            frozenset(Family(name) for name in families),
            downbeats,
            closes,
            heads,
            clear_by,
            max_difficulty,
            feasible,
        ),
        relations=relations or FOUR_RELATIONS,
        orientations=orientations or UNTURNED,
        tempo=Tempo(bpm, rate),
        limit=limit,
    )
    if as_moves:
        click.echo("\n".join(hybrid_text(found.hybrid) for found in result.shown))
    elif as_json:
        told = {
            "combined": result.combined,
            "as_wanted": result.as_wanted,
            "hybrids": [found_row(found) for found in result.shown],
        }
        click.echo(json.dumps(told, ensure_ascii=False, indent=1))
    else:
        click.echo("\n".join(_found_lines(result)))


def combined_moves(library: Library, names: Sequence[str]) -> list[OneHandMove]:
    """The named one-hand moves, or every one.

    Raises
    ------
    ComposerError
        If the named moves lie in several planes.
    """
    if not names:
        return list(library.one_hand())
    moves = [library.get_one_hand(name) for name in names]
    if len({move.plane for move in moves}) > 1:
        raise ComposerError("hybrids are listed in one plane; name moves of one plane")
    return moves


def found_row(found: FoundHybrid) -> dict[str, object]:
    """A found hybrid as JSON."""
    hybrid = found.hybrid
    return {
        "name": hybrid.name,
        "right": hybrid.right.move.name,
        "left": hybrid.left.move.name,
        "relation": str(hybrid.hands),
        "left_turned": str(hybrid.left.orientation_turns),
        "left_entry": hybrid.left_entry,
        "families": sorted(found.families),
        "downbeats": list(found.downbeats),
        "closes_after_hand_turns": found.closing_turns,
        "heads": None if found.heads is None else str(found.heads),
        "heads_nearest_m": round(found.nearest_heads_m, 3),
        "heads_furthest_m": round(found.furthest_heads_m, 3),
        "head_speed_m_s": round(found.head_speed_m_s, 2),
        "difficulty_points": round(found.points, 3),
        "feasible": found.feasible,
    }


def _found_lines(result: Search) -> list[str]:
    if not result.shown:
        return [f"{result.combined} combined, none of them as wanted; leave out a condition"]
    lines = ["downbeats  points  nearest heads  hybrid"]
    for found in result.shown:
        beats = f"{found.downbeats[0]} and {found.downbeats[1]}"
        told = ", ".join(sorted(found.families))
        lines.append(
            f"{beats:>9}  {found.points:>6.3g}  {found.nearest_heads_m:>11.2f} m"
            f"  {found.hybrid.name}" + (f"  [{told}]" if told else "")
        )
    count = len(result.shown)
    more = f", the {count} easiest shown" if result.as_wanted > count else ""
    return [*lines, "", f"{result.combined} combined, {result.as_wanted} as wanted{more}."]


def _next_text(steps: Sequence[NextMove], *, as_json: bool) -> str:
    if as_json:
        rows = [
            {
                "name": step.move.name,
                "from": step.known.name,
                "change": step.change,
                "difficulty_points": round(step.points, 3),
            }
            for step in steps
        ]
        return json.dumps({"next": rows}, ensure_ascii=False, indent=1)
    if not steps:
        return "nothing in the library is one change away; name more moves with --known"
    width = max(len(step.move.name) for step in steps)
    return "\n".join(
        f"{step.points:>5g} points  {step.move.name:<{width}}  {step.known.name}: {step.change}"
        for step in steps
    )
