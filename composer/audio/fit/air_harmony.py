"""Chords under a folk tune, chosen from its own notes, and plain ways to accompany it with them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Sounds = Iterator[tuple[float, float, int, float]]
"""(start and length in beats, pitch, strength over or under the usual) of an accompaniment."""

MODES_BY_FIFTHS = {0: "major", -1: "mixolydian", -2: "dorian", -3: "minor", 1: "lydian"}
OFFERS = {
    "major": ((0, "major"), (5, "major"), (7, "major"), (2, "minor"), (9, "minor")),
    "lydian": ((0, "major"), (7, "major"), (2, "major"), (9, "minor")),
    "mixolydian": ((0, "major"), (5, "major"), (10, "major"), (7, "minor"), (2, "minor")),
    "dorian": ((0, "minor"), (5, "major"), (10, "major"), (7, "minor"), (3, "major")),
    "minor": ((0, "minor"), (5, "minor"), (10, "major"), (7, "minor"), (3, "major"), (7, "major")),
}
"""For each mode its usual chords, home first: semitones over the tonic, and the kind."""
THIRDS = {"major": 4, "minor": 3}
HOME, HOME_AT_EDGE, STAY = 0.0, 0.35, 0.02


@dataclass(frozen=True)
class Chord:
    """A triad by its root's pitch class."""

    root: int
    kind: str

    @property
    def classes(self) -> tuple[int, int, int]:
        return (self.root, (self.root + THIRDS[self.kind]) % 12, (self.root + 7) % 12)

    def bass(self) -> int:
        return 36 + (self.root - 4) % 12 + 4

    def triad(self, low: int = 53) -> list[int]:
        """The three notes in close position, the lowest at ``low`` or the next above it."""
        return sorted(low + (tone - low) % 12 for tone in self.classes)


def chords_of(tonic: int, sharps: int) -> tuple[Chord, ...]:
    """The usual chords of a key: its tonic and its signature tell the mode."""
    fifths = (tonic * 7 + 5) % 12 - 5  # sharps of the major key on this tonic, -5 to 6
    mode = MODES_BY_FIFTHS.get((sharps - fifths + 6) % 12 - 6, "major")
    return tuple(Chord((tonic + above) % 12, kind) for above, kind in OFFERS[mode])


def harmonised(weights: NDArray[np.float64], offers: Sequence[Chord]) -> list[Chord]:
    """The chord of each stretch that holds most of its notes, home preferred at both ends.

    ``weights`` has shape (stretches, 12): how much each pitch class counts.
    """
    chosen: list[Chord] = []
    for k, weight in enumerate(weights):
        whole = max(1e-9, float(weight.sum()))
        worth = []
        for chord in offers:
            held = float(weight[list(chord.classes)].sum()) / whole
            held += 0.1 * float(weight[chord.root]) / whole
            held += (HOME_AT_EDGE if k in (0, len(weights) - 1) else HOME) * (chord == offers[0])
            worth.append(held + STAY * (bool(chosen) and chord == chosen[-1]))
        chosen.append(offers[int(np.argmax(worth))])
    return chosen


@dataclass(frozen=True)
class Stretch:
    """What an accompaniment needs to know: the first beat, how many beats, and their chord."""

    at: int
    beats: int
    chord: Chord
    unit: float
    """The tune's running note in beats: a third in compound time, a half or a quarter else."""
    inside: bool
    """Whether a beat is long enough for bass and chord, so that they do not take turns."""


def backed(kind: str, stretch: Stretch, home: Chord) -> Sounds:
    """One stretch of an accompaniment: a drone, bass, chords, broken chords or a vamp."""
    root, triad = stretch.chord.bass(), stretch.chord.triad()
    if kind == "drone":
        yield stretch.at, stretch.beats, home.bass() + 12, -14
        yield stretch.at, stretch.beats, home.bass() + 19, -14
    elif kind == "chords":
        for pitch in (root, *triad):
            yield stretch.at, stretch.beats * 0.95, pitch, -6
    elif kind == "bass":
        for k in range(stretch.beats):
            yield stretch.at + k, 0.85, root + (7 if k % 2 else 0), 4 if k == 0 else -2
    elif kind == "broken":
        order = (root, *triad, triad[1])
        for k in range(round(stretch.beats / stretch.unit)):
            yield stretch.at + k * stretch.unit, stretch.unit * 1.3, order[k % len(order)], -6
    else:
        yield from _vamp(stretch, root, triad)


def _vamp(stretch: Stretch, root: int, triad: list[int]) -> Sounds:
    """Bass and chord in turn, from beat to beat or inside the beat."""
    after = 2 / 3 if abs(stretch.unit - 1 / 3) < 1e-6 else 0.5
    inside = stretch.inside
    for k in range(stretch.beats):
        strong = inside or k == 0 or (k % 2 == 0 and stretch.beats % 2 == 0)
        if strong:
            yield stretch.at + k, 0.4, root + (7 if k % 2 else 0), 0
        if inside or not strong:
            late = after if inside else 0.0
            for pitch in triad:
                yield stretch.at + k + late, 0.28, pitch, -10
