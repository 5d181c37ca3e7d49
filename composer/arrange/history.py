"""Undo and redo: a list of routines with words for what was done."""

from dataclasses import dataclass, replace

from composer.score.routine import Routine


@dataclass(frozen=True, slots=True)
class Step:
    """A routine and the words for the edit that led to it."""

    words: str
    routine: Routine


@dataclass(frozen=True, slots=True)
class History:
    """Every state since the routine was opened; edits after an undo drop what was undone."""

    steps: tuple[Step, ...]
    at: int = 0

    @property
    def present(self) -> Routine:
        return self.steps[self.at].routine

    @property
    def can_undo(self) -> bool:
        return self.at > 0

    @property
    def can_redo(self) -> bool:
        return self.at + 1 < len(self.steps)

    def do(self, words: str, routine: Routine) -> "History":
        """The routine after an edit; an edit that changes nothing is not remembered."""
        if routine == self.present:
            return self
        return History((*self.steps[: self.at + 1], Step(words, routine)), self.at + 1)

    def undo(self) -> "History":
        return replace(self, at=self.at - 1) if self.can_undo else self

    def redo(self) -> "History":
        return replace(self, at=self.at + 1) if self.can_redo else self


def start_history(routine: Routine) -> History:
    return History((Step("opened", routine),))
