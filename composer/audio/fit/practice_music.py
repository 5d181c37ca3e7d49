"""Invented music in many styles, as Standard MIDI Files with exact beats and bars.

The weights of the listening stage are fitted on it (see ``fit_readings``), rendered through a
General MIDI synthesiser. Everything is drawn from a seeded generator; nothing is a recording.
What counts as the beat of a style, and its usual tempi, are common practice without a source.
"""

from dataclasses import dataclass, field
from typing import Literal

import mido
import numpy as np

TICKS_PER_BEAT = 480
KICK, RIM, SNARE, CLAP, CLOSED, OPEN, CRASH, RIDE, SHAKER, TOM = (
    36,
    37,
    38,
    39,
    42,
    46,
    49,
    51,
    70,
    45,
)

Accompaniment = Literal[
    "arpeggio", "blocks", "strum", "offbeat", "oompah", "pad", "stabs", "riff", "voices"
]


@dataclass(frozen=True)
class Style:
    """A way of playing: tempo, metre, drum patterns and what goes with them.

    Patterns run over one bar (or two): "x" a stroke, "o" one that is there in half the songs,
    "?" a chance stroke, "." none.
    """

    name: str
    bpm: tuple[float, float]
    beats_per_bar: int = 4
    parts_per_beat: int = 4
    drums: dict[int, str] = field(default_factory=dict)
    accompaniments: tuple[Accompaniment, ...] = ("blocks", "arpeggio", "pad")
    bass: tuple[str, ...] = ("beats", "long", "eighths")
    swing: tuple[float, float] = (0.5, 0.5)
    share: float = 1.0
    bars_per_chord: tuple[float, ...] = (1, 1, 2, 0.5)


STYLES = (
    Style(
        "house",
        (116, 132),
        drums={
            KICK: "x...x...x...x...",
            CLAP: "....x.......x...",
            CLOSED: "..x...x...x...x.",
            SHAKER: "oooooooooooooooo",
        },
        accompaniments=("stabs", "pad", "offbeat"),
        bass=("offbeat", "riff", "eighths"),
        share=1.6,
        bars_per_chord=(1, 2, 4),
    ),
    Style(
        "techno",
        (124, 146),
        drums={
            KICK: "x...x...x...x...",
            OPEN: "..x...x...x...x.",
            CLOSED: "xoxoxoxoxoxoxoxo",
            RIM: "...?..?....?..?.",
        },
        accompaniments=("riff", "pad"),
        bass=("offbeat", "sixteenths"),
        share=1.3,
        bars_per_chord=(2, 4),
    ),
    Style(
        "trance",
        (130, 145),
        drums={KICK: "x...x...x...x...", CLAP: "....o.......o...", OPEN: "..x...x...x...x."},
        accompaniments=("arpeggio", "pad", "riff"),
        bass=("offbeat", "sixteenths"),
        share=1.3,
    ),
    Style(
        "disco",
        (108, 128),
        drums={
            KICK: "x...x...x...x...",
            SNARE: "....x.......x...",
            CLOSED: "x.x.x.x.x.x.x.x.",
            OPEN: "..o...o...o...o.",
        },
        accompaniments=("strum", "stabs", "pad"),
        bass=("octaves", "eighths"),
    ),
    Style(
        "rock",
        (92, 152),
        drums={KICK: "x.....o.x.x.....", SNARE: "....x.......x...", CLOSED: "x.x.x.x.x.x.x.x."},
        accompaniments=("strum", "riff", "blocks"),
        bass=("eighths", "beats"),
        share=2.0,
    ),
    Style(
        "straight rock",
        (80, 140),
        drums={KICK: "x.......x.......", SNARE: "....x.......x...", RIDE: "x.x.x.x.x.x.x.x."},
        accompaniments=("strum", "blocks", "arpeggio"),
        share=1.2,
    ),
    Style(
        "fast rock",
        (150, 200),
        drums={KICK: "x...o...x.o.....", SNARE: "....x.......x...", CLOSED: "x.o.x.o.x.o.x.o."},
        accompaniments=("strum", "riff"),
        bass=("eighths",),
        share=2.0,
    ),
    Style(
        "double kick",
        (150, 200),
        drums={KICK: "x.x.x.x.x.x.x.x.", SNARE: "....x.......x...", RIDE: "x...x...x...x..."},
        accompaniments=("riff", "strum"),
        bass=("eighths",),
        share=1.2,
    ),
    Style(
        "drum and bass",
        (160, 180),
        drums={
            KICK: "x.........x.....",
            SNARE: "....x.......x...",
            CLOSED: "x.x.x.x.x.x.x.x.",
            RIM: ".......?.?....?.",
        },
        accompaniments=("pad", "arpeggio"),
        bass=("long", "syncopated"),
        share=1.6,
        bars_per_chord=(2, 4),
    ),
    Style(
        "break",
        (100, 140),
        drums={KICK: "x.x.......xo....", SNARE: "....x..o.o..x..o", CLOSED: "x.x.x.x.x.x.x.x."},
        accompaniments=("pad", "stabs"),
        bass=("syncopated", "beats"),
        share=1.4,
    ),
    Style(
        "boom bap",
        (78, 100),
        drums={KICK: "x..o..o.x.xo....", SNARE: "....x.......x...", CLOSED: "x.x.x.x.x.x.x.x."},
        accompaniments=("stabs", "pad", "arpeggio"),
        bass=("syncopated", "beats"),
        swing=(0.5, 0.66),
        share=1.4,
    ),
    Style(
        "slow groove",
        (62, 84),
        drums={KICK: "x.....o.x.x.....", SNARE: "....x.......x...", CLOSED: "x.xox.x.x.x.x.xo"},
        accompaniments=("pad", "arpeggio", "blocks"),
        bass=("beats", "long", "syncopated"),
        swing=(0.5, 0.6),
        share=1.4,
    ),
    Style(
        "trap",
        (66, 80),
        drums={KICK: "x.....x...x..o..", CLAP: "....x.......x...", CLOSED: "xxxxxxxxxxxxxxxx"},
        accompaniments=("pad", "arpeggio"),
        bass=("long",),
    ),
    Style(
        "dembow",
        (86, 106),
        drums={KICK: "x...x...x...x...", SNARE: "...x..x....x..x.", CLOSED: "x.o.x.o.x.o.x.o."},
        accompaniments=("stabs", "offbeat"),
        bass=("beats", "syncopated"),
    ),
    Style(
        "fast dembow",
        (168, 190),
        drums={KICK: "x.......x.......", SNARE: "......x.....x...", CLOSED: "x...x...x...x..."},
        accompaniments=("stabs", "offbeat"),
        bass=("beats",),
        share=0.4,
    ),
    Style(
        "funk",
        (94, 120),
        drums={KICK: "x.o...x...x..o..", SNARE: "....x..o.o..x..o", CLOSED: "xxxxxxxxxxxxxxxx"},
        accompaniments=("stabs", "riff"),
        bass=("syncopated", "riff"),
    ),
    Style(
        "one drop",
        (66, 88),
        drums={KICK: "........x.......", RIM: "........x.......", CLOSED: "x.x.x.x.x.x.x.x."},
        accompaniments=("offbeat",),
        bass=("syncopated", "beats"),
        swing=(0.5, 0.6),
        share=0.6,
    ),
    Style(
        "shuffle",
        (84, 140),
        parts_per_beat=3,
        drums={KICK: "x.....x.o...", SNARE: "...x.....x..", RIDE: "x.xx.xx.xx.x"},
        accompaniments=("blocks", "riff", "strum"),
        bass=("beats", "walk"),
    ),
    Style(
        "swing",
        (120, 200),
        parts_per_beat=3,
        drums={RIDE: "x..x.xx..x.x", CLOSED: "...x.....x..", KICK: "o..o..o..o.."},
        accompaniments=("stabs", "blocks"),
        bass=("walk",),
    ),
    Style(
        "slow six",
        (46, 76),
        beats_per_bar=2,
        parts_per_beat=3,
        drums={KICK: "x...o.", SNARE: "...x..", CLOSED: "xxxxxx"},
        accompaniments=("arpeggio", "blocks"),
        share=0.8,
    ),
    Style(
        "slow twelve",
        (56, 84),
        parts_per_beat=3,
        drums={KICK: "x.....x.o...", SNARE: "...x.....x..", CLOSED: "xxxxxxxxxxxx"},
        accompaniments=("arpeggio", "blocks", "pad"),
    ),
    Style(
        "waltz",
        (84, 190),
        beats_per_bar=3,
        drums={KICK: "x...........", SNARE: "....x...x...", CLOSED: "o.o.o.o.o.o."},
        accompaniments=("oompah", "arpeggio", "blocks"),
        bass=("long", "beats"),
        share=1.8,
    ),
    Style(
        "slow three",
        (66, 110),
        beats_per_bar=3,
        drums={KICK: "x.......o...", SNARE: "....o...x...", CLOSED: "x.x.x.x.x.x."},
        accompaniments=("arpeggio", "pad", "blocks"),
        share=0.8,
    ),
    Style(
        "five",
        (110, 180),
        beats_per_bar=5,
        drums={
            KICK: "x...........x.......",
            SNARE: "........x.......x...",
            RIDE: "x.x.x.x.x.x.x.x.x.x.",
        },
        accompaniments=("riff", "blocks"),
        share=0.6,
    ),
    Style(
        "seven",
        (180, 250),
        beats_per_bar=7,
        parts_per_beat=2,
        drums={KICK: "x.......x...o.", SNARE: "....x.......x.", CLOSED: "xoxoxoxoxoxoxo"},
        accompaniments=("riff", "blocks"),
        share=0.4,
    ),
    Style(
        "march",
        (100, 128),
        beats_per_bar=2,
        drums={KICK: "x.......", SNARE: "..x.x.xo"},
        accompaniments=("oompah",),
        bass=("beats",),
        share=0.8,
    ),
    Style(
        "quick two",
        (100, 140),
        beats_per_bar=2,
        drums={KICK: "x...x...", SNARE: "..x...x."},
        accompaniments=("oompah",),
        bass=("beats",),
        share=0.6,
    ),
    Style(
        "ballad",
        (58, 84),
        accompaniments=("arpeggio", "blocks", "pad"),
        bass=("long", "beats"),
        share=3.0,
    ),
    Style(
        "medium ballad",
        (84, 112),
        accompaniments=("arpeggio", "blocks", "strum"),
        bass=("long", "beats", "eighths"),
        share=2.4,
    ),
    Style(
        "lively song",
        (108, 134),
        accompaniments=("strum", "blocks", "arpeggio", "oompah"),
        bass=("beats", "eighths"),
        share=2.0,
    ),
    Style(
        "hymn",
        (66, 110),
        accompaniments=("blocks",),
        bass=("beats",),
        share=1.4,
        bars_per_chord=(0.25, 0.5),
    ),
    Style(
        "hymn in three",
        (66, 120),
        beats_per_bar=3,
        accompaniments=("blocks",),
        bass=("beats",),
        share=0.8,
        bars_per_chord=(1 / 3, 1),
    ),
)

PIANOS, LEADS = (0, 1, 2, 4, 5), (0, 11, 24, 40, 56, 65, 71, 73, 74, 80, 81, 82, 52, 22)
PADS, PLUCKS, BASSES = (
    (48, 50, 52, 88, 89, 91, 16, 19),
    (24, 25, 27, 28, 26, 46, 104),
    (32, 33, 34, 38, 39, 87),
)
PROGRESSIONS = (
    (0, 4, 5, 3),
    (5, 3, 0, 4),
    (0, 5, 3, 4),
    (0, 3, 4, 3),
    (5, 4, 3, 4),
    (0, 2, 3, 4),
    (0, 0, 3, 4),
    (1, 4, 0, 5),
    (0, 4, 1, 3),
    (5, 5, 3, 4),
    (0, 3, 0, 4),
)
MAJOR, MINOR = (0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 10)


@dataclass
class Song:
    """A finished song: its file, and the truth about it, in seconds."""

    style: str
    bpm: float
    beats_per_bar: int
    midi: mido.MidiFile
    beats_s: list[float]
    positions: list[int]
    sections_s: list[float]


def invent(seed: int) -> Song:
    """The song that belongs to a seed."""
    return _Writer(np.random.default_rng(seed)).song()


class _Writer:
    """Gathers notes in beats, then turns them into ticks once."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng
        shares = np.array([style.share for style in STYLES])
        self.style: Style = STYLES[int(rng.choice(len(STYLES), p=shares / shares.sum()))]
        low, high = self.style.bpm
        self.bpm = float(np.exp(rng.uniform(np.log(low), np.log(high))))
        if rng.random() < 0.6:
            self.bpm = float(round(self.bpm))
        self.meter = self.style.beats_per_bar
        self.swing = rng.uniform(*self.style.swing)
        self.scale = MAJOR if rng.random() < 0.55 else MINOR
        self.key = int(rng.integers(-5, 7))
        self.jitter_s = float(rng.choice([0.0, 0.002, 0.006, 0.010]))
        self.notes: list[tuple[float, float, int, int, int]] = []
        self.programs: dict[int, int] = {}
        self.upbeat = int(rng.integers(1, self.meter)) if rng.random() < 0.2 else 0
        self.lead_s = float(rng.uniform(0.0, 1.5))
        # Fast music without drums is mostly counted at half the rate: leave such songs out.
        drums_left_out = rng.random() < 0.15 and self.bpm < 115
        self.has_drums = bool(self.style.drums) and not drums_left_out

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
        return self._finish(bar, starts)

    def _drum_patterns(self) -> dict[int, list[int]]:
        """Steps struck in two bars, the second slightly varied, for each drum."""
        rng, out = self.rng, {}
        for drum, pattern in self.style.drums.items():
            odd = rng.random() < 0.5
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
            out[drum] = [i for i, b in enumerate([*base, *second]) if b]
        return out

    def _choose_instruments(self) -> None:
        rng = self.rng
        piano_only = not self.has_drums and rng.random() < 0.6
        self.accompaniment: str = str(rng.choice(self.style.accompaniments))
        tone = PADS if self.accompaniment == "pad" else (*PIANOS, *PLUCKS)
        self.programs = {
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
            length = len(self.style.drums[drum])
            for step in steps:
                if step // length != j % 2:
                    continue
                within = step % length
                if fill and within >= length * 3 // 4 and drum != KICK:
                    continue
                accent = 100 if within % parts == 0 else 78
                self._hit(at + within / parts, drum, accent)
        if fill:
            steps_total = self.meter * parts
            for step in range(steps_total * 3 // 4, steps_total):
                if self.rng.random() < 0.7:
                    self._hit(at + step / parts, int(self.rng.choice([SNARE, TOM, 47, 43])), 90)

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
                for pitch in self._chord(degree, 60):
                    self._note(start + at, length * 0.98, 3, pitch, 55)
            at += length
            index += 1

    def _accompany(self, at: float, length: float, degree: int) -> None:
        chord, kind, parts = self._chord(degree, 57), self.accompaniment, self.style.parts_per_beat
        unit = 1 / parts
        if kind in ("blocks", "pad"):
            step = 1.0 if kind == "blocks" else length
            for k in np.arange(0, length - 1e-6, step):
                for pitch in chord:
                    self._note(at + k, step * 0.95, 1, pitch, 80 if k == 0 else 66)
        elif kind == "voices":
            for k in np.arange(0, length - 1e-6, 1.0):
                for pitch in chord:
                    moves = self.rng.random() < 0.3
                    self._note(at + k, 0.48 if moves else 0.97, 1, pitch, 80)
                    if moves:
                        self._note(at + k + 0.5, 0.48, 1, pitch + int(self.rng.choice([-2, 2])), 78)
        elif kind == "arpeggio":
            step = unit * (2 if parts == 4 and self.density < 0.55 else 1)
            order = [0, 1, 2, 1] if self.density < 0.5 else [0, 2, 1, 2]
            for i, k in enumerate(np.arange(0, length - 1e-6, step)):
                lift = 12 * (i % 8 >= 4)
                self._note(
                    at + k, step * 1.6, 1, chord[order[i % 4]] + lift, 84 if i % 4 == 0 else 66
                )
        elif kind == "strum":
            step = 0.5 if parts == 4 else 1 / 3
            for i, k in enumerate(np.arange(0, length - 1e-6, step)):
                if i % 8 in (0, 2, 3, 5, 6, 7) or self.density > 0.5:
                    for pitch in chord:
                        self._note(at + k, step * 0.9, 1, pitch, 82 if i % 2 == 0 else 64)
        elif kind == "offbeat":
            for k in np.arange(0.5, length, 1.0):
                for pitch in chord:
                    self._note(at + k, 0.3, 1, pitch, 80)
        elif kind == "oompah":
            for k in np.arange(0, length - 1e-6, 1.0):
                beat = round((at + k) % self.meter) % self.meter
                if beat or self.meter == 2:
                    shift = 0.5 if self.meter == 2 else 0.0
                    for pitch in chord:
                        self._note(at + k + shift, 0.4, 1, pitch, 66)
        else:
            for k in np.arange(0, length - 1e-6, unit):
                place = (at + k) % self.meter
                on = self._fixed_chance(place, 11) < (0.35 if kind == "stabs" else 0.5)
                if on:
                    for pitch in chord if kind == "stabs" else chord[:1]:
                        self._note(at + k, unit * 0.9, 1, pitch - 12 * (kind == "riff"), 78)

    def _bass(self, at: float, length: float, degree: int) -> None:
        pitch, kind, parts = self._chord(degree, 36)[0], self.bass_kind, self.style.parts_per_beat
        if kind == "long":
            self._note(at, length * 0.95, 2, pitch, 92)
            return
        if kind == "walk":
            tones = [0, 4, 7, 9] if self.scale is MAJOR else [0, 3, 7, 10]
            for i, k in enumerate(np.arange(0, length - 1e-6, 1.0)):
                self._note(at + k, 0.9, 2, pitch + tones[i % 4], 88)
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
            self._note(at + k, step * 0.85, 2, pitch + lift, 92 if k == 0 else 80)

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
                chance = 0.85
            if k < rest_from and rng.random() < chance:
                step_now = int(np.clip(step_now + rng.integers(-2, 3), -3, 10))
                out.append((float(k), grid, step_now))
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
                    pitch = self._scale_pitch(step + shift, 72)
                    self._note(
                        start + at + begin,
                        min(length, 2.5) * 0.92,
                        0,
                        pitch,
                        92 if begin % self.meter == 0 else 80,
                    )
            at += span
            turn += 1

    def _chord(self, degree: int, base: int) -> list[int]:
        return [self._scale_pitch(degree + step, base) for step in (0, 2, 4)]

    def _scale_pitch(self, step: int, base: int) -> int:
        octave, within = divmod(step, 7)
        return base + self.key + 12 * octave + self.scale[within]

    def _fixed_chance(self, place: float, salt: int) -> float:
        """A number in 0..1 that is the same at the same place of every bar of this song."""
        seed = abs(hash((round(place * 24), salt, round(self.bpm * 100)))) % (2**32)
        return float(np.random.default_rng(seed).random())

    def _hit(self, at: float, drum: int, velocity: int) -> None:
        self._note(at, 0.1, 9, drum, velocity)

    def _note(self, at: float, length: float, channel: int, pitch: int, velocity: int) -> None:
        self.notes.append((at, length, channel, pitch, velocity))

    def _finish(self, bars: int, starts: list[int]) -> Song:
        rng = self.rng
        beats = bars * self.meter
        for k in range(self.upbeat):
            self._note(k - self.upbeat, 0.9, 0, self._scale_pitch(int(rng.integers(0, 5)), 72), 84)
        beat_s = 60 / self.bpm
        lead = self.lead_s + self.upbeat * beat_s
        events: list[tuple[int, int, mido.Message]] = []
        per_s = TICKS_PER_BEAT / beat_s
        for at, length, channel, pitch, velocity in self.notes:
            time_s = lead + self._swung(at) * beat_s + rng.normal(0, 1) * self.jitter_s * 0.5
            tick = max(0, round(time_s * per_s))
            loud = int(np.clip(velocity + rng.normal(0, 5), 20, 127))
            pitch = int(np.clip(pitch, 20, 108))
            events.append(
                (tick, 1, mido.Message("note_on", channel=channel, note=pitch, velocity=loud))
            )
            events.append(
                (
                    tick + max(10, round(length * TICKS_PER_BEAT)),
                    0,
                    mido.Message("note_off", channel=channel, note=pitch),
                )
            )
        track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=round(beat_s * 1e6))])
        for channel, program in self.programs.items():
            track.append(mido.Message("program_change", channel=channel, program=program))
            volume = int(rng.integers(62, 110))
            track.append(mido.Message("control_change", channel=channel, control=7, value=volume))
        track.append(
            mido.Message("control_change", channel=9, control=7, value=int(rng.integers(75, 120)))
        )
        now = 0
        for tick, _, message in sorted(events, key=lambda e: (e[0], e[1])):
            track.append(message.copy(time=tick - now))
            now = tick
        midi = mido.MidiFile(ticks_per_beat=TICKS_PER_BEAT)
        midi.tracks.append(track)
        exact_s = round(beat_s * 1e6) / 1e6
        lead = lead / beat_s * exact_s
        first = -self.upbeat
        beats_s = [lead + k * exact_s for k in range(first, beats)]
        positions = [k % self.meter + 1 for k in range(first, beats)]
        return Song(
            self.style.name,
            60 / exact_s,
            self.meter,
            midi,
            beats_s,
            positions,
            [lead + bar * self.meter * exact_s for bar in starts],
        )

    def _swung(self, at: float) -> float:
        """Off-beat eighths later by the song's swing."""
        whole, part = divmod(at, 1.0)
        if self.swing == 0.5 or self.style.parts_per_beat == 3:
            return at
        bent = (
            part / 0.5 * self.swing
            if part <= 0.5
            else self.swing + (part - 0.5) / 0.5 * (1 - self.swing)
        )
        return float(whole + bent)
