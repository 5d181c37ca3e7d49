"""petalbar moves: the moves of the library, filtered, for people or programs."""

import json
from dataclasses import dataclass
from pathlib import Path

import click

from composer.commands.numbers import Number, Whole
from composer.commands.performing import body_and_props, body_options, moves_option
from composer.errors import ComposerError
from composer.files.move_library import load_library
from composer.motion.body import Body, Prop, PropKind
from composer.motion.family import Family, families
from composer.motion.plane import Plane
from composer.moves.difficulty import difficulty
from composer.moves.library import Library
from composer.moves.model import Hybrid, Move, OneHandMove
from composer.moves.perform import Performance, Style, WhichHand, perform
from composer.timing.beats import beats_text

EPILOG = """\b
Examples:
  petalbar moves                            all of them, the easiest first
  petalbar moves --family "head to hand"
  petalbar moves --hands two --downbeats 3 --max-difficulty 6
  petalbar moves --search pendulum --json"""


@dataclass(frozen=True, slots=True)
class Listed:
    """A move and what it is found by."""

    move: Move
    downbeats: tuple[int, ...]
    """Right, left; of one hand for a one-hand move."""
    cycle_beats: str
    families: tuple[str, ...]
    points: float


@click.command("moves", epilog=EPILOG)
@click.option(
    "--family",
    "wanted",
    type=click.Choice([family.value for family in Family]),
    multiple=True,
    help="Only hybrids of this family; repeat for several at once.",
)
@click.option("--downbeats", type=Whole(0, 99), help="Of the busier hand in a cycle.")
@click.option("--hands", type=click.Choice(["one", "two"]), help="One-hand moves or hybrids.")
@click.option("--plane", type=click.Choice([plane.value for plane in Plane]), help="Only in it.")
@click.option("--max-difficulty", type=Number(0), help="At most so many points.")
@click.option("--search", default="", help="Text in the name, other names or words.")
@body_options
@moves_option
@click.option("--json", "as_json", is_flag=True, help="For programs.")
def command(
    wanted: tuple[str, ...],
    downbeats: int | None,
    hands: str | None,
    plane: str | None,
    max_difficulty: float | None,
    search: str,
    stature: float,
    arm: float | None,
    tether: float,
    prop: PropKind,
    files: tuple[Path, ...],
    *,
    as_json: bool,
) -> None:
    """List the moves of the library, the easiest first."""
    body, props = body_and_props(stature, arm, tether, prop)
    library = load_library(files)
    one_hand = {"one": True, "two": False}.get(hands or "")
    moves = [
        move
        for move in library.moves.values()
        if (one_hand is None or isinstance(move, OneHandMove) == one_hand)
        and (plane is None or move.plane == plane)
        and matches(move, search)
    ]
    listed = [listing(move, body, props) for move in moves]
    kept = [
        one
        for one in listed
        if set(wanted) <= set(one.families)
        and (downbeats is None or max(one.downbeats) == downbeats)
        and (max_difficulty is None or one.points <= max_difficulty + 1e-9)
    ]
    kept.sort(key=lambda one: (isinstance(one.move, Hybrid), one.points))
    if as_json:
        rows = [listed_row(library, one) for one in kept]
        click.echo(json.dumps({"moves": rows}, ensure_ascii=False, indent=1))
        return
    if not kept:
        raise ComposerError("no move is like that; leave out a condition, or see petalbar explore")
    click.echo("\n".join(listed_lines(kept)))


def matches(move: Move, search: str) -> bool:
    """Whether every word of the search is somewhere in the move's names and words."""
    text = " ".join((move.name, *move.also, move.words)).casefold()
    return all(word in text for word in search.casefold().split())


def listing(move: Move, body: Body, props: tuple[Prop, Prop]) -> Listed:
    """What a move is found by; a one-hand move as one hand does it."""
    performance = learnt_first(move, body, props)
    found: frozenset[Family] = frozenset()
    if isinstance(move, Hybrid) and performance.two_hands is not None:
        traced = None if move.tracing is None else move.tracing.metres_for(body, props[0])
        found = families(performance.two_hands, traced_m=traced)
    return Listed(
        move,
        tuple(len(track.downbeats) for track in performance.tracks.values()),
        beats_text(performance.cycle_length_beats),
        tuple(sorted(found)),
        difficulty(performance).points,
    )


def learnt_first(move: Move, body: Body, props: tuple[Prop, Prop]) -> Performance:
    """A hybrid with both hands, a one-hand move with the right."""
    hand: WhichHand = "right" if isinstance(move, OneHandMove) else "both"
    return perform(move, Style(hand=hand), body, props)


def listed_row(library: Library, one: Listed) -> dict[str, object]:
    """A move as JSON."""
    move = one.move
    row: dict[str, object] = {
        "name": move.name,
        "also": list(move.also),
        "words": move.words,
        "hands": "two" if isinstance(move, Hybrid) else "one",
        "plane": move.plane.value,
        "downbeats": list(one.downbeats),
        "cycle_beats_at_rate_1": one.cycle_beats,
        "families": list(one.families),
        "difficulty_points": round(one.points, 3),
        "cautions": list(library.caution_lines(move)),
    }
    if isinstance(move, Hybrid):
        row |= {
            "right": move.right.move.name,
            "left": move.left.move.name,
            "relation": str(move.hands),
        }
    return row


def listed_lines(listed: list[Listed]) -> list[str]:
    """A table, one-hand moves before hybrids."""
    width = max(len(one.move.name) for one in listed)
    lines = []
    heading = ""
    for one in listed:
        title = "Hybrids" if isinstance(one.move, Hybrid) else "One-hand moves"
        if title != heading:
            lines += [] if not heading else [""]
            lines.append(f"{title:<{width}}  downbeats  points  families")
            heading = title
        beats = " and ".join(dict.fromkeys(str(count) for count in one.downbeats))
        families_text = ", ".join(one.families)
        plane = "" if one.move.plane is Plane.WALL else f"{one.move.plane} plane"
        notes = "; ".join(filter(None, (families_text, plane)))
        lines.append(f"{one.move.name:<{width}}  {beats:<9}  {one.points:>6g}  {notes}".rstrip())
    lines += ["", f"{len(listed)} moves. petalbar move NAME tells everything about one."]
    return lines
