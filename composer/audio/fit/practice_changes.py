"""Invented tunes whose metre changes inside: odd bars, bars in turn, parts in another metre."""

import numpy as np

from composer.audio.fit.practice_tune_families import FAMILIES, Family, Manner, eighth_beats
from composer.audio.fit.practice_tunes import Part, TuneWriter


class ChangingTuneWriter(TuneWriter):
    """A tune that does not stay in one metre."""

    def _parts(self) -> list[Part]:
        kind = str(self.rng.choice(["odd bars", "in turn", "other metre"], p=(0.35, 0.15, 0.5)))
        plain = [self.meter] * 8
        if kind == "odd bars":
            changed = [self._part(self.manner, self._with_odd_bars()) for _ in range(2)]
            if self.rng.random() < 0.3:
                changed[int(self.rng.integers(2))] = self._part(self.manner, plain)
            return changed
        if kind == "in turn":
            in_turn = [self.meter, self._odd_meter()] * 4
            second = in_turn if self.rng.random() < 0.6 else plain
            return [self._part(self.manner, in_turn), self._part(self.manner, second)]
        parts = [self._part(self.manner, plain), self._other_part()]
        if self.rng.random() < 0.3:
            parts.append(self._other_part())
        return parts

    def _with_odd_bars(self) -> list[int]:
        """Eight bars of which one or two, mostly at the end of a phrase, are longer or shorter."""
        meters = [self.meter] * 8
        for bar in self.rng.choice([1, 3, 3, 6, 7], size=int(self.rng.integers(1, 3))):
            meters[bar] = self._odd_meter()
        return meters

    def _odd_meter(self) -> int:
        """Of a bar that is a little longer or shorter than the tune's own."""
        if self.manner.by_groups:
            return self.meter + int(self.rng.choice([2, 2, 3]))
        near = {2: (3, 3, 1, 4), 3: (2, 2, 4), 4: (2, 2, 3, 5, 6)}
        return int(self.rng.choice(near.get(self.meter, (self.meter - 1, self.meter + 1))))

    def _other_part(self) -> Part:
        family, stretch = self._other_family()
        return self._part(self._manner(family), [family.beats_per_bar] * 8, stretch)

    def _other_family(self) -> tuple[Family, float]:
        """A family of another metre, and how much longer its beats are than the tune's.

        The beat stays or the eighth stays, where that gives a tempo of the family; now and then
        the tempo is a new one.
        """
        others = [family for family in FAMILIES if self._is_another_metre(family)]
        eighth = eighth_beats(self.manner)
        ways: list[tuple[Family, float]] = []
        for family in others:
            there = eighth_beats(Manner(family, {}, family.groups[0] if family.groups else ()))
            for stretch in {1.0, eighth / there}:
                if 0.9 * family.bpm[0] <= self.bpm / stretch <= 1.1 * family.bpm[1]:
                    ways.append((family, stretch))
        if ways and self.rng.random() < 0.75:
            return ways[int(self.rng.integers(len(ways)))]
        family = others[int(self.rng.integers(len(others)))]
        return family, self.bpm / float(np.exp(self.rng.uniform(*np.log(family.bpm))))

    def _is_another_metre(self, family: Family) -> bool:
        here = self.family
        same = (family.beats_per_bar, family.ternary) == (here.beats_per_bar, here.ternary)
        return not same and family.voices == here.voices
