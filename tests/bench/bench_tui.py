"""How quick the composing screen is, measured from outside: a real process on a pseudo-terminal.

Figures wanted, on 10 minutes of music with 500 placements at 200 x 50: from a key to its finished
frame, median under 16 ms and 99th percentile under 40 ms; from start to the first frame under
0.6 s; redrawing 30 times a second while playing, under 40 % of one core. The rehearsal screen at
80 x 24 on the silent device: under 15 % of one core, watched for ``PLAYBACK_SECONDS``.
"""

import os
import random
import time
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from composer.files.analysis_cache import analysis_of, store_analysis
from composer.files.music_file import content_hash
from composer.files.routine_file import save_routine
from composer.moves.library import shipped_library
from composer.moves.perform import Style
from composer.score.routine import Part, Performer, Placement, Routine, TrackRef
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.tempo_map import steady_tempo_map

from ..tui.terminal import Terminal, Watch, begin, start

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


def opened(path: Path) -> Terminal:
    return start("open", str(path), columns=200, rows=50)


REHEARSE = """
import sys
from pathlib import Path
from composer.files.routine_file import load_routine
from composer.moves.library import shipped_library
from composer.playback.device import open_silent_device
from tui.rehearsal_app import RehearsalApp
from tui.rehearsing import rehearse_screen

path = Path(sys.argv[1])
RehearsalApp(
    rehearse_screen(load_routine(path), path, shipped_library(), open_device=open_silent_device)
).run()
"""
SECONDS = float(os.environ.get("PLAYBACK_SECONDS", "20"))


@pytest.fixture(scope="module")
def track(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Nine megabytes of music, whose analysis is kept; compiled modules are kept too, as ever."""
    folder = tmp_path_factory.mktemp("large")
    with pytest.MonkeyPatch.context() as own:
        own.setenv("XDG_CACHE_HOME", str(folder / "cache"))
        own.setenv("PYTHONPYCACHEPREFIX", str(folder / "compiled"))
        own.setenv("PYTHONDONTWRITEBYTECODE", "")
        demo = Path(__file__).parents[2] / "demo_tracks" / "harbour_lanterns.ogg"
        _, analysis = analysis_of(demo)
        path = folder / "ten_minutes.ogg"
        path.write_bytes(7 * demo.read_bytes())
        store_analysis(content_hash(path), analysis)
        yield path


@pytest.fixture
def large(tmp_path: Path, track: Path) -> Path:
    path = tmp_path / "large.toml"
    save_routine(large_routine(str(track)), path)
    return path


def figures(name: str, times_ms: list[tuple[float, float]]) -> None:
    """Print what was measured, and what it is without the time that others held the cores."""
    for place, words in enumerate(("as measured", "had it not waited for a core")):
        one = np.array(times_ms)[:, place]
        print(
            f"  {name}, {words}: median {np.median(one):.1f}, "
            f"99 % {np.percentile(one, 99):.1f}, worst {one.max():.1f} ms ({len(one)})"
        )
    print(f"  load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")


def test_start_to_first_frame(large: Path) -> None:
    """The title is drawn last. Not counted: the start that compiles the modules."""
    first = opened(large)
    first.until(b"Ten minutes", 60)
    first.drain(2.0)
    first.close()
    times_ms, spent_s = [], []
    for _ in range(12):
        terminal = opened(large)
        watch = Watch(terminal)
        terminal.until(b"Ten minutes", 30)
        times_ms.append(watch.times_ms())
        spent_s.append(terminal.cpu_s())
        terminal.close()
    print(f"\n  processor time up to the first frame: {np.median(spent_s):.2f} s")
    figures("start to first frame", times_ms)


@pytest.mark.parametrize("job", ["moving", "editing"])
def test_key_to_frame(large: Path, job: str) -> None:
    keys = list(KEYS.values()) if job == "moving" else [b"+", b"-", b">", b"<", b"u", b"m", b"s"]
    terminal = opened(large)
    terminal.until(b"Ten minutes", 30)
    terminal.drain(2.0)
    for _ in range(6):  # somewhere in the middle of the music
        terminal.press(KEYS["page"])
        terminal.drain(0.2)
    terminal.drain(1.0)
    pick, times_ms, busy_s = random.Random(1), [], terminal.cpu_s()
    for _ in range(200):
        watch = Watch(terminal)
        terminal.press(pick.choice(keys))
        try:
            terminal.until_frame(1.0)
        except TimeoutError:
            continue  # the key changed nothing, such as up on the first row
        times_ms.append(watch.times_ms())
        time.sleep(pick.uniform(0.03, 0.3))
        terminal.drain(0.02)
    busy_ms = 1000 * (terminal.cpu_s() - busy_s) / 200
    terminal.close()
    print(f"\n  {busy_ms:.1f} ms of processor time a key, panes and checks included")
    figures(f"key to frame, {job}", times_ms)


def test_load_while_playing(large: Path) -> None:
    terminal = opened(large)
    terminal.until(b"Ten minutes", 30)
    terminal.drain(2.0)
    terminal.press(b" ")
    terminal.until(b"space stops", 60)
    terminal.drain_for(1.0)
    before, began = terminal.cpu_s(), time.monotonic()
    frames = terminal.drain_for(10.0)
    spent, passed = terminal.cpu_s() - before, time.monotonic() - began
    terminal.close()
    print(f"\n  playing: {100 * spent / passed:.0f} % of a core, {frames / passed:.0f} frames/s")


def test_load_while_rehearsing(tmp_path: Path) -> None:
    """A phrase looped: music, count-in, tones, the next move shown and counted down."""
    root = Path(__file__).parents[2]
    text = (root / "routines" / "lantern_quay.toml").read_text()
    path = tmp_path / "quay.toml"
    path.write_text(text.replace("../demo_tracks", str(root / "demo_tracks")))
    terminal = begin("-c", REHEARSE, str(path), columns=80, rows=24)
    terminal.until(b"paused", 30)
    terminal.press(b"f")
    terminal.drain_for(3.0)
    before, began = terminal.cpu_s(), time.monotonic()
    frames = terminal.drain_for(SECONDS)
    spent, passed = terminal.cpu_s() - before, time.monotonic() - began
    terminal.close()
    share, per_s = spent / passed, frames / passed
    print(f"\n  rehearsing: {share:.1%} of a core over {passed:.0f} s, {per_s:.0f} frames/s")
    assert share < 0.15
