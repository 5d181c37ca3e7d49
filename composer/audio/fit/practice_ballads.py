"""Invented pop songs as pianists arrange them: a voice, chords, perhaps a second instrument.

Slow ballads with sixteenths and quicker songs with eighths are about as common, so that how fast
the notes come does not tell what the beat is: chords, bass and lengths of lines do.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from composer.audio.fit.practice_ballad_lines import Line, LineWriter, chord_at
from composer.audio.fit.practice_ballad_parts import (
    BASS,
    BASSES,
    CHORDS,
    EPS,
    ORDERS,
    PATTERNS,
    RHYTHMS,
    SECOND,
    TERNARY_ORDERS,
    TERNARY_RHYTHMS,
    VOICE,
    Chord,
    Setting,
    T,
)
from composer.audio.fit.practice_styles import (
    CLOSED,
    KICK,
    PADS,
    PIANOS,
    RIM,
    SHAKER,
    SNARE,
)
from composer.audio.fit.practice_writer import Song

VOICES = (
    *(0, 0, 0, 0, 0, 0, 1, 2, 4, 11, 22, 24, 25, 40, 42, 48, 52, 53, 56, 60, 64, 65, 66, 68),
    *(71, 72, 73, 73, 75, 79, 80, 81, 85),
)
"""General MIDI programs that sing a tune."""
ACCOMPANISTS = (0, 0, 0, 0, 1, 2, 4, 5, 24, 24, 25, 26, 27, 46)
SECONDS = (*PADS, 40, 41, 42, 48, 48, 49, 60, 68, 71, 73, 0, 4, 24, 25)

TEMPI = ((56.0, 75.0), (66.0, 100.0), (85.0, 115.0), (108.0, 140.0))
FORMS = (
    "IAAPCIAPCBCO",
    "IAACJACBCO",
    "IAPCAPCCO",
    "IABACJABCO",
    "AAPCJAPCBCO",
    "IAACAACO",
    "ICAAPCAPCO",
    "IAAPCTJAPCTBCTO",
)
"""I and O begin and end, J is an interlude, A a verse, P and C a pre-chorus and a chorus, B a
bridge, T a tag."""
DOUBLINGS = ("none", "none", "octave", "third")
LEVELS = {"I": 62, "J": 66, "A": 66, "P": 72, "C": 84, "B": 74, "T": 76, "O": 60}


@dataclass(frozen=True)
class Material:
    """What a section of a song is each time that it comes back."""

    meters: tuple[int, ...]
    chords: list[Chord]
    lines: list[tuple[float, Line]]
    """Each with the beat of its first bar, from the start of the section."""
    closes: bool
    """With a chord that is held."""


class BalladWriter(LineWriter):
    """One song: sections that come back with the same voice over the same chords."""

    def __init__(self, rng: np.random.Generator) -> None:
        meter, self.ternary = ((4, False), (3, False), (2, True), (4, True))[
            int(rng.choice(4, p=[0.8, 0.08, 0.07, 0.05]))
        ]
        tempo = TEMPI[int(rng.choice(len(TEMPI), p=[0.3, 0.3, 0.16, 0.24]))]
        if self.ternary:
            tempo = (48.0, 80.0)
        super().__init__(rng, "ballad", tempo, meter)
        self.beat_s = 60 / self.bpm
        self.jitter_s = float(rng.choice([0.0, 0.0, 0.0, 0.003, 0.008]))
        self.wander = float(rng.choice([0.0, 0.0, 0.0, 0.004, 0.012]))
        self.spread_s = float(rng.choice([0.0, 0.0, 0.0, 0.006, 0.012]))
        self.touch = float(rng.choice([0.0, 0.6, 1.0, 1.0]))
        if not self.ternary and rng.random() < 0.08:
            self.swing = float(rng.uniform(0.54, 0.64))
        self.ritard = float(rng.choice([0.0, 0.0, 0.0, 0.3, 0.7]))
        self._choose_instruments()
        self.taste = self.draw_taste()
        self.rate = float(rng.choice([0.5, 1, 1.5, 2], p=self._rates()))
        self.marked_bars = int(rng.choice([0, 0, 0, 8, 8, 4]))
        """Phrases inside a section begin every so many bars; with 0 they are not marked."""
        self.inserts = self.meter == 4 and not self.ternary and rng.random() < 0.12

    def _swung(self, at: float) -> float:
        """Where the voice moves in sixteenths, it is they that swing."""
        parts = 2 if self.taste.unit == 0.25 else 1
        return super()._swung(at * parts) / parts

    def _rates(self) -> list[float]:
        """Chances of chords that last two bars, one, one or a half, and a half."""
        if self.meter == 2 or self.bpm > 105:
            return [0.12, 0.76, 0.08, 0.04]
        return [0.0, 0.5, 0.25, 0.25] if self.bpm < 85 else [0.04, 0.66, 0.2, 0.1]

    def _choose_instruments(self) -> None:
        rng = self.rng
        piano_only = rng.random() < 0.4
        piano = int(rng.choice([0, 0, 0, 1, 2, 4]))
        chords = piano if piano_only else int(rng.choice(ACCOMPANISTS))
        bass = chords if rng.random() < 0.6 else int(rng.choice([32, 33, 33, 35, 39, 43]))
        self.programs |= {
            VOICE: piano if piano_only else int(rng.choice(VOICES)),
            CHORDS: chords,
            BASS: piano if piano_only else bass,
            SECOND: int(rng.choice(SECONDS)),
        }
        self.volumes = (70, 116)
        pianos = tuple(c for c in (VOICE, CHORDS, BASS) if self.programs[c] in PIANOS)
        self.pedalled = pianos if rng.random() < 0.5 else ()
        self.second = "none" if piano_only else str(rng.choice(["none", "pad", "long", "answer"]))
        self.runs = float(rng.choice([0.0, 0.2, 0.5]))
        """How often a section ends with a run into the next one."""
        self.has_drums = not piano_only and rng.random() < 0.3
        self.percussion = self._percussion() if self.has_drums else ()

    def _percussion(self) -> Sequence[tuple[int, tuple[float, ...], float]]:
        rng, meter = self.rng, self.meter
        step = (
            T
            if self.ternary
            else float(rng.choice([0.5, 0.5, 1.0, 0.25 if self.bpm < 80 else 0.5]))
        )
        ticks = tuple(np.arange(0, meter - EPS, step).tolist())
        back = (1.0, 3.0) if meter == 4 else (1.0,) if meter == 2 else (1.0, 2.0)
        kicks = [(0.0,), (0.0, 2.0), (0.0, 1.5, 2.0), (0.0, 2.0, 2.5), (0.0, 1.5, 2.5)]
        kick = kicks[int(rng.integers(len(kicks)))] if meter == 4 and not self.ternary else (0.0,)
        hits = [(KICK, kick, 66.0), (int(rng.choice([RIM, SNARE])), back, 58.0)]
        if rng.random() < 0.7:
            hits.append((int(rng.choice([CLOSED, SHAKER])), ticks, 46.0))
        return hits

    def song(self) -> Song:
        rng = self.rng
        form = str(rng.choice(FORMS))
        materials = {
            name: self.material(self._bars(name), last=name == "O") for name in dict.fromkeys(form)
        }
        if {"I", "J"} <= set(form) and rng.random() < 0.5:
            materials["J"] = materials["I"]
        settings = {name: self.setting(name) for name in materials}
        long_s, bar_s = float(rng.uniform(80, 140)), self.meter * self.beat_s
        keep = max(4, int(rng.integers(4, 7)))
        chosen: list[str] = []
        for name in form[:-1]:
            bars = sum(len(materials[one].meters) for one in chosen)
            if len(chosen) < keep or (bars + len(materials[name].meters) / 2) * bar_s < long_s:
                chosen.append(name)
        while sum(len(materials[one].meters) for one in chosen) * bar_s > 150 and len(chosen) > 3:
            chosen.pop()
        return self.perform([*chosen, "O"], materials, settings)

    def perform(
        self, form: Sequence[str], materials: dict[str, Material], settings: dict[str, Setting]
    ) -> Song:
        """The song of these sections in turn."""
        rng = self.rng
        meters: list[int] = []
        starts: list[int] = []
        lift_at = len(form) - 3 if rng.random() < 0.18 and len(form) > 5 else None
        seen: dict[str, int] = {}
        for k, name in enumerate(form):
            material = materials[name]
            if lift_at is not None and k >= lift_at and name == "C":
                self.key += int(rng.choice([2, 2, 1, 3]))
                lift_at = None
            setting = self._again(settings[name], seen.get(name, 0))
            seen[name] = seen.get(name, 0) + 1
            starts += [len(meters) + bar for bar in self._starts(name, material)]
            self.section(sum(meters), material, setting, sings=self._sings(name))
            meters += material.meters
        beats = sum(meters)
        if self.ritard:
            self.stretch(beats - meters[-1] - 4, beats, 1.0, 1 + self.ritard)
        first = min(note[0] for note in self.notes)
        self.upbeat_beats = int(np.ceil(-first - EPS)) if first <= -1 + EPS else 0
        return self.finish(len(meters), starts, meters)

    def _starts(self, name: str, material: Material) -> list[int]:
        bars, step = len(material.meters), self.marked_bars
        if not step or bars < 8 or name == "O":
            return [0]
        return [bar for bar in range(0, bars, step) if bars - bar >= 2]

    def _sings(self, name: str) -> bool:
        return self.rng.random() < {"I": 0.35, "J": 0.5, "O": 0.5, "T": 0.6}.get(name, 1.0)

    def _bars(self, name: str) -> int:
        """How many bars a section has: more of them where they are short."""
        short = self.meter * self.beat_s < 2.4
        usual = [8, 8, 8, 8, 16] if short else [4, 8, 8, 8, 8]
        if name in "IJ":
            usual = [4, 8, 8] if short else [2, 4, 4, 4, 8]
        elif name == "P":
            usual = [4, 8, 8] if short else [4, 4, 4, 8]
        elif name == "T":
            usual = [2, 2, 4]
        elif name == "O":
            usual = [4, 4, 8] if short else [2, 4, 4]
        elif self.rng.random() < 0.07:
            usual = [6, 10]
        return int(self.rng.choice(usual))

    def material(self, bars: int, *, last: bool = False) -> Material:
        """A new section of so many bars; the last one of a song ends on its held tonic."""
        rng = self.rng
        meters = [self.meter] * bars
        if self.inserts and bars >= 4 and rng.random() < 0.4:
            meters[-1 if rng.random() < 0.6 else bars // 2 - 1] = 2
        rate = (
            self.rate if rng.random() < 0.75 else float(rng.choice([1, 1.5, 2], p=[0.7, 0.2, 0.1]))
        )
        closes = ["plain", "plain", "turn", "dominant", "dominant", "quicker", "held", "home"]
        close = "home" if last else str(rng.choice(closes))
        chords = self.lay_chords(meters, self.random_loop(), rate, close)
        lines = self.invent_lines(meters, chords)
        return Material(tuple(meters), chords, lines, closes=last or close == "held")

    def setting(self, name: str) -> Setting:
        """How the chords of a section are played."""
        rng = self.rng
        units = [T] if self.ternary else [0.25, 0.5, 1.0]
        fit = [unit for unit in units if 0.14 < unit * self.beat_s < 0.56] or units[:1]
        orders = TERNARY_ORDERS if self.ternary else ORDERS
        rhythms = (TERNARY_RHYTHMS if self.ternary else RHYTHMS)[self.meter]
        quiet = name in "IO" or (name in "AB" and rng.random() < 0.3)
        patterns = ["broken", "broken", "held", "halves", "beats"] if quiet else [*PATTERNS]
        if name in "C":
            patterns += ["eighths", "beats", "rhythm"]
        return Setting(
            pattern=str(rng.choice(patterns)),
            unit=float(rng.choice(fit)),
            order=orders[int(rng.integers(len(orders)))],
            rhythm=rhythms[int(rng.integers(len(rhythms)))],
            bass=str(rng.choice(BASSES)),
            pushed=name not in "IO" and rng.random() < self.taste.push,
            low=int(rng.choice([52, 55, 57, 60])),
            level=LEVELS[name] + float(rng.normal(0, 3)),
            second="none" if quiet and rng.random() < 0.7 else self.second,
            drums=self.has_drums and not (quiet and rng.random() < 0.8),
        )

    def _again(self, setting: Setting, before: int) -> Setting:
        """A section that comes back is mostly played alike, at times more fully."""
        rng = self.rng
        if not before or rng.random() < 0.45:
            return setting
        fuller = replace(setting, level=min(setting.level + 5 * before, 100))
        if rng.random() < 0.4:
            units = [u for u in (0.25, 0.5) if u < setting.unit and u * self.beat_s > 0.14]
            fuller = replace(fuller, unit=units[-1] if units and not self.ternary else setting.unit)
        if rng.random() < 0.4:
            fuller = replace(fuller, bass=str(rng.choice(["octave", "rhythm", "halves"])))
        return fuller

    def section(
        self, start: int, material: Material, setting: Setting, *, sings: bool = True
    ) -> None:
        """Play it from a beat of the song on."""
        chords = material.chords
        if material.closes:
            self.accompany(start, chords[:-1], setting)
            self.hold(start + chords[-1].at, chords[-1], setting.level)
        else:
            self.accompany(start, chords, setting)
        if setting.drums:
            firsts = np.concatenate([[0], np.cumsum(material.meters)]).tolist()
            fills = self.rng.random() < 0.4
            for k, (first, meter) in enumerate(zip(firsts, material.meters, strict=False)):
                fill = fills and k == len(material.meters) - 1
                self.drum_bar(start + first, meter, setting.level, fill=fill)
        if not material.closes and self.rng.random() < self.runs:
            self.run_up(start + sum(material.meters), setting)
        if sings:
            loud = setting.level > 78
            lift = 12 * (loud and self.key < 3 and self.rng.random() < 0.3)
            second = str(self.rng.choice(DOUBLINGS)) if loud else "none"
            for first, line in material.lines:
                self._sing(start + first, line, setting.level + 14, lift, second)
        if setting.second == "long":
            self._long_notes(start, chords, setting)
        elif setting.second == "answer":
            self._answer(start, material, setting)

    def _sing(self, start: float, line: Line, level: float, lift: int, second: str) -> None:
        for place, length, step in line:
            accent = 4 if place % 1 < EPS else 0
            pitch = self.scale_pitch(step, 67) + lift
            pitches = [pitch]
            if second == "octave":
                pitches.append(pitch - 12)
            elif second == "third":
                pitches.append(self.scale_pitch(step - 2, 67) + lift)
            for each in pitches:
                self.note(start + place, max(length * 0.93, 0.1), VOICE, each, level + accent)

    def _long_notes(self, start: float, chords: Sequence[Chord], setting: Setting) -> None:
        """A second voice with one note to a chord, each as near to the one before as may be."""
        pitch = 60 + self.key
        for chord in chords:
            tones = self.tones(chord, 52, 8)
            pitch = min(tones, key=lambda tone: abs(tone - pitch + 1))
            self.note(start + chord.at, chord.length * 0.95, SECOND, pitch, setting.level - 4)

    def _answer(self, start: float, material: Material, setting: Setting) -> None:
        """A second voice that moves while the first one rests at the ends of its lines."""
        unit = T if self.ternary else 0.25 if self.bpm < 80 else 0.5
        for first, line in material.lines:
            place, length, step = line[-1]
            at, until = first + place + 1, first + place + length
            while at < until - EPS and at < sum(material.meters) - EPS:
                degree = chord_at(material.chords, at).degree
                step = self.next_step(step, degree, strong=at % 1 < EPS)
                held = unit * int(self.rng.choice([1, 1, 2]))
                pitch = self.scale_pitch(step, 60)
                self.note(start + at, held * 0.95, SECOND, pitch, setting.level)
                at += held
