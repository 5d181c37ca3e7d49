"""kill -9 of the program itself, on a terminal, in mid-editing and in mid-saving."""

import random
import re
import time
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import pytest

from composer.files.journal import recover
from composer.files.routine_file import load_routine, save_routine

from .terminal import start

LASTS = re.compile(rb"lasts (\d+) beats")
START_S = 30


@pytest.mark.parametrize("seed", range(4))
def test_what_she_saw_done_is_there_after_a_kill(
    piece: SimpleNamespace, tmp_path: Path, seed: int
) -> None:
    """Each + makes the move a beat longer and says so; the length that was last shown is kept.

    The second sitting goes on from the kill of the first: it offers the unsaved edits, if any.
    """
    pick, path = random.Random(seed), tmp_path / "piece.toml"
    save_routine(piece.routine_of(piece.placed(0, 2, "extension"), beats=400), path)
    for _ in range(2):
        before = load_routine(path)
        found = recover(tmp_path / ".piece.toml.journal")
        terminal = start("open", str(path), columns=80, rows=24)
        terminal.until(b"Evening piece", START_S)
        if found is not None and found.routine != before:
            terminal.until(b"not saved; the last", START_S)
            terminal.press(b"\r")
            terminal.until(b"took up unsaved edits", START_S)
        end_s = time.monotonic() + pick.uniform(0.1, 1.0)
        while time.monotonic() < end_s:
            terminal.press(pick.choice([b"+", b"+", b"+", b"\x13"]))
            terminal.drain(0.05)
        terminal.press(b"+\x13+")
        terminal.until(b"lasts", START_S)
        terminal.close()
        shown = int(LASTS.findall(terminal.drawn)[-1])
        routine = load_routine(path)
        found = recover(tmp_path / ".piece.toml.journal")
        if found is not None:
            routine = found.routine
        (move,) = routine.part("Wren").placements
        assert move.span.length_beats >= Fraction(shown)
