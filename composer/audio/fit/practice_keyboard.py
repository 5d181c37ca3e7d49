"""What the hands do in invented keyboard music: accompaniments, melodies, voices that imitate."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from composer.audio.fit.practice_writer import Writer

RIGHT, LEFT, THIRD = 0, 1, 2
T = 1 / 3
Rhythm = list[tuple[float, float]]
"""(start, length), in beats from the start of a bar or passage on."""

BINARY = ((1.0,), (0.5, 0.5), (0.75, 0.25), (0.25,) * 4, (0.5, 0.25, 0.25), (0.25, 0.25, 0.5))
BINARY_RARE = ((2.0,), (1.5, 0.5), (0.25, 0.5, 0.25), (T, T, T), (0.125,) * 8, (1.75, 0.25))
TERNARY = ((T, T, T), (2 * T, T), (1.0,), (0.5, T / 2, T), (T / 2,) * 6, (T, 2 * T))
TERNARY_RARE = ((2.0,), (1 + 2 * T, T), (2 * T, T / 2, T / 2), (T, T / 2, T / 2, T))

BROKEN = {
    2: ((0, 2, 1, 2), (0, 1, 2, 1), (0, 2), (0, 3), (0, 1, 2, 3, 4, 3, 2, 1), (0, 2, 3, 4)),
    3: ((0, 1, 2), (0, 2, 1), (0, 2, 4), (0, 1, 2, 3, 2, 1), (0, 2, 3, 4, 3, 2)),
}
"""Orders in which the tones of a chord are struck, from the lowest, in binary and ternary time."""


@dataclass(frozen=True)
class Chord:
    at: float
    length: float
    degree: int


@dataclass(frozen=True)
class Passage:
    """A phrase: some bars with their harmony."""

    start: int
    meters: list[int]
    harmony: list[Chord]
    rest_from: float
    """The beat of the song on which the last note of the phrase sounds."""

    @property
    def beats(self) -> int:
        return sum(self.meters)

    @property
    def end(self) -> int:
        return self.start + self.beats

    def bar_of(self, at: float) -> tuple[int, float]:
        """The metre of the bar that a beat of the song is in, and the place in it."""
        place = at - self.start
        for meter in self.meters:
            if place < meter - 1e-6:
                return meter, place
            place -= meter
        return self.meters[-1], place

    def degree_at(self, at: float) -> int:
        return next((c.degree for c in reversed(self.harmony) if c.at <= at + 1e-6), 0)


@dataclass
class Setting:
    """How a section is set for the hands."""

    texture: str
    accompaniment: str
    unit: float
    """Of running notes, in beats."""
    order: tuple[int, ...]
    note_s: float
    """About how long the notes of the tune are."""
    level: float
    arch: float
    accent: float
    accent_place: float
    """The beat of the bar that is leant on, 0 the first."""
    short: float
    """How much of its length the left hand holds a note."""
    doubling: str
    tied: float
    """How often a note of the tune lasts over the beat instead of one being struck on it."""
    crossed: bool
    """The tune lies below, its accompaniment above."""
    motif: list[Rhythm] = field(default_factory=list)


class KeyboardWriter(Writer):
    """Writes passages for two hands."""

    ternary: bool
    """Beats are in three, as in six eighths."""
    setting: Setting
    passage: Passage
    ornaments: float
    """How often a long note of the tune is ornamented."""
    legato: float
    """How much of its length a note of the tune is held."""
    voices: int
    """That imitate each other: two or three."""

    def strike(
        self, at: float, length: float, channel: int, pitches: Sequence[int], weight: float = 0.0
    ) -> None:
        """Notes as loud as the section, the place in the phrase and in the bar make them."""
        setting, passage = self.setting, self.passage
        _, place = passage.bar_of(at)
        share = float(np.clip((at - passage.start) / passage.beats, 0, 1))
        loud = setting.level + setting.arch * np.sin(np.pi * share) + weight
        if abs(place - setting.accent_place) < 1e-6:
            loud += setting.accent
        elif abs(place % 1) > 1e-6:
            loud -= 0.5 * setting.accent
        lift = 0
        if setting.crossed and setting.texture == "song":
            lift, channel = (-24, LEFT) if channel == RIGHT else (12, RIGHT)
        for pitch in pitches:
            self.note(at, length, channel, pitch + lift, float(np.clip(loud, 22, 122)))

    def tones(self, degree: int, base: int) -> list[int]:
        """The tones of a chord over two octaves, from its root up."""
        low = self.chord(degree % 7, base)
        return [*low, *(pitch + 12 for pitch in low)]

    def accompany(self, chord: Chord) -> None:
        kind = self.setting.accompaniment
        if kind == "none":
            return
        if kind == "broken":
            self._broken(chord)
        elif kind in ("repeated", "after beat"):
            self._repeated(chord, after=kind == "after beat")
        elif kind == "low high":
            self._low_high(chord)
        elif kind == "polonaise":
            self._figure(chord, (0.0, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5))
        elif kind == "beats":
            self._figure(chord, tuple(np.arange(0, chord.length, 1.0).tolist()))
        elif kind == "octaves":
            for k in np.arange(0, chord.length - 1e-6, 1.0):
                root = self.scale_pitch(chord.degree % 7, 31)
                held = self.setting.short
                self.strike(chord.at + float(k), held, LEFT, (root, root + 12), -4 if k else 0)
        elif kind == "line":
            self._line(chord)
        else:
            pitches = self.tones(chord.degree, 43)
            held = chord.length * max(0.9, self.setting.short)
            self.strike(chord.at, held, LEFT, (pitches[0], *pitches[2:5]), -6)

    def _broken(self, chord: Chord) -> None:
        unit, order = self.setting.unit, self.setting.order
        pitches = self.tones(chord.degree, 43 if max(order) > 2 else 48)
        for i, k in enumerate(np.arange(0, chord.length - 1e-6, unit)):
            low = i % len(order) == 0
            pitch = pitches[order[i % len(order)] % len(pitches)]
            held = unit * self.setting.short
            self.strike(chord.at + float(k), held, LEFT, (pitch,), -2 if low else -8)

    def _repeated(self, chord: Chord, *, after: bool) -> None:
        unit = T if self.ternary else 0.5
        pitches = self.tones(chord.degree, 48)[:3]
        bass = pitches[0] - 12
        for k in np.arange(0, chord.length - 1e-6, unit):
            on = abs(k % 1) < 1e-6
            if after and on:
                self.strike(chord.at + float(k), 0.8, LEFT, (bass,), -2)
            else:
                low = (bass, *pitches) if k == 0 else pitches
                self.strike(chord.at + float(k), unit * self.setting.short, LEFT, low, -12)

    def _low_high(self, chord: Chord) -> None:
        """Bass where the chord or the bar begins, chords on the other beats (or after it)."""
        pitches = self.tones(chord.degree, 48)
        base = pitches[0] - 12
        meter, _ = self.passage.bar_of(chord.at)
        by_beat = meter == 3 or (meter == 4 and not self.ternary)
        for k in range(int(chord.length)):
            _, place = self.passage.bar_of(chord.at + k)
            low = k == 0 or place == 0 or not by_beat or (meter == 4 and place == 2)
            if low:
                fifth = 7 if place and meter != 3 else 0
                self.strike(chord.at + k, 0.8, LEFT, (base + fifth,), 0)
            if not low or not by_beat:
                late = 0.0 if not low else 2 * T if self.ternary else 0.5
                self.strike(chord.at + k + late, 0.4, LEFT, pitches[1:4], -10)

    def _figure(self, chord: Chord, places: tuple[float, ...]) -> None:
        pitches = self.tones(chord.degree, 43)
        for i, place in enumerate(places):
            if place < chord.length - 1e-6:
                what = pitches[:1] if i == 0 else pitches[2:5]
                length = (places[i + 1] if i + 1 < len(places) else chord.length) - place
                self.strike(chord.at + place, length * 0.7, LEFT, what, -8 * (i > 0))

    def _line(self, chord: Chord) -> None:
        """A bass that walks, in beats or in eighths."""
        unit = 1.0 if self.setting.unit >= 0.3 else T if self.ternary else 0.5
        step = chord.degree % 7
        for i, k in enumerate(np.arange(0, chord.length - 1e-6, unit)):
            step = step + int(self.rng.choice([-1, 1, 1, 2])) if i else step
            pitch = self.scale_pitch(step, 43)
            self.strike(chord.at + float(k), unit * self.setting.short, LEFT, (pitch,), -4)

    def melody(self, rhythm: Rhythm, top: int = 72) -> None:
        """A tune over a rhythm of the passage, single, in thirds, octaves or chords."""
        doubling = self.setting.doubling
        step = int(self.rng.integers(0, 7))
        beat_s = 60 / self.bpm
        for at, length in rhythm:
            degree = self.passage.degree_at(at)
            step = self.next_step(step, degree, strong=abs(at % 1) < 1e-6)
            pitches = [self.scale_pitch(step, top)]
            if doubling == "thirds":
                pitches.insert(0, self.scale_pitch(step - 2, top))
            elif doubling == "octaves":
                pitches.insert(0, pitches[0] - 12)
            elif doubling == "chords" and abs(at % 1) < 1e-6:
                inner = [self.scale_pitch(step - down, top) for down in (7, 5, 2)]
                pitches = [*inner, *pitches]
            peak = 4 if step > 7 else 0
            if length * beat_s > 0.5 and self.rng.random() < self.ornaments:
                self._ornament(at, length, step, top)
                continue
            self.strike(at, length * self.legato, RIGHT, pitches, 8 + peak)

    def _ornament(self, at: float, length: float, step: int, top: int) -> None:
        """A short note before the long one, a turn, or a trill."""
        quick = 0.085 * self.bpm / 60
        here, above = self.scale_pitch(step, top), self.scale_pitch(step + 1, top)
        kind = self.rng.random()
        if kind < 0.45:
            self.strike(max(at - quick, 0.0), quick, RIGHT, (above,), 0)
            self.strike(at, length * self.legato, RIGHT, (here,), 10)
            return
        count = 4 if kind < 0.7 else int(max(4, 0.8 * length / quick)) // 2 * 2
        for k in range(count):
            loud = 8 if k == 0 else -2
            self.strike(at + k * quick, quick, RIGHT, (above if k % 2 else here,), loud)
        rest = max(quick, length - count * quick)
        self.strike(at + count * quick, rest * self.legato, RIGHT, (here,), 0)

    def runs(self, until: float) -> None:
        """Scales up and down in running notes."""
        unit = self.setting.unit
        step, way = int(self.rng.integers(-3, 5)), 1
        for k in np.arange(0, until - self.passage.start - 1e-6, unit):
            at = self.passage.start + float(k)
            on = abs(at % 1) < 1e-6
            if on and self.rng.random() < 0.35:
                way = -way
            if on and self.rng.random() < 0.3:
                step = self.next_step(step, self.passage.degree_at(at), strong=True)
            way = 1 if step < -6 else -1 if step > 13 else way
            self.strike(at, unit * self.legato, RIGHT, (self.scale_pitch(step, 72),), 4 * on)
            step += way

    def study(self, until: float) -> None:
        """Broken chords over a wide register; the note on the beat is the tune."""
        unit = self.setting.unit
        per_beat = round(1 / unit)
        step = 4
        for beat in range(self.passage.start, int(until)):
            degree = self.passage.degree_at(beat)
            step = self.next_step(step, degree, strong=True)
            tune = self.scale_pitch(step, 72)
            below = [pitch for pitch in self.tones(degree, 55) if pitch < tune - 2]
            rising = self.rng.random() < 0.5
            self.strike(beat, self.legato, RIGHT, (tune,), 12)
            for i in range(1, per_beat):
                place = i - 1 if rising else per_beat - 1 - i
                pitch = below[place % len(below)] if below else tune - 5
                self.strike(beat + i * unit, unit * 1.1, RIGHT, (pitch,), -8)

    def chorale(self, until: float) -> None:
        """Chords on the beats, some voices passing between them."""
        step = 2
        at = float(self.passage.start)
        while at < until - 1e-6:
            length = min(float(self.rng.choice([1.0, 1.0, 1.0, 2.0])), until - at)
            degree = self.passage.degree_at(at)
            step = self.next_step(step, degree, strong=True)
            inner = self.tones(degree, 55)[1:4]
            self.strike(at, length * 0.97, RIGHT, (*inner[:2], self.scale_pitch(step, 67)), 4)
            self.strike(at, length * 0.97, LEFT, self.tones(degree, 43)[:1], 2)
            if self.rng.random() < 0.3:
                passing = self.scale_pitch(step + 1, 67)
                self.strike(at + length / 2, length / 2, RIGHT, (passing,), -4)
            at += length

    def imitation(self, subject: Rhythm, entered: int, until: float) -> int:
        """Voices that take up a subject in turn, and go on freely; returns how many are in."""
        passage, voices = self.passage, (RIGHT, LEFT, THIRD)[: self.voices]
        bar = passage.meters[0]
        long = max(1, int(np.ceil((subject[-1][0] + subject[-1][1]) / bar))) * bar
        moves = self.rng.choice([-2, -1, -1, 1, 1, 2], size=len(subject))
        tops = {RIGHT: 72, LEFT: 55, THIRD: 48}
        entries = {entered % len(voices): 0} if entered else {}
        if not entered:
            entries = {k: k * long for k in range(len(voices)) if k * long < passage.beats - bar}
        for k, channel in enumerate(voices):
            place = float(entries.get(k, 0 if entered else passage.beats))
            if k in entries:
                step = (0, -3, 0)[k] + passage.degree_at(passage.start + place)
                for (at, length), move in zip(subject, moves.tolist(), strict=True):
                    pitch = self.scale_pitch(step, tops[channel])
                    if passage.start + place + at < until:
                        held = length * self.legato
                        self.strike(passage.start + place + at, held, channel, (pitch,), 6)
                    step = int(np.clip(step + move, -5, 9))
                place += long
            self._counterpoint(channel, passage.start + place, until, tops[channel])
        return entered + len(entries)

    def _counterpoint(self, channel: int, start: float, until: float, top: int) -> None:
        """A free voice: running notes, or long ones tied over the beat."""
        at, step = start, 2
        while at < until - 1e-6:
            running = (self.setting.unit,) * round(1 / self.setting.unit)
            tied = (2 * T, 1.0, T) if self.ternary else (0.5, 1.0, 0.5)
            for length in (running, running, (1.0,), (1.0,), tied)[int(self.rng.integers(5))]:
                if at < until - 1e-6:
                    degree = self.passage.degree_at(at)
                    step = self.next_step(step, degree, strong=abs(at % 1) < 1e-6)
                    pitch = self.scale_pitch(step, top)
                    held = min(length, until - at) * self.legato
                    self.strike(at, held, channel, (pitch,), -2)
                at += length
