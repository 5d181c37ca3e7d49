"""The library of named moves: the shipped one, and a user's own added to it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from importlib import resources
from types import MappingProxyType

from composer.errors import MoveFileError, UnknownName
from composer.moves.model import Hybrid, Move, OneHandMove, Use
from composer.moves.move_file import HybridRow, OneHandRow, UseRow, rows_from_text

SHIPPED = ("one_hand.toml", "wheel.toml", "hybrids.toml")


@dataclass(frozen=True)
class Library:
    """Moves by name, in the order they were read; names are found whatever their case."""

    moves: Mapping[str, Move]
    """By the name as written."""
    cautions: Mapping[str, str]
    """Sentences by the short name that moves give."""

    def get(self, name: str) -> Move:
        """The move of that name or other name.

        Raises
        ------
        UnknownName
            If there is none, with the nearest names.
        """
        found = self._find(name)
        if found is None:
            raise UnknownName(f'no move is called "{name}"{_nearest(name, self._known())}')
        return found

    def get_one_hand(self, name: str) -> OneHandMove:
        """The one-hand move of that name.

        Raises
        ------
        UnknownName
            If there is none, or it is a hybrid.
        """
        found = self._find(name)
        if isinstance(found, OneHandMove):
            return found
        if found is not None:
            raise UnknownName(f'"{name}" is a hybrid; a one-hand move is wanted here')
        near = _nearest(name, [move.name for move in self.one_hand()])
        raise UnknownName(f'no one-hand move is called "{name}"{near}')

    def names(self) -> tuple[str, ...]:
        return tuple(self.moves)

    def one_hand(self) -> tuple[OneHandMove, ...]:
        return tuple(move for move in self.moves.values() if isinstance(move, OneHandMove))

    def hybrids(self) -> tuple[Hybrid, ...]:
        return tuple(move for move in self.moves.values() if isinstance(move, Hybrid))

    def caution_lines(self, move: Move) -> tuple[str, ...]:
        """The sentences of the cautions a move bears, those of its hands included."""
        names = dict.fromkeys(move.cautions)
        if isinstance(move, Hybrid):
            names |= dict.fromkeys((*move.right.move.cautions, *move.left.move.cautions))
        return tuple(self.cautions[name] for name in names)

    def _find(self, name: str) -> Move | None:
        return self._by_key.get(_key(name))

    @cached_property
    def _by_key(self) -> Mapping[str, Move]:
        return {
            _key(name): move for move in self.moves.values() for name in (move.name, *move.also)
        }

    def _known(self) -> list[str]:
        return [name for move in self.moves.values() for name in (move.name, *move.also)]


EMPTY = Library({}, {})


@cache
def shipped_library() -> Library:
    """The moves that come with the program; that they are without fault is for the tests."""
    library = EMPTY
    for name in SHIPPED:
        text = (resources.files("composer.moves") / name).read_text(encoding="utf-8")
        library = _added(text, name, library)
    return library


def library_from_text(text: str, source: str, base: Library | None = None) -> Library:
    """A file of moves added to a library (the shipped one, if none is given).

    Hybrids may use the one-hand moves of both.

    Raises
    ------
    MoveFileError
        With one line that names the move and what is wrong with it.
    """
    from composer.moves.checked import move_fault  # here: the shipped moves are not asked

    before = shipped_library() if base is None else base
    library = _added(text, source, before)
    for name, move in library.moves.items():
        if name not in before.moves and (fault := move_fault(move)) is not None:
            kind = "hybrid" if isinstance(move, Hybrid) else "one_hand"
            raise MoveFileError(f'{source}: {kind} "{name}": {fault}')
    return library


def _added(text: str, source: str, library: Library) -> Library:
    rows = rows_from_text(text, source)
    cautions = {**library.cautions, **rows.cautions}
    moves = dict(library.moves)
    taken = {_key(name) for name in library._known()}
    for row in rows.one_hand:
        place = f'{source}: one_hand "{row.name}"'
        _claim(row, taken, cautions, place)
        moves[row.name] = _one_hand(row)
    so_far = Library(moves, cautions)
    for hybrid_row in rows.hybrid:
        place = f'{source}: hybrid "{hybrid_row.name}"'
        _claim(hybrid_row, taken, cautions, place)
        moves[hybrid_row.name] = _hybrid(hybrid_row, so_far, place)
    return Library(MappingProxyType(moves), MappingProxyType(cautions))


def _claim(
    row: OneHandRow | HybridRow, taken: set[str], cautions: Mapping[str, str], place: str
) -> None:
    for name in (row.name, *row.also):
        if _key(name) in taken:
            raise MoveFileError(f'{place}: "{name}" is taken by another move; choose another name')
        taken.add(_key(name))
    for caution in row.cautions:
        if caution not in cautions:
            near = _nearest(caution, list(cautions))
            raise MoveFileError(f'{place}: no caution is called "{caution}"{near}')


def _one_hand(row: OneHandRow) -> OneHandMove:
    return OneHandMove(
        name=row.name,
        words=row.words,
        recipe=row.recipe(),
        also=row.also,
        plane=row.plane,
        tilt_turns=row.tilt,
        depth=tuple(step.depth() for step in row.depth),
        hands=row.hands,
        left_entry=row.left_entry,
        beats=row.beats,
        cautions=row.cautions,
    )


def _hybrid(row: HybridRow, library: Library, place: str) -> Hybrid:
    return Hybrid(
        name=row.name,
        words=row.words,
        right=_use(row.right, library, f"{place}, right"),
        left=_use(row.left, library, f"{place}, left"),
        hands=row.hands,
        left_entry=row.left_entry,
        cycles=row.cycles,
        also=row.also,
        plane=row.plane,
        tilt_turns=row.tilt,
        tracing=row.tracing,
        cautions=row.cautions,
    )


def _use(row: UseRow, library: Library, place: str) -> Use:
    try:
        move = library.get_one_hand(row.move)
    except UnknownName as error:
        raise MoveFileError(f"{place}: {error}") from None
    return Use(move, row.orientation, row.mirrored, row.centre)


def _key(name: str) -> str:
    return " ".join(name.casefold().split())


def _nearest(name: str, known: Iterable[str]) -> str:
    import difflib

    by_key = {_key(other): other for other in known}
    near = difflib.get_close_matches(_key(name), by_key, n=3, cutoff=0.5)
    inside = [key for key in by_key if _key(name) and _key(name) in key]
    found = dict.fromkeys([*near, *inside[:3]])
    if not found:
        return "; see petalbar moves"
    return "; the nearest are " + ", ".join(f'"{by_key[key]}"' for key in list(found)[:3])
