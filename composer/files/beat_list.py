"""Beats made elsewhere: a text or CSV list of times, perhaps with their places in the bar."""

import re
from pathlib import Path

import numpy as np

from composer.audio.analysis import Analysis
from composer.audio.given import analysis_of_grid, grid_of_beats
from composer.errors import TrackError

MOST_LINES = 200_000


def read_beat_list(path: Path) -> Analysis:
    """One beat a line: seconds, then perhaps the place in the bar (1 is the downbeat).

    Columns are parted by spaces, tabs, commas or semicolons; empty lines, lines that start with
    ``#`` and one heading line are passed over.

    Raises
    ------
    TrackError
        Naming the first line that cannot be read.
    """
    try:
        lines = path.read_text(encoding="utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError):
        raise TrackError(f"{path}: not a readable text file of beats") from None
    if len(lines) > MOST_LINES:
        raise TrackError(f"{path}: over {MOST_LINES} lines, too many for beats")
    rows: list[tuple[float, int]] = []
    for number, line in enumerate(lines, 1):
        cells = [cell for cell in re.split(r"[\s,;]+", line.strip()) if cell]
        if not cells or cells[0].startswith("#"):
            continue
        try:
            rows.append((float(cells[0]), int(float(cells[1])) if len(cells) > 1 else 0))
        except (ValueError, OverflowError):
            if number == 1 and not cells[0][0].isdigit():  # a heading
                continue
            raise TrackError(
                f"{path}, line {number}: a beat is a time in seconds, then perhaps "
                f'its place in the bar, not "{line.strip()[:40]}"'
            ) from None
    times = np.array([row[0] for row in rows])
    if len(rows) < 2 or not np.all(np.isfinite(times)) or np.any(np.diff(times) <= 0):
        raise TrackError(f"{path}: at least two beats are needed, each later than the one before")
    grid = grid_of_beats(times, [row[1] for row in rows])
    return analysis_of_grid(grid, float(times[-1] + np.median(np.diff(times))))
