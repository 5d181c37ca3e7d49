"""Invented minuets, ländler and slow movements: a tune over a bass and the chords after it."""

import numpy as np

from composer.audio.fit.practice_hymn_kinds import MINUET_FORMS, MINUET_GROUPS, MINUET_METRES
from composer.audio.fit.practice_hymns import HymnWriter, Phrase, Sounding

BASS, TENOR, ALTO, TUNE = range(4)
Cell = tuple[float, ...]
"""Note lengths of a bar, in beats; a negative one is a rest."""

CELLS: dict[int, tuple[Cell, ...]] = {
    3: (
        *((1, 1, 1), (2, 1), (1, 0.5, 0.5, 1), (0.5, 0.5, 1, 1), (1.5, 0.5, 1), (2, 0.5, 0.5)),
        *(
            (1, 0.5, 0.5, 0.5, 0.5),
            (0.5,) * 6,
            (1, 1, 0.5, 0.5),
            (3,),
            (1, 2),
            (1.5, 0.5, 0.5, 0.5),
        ),
        *((0.75, 0.25, 1, 1), (2, -1), (0.5, 0.5, 0.5, 0.5, 1)),
    ),
    2: (
        *((1, 0.5, 0.5), (1, 1), (0.5, 0.5, 0.5, 0.5), (0.5, 0.5, 1), (1.5, 0.5), (2,)),
        *((0.75, 0.25, 1), (0.75, 0.25, 0.5, 0.5), (0.5, 0.25, 0.25, 0.5, 0.5)),
        *((1, 0.5, 0.25, 0.25), (0.5, 0.5, 0.5, -0.5), (0.25,) * 4 + (1,)),
    ),
    4: (
        *((2, 1, 1), (1, 1, 1, 1), (1.5, 0.5, 1, 1), (2, 1, 0.5, 0.5), (3, 1), (2, 2)),
        *((1, 0.5, 0.5, 1, 1), (1.5, 0.5, 2), (1, 0.5, 0.5, 0.5, 0.5, 1), (4,)),
    ),
}
"""By the beats of a bar."""
ACCOMPANIMENTS = (
    *("after beats", "after beats", "after beats", "held", "held", "repeated", "broken"),
    *("first only", "bass line", "all beats"),
)


class MinuetWriter(HymnWriter):
    """The harmony of four parts, played as a tune with an accompaniment."""

    metres = MINUET_METRES
    forms = MINUET_FORMS
    groups = MINUET_GROUPS
    kind = "dance"

    def __init__(self, rng: np.random.Generator) -> None:
        super().__init__(rng)
        self.accompaniment = str(rng.choice(ACCOMPANIMENTS))
        if self.metre.name == "laendler":
            self.accompaniment = "after beats"
        self.hemiolas = 0.0
        cells = CELLS[self.metre.beats]
        self.motif = [cells[int(k)] for k in rng.choice(len(cells), 3)]
        orders = ((0, 1, 0, 2, 0, 1), (0, 0, 1, 2, 0, 1), (0, 1, 2, 1, 0, 2))
        self.order = orders[int(rng.integers(len(orders)))]
        self.lift = int(rng.choice([0, 0, 0, 12]))
        self.short = float(rng.choice([0.45, 0.7, 0.95]))
        self.slurred = float(rng.choice([0.0, 0.3, 0.7]))
        self.leaning = float(rng.choice([0.0, 0.1, 0.25]))
        """How readily a strong note is approached by its neighbour on the beat."""
        self.feminine = float(rng.choice([0.1, 0.3, 0.6]))
        self.upbeat_chords = rng.random() < 0.12

    def _sound(self, phrase: Phrase) -> None:
        self._tune(phrase)
        size = self.metre.bar_pulses
        first = -phrase.pickup if self.upbeat_chords else 0
        for pulse in range(first, phrase.bars * size):
            chord = self._chord_at(phrase, pulse)
            begins = phrase.chords[chord].place.at == pulse or pulse % size == 0
            self._accompany(phrase, pulse, chord, begins=begins)

    def _chord_at(self, phrase: Phrase, at: float) -> int:
        """Which chord of the phrase sounds there."""
        ats = [chord.place.at for chord in phrase.chords]
        return max(0, int(np.searchsorted(ats, at + 1e-6)) - 1)

    def _until(self, phrase: Phrase, pulse: int, chord: int) -> float:
        """How long a chord lasts from a pulse on, within its bar."""
        place, size = phrase.chords[chord].place, self.metre.bar_pulses
        return min(place.at + place.length, (pulse // size + 1) * size) - pulse

    def _accompany(self, phrase: Phrase, pulse: int, chord: int, *, begins: bool) -> None:
        """What the lower three parts do on one pulse."""
        way, left = self.accompaniment, self._until(phrase, pulse, chord)
        if phrase.chords[chord] is phrase.chords[-1] and way in ("repeated", "broken"):
            way = "held"
        strong = begins or self._strength(pulse) >= 2
        if way in ("held", "first only"):
            if begins:
                length = left if way == "held" else min(left, 1.0)
                self._chord(phrase, pulse, chord, (BASS, TENOR, ALTO), length)
        elif way == "all beats":
            self._chord(phrase, pulse, chord, (BASS, TENOR, ALTO), self.short)
        elif way == "bass line":
            part = BASS if strong else TENOR
            self._lower(phrase, pulse, chord, part)
        elif way == "after beats":
            if strong:
                self._chord(phrase, pulse, chord, (BASS,), self.short)
            else:
                self._chord(phrase, pulse, chord, (TENOR, ALTO), self.short)
        elif way == "repeated":
            if begins:
                self._chord(phrase, pulse, chord, (BASS,), left)
            for half in (0.0, 0.5):
                self._chord(phrase, pulse + half, chord, (TENOR, ALTO), 0.5 * self.short)
        else:
            if begins:
                self._chord(phrase, pulse, chord, (BASS,), left)
            for half, part in ((0.0, TENOR), (0.5, ALTO)):
                self._chord(phrase, pulse + half, chord, (part,), 0.5)

    def _lower(self, phrase: Phrase, pulse: int, chord: int, part: int) -> None:
        """A tone of the chord in the bass."""
        pitch = int(phrase.voices[chord, part])
        pitch -= 12 * (part != BASS and pitch - int(phrase.voices[chord, BASS]) > 9)
        phrase.notes.append(Sounding(pulse, 1.0, BASS, pitch))

    def _chord(
        self, phrase: Phrase, at: float, chord: int, parts: tuple[int, ...], length: float
    ) -> None:
        for part in parts:
            pitch = int(phrase.voices[chord, part])
            phrase.notes.append(Sounding(at, length, part, pitch))

    def _tune(self, phrase: Phrase) -> None:
        pulses, size = self.metre.pulses, self.metre.bar_pulses
        rhythm = self._upbeat(phrase)
        for bar in range(phrase.bars - 1):
            at = float(bar * size)
            for length in self.motif[self.order[bar % len(self.order)]]:
                if length > 0:
                    rhythm.append((at, length * pulses))
                at += abs(length) * pulses
        close = phrase.chords[-1].place.at
        rhythm += [(bar_at, 1.0) for bar_at in range((phrase.bars - 1) * size, int(close))]
        self._sing(phrase, rhythm)
        self._rest(phrase, close)

    def _upbeat(self, phrase: Phrase) -> list[tuple[float, float]]:
        unit = 0.5 if self.rng.random() < 0.3 else 1.0
        count = round(phrase.pickup / unit)
        return [(-phrase.pickup + k * unit, unit) for k in range(count)]

    def _sing(self, phrase: Phrase, rhythm: list[tuple[float, float]]) -> None:
        """Give a rhythm its pitches: chord tones where it is strong, steps in between."""
        rng, slur = self.rng, False
        pitch = int(phrase.voices[0, TUNE])
        resolves: int | None = None
        for at, length in rhythm:
            chord = self._chord_at(phrase, at)
            goal = int(phrase.voices[chord, TUNE])
            if resolves is not None:
                pitch, resolves = resolves, None
            elif at == phrase.chords[chord].place.at or self._strength(at) == 3:
                pitch = goal
                if length <= 1 and rng.random() < self.leaning:
                    pitch, resolves = (
                        phrase.tonality.beside(goal, 1, self._degree(phrase, at)),
                        goal,
                    )
            elif at % 1 == 0 and rng.random() < 0.6:
                pitch = self._tone_near(phrase, chord, pitch)
            else:
                after = int(phrase.voices[min(chord + 1, len(phrase.voices) - 1), TUNE])
                way = int(np.sign(after - pitch)) or int(rng.choice([-1, 1]))
                pitch = phrase.tonality.beside(pitch, way, self._degree(phrase, at))
            # The second of two slurred notes is let go.
            sounding = length * (0.6 if slur else 1.0)
            slur = not slur and length <= 1 and rng.random() < self.slurred
            phrase.notes.append(Sounding(at, sounding, TUNE, pitch + self.lift))

    def _degree(self, phrase: Phrase, at: float) -> int:
        return phrase.chords[self._chord_at(phrase, at)].degree

    def _tone_near(self, phrase: Phrase, chord: int, pitch: int) -> int:
        names = phrase.tonality.tones(phrase.chords[chord])
        near = [p for p in range(pitch - 7, pitch + 8) if p % 12 in names and 57 < p < 82]
        return int(self.rng.choice(near)) if near else pitch

    def _rest(self, phrase: Phrase, close: float) -> None:
        """The last note: on the strong beat, or a beat after the one it hangs on."""
        last, place = int(phrase.voices[-1, TUNE]), phrase.chords[-1].place
        at, left = close, place.length
        if self.rng.random() < self.feminine and left >= 2:
            above = phrase.tonality.beside(last, 1, phrase.chords[-1].degree)
            phrase.notes.append(Sounding(at, 1.0, TUNE, above + self.lift))
            at, left = at + 1, left - 1
        length = left if self.rng.random() < 0.4 else min(left, float(self.rng.choice([1, 2])))
        phrase.notes.append(Sounding(at, length, TUNE, last + self.lift))
