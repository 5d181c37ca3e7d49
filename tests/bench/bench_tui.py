"""How quick the composing screen is, measured from outside: a real process on a pseudo-terminal.

Figures wanted, on 10 minutes of music with 500 placements at 200 x 50: from a key to its finished
frame, median under 16 ms and 99th percentile under 40 ms; from start to the first frame under
0.6 s; redrawing 30 times a second while playing, under 40 % of one core.
"""

import fcntl
import os
import pty
import random
import select
import struct
import sys
import termios
import time
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from composer.files.routine_file import save_routine
from composer.moves.library import shipped_library
from composer.moves.perform import Style
from composer.score.routine import Part, Performer, Placement, Routine, TrackRef
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.tempo_map import steady_tempo_map

FRAME_END = b"\x1b[?2026l"
"""Synchronized output: a terminal that says it knows it gets each frame closed by this."""
ASKED, ANSWER = b"\x1b[?2026$p", b"\x1b[?2026;1$y"
KEYS = {"right": b"\x1b[C", "down": b"\x1b[B", "up": b"\x1b[A", "page": b"\x1b[6~"}


def large_routine(track: str) -> Routine:
    """Ten minutes at 120 beats a minute, 500 placements, phrases of 32 beats."""
    names = [move.name for move in shipped_library().hybrids()]
    pick = random.Random(7)
    placements = []
    for index in range(500):
        hand = pick.choice(["both"] * 6 + ["right"])
        span = BeatSpan(Fraction(2 * index), Fraction(2))
        placements.append(Placement(span, pick.choice(names), style=Style(hand=hand)))  # type: ignore[arg-type]
    phrases = tuple(Phrase(Fraction(b), f"phrase {b // 32 + 1}") for b in range(0, 1200, 32))
    grid = MusicGrid(steady_tempo_map(120), Fraction(1200), phrases=phrases)
    part = Part("Wren", tuple(placements))
    return Routine("Ten minutes", TrackRef(track), grid, (Performer("Wren"),), (part,))


@dataclass
class Terminal:
    """The program on a pseudo-terminal of 200 x 50 cells."""

    process: int
    handle: int

    def until_frame(self, limit_s: float) -> float:
        """Read up to the end of a frame; the time it came."""
        data, end_s = b"", time.monotonic() + limit_s
        while time.monotonic() < end_s:
            ready, _, _ = select.select([self.handle], [], [], 0.02)
            if ready:
                data += os.read(self.handle, 1 << 16)
                if ASKED in data:
                    os.write(self.handle, ANSWER)
                    data = data.replace(ASKED, b"")
                if FRAME_END in data:
                    return time.monotonic()
        raise TimeoutError(data[-300:])

    def drain(self, quiet_s: float) -> None:
        """Read until nothing has come for a while."""
        while select.select([self.handle], [], [], quiet_s)[0]:
            if ASKED in os.read(self.handle, 1 << 16):
                os.write(self.handle, ANSWER)

    def drain_for(self, seconds: float) -> int:
        """Read for a while; how many frames came."""
        frames, end_s = 0, time.monotonic() + seconds
        while (left_s := end_s - time.monotonic()) > 0:
            if select.select([self.handle], [], [], left_s)[0]:
                frames += os.read(self.handle, 1 << 16).count(FRAME_END)
        return frames

    def cpu_s(self) -> float:
        fields = Path(f"/proc/{self.process}/stat").read_text().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def close(self) -> None:
        os.kill(self.process, 9)
        os.waitpid(self.process, 0)
        os.close(self.handle)


def start(path: Path) -> Terminal:
    process, handle = pty.fork()
    if process == 0:
        fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", 50, 200, 0, 0))
        # An environment of its own: readline, which pytest imports, sets COLUMNS behind Python.
        own = dict(os.environ) | {"TERM": "xterm-256color", "COLORTERM": "truecolor"}
        command = [sys.executable, "-m", "tui.main", "open", str(path)]
        os.execve(sys.executable, command, own)
    return Terminal(process, handle)


@pytest.fixture
def large(tmp_path: Path) -> Path:
    path = tmp_path / "large.toml"
    save_routine(large_routine("none.ogg"), path)
    return path


def test_start_to_first_frame(large: Path) -> None:
    times, spent = [], []
    for _ in range(5):
        began = time.monotonic()
        terminal = start(large)
        times.append(terminal.until_frame(20) - began)
        spent.append(terminal.cpu_s())
        terminal.close()
    print(f"\nstart to first frame: median {np.median(times):.2f} s, all {np.round(times, 2)}")
    print(
        f"of which the processor was busy {np.median(spent):.2f} s; load {os.getloadavg()[0]:.1f}"
    )


@pytest.mark.parametrize("job", ["moving", "editing"])
def test_key_to_frame(large: Path, job: str) -> None:
    keys = list(KEYS.values()) if job == "moving" else [b"+", b"-", b">", b"<", b"u", b"m", b"s"]
    terminal = start(large)
    terminal.until_frame(20)
    terminal.drain(2.0)
    pick, took_ms, busy_s = random.Random(1), [], terminal.cpu_s()
    for _ in range(200):
        began = time.monotonic()
        os.write(terminal.handle, pick.choice(keys))
        try:
            took_ms.append(1000 * (terminal.until_frame(1.0) - began))
        except TimeoutError:
            continue  # the key changed nothing, such as up on the first row
        time.sleep(pick.uniform(0.03, 0.3))
        terminal.drain(0.02)
    busy_ms = 1000 * (terminal.cpu_s() - busy_s) / 200
    terminal.close()
    print(
        f"\nbusy {busy_ms:.1f} ms a key, panes and checks included; load {os.getloadavg()[0]:.1f}"
    )
    print(
        f"key to frame, {job}: {len(took_ms)} keys, median {np.median(took_ms):.1f} ms, "
        f"99th percentile {np.percentile(took_ms, 99):.1f} ms, worst {max(took_ms):.1f} ms"
    )


def test_load_while_playing(tmp_path: Path) -> None:
    track = Path(__file__).parents[2] / "demo_tracks" / "harbour_lanterns.ogg"
    path = tmp_path / "playing.toml"
    save_routine(large_routine(str(track)), path)
    terminal = start(path)
    terminal.until_frame(20)
    terminal.drain(2.0)
    os.write(terminal.handle, b" ")
    terminal.drain_for(3.0)
    before, began = terminal.cpu_s(), time.monotonic()
    frames = terminal.drain_for(10.0)
    spent, passed = terminal.cpu_s() - before, time.monotonic() - began
    terminal.close()
    print(f"\nplaying: {100 * spent / passed:.0f} % of a core, {frames / passed:.0f} frames/s")
