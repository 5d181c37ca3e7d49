"""Playback in real time on the silent device: how late cues are, how even the MIDI clock, how
much of a core it takes. ``PLAYBACK_SECONDS`` sets how long each part plays (20 by default)."""

import os
import random
import subprocess
import sys
import threading
import time
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import pytest

from composer.audio.stretch import stretched
from composer.playback.device import open_silent_device
from composer.playback.due import Caller, calls_of, next_due_s
from composer.playback.player import Player
from composer.playback.practice import from_here
from composer.playback.rehearsal import Rehearsal, RehearsalSettings
from composer.playback.sync import MidiClockOutput, SyncThread
from composer.timing.grid import MusicGrid
from composer.timing.tempo_map import steady_tempo_map

RATE = 44100
SECONDS = float(os.environ.get("PLAYBACK_SECONDS", "20"))
TEMPO = steady_tempo_map(128)
GRID = MusicGrid(TEMPO, Fraction(128 * 15))
BUSY = "while True: sum(range(1000))"


@dataclass(frozen=True)
class Cue:
    beat: Fraction
    call_beat: Fraction
    performer: str = "Ada"
    kind: str = "move"
    text: str = "flower"
    hand: str = "both"


@pytest.fixture
def busy():
    """A second process that takes all of a core it can get."""
    process = subprocess.Popen([sys.executable, "-c", BUSY])
    yield
    process.kill()
    process.wait()


def music(seconds: float) -> np.ndarray:
    noise = np.random.default_rng(1).standard_normal((round(seconds * RATE), 2))
    return (0.1 * noise).astype(np.float32)


def quantiles(name: str, values_ms: np.ndarray) -> float:
    worst = float(np.percentile(values_ms, 99))
    print(f"\n  {name}: median {np.median(values_ms):.2f}, 99 % {worst:.2f}, "
          f"most {values_ms.max():.2f} ms ({len(values_ms)})")  # fmt: skip
    return worst


@pytest.mark.parametrize("percent", [100, 75, 50])
@pytest.mark.usefixtures("busy")
def test_cues_in_real_time_beside_a_busy_process(percent: int) -> None:
    """200 calls; each compared with the clock's place, and with a straight line through all."""
    rate = percent / 100
    track_s = SECONDS * rate
    beats = TEMPO.beat_at(track_s)
    places = sorted(random.Random(3).sample(range(4000), 200))
    places_beat = [Fraction(place, 4000) * Fraction(beats) for place in places]
    calls = calls_of([Cue(beat + 4, beat) for beat in places_beat], TEMPO)
    player = Player(music(track_s + 2), RATE, open_silent_device)
    player.set_rendition(rate, None if percent == 100 else music((track_s + 2) / rate))
    caller, pieces = Caller(calls), player.follow()
    rows = []
    player.play()
    first_s = time.monotonic()
    while len(rows) < 200 and time.monotonic() < first_s + SECONDS + 2:
        for piece in pieces():
            found = caller.announce(piece)
            place_s, now_s = player.position_s(), time.monotonic()
            rows += [(made.call.time_s, place_s, now_s) for made in found]
        position_s = player.position_s()
        due_s = next_due_s(calls, position_s)
        wait_s = 0.05 if due_s is None else (due_s - position_s) / rate + 1e-4
        time.sleep(min(0.05, max(wait_s, 0.0005)))
    player.close()
    assert len(rows) == 200
    call_s, place_s, now_s = np.array(rows).T
    offset_s = np.median(now_s - call_s / rate)
    quantiles(f"{percent} %: against true time", np.abs(now_s - call_s / rate - offset_s) * 1000)
    assert quantiles(f"{percent} %: against the clock", np.abs(place_s - call_s) * 1000) < 20


class Recorder:
    def __init__(self) -> None:
        self.times_s: list[float] = []

    def send(self, message: bytes) -> None:
        if message == b"\xf8":
            self.times_s.append(time.monotonic())

    def close(self) -> None: ...


@pytest.mark.usefixtures("busy")
def test_midi_clock_jitter() -> None:
    """51.2 clocks a second at 128: how far each lies from an even row."""
    player, port = Player(music(SECONDS + 1), RATE, open_silent_device), Recorder()
    thread = SyncThread(player, [MidiClockOutput(GRID, port)])
    player.play()
    time.sleep(SECONDS)
    thread.close()
    player.close()
    times_s = np.array(port.times_s[48:])
    k = np.arange(len(times_s))
    fit = np.polyval(np.polyfit(k, times_s, 1), k)
    assert abs(np.polyfit(k, times_s, 1)[0] - 60 / 128 / 24) < 1e-5
    quantiles("MIDI clock against an even row", np.abs(times_s - fit) * 1000)


def test_share_of_a_core() -> None:
    """Music, click, tones over lowered music, and a screen's twenty looks a second."""
    cues = [Cue(Fraction(b) + 4, Fraction(b)) for b in range(0, 1800, 2)]
    desk = Rehearsal(
        music(SECONDS + 5), RATE, GRID, cues, open_silent_device,
        settings=RehearsalSettings(calls="tones", click=True, count_in_bars=0),
    )  # fmt: skip
    desk.rehearse(from_here(GRID, Fraction(0)))
    wall_s, cpu_s = time.monotonic(), time.process_time()
    stop = threading.Event()
    while time.monotonic() - wall_s < SECONDS:
        desk.tick()
        stop.wait(0.05)
    share = (time.process_time() - cpu_s) / (time.monotonic() - wall_s)
    desk.close()
    print(f"\n  {share:.1%} of a core over {SECONDS:g} s")
    assert share < 0.15


def test_slow_down_speed() -> None:
    samples = music(30.0)
    for percent in (50, 75, 110):
        begun = time.process_time()
        stretched(samples, RATE, percent / 100)
        taken_s = time.process_time() - begun
        print(f"\n  {percent} %: {30 / taken_s:.0f} times as fast as the music plays")
        assert taken_s < 30
