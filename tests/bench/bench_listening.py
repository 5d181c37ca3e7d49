"""Speed and memory of listening: 40 times real time on one core, a four-minute mp3 from command
to JSON in under 12 s and again in under 0.5 s, under 700 MB for it, under 1.5 GB for an hour.

Each is measured in a process of its own, with no more than one thread for arithmetic.
"""

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
import soundfile

sys.path.insert(0, str(Path(__file__).parents[1] / "audio"))
from made_music import RATE_HZ, Plan, make

SECTIONS = ("kh", "kshb", "kshbc", "bc", "kshbc", "kshb", "kh")
LISTEN = """
import resource, sys, time
import soundfile
from composer.audio.analyse import analyse
samples, rate_hz = soundfile.read(sys.argv[1], dtype="float32", always_2d=True)
analyse(samples[: 20 * rate_hz], rate_hz)
began = time.perf_counter()
found = analyse(samples, rate_hz)
taken_s = time.perf_counter() - began
peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(found.duration_s / taken_s, peak_mb)
"""


@pytest.fixture(scope="module")
def four_minutes() -> np.ndarray:
    return make(Plan(112.0, sections=tuple((16, layers) for layers in SECTIONS))).samples


def one_core() -> dict[str, str]:
    return os.environ | {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}


def times_and_peak_mb(path: Path) -> tuple[float, float]:
    command = [sys.executable, "-c", LISTEN, str(path)]
    said = subprocess.run(command, env=one_core(), check=True, capture_output=True, text=True)
    times, peak_mb = map(float, said.stdout.split())
    return times, peak_mb


@pytest.mark.parametrize(("minutes", "most_mb"), [(4, 700), (60, 1500)])
def test_on_one_core(minutes: int, most_mb: int, tmp_path: Path, four_minutes: np.ndarray) -> None:
    path = tmp_path / "music.wav"
    soundfile.write(path, np.resize(four_minutes, 60 * minutes * RATE_HZ), RATE_HZ)
    times, peak_mb = times_and_peak_mb(path)
    print(f"listening, {minutes} min: {times:.0f} times real time, peak memory {peak_mb:.0f} MB")
    assert times > 40
    assert peak_mb < most_mb


def test_an_mp3_from_command_to_json(tmp_path: Path, four_minutes: np.ndarray) -> None:
    path = tmp_path / "music.mp3"
    soundfile.write(path, four_minutes, RATE_HZ)
    petalbar = Path(sys.executable).with_name("petalbar")
    taken_s = []
    for _ in range(2):
        began = time.perf_counter()
        said = subprocess.run(
            [petalbar, "listen", path, "--json"],
            env=one_core() | {"HOME": str(tmp_path), "XDG_CACHE_HOME": str(tmp_path / "cache")},
            check=True,
            capture_output=True,
        )
        taken_s.append(time.perf_counter() - began)
        assert json.loads(said.stdout)["bpm"] == pytest.approx(112, abs=0.2)
    print(f"listening, a four-minute mp3: {taken_s[0]:.2f} s, then {taken_s[1]:.2f} s")
    assert taken_s[0] < 12
    assert taken_s[1] < 0.5
