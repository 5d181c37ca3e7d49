"""Invented songs of a band: drums, bass, chords and a tune, in sections that come and go."""

import numpy as np

from composer.audio.fit.practice_styles import (
    BASSES,
    CRASH,
    DRIVEN,
    HIGH_TOM,
    KICK,
    LEADS,
    LOW_TOM,
    MAJOR,
    PADS,
    PIANOS,
    PLUCKS,
    PROGRESSIONS,
    SNARE,
    STYLES,
    TOM,
    Style,
)
from composer.audio.fit.practice_writer import DRUM_CHANNEL, Song, Writer


class BandWriter(Writer):
    """Writes one song of one style."""

    def __init__(self, rng: np.random.Generator) -> None:
        shares = np.array([style.share for style in STYLES])
        self.style: Style = STYLES[int(rng.choice(len(STYLES), p=shares / shares.sum()))]
        super().__init__(rng, self.style.name, self.style.bpm, self.style.beats_per_bar)
        if self.style.parts_per_beat != 3:
            self.swing = float(rng.uniform(*self.style.swing))
        # Fast music without drums is mostly counted at half the rate: leave such songs out.
        drums_left_out = rng.random() < 0.15 and self.bpm < 115
        self.has_drums = bool(self.style.drums) and not drums_left_out
        live = rng.random() < (0.12 if self.has_drums else 0.25)
        self.wander = float(rng.choice([0.004, 0.01, 0.02])) if live else 0.0
        self.upbeat_beats = int(rng.integers(1, self.meter)) if rng.random() < 0.2 else 0
        self.drum_level = {drum: float(rng.uniform(0.5, 1.25)) for drum in self.style.drums}
        self.push = float(rng.choice([0.0, 0.0, 0.2, 0.5]))
        """How often the tune comes before the beat instead of on it."""
        self.on_one = float(rng.choice([0.9, 0.7, 0.4]))
        """How often a bar of the tune begins with a note."""
        every_beat = self.style.drums.get(KICK, "").startswith("x...x...x...x...")
        if every_beat and rng.random() < 0.45:
            self.pump_channels = (1, 3)

    def song(self) -> Song:
        rng = self.rng
        drums = self._drum_patterns()
        progression = [int(c) for c in PROGRESSIONS[int(rng.integers(len(PROGRESSIONS)))]]
        per_chord = max(float(rng.choice(self.style.bars_per_chord)) * self.meter, 1.0)
        self._choose_instruments()
        motifs = {k: self._motif(int(rng.choice([2, 4]))) for k in "AB"}
        bar, starts = 0, []
        while (
            bar < int(rng.integers(36, 60)) * (2 if self.meter <= 2 else 1)
            and bar * self.meter < 300
        ):
            bars = int(rng.choice([4, 8, 8, 16]))
            starts.append(bar)
            self._section(bar, bars, drums, progression, per_chord, motifs, first=bar == 0)
            if rng.random() < 0.4:
                progression = progression[2:] + progression[:2]
            bar += bars
        for k in range(self.upbeat_beats):
            pitch = self.scale_pitch(int(rng.integers(0, 5)), 72)
            self.note(k - self.upbeat_beats, 0.9, 0, pitch, 84)
        return self.finish(bar, starts)

    def _drum_patterns(self) -> dict[int, list[int]]:
        """Steps struck in two bars, the second slightly varied, for each drum."""
        rng, out = self.rng, {}
        for drum, pattern in self.style.drums.items():
            odd = rng.random() < 0.5
            bar = self.meter * self.style.parts_per_beat
            base = [
                c == "x"
                or (c == "o" and odd and rng.random() < 0.8)
                or (c == "?" and rng.random() < 0.4)
                for c in pattern
            ]
            second = [
                bool(b)
                ^ bool(drum in (KICK, SNARE) and not b and i % 2 == 0 and rng.random() < 0.06)
                for i, b in enumerate(base)
            ]
            steps = base if len(base) == 2 * bar else [*base, *second]
            out[drum] = [i for i, b in enumerate(steps) if b]
        return out

    def _choose_instruments(self) -> None:
        rng = self.rng
        piano_only = not self.has_drums and rng.random() < 0.65
        self.accompaniment: str = str(rng.choice(self.style.accompaniments))
        driven = self.accompaniment in ("power", "gallop")
        tone = DRIVEN if driven else PADS if self.accompaniment == "pad" else (*PIANOS, *PLUCKS)
        self.programs |= {
            0: int(rng.choice(PIANOS if piano_only else LEADS)),
            1: int(rng.choice(PIANOS if piano_only else tone)),
            2: int(rng.choice(PIANOS if piano_only else BASSES)),
            3: int(rng.choice(PADS)),
        }
        self.bass_kind = str(rng.choice(self.style.bass))
        self.with_pad = not piano_only and rng.random() < 0.35
        self.density = float(rng.uniform(0.25, 0.8))

    def _section(
        self,
        bar: int,
        bars: int,
        drums: dict[int, list[int]],
        progression: list[int],
        per_chord: float,
        motifs: dict[str, list[tuple[float, float, int]]],
        *,
        first: bool,
    ) -> None:
        rng = self.rng
        quiet = rng.random() < (0.5 if first else 0.2)
        play_drums = self.has_drums and not (quiet and rng.random() < 0.7)
        left_out = (
            set(
                rng.choice(
                    list(drums), size=min(len(drums), int(rng.integers(0, 3))), replace=False
                ).tolist()
            )
            if drums and quiet
            else set()
        )
        with_bass = not quiet or rng.random() < 0.5
        with_lead = rng.random() < (0.35 if first else 0.75)
        with_chords = with_lead is False or rng.random() < 0.9
        motif = motifs[str(rng.choice(["A", "B"]))]
        start = bar * self.meter
        if play_drums and not first and rng.random() < 0.5:
            self._hit(start, CRASH, 100)
        for j in range(bars):
            at = start + j * self.meter
            if play_drums:
                fill = j == bars - 1 and rng.random() < 0.6
                self._drum_bar(at, j, drums, left_out, fill)
        if quiet and not first and self.has_drums and bars >= 8 and rng.random() < 0.4:
            self._roll(start + (bars - 2) * self.meter)
        self._harmony(start, bars * self.meter, progression, per_chord, with_chords, with_bass)
        if with_lead:
            self._melody(start, bars, motif, progression, per_chord)

    def _drum_bar(
        self, at: float, j: int, drums: dict[int, list[int]], left_out: set[int], fill: bool
    ) -> None:
        parts = self.style.parts_per_beat
        for drum, steps in drums.items():
            if drum in left_out:
                continue
            length = self.meter * parts
            for step in steps:
                if step // length != j % 2:
                    continue
                within = step % length
                if fill and within >= length * 3 // 4 and drum != KICK:
                    continue
                accent = 100 if within % parts == 0 else 78
                self._hit(at + within / parts, drum, accent * self.drum_level[drum])
        if fill:
            steps_total = self.meter * parts
            for step in range(steps_total * 3 // 4, steps_total):
                if self.rng.random() < 0.7:
                    self._hit(
                        at + step / parts, int(self.rng.choice([SNARE, TOM, HIGH_TOM, LOW_TOM])), 90
                    )

    def _roll(self, at: float) -> None:
        """Two bars of drum roll that close in on the next section."""
        end = at + 2 * self.meter
        place, step = at, 1.0
        while place < end - 1e-6:
            self._hit(place, SNARE, 60 + 45 * (place - at) / (end - at))
            step = 1.0 if place < at + self.meter - 1e-6 else 0.5
            place += step if place < end - self.meter / 2 - 1e-6 else 0.25

    def _harmony(
        self,
        start: float,
        beats: int,
        progression: list[int],
        per_chord: float,
        chords: bool,
        bass: bool,
    ) -> None:
        at = 0.0
        index = 0
        while at < beats - 1e-6:
            length = min(per_chord, beats - at)
            degree = progression[index % len(progression)]
            if chords:
                self._accompany(start + at, length, degree)
            if bass:
                self._bass(start + at, length, degree)
            if self.with_pad:
                for pitch in self.chord(degree, 60):
                    self.note(start + at, length * 0.98, 3, pitch, 55)
            at += length
            index += 1

    def _accompany(self, at: float, length: float, degree: int) -> None:
        chord, kind, parts = self.chord(degree, 57), self.accompaniment, self.style.parts_per_beat
        unit = 1 / parts
        if kind in ("blocks", "pad"):
            step = 1.0 if kind == "blocks" else length
            for k in np.arange(0, length - 1e-6, step):
                for pitch in chord:
                    self.note(at + k, step * 0.95, 1, pitch, 80 if k == 0 else 66)
        elif kind == "voices":
            for k in np.arange(0, length - 1e-6, 1.0):
                for pitch in chord:
                    moves = self.rng.random() < 0.3
                    self.note(at + k, 0.48 if moves else 0.97, 1, pitch, 80)
                    if moves:
                        self.note(at + k + 0.5, 0.48, 1, pitch + int(self.rng.choice([-2, 2])), 78)
        elif kind == "arpeggio":
            step = unit * (2 if parts == 4 and self.density < 0.55 else 1)
            order = [0, 1, 2, 1] if self.density < 0.5 else [0, 2, 1, 2]
            for i, k in enumerate(np.arange(0, length - 1e-6, step)):
                lift = 12 * (i % 8 >= 4)
                self.note(
                    at + k, step * 1.6, 1, chord[order[i % 4]] + lift, 84 if i % 4 == 0 else 66
                )
        elif kind == "strum":
            step = 0.5 if parts == 4 else 1 / 3
            for i, k in enumerate(np.arange(0, length - 1e-6, step)):
                if i % 8 in (0, 2, 3, 5, 6, 7) or self.density > 0.5:
                    for pitch in chord:
                        self.note(at + k, step * 0.9, 1, pitch, 82 if i % 2 == 0 else 64)
        elif kind == "figure":
            self._figure(at, length, degree)
        elif kind == "pushed":
            early = 0.5 if at >= 0.5 else 0.0
            for k in (-early, 1.0, 2.5, 4.0 - early):
                if k < length - 1e-6 and (k < 2 or self.density > 0.4):
                    for pitch in chord:
                        self.note(at + k, 0.9, 1, pitch, 80)
        elif kind in ("power", "gallop"):
            self._driven(at, length, degree, gallop=kind == "gallop")
        elif kind == "offbeat":
            for k in np.arange(0.5, length, 1.0):
                for pitch in chord:
                    self.note(at + k, 0.3, 1, pitch, 80)
        elif kind == "oompah":
            for k in np.arange(0, length - 1e-6, 1.0):
                beat = round((at + k) % self.meter) % self.meter
                if beat or self.meter == 2:
                    shift = 0.5 if self.meter == 2 else 0.0
                    for pitch in chord:
                        self.note(at + k + shift, 0.4, 1, pitch, 66)
        else:
            for k in np.arange(0, length - 1e-6, unit):
                place = (at + k) % self.meter
                on = self._fixed_chance(place, 11) < (0.35 if kind == "stabs" else 0.5)
                if on:
                    for pitch in chord if kind == "stabs" else chord[:1]:
                        self.note(at + k, unit * 0.9, 1, pitch - 12 * (kind == "riff"), 78)

    def _figure(self, at: float, length: float, degree: int) -> None:
        """The song's own piano figure: the left hand breaks the chord, the right strikes it."""
        unit = 0.5 if self.density < 0.6 or self.bpm > 90 else 0.25
        low, high = self.chord(degree, 45), self.chord(degree, 60)
        order = (low[0], low[2], low[0] + 12, low[1] + 12)
        for i, k in enumerate(np.arange(0, length - 1e-6, unit)):
            place = (at + float(k)) % self.meter
            if k == 0 or self._fixed_chance(place, 3) < 0.4 + 0.6 * self.density:
                loud = 86 if k == 0 else 68
                self.note(at + float(k), unit * 1.7, 2, order[i % 4], loud)
            likely = 0.85 if place % 1 == 0 else 0.35 if place % 0.5 == 0 else 0.12
            if self._fixed_chance(place, 7) < likely * (0.5 + self.density):
                for pitch in high:
                    self.note(at + float(k), 0.8, 1, pitch, 74)

    def _driven(self, at: float, length: float, degree: int, *, gallop: bool) -> None:
        """Fifths on a driven guitar: eighths with gaps of the song's own, or a gallop."""
        root = self.scale_pitch(degree, 40)
        steps = np.arange(0, length - 1e-6, 0.25 if gallop else 1 / self.style.parts_per_beat * 2)
        for k in steps:
            place = (at + float(k)) % self.meter
            if gallop and place % 1 == 0.25:
                continue
            if not gallop and k and self._fixed_chance(place, 13) > 0.55 + 0.6 * self.density:
                continue
            for pitch in (root, root + 7, root + 12):
                self.note(at + float(k), 0.22 if gallop else 0.45, 1, pitch, 92 if k == 0 else 76)

    def _bass(self, at: float, length: float, degree: int) -> None:
        pitch, kind, parts = self.chord(degree, 36)[0], self.bass_kind, self.style.parts_per_beat
        if kind == "long":
            self.note(at, length * 0.95, 2, pitch, 92)
            return
        if kind == "walk":
            tones = [0, 4, 7, 9] if self.scale is MAJOR else [0, 3, 7, 10]
            for i, k in enumerate(np.arange(0, length - 1e-6, 1.0)):
                self.note(at + k, 0.9, 2, pitch + tones[i % 4], 88)
            return
        if kind == "dotted":
            for k in (0.0, 1.5, 2.0, 3.5):
                if k < length:
                    self.note(at + k, 0.9 if k % 2 else 1.4, 2, pitch, 90 if k == 0 else 78)
            return
        step = {
            "beats": 1.0,
            "eighths": 0.5 if parts != 3 else 1.0,
            "octaves": 0.5,
            "offbeat": 1.0,
            "sixteenths": 0.25,
        }.get(kind, 1 / parts)
        begin = 0.5 if kind == "offbeat" else 0.0
        for i, k in enumerate(np.arange(begin, length - 1e-6, step)):
            if (
                kind in ("syncopated", "riff")
                and k
                and self._fixed_chance((at + k) % self.meter, 5) > 0.35
            ):
                continue
            lift = 12 if kind == "octaves" and i % 2 else 0
            self.note(at + k, step * 0.85, 2, pitch + lift, 92 if k == 0 else 80)

    def _motif(self, bars: int) -> list[tuple[float, float, int]]:
        """(start, length, scale step) over some bars: a rhythm that favours strong places."""
        rng, parts = self.rng, self.style.parts_per_beat
        density = rng.uniform(0.45, 0.85) if self.bpm < 82 else rng.uniform(0.25, 0.75)
        out: list[tuple[float, float, int]] = []
        step_now = int(rng.integers(0, 7))
        total = bars * self.meter
        rest_from = total - rng.integers(1, max(2, self.meter))
        grid = 1 / parts if (density > 0.45 and self.bpm < 125) or parts == 3 else 0.5
        for k in np.arange(0, total - 1e-6, grid):
            on_beat = abs(k % 1) < 1e-6
            chance = density * (1.35 if on_beat else 0.8 if abs(k % 0.5) < 1e-6 else 0.55)
            if k % self.meter == 0:
                chance = self.on_one
            if k < rest_from and rng.random() < chance:
                step_now = int(np.clip(step_now + rng.integers(-2, 3), -3, 10))
                early = grid if on_beat and k and rng.random() < self.push else 0.0
                if not out or k - early > out[-1][0]:
                    out.append((float(k) - early, grid, step_now))
        return [
            (a, (out[i + 1][0] if i + 1 < len(out) else total) - a, s)
            for i, (a, _, s) in enumerate(out)
        ]

    def _melody(
        self,
        start: float,
        bars: int,
        motif: list[tuple[float, float, int]],
        progression: list[int],
        per_chord: float,
    ) -> None:
        span = (
            max(1.0, np.ceil((motif[-1][0] + motif[-1][1]) / self.meter) * self.meter)
            if motif
            else 1.0
        )
        turn = 0
        at = 0.0
        while at < bars * self.meter - 1e-6 and motif:
            shift = progression[int(at // per_chord) % len(progression)] % 3
            for begin, length, step in motif:
                if at + begin < bars * self.meter:
                    pitch = self.scale_pitch(step + shift, 72)
                    self.note(
                        start + at + begin,
                        min(length, 2.5) * 0.92,
                        0,
                        pitch,
                        92 if begin % self.meter == 0 else 80,
                    )
            at += span
            turn += 1

    def _fixed_chance(self, place: float, salt: int) -> float:
        """A number in 0..1 that is the same at the same place of every bar of this song."""
        seed = abs(hash((round(place * 24), salt, round(self.bpm * 100)))) % (2**32)
        return float(np.random.default_rng(seed).random())

    def _hit(self, at: float, drum: int, velocity: float) -> None:
        self.note(at, 0.1, DRUM_CHANNEL, drum, velocity)
