"""Invented tunes without drums: airs, dances, hymns in simple, compound and uneven metres."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from composer.audio.fit.practice_styles import MAJOR
from composer.audio.fit.practice_tune_families import (
    FAMILIES,
    GROUP_CELLS,
    Cell,
    Family,
    Manner,
    T,
)
from composer.audio.fit.practice_writer import Song, Writer

LEADS = (0, 6, 21, 22, 24, 26, 40, 41, 46, 48, 52, 56, 60, 64, 65, 68, 70, 71, 72, 73, 74, 75, 79)
CHOIRS = (0, 19, 20, 48, 49, 52, 60, 61, 68, 71)
BACKING = (0, 0, 6, 21, 24, 25, 46, 48, 32)
PROGRESSIONS = ((0, 0, 3, 4), (0, 4, 0, 4), (0, 3, 4, 0), (0, 5, 3, 4), (0, 0, 4, 4), (5, 3, 0, 4))
Notes = list[tuple[float, float, int]]
"""(start, length, scale step) from the start of a part on."""


@dataclass(frozen=True)
class Part:
    """Some bars of a tune, to be played more than once."""

    manner: Manner
    meters: list[int]
    """Beats of each bar."""
    notes: Notes
    chords: list[int]
    stretch: float = 1.0
    """How much longer its beats are than the tune's."""


class TuneWriter(Writer):
    """A tune in repeated parts of eight bars, alone or with a plain accompaniment."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.family = self._drawn_family(rng)
        super().__init__(rng, self.family.name, self.family.bpm, self.family.beats_per_bar)
        self.swing = float(rng.uniform(*self.family.swing))
        self.wander = float(rng.choice([0.0, 0.0, 0.0, 0.008, 0.02]))
        # A rendered score plays all notes alike; a player leans on the first of the bar.
        self.lean = float(rng.choice([0.0, 4.0, 10.0]))
        self.manner = self._manner(self.family)
        self.pickup_beats = self._pickup()
        self.upbeat_beats = int(np.ceil(self.pickup_beats)) if self.pickup_beats >= 1 else 0

    def _drawn_family(self, rng: np.random.Generator) -> Family:
        shares = np.array([family.share for family in FAMILIES])
        return FAMILIES[int(rng.choice(len(FAMILIES), p=shares / shares.sum()))]

    def _manner(self, family: Family) -> Manner:
        groups = family.groups
        own = groups[int(self.rng.choice(len(groups), p=_falling(len(groups))))] if groups else ()
        kinds = {0: family.cells} if family.cells else GROUP_CELLS
        return Manner(family, {size: self._favourites(kinds[size]) for size in kinds}, own)

    def _favourites(self, cells: tuple[Cell, ...]) -> list[tuple[Cell, float]]:
        own = self.rng.dirichlet(6 * _falling(len(cells)))
        return list(zip(cells, own.tolist(), strict=True))

    def _pickup(self) -> float:
        if self.rng.random() < 0.45:
            return 0.0
        if self.manner.by_groups:
            return self.manner.unit_beats * float(self.rng.choice([1.0, 1.0, 2.0]))
        if self.manner.family.ternary:
            return float(self.rng.choice([T, T, T, 2 * T, 1.0]))
        return float(self.rng.choice([0.25, 0.5, 0.5, 0.5, 1.0, 1.0]))

    def song(self) -> Song:
        rng = self.rng
        self.backing = "voices" if self.family.voices else self._choose_backing()
        leads = CHOIRS if self.family.voices else LEADS
        self.programs |= {0: int(rng.choice(leads)), 1: int(rng.choice(BACKING))}
        if self.backing in ("second", "voices") or rng.random() < 0.3:
            self.programs[1] = self.programs[0]
        long_beats = max(rng.uniform(55, 95) / (60 / self.bpm), 16 * self.meter)
        parts = self._parts()
        beat, turn = 0, 0
        starts: list[int] = []
        meters: list[int] = []
        while beat < long_beats:
            part = parts[turn // 2 % len(parts)]
            if turn and part.stretch != parts[(turn - 1) // 2 % len(parts)].stretch:
                self._slow_down_before(beat)
            self._play(beat, part)
            starts.append(len(meters))
            meters += part.meters
            beat, turn = beat + sum(part.meters), turn + 1
        if rng.random() < 0.15:
            self.stretch(beat - self.meter, beat, 1.05, float(rng.uniform(1.2, 1.7)))
        return self.finish(len(meters), starts, meters)

    def _parts(self) -> list[Part]:
        """Two parts; now and then the second has a tempo of its own."""
        other_tempo = self.rng.random() < 0.07
        stretch = float(np.exp(self.rng.uniform(-0.4, 0.4))) if other_tempo else 1.0
        meters = [self.meter] * 8
        return [self._part(self.manner, meters), self._part(self.manner, meters, stretch)]

    def _slow_down_before(self, beat: int) -> None:
        if self.rng.random() < 0.4:
            beats = int(self.rng.integers(2, 2 + self.meter))
            self.stretch(beat - beats, beat, 1.05, float(self.rng.uniform(1.15, 1.6)))

    def _choose_backing(self) -> str:
        kinds = ("none", "second", "drone", "bass", "vamp", "chords", "broken")
        return str(self.rng.choice(kinds, p=(0.36, 0.1, 0.06, 0.12, 0.16, 0.1, 0.1)))

    def _part(self, manner: Manner, meters: list[int], stretch: float = 1.0) -> Part:
        """Eight bars: a statement, an answer, the statement again and a close."""
        progression = list(PROGRESSIONS[int(self.rng.integers(len(PROGRESSIONS)))])
        chords = [*progression, *progression[:2], 4, 0]
        firsts = np.concatenate([[0], np.cumsum(meters)])
        notes: Notes = []
        step = int(self.rng.integers(0, 5))
        rhythms: list[list[tuple[float, float]]] = []
        for bar, (meter, degree) in enumerate(zip(meters, chords, strict=True)):
            back = {2: 2, 4: 4, 5: 4}.get(bar, 0)
            again = back > 0 and meters[bar - back] == meter
            if bar in (3, 7):
                rhythms.append(self._close(manner, meter))
            else:
                rhythms.append(rhythms[bar - back] if again else self._bar_rhythm(manner, meter))
            if again and back == 4 and self.rng.random() < 0.7:
                since, until, here = firsts[bar - 4], firsts[bar - 3], firsts[bar]
                earlier = [n for n in notes if since <= n[0] < until]
                notes += [(at - since + here, length, s) for at, length, s in earlier]
                continue
            for at, length in rhythms[-1]:
                step = self.next_step(step, degree, strong=abs(at % 1) < 1e-6)
                notes.append((float(firsts[bar]) + at, length, step))
        return Part(manner, meters, notes, chords, stretch)

    def _bar_rhythm(self, manner: Manner, meter: int) -> list[tuple[float, float]]:
        out: list[tuple[float, float]] = []
        at = 0.0
        if manner.by_groups:
            unit = manner.unit_beats
            for group in manner.groups_of(meter):
                size = round(group / unit)
                cell = self._cell(manner.cells[size]) if size in GROUP_CELLS else (1.0,) * size
                for k, length in enumerate(cell):
                    out.append((at + unit * sum(cell[:k]), unit * length))
                at += group
            return out
        while at < meter - 1e-6:
            cell = self._cell(manner.cells[0])
            if round(at + sum(cell)) > meter:
                continue
            for k, length in enumerate(cell):
                out.append((at + sum(cell[:k]), length))
            at = float(round(at + sum(cell)))
        return out

    def _cell(self, cells: list[tuple[Cell, float]]) -> Cell:
        chances = np.array([chance for _, chance in cells])
        return cells[int(self.rng.choice(len(chances), p=chances / chances.sum()))][0]

    def _close(self, manner: Manner, meter: int) -> list[tuple[float, float]]:
        """The last bar of a phrase: it comes to rest, and leaves room for the pick-up."""
        groups = manner.groups_of(meter) or (1.0,) * meter
        firsts = [float(sum(groups[:k])) for k in range(len(groups))]
        rest_at = firsts[int(self.rng.integers(0, max(1, len(groups) - 1)))]
        if meter > 2 and self.rng.random() < 0.4:
            rest_at = firsts[-1]
        before = [
            (at, length)
            for at, length in self._bar_rhythm(manner, meter)
            if at + length <= rest_at + 1e-6
        ]
        left = meter - rest_at - (self.pickup_beats if self.pickup_beats < 1 else 0)
        last = max(0.25, left if self.rng.random() < 0.6 else min(1.0, left))
        return [*before, (rest_at, last)]

    def _play(self, start: int, part: Part) -> None:
        firsts = np.concatenate([[0], np.cumsum(part.meters)]).tolist()
        if part.stretch != 1.0:
            self.stretch(start, start + firsts[-1], part.stretch)
        self._play_pickup(start, part)
        leant_on = {
            first + sum(part.manner.groups_of(meter)[:k])
            for first, meter in zip(firsts, part.meters, strict=False)
            for k in range(len(part.manner.groups_of(meter)))
        }
        for at, length, step in part.notes:
            on = at in leant_on if leant_on else abs(at % 1) < 1e-6
            loud = 80 + self.lean * (2 * (at in firsts) + on - 1)
            self.note(start + at, length * 0.93, 0, self.scale_pitch(step, 72), loud)
            if self.backing == "second":
                self.note(start + at, length * 0.93, 1, self.scale_pitch(step - 2, 72), loud - 8)
        for first, meter, degree in zip(firsts, part.meters, part.chords, strict=False):
            self._back(start + first, meter, degree, part.manner)

    def _play_pickup(self, start: float, part: Part) -> None:
        unit = part.manner.unit_beats
        if not part.manner.family.ternary and self.pickup_beats < unit:
            unit = self.pickup_beats
        count = round(self.pickup_beats / unit) if unit else 0
        for k in range(count):
            at = start - self.pickup_beats + k * unit
            step = part.notes[0][2] - (count - k) * int(self.rng.choice([-1, 1]))
            if at >= -self.pickup_beats - 1e-6:
                self.note(at, unit * 0.9, 0, self.scale_pitch(step, 72), 80 - self.lean)

    def _back(self, at: float, meter: int, degree: int, manner: Manner) -> None:
        kind = self.backing
        chord = self.chord(degree, 55)
        root = self.scale_pitch(degree, 43)
        groups = manner.groups_of(meter) or (1.0,) * meter
        if kind == "drone":
            self.note(at, meter, 1, self.scale_pitch(0, 48), 64)
            self.note(at, meter, 1, self.scale_pitch(4, 48), 64)
        elif kind == "bass":
            for k, group in enumerate(groups):
                here, loud = at + sum(groups[:k]), 78 + self.lean * (k == 0)
                self.note(here, 0.9 * group, 1, root + (7 if k % 2 else 0), loud)
        elif kind == "chords":
            for pitch in (root, *chord):
                self.note(at, meter * 0.95, 1, pitch, 72)
        elif kind == "vamp" and manner.groups:
            self._vamp_by_groups(at, groups, root, chord)
        elif kind == "vamp":
            self._vamp(at, meter, root, chord, ternary=manner.family.ternary)
        elif kind == "broken":
            unit = manner.unit_beats
            order = (root, chord[0], chord[1], chord[2], chord[1], chord[0])
            for i, late in enumerate(np.arange(0, meter - 1e-6, unit)):
                self.note(at + float(late), unit * 1.2, 1, order[i % len(order)], 74)
        elif kind == "voices":
            self._voices(at, meter, degree)

    def _vamp(self, at: float, meter: int, root: int, chord: list[int], *, ternary: bool) -> None:
        """Bass on the first beat, chords on the others, or after each beat in two."""
        quick = meter in (2, 4) and not ternary and self.bpm < 140
        for k in range(meter):
            strong = quick or k == 0 or (meter == 4 and k == 2) or ternary
            if strong:
                self.note(at + k, 0.5, 1, root + (7 if k % 2 else 0), 80)
            if not strong or quick or ternary:
                late = 0.0 if not strong else 2 * T if ternary else 0.5
                for pitch in chord:
                    self.note(at + k + late, 0.3, 1, pitch, 68)

    def _vamp_by_groups(
        self, at: float, groups: tuple[float, ...], root: int, chord: list[int]
    ) -> None:
        """Bass where a group begins, chords on the units after it."""
        unit = 1.0 if all(group % 1 == 0 for group in groups) else 0.5
        for k, group in enumerate(groups):
            here = at + sum(groups[:k])
            self.note(here, 0.9 * unit, 1, root + (7 if k % 2 else 0), 80 + self.lean * (k == 0))
            for late in np.arange(unit, group - 1e-6, unit):
                for pitch in chord:
                    self.note(here + float(late), 0.6 * unit, 1, pitch, 66)

    def _voices(self, at: float, meter: int, degree: int) -> None:
        """Three lower voices, a chord on every beat, with passing notes between."""
        path = [degree, *(int(self.rng.choice([0, 3, 4, 5, 1])) for _ in range(meter - 1))]
        for k, here in enumerate(path):
            tones = [self.scale_pitch(here, 48), *self.chord(here, 60)[:2]]
            for pitch in tones:
                passing = self.rng.random() < 0.2
                self.note(at + k, 0.48 if passing else 0.96, 1, pitch, 78)
                if passing:
                    near = pitch + (2 if self.scale is MAJOR else 1)
                    self.note(at + k + 0.5, 0.46, 1, near, 76)


def _falling(count: int) -> NDArray[np.float64]:
    """Shares that add up to one, each smaller than the one before."""
    shares = 0.6 ** np.arange(count)
    return np.asarray(shares / shares.sum())
