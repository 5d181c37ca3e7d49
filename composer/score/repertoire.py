"""What a performer has: her moves and the ways between them, and how firmly she has each."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import IntEnum
from types import MappingProxyType
from typing import TypeAlias

Pair: TypeAlias = tuple[str, str]
"""The move that is left and the move that is entered."""


class Firmness(IntEnum):
    """How firmly something is had; they compare."""

    LEARNING = 1
    RELIABLE = 2
    READY = 3

    def __str__(self) -> str:
        return _WORDS[self]


_WORDS = {
    Firmness.LEARNING: "learning",
    Firmness.RELIABLE: "reliable",
    Firmness.READY: "ready for the stage",
}


def firmness_from_text(text: str) -> Firmness:
    """``"learning"``, ``"reliable"`` or ``"ready for the stage"``.

    Raises
    ------
    ValueError
        If the text is none of them.
    """
    for firmness, words in _WORDS.items():
        if " ".join(text.casefold().split()) == words:
            return firmness
    raise ValueError(f'firmness is one of {", ".join(_WORDS.values())}, not "{text}"')


@dataclass(frozen=True)
class Repertoire:
    """One performer's moves and transitions by the names that the library lists them under."""

    performer: str
    moves: Mapping[str, Firmness] = field(default_factory=dict)
    transitions: Mapping[Pair, Firmness] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "moves", MappingProxyType(dict(self.moves)))
        object.__setattr__(self, "transitions", MappingProxyType(dict(self.transitions)))

    def of_move(self, name: str) -> Firmness | None:
        """None for a move that is not in the repertoire."""
        return self.moves.get(name)

    def of_transition(self, from_move: str, to_move: str) -> Firmness | None:
        """As told, and never firmer than its moves; None where nothing is told of it."""
        told = self.transitions.get((from_move, to_move))
        if told is None:
            return None
        moves = (self.of_move(name) for name in (from_move, to_move))
        return min((told, *(firmness for firmness in moves if firmness is not None)))

    def with_move(self, name: str, firmness: Firmness | None) -> "Repertoire":
        """The repertoire with a move had so firmly; None takes it out, its transitions too."""
        moves = {**self.moves}
        if firmness is not None:
            return replace(self, moves={**moves, name: firmness})
        moves.pop(name, None)
        kept = {pair: told for pair, told in self.transitions.items() if name not in pair}
        return replace(self, moves=moves, transitions=kept)

    def with_transition(self, pair: Pair, firmness: Firmness | None) -> "Repertoire":
        """The repertoire with a transition had so firmly; None takes it out."""
        kept = {other: told for other, told in self.transitions.items() if other != pair}
        if firmness is not None:
            kept[pair] = firmness
        return replace(self, transitions=kept)
