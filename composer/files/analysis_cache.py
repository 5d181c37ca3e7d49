"""Analyses kept on disk, so that a track is listened to only once.

The key is the content of the file and the version of the analysis, never its name.
"""

import dataclasses
import io
import json
import os
import tempfile
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from composer.audio.analysis import ANALYSIS_VERSION, Alternative, Analysis, Confidence
from composer.files.music_file import check_music_file, content_hash
from composer.files.track import Track, decode_track
from composer.timing.grid import Accent, MusicGrid, Phrase
from composer.timing.meter import MeterChange, MeterMap, meter_from_text
from composer.timing.tempo_map import Knot, TempoMap

MIDI_SUFFIXES = (".mid", ".midi", ".smf", ".kar")
BEAT_LIST_SUFFIXES = (".txt", ".csv", ".tsv", ".beats")
LONG_FILE_BYTES = 60_000_000
"""Larger files are decoded in one channel when only their analysis is wanted."""
ARRAYS = (
    "beats_s",
    "downbeats_s",
    "boundaries_s",
    "beat_confidence",
    "loudness_db",
    "onset_strength",
)


def analysis_of(
    path: Path | str,
    *,
    progress: Callable[[float], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    fresh: bool = False,
    samples: bool = True,
) -> tuple[Track | None, Analysis]:
    """The track and its analysis, listened to now or taken from the cache.

    MIDI files and lists of beats tell their beats themselves and have no track.
    ``fresh`` listens again. Without ``samples`` a known track is not even decoded and no track
    is returned. A plain function of plain values: any ``concurrent.futures`` executor can run it.

    Raises
    ------
    TrackError
        If the file cannot be read or is not music.
    """
    path = Path(path)
    check_music_file(path)
    given = _given(path)
    if given is not None:
        return None, given
    sha256 = content_hash(path)
    analysis = None if fresh else stored_analysis(sha256)
    if analysis is not None and not samples:
        return None, analysis
    track = decode_track(path, mono=not samples and path.stat().st_size > LONG_FILE_BYTES)
    if analysis is None:
        from composer.audio.analyse import analyse

        analysis = analyse(
            track.samples, track.sample_rate_hz, progress=progress, cancelled=cancelled
        )
        store_analysis(sha256, analysis)
    return (track if samples else None), analysis


def _given(path: Path) -> Analysis | None:
    """The analysis of a file that tells its beats itself: a MIDI file or a list of beats."""
    # The readers are loaded only when used: they need SciPy, a known track does not.
    if path.suffix.lower() in MIDI_SUFFIXES:
        from composer.files.midi_track import read_midi_track

        return read_midi_track(path)
    if path.suffix.lower() in BEAT_LIST_SUFFIXES:
        from composer.files.beat_list import read_beat_list

        return read_beat_list(path)
    return None


def cache_folder() -> Path:
    """Where analyses are kept: under XDG_CACHE_HOME, by default in ~/.cache."""
    base = os.environ.get("XDG_CACHE_HOME", "")
    root = Path(base) if base and Path(base).is_absolute() else Path.home() / ".cache"
    return root / "petalbar" / "analyses"


def _place(sha256: str) -> Path:
    return cache_folder() / f"{sha256[:32]}-v{ANALYSIS_VERSION}.npz"


def stored_analysis(sha256: str) -> Analysis | None:
    """The kept analysis of a file content; None if there is none or it cannot be read."""
    try:
        return analysis_from_bytes(_place(sha256).read_bytes())
    except (OSError, ValueError, KeyError, TypeError):
        return None


def store_analysis(sha256: str, analysis: Analysis) -> None:
    """Keep an analysis. A cache that cannot be written costs time, not the answer."""
    place = _place(sha256)
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=place.parent, delete=False) as stream:
            stream.write(analysis_to_bytes(analysis))
        os.replace(stream.name, place)
    except OSError:
        return


def analysis_to_bytes(analysis: Analysis) -> bytes:
    """An npz archive: the arrays, and one JSON text for everything else."""
    grid = analysis.grid
    rest = {
        "knots": [[str(knot.beat), float(knot.time_s)] for knot in grid.tempo_map.knots],
        "end_beat": str(grid.end_beat),
        "meters": [[str(c.start_beat), str(c.meter)] for c in grid.meter_map.changes],
        "phrases": [[str(p.start_beat), p.name, p.energy, p.locked] for p in grid.phrases],
        "accents": [[float(a.time_s), a.kind, a.strength] for a in grid.accents],
        "confidence": dataclasses.asdict(analysis.confidence),
        "alternatives": [dataclasses.asdict(a) for a in analysis.alternatives],
        **{
            name: getattr(analysis, name)
            for name in ("bpm", "steady", "residual_ms", "duration_s", "notes", "version")
        },
    }
    buffer = io.BytesIO()
    np.savez_compressed(
        buffer,
        rest=np.array(json.dumps(rest)),
        **{name: getattr(analysis, name) for name in ARRAYS},
    )
    return buffer.getvalue()


def analysis_from_bytes(data: bytes) -> Analysis:
    """Read what :func:`analysis_to_bytes` wrote; ValueError or KeyError for anything else."""
    import zipfile

    try:
        with np.load(io.BytesIO(data), allow_pickle=False) as stored:
            rest: dict[str, Any] = json.loads(str(stored["rest"]))
            arrays = {name: stored[name] for name in ARRAYS}
    except zipfile.BadZipFile:
        raise ValueError("not a stored analysis") from None
    if rest["version"] != ANALYSIS_VERSION:
        raise ValueError(f"an analysis of version {rest['version']}")
    grid = MusicGrid(
        TempoMap(tuple(Knot(Fraction(beat), time_s) for beat, time_s in rest["knots"])),
        Fraction(rest["end_beat"]),
        MeterMap(tuple(MeterChange(Fraction(b), meter_from_text(m)) for b, m in rest["meters"])),
        tuple(
            Phrase(Fraction(b), name, energy, locked) for b, name, energy, locked in rest["phrases"]
        ),
        tuple(Accent(*accent) for accent in rest["accents"]),
    )
    return Analysis(
        grid=grid,
        confidence=Confidence(**rest["confidence"]),
        alternatives=tuple(Alternative(**a) for a in rest["alternatives"]),
        bpm=rest["bpm"],
        steady=rest["steady"],
        residual_ms=rest["residual_ms"],
        duration_s=rest["duration_s"],
        notes=tuple(rest["notes"]),
        version=rest["version"],
        **arrays,
    )
