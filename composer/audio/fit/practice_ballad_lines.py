"""Lines of a voice for invented pop songs: where they enter, their rhythm, where they rest."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from composer.audio.fit.practice_ballad_parts import EPS, BalladParts, Chord, T

Line = list[tuple[float, float, int]]
"""Notes of a voice: start in beats from the line's first bar, length, scale step."""

CELLS: tuple[tuple[float, ...], ...] = (
    (1.0,),
    (0.5, 0.5),
    (0.25, 0.25, 0.5),
    (0.5, 0.25, 0.25),
    (0.75, 0.25),
    (0.25, 0.5, 0.25),
    (0.25, 0.25, 0.25, 0.25),
    (0.25, 0.75),
    (2.0,),
    (1.5, 0.5),
    (1.0, 0.5, 0.5),
    (0.5, 1.0, 0.5),
    (0.5, 0.5, 1.0),
    (0.5, 1.5),
    (0.75, 0.75, 0.5),
)
TERNARY_CELLS: tuple[tuple[float, ...], ...] = (
    (1.0,),
    (2 * T, T),
    (T, 2 * T),
    (T, T, T),
    (2.0,),
    (1 + 2 * T, T),
    (T, T, 1 + T),
)


@dataclass(frozen=True)
class Taste:
    """What the lines of one song have in common."""

    note_s: float
    """How long the notes of the voice are, about."""
    push: float
    """How often a note on a beat comes before it."""
    unit: float
    """By how much, in beats."""
    repeats: float
    entries: tuple[float, ...]
    """Where lines begin: beats after (or before) their first downbeat."""
    line_bars: int


class LineWriter(BalladParts):
    """Invents the lines of one song after its taste."""

    taste: Taste
    beat_s: float

    def draw_taste(self) -> Taste:
        rng = self.rng
        shortest = T if self.ternary else 0.25 if self.bpm < 92 else 0.5
        entries = [(0.0,), (0.0, 0.5), (0.5, 1.0), (0.0, -1.0), (0.0, -0.5), (-1.5, -1.0)]
        entries += [(0.5,), (1.0,), (-0.5,), (0.5, -0.5), (1.0, 0.0, -0.5), (1.5, 0.5)]
        if self.ternary:
            entries = [(0.0,), (T, 0.0), (-T, 0.0), (-2 * T, -T), (1.0, 0.0), (T,)]
        long_bar = self.meter * self.beat_s > 2.6
        return Taste(
            note_s=float(np.exp(rng.uniform(np.log(0.26), np.log(0.62)))),
            push=float(rng.choice([0.0, 0.0, 0.1, 0.25, 0.4])),
            unit=shortest,
            repeats=float(rng.uniform(0.05, 0.45)),
            entries=entries[int(rng.integers(len(entries)))],
            line_bars=int(rng.choice([2, 2, 2, 4, 1] if long_bar else [2, 4, 4])),
        )

    def invent_lines(
        self, meters: Sequence[int], chords: Sequence[Chord]
    ) -> list[tuple[float, Line]]:
        """Each with the beat of its first bar; in an order such as a, b, a', c."""
        each = self.taste.line_bars
        order = (0, 1, 0, 2) if self.rng.random() < 0.6 else (0, 0, 1, 2)
        if each == 4:
            order = (0, 0, 1, 0)
        firsts = np.concatenate([[0], np.cumsum(meters)]).tolist()
        known: dict[int, Line] = {}
        out: list[tuple[float, Line]] = []
        for k, bar in enumerate(range(0, len(meters), each)):
            first, end = float(firsts[bar]), float(firsts[min(bar + each, len(meters))])
            which = order[k % 4]
            if which in known:
                line = self._ended_anew(known[which], first, chords)
            else:
                line = known[which] = self._line(first, end, chords)
            fits = [note for note in line if note[0] < end - first - 0.5]
            if fits:
                out.append((first, fits))
        return out

    def _line(self, first: float, end: float, chords: Sequence[Chord]) -> Line:
        rng, span = self.rng, end - first
        entry = float(rng.choice(self.taste.entries))
        rests: list[float] = [1, 2, 2, 3, self.meter] if span > 6 else [1]
        if not self.ternary:
            rests += [3.5, 2.5] if span > 6 else [1.5]
        rest = span - float(rng.choice(rests))
        gap = max(0.5, -min(self.taste.entries))
        rest = max(min(rest, span - np.ceil(gap + 0.5)), np.floor(entry) + 1)
        places = self._rhythm(entry, rest)
        ends = [*places[1:], max(span - gap, places[-1] + 0.5)]
        line: Line = []
        step = int(rng.integers(0, 5))
        for place, until in zip(places, ends, strict=True):
            chord = chord_at(chords, first + place)
            if rng.random() >= self.taste.repeats:
                step = self.next_step(step, chord.degree, strong=abs(place % 1) < EPS)
            step = int(np.clip(step, -3, 8))
            line.append((place, until - place, step))
        return line

    def _rhythm(self, entry: float, rest: float) -> list[float]:
        """Where the notes of a line begin, the last one where it comes to rest."""
        rng, taste = self.rng, self.taste
        cells = TERNARY_CELLS if self.ternary else CELLS
        mean_s = np.array([sum(cell) / len(cell) * self.beat_s for cell in cells])
        chances = np.exp(-((np.log(mean_s / taste.note_s) / 0.5) ** 2)) + 0.005
        short = np.array([min(cell) for cell in cells])
        chances[(short * self.beat_s < 0.12) | (short < taste.unit - EPS)] = 0
        places: list[float] = []
        at = float(np.floor(entry + EPS))
        while at < rest - EPS:
            cell = cells[int(rng.choice(len(cells), p=chances / chances.sum()))]
            places += [at + sum(cell[:k]) for k in range(len(cell))]
            at += sum(cell)
        places = [place for place in places if entry - EPS <= place < rest - EPS] + [rest]
        pushed = [
            place - taste.unit
            if place % 1 < EPS and place > 0 and rng.random() < taste.push
            else place
            for place in places
        ]
        return sorted({round(place * 12) / 12 for place in pushed})

    def _ended_anew(self, line: Line, first: float, chords: Sequence[Chord]) -> Line:
        """The same line, with other pitches where its last third may go elsewhere."""
        keep = int(len(line) * 0.66)
        out = line[:keep]
        step = out[-1][2] if out else 2
        for place, length, old in line[keep:]:
            strong = abs(place % 1) < EPS
            step = self.next_step(step, chord_at(chords, first + place).degree, strong=strong)
            step = int(np.clip(step, -3, 8)) if self.rng.random() < 0.6 else old
            out.append((place, length, step))
        return out


def chord_at(chords: Sequence[Chord], at: float) -> Chord:
    """The chord that sounds; before a section, the first one of it."""
    return max((c for c in chords if c.at <= at + EPS), key=lambda c: c.at, default=chords[0])
