"""The program on a pseudo-terminal: a real process, its keys and its frames."""

import contextlib
import fcntl
import os
import pty
import select
import signal
import struct
import sys
import termios
import time
from dataclasses import dataclass
from pathlib import Path

FRAME_END = b"\x1b[?2026l"
"""Synchronized output: a terminal that says it knows it gets each frame closed by this."""
ASKED, ANSWER = b"\x1b[?2026$p", b"\x1b[?2026;1$y"


@dataclass
class Terminal:
    """A process with a screen of its own; whoever holds it reads what is drawn."""

    process: int
    handle: int
    drawn: bytes = b""
    """Everything that was written to the screen."""

    def read(self, wait_s: float) -> bytes:
        """What comes next; empty if nothing does in time or the program has ended."""
        if not select.select([self.handle], [], [], wait_s)[0]:
            return b""
        try:
            data = os.read(self.handle, 1 << 16)
        except OSError:  # what a pseudo-terminal gives at its end
            return b""
        if ASKED in data:
            os.write(self.handle, ANSWER)
        self.drawn += data
        return data

    def press(self, keys: bytes) -> None:
        os.write(self.handle, keys)

    def until(self, text: bytes, limit_s: float, from_byte: int = 0) -> float:
        """Read until a text has been drawn, at ``from_byte`` of all or after; the time it came.

        Raises
        ------
        TimeoutError
            If it does not come in time; shows what came last.
        """
        end_s = time.monotonic() + limit_s
        while text not in self.drawn[from_byte:]:
            if time.monotonic() > end_s:
                raise TimeoutError(f"{text!r} did not come: {self.drawn[-300:]!r}")
            self.read(0.02)
        return time.monotonic()

    def until_frame(self, limit_s: float) -> float:
        """Read up to the end of the next frame; the time it came."""
        return self.until(FRAME_END, limit_s, len(self.drawn))

    def drain(self, quiet_s: float) -> None:
        """Read until nothing has come for a while."""
        while self.read(quiet_s):
            pass

    def drain_for(self, seconds: float) -> int:
        """Read for a while; how many frames came."""
        from_byte, end_s = len(self.drawn), time.monotonic() + seconds
        while (left_s := end_s - time.monotonic()) > 0:
            self.read(left_s)
        return self.drawn[from_byte:].count(FRAME_END)

    def cpu_s(self) -> float:
        """Processor time of the program so far."""
        fields = Path(f"/proc/{self.process}/stat").read_text().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def waited_s(self) -> float:
        """How long the program's main thread has been kept waiting for a core by others."""
        return _waited_s(self.process)

    def close(self) -> None:
        """kill -9, and what was drawn up to then."""
        os.kill(self.process, signal.SIGKILL)
        os.waitpid(self.process, 0)
        with contextlib.suppress(OSError):
            while self.read(0.0):
                pass
        os.close(self.handle)


def _waited_s(process: int) -> float:
    """Second figure of Linux's /proc/PID/schedstat: nanoseconds ready to run but not running."""
    return int(Path(f"/proc/{process}/schedstat").read_text().split()[1]) / 1e9


class Watch:
    """Times from a terminal's key to its frame, as measured and on a machine all its own.

    The second leaves out what the program, and then its reader here, waited for a core.
    """

    def __init__(self, terminal: Terminal) -> None:
        self._terminal = terminal
        self._own_s = _waited_s(os.getpid())
        self._its_s = terminal.waited_s()
        self._began_s = time.monotonic()

    def times_ms(self) -> tuple[float, float]:
        """Since the watch was made: in all, and without the waiting."""
        passed_s = time.monotonic() - self._began_s
        others_s = self._terminal.waited_s() - self._its_s + _waited_s(os.getpid()) - self._own_s
        return 1000 * passed_s, 1000 * max(0.0, passed_s - others_s)


def start(*arguments: str, columns: int = 200, rows: int = 50, **environment: str) -> Terminal:
    """Begin ``petalbar ARGUMENTS`` on a new pseudo-terminal of that size."""
    return begin("-m", "tui.main", *arguments, columns=columns, rows=rows, **environment)


def begin(*arguments: str, columns: int = 200, rows: int = 50, **environment: str) -> Terminal:
    """Begin ``python ARGUMENTS`` on a new pseudo-terminal of that size."""
    process, handle = pty.fork()
    if process == 0:
        fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        # An environment of its own: readline, which pytest imports, sets COLUMNS behind Python.
        own = dict(os.environ) | {"TERM": "xterm-256color", "COLORTERM": "truecolor"} | environment
        os.execve(sys.executable, [sys.executable, *arguments], own)
    return Terminal(process, handle)
