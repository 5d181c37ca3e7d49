"""Tracker music with its truth: songs kept as samples and rows of notes, played by an exact clock.

Files of the kinds MOD, S3M, XM and IT, as free games carry them, are played by libopenmpt (Debian:
libopenmpt0), which is looked for when it is needed and tells the row that sounds. Trackers count a
tempo in beats a minute of 24 ticks: four rows at their usual six ticks a row (common practice, from
memory). Where that gives patterns of whole bars of four beats, the beats are the rows' own.
"""

import ctypes
from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from composer.audio.fit.truth import Doubles, Truth, write_track

SAMPLE_HZ = 44_100
BLOCK = 64
"""Samples between two looks at the row: 1.5 ms."""
LONGEST_S = 150.0
SHORTEST_S = 30.0
TICKS_A_BEAT = 24
BEATS_A_BAR = 4
WHOLE_BARS = 0.9
"""Share of the patterns that must last whole bars."""
UNEVEN = 0.05
"""Beats that vary more than this, as a share of their mean, are not steady."""
LIBRARY = "libopenmpt.so.0"


@dataclass(frozen=True)
class Rows:
    """The rows of a song in the order they are played; all arrays are (rows,)."""

    at_s: Doubles
    order: NDArray[np.int64]
    """Place in the song's list of patterns."""
    number: NDArray[np.int64]
    """Row of the pattern, from 0."""
    ticks: NDArray[np.int64]


def truth_in(rows: Rows) -> Truth | None:
    """Beats and bars of a steady song in 4/4; None where its rows do not tell them."""
    if len(rows.at_s) < 2:
        return None
    a_beat = TICKS_A_BEAT / float(np.mean(rows.ticks))
    each = round(a_beat)
    if each < 1 or abs(a_beat - each) > 0.1:
        return None
    fresh = (np.diff(rows.order) != 0) | (np.diff(rows.number) <= 0)
    starts = np.concatenate([[0], np.flatnonzero(fresh) + 1])
    whole = np.diff(starts) % (each * BEATS_A_BAR) == 0
    if len(whole) and np.mean(whole) < WHOLE_BARS:
        return None
    counts = np.diff(np.append(starts, len(rows.at_s)))
    within = np.concatenate([np.arange(count) for count in counts])
    beats_s = rows.at_s[within % each == 0]
    downbeats_s = rows.at_s[within % (each * BEATS_A_BAR) == 0]
    gaps = np.diff(beats_s)
    if len(gaps) < 2 * BEATS_A_BAR or np.std(gaps) > UNEVEN * np.mean(gaps):
        return None
    return Truth(beats_s, downbeats_s, ())


def played(path: Path) -> tuple[NDArray[np.float32], Rows]:
    """A song once through in one channel, at most LONGEST_S, at SAMPLE_HZ; and its rows.

    Raises OSError where libopenmpt is missing, ValueError where it cannot read the file.
    """
    try:
        library = ctypes.CDLL(LIBRARY)
    except OSError as error:
        raise OSError(f"{LIBRARY} is missing: install it (Debian: libopenmpt0)") from error
    create = library.openmpt_module_create_from_memory2
    read = library.openmpt_module_read_float_mono
    create.restype, read.restype = ctypes.c_void_p, ctypes.c_size_t
    create.argtypes = [ctypes.c_char_p, ctypes.c_size_t, *[ctypes.c_void_p] * 7]
    read.argtypes = [ctypes.c_void_p, ctypes.c_int32, ctypes.c_size_t, ctypes.c_void_p]
    library.openmpt_module_destroy.argtypes = [ctypes.c_void_p]
    data = path.read_bytes()
    song = create(data, len(data), *[None] * 7)
    if not song:
        raise ValueError(f"{path}: not a song that libopenmpt plays")
    told = []
    for what in ("order", "row", "speed"):
        tell = getattr(library, f"openmpt_module_get_current_{what}")
        tell.restype, tell.argtypes = ctypes.c_int32, [ctypes.c_void_p]
        told.append(tell)
    block = np.zeros(BLOCK, np.float32)
    blocks: list[NDArray[np.float32]] = []
    rows: list[tuple[float, int, int, int]] = []
    heard: set[tuple[int, int]] = set()
    while len(blocks) * BLOCK < LONGEST_S * SAMPLE_HZ:
        count = read(song, SAMPLE_HZ, BLOCK, block.ctypes.data)
        if not count:
            break
        order, number, ticks = (tell(song) for tell in told)
        if not rows or rows[-1][1:3] != (order, number):
            if rows and order != rows[-1][1] and (order, number) in heard:
                break  # the song goes round
            heard.add((order, number))
            rows.append((len(blocks) * BLOCK / SAMPLE_HZ, order, number, ticks))
        blocks.append(block[:count].copy())
    library.openmpt_module_destroy(song)
    samples = np.concatenate(blocks) if blocks else np.zeros(0, np.float32)
    at_s, *others = np.array(rows, float).reshape(-1, 4).T
    return samples, Rows(at_s, *(part.astype(int) for part in others))


def leave_songs(paths: Iterable[Path], folder: Path) -> int:
    """Leave each song whose rows tell its beats in a folder (see ``truth``); how many there are.

    Copies of a song count once.
    """
    folder.mkdir(parents=True, exist_ok=True)
    left: set[str] = set()
    for path in paths:
        name = f"{path.stem}_{sha256(path.read_bytes()).hexdigest()[:8]}".replace(".", "_")
        try:
            samples, rows = played(path)
        except ValueError as error:
            print(error)
            continue
        truth = truth_in(rows)
        if truth is None or len(samples) < SHORTEST_S * SAMPLE_HZ:
            continue
        ones = set(truth.downbeats_s.tolist())
        place, beats = 0, []
        for beat_s in truth.beats_s.tolist():
            place = 1 if beat_s in ones else place + 1
            beats.append((beat_s, place))
        loudest = max(1e-3, float(np.abs(samples).max()))
        write_track(0.9 * samples / loudest, SAMPLE_HZ, beats, (), folder / name)
        left.add(name)
    return len(left)
