"""Folk dances and airs from an old printed collection, played as scores and players sound.

The tunes come as a file of notes (see ``airs_of_abc``); here they get a tempo, instruments, a way
of playing and an accompaniment. The beat is what a dancer steps to, so that a bar and its level
follow from the metre and tempo alone.
"""

from dataclasses import dataclass, replace
from fractions import Fraction

import mido
import numpy as np
from numpy.typing import NDArray

from composer.audio.fit.abc_tune import Air, Note, Part
from composer.audio.fit.air_harmony import Chord, Stretch, backed, chords_of, harmonised
from composer.audio.fit.practice_writer import Song, Writer


@dataclass(frozen=True)
class Manner:
    """How a metre is counted: the beat in quarters, beats in a bar, and at what tempos."""

    beat: Fraction
    beats_per_bar: int
    bpm: tuple[float, float]

    @property
    def compound(self) -> bool:
        return self.beat.numerator == 3


Q, E = Fraction(1), Fraction(1, 2)
MANNERS = {
    "2/4": Manner(Q, 2, (66, 140)),
    "3/4": Manner(Q, 3, (76, 184)),
    "4/4": Manner(Q, 4, (72, 200)),
    "2/2": Manner(2 * Q, 2, (80, 126)),
    "3/8": Manner(E, 3, (96, 184)),
    "6/8": Manner(3 * E, 2, (56, 140)),
    "9/8": Manner(3 * E, 3, (56, 140)),
    "12/8": Manner(3 * E, 4, (56, 140)),
}
SHARES = {
    "2/4": 0.15, "3/4": 0.16, "4/4": 0.14, "2/2": 0.19, "3/8": 0.02,
    "6/8": 0.24, "9/8": 0.09, "12/8": 0.01,
}  # fmt: skip
NOTES_PER_S = (1.2, 9.0)
"""Slower than the first no melody holds together, faster than the second nobody plays."""

LEADS = (
    0, 6, 10, 11, 13, 15, 16, 19, 20, 21, 22, 23, 24, 25, 26, 40, 40, 41, 45, 46, 48, 56, 60,
    64, 65, 68, 69, 70, 71, 72, 73, 73, 74, 74, 75, 79, 104, 105, 107, 109, 110,
)  # fmt: skip
BACKING = (0, 0, 6, 19, 21, 21, 24, 24, 25, 45, 46, 48, 105)
WAYS = {
    "none": 0.46, "unison": 0.08, "second": 0.08, "drone": 0.05, "bass": 0.09,
    "vamp": 0.11, "chords": 0.07, "broken": 0.06,
}  # fmt: skip
HIGH_LEADS = (10, 13, 72, 74, 75, 79)
LOW_LEADS = (41, 60, 65, 70, 71)
PHRASE_BARS = 8
GRACE_S = 0.055


class AirWriter(Writer):
    """One or two tunes of a kind, each with its repeats, alone or plainly accompanied."""

    def __init__(self, rng: np.random.Generator, airs: list[Air]) -> None:
        metres = sorted({air.metre for air in airs} & set(MANNERS))
        shares = np.array([SHARES[metre] for metre in metres])
        self.metre = metres[int(rng.choice(len(metres), p=shares / shares.sum()))]
        fitting = [air for air in airs if air.metre == self.metre]
        self.air = fitting[int(rng.integers(len(fitting)))]
        self.fitting = [air for air in fitting if _runs(air) == _runs(self.air)]
        self.manner = MANNERS[self.metre]
        bpm = _playable(self.manner, self.air)
        super().__init__(rng, f"air in {self.metre}", bpm, self.manner.beats_per_bar)
        self.touch = float(rng.choice([0.6, 1.0, 1.3]))
        self.even = bool(rng.random() < 0.5)
        """Every note of a channel at one strength and exactly in time, as a rendered score."""
        if self.even:
            self.jitter_s = self.spread_s = 0.0
        self.lean = float(rng.choice([0.0, 4.0, 8.0, 14.0]))
        self.wander = float(rng.choice([0.0, 0.0, 0.0, 0.0, 0.006, 0.015]))
        self.gate = float(rng.choice([0.6, 0.85, 0.93, 0.93, 1.0]))
        self.ornaments = float(rng.choice([0.0, 0.0, 0.08, 0.2]))
        self.unit, self.bent = self._bend()

    def _bend(self) -> tuple[float, tuple[tuple[float, ...], tuple[float, ...]]]:
        """How long the unit is that is played unevenly, and where its inner notes move to."""
        rng, straight = self.rng, ((0.0, 1.0), (0.0, 1.0))
        if self.manner.compound:
            third = 1 / 3
            if rng.random() < 0.2:
                late = float(rng.uniform(0.34, 0.42))
                return 1.0, ((0.0, third, 2 * third, 1.0), (0.0, late, 2 * third + 0.02, 1.0))
            return 1.0, straight
        if self.metre not in ("2/4", "4/4", "2/2") or self._dotted() or rng.random() < 0.72:
            return 1.0, straight
        unit = (E if _runs(self.air) else Q) / self.manner.beat
        return float(unit), ((0.0, 0.5, 1.0), (0.0, float(rng.uniform(0.55, 0.68)), 1.0))

    def _dotted(self) -> bool:
        """Whether the tune itself already writes its pairs long and short."""
        notes = [note for part in self.air.parts for note in part.notes]
        return sum(note.length.numerator == 3 for note in notes) > 0.15 * len(notes)

    def _swung(self, at: float) -> float:
        whole, part = divmod(at, self.unit)
        if len(self.bent[0]) == 2 or part == 0:
            return at
        return float((whole + np.interp(part / self.unit, *self.bent)) * self.unit)

    def _note_events(self) -> list[tuple[int, int, mido.Message]]:
        events = super()._note_events()
        if self.even:
            for _, _, message in events:
                if message.type == "note_on":
                    message.velocity = 84
        return events

    # -- the form ----------------------------------------------------------------------------

    def song(self) -> Song:
        rng = self.rng
        self.way = str(rng.choice(list(WAYS), p=list(WAYS.values())))
        self.programs |= {0: int(rng.choice(LEADS)), 1: int(rng.choice(BACKING))}
        if self.way in ("unison", "second"):
            self.programs[1] = self.programs[0] if rng.random() < 0.5 else int(rng.choice(LEADS))
        self.chord_beats = self.meter // 2 if self.meter == 4 and rng.random() < 0.5 else self.meter
        self._lead_in()
        bar, starts = 0, list[int]()
        for air, part, following in self._parts():
            self._play(air, part, bar, following)
            starts += _phrases(bar, part.bars, starts)
            bar += part.bars
        return self.finish(bar, starts)

    def _lead_in(self) -> None:
        """Of the first pick-up only whole beats are counted; the rest sounds before them."""
        pickup = self.air.parts[self.air.order[0]].pickup / self.manner.beat
        self.upbeat_beats = int(pickup)

    def _parts(self) -> list[tuple[Air, Part, Fraction]]:
        """What is played: each part with its tune, and the pick-up of the part after it."""
        long_bars = self.rng.uniform(50, 95) * self.bpm / 60 / self.meter
        airs = [self._placed(self.air)]
        if self.rng.random() < 0.25:
            other = self.fitting[int(self.rng.integers(len(self.fitting)))]
            airs.append(self._placed(other))
        rounds = int(self.rng.integers(1, 4))
        played: list[tuple[Air, Part]] = []
        bars = turn = 0
        while bars < max(16, long_bars):
            air = airs[min(turn // rounds, len(airs) - 1)]
            for part in (air.parts[k] for k in self._order(air)):
                if bars < max(16, long_bars):
                    played.append((air, part))
                    bars += part.bars
            turn += 1
        pickups = [*(part.pickup for _, part in played[1:]), Fraction(0)]
        return [(*pair, pickup) for pair, pickup in zip(played, pickups, strict=True)]

    def _order(self, air: Air) -> list[int]:
        """As written; where no repeats are written, dancers often get each part twice."""
        twice = len(set(air.order)) == len(air.order) and self.rng.random() < 0.5
        return [k for k in air.order for _ in range(2 if twice else 1)]

    def _placed(self, air: Air) -> Air:
        """The tune in the song's key, in an octave that suits a lead."""
        pitches = [note.pitch for part in air.parts for note in part.notes]
        middle = float(np.mean(pitches)) + self.key
        lead = self.programs[0]
        wanted = 84 if lead in HIGH_LEADS else 64 if lead in LOW_LEADS else 73
        octave = 12 * round((float(self.rng.uniform(wanted - 8, wanted + 8)) - middle) / 12)
        up = self.key + octave
        parts = tuple(
            replace(part, notes=tuple(replace(n, pitch=n.pitch + up) for n in part.notes))
            for part in air.parts
        )
        fifths = (air.sharps + 7 * self.key + 5) % 12 - 5
        return replace(air, tonic=(air.tonic + up) % 12, sharps=fifths, parts=parts)

    # -- the notes ---------------------------------------------------------------------------

    def _play(self, air: Air, part: Part, bar: int, following: Fraction) -> None:
        """One part from a bar on; the next part's pick-up cuts into its last bar."""
        start, beat = Fraction(bar * self.meter), self.manner.beat
        end = part.bars * self.meter * beat - following
        notes = [
            replace(note, length=min(note.length, end - note.start))
            for note in part.notes
            if note.start < end
        ]
        offers = chords_of(air.tonic, air.sharps)
        weights = self._weights(notes, part.bars * self.meter // self.chord_beats)
        chords = harmonised(weights, offers)
        steps = _scale(air)
        for note in notes:
            at, length = start + note.start / beat, note.length / beat
            loud = 80 + self.lean * (2 * (at % self.meter == 0) + (at % 1 == 0) - 1)
            self._sing(float(at), float(length), note.pitch, loud, steps)
            if self.way == "unison":
                self.note(float(at), float(length) * self.gate, 1, note.pitch - 12, loud - 6)
            elif self.way == "second" and note.start >= 0:
                chord = chords[int(note.start / beat) // self.chord_beats]
                self.note(float(at), float(length) * self.gate, 1, _under(note, chord), loud - 8)
        if self.way not in ("none", "unison", "second"):
            self._accompany(bar * self.meter, chords, offers[0])

    def _accompany(self, start: int, chords: list[Chord], home: Chord) -> None:
        unit = 1 / 3 if self.manner.compound else min(0.5, float(E / self.manner.beat))
        inside = self.manner.compound or self.meter == 2
        for k, chord in enumerate(chords):
            at = start + k * self.chord_beats
            stretch = Stretch(at, self.chord_beats, chord, unit, inside=inside)
            for at_beat, beats, pitch, over in backed(self.way, stretch, home):
                self.note(at_beat, beats, 1, pitch, 78 + over)

    def _weights(self, notes: list[Note], count: int) -> NDArray[np.float64]:
        """How much each pitch class counts in each stretch, shape (count, 12)."""
        weights = np.zeros((count, 12))
        for note in notes:
            at = note.start / self.manner.beat
            if at >= 0:
                strong = 1.6 if at % self.chord_beats == 0 else 1.25 if at % 1 == 0 else 1.0
                weights[int(at // self.chord_beats), note.pitch % 12] += strong * float(note.length)
        return weights

    def _sing(
        self, at: float, length: float, pitch: int, loud: float, steps: frozenset[int]
    ) -> None:
        """A note of the melody, now and then with a short note before it or as a roll."""
        beats_per_s = self.bpm / 60
        grace = GRACE_S * beats_per_s
        ornate = self.rng.random() < self.ornaments and length > 2.5 * grace
        above = next(p for p in range(pitch + 1, pitch + 13) if p % 12 in steps)
        if ornate and length / beats_per_s > 0.45 and self.rng.random() < 0.5:
            below = next(p for p in range(pitch - 1, pitch - 13, -1) if p % 12 in steps)
            shares = ((0.0, pitch), (0.32, above), (0.38, pitch), (0.66, below), (0.72, pitch))
            ends = [share for share, _ in shares[1:]] + [1.0]
            for (share, own), end in zip(shares, ends, strict=True):
                self.note(at + share * length, (end - share) * length * 0.93, 0, own, loud)
            return
        if ornate and at > grace:
            self.note(at - grace, grace * 0.9, 0, above, loud - 8)
        self.note(at, length * self.gate, 0, pitch, loud)


def _notes_per_quarter(air: Air) -> float:
    quarters = sum(part.bars for part in air.parts) * air.bar_quarters
    return sum(len(part.notes) for part in air.parts) / float(quarters)


def _runs(air: Air) -> bool:
    """Whether a tune in 2/4 runs in sixteenths."""
    return air.metre == "2/4" and _notes_per_quarter(air) > 2.4


def _playable(manner: Manner, air: Air) -> tuple[float, float]:
    """The tempos of a manner at which a tune is neither a crawl nor a rush."""
    per_beat = _notes_per_quarter(air) * float(manner.beat)
    low, high = (60 * rate / per_beat for rate in NOTES_PER_S)
    slow, quick = manner.bpm
    return min(max(slow, low), quick), max(min(quick, high), slow)


def _phrases(bar: int, bars: int, earlier: list[int]) -> list[int]:
    """Bars at which phrases begin: every eighth of a part, four-bar parts taken in pairs."""
    if earlier and bar - earlier[-1] < PHRASE_BARS - 2:
        return []
    return [bar + k for k in range(0, bars, PHRASE_BARS) if k == 0 or bars - k >= 4]


def _scale(air: Air) -> frozenset[int]:
    """Pitch classes of the signature: seven fifths in a row."""
    return frozenset((7 * (air.sharps + k - 1)) % 12 for k in range(7))


def _under(note: Note, chord: Chord) -> int:
    """The chord's next note that is a third or more below a note of the melody."""
    return next(p for p in range(note.pitch - 3, note.pitch - 16, -1) if p % 12 in chord.classes)
