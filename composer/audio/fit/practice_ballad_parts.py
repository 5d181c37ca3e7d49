"""What goes with the voice of an invented pop song: chords, broken or struck, bass, soft drums."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from composer.audio.fit.practice_styles import HIGH_TOM, LOW_TOM, MAJOR, SNARE
from composer.audio.fit.practice_writer import DRUM_CHANNEL, Writer

T = 1 / 3
VOICE, CHORDS, BASS, SECOND = 0, 1, 2, 3
EPS = 1e-6

STEPS = {
    "": (0, 2, 4),
    "s": (0, 3, 4),
    "t": (0, 1, 4),
    "7": (0, 2, 4, 6),
    "9": (0, 1, 2, 4),
}
"""Scale steps of a chord: plain, suspended fourth or second, with a seventh, with a ninth."""
DOMINANT = (0, 4, 7, 10)
"""Semitones of a chord marked !, which leads to the one a fifth below it."""

MAJOR_LOOPS = (
    "0 4 5 3",
    "5 3 0 4",
    "0 5 3 4",
    "3 4 2 5",
    "3 4 2 5 1 4 0 0",
    "3 4 2! 5",
    "0 4/6 5 0/4 3 0/2 1 4",
    "0 4/6 5 4",
    "0 4 5 2 3 0 3 4",
    "0 4 5 2 3 0/2 1 4s",
    "1 4 0 5",
    "17 4! 07 37",
    "0 2 3 4",
    "0 2! 5 3",
    "3 0 4 5",
    "0 3 0 4",
    "0 0! 3 4s",
    "5 2 3 0",
    "3 3 0 5",
    "0t 5 39 4s",
    "1 2 3 4",
)
MINOR_LOOPS = (
    "0 5 2 6",
    "0 6 5 4!",
    "0 3 6 2 5 1 4! 0",
    "0 5 3 4",
    "0 3 4! 0",
    "5 6 0 0",
    "0 0/6 5 4!",
    "0 4/6 5 2 3 0 3 4!",
    "37 6 27 5",
    "0 2 6 3",
    "0t 5 2 6s",
)
"""Scale degrees; a number after the stroke is the bass."""

RHYTHMS = {
    4: (
        (0, 1.5, 2, 3),
        (0, 1.5, 2.5),
        (0, 1.5, 3),
        (0, 1.5, 2),
        (0, 1, 2.5, 3),
        (0, 0.75, 1.5, 2, 2.75, 3.5),
        (0, 1, 1.5, 2, 3, 3.5),
        (0, 0.5, 1.5, 2.5, 3),
        (0, 1.5, 2, 3.5),
        (0, 1.75, 2, 3),
        (0, 2, 2.5, 3),
        (0, 0.75, 2, 2.75),
    ),
    3: ((0, 1, 2), (0, 1.5, 2), (0, 1, 2, 2.5), (0, 2), (0, 1.5), (0, 1, 1.5, 2)),
    2: ((0, 1), (0, 0.5, 1), (0, 0.75, 1)),
}
TERNARY_RHYTHMS = {
    4: ((0, 1, 2, 3), (0, 2 * T, 1, 2, 2 + 2 * T, 3), (0, 1 + 2 * T, 2, 3), (0, 1, 2, 3 + 2 * T)),
    2: ((0, 2 * T, 1), (0, 1), (0, 1, 1 + 2 * T), (0, 2 * T, 1, 1 + 2 * T)),
    3: ((0, 1, 2),),
}
ORDERS = (
    (0, 1, 2, 3),
    (0, 2, 3, 2),
    (0, 1, 2, 1),
    (0, 2, 1, 2),
    (0, 2, 3, 4, 3, 2, 3, 2),
    (0, 2, 3, 4),
    (0, 2, 3, 5, 4, 3, 2, 3),
    (0, 1, 2, 3, 4, 3, 2, 1),
)
"""In which order a chord is broken, in tones from the lowest."""
TERNARY_ORDERS = ((0, 2, 3), (0, 1, 2), (0, 2, 3, 4, 3, 2), (0, 1, 2, 3, 2, 1), (0, 3, 2))

PATTERNS = ("broken", "broken", "broken", "beats", "halves", "held", "rhythm", "rhythm", "stride")
BASSES = ("long", "long", "long", "halves", "octave", "fifth", "rhythm", "none")


@dataclass(frozen=True)
class Chord:
    """A chord within one bar. Beats count from the start of its section."""

    at: float
    length: float
    place: float
    """In its bar."""
    degree: int
    kind: str = ""
    bass: int | None = None
    """The scale degree of the bass, where it is not the root."""


@dataclass(frozen=True)
class Setting:
    """How the chords of a section are played."""

    pattern: str
    unit: float
    """Of broken chords, in beats."""
    order: tuple[int, ...]
    rhythm: tuple[float, ...]
    bass: str
    pushed: bool
    """The chord of a bar is struck before the bar line, its bass on it."""
    low: int
    """Where the chords lie: their lowest MIDI pitch."""
    level: float
    """MIDI velocity."""
    second: str
    """Of the second instrument: none, pad, long or answer."""
    drums: bool


def read_loop(text: str) -> list[tuple[int, str, int | None]]:
    """Degree, kind and bass of each chord of a loop as written above."""
    out: list[tuple[int, str, int | None]] = []
    for word in text.split():
        name, _, bass = word.partition("/")
        out.append((int(name[0]), name[1:], int(bass) if bass else None))
    return out


class BalladParts(Writer):
    """Plays what accompanies a voice; ``ternary`` has three parts to a beat."""

    ternary = False
    pedalled: tuple[int, ...] = ()
    """Channels whose pedal is down, and changes with the chord."""
    percussion: Sequence[tuple[int, tuple[float, ...], float]] = ()
    """Drum, its places in a bar, its MIDI velocity."""

    def root(self, chord: Chord, low: int, *, bass: bool = False) -> int:
        """The root, or the bass, as the lowest pitch from ``low`` up."""
        degree = chord.bass if bass and chord.bass is not None else chord.degree
        return low + (self.scale_pitch(degree, 0) - low) % 12

    def tones(self, chord: Chord, low: int, count: int) -> list[int]:
        """So many tones from the lowest pitch up, in close position."""
        if chord.kind == "!":
            classes = {(self.scale_pitch(chord.degree, 0) + k) % 12 for k in DOMINANT}
        else:
            steps = STEPS[chord.kind]
            classes = {self.scale_pitch(chord.degree + step, 0) % 12 for step in steps}
        return [pitch for pitch in range(low, low + 60) if pitch % 12 in classes][:count]

    def lay_chords(self, meters: Sequence[int], loop: str, rate: float, close: str) -> list[Chord]:
        """A loop over the bars of a section, so many chords a bar; ``close`` is how it ends.

        A rate of 1.5 has one chord and two in turn. A chord that lasts two bars stands in each.
        """
        symbols = read_loop(loop)
        chords: list[Chord] = []
        first, turn = 0.0, 0.0
        for k, meter in enumerate(meters):
            left = len(meters) - k
            split = rate == 2 or (rate == 1.5 and k % 2 == 1)
            if left == 1 and close == "turn":
                symbols, turn, split = [(4, "s", None), (4, "!", None)], 0.0, True
            elif left == 1 and close == "dominant":
                symbols, turn, split = [(4, "", None)], 0.0, False
            elif left <= 2 and close == "quicker":
                split = True
            elif left == 1 and close in ("held", "home"):
                split = False
                if close == "home":
                    symbols, turn = [(0, "", None)], 0.0
            half = (meter + 1) // 2
            lengths = [half, meter - half] if split and meter > 1 else [meter]
            place = 0.0
            for length in lengths:
                degree, kind, bass = symbols[int(turn + EPS) % len(symbols)]
                chords.append(Chord(first + place, length, place, degree, kind, bass))
                place += length
                turn += 0.5 if rate == 0.5 and not split else 1.0
            first += meter
        return chords

    def accompany(self, start: float, chords: Sequence[Chord], setting: Setting) -> None:
        """Strike or break each chord, with its bass; the pedal changes with the chord."""
        for chord in chords:
            at = start + chord.at
            self._strike_chord(at, chord, setting)
            self._bass(at, chord, setting)
            for channel in self.pedalled:
                self.control(at, channel, 64, 0)
                self.control(at + 0.1, channel, 64, 127)
            if setting.second == "pad":
                for pitch in self.tones(chord, 60, 3):
                    self.note(at, chord.length * 0.98, SECOND, pitch, setting.level - 14)

    def hold(self, at: float, chord: Chord, level: float) -> None:
        """One chord with its bass, left to sound."""
        for pitch in self.tones(chord, 55, 4):
            self.note(at, chord.length * 0.97, CHORDS, pitch, level)
        self.note(at, chord.length * 0.97, BASS, self.root(chord, 33, bass=True), level + 4)

    def _strike_chord(self, at: float, chord: Chord, setting: Setting) -> None:
        if setting.pattern == "broken":
            self._break_chord(at, chord, setting)
            return
        tones = self.tones(chord, setting.low, 3)
        places = [p for p in self._places(chord, setting) if p < chord.length - EPS]
        for place, until in zip(places, [*places[1:], chord.length], strict=False):
            length = (until - place) * (0.6 if setting.pattern == "stride" else 0.95)
            loud = setting.level + (4 if place == 0 else -4)
            early = 0.5 if setting.pushed and place == chord.place == 0 and at >= 1 else 0.0
            early = T if early and self.ternary else early
            for pitch in tones:
                self.note(at + place - early, length + early, CHORDS, pitch, loud)

    def _places(self, chord: Chord, setting: Setting) -> list[float]:
        """When a chord is struck, from its own start."""
        whole = np.arange(0.0, chord.length - EPS, 1.0).tolist()
        if setting.pattern == "beats":
            return [float(place) for place in whole]
        if setting.pattern == "halves":
            return [float(place) for place in whole[::2]]
        if setting.pattern == "stride":
            cycle = 3 if self.meter == 3 else 2
            return [float(place) for place in whole if (chord.place + place) % cycle]
        if setting.pattern == "eighths":
            step = T if self.ternary else 0.5
            return [float(place) for place in np.arange(0.0, chord.length - EPS, step)]
        if setting.pattern == "rhythm":
            own = [place - chord.place for place in setting.rhythm if place > chord.place + EPS]
            return [0.0, *own]
        return [0.0]

    def _break_chord(self, at: float, chord: Chord, setting: Setting) -> None:
        unit, order = setting.unit, setting.order
        low = [self.root(chord, setting.low - 12, bass=True)]
        tones = [*low, *self.tones(chord, low[0] + 4, 5)]
        for k, place in enumerate(np.arange(0.0, chord.length - EPS, unit).tolist()):
            loud = setting.level + (6 if k == 0 else 0 if (place + EPS) % 1 < 0.01 else -6)
            length = min(unit * 2.2, chord.length - place)
            self.note(at + place, length, CHORDS, tones[order[k % len(order)]], loud)

    def _bass(self, at: float, chord: Chord, setting: Setting) -> None:
        kind, loud = setting.bass, setting.level + 8
        if kind == "none":
            if setting.pattern == "broken":
                return
            kind = "long"
        pitch = self.root(chord, 33, bass=True)
        if kind == "rhythm":
            own = [place - chord.place for place in setting.rhythm if place > chord.place + EPS]
            places = [0.0, *(place for place in own if place < chord.length - EPS)]
        elif kind in ("halves", "fifth"):
            places = [0.0, 2.0] if chord.length > 2 and self.meter > 2 else [0.0]
        else:
            places = [0.0]
        for place, until in zip(places, [*places[1:], chord.length], strict=True):
            moved = pitch + (7 if kind == "fifth" and place else 0)
            self.note(at + place, (until - place) * 0.95, BASS, moved, loud)
            if kind == "octave":
                self.note(at + place, (until - place) * 0.95, BASS, moved + 12, loud)

    def drum_bar(self, at: float, meter: int, level: float, *, fill: bool) -> None:
        """One bar; a fill takes the place of its last beat."""
        played_until = meter - 1 if fill and meter > 1 else meter
        for drum, places, loud in self.percussion:
            for place in places:
                if place < played_until - EPS:
                    self.note(at + place, 0.1, DRUM_CHANNEL, drum, loud + level - 70)
        parts = 3 if self.ternary else 2 if self.bpm > 92 else 4
        for k in range(parts if fill else 0):
            if self.rng.random() < 0.75:
                drum = int(self.rng.choice([SNARE, HIGH_TOM, LOW_TOM]))
                self.note(at + played_until + k / parts, 0.1, DRUM_CHANNEL, drum, level - 6)

    def run_up(self, to: float, setting: Setting) -> None:
        """Some steps of the scale that lead to a beat."""
        unit = T if self.ternary else 0.25 if self.bpm < 92 else 0.5
        count, step = int(self.rng.integers(3, 9)), int(self.rng.integers(-4, 4))
        rises = int(self.rng.choice([1, 1, -1]))
        for k in range(count):
            pitch = self.scale_pitch(step + rises * k, 60)
            self.note(to - (count - k) * unit, unit * 0.95, CHORDS, pitch, setting.level)

    def random_loop(self) -> str:
        loops = MAJOR_LOOPS if self.scale == MAJOR else MINOR_LOOPS
        return loops[int(self.rng.integers(len(loops)))]
