"""Invented hymns and chorales: four voices, phrases with pick-ups and cadences, verses.

What is usual in them is common practice without a source.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from composer.audio.fit.practice_hymn_kinds import ANY, FORMS, GROUPS, METRES, SLOW, Metre
from composer.audio.fit.practice_part_writing import (
    Cadence,
    Chord,
    Place,
    Tonality,
    progression,
    voiced,
)
from composer.audio.fit.practice_styles import MAJOR, MINOR
from composer.audio.fit.practice_writer import Song, Writer


@dataclass(frozen=True)
class Sounding:
    """A note of a phrase, in pulses from its first downbeat on."""

    at: float
    length: float
    voice: int
    pitch: int


@dataclass(frozen=True)
class Phrase:
    """A phrase as it may be sung more than once; its last chord lasts to the next phrase."""

    bars: int
    pickup: int
    chords: list[Chord]
    voices: NDArray[np.int64]
    tonality: Tonality
    cadence: Cadence
    notes: list[Sounding]


class HymnWriter(Writer):
    """Verses of four-part phrases."""

    metres: tuple[Metre, ...] = METRES
    forms: tuple[str, ...] = FORMS
    groups: tuple[tuple[int, int, int, int], ...] = GROUPS
    kind = "hymn"

    def __init__(self, rng: np.random.Generator) -> None:
        self.metre = self._drawn_metre(rng)
        super().__init__(rng, f"{self.kind} in {self.metre.name}", self.metre.bpm, self.metre.beats)
        self.even = rng.random() < 0.6
        if self.even:
            self.wander = self.touch = self.jitter_s = self.spread_s = 0.0
        else:
            self.wander = float(rng.choice([0.006, 0.015, 0.03]))
            self.spread_s = float(rng.choice([0.0, 0.0, 0.006]))
        self.fermata = 0.0 if self.even or rng.random() < 0.5 else float(rng.uniform(1.3, 2.4))
        self.busy = float(rng.choice([0.0, 0.08, 0.2, 0.4]))
        """How readily voices fill their steps with passing and neighbour notes."""
        self.held = float(rng.choice([0.0, 0.1, 0.3, 0.6]))
        """How readily a note goes on sounding instead of being struck again."""
        self.suspending = float(rng.choice([0.0, 0.15, 0.4]))
        self.dotted = float(rng.choice([0.0, 0.0, 0.0, 0.15, 0.4])) * (self.metre.pulses == 1)
        self.restrike = float(rng.choice([0.0, 0.2, 0.6]))
        self.hemiolas = float(rng.choice([0.0, 0.05, 0.1]))
        self.legato = float(rng.choice([0.82, 0.95, 1.0]))
        self.accent = float(rng.choice([0.0, 4.0, 9.0]))
        self.volumes = (84, 112)
        own = 4 * 0.5 ** np.arange(len(self.metre.bars))
        if rng.random() < 0.3:
            # As chorales do: a chord on each beat, hardly anything else.
            own[0] += 20.0
        self.favourites = rng.dirichlet(own)
        self.doubled_bass = rng.random() < 0.2
        self.pickup = self._drawn(self.metre.pickups)
        self._choose_programs()

    def _drawn_metre(self, rng: np.random.Generator) -> Metre:
        shares = np.array([metre.share for metre in self.metres])
        return self.metres[int(rng.choice(len(self.metres), p=shares / shares.sum()))]

    def _drawn(self, chances: dict[int, float]) -> int:
        shares = np.array(list(chances.values()))
        return list(chances)[int(self.rng.choice(len(shares), p=shares / shares.sum()))]

    def _choose_programs(self) -> None:
        group = list(self.groups[int(self.rng.integers(len(self.groups)))])
        if self.rng.random() < 0.2:
            group = self.rng.choice(ANY, 4).tolist()
        self.programs = dict(enumerate(group))
        if set(group) & set(SLOW):
            # Notes that speak slowly are told apart by the gaps before them.
            self.legato = min(self.legato, float(self.rng.uniform(0.7, 0.9)))

    def song(self) -> Song:
        rng = self.rng
        long_s, beat_s = float(rng.uniform(45, 100)), 60 / self.bpm
        form = self.forms[int(rng.integers(len(self.forms)))]
        phrases = self._phrases(form)
        order = [phrases[letter] for letter in form]
        verse_s = sum(phrase.bars for phrase in order) * self.meter * beat_s
        order = order * max(int(np.ceil(48 / verse_s)), round(long_s / verse_s))
        most = max(2, int(105 / (verse_s / len(form))))
        order = order[:most]
        self.upbeat_beats = order[0].pickup // self.metre.pulses
        starts, bar = [], 0
        self.closes: list[float] = []
        """Where the last chord of each phrase comes, in beats."""
        for k, phrase in enumerate(order):
            starts.append(bar)
            following = order[k + 1].pickup if k + 1 < len(order) else 0
            self._play(phrase, bar * self.metre.bar_pulses, following)
            bar += phrase.bars
        self._broaden(bar * self.meter)
        song = self.finish(bar, starts)
        if self.even:
            for message in song.midi.tracks[0]:
                if message.type == "note_on":
                    message.velocity = 84
        return song

    def _phrases(self, form: str) -> dict[str, Phrase]:
        rng = self.rng
        usual = int(rng.choice([4, 4, 4, 4, 4, 2, 2, 3, 5, 6]))
        seed = int(rng.integers(2**32))
        alike = rng.random() < 0.6
        phrases = {}
        for letter in sorted(set(form)):
            bars = usual if rng.random() < 0.9 else int(rng.choice([2, 3, 4, 5, 6]))
            pickup = self.pickup if rng.random() < 0.88 else self._drawn(self.metre.pickups)
            rhythm = np.random.default_rng(seed if alike else int(rng.integers(2**32)))
            last = letter == form[-1]
            phrases[letter] = self.phrase(bars, pickup, rhythm, last=last)
        return phrases

    def phrase(self, bars: int, pickup: int, rhythm: np.random.Generator, *, last: bool) -> Phrase:
        """Compose one; ``last`` has it end at home."""
        rng = self.rng
        places = self._places(bars, pickup, rhythm)
        kinds: tuple[Cadence, ...] = ("authentic", "half", "plagal", "deceptive")
        cadence = kinds[int(rng.choice(4, p=[0.55, 0.3, 0.08, 0.07]))]
        if last:
            cadence = "authentic" if rng.random() < 0.93 else "plagal"
        tonality = self._tonality(home=last or cadence != "authentic")
        chords = progression(rng, places, cadence)
        contour = self._contour(len(chords))
        voices = voiced(rng, chords, tonality, contour)
        phrase = Phrase(bars, pickup, chords, voices, tonality, cadence, [])
        self._sound(phrase)
        return phrase

    def _tonality(self, *, home: bool) -> Tonality:
        if home or self.rng.random() < 0.7:
            return Tonality(self.key % 12, self.scale)
        if self.scale == MAJOR:
            shift, scale = ((7, MAJOR), (9, MINOR))[int(self.rng.random() < 0.3)]
        else:
            shift, scale = (3, MAJOR)
        return Tonality((self.key + shift) % 12, scale)

    def _contour(self, count: int) -> NDArray[np.float64]:
        """Where the soprano is drawn to: an arch, a fall or a rise, with smaller waves."""
        rng, x = self.rng, np.linspace(0, 1, count)
        arch = rng.uniform(-2, 7) * np.sin(np.pi * x) + rng.uniform(-4, 3) * x
        wave = rng.uniform(0, 3) * np.sin(2 * np.pi * (rng.uniform(1, 4) * x + rng.random()))
        return np.asarray(rng.uniform(65, 71) + arch + wave)

    def _places(self, bars: int, pickup: int, rhythm: np.random.Generator) -> list[Place]:
        metre, size = self.metre, self.metre.bar_pulses
        close_in_bar = list(metre.closes)[
            int(rhythm.choice(len(metre.closes), p=_shares(metre.closes)))
        ]
        if close_in_bar and pickup > size - close_in_bar - 1 and rhythm.random() < 0.5:
            close_in_bar = 0
        close = (bars - 1) * size + close_in_bar
        ats: list[float] = list(range(-pickup, 0)) if metre.pulses < 3 or pickup < 3 else [-3, -1]
        for bar in range(bars):
            cell = metre.bars[int(rhythm.choice(len(metre.bars), p=self.favourites))]
            ats += [bar * size + pulse for pulse in cell]
        if size == 3 and bars >= 4 and self.rng.random() < self.hemiolas:
            # Two bars of three before the last one as three of two.
            ats = [at for at in ats if not close - 6 <= at < close] + [close - k for k in (6, 4, 2)]
        ats = sorted({at for at in ats if at < close} | {close - 1})
        ats = self._dot(ats, close, rhythm)
        ends = [*ats[1:], float(close)]
        places = [
            Place(at, end - at, self._strength(at)) for at, end in zip(ats, ends, strict=True)
        ]
        return [*places, Place(close, bars * size - close, self._strength(close))]

    def _dot(self, ats: list[float], close: int, rhythm: np.random.Generator) -> list[float]:
        """Weak chords half a pulse later, after a dotted one."""
        return [
            at + 0.5
            if at % self.metre.bar_pulses % 2 == 1
            and at - 1 in ats
            and at < close - 1
            and rhythm.random() < self.dotted
            else at
            for at in ats
        ]

    def _strength(self, at: float) -> int:
        return self.metre.strengths[int(at) % self.metre.bar_pulses] if at % 1 == 0 else 0

    def _sound(self, phrase: Phrase) -> None:
        """The notes of all chords but the last, with passing, neighbour and suspended ones."""
        for voice in range(4):
            late = 0.0
            for k in range(len(phrase.chords) - 1):
                pair = int(phrase.voices[k, voice]), int(phrase.voices[k + 1, voice])
                late = self._go_on(phrase, k, voice, pair, late)
            place = phrase.chords[-1].place
            pitch = int(phrase.voices[-1, voice])
            phrase.notes.append(Sounding(place.at + late, place.length - late, voice, pitch))

    def _go_on(
        self, phrase: Phrase, k: int, voice: int, pair: tuple[int, int], late: float
    ) -> float:
        """One voice over chord k, ``late`` after it; returns how late it is at the next."""
        rng, chord, after = self.rng, phrase.chords[k], phrase.chords[k + 1].place
        here, there = pair
        at, left = chord.place.at + late, chord.place.length - late
        steps_down = here - there in (1, 2)
        if after.strength >= 2 and steps_down and rng.random() < self.suspending * (voice > 0):
            delay = 1.0 if after.length >= 2 else 0.5
            phrase.notes.append(Sounding(at, left + delay, voice, here))
            return delay
        small = min(0.5, chord.place.length / 2)
        weak = 1.0 if after.strength > self._strength(after.at - 1) else 0.35
        willing = rng.random() < self.busy * weak * (1.0 if voice < 3 else 0.7)
        if willing and left > small and abs(here - there) in (0, 3, 4):
            way = int(np.sign(there - here)) or int(rng.choice([-1, 1]))
            between = phrase.tonality.beside(here, way, chord.degree)
            phrase.notes.append(Sounding(at, left - small, voice, here))
            phrase.notes.append(Sounding(after.at - small, small, voice, between))
            return 0.0
        self._strike(phrase, voice, here, at, left)
        return 0.0

    def _strike(self, phrase: Phrase, voice: int, pitch: int, at: float, left: float) -> None:
        """A plain note: struck again on each pulse, or going on from the same one before."""
        notes, rng = phrase.notes, self.rng
        before = notes[-1] if notes and notes[-1].voice == voice else None
        tied = before is not None and before.pitch == pitch and rng.random() < self.held
        if before is not None and tied and voice < 3 and at % self.metre.bar_pulses:
            notes[-1] = Sounding(before.at, at + left - before.at, voice, pitch)
        elif left >= 2 and at % 1 == 0 and rng.random() < self.restrike:
            notes.append(Sounding(at, 1.0, voice, pitch))
            notes.append(Sounding(at + 1.0, left - 1.0, voice, pitch))
        else:
            notes.append(Sounding(at, left, voice, pitch))

    def _play(self, phrase: Phrase, start: int, following: int) -> None:
        """A phrase from a pulse on, before the pick-up of the next one."""
        pulses, size = self.metre.pulses, self.metre.bar_pulses
        end = phrase.bars * size - following
        close = phrase.chords[-1].place.at
        end = max(end, int(close) + 1)
        for note in phrase.notes:
            length = min(note.length, end - note.at) * self.legato
            if length <= 0:
                continue
            loud = 78 + self.accent * self._strength(note.at) / 2
            at = (start + note.at) / pulses
            self.note(at, length / pulses, note.voice, note.pitch, loud)
            if note.voice == 0 and self.doubled_bass:
                self.note(at, length / pulses, note.voice, note.pitch - 12, loud)
        self.closes.append((start + close) / pulses)

    def _broaden(self, beats: int) -> None:
        """What a choir does to the tempo: holds its fermatas, slows into the end."""
        if self.even:
            return
        slowing = float(self.rng.uniform(0.0, 0.2))
        for close in self.closes:
            beat = int(close)
            self.stretch(beat - 2, beat + 1, 1.0, 1 + slowing * float(self.rng.random()))
            if self.fermata:
                self.stretch(beat, beat + 1, self.fermata * float(self.rng.uniform(0.8, 1.1)))
        self.stretch(beats - self.meter, beats, 1.0, float(self.rng.uniform(1.0, 1.5)))


def _shares(chances: dict[int, float]) -> NDArray[np.float64]:
    shares = np.array(list(chances.values()))
    return np.asarray(shares / shares.sum())
