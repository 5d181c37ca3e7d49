"""Fit the listening weights. Not part of the program: run by hand.

    python -m composer.audio.fit airs ABC_FOLDER INTO.json [--without ABC_FOLDER ...]
    python -m composer.audio.fit invent FIRST COUNT FOLDER FONT.sf2 ... [--airs AIRS.json]
    python -m composer.audio.fit tracker FOLDER SONG.xm ...
    python -m composer.audio.fit ear INVENTED [--into FOLDER]
    python -m composer.audio.fit weights OTHERS_INVENTED [MUSIC ...] [--into FOLDER]
    python -m composer.audio.fit judge OTHERS_INVENTED MUSIC ... [--never NAME ...] [--into FOLDER]

``airs`` gathers folk tunes from ABC files, leaving out those that are known in other collections.
``invent`` leaves the songs numbered FIRST and on in a folder (needs FluidSynth and General MIDI
sound fonts). ``tracker`` leaves tracker songs whose rows tell their bars in a folder (needs
libopenmpt). ``ear`` fits what hears beats and bars (needs PyTorch and a GPU). ``weights`` then
learns to judge what was heard, from songs the ear was not fitted on and from folders of music with
its truth (see ``truth``). ``judge`` tells how such weights do on each folder when all of that
folder is left out; folders named by --never are judged but never learnt from. It leaves the
weights of each fold in a folder of its own.
"""

import argparse
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

import numpy as np

from composer.audio.choice import Weights, weights_from
from composer.audio.fit import fit_ear, fit_phrases, fit_readings
from composer.audio.fit.airs_of_abc import gather, read_airs
from composer.audio.fit.examples import Learnt, learnt_from
from composer.audio.fit.practice_sound import write_song
from composer.audio.fit.tracker_music import leave_songs

HERE = Path(__file__).parents[1]
MUSIC_COUNTS = 5
"""Each track of the given music is learnt from as often as this many invented songs."""


def invent(first: int, count: int, folder: Path, fonts: list[Path], airs_file: Path | None) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    airs = read_airs(airs_file) if airs_file is not None else []
    with ProcessPoolExecutor() as pool:
        write = partial(write_song, fonts=fonts, folder=folder, airs=airs)
        list(pool.map(write, range(first, first + count), chunksize=8))


def fit_into(learnt: list[Learnt], invented: str, into: Path) -> None:
    """Fit both weight files on everything learnt."""
    into.mkdir(parents=True, exist_ok=True)
    often = [one for one in learnt for _ in range(1 if one.set_name == invented else MUSIC_COUNTS)]
    readings = fit_readings.fit([one.readings for one in often if one.readings is not None])
    phrases = fit_phrases.fit([one.phrases for one in learnt if one.phrases is not None])
    np.savez_compressed(into / "reading_weights.npz", **readings)  # type: ignore[arg-type]
    np.savez_compressed(into / "phrase_weights.npz", **phrases)  # type: ignore[arg-type]


def judged(learnt: list[Learnt], weights: Weights) -> str:
    """How right the chosen readings are on average: beats, then bars, as F-measures."""
    right = []
    for one in learnt:
        if one.readings is not None:
            best = int(weights.belief(one.readings.numbers.astype(float)).argmax())
            right.append((one.readings.beats_right[best], one.readings.bars_right[best]))
    beats, bars = np.mean(right, axis=0)
    return f"{len(right):4} tracks  beats {beats:.3f}  bars {bars:.3f}"


def judge(learnt: list[Learnt], invented: str, never: list[str], into: Path) -> None:
    names = list(dict.fromkeys(one.set_name for one in learnt))
    folds = [[name] for name in names if name not in (invented, *never)]
    for left_out in ([invented, *never], *folds):
        out = set(left_out) - {invented}
        place = into / ("without-" + "-".join(sorted(out or {"none"})))
        fit_into([one for one in learnt if one.set_name not in {*out, *never}], invented, place)
        weights = weights_from(place / "reading_weights.npz")
        for name in sorted(out):
            print(name.ljust(24), judged([o for o in learnt if o.set_name == name], weights))


def main() -> None:
    parser = argparse.ArgumentParser(
        prog="python -m composer.audio.fit",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    steps = parser.add_subparsers(dest="step", required=True)
    step = steps.add_parser("airs")
    step.add_argument("folder", type=Path)
    step.add_argument("into", type=Path)
    step.add_argument("--without", type=Path, nargs="*", default=[])
    step = steps.add_parser("invent")
    step.add_argument("first", type=int)
    step.add_argument("count", type=int)
    step.add_argument("folder", type=Path)
    step.add_argument("fonts", type=Path, nargs="+")
    step.add_argument("--airs", type=Path)
    step = steps.add_parser("tracker")
    step.add_argument("folder", type=Path)
    step.add_argument("songs", type=Path, nargs="+")
    step = steps.add_parser("ear")
    step.add_argument("invented", type=Path)
    step.add_argument("--into", type=Path, default=HERE)
    for name in ("weights", "judge"):
        step = steps.add_parser(name)
        step.add_argument("invented", type=Path)
        step.add_argument("music", type=Path, nargs="*")
        step.add_argument("--into", type=Path, default=HERE if name == "weights" else Path())
        if name == "judge":
            step.add_argument("--never", nargs="*", default=[])
    try:
        run_step(parser.parse_args())
    except OSError as error:
        parser.exit(2, f"{error}\n")


def run_step(options: argparse.Namespace) -> None:
    if options.step == "airs":
        for (metre, fate), count in sorted(
            gather(options.folder, options.without, options.into).items()
        ):
            print(f"{metre:6} {fate:24} {count:5}")
        return
    if options.step == "invent":
        invent(options.first, options.count, options.folder, options.fonts, options.airs)
        return
    if options.step == "tracker":
        print(leave_songs(options.songs, options.folder), "of", len(options.songs), "songs")
        return
    if options.step == "ear":
        fit_ear.fit_into(options.invented, options.into)
        return
    learnt = list(learnt_from([options.invented, *options.music], options.invented.name))
    if options.step == "weights":
        fit_into(learnt, options.invented.name, options.into)
    else:
        judge(learnt, options.invented.name, options.never, options.into)


if __name__ == "__main__":
    main()
