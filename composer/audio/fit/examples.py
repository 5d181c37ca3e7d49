"""What is learnt from: every track of the given folders, measured and compared with its truth."""

import os
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from composer.audio.analyse import pulses_of
from composer.audio.curves import curves_of
from composer.audio.features import features_of
from composer.audio.fit import fit_phrases, fit_readings
from composer.audio.fit.truth import tracks_in, truth_of


@dataclass(frozen=True)
class Learnt:
    """One track of one set; None where it has nothing to teach about a thing."""

    set_name: str
    track: str
    readings: fit_readings.Example | None
    phrases: fit_phrases.Example | None


def learnt_from(folders: list[Path], invented: str) -> Iterator[Learnt]:
    """All tracks of the folders; a folder is a set, by its name, and one holds the invented."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    tracks = [path for folder in folders for path in tracks_in(folder)]
    with ProcessPoolExecutor(mp_context=get_context("spawn")) as pool:
        yield from pool.map(partial(learnt_from_track, invented), tracks, chunksize=4)


def learnt_from_track(invented: str, path: Path) -> Learnt:
    import soundfile

    samples, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
    features = features_of(samples, rate_hz)
    curves, truth = curves_of(features), truth_of(path)
    readings = fit_readings.example(truth, pulses_of(features, curves), curves)
    if readings is not None and path.parent.name == invented:
        readings = fit_readings.with_fewer_rivals(readings, np.random.default_rng(len(samples)))
    return Learnt(path.parent.name, path.stem, readings, fit_phrases.example(truth, curves))
