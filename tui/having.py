"""What the performers of the open routine have, read from the file beside it and marked there."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from composer.files.repertoire_file import load_repertoires, repertoire_path, save_repertoires
from composer.moves.library import Library
from composer.score.repertoire import Firmness, Pair, Repertoire

STEPS: tuple[Firmness | None, ...] = (None, *Firmness)
What = str | Pair
"""A move, or the way from one into another."""


class Having:
    """Every performer's repertoire. Marks go to the file at once and leave the rest of it alone."""

    def __init__(self) -> None:
        self._had: Mapping[str, Repertoire] = {}

    def load(self, routine_path: Path, library: Library) -> None:
        """Read the file beside a routine.

        Raises
        ------
        RoutineFileError
            If it is there and cannot be understood.
        """
        self._had = load_repertoires(repertoire_path(routine_path), library)

    @property
    def everybody(self) -> Mapping[str, Repertoire]:
        return self._had

    def of(self, performer: str) -> Repertoire | None:
        """None where nothing is told of what she has: then nothing is ranked by it."""
        had = self._had.get(performer)
        return had if had is not None and (had.moves or had.transitions) else None

    def firmness(self, performer: str, what: What) -> Firmness | None:
        """As it was told."""
        had = self.of(performer)
        if had is None:
            return None
        return had.of_move(what) if isinstance(what, str) else had.transitions.get(what)

    def firmer(self, performer: str, what: What) -> Firmness | None:
        """The next step from how she has it now; after the firmest, not at all."""
        now = STEPS.index(self.firmness(performer, what))
        return STEPS[(now + 1) % len(STEPS)]

    def mark(
        self,
        routine_path: Path,
        library: Library,
        performer: str,
        what: What,
        firmness: Firmness | None,
    ) -> None:
        """Write how firmly a performer has it; what others wrote in the file meanwhile stays.

        Raises
        ------
        RoutineFileError
            If the file cannot be read or written: then nothing is marked.
        """
        path = repertoire_path(routine_path)
        had = load_repertoires(path, library) if path.exists() else self._had
        old = had.get(performer, Repertoire(performer))
        if isinstance(what, str):
            marked = old.with_move(what, firmness)
        else:
            marked = old.with_transition(what, firmness)
        had = {**had, performer: marked}
        save_repertoires(had.values(), path)
        self._had = had

    def rename(self, routine_path: Path, library: Library, old: str, new: str) -> None:
        """What a performer has is hers under another name too; the old rows stay in the file.

        Raises
        ------
        RoutineFileError
            If the file cannot be read or written.
        """
        had = self.of(old)
        if had is None or old == new or new in self._had:
            return
        path = repertoire_path(routine_path)
        kept = load_repertoires(path, library) if path.exists() else self._had
        renamed = {**kept, new: replace(had, performer=new)}
        save_repertoires(renamed.values(), path)
        self._had = renamed
