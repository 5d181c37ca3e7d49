"""What every invented song is written with: notes in beats, turned into a MIDI file once."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import mido
import numpy as np

from composer.audio.fit.practice_styles import KITS, MAJOR, MINOR

TICKS_PER_S = 2000
DRUM_CHANNEL = 9


@dataclass
class Song:
    """A finished song: its file, and the truth about it, in seconds."""

    style: str
    bpm: float
    """Of the middle one of its beats by length."""
    beats_per_bar: int
    """Of most bars; ``positions`` tell of all."""
    midi: mido.MidiFile
    beats_s: list[float]
    positions: list[int]
    sections_s: list[float]
    sound: Literal["band", "machine"] = "band"
    """Played by a General MIDI synthesiser, or by the plain electronic one of our own."""


class Writer:
    """Gathers notes in beats; beat 0 is the first downbeat."""

    def __init__(
        self, rng: np.random.Generator, style: str, bpm: tuple[float, float], meter: int
    ) -> None:
        self.rng, self.style_name, self.meter = rng, style, meter
        self.bpm = float(np.exp(rng.uniform(np.log(bpm[0]), np.log(bpm[1]))))
        if rng.random() < 0.6:
            self.bpm = float(round(self.bpm))
        self.swing = 0.5
        self.scale: tuple[int, ...] = MAJOR if rng.random() < 0.55 else MINOR
        self.key = int(rng.integers(-5, 7))
        self.jitter_s = float(rng.choice([0.0, 0.002, 0.006, 0.010]))
        self.spread_s = float(rng.choice([0.0, 0.0, 0.0, 0.008, 0.018]))
        """Between the notes of a chord, as a strum or a rolled chord."""
        self.touch = float(rng.choice([0.0, 0.6, 1.0, 1.3]))
        """How far accents are played: 0 has every note at one strength."""
        self.wander = 0.0
        """How far the tempo strays from bar to bar, as a ratio."""
        self.upbeat_beats = 0
        self.lead_s = float(rng.uniform(0.0, 1.5))
        self.pump_channels: tuple[int, ...] = ()
        """Channels that duck on every beat, as under a sidechain compressor."""
        self.volumes = (48, 118)
        """What the volumes of the channels are drawn from."""
        self.early_s: dict[int, float] = {}
        """How far the notes of a channel come before the others, as a melody over its chords."""
        self.stretches: list[tuple[int, int, float, float]] = []
        self.notes: list[tuple[float, float, int, int, int]] = []
        self.controls: list[tuple[float, int, int, int]] = []
        self.programs: dict[int, int] = {DRUM_CHANNEL: int(rng.choice(KITS))}

    def note(self, at: float, length: float, channel: int, pitch: int, velocity: float) -> None:
        self.notes.append((at, length, channel, pitch, round(velocity)))

    def control(self, at: float, channel: int, number: int, value: int) -> None:
        self.controls.append((at, channel, number, value))

    def stretch(
        self, from_beat: int, to_beat: int, ratio: float, last_ratio: float | None = None
    ) -> None:
        """Make the beats in between longer (or shorter) by a ratio, or by one that moves.

        A section at 1.2 times the tempo has the ratio 1 / 1.2, a ritardando goes from 1 to 1.4
        or so, a fermata is one beat with 2. Ratios on the same beat multiply.
        """
        last = ratio if last_ratio is None else last_ratio
        self.stretches.append((from_beat, to_beat, ratio, last))

    def scale_pitch(self, step: int, base: int) -> int:
        octave, within = divmod(step, 7)
        return base + self.key + 12 * octave + self.scale[within]

    def chord(self, degree: int, base: int) -> list[int]:
        return [self.scale_pitch(degree + step, base) for step in (0, 2, 4)]

    def next_step(self, step: int, degree: int, *, strong: bool) -> int:
        """Where a tune goes on from a scale step; on strong places mostly to the chord."""
        move = int(self.rng.choice([-3, -2, -1, -1, 0, 1, 1, 2, 3]))
        wanted = int(np.clip(step + move, -4, 10))
        if strong and self.rng.random() < 0.75:
            tones = [degree + 7 * k + t for k in (-1, 0, 1) for t in (0, 2, 4)]
            wanted = min(tones, key=lambda tone: abs(tone - wanted))
        return wanted

    def finish(self, bars: int, starts: list[int], meters: Sequence[int] = ()) -> Song:
        """The song of so many bars, in sections that start at the bars given.

        ``meters`` are the beats of each bar; without them all bars have the song's metre.
        """
        lengths = np.array(meters or [self.meter] * bars)
        firsts = np.concatenate([[0], np.cumsum(lengths)])
        beats = int(firsts[-1])
        self._clock(beats)
        self._pump(beats)
        upbeat = np.arange(-self.upbeat_beats, 0) % lengths[0]
        places = np.concatenate([upbeat, *(np.arange(length) for length in lengths)]) + 1
        beats_s = self._seconds(np.arange(-self.upbeat_beats, beats, dtype=float))
        return Song(
            self.style_name,
            float(60 / np.median(np.diff(beats_s))),
            int(np.bincount(lengths).argmax()),
            self._midi(),
            beats_s.tolist(),
            places.tolist(),
            self._seconds(firsts[starts].astype(float)).tolist(),
        )

    def _clock(self, beats: int) -> None:
        """Fix when each beat sounds: even, or with a tempo that strays, comes back, changes."""
        count = beats + 16
        stray = np.zeros(count)
        for k in range(1, count):
            step = self.rng.normal(0, 1) * self.wander * 0.5
            stray[k] = 0.9 * stray[k - 1] + (step if k % 2 == 0 else 0.0)
        self._beat_numbers = np.arange(count + 1) - 8.0
        for from_beat, to_beat, ratio, last in self.stretches:
            inside = (self._beat_numbers[:-1] >= from_beat) & (self._beat_numbers[:-1] < to_beat)
            stray[inside] += np.linspace(np.log(ratio), np.log(last), int(inside.sum()))
        times_s = np.concatenate([[0.0], np.cumsum(60 / self.bpm * np.exp(stray))])
        self._beat_times_s = times_s - np.interp(-self.upbeat_beats, self._beat_numbers, times_s)
        first_note_s = self._seconds(np.array(min((note[0] for note in self.notes), default=0.0)))
        # A short upbeat needs its room before the first beat.
        self._beat_times_s += max(self.lead_s, 0.05 - float(first_note_s))

    def _seconds(self, at: np.ndarray) -> np.ndarray:
        return np.asarray(np.interp(at, self._beat_numbers, self._beat_times_s))

    def _swung(self, at: float) -> float:
        """Off-beat eighths later by the song's swing."""
        whole, part = divmod(at, 1.0)
        bent = (
            part / 0.5 * self.swing
            if part <= 0.5
            else self.swing + (part - 0.5) / 0.5 * (1 - self.swing)
        )
        return float(whole + bent)

    def _midi(self) -> mido.MidiFile:
        events = [*self._note_events(), *self._control_events()]
        track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=1_000_000)])
        for channel, program in self.programs.items():
            track.append(mido.Message("program_change", channel=channel, program=program))
            volume = int(self.rng.integers(*self.volumes))
            track.append(mido.Message("control_change", channel=channel, control=7, value=volume))
        now = 0
        for tick, _, message in sorted(events, key=lambda event: event[:2]):
            track.append(message.copy(time=tick - now))
            now = tick
        midi = mido.MidiFile(ticks_per_beat=TICKS_PER_S)
        midi.tracks.append(track)
        return midi

    def _note_events(self) -> list[tuple[int, int, mido.Message]]:
        rng = self.rng
        struck: dict[tuple[float, int], int] = {}
        sounding: dict[tuple[int, int], list[tuple[int, int, int]]] = defaultdict(list)
        for at, length, channel, pitch, velocity in self.notes:
            rank = struck.get((at, channel), 0)
            struck[at, channel] = rank + 1
            late_s = 0.0 if channel == DRUM_CHANNEL else rank * self.spread_s
            late_s -= self.early_s.get(channel, 0.0)
            start_s, end_s = self._seconds(np.array([self._swung(at), at + length]))
            start_s = max(0.0, start_s + late_s + rng.normal(0, 1) * self.jitter_s * 0.5)
            end_s = max(end_s, start_s + 0.02)
            loud = int(np.clip(80 + self.touch * (velocity - 80) + rng.normal(0, 4), 20, 127))
            key = (channel, int(np.clip(pitch, 20, 108)))
            sounding[key].append((round(start_s * TICKS_PER_S), round(end_s * TICKS_PER_S), loud))
        events: list[tuple[int, int, mido.Message]] = []
        for (channel, pitch), notes in sounding.items():
            notes.sort()
            # A key that is struck again is let go before.
            again = [start for start, _, _ in notes[1:]]
            for (start, end, loud), limit in zip(notes, [*again, notes[-1][1]], strict=True):
                on = mido.Message("note_on", channel=channel, note=pitch, velocity=loud)
                off = mido.Message("note_off", channel=channel, note=pitch)
                events += [(start, 2, on), (min(end, limit), 0, off)]
        return events

    def _pump(self, beats: int) -> None:
        for channel in self.pump_channels:
            for k in range(beats):
                for part, level in ((0.0, 35), (0.25, 70), (0.5, 110)):
                    self.control(k + part, channel, 11, level)

    def _control_events(self) -> list[tuple[int, int, mido.Message]]:
        events: list[tuple[int, int, mido.Message]] = []
        for at, channel, number, value in self.controls:
            tick = max(0, round(float(self._seconds(np.array(at))) * TICKS_PER_S))
            change = mido.Message("control_change", channel=channel, control=number, value=value)
            events.append((tick, 1, change))
        return events
