"""What can be learnt next: the moves of a library one change away from those already known."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from composer.motion.body import Body, Prop
from composer.motion.trochoid import petals
from composer.moves.difficulty import difficulty
from composer.moves.library import Library
from composer.moves.model import Hybrid, Move, OneHandMove, Use
from composer.moves.perform import Style, WhichHand, perform
from composer.moves.recipe import FlowerRecipe


@dataclass(frozen=True, slots=True)
class NextMove:
    """A move to learn, the known move it comes from, and the one thing that changes."""

    move: Move
    known: Move
    change: str
    points: float
    """Difficulty of the move."""


def next_moves(
    library: Library, known: Sequence[Move], body: Body, props: tuple[Prop, Prop]
) -> tuple[NextMove, ...]:
    """Every move one change away from a known one, the easiest first.

    For a one-hand move a change is one petal more or less, another orientation, size or plane, or
    the head turning the other way; for a hybrid another relation, or one hand's move replaced by
    one that is one change away; and two known one-hand moves may be put together.
    """
    names = {move.name for move in known}
    found: dict[str, NextMove] = {}
    for move in library.moves.values():
        if move.name in names:
            continue
        for source, change in _ways(move, known):
            points = move_points(move, body, props)
            found.setdefault(move.name, NextMove(move, source, change, points))
            break
    return tuple(sorted(found.values(), key=lambda step: (step.points, step.move.name)))


def move_points(move: Move, body: Body, props: tuple[Prop, Prop]) -> float:
    """Difficulty of a move as it is learnt first: a one-hand move with one hand."""
    which: WhichHand = "right" if isinstance(move, OneHandMove) else "both"
    return difficulty(perform(move, Style(hand=which), body, props)).points


def _ways(move: Move, known: Sequence[Move]) -> Iterator[tuple[Move, str]]:
    if isinstance(move, OneHandMove):
        for source in known:
            if isinstance(source, OneHandMove):
                change = one_hand_change(source, move)
                if change is not None:
                    yield source, change
        return
    for source in known:
        if isinstance(source, Hybrid):
            change = _hybrid_change(source, move)
            if change is not None:
                yield source, change
    parts = [one for one in known if isinstance(one, OneHandMove)]
    right, left = (_owned(use, parts) for use in (move.right, move.left))
    if right is not None and left is not None:
        yield right, f"both hands at once, {left.name} in the left, hands {move.hands}"


def _owned(use: Use, parts: Iterable[OneHandMove]) -> OneHandMove | None:
    return next((part for part in parts if part.name == use.move.name), None)


def one_hand_change(known: OneHandMove, new: OneHandMove) -> str | None:
    """The one thing that changes between two one-hand moves, or None if it is more than one."""
    if known.plane is not new.plane:
        same = known.recipe == new.recipe and known.depth == new.depth
        return f"in the {new.plane} plane" if same else None
    if known.depth != new.depth:
        return None
    if not (isinstance(known.recipe, FlowerRecipe) and isinstance(new.recipe, FlowerRecipe)):
        return None
    return _flower_change(known.recipe, new.recipe)


def _flower_change(known: FlowerRecipe, new: FlowerRecipe) -> str | None:
    changes = []
    if known.head_turns != new.head_turns:
        change = _turns_change(known, new)
        if change is None:
            return None
        changes.append(change)
    elif known.tip_turns != new.tip_turns and new.head_turns != 1:
        changes.append("turned another way")
    if known.opposed != new.opposed:
        changes.append("the head on the other side of the hand")
    elif known.radius != new.radius:
        changes.append("another size of the hand's circle")
    if known.direction != new.direction:
        changes.append("the other direction")
    if known.centre != new.centre:
        changes.append("another middle")
    return changes[0] if len(changes) == 1 else None


def _turns_change(known: FlowerRecipe, new: FlowerRecipe) -> str | None:
    if known.head_turns == -new.head_turns:
        return "the head the other way"
    same_sense = (known.head_turns > 0) == (new.head_turns > 0)
    if not same_sense or known.head_turns.denominator != new.head_turns.denominator:
        return None
    step = petals(new.head_turns) - petals(known.head_turns)
    if abs(step) > new.head_turns.denominator:
        return None
    return "a petal more" if step > 0 else "a petal less"


_Side = Literal["right", "left"]


def _hybrid_change(known: Hybrid, new: Hybrid) -> str | None:
    if known.plane is not new.plane:
        return None
    sides: tuple[_Side, _Side] = ("right", "left")
    differing = [side for side in sides if getattr(known, side) != getattr(new, side)]
    if not differing and known.hands != new.hands:
        return f"hands {new.hands}"
    if len(differing) == 1 and known.hands == new.hands:
        before: Use = getattr(known, differing[0])
        after: Use = getattr(new, differing[0])
        change = one_hand_change(before.move, after.move)
        if change is not None:
            return f"{differing[0]} hand: {after.move.name}, {change}"
    return None
