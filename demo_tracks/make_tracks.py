"""Make the demo tracks and the exact truth about their beats, phrases and accents.

    .venv/bin/python demo_tracks/make_tracks.py [FOLDER]

Every sample is computed here, from fixed seeds, so the same sound comes out each time.
"""

import sys
from pathlib import Path

import harbour_lanterns
import numpy as np
import ropewalk_round
import soundfile
import tidewater_waltz
from desk import Channel
from sound import SAMPLE_RATE_HZ
from timing import Plan, accents_text, beats_text, phrases_text

VORBIS_QUALITY = {"harbour_lanterns": 0.4, "tidewater_waltz": 0.4, "ropewalk_round": 0.1}
"""0 to 1; 0.4 is about 130 kbit/s, 0.1 about 80: the longest is to be small."""


def main(folder: Path) -> None:
    for track in (harbour_lanterns, tidewater_waltz, ropewalk_round):
        samples = track.render()
        write_sound(folder, track.PLAN.name, samples)
        write_truth(folder, track.PLAN)
        peak = np.abs(samples).max()
        print(f"{track.PLAN.name}: {len(samples) / SAMPLE_RATE_HZ:.2f} s, peak {peak:.3f}")


def write_sound(folder: Path, name: str, samples: Channel) -> None:
    """Ogg Vorbis, written second by second.

    By way of soundfile, since PyAV's wheels carry only the experimental Vorbis encoder.
    """
    with soundfile.SoundFile(
        folder / f"{name}.ogg", "w", SAMPLE_RATE_HZ, 2, format="OGG", subtype="VORBIS",
        compression_level=1 - VORBIS_QUALITY[name],
    ) as file:  # fmt: skip
        for start in range(0, len(samples), SAMPLE_RATE_HZ):
            file.write(samples[start : start + SAMPLE_RATE_HZ])


def write_truth(folder: Path, plan: Plan) -> None:
    (folder / f"{plan.name}.beats.txt").write_text(beats_text(plan))
    (folder / f"{plan.name}.phrases.txt").write_text(phrases_text(plan))
    if plan.accents:
        (folder / f"{plan.name}.accents.txt").write_text(accents_text(plan))


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
