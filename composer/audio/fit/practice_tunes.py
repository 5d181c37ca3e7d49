"""Invented tunes without drums: airs, dances and hymns in simple and compound metres."""

from dataclasses import dataclass

import numpy as np

from composer.audio.fit.practice_styles import MAJOR
from composer.audio.fit.practice_writer import Song, Writer

Cell = tuple[float, ...]
"""Note lengths that fill one beat (or two)."""


@dataclass(frozen=True)
class Family:
    """Tunes of one kind. ``cells`` come from the most usual to the rarest."""

    name: str
    bpm: tuple[float, float]
    beats_per_bar: int
    cells: tuple[Cell, ...]
    share: float = 1.0
    voices: bool = False
    swing: tuple[float, float] = (0.5, 0.5)


T = 1 / 3
EVEN: tuple[Cell, ...] = ((0.5, 0.5), (1.0,), (0.75, 0.25), (0.25,) * 4, (0.5, 0.25, 0.25))
QUICK: tuple[Cell, ...] = ((0.25,) * 4, (0.5, 0.25, 0.25), (0.5, 0.5), (0.25, 0.25, 0.5), (1.0,))
BROAD: tuple[Cell, ...] = ((1.0,), (0.5, 0.5), (1.5, 0.5), (2.0,), (0.75, 0.25))
RUNNING: tuple[Cell, ...] = ((0.5, 0.5), (0.5, 0.5), (1.0,), (T, T, T))
DOTTED: tuple[Cell, ...] = ((0.75, 0.25), (0.5, 0.5), (1.0,), (0.25, 0.75))
JIG: tuple[Cell, ...] = ((T, T, T), (2 * T, T), (1.0,), (T, 2 * T), (0.5, 0.5 * T, T))
LILT: tuple[Cell, ...] = ((2 * T, T), (1.0,), (T, T, T), (0.5, 0.5 * T, T))

FAMILIES = (
    Family("quick two", (84, 132), 2, QUICK, 1.6),
    Family("two", (84, 132), 2, EVEN, 1.2),
    Family("slow two", (54, 84), 2, QUICK, 0.6),
    Family("three", (90, 176), 3, EVEN, 1.6),
    Family("broad three", (100, 190), 3, BROAD, 1.0),
    Family("slow three", (54, 96), 3, EVEN, 0.8),
    Family("running four", (150, 214), 4, RUNNING, 1.8),
    Family("dotted four", (130, 190), 4, RUNNING, 0.6, swing=(0.56, 0.66)),
    Family("march in four", (88, 126), 4, DOTTED, 0.8),
    Family("air in four", (60, 120), 4, EVEN, 1.6),
    Family("slow air", (54, 84), 4, QUICK, 1.0),
    Family("six", (66, 132), 2, JIG, 2.4),
    Family("slow six", (52, 74), 2, LILT, 0.8),
    Family("nine", (66, 132), 3, JIG, 1.4),
    Family("twelve", (66, 132), 4, JIG, 1.2),
    Family("five", (90, 210), 5, EVEN, 0.8),
    Family("hymn in four", (60, 112), 4, BROAD, 1.6, voices=True),
    Family("hymn in three", (66, 126), 3, BROAD, 1.2, voices=True),
)

LEADS = (0, 6, 21, 22, 24, 26, 40, 41, 46, 48, 52, 56, 60, 64, 65, 68, 70, 71, 72, 73, 74, 75, 79)
CHOIRS = (0, 19, 20, 48, 49, 52, 60, 61, 68, 71)
BACKING = (0, 0, 6, 21, 24, 25, 46, 48, 32)
PROGRESSIONS = ((0, 0, 3, 4), (0, 4, 0, 4), (0, 3, 4, 0), (0, 5, 3, 4), (0, 0, 4, 4), (5, 3, 0, 4))
Notes = list[tuple[float, float, int]]
"""(start, length, scale step) from the start of a part on."""


class TuneWriter(Writer):
    """A tune in repeated parts of eight bars, alone or with a plain accompaniment."""

    def __init__(self, rng: np.random.Generator) -> None:
        shares = np.array([family.share for family in FAMILIES])
        self.family = FAMILIES[int(rng.choice(len(FAMILIES), p=shares / shares.sum()))]
        super().__init__(rng, self.family.name, self.family.bpm, self.family.beats_per_bar)
        self.swing = float(rng.uniform(*self.family.swing))
        self.wander = float(rng.choice([0.0, 0.0, 0.0, 0.008, 0.02]))
        self.ternary = self.family.cells in (JIG, LILT)
        # A rendered score plays all notes alike; a player leans on the first of the bar.
        self.lean = float(rng.choice([0.0, 4.0, 10.0]))
        self.cells = self._favourites()
        self.pickup_beats = self._pickup()
        self.upbeat_beats = int(np.ceil(self.pickup_beats)) if self.pickup_beats >= 1 else 0

    def _favourites(self) -> list[tuple[Cell, float]]:
        """This tune's own few kinds of beat, with how often each comes."""
        cells = self.family.cells
        usual = 0.6 ** np.arange(len(cells))
        own = self.rng.dirichlet(6 * usual / usual.sum())
        return list(zip(cells, own.tolist(), strict=True))

    def _pickup(self) -> float:
        if self.rng.random() < 0.45:
            return 0.0
        if self.ternary:
            return float(self.rng.choice([T, T, T, 2 * T, 1.0]))
        return float(self.rng.choice([0.25, 0.5, 0.5, 0.5, 1.0, 1.0]))

    def song(self) -> Song:
        rng = self.rng
        self.backing = "voices" if self.family.voices else self._choose_backing()
        leads = CHOIRS if self.family.voices else LEADS
        self.programs |= {0: int(rng.choice(leads)), 1: int(rng.choice(BACKING))}
        if self.backing in ("second", "voices") or rng.random() < 0.3:
            self.programs[1] = self.programs[0]
        long_bars = rng.uniform(55, 95) / (60 / self.bpm * self.meter)
        parts = [self._part(), self._part()]
        bar, starts, turn = 0, [], 0
        while bar < max(16, long_bars):
            self._play(bar, parts[turn // 2 % 2])
            starts.append(bar)
            bar, turn = bar + 8, turn + 1
        return self.finish(bar, starts)

    def _choose_backing(self) -> str:
        kinds = ("none", "second", "drone", "bass", "vamp", "chords", "broken")
        return str(self.rng.choice(kinds, p=(0.36, 0.1, 0.06, 0.12, 0.16, 0.1, 0.1)))

    def _part(self) -> tuple[Notes, list[int]]:
        """Eight bars: a statement, an answer, the statement again and a close."""
        progression = list(PROGRESSIONS[int(self.rng.integers(len(PROGRESSIONS)))])
        chords = [*progression, *progression[:2], 4, 0]
        first, second = self._bar_rhythm(), self._bar_rhythm()
        rhythms = [first, second, first, self._close(), first, second, self._bar_rhythm()]
        rhythms.append(self._close())
        notes: Notes = []
        step = int(self.rng.integers(0, 5))
        for bar, (rhythm, degree) in enumerate(zip(rhythms, chords, strict=True)):
            if bar in (4, 5) and self.rng.random() < 0.7:
                from_beat = (bar - 4) * self.meter
                earlier = [n for n in notes if from_beat <= n[0] < from_beat + self.meter]
                notes += [(at + 4 * self.meter, length, s) for at, length, s in earlier]
                continue
            for at, length in rhythm:
                step = self._next_step(step, degree, strong=abs(at % 1) < 1e-6)
                notes.append((bar * self.meter + at, length, step))
        return notes, chords

    def _next_step(self, step: int, degree: int, *, strong: bool) -> int:
        move = int(self.rng.choice([-3, -2, -1, -1, 0, 1, 1, 2, 3]))
        wanted = int(np.clip(step + move, -4, 10))
        if strong and self.rng.random() < 0.75:
            tones = [degree + 7 * k + t for k in (-1, 0, 1) for t in (0, 2, 4)]
            wanted = min(tones, key=lambda tone: abs(tone - wanted))
        return wanted

    def _bar_rhythm(self) -> list[tuple[float, float]]:
        out: list[tuple[float, float]] = []
        at = 0.0
        chances = np.array([chance for _, chance in self.cells])
        while at < self.meter - 1e-6:
            cell = self.cells[int(self.rng.choice(len(chances), p=chances / chances.sum()))][0]
            if round(at + sum(cell)) > self.meter:
                continue
            for k, length in enumerate(cell):
                out.append((at + sum(cell[:k]), length))
            at = float(round(at + sum(cell)))
        return out

    def _close(self) -> list[tuple[float, float]]:
        """The last bar of a phrase: it comes to rest, and leaves room for the pick-up."""
        rest_at = float(self.rng.integers(0, max(1, self.meter - 1))) if self.meter > 2 else 0.0
        if self.rng.random() < 0.4:
            rest_at = float(self.meter - 1)
        before = [
            (at, length) for at, length in self._bar_rhythm() if at + length <= rest_at + 1e-6
        ]
        left = self.meter - rest_at - (self.pickup_beats if self.pickup_beats < 1 else 0)
        last = max(0.25, left if self.rng.random() < 0.6 else min(1.0, left))
        return [*before, (rest_at, last)]

    def _play(self, bar: int, part: tuple[Notes, list[int]]) -> None:
        notes, chords = part
        start = bar * self.meter
        self._play_pickup(start, notes[0][2])
        for at, length, step in notes:
            down, on_beat = abs(at % self.meter) < 1e-6, abs(at % 1) < 1e-6
            loud = 80 + self.lean * (2 * down + on_beat - 1)
            self.note(start + at, length * 0.93, 0, self.scale_pitch(step, 72), loud)
            if self.backing == "second":
                self.note(start + at, length * 0.93, 1, self.scale_pitch(step - 2, 72), loud - 8)
        for k, degree in enumerate(chords):
            self._back(start + k * self.meter, degree)

    def _play_pickup(self, start: float, first_step: int) -> None:
        unit = T if self.ternary else 0.25 if self.pickup_beats < 0.5 else 0.5
        count = round(self.pickup_beats / unit)
        for k in range(count):
            at = start - self.pickup_beats + k * unit
            step = first_step - (count - k) * int(self.rng.choice([-1, 1]))
            if at >= -self.pickup_beats - 1e-6:
                self.note(at, unit * 0.9, 0, self.scale_pitch(step, 72), 80 - self.lean)

    def _back(self, at: float, degree: int) -> None:
        kind, meter = self.backing, self.meter
        chord = self.chord(degree, 55)
        root = self.scale_pitch(degree, 43)
        if kind == "drone":
            self.note(at, meter, 1, self.scale_pitch(0, 48), 64)
            self.note(at, meter, 1, self.scale_pitch(4, 48), 64)
        elif kind == "bass":
            for k in range(meter):
                self.note(at + k, 0.9, 1, root + (7 if k % 2 else 0), 78 + self.lean * (k == 0))
        elif kind == "chords":
            for pitch in (root, *chord):
                self.note(at, meter * 0.95, 1, pitch, 72)
        elif kind == "vamp":
            self._vamp(at, root, chord)
        elif kind == "broken":
            unit = T if self.ternary else 0.5
            order = (root, chord[0], chord[1], chord[2], chord[1], chord[0])
            for i, late in enumerate(np.arange(0, meter - 1e-6, unit)):
                self.note(at + float(late), unit * 1.2, 1, order[i % len(order)], 74)
        elif kind == "voices":
            self._voices(at, degree)

    def _vamp(self, at: float, root: int, chord: list[int]) -> None:
        """Bass on the first beat, chords on the others, or after each beat in two."""
        quick = self.meter in (2, 4) and not self.ternary and self.bpm < 140
        for k in range(self.meter):
            strong = quick or k == 0 or (self.meter == 4 and k == 2) or self.ternary
            if strong:
                self.note(at + k, 0.5, 1, root + (7 if k % 2 else 0), 80)
            if not strong or quick or self.ternary:
                late = 0.0 if not strong else 2 * T if self.ternary else 0.5
                for pitch in chord:
                    self.note(at + k + late, 0.3, 1, pitch, 68)

    def _voices(self, at: float, degree: int) -> None:
        """Three lower voices, a chord on every beat, with passing notes between."""
        path = [degree, *(int(self.rng.choice([0, 3, 4, 5, 1])) for _ in range(self.meter - 1))]
        for k, here in enumerate(path):
            tones = [self.scale_pitch(here, 48), *self.chord(here, 60)[:2]]
            for pitch in tones:
                passing = self.rng.random() < 0.2
                self.note(at + k, 0.48 if passing else 0.96, 1, pitch, 78)
                if passing:
                    near = pitch + (2 if self.scale is MAJOR else 1)
                    self.note(at + k + 0.5, 0.46, 1, near, 76)
