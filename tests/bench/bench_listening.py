"""Speed and memory of listening: run by ``make bench``, prints figures, fails on gross loss.

Goals on one core after the imports: 40 times real time, under 700 MB for four minutes.
"""

import resource
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "audio"))

from made_music import RATE_HZ, Plan, make

from composer.audio.analyse import analyse


def main() -> None:
    sections = tuple(
        (16, layers) for layers in ("kh", "kshb", "kshbc", "bc", "kshbc", "kshb", "kh")
    )
    made = make(Plan(112.0, sections=sections))
    analyse(made.samples[: 20 * RATE_HZ], RATE_HZ)  # imports and filters
    began = time.perf_counter()
    analysis = analyse(made.samples, RATE_HZ)
    taken = time.perf_counter() - began
    times = analysis.duration_s / taken
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"listening: {analysis.duration_s:.0f} s of music in {taken:.2f} s, "
        f"{times:.0f} times real time, peak memory {peak_mb:.0f} MB"
    )
    if times < 20 or peak_mb > 900:
        sys.exit("listening has become slow or large")


if __name__ == "__main__":
    main()
