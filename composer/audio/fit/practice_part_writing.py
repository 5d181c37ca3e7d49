"""Four-part writing by the rules of common practice: chords that follow each other, voices.

What is usual is textbook matter: roots that fall by fifths, dominants before strong beats,
cadential six-fours on them, no parallel fifths or octaves. Pitches are MIDI note numbers.
"""

import itertools
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from composer.audio.fit.practice_styles import MAJOR

Cadence = Literal["authentic", "half", "plagal", "deceptive"]
RANGES = ((40, 60), (48, 67), (53, 74), (60, 79))
"""Bass, tenor, alto, soprano."""
MOVES = np.array([0.12, 0.45, 0.45, 0.30])
"""What a semitone of movement costs a voice."""
DOMINANTS = (4, 6)
SUCCESSION = np.array(
    [
        [1.5, 1.5, 0.4, 3.0, 3.0, 2.0, 0.5],
        [0.1, 0.6, 0.1, 0.1, 4.0, 0.2, 1.3],
        [0.1, 0.1, 0.3, 2.0, 0.2, 2.5, 0.1],
        [2.0, 1.5, 0.1, 0.8, 3.0, 0.1, 0.7],
        [5.0, 0.1, 0.1, 0.2, 1.5, 1.2, 0.1],
        [0.3, 2.5, 0.5, 2.2, 1.0, 0.6, 0.1],
        [5.0, 0.05, 0.3, 0.05, 0.3, 0.2, 0.1],
    ]
)
"""How readily a chord (row, by degree from 0) goes to another."""


@dataclass(frozen=True)
class Place:
    """Where a chord may stand, in pulses from the first downbeat of its phrase on."""

    at: float
    length: float
    strength: int
    """3 on a downbeat, 2 on another strong beat, 1 and 0 elsewhere."""


@dataclass(frozen=True)
class Chord:
    """A chord at its place; ``bass`` names the tones that may lie lowest (0 root, 1 third...)."""

    place: Place
    degree: int
    bass: tuple[int, ...] = (0, 1)
    seventh: bool = False


@dataclass(frozen=True)
class Tonality:
    key: int
    """Pitch class of the tonic."""
    scale: tuple[int, ...]

    def semitones(self, degree: int, step: int) -> int:
        """A scale step as a pitch class; minor has its leading note under dominants."""
        raised = self.scale != MAJOR and step % 7 == 6 and degree in DOMINANTS
        return (self.key + self.scale[step % 7] + raised) % 12

    def tones(self, chord: Chord) -> list[int]:
        steps = (0, 2, 4, 6) if chord.seventh else (0, 2, 4)
        return [self.semitones(chord.degree, chord.degree + step) for step in steps]

    def gamut(self, degree: int) -> set[int]:
        return {self.semitones(degree, step) for step in range(7)}

    def beside(self, pitch: int, way: int, degree: int) -> int:
        """The next note of the scale above (way 1) or below (way -1)."""
        inside = self.gamut(degree)
        return next(pitch + way * k for k in (1, 2, 3) if (pitch + way * k) % 12 in inside)


def progression(rng: np.random.Generator, places: list[Place], cadence: Cadence) -> list[Chord]:
    """Chords for all places, the last ones a cadence."""
    close = _close(rng, places, cadence)
    free = places[: len(places) - len(close)]
    toward = SUCCESSION[:, close[0].degree] * np.where(np.arange(7) == close[0].degree, 0.02, 1)
    if close[0].bass == (2,):
        # A six-four stands for the dominant; the tonic does not come twice.
        toward = SUCCESSION[:, 4] * np.array([0.02, 1, 1, 1, 0.02, 1, 1])
    degrees = _degrees(rng, free, toward)
    chords = [
        Chord(place, degree, (1,) if degree == 6 else (0, 1), _seventh(rng, degree))
        for place, degree in zip(free, degrees, strict=True)
    ]
    return [*chords, *close]


def _close(rng: np.random.Generator, places: list[Place], cadence: Cadence) -> list[Chord]:
    last, before = places[-1], places[-2] if len(places) > 1 else None
    final = Chord(last, {"half": 4, "deceptive": 5}.get(cadence, 0), (0,))
    if before is None:
        return [final]
    if cadence == "plagal":
        return [Chord(before, 3, (0,)), final]
    if cadence == "half":
        return [Chord(before, int(rng.choice([0, 1, 3, 3]))), final]
    close = [Chord(before, 4, (0,), _seventh(rng, 4)), final]
    if len(places) > 3 and places[-3].strength > before.strength and rng.random() < 0.45:
        close.insert(0, Chord(places[-3], 0, (2,)))
    return close


def _seventh(rng: np.random.Generator, degree: int) -> bool:
    return degree == 4 and rng.random() < 0.35


def _degrees(
    rng: np.random.Generator, places: list[Place], toward: NDArray[np.float64]
) -> list[int]:
    """Drawn from all ways from a first chord to a last one, by how usual each is.

    ``toward`` tells how readily each degree goes on to what follows the places.
    """
    if not places:
        return []
    chances = [np.array([0.76, 0.01, 0.01, 0.04, 0.12, 0.06, 0.0])]
    steps = []
    for before, here in itertools.pairwise(places):
        step = SUCCESSION * _fit(here, before)
        if here.strength > before.strength:
            step = step * np.where(np.eye(7) > 0, 0.12 if before.at < 0 else 0.01, 1.0)
        steps.append(step)
        reached = chances[-1] @ step
        chances.append(reached / reached.sum())
    drawn: list[int] = []
    for k in reversed(range(len(places))):
        weights = chances[k] * toward
        drawn.append(int(rng.choice(7, p=weights / weights.sum())))
        toward = steps[k - 1][:, drawn[-1]] if k else toward
    return drawn[::-1]


def _fit(here: Place, before: Place) -> NDArray[np.float64]:
    """How well each degree suits a place: rest on strong beats, tension before them."""
    if here.strength >= 2:
        return np.array([1.7, 0.8, 0.8, 1.0, 0.7, 1.2, 0.3])
    if here.strength < before.strength:
        return np.array([0.8, 1.2, 0.7, 1.2, 1.2, 0.8, 1.2])
    return np.array([0.5, 1.2, 0.5, 1.1, 2.0, 0.7, 1.6])


def voiced(
    rng: np.random.Generator,
    chords: list[Chord],
    tonality: Tonality,
    contour: NDArray[np.float64],
    leaps: float = 0.3,
) -> NDArray[np.int64]:
    """Pitches (chords, 4) from the bass up, the soprano near a contour, in the best leading."""
    choices = [_voicings(chord, tonality) for chord in chords]
    costs = _own_cost(rng, choices[0], chords[0], tonality, contour[0])
    came: list[NDArray[np.int64]] = []
    for k in range(1, len(chords)):
        leap = chords[k].place.strength >= 2 and rng.random() < leaps
        total = costs[:, None] + _leading(choices[k - 1], choices[k], leap=leap)
        came.append(total.argmin(axis=0))
        costs = total.min(axis=0) + _own_cost(rng, choices[k], chords[k], tonality, contour[k])
    at = int(costs.argmin())
    path = [at]
    for back in reversed(came):
        path.append(int(back[path[-1]]))
    return np.array([voices[k] for voices, k in zip(choices, reversed(path), strict=True)])


def _voicings(chord: Chord, tonality: Tonality) -> NDArray[np.int64]:
    tones = tonality.tones(chord)
    low = [tones[k] for k in chord.bass]
    lows = [p for p in range(*RANGES[0]) if p % 12 in low]
    others = [[p for p in range(*span) if p % 12 in tones] for span in RANGES[1:]]
    needed = {tones[0], tones[1], tones[-1] if chord.seventh else tones[1]}
    leading = tonality.semitones(4, 6)
    found = []
    for bass, tenor, alto, soprano in itertools.product(lows, *others):
        spaced = bass <= tenor <= alto <= soprano and soprano - alto <= 12 and alto - tenor <= 12
        voices = (bass, tenor, alto, soprano)
        names = [p % 12 for p in voices]
        doubled = chord.degree in DOMINANTS and names.count(leading) > 1
        if spaced and needed <= set(names) and not doubled:
            found.append(voices)
    return np.array(found)


def _own_cost(
    rng: np.random.Generator,
    voices: NDArray[np.int64],
    chord: Chord,
    tonality: Tonality,
    target: float,
) -> NDArray[np.float64]:
    tones = tonality.tones(chord)
    names = voices % 12
    thirds = (names == tones[1]).sum(axis=1)
    fifths = (names == tones[2]).any(axis=1)
    wide = np.maximum(voices[:, 1] - voices[:, 0] - 16, 0)
    cost = 0.35 * np.abs(voices[:, 3] - target) + 1.2 * (thirds > 1) + 0.8 * ~fifths + 0.3 * wide
    cost += 0.9 * (names[:, 0] == tones[1])
    if chord.bass == (0,):
        cost += 2.5 * (names[:, 3] != tones[0]) * (chord.degree == 0)
    return np.asarray(cost + rng.exponential(0.7, len(voices)))


def _leading(
    before: NDArray[np.int64], after: NDArray[np.int64], *, leap: bool
) -> NDArray[np.float64]:
    """What each step (before, after) costs; with ``leap`` the soprano gladly takes one up."""
    moved = after[None] - before[:, None]
    size = np.abs(moved)
    cost = (size * MOVES + 1.5 * (size > 7) + 1.2 * (size == 6)).sum(axis=2)
    cost += 3.0 * (size[..., 3] > 9) + 1.4 * (size[..., 3] == 0) + 0.5 * (size[..., 0] == 0)
    if leap:
        cost -= 3.0 * ((moved[..., 3] >= 3) & (moved[..., 3] <= 9))
    cost += 0.8 * (np.sign(moved[..., 0]) * np.sign(moved[..., 3]) > 0)
    for low, high in itertools.combinations(range(4), 2):
        was = (before[:, high] - before[:, low]) % 12
        now = (after[:, high] - after[:, low]) % 12
        perfect = (was[:, None] == now) & np.isin(now, (0, 7))
        cost += 30.0 * (perfect & (moved[..., low] != 0) & (moved[..., high] != 0))
    return np.asarray(cost)
