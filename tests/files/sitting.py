"""Sittings at the composing desk, to be killed: reads paths, forks a sitting on each, tells it.

Run as ``python sitting.py``. Each line on its input, ``PATH SEED``, begins a sitting in a fresh
process. Lines on its output: the process's number, ``begun``, the number of each edit once it has
been recorded, and ``over`` when the process has ended. The desk, the work and the library are
those of the composing screen, and so are the calls: an edit, then its record; a save in a thread
while edits go on, then word of it.
"""

import os
import random
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path

from composer.errors import ComposerError
from composer.moves.library import shipped_library
from composer.moves.perform import Style
from composer.score.routine import Placement, Routine
from composer.timing.beats import BeatSpan
from tui.desk import Desk
from tui.opening import open_routine
from tui.screens.compose import EDITS
from tui.work import Work, unsaved_edits

MOVES = ("extension", "triquetra", "isolation", "cat-eye")
JOBS = ("place", "place", "longer", "shorter", "later", "swap", "turn", "pin", "remove", "undo",
        "redo", "face", "faster")  # fmt: skip


def edited(desk: Desk, pick: random.Random) -> str:
    """One random edit; words of what was done, also where that was nothing."""
    desk.cursor_beat = Fraction(pick.randrange(int(desk.routine.grid.end_beat)))
    job = pick.choice(JOBS)
    try:
        if job != "place":
            return EDITS[job](desk)
        hand = pick.choice(("both", "right", "left"))
        span = BeatSpan(desk.cursor_beat, Fraction(pick.choice((1, 2, 4))))
        return desk.place(Placement(span, pick.choice(MOVES), style=Style(hand=hand)))
    except ComposerError as error:
        return str(error)


def steps(desk: Desk, seed: int) -> Iterator[Routine]:
    """The routine after each edit of the sitting of a seed, as long as it is asked."""
    pick = random.Random(seed)
    while True:
        before = desk.routine
        edited(desk, pick)
        if desk.routine is not before:
            yield desk.routine


def opened_desk(path: Path) -> tuple[Desk, Work]:
    """As the composing screen begins: unsaved edits of the last sitting are taken up."""
    opened = open_routine(path)
    found = unsaved_edits(opened.work, opened.desk.routine)
    if found is not None:
        opened.work.undecided = False
        words = opened.desk.take_over("took up unsaved edits", found.routine)
        opened.work.record(opened.desk.routine, words)
    return opened.desk, opened.work


def sit(path: Path, seed: int, tell: Callable[[object], None]) -> None:
    """Edit without end."""
    desk, work = opened_desk(path)
    tell("begun")
    pick, saving = random.Random(seed + 1), threading.Thread()
    saved = desk.routine
    for number, routine in enumerate(steps(desk, seed), 1):
        trouble = work.record(routine, f"edit {number}")
        tell(trouble or number)
        if saving.ident is not None and (pick.random() < 0.3 or not saving.is_alive()):
            saving.join()
            saving = threading.Thread()
            if saved is desk.routine:
                work.saved()
        if saving.ident is None and pick.random() < 0.2:
            saved = desk.routine
            saving = threading.Thread(target=work.save, args=(saved,))
            saving.start()
            if pick.random() < 0.5:
                saving.join()
                work.saved()


def serve() -> None:
    """Load what a sitting needs once, then fork one for each line."""
    shipped_library()

    def tell(what: object) -> None:
        os.write(1, f"{what}\n".encode())  # short enough to be written whole or not at all

    for line in sys.stdin:
        path, _, seed = line.rpartition(" ")
        process = os.fork()
        if process == 0:
            try:
                sit(Path(path), int(seed), tell)
            finally:
                os._exit(1)
        tell(process)
        _, status = os.waitpid(process, 0)
        tell("over" if os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL else status)


if __name__ == "__main__":
    serve()
