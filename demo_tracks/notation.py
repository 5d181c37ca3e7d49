"""Small written notation for the scores: melodies, step patterns and chords as text."""

from collections.abc import Iterator
from dataclasses import dataclass

from sound import note_hz


@dataclass(frozen=True, slots=True)
class Note:
    beat: float
    length_beats: float
    frequency_hz: float


@dataclass(frozen=True, slots=True)
class Chord:
    """A bass note and the notes above it, low to high."""

    bass_hz: float
    notes_hz: tuple[float, ...]


def chord(bass: str, notes: str) -> Chord:
    return Chord(note_hz(bass), tuple(note_hz(name) for name in notes.split()))


def melody(bars: str, start_beat: float, beats_per_bar: int) -> list[Note]:
    """Notes of bars such as ``"A4:1.5 F4:.5 r:2 | G4:4"``: pitch, length in beats; r rests.

    Raises
    ------
    ValueError
        If a bar is not full: the score has a slip.
    """
    notes = []
    for index, bar in enumerate(bars.split("|")):
        beat = start_beat + index * beats_per_bar
        for word in bar.split():
            name, _, length = word.partition(":")
            if name != "r":
                notes.append(Note(beat, float(length), note_hz(name)))
            beat += float(length)
        if beat != start_beat + (index + 1) * beats_per_bar:
            raise ValueError(f"bar {index + 1} is not full: {bar.strip()!r}")
    return notes


STRENGTHS = {"X": 1.0, "x": 0.72, "o": 0.42, ",": 0.22}


def steps(pattern: str, start_beat: float) -> Iterator[tuple[float, float]]:
    """(beat, strength) of each hit in a row of sixteenths; ``.`` is none, ``|`` is skipped."""
    for index, letter in enumerate(pattern.replace("|", "").replace(" ", "")):
        if letter != ".":
            yield start_beat + index / 4, STRENGTHS[letter]


def progression(
    bars: str, chords: dict[str, Chord], start_beat: float, beats_per_bar: int
) -> list[tuple[float, float, Chord]]:
    """(beat, length, chord) of bars such as ``"Dm7 | F C/E"``; chords share their bar evenly."""
    placed = []
    for index, bar in enumerate(bars.split("|")):
        names = bar.split()
        share = beats_per_bar / len(names)
        for place, name in enumerate(names):
            beat = start_beat + index * beats_per_bar + place * share
            placed.append((beat, share, chords[name]))
    return placed
