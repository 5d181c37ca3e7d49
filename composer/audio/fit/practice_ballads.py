"""Invented pop songs as pianists arrange them: a voice, chords, perhaps a second instrument.

Slow ballads with sixteenths and quicker songs with eighths are about as common, so that how fast
the notes come does not tell what the beat is: chords, bass and lengths of lines do.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

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
    BalladParts,
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

Line = list[tuple[float, float, int]]
"""Notes of a voice: start in beats from the line's first bar, length, scale step."""

VOICES = (
    *(0, 0, 0, 0, 0, 0, 1, 2, 4, 11, 22, 24, 25, 40, 42, 48, 52, 53, 56, 60, 64, 65, 66, 68),
    *(71, 72, 73, 73, 75, 79, 80, 81, 85),
)
"""General MIDI programs that sing a tune."""
ACCOMPANISTS = (0, 0, 0, 0, 1, 2, 4, 5, 24, 24, 25, 26, 27, 46)
SECONDS = (*PADS, 40, 41, 42, 48, 48, 49, 60, 68, 71, 73, 0, 4, 24, 25)

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


class BalladWriter(BalladParts):
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
        self.ritard = float(rng.choice([0.0, 0.0, 0.0, 0.3, 0.7]))
        self._choose_instruments()
        self.taste = self._taste()
        self.rate = float(rng.choice([0.5, 1, 1.5, 2], p=self._rates()))
        self.marked_bars = int(rng.choice([0, 0, 0, 8, 8, 4]))
        """Phrases inside a section begin every so many bars; with 0 they are not marked."""
        self.inserts = self.meter == 4 and not self.ternary and rng.random() < 0.12

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
        self.pedal = chords in PIANOS and rng.random() < 0.5
        self.second = "none" if piano_only else str(rng.choice(["none", "pad", "answer", "answer"]))
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

    def _taste(self) -> Taste:
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

    def song(self) -> Song:
        rng = self.rng
        form = str(rng.choice(FORMS))
        materials = {name: self.material(self._bars(name)) for name in dict.fromkeys(form)}
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

    def material(self, bars: int) -> Material:
        """A new section of so many bars."""
        rng = self.rng
        meters = [self.meter] * bars
        if self.inserts and bars >= 4 and rng.random() < 0.4:
            meters[-1 if rng.random() < 0.6 else bars // 2 - 1] = 2
        rate = (
            self.rate if rng.random() < 0.75 else float(rng.choice([1, 1.5, 2], p=[0.7, 0.2, 0.1]))
        )
        closes = ["plain", "plain", "turn", "dominant", "dominant", "quicker", "held", "home"]
        close = str(rng.choice(closes))
        chords = self.lay_chords(meters, self.random_loop(), rate, close)
        lines = self._lines(meters, chords)
        return Material(tuple(meters), chords, lines, closes=close == "held")

    def _lines(self, meters: Sequence[int], chords: Sequence[Chord]) -> list[tuple[float, Line]]:
        """Lines in the order a, a', b, a' over the section; those that come back end otherwise."""
        each, order = (
            self.taste.line_bars,
            (0, 1, 0, 2) if self.rng.random() < 0.6 else (0, 0, 1, 2),
        )
        if self.taste.line_bars == 4:
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
            out.append((first, [n for n in line if n[0] < end - first - 0.5]))
        return out

    def _line(self, first: float, end: float, chords: Sequence[Chord]) -> Line:
        rng, span = self.rng, end - first
        entry = float(rng.choice(self.taste.entries))
        rest = span - float(rng.choice([1, 2, 2, 3, 3.5] if span > 6 else [0.5, 1, 1, 1.5]))
        free_until = span - max(0.5, -min(self.taste.entries))
        places = self._rhythm(entry, max(min(rest, free_until - 0.5), entry + 1))
        line: Line = []
        step = int(rng.integers(0, 5))
        for place, until in zip(places, [*places[1:], free_until], strict=True):
            chord = _chord_at(chords, first + place)
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
            step = self.next_step(step, _chord_at(chords, first + place).degree, strong=strong)
            step = int(np.clip(step, -3, 8)) if self.rng.random() < 0.6 else old
            out.append((place, length, step))
        return out

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
            for first, meter in zip(firsts, material.meters, strict=False):
                self.drum_bar(start + first, meter, setting.level)
        if sings:
            lift = 12 * (setting.level > 80 and self.rng.random() < 0.3)
            for first, line in material.lines:
                self._sing(start + first, line, setting.level + 14, lift)
        if setting.second == "answer":
            self._answer(start, chords, setting)

    def _sing(self, start: float, line: Line, level: float, lift: int) -> None:
        for place, length, step in line:
            accent = 4 if place % 1 < EPS else 0
            pitch = self.scale_pitch(step, 67) + lift
            self.note(start + place, max(length * 0.93, 0.1), VOICE, pitch, level + accent)

    def _answer(self, start: float, chords: Sequence[Chord], setting: Setting) -> None:
        """Long notes of a second voice, one or two to a chord."""
        pitch = 60 + self.key
        for chord in chords:
            tones = self.tones(chord, 52, 8)
            pitch = min(tones, key=lambda tone: abs(tone - pitch + 1))
            self.note(start + chord.at, chord.length * 0.95, SECOND, pitch, setting.level - 4)


def _chord_at(chords: Sequence[Chord], at: float) -> Chord:
    """The chord that sounds; before a section, the first one of it."""
    return max((c for c in chords if c.at <= at + EPS), key=lambda c: c.at, default=chords[0])
