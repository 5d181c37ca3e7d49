"""Moves as the library holds them: one-hand moves, and hybrids of two.

A move fits any performer: lengths stay in arms and tethers until it is performed.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias

from composer.motion.plane import Plane
from composer.motion.relate import Direction
from composer.moves.lengths import MIDDLE, Length, Place
from composer.moves.recipe import Recipe

_TIMING_WORDS = {
    Fraction(0): "together",
    Fraction(1, 2): "split",
    Fraction(1, 4): "quarter",
    Fraction(3, 4): "three-quarter",
}
_WORD_TIMINGS = {word: timing for timing, word in _TIMING_WORDS.items()}


@dataclass(frozen=True, slots=True)
class Relation:
    """How the left hand runs against the right: timing at the right's bottom, and direction.

    ``timing`` is where the left points when the right points down, in turns counter-clockwise
    from down: 0 together, 1/2 split, 1/4 or 3/4 quarter. Where a hand does not go round evenly
    the heads are meant instead (see :func:`composer.motion.relate.relate`).
    """

    timing: Fraction = Fraction(0)
    direction: Direction = "same"

    def __post_init__(self) -> None:
        if not isinstance(self.timing, Fraction):
            raise TypeError(f"a timing must be a Fraction of a turn, got {self.timing!r}")
        if not 0 <= self.timing < 1:
            raise ValueError(f"a timing lies from 0 to below 1 turn, got {self.timing}")
        if self.direction not in ("same", "opposite"):
            raise ValueError(f'a direction is "same" or "opposite", got "{self.direction}"')

    def __str__(self) -> str:
        return f"{_TIMING_WORDS.get(self.timing, str(self.timing))} {self.direction}"


def relation_from_text(text: str) -> Relation:
    """``"together same"``, ``"split opposite"``, ``"quarter same"``, ``"1/3 same"``.

    Raises
    ------
    ValueError
        If the text is not a timing and a direction.
    """
    words = text.split()
    wrong = ValueError(
        f'a relation is written like "together same" or "split opposite", not "{text}"'
    )
    if len(words) != 2 or words[1] not in ("same", "opposite"):
        raise wrong
    direction: Direction = "same" if words[1] == "same" else "opposite"
    if words[0] in _WORD_TIMINGS:
        return Relation(_WORD_TIMINGS[words[0]], direction)
    try:
        return Relation(Fraction(words[0]), direction)
    except (ValueError, ZeroDivisionError):
        raise wrong from None


TOGETHER_SAME = Relation()


@dataclass(frozen=True, slots=True)
class Depth:
    """A share of the cycle in which the hand goes out of its plane, smoothly from start to end.

    Counted to the hand's own side in the wheel plane, forward in the wall plane, up in the floor
    plane.
    """

    share: Fraction
    start: Length
    end: Length


@dataclass(frozen=True, slots=True)
class OneHandMove:
    """What one hand and its prop do in one plane."""

    name: str
    words: str
    """One line in the trade's words."""
    recipe: Recipe
    also: tuple[str, ...] = ()
    """Other names it is known by."""
    plane: Plane = Plane.WALL
    tilt_turns: float = 0.0
    depth: tuple[Depth, ...] = ()
    hands: Relation = TOGETHER_SAME
    """How the left hand runs against the right when both do it."""
    left_entry: int = 1
    """Where the left hand stands so more than once in the cycle: at which of those it enters."""
    beats: Fraction | None = None
    """Beats the cycle lasts at rate 1, only where no downbeat tells it."""
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Use:
    """A one-hand move as one hand of a hybrid does it."""

    move: OneHandMove
    orientation_turns: Fraction = Fraction(0)
    mirrored: bool = False
    centre: Place = MIDDLE


@dataclass(frozen=True, slots=True)
class Hybrid:
    """Two one-hand moves at once, and how their hands run against each other."""

    name: str
    words: str
    right: Use
    left: Use
    hands: Relation = TOGETHER_SAME
    """The left hand against the right."""
    left_entry: int = 1
    """As in :class:`OneHandMove`."""
    cycles: tuple[int, int] | None = None
    """How often right and left close in the common cycle; None: hands turn at one rate."""
    also: tuple[str, ...] = ()
    plane: Plane = Plane.WALL
    tilt_turns: float = 0.0
    tracing: Place | None = None
    """A point of the body that the figure is drawn round, if it is."""
    cautions: tuple[str, ...] = ()


Move: TypeAlias = OneHandMove | Hybrid
