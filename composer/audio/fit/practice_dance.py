"""Invented dance music as music programs make it: loops that enter and leave by sections."""

import math
from dataclasses import replace

import numpy as np

from composer.audio.fit.practice_dance_plan import DancePlan
from composer.audio.fit.practice_dance_styles import DANCE_STYLES, DanceStyle
from composer.audio.fit.practice_riffs import (
    Loop,
    arpeggio_loop,
    bass_loop,
    chord_loop,
    pattern_steps,
    tune_loop,
    varied,
)
from composer.audio.fit.practice_styles import (
    CLAP,
    CLOSED,
    CRASH,
    HIGH_TOM,
    KICK,
    LOW_TOM,
    OPEN,
    PROGRESSIONS,
    RIM,
    SHAKER,
    SNARE,
    TOM,
)
from composer.audio.fit.practice_writer import DRUM_CHANNEL, Song, Writer

LEAD, CHORDS, BASS, PAD, ARP, RISER = range(6)
"""Channels; the first four are those of a band."""
DRUM_PARTS = ("kick", "clap", "open", "hats", "shaker", "perc")
PERC_SOUNDS = (RIM, 54, 56, 62, 63, 64, 75, 76, TOM, HIGH_TOM)
"""Tambourine, cowbell, congas, claves and wood block among them."""
HARMONIC_SPANS = ((3.0, 5.0), (1.5, 2.5), (2.5, 1.5), (3.5, 4.5), (6.0, 2.0), (1.5, 1.5, 1.0))
"""Beats from chord to chord, of music that does not change its chords with its bars."""
BEGUN_WITH_FILE = 0.6
"""Share of tracks whose first beat is the file's first sample, as programs write them."""
DRUM_CAST = {"kick": 0.94, "clap": 0.88}
"""How likely a song has these of its style's drums; three in four for the others."""


class DanceWriter(Writer):
    """Writes one track of one style."""

    def __init__(self, rng: np.random.Generator, style: DanceStyle | None = None) -> None:
        shares = np.array([s.share for s in DANCE_STYLES])
        drawn = DANCE_STYLES[int(rng.choice(len(DANCE_STYLES), p=shares / shares.sum()))]
        self.style = style or drawn
        super().__init__(rng, self.style.name, self.style.bpm, self.style.beats_per_bar)
        if rng.random() < 0.5:
            self.bpm = float(round(self.bpm))
        if self.style.parts_per_beat == 4:
            self.swing = float(rng.uniform(*self.style.swing))
        self.jitter_s = float(rng.choice([0.0, 0.0, 0.0, 0.0, 0.002, 0.005]))
        self.spread_s = 0.0
        self.touch = float(rng.choice([0.0, 0.5, 1.0, 1.0]))
        strayed_s = (30 / self.bpm, rng.uniform(0, 0.5), rng.uniform(0, 2.5))
        begun = rng.random() < BEGUN_WITH_FILE
        self.lead_s = 0.0 if begun else float(rng.choice([0.026, 0.05, *strayed_s]))
        """What an encoder adds, an eighth note before beat one, or any silence."""
        self.upbeat_beats = int(rng.integers(1, self.meter)) if rng.random() < 0.08 else 0
        self.programs = {DRUM_CHANNEL: 0}
        self.unit = 1 / self.style.parts_per_beat
        self.crashes = float(rng.choice([0.0, 0.3, 0.9]))
        self.fills = float(rng.choice([0.0, 0.3, 0.7]))
        self.push = 2 * self.unit if rng.random() < 0.15 else 0.0
        """How early chords and pads change."""
        self.skips_one = self.style.drums["kick"][0][4:5] != "x" and rng.random() < 0.12
        """Whether the kick leaves out the first beat of every second bar."""
        self.kick_rests = float(rng.choice([0.0, 0.0, 0.0, 0.5, 1.0, 2.0]))
        """Beats at the end of every fourth bar in which the kick is silent."""
        self.total_s = float(rng.uniform(75, 165))

    def song(self) -> Song:
        self._draw_loops()
        bar, starts, sections = 0, [], self._plan().sections()
        for number, (kind, parts, bars) in enumerate(sections):
            ahead = sections[number + 1][0] if number + 1 < len(sections) else "end"
            starts.append(bar)
            self._section(bar, bars, kind, parts, ahead)
            bar += bars
        for k in range(self.upbeat_beats):
            at, part = k - self.upbeat_beats, sorted(sections[0][1])[0]
            if part in DRUM_PARTS:
                self._hit(at, CLOSED, 84)
            else:
                self.note(at, 0.8, ARP, self.scale_pitch(k + 2, 60), 84)
        return replace(self.finish(bar, starts), sound="machine")

    # What the track is made of

    def _draw_loops(self) -> None:
        rng, style, meter = self.rng, self.style, self.meter
        parts = style.parts_per_beat
        self.cast = {p for p, share in style.tonal.items() if rng.random() < share}
        if not self.cast & {"bass", "chords", "arp", "lead"}:
            self.cast |= {"bass", "arp"}
        self.cast |= {p for p in style.drums if rng.random() < DRUM_CAST.get(p, 0.75)}
        self.patterns = {p: self._drum_variants(p) for p in style.drums}
        self.drum_sounds = {
            "kick": KICK,
            "clap": int(rng.choice([SNARE, CLAP, 40])),
            "open": OPEN,
            "hats": CLOSED,
            "shaker": int(rng.choice([SHAKER, 82, 69])),
            "perc": int(rng.choice(PERC_SOUNDS)),
        }
        self.levels = {p: float(rng.uniform(0.65, 1.2)) for p in DRUM_PARTS}
        steps, first = self.patterns["kick"][0]
        kicks = [step * self.unit for step, _ in first if step < steps]
        kinds = [str(rng.choice(style.bass)) for _ in range(2)]
        self.basses = [bass_loop(rng, kind, meter, parts, kicks) for kind in kinds]
        self.chord_kind = str(rng.choice(style.chords))
        self.chordings = [
            chord_loop(rng, kind, meter, parts)
            for kind in (self.chord_kind, str(rng.choice(style.chords)))
        ]
        self.arps = [arpeggio_loop(rng, parts) for _ in range(2)]
        self.tunes = [tune_loop(rng, meter, parts, self.bpm) for _ in range(3)]
        drawn = PROGRESSIONS[int(rng.integers(len(PROGRESSIONS)))]
        still = rng.random() < (0.5 if "loop" in style.plans else 0.2)
        self.degrees = [0, 0, *rng.choice([0, 2, 3, 5, 6], 2).tolist()] if still else list(drawn)
        spans = [float(rng.choice(style.bars_per_chord)) * meter]
        if meter == 4 and style.parts_per_beat == 4 and rng.random() < 0.15:
            spans = list(HARMONIC_SPANS[int(rng.integers(len(HARMONIC_SPANS)))])
        lengths = spans * (len(self.degrees) // math.gcd(len(spans), len(self.degrees)))
        self.changes = np.concatenate([[0.0], np.cumsum(lengths)])
        """Where chords change, in beats, until their order begins again."""
        self.size = int(rng.choice([3, 3, 4, 2]))
        """Notes in a chord."""

    def _drum_variants(self, part: str) -> list[tuple[int, list[tuple[int, float]]]]:
        """Two ways to play a drum part: (steps, strokes) of each."""
        out = []
        for _ in range(2):
            pattern = str(self.rng.choice(self.style.drums[part]))
            if self.rng.random() < 0.4:
                pattern = varied(self.rng, pattern, part)
            out.append((len(pattern), pattern_steps(self.rng, pattern)))
        return out

    def _plan(self) -> DancePlan:
        bar_s = 60 / self.bpm * self.meter
        return DancePlan(self.rng, self.style.plans, frozenset(self.cast), bar_s, self.total_s)

    # How a section is played

    def _section(self, bar: int, bars: int, kind: str, parts: frozenset[str], ahead: str) -> None:
        rng, meter = self.rng, self.meter
        start, end = bar * meter, (bar + bars) * meter
        takes = {p: int(rng.random() < 0.25) for p in DRUM_PARTS}
        gap = float(rng.choice([0.5, 1.0, meter / 2, meter])) if rng.random() < 0.3 else 0.0
        fill = float(rng.choice([1.0, 2.0, meter])) if rng.random() < self.fills else 0.0
        drums = sorted(parts & set(DRUM_PARTS))
        for part in drums:
            quiet_from = end - (gap if part == "kick" else fill if part == "clap" else 0.0)
            self._drum_part(part, takes[part], start, end, quiet_from)
        if fill and drums:
            self._fill(end - fill, end)
        if bar and rng.random() < self.crashes * (1.0 if "kick" in parts else 0.6):
            self._hit(start, CRASH, 100)
            if kind == "drop" and rng.random() < 0.3:
                self._hit(start, LOW_TOM, 110)
        if kind == "build" or (ahead == "drop" and rng.random() < 0.4):
            self._rise(end - meter * int(rng.choice([2, 4, min(8, bars)])), end)
        self._tonal(start, end, parts)

    def _drum_part(self, part: str, take: int, start: int, end: int, quiet_from: float) -> None:
        steps, strokes = self.patterns[part][take]
        rng, loop, level = self.rng, steps * self.unit, self.levels[part]
        sound = self.drum_sounds[part]
        for at in np.arange(start, end - 1e-6, loop):
            for step, weight in strokes:
                place = float(at) + step * self.unit
                if place >= min(end, quiet_from) - 1e-6:
                    continue
                if weight < 0 and rng.random() < 0.5:
                    continue
                if part == "kick" and self._rests(place - start):
                    continue
                self._hit(place, sound, 100 * abs(weight) * level)
                if part == "hats" and self.style.rolls and rng.random() < 0.06:
                    count = int(rng.choice([2, 3, 4]))
                    for k in range(1, count):
                        self._hit(place + 0.5 * k / count, sound, 78 * level)

    def _rests(self, within: float) -> bool:
        """Whether the kick is silent at a place of a section."""
        if self.skips_one and within % (2 * self.meter) == self.meter:
            return True
        return within % (4 * self.meter) >= 4 * self.meter - self.kick_rests - 1e-6

    def _fill(self, at: float, end: float) -> None:
        rng = self.rng
        sound = [int(rng.choice([SNARE, TOM, self.drum_sounds["clap"], self.drum_sounds["perc"]]))]
        if rng.random() < 0.3:
            sound = [HIGH_TOM, TOM, LOW_TOM]
        chance = float(rng.uniform(0.4, 1.0))
        for place in np.arange(at, end - 1e-6, self.unit):
            if rng.random() < chance:
                part = (place - at) / (end - at)
                self._hit(float(place), sound[int(part * len(sound))], 70 + 30 * part)

    def _rise(self, at: float, end: float) -> None:
        """A roll that closes in on the next section, a riser of noise, or both."""
        rng, how = self.rng, self.rng.random()
        at = max(0.0, at)
        if how < 0.7:
            self.note(at, end - at, RISER, int(rng.integers(48, 72)), 90)
        if how > 0.35:
            sound = int(rng.choice([self.drum_sounds["clap"], SNARE, KICK]))
            finest = int(rng.choice([2, 3, 4, 4, 8])) if self.unit == 0.25 else 3
            place = at
            while place < end - 1e-6:
                part = (place - at) / (end - at)
                self._hit(place, sound, 50 + 50 * part)
                rate = 1 if part < 0.5 else 2 if part < 0.75 else 4 if part < 0.875 else 8
                place += 1 / min(rate, finest)

    def _tonal(self, start: int, end: int, parts: frozenset[str]) -> None:
        take = int(self.rng.random() < 0.25)
        ends = {part: self._end(start, end) for part in sorted(parts)}
        if "bass" in parts:
            self._bass(start, ends["bass"], self.basses[take])
        if "chords" in parts:
            self._chords(start, ends["chords"], self.chordings[take])
        if "arp" in parts:
            self._arpeggio(start, ends["arp"], self.arps[take])
        if "lead" in parts:
            self._tune(start, ends["lead"], self.tunes[int(self.rng.choice([0, 0, 1, 2]))])
        if "pad" in parts:
            self._pad(start, ends["pad"])

    def _end(self, start: int, end: int) -> float:
        """Where a part of a section falls silent: at times one bar early, or two beats."""
        early = float(self.rng.choice([2.0, self.meter])) if self.rng.random() < 0.12 else 0.0
        return max(start + self.meter, end - early)

    def _pad(self, start: int, end: float) -> None:
        spans = np.diff(self.changes)
        at, index = float(start), 0
        while at < end - 1e-6:
            span = float(spans[index % len(spans)])
            early = self.push if at > start else 0.0
            for pitch in self._voiced(self._degree(at - start), 60):
                self.note(at - early, min(span, end - at) * 0.99, PAD, pitch, 70)
            at += span
            index += 1

    def _degree(self, within: float) -> int:
        place = (within + 1e-6) % self.changes[-1]
        index = int(np.searchsorted(self.changes, place, side="right")) - 1
        return int(self.degrees[index % len(self.degrees)])

    def _voiced(self, degree: int, base: int) -> list[int]:
        """The chord's notes kept near the base, so that harmony moves by small steps."""
        middle = base + self.key
        pitches = (self.scale_pitch(degree + s, base) for s in (0, 2, 4, 6)[: self.size])
        return sorted((p - middle + 5) % 12 + middle - 5 for p in pitches)

    def _bass(self, start: int, end: float, loop: Loop) -> None:
        for at, length, lift, loud in self._repeated(start, end, loop):
            root = self.scale_pitch(self._degree(at - start), 36)
            root -= 12 if root > 45 else 0
            self.note(at, length, BASS, root + lift, loud)

    def _chords(self, start: int, end: float, loop: Loop) -> None:
        for at, length, _, loud in self._repeated(start, end, loop):
            # A stroke pushed before a bar already has that bar's chord.
            ahead = at + 2 * self.unit if at + length > end - 1e-6 else at
            chord = self._voiced(self._degree(min(ahead, end - 0.01) - start), 57)
            early = self.push if at % self.meter == 0 and at > start else 0.0
            if self.chord_kind == "arpeggiated":
                step = self.unit / 2
                for i in range(int(length / step)):
                    self.note(at + i * step, step, CHORDS, chord[i % len(chord)], loud)
                continue
            for pitch in chord:
                self.note(at - early, length, CHORDS, pitch, loud)

    def _arpeggio(self, start: int, end: float, loop: Loop) -> None:
        for at, length, tone, loud in self._repeated(start, end, loop):
            octave, within = divmod(tone, 3)
            pitch = self._voiced(self._degree(at - start), 64)[within % self.size]
            self.note(at, length, ARP, pitch + 12 * octave, loud)

    def _tune(self, start: int, end: float, loop: Loop) -> None:
        for at, length, step, loud in self._repeated(start, end, loop):
            shift = self._degree(max(0.0, at - start)) % 3
            self.note(at, length, LEAD, self.scale_pitch(step + shift, 67), loud)

    @staticmethod
    def _repeated(start: int, end: float, loop: Loop) -> list[tuple[float, float, int, float]]:
        return [
            (float(turn) + at, min(length, end - float(turn) - at), step, loud)
            for turn in np.arange(start, end - 1e-6, loop.beats)
            for at, length, step, loud in loop.strokes
            if 0 <= float(turn) + at < end - 0.05
        ]

    def _clock(self, beats: int) -> None:
        """Even, and from the very start of the file where nothing leads in, as programs have it."""
        super()._clock(beats)
        self._beat_times_s += self.lead_s - self._seconds(np.array(-float(self.upbeat_beats)))

    def _swung(self, at: float) -> float:
        span = self.style.swung_beats
        return super()._swung(at / span) * span

    def _hit(self, at: float, drum: int, velocity: float) -> None:
        self.note(at, 0.1, DRUM_CHANNEL, drum, min(velocity, 120))
