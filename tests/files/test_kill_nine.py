"""kill -9 at random moments of editing: what was told as done is there afterwards, all of it."""

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from fractions import Fraction
from itertools import islice
from pathlib import Path

import pytest

from composer.files.journal import recover
from composer.files.routine_file import load_routine, save_routine
from composer.moves.library import shipped_library
from composer.score.routine import Part, Performer, Routine, TrackRef
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.tempo_map import steady_tempo_map
from tui.desk import open_desk

from .sitting import steps

KILLS = 200
OPENING_S, EDITING_S = 0.03, 0.05
"""One sitting in five is killed while it opens, the others at some moment of their editing."""


def empty_routine() -> Routine:
    phrases = tuple(Phrase(Fraction(b), f"phrase {b // 32 + 1}") for b in range(0, 240, 32))
    grid = MusicGrid(steady_tempo_map(120), Fraction(240), phrases=phrases)
    return Routine("Piece", TrackRef("piece.ogg"), grid, (Performer("Wren"),), (Part("Wren", ()),))


@pytest.fixture
def server(tmp_path: Path) -> Iterator["subprocess.Popen[bytes]"]:
    """Has everything loaded and forks a sitting for each line; its state folder is its own."""
    script = Path(__file__).with_name("sitting.py")
    own = dict(os.environ) | {"XDG_STATE_HOME": str(tmp_path / "state")}
    command = [sys.executable, str(script)]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=own
    ) as process:
        yield process
        assert process.stdin is not None
        process.stdin.close()


def killed_sitting(server: "subprocess.Popen[bytes]", path: Path, seed: int) -> int:
    """Begin a sitting and kill it; the number of the last edit that it told."""
    pick = random.Random(seed)
    assert server.stdin is not None
    assert server.stdout is not None
    server.stdin.write(f"{path} {seed}\n".encode())
    server.stdin.flush()
    process = int(server.stdout.readline())
    if pick.random() < 0.2:
        time.sleep(pick.uniform(0, OPENING_S))
    else:
        assert server.stdout.readline() == b"begun\n"
        time.sleep(pick.uniform(0, EDITING_S))
    os.kill(process, signal.SIGKILL)
    told = 0
    while (line := server.stdout.readline().decode().strip()) != "over":
        assert line == "begun" or line.isdecimal(), line
        told = int(line) if line.isdecimal() else 0
    return told


def test_nothing_told_is_missing_and_the_file_opens_after_two_hundred_kills(
    tmp_path: Path, server: "subprocess.Popen[bytes]"
) -> None:
    """Each sitting goes on from what the kill before it left; each is redone here to compare."""
    path, journal = tmp_path / "piece.toml", tmp_path / ".piece.toml.journal"
    save_routine(empty_routine(), path)
    library = shipped_library()
    edits, from_journal = 0, 0
    for seed in range(KILLS):
        before, found = load_routine(path), recover(journal)
        desk = open_desk(before, library, saved=True)
        if found is not None and found.routine != before:
            desk.take_over("took up unsaved edits", found.routine)
        led_to = [desk.routine]
        told = killed_sitting(server, path, seed)
        led_to += islice(steps(desk, seed), told + 1)
        after, found = load_routine(path), recover(journal)
        reached = found.routine if found is not None else after
        assert reached in led_to[told:], f"sitting {seed}, told {told} edits"
        edits += told
        from_journal += found is not None
    assert edits > KILLS, "the sittings were killed before much was edited"
    assert from_journal > KILLS / 4
