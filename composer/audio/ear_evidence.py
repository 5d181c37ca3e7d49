"""What the ear's chances say about beats and bars at given times, as numbers to judge by."""

from dataclasses import dataclass

import numpy as np
import scipy.ndimage as ndi
from numpy.typing import NDArray

from composer.audio.ear import EAR_HZ, Heard

Doubles = NDArray[np.float64]

REACH = 2
"""A chance counts for a time within so many moments of it: 40 ms, and rounding."""
LEAST, MOST = 0.003, 0.99
"""Chances are believed no further than this."""
PARTS = (0.0, 1 / 4, 1 / 3, 1 / 2, 2 / 3, 3 / 4)
LEVEL_NAMES = (
    *(f"ear odds {part:.2f}" for part in PARTS),
    "ear on",
    "ear half",
    "ear covered",
    "ear count",
    "ear down count",
    "ear fit",
)
BAR_NAMES = (
    "ear down odds",
    "ear down over others",
    "ear down over next",
    "ear down covered",
    "ear bars count",
    "ear phrase odds",
    "ear phrase over others",
    "ear bars fit",
)


@dataclass(frozen=True)
class Evidence:
    """The ear's chances made ready for looking up: the greatest nearby, and running sums."""

    beat: Doubles
    downbeat: Doubles
    phrase: Doubles
    """Chances, the greatest within REACH moments."""
    beat_sum: Doubles
    downbeat_sum: Doubles
    """Running sums of the chances themselves, one longer."""
    quiet_sum: Doubles
    """Running sum of the log chance that no beat begins."""

    def at(self, name: str, times_s: Doubles) -> Doubles:
        curve: Doubles = getattr(self, name)
        frame = np.round(times_s * EAR_HZ).astype(int)
        return np.asarray(curve[np.clip(frame, 0, len(curve) - 1)])

    def within(self, name: str, times_s: Doubles) -> Doubles:
        """The sum of a running sum's curve within REACH moments of each time."""
        total: Doubles = getattr(self, name)
        frame = np.round(times_s * EAR_HZ).astype(int)
        last = len(total) - 1
        return np.asarray(
            total[np.clip(frame + REACH + 1, 0, last)] - total[np.clip(frame - REACH, 0, last)]
        )

    def between(self, name: str, start_s: float, end_s: float) -> float:
        total: Doubles = getattr(self, name)
        a, b = (int(np.clip(round(t * EAR_HZ), 0, len(total) - 1)) for t in (start_s, end_s))
        return float(total[b] - total[a])


def evidence_of(heard: Heard) -> Evidence:
    beat, downbeat, phrase = (
        np.clip(ndi.maximum_filter1d(curve, 2 * REACH + 1), LEAST, MOST)
        for curve in (heard.beat, heard.downbeat, heard.phrase)
    )
    quiet = np.log1p(-np.clip(heard.beat, LEAST, MOST))
    return Evidence(
        beat,
        downbeat,
        phrase,
        *(np.concatenate([[0.0], np.cumsum(x)]) for x in (heard.beat, heard.downbeat, quiet)),
    )


def odds(chance: Doubles) -> Doubles:
    return np.asarray(np.log(chance) - np.log1p(-chance))


@dataclass(frozen=True)
class BeatsHeard:
    """What the ear says about one train of beats."""

    numbers: Doubles
    """As LEVEL_NAMES."""
    down_odds: Doubles
    phrase_odds: Doubles
    down_mass: Doubles
    """(beats,): the chances of a downbeat around each beat, summed."""
    down_gain: Doubles
    """(beats,): how much likelier the ear's chances are if the beat is a downbeat."""
    down_total: float
    seconds: float


def beats_heard(evidence: Evidence, times_s: Doubles, gaps_s: Doubles) -> BeatsHeard:
    """Look a train of beats up; ``gaps_s`` is the time from each beat to the next."""
    at = times_s[:, None] + gaps_s[:, None] * np.array(PARTS)
    chance = evidence.at("beat", at)
    down = evidence.at("downbeat", times_s)
    start_s, end_s = float(times_s[0]) - 0.05, float(times_s[-1]) + 0.05
    seconds = end_s - start_s
    total = evidence.between("beat_sum", start_s, end_s) + 1e-3
    down_total = evidence.between("downbeat_sum", start_s, end_s) + 1e-3
    covered = float(evidence.within("beat_sum", times_s).sum()) / total
    plain = np.log(np.clip(chance[:, 0] - down, LEAST, 1))
    quiet = evidence.between("quiet_sum", start_s, end_s)
    fit = plain.sum() + quiet - evidence.within("quiet_sum", times_s).sum()
    numbers = np.array(
        [
            *odds(chance).mean(axis=0),
            chance[:, 0].mean(),
            chance[:, 3].mean(),
            min(covered, 1.5),
            np.log(total / (2 * len(times_s))),
            np.log(down_total / (2 * len(times_s))),
            fit / seconds,
        ]
    )
    return BeatsHeard(
        numbers,
        odds(down),
        odds(evidence.at("phrase", times_s)),
        evidence.within("downbeat_sum", times_s),
        np.log(down) - plain,
        down_total,
        seconds,
    )


def bars_heard(heard: BeatsHeard, meter: int) -> Doubles:
    """(meter, len(BAR_NAMES)): what the ear says of bars that begin with each beat in turn."""
    rows = []
    downs = np.array([heard.down_odds[k::meter].mean() for k in range(meter)])
    phrases = np.array([heard.phrase_odds[k::meter].mean() for k in range(meter)])
    count = len(heard.down_odds) / meter
    for first in range(meter):
        others = np.delete(downs, first)
        rows.append(
            [
                downs[first],
                downs[first] - others.mean(),
                downs[first] - others.max(),
                min(1.5, float(heard.down_mass[first::meter].sum()) / heard.down_total),
                np.log(heard.down_total / (2 * count)),
                phrases[first],
                phrases[first] - np.delete(phrases, first).mean(),
                heard.down_gain[first::meter].sum() / heard.seconds + heard.numbers[-1],
            ]
        )
    return np.array(rows)
