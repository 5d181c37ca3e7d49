"""Invented keyboard music in the classical manner, played with a free tempo.

The tempo within a phrase follows the well-known arch: slower where it begins, and most of all
where it ends.
"""

from dataclasses import dataclass

import numpy as np

from composer.audio.fit.practice_keyboard import (
    BINARY,
    BINARY_RARE,
    BROKEN,
    LEFT,
    RIGHT,
    TERNARY,
    TERNARY_RARE,
    THIRD,
    Chord,
    KeyboardWriter,
    Passage,
    Rhythm,
    Setting,
    T,
)
from composer.audio.fit.practice_piano_kinds import (
    DOUBLINGS,
    ENSEMBLES,
    FOLLOWS,
    FORMS,
    KEYBOARDS,
    KINDS,
    RUN_ON,
    WITHOUT_TOUCH,
    Kind,
)
from composer.audio.fit.practice_styles import MAJOR, MINOR
from composer.audio.fit.practice_writer import Song


@dataclass(frozen=True)
class Material:
    """What a section is made from; the same material gives the same notes."""

    seed: int
    kind: Kind
    setting: Setting
    key: int
    scale: tuple[int, ...]
    stretch: float
    """How much longer its beats are than the piece's."""


@dataclass(frozen=True)
class Played:
    """A passage as it was written, for the tempo to be laid over it."""

    passage: Passage
    closes_section: bool
    runs_on: bool
    """Into the next one, without coming to rest."""
    held_beat: int | None
    """Under a fermata."""


class PianoWriter(KeyboardWriter):
    """A piece in sections of eight to sixteen bars, of one kind or now and then of two."""

    def __init__(self, rng: np.random.Generator) -> None:
        shares = np.array([kind.share for kind in KINDS])
        self.kind = KINDS[int(rng.choice(len(KINDS), p=shares / shares.sum()))]
        super().__init__(rng, self.kind.name, self.kind.bpm, self.kind.beats_per_bar)
        programs = KEYBOARDS if rng.random() < 0.85 else ENSEMBLES
        own = programs[int(rng.integers(len(programs)))]
        self.programs |= {RIGHT: own[0], LEFT: own[-1], THIRD: own[-1]}
        self.touch = 0.0 if own[0] in WITHOUT_TOUCH else float(rng.uniform(0.7, 1.3))
        self.volumes = (84, 116)
        self.spread_s = float(rng.choice([0.0, 0.0, 0.003, 0.008, 0.016]))
        self.early_s = {RIGHT: float(rng.choice([0.0, 0.0, 0.008, 0.015, 0.025]))}
        self.freedom = self.kind.freedom * float(rng.choice([0.25, 0.6, 1.0, 1.0, 1.4]))
        self.pedal = own[0] in (0, 1, 2) and rng.random() < 0.65
        self.fermatas = float(rng.choice([0.0, 0.0, 0.06, 0.15]))
        self.pauses = float(rng.choice([0.1, 0.3, 0.5]))
        self.pickup_beats = self._pickup()
        self.upbeat_beats = int(np.ceil(self.pickup_beats)) if self.pickup_beats >= 1 else 0
        self.passages: list[Played] = []

    def _pickup(self) -> float:
        if self.rng.random() < 0.5:
            return 0.0
        usual = [T, T, T, 1.0] if self.kind.ternary else [0.25, 0.5, 0.5, 1.0, 1.0]
        return float(self.rng.choice(usual))

    def song(self) -> Song:
        rng = self.rng
        long_s = float(rng.uniform(60, 135))
        materials = {"A": self._material(None)}
        materials |= {name: self._material(materials["A"]) for name in "BC"}
        form = FORMS[int(rng.integers(len(FORMS)))]
        feel = np.random.default_rng(int(rng.integers(2**32)))
        starts: list[int] = []
        meters: list[int] = []
        beat, turn, now_s = 0, 0, 0.0
        while now_s < long_s:
            material = materials[form[turn % len(form)]]
            starts.append(len(meters))
            bars = self._section(beat, material)
            meters += bars
            if material.stretch != 1.0:
                self.stretch(beat, beat + sum(bars), material.stretch)
            self._drift(beat, beat + sum(bars), feel)
            now_s += sum(bars) * material.stretch * 60 / self.bpm * 1.08
            beat, turn = beat + sum(bars), turn + 1
        self.rng = feel
        self._shape(beat)
        return self.finish(len(meters), starts, meters)

    def _material(self, first: Material | None) -> Material:
        """Of the first section, or of one that sets itself off against it."""
        rng = self.rng
        kind, stretch = self.kind, 1.0
        key, scale = self.key, self.scale
        if first is not None:
            key += int(rng.choice([0, 0, 7, 5, -5, 3, -3]))
            if rng.random() < 0.3:
                scale = MINOR if scale == MAJOR else MAJOR
            if rng.random() < 0.3:
                stretch = float(np.exp(rng.uniform(-0.35, 0.45)))
            if rng.random() < 0.12:
                kind = KINDS[int(rng.integers(len(KINDS)))]
                stretch = self.bpm / float(np.exp(rng.uniform(*np.log(kind.bpm))))
        setting = self._setting(kind, stretch * 60 / self.bpm)
        return Material(int(rng.integers(2**32)), kind, setting, key, scale, stretch)

    def _setting(self, kind: Kind, beat_s: float) -> Setting:
        rng = self.rng
        units = [1.0, T, T / 2] if kind.ternary else [1.0, 0.5, 0.25, 0.125, T]
        fit = [unit for unit in units[1:] if 0.085 < unit * beat_s < 0.42] or units[1:2]
        orders = BROKEN[3 if kind.ternary else 2]
        against = rng.random() < 0.12 or kind.name == "mazurka"
        return Setting(
            texture=str(rng.choice(kind.textures)),
            accompaniment=str(rng.choice(kind.accompaniments)),
            unit=float(rng.choice(fit)),
            order=orders[int(rng.integers(len(orders)))],
            note_s=float(np.exp(rng.uniform(np.log(0.18), np.log(0.7)))),
            level=float(rng.uniform(48, 92)),
            arch=float(rng.uniform(-4, 22)),
            accent=float(rng.choice([0.0, 4.0, 8.0, 14.0])),
            accent_place=float(rng.integers(0, kind.beats_per_bar)) if against else 0.0,
            short=float(rng.choice([0.4, 0.7, 0.95, 1.1])),
            doubling=str(rng.choice(DOUBLINGS)),
            tied=float(rng.choice([0.0, 0.0, 0.1, 0.25])),
            crossed=rng.random() < 0.08,
        )

    def _section(self, start: int, material: Material) -> list[int]:
        """Write it; returns the metres of its bars."""
        before, self.rng = self.rng, np.random.default_rng(material.seed)
        kind, rng = material.kind, self.rng
        self.setting, self.ternary, self.key = material.setting, kind.ternary, material.key
        self.scale = material.scale
        self.ornaments, self.voices = kind.ornaments, int(rng.integers(2, 4))
        self.legato = float(rng.choice([0.5, 0.85, 0.98, 1.02]))
        beat_s = 60 / self.bpm * material.stretch
        self.setting.motif = [self._bar(kind, beat_s) for _ in range(3)]
        bars: list[int] = []
        entered = 0
        phrases = int(rng.choice([2, 2, 2, 3, 4]))
        for k in range(phrases):
            count = int(rng.choice([4, 4, 4, 4, 4, 2, 3, 5, 6]))
            meters = [kind.beats_per_bar] * count
            if rng.random() < 0.03 and kind.beats_per_bar > 2:
                meters[int(rng.integers(count))] = kind.beats_per_bar + int(rng.choice([-1, 1]))
            closes = k == phrases - 1
            entered = self._phrase(start + sum(bars), meters, closes, entered)
            bars += meters
        self.rng = before
        return bars

    def _phrase(self, start: int, meters: list[int], closes: bool, entered: int) -> int:
        rng, meter, end = self.rng, meters[-1], start + sum(meters)
        rest_at = int(rng.choice([0, 0, meter // 2, max(0, meter - 2), meter - 1]))
        held = rng.random() < self.fermatas * (2 if closes else 1)
        rest_from = float(end - meter + (meter - 1 if held else rest_at))
        runs_on = not (held or closes) and self.setting.texture in RUN_ON and rng.random() < 0.6
        if runs_on:
            rest_from = float(end)
        harmony = self._harmony(start, meters, rest_from, closed=closes or rng.random() < 0.3)
        self.passage = passage = Passage(start, meters, harmony, rest_from)
        texture = self.setting.texture
        before = self.passages[-1] if self.passages else None
        if before is None or (before.held_beat is None and not before.runs_on):
            self._play_pickup(start)
        if texture == "imitation":
            entered = self.imitation(self._subject(), entered, rest_from)
        elif texture == "chorale":
            self.chorale(rest_from)
        elif texture == "runs":
            self.runs(rest_from)
        elif texture == "study":
            self.study(rest_from)
        else:
            self.melody(self._rhythm(passage))
        if texture not in ("imitation", "chorale"):
            for chord in harmony[:-1]:
                self.accompany(chord)
        if not runs_on:
            self._close(passage, held=held)
        self._press_pedal(passage)
        held_beat = int(rest_from) if held else None
        self.passages.append(Played(passage, closes, runs_on, held_beat))
        return entered

    def _harmony(
        self, start: int, meters: list[int], rest_from: float, *, closed: bool
    ) -> list[Chord]:
        """Chords that mostly change with the bar; the last comes where the phrase rests."""
        rng = self.rng
        rate = str(rng.choice(["bar", "bar", "half", "two bars"]))
        hemiola = meters == [3] * len(meters) and len(meters) >= 4 and rng.random() < 0.2
        places: list[float] = []
        first = float(start)
        for k, meter in enumerate(meters):
            left = len(meters) - k
            if hemiola and left == 3:
                places += [first, first + 2, first + 4]
            elif not (hemiola and left == 2) and not (rate == "two bars" and k % 2 and left > 1):
                places.append(first)
                if rate == "half" and meter > 1:
                    places.append(first + (2 if meter == 3 else meter // 2))
            first += meter
        places = [place for place in places if place < rest_from - 1e-6]
        degrees = [0]
        while len(degrees) < len(places):
            degrees.append(int(rng.choice(FOLLOWS.get(degrees[-1], (0,)))))
        if places:
            degrees[-1] = 4 if closed else int(rng.choice([0, 1, 3]))
        ends = [*places[1:], rest_from]
        chords = [
            Chord(at, until - at, degree)
            for at, until, degree in zip(places, ends, degrees, strict=False)
        ]
        return [*chords, Chord(rest_from, first - rest_from, 0 if closed else 4)]

    def _bar(self, kind: Kind, beat_s: float) -> Rhythm:
        """A bar of the tune, its notes about as long as the setting wants them."""
        cells = (*TERNARY, *TERNARY_RARE) if kind.ternary else (*BINARY, *BINARY_RARE)
        mean_s = np.array([sum(cell) / len(cell) * beat_s for cell in cells])
        chances = np.exp(-((np.log(mean_s / self.setting.note_s) / 0.6) ** 2)) + 0.01
        chances[len(TERNARY if kind.ternary else BINARY) :] *= 0.4
        rhythm: Rhythm = []
        at = 0.0
        while at < kind.beats_per_bar - 1e-6:
            cell = cells[int(self.rng.choice(len(cells), p=chances / chances.sum()))]
            if round(at + sum(cell)) <= kind.beats_per_bar:
                rhythm += [(at + sum(cell[:k]), length) for k, length in enumerate(cell)]
                at = float(round(at + sum(cell)))
        if len(rhythm) > 1 and self.rng.random() < 0.12:
            rhythm = rhythm[1:]
        return rhythm

    def _rhythm(self, passage: Passage) -> Rhythm:
        """The bars of the setting's motif, up to where the phrase rests."""
        which = (0, 1, 0, 2, 0, 1, 2, 1) if self.rng.random() < 0.5 else (0, 0, 1, 2, 1, 0, 2, 0)
        rhythm: Rhythm = []
        first = float(passage.start)
        for bar, meter in enumerate(passage.meters):
            for at, length in self.setting.motif[which[bar]]:
                here = first + at
                if at >= meter or here > passage.rest_from - 1e-6:
                    continue
                if rhythm and here % 1 == 0 and self.rng.random() < self.setting.tied:
                    rhythm[-1] = (rhythm[-1][0], here + length - rhythm[-1][0])
                else:
                    rhythm.append((here, length))
            first += meter
        return rhythm

    def _subject(self) -> Rhythm:
        bar = self.passage.meters[0]
        second = [(at + bar, length) for at, length in self.setting.motif[1]]
        return [*self.setting.motif[0], *(second if bar < 3 else [])]

    def _play_pickup(self, start: int) -> None:
        for unit in (T, 0.25) if self.ternary else (0.5, 0.25):
            count = round(self.pickup_beats / unit)
            if count and abs(count * unit - self.pickup_beats) < 1e-6:
                step = int(self.rng.integers(0, 5))
                for k in range(count):
                    at, pitch = start - self.pickup_beats + k * unit, self.scale_pitch(step + k, 72)
                    self.note(at, unit * 0.9, RIGHT, pitch, self.setting.level)
                return

    def _close(self, passage: Passage, *, held: bool) -> None:
        """The chord on which the phrase rests: held, left, or played on under it."""
        chord = passage.harmony[-1]
        left = passage.end - chord.at
        if self.pickup_beats < left:
            left -= self.pickup_beats
        length = left * (0.97 if held else float(self.rng.choice([0.97, 0.97, 0.5])))
        if not held and self.rng.random() < self.pauses and left * 60 / self.bpm < 1.8:
            length = min(length, 0.9)
        tones = self.tones(chord.degree, 60)
        self.strike(chord.at, length, RIGHT, (tones[1], tones[3]), 4)
        goes_on = self.setting.texture not in ("imitation", "chorale") and chord.length > 1
        if goes_on and not held and self.rng.random() < 0.5:
            self.accompany(chord)
        else:
            self.strike(chord.at, length, LEFT, self.tones(chord.degree, 43)[:3:2], 0)

    def _press_pedal(self, passage: Passage) -> None:
        if not self.pedal:
            return
        for channel in (RIGHT, LEFT):
            for chord in passage.harmony:
                self.control(chord.at, channel, 64, 0)
                self.control(chord.at + 0.15, channel, 64, 127)
            self.control(passage.end - 0.2, channel, 64, 0)

    def _drift(self, start: int, end: int, feel: np.random.Generator) -> None:
        """Now and then a section presses on, or broadens, as a whole."""
        if feel.random() < 0.12:
            self.stretch(start, end, 1.0, float(np.exp(feel.uniform(-0.3, 0.3))))

    def _shape(self, beats: int) -> None:
        """Lay the tempo of a free player over the passages."""
        rng, free = self.rng, self.freedom
        arch = free * float(rng.uniform(0.0, 0.12))
        slowing = free * float(rng.uniform(0.05, 0.40))
        for played in self.passages:
            self._shape_phrase(played, arch, slowing)
        self.stretch(beats - self.meter, beats, 1.0, 1 + free * float(rng.uniform(0.1, 0.8)))
        own, drift = free * rng.uniform(0.005, 0.04), free * rng.uniform(0.005, 0.03)
        lean = free * float(rng.uniform(0, 0.06)) * (rng.random() < 0.6)
        downs = {
            played.passage.start + sum(played.passage.meters[:k])
            for played in self.passages
            for k in range(len(played.passage.meters))
        }
        walk = 0.0
        for beat in range(beats):
            walk = 0.85 * walk + drift * rng.normal()
            leant = lean if beat in downs else 0.0
            self.stretch(beat, beat + 1, float(np.exp(walk + own * rng.normal() + leant)))

    def _shape_phrase(self, played: Played, arch: float, slowing: float) -> None:
        rng, passage = self.rng, played.passage
        start, end = passage.start, passage.end
        middle = start + round(passage.beats * float(rng.uniform(0.4, 0.7)))
        up, down = float(np.exp(arch / 2)), float(np.exp(-arch / 2))
        self.stretch(start, middle, up, down)
        self.stretch(middle, end, down, up)
        weight = 1.4 if played.closes_section else 0.25 if played.runs_on else 1.0
        more = slowing * float(rng.uniform(0.3, 1.2)) * weight
        last = int(np.clip(round(float(rng.uniform(0.8, 2.6)) * self.bpm / 60), 1, passage.beats))
        self.stretch(end - last, end, 1 + more / (last + 1), 1 + more)
        if played.held_beat is not None:
            held = played.held_beat
            self.stretch(held, held + 1, float(rng.uniform(1.5, 3.0)) / (1 + more))
