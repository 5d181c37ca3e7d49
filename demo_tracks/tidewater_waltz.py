"""Tidewater Waltz: 108 beats a minute in 3/4, G major, slowing by 12 % over its last phrase."""

import drums
import numpy as np
import voices
from desk import Channel, Desk, echoes, limit, reverb
from notation import Chord, chord, melody, progression
from sound import note_hz
from timing import Accent, Clock, Plan, Section, Slowing

LAST_PHRASE_BEAT = 60
PLAN = Plan(
    name="tidewater_waltz",
    clock=Clock(108, 0.5, Slowing(LAST_PHRASE_BEAT, 24, final_tempo_share=0.88)),
    beats_per_bar=3,
    sections=(
        Section("intro", 4),
        Section("first strain", 8),
        Section("second strain", 8),
        Section("return", 8),
        Section("ending", 2),
    ),
    last_struck_beat=84,
    accents=(Accent(84, "hit"),),
)
TAIL_S = 0.8
LOUDNESS_GAIN = 0.395
CEILING = 10 ** (-1.5 / 20)

CHORDS = {
    "G": chord("G2", "B3 D4 G4"),
    "G/D": chord("D2", "B3 D4 G4"),
    "Em": chord("E2", "B3 E4 G4"),
    "Em7": chord("E2", "B3 D4 G4"),
    "Am": chord("A2", "C4 E4 A4"),
    "Am7": chord("A2", "C4 E4 G4"),
    "Bm": chord("B2", "B3 D4 F#4"),
    "B7": chord("B2", "A3 D#4 F#4"),
    "C": chord("C3", "C4 E4 G4"),
    "D7": chord("D2", "A3 C4 F#4"),
    "E7": chord("E2", "B3 D4 G#4"),
}
HARMONY = {
    "intro": "G | Em | C | D7",
    "first strain": "G | Em7 | Am7 | D7 | G | B7 | C | D7",
    "second strain": "Em | Bm | C | G | Am | E7 | Am | D7",
    "return": "G | Em7 | Am7 | D7 | Em | C | G/D | D7",
}
MELODY = {
    "intro": "r:3 | r:3 | r:3 | r:2 D5:1",
    "first strain": """
    B4:2 D5:1 | G5:2 F#5:.5 E5:.5 | E5:1.5 D5:.5 C5:1 | A4:2 D5:1 |
    B4:2 D5:1 | A5:1 F#5:1 D#5:1 | E5:1.5 G5:.5 E5:1 | D5:2 F#5:1""",
    "second strain": """
    G5:1 F#5:1 E5:1 | F#5:2 D5:1 | E5:1 D5:1 C5:1 | D5:2 B4:1 |
    C5:1 E5:1 A5:1 | G#5:2 B5:1 | A5:1.5 G5:.5 E5:1 | F#5:1.5 E5:.5 D5:1""",
    "return": """
    B4:2 D5:1 | G5:2 F#5:.5 E5:.5 | E5:1.5 D5:.5 C5:1 | A4:2 D5:1 |
    G5:2 B5:1 | A5:1.5 G5:.5 E5:1 | D5:2 B4:1 | A4:2 F#4:1""",
}


def render() -> Channel:
    """The whole track, shape (n, 2)."""
    desk = Desk(PLAN.clock, PLAN.clock.seconds(PLAN.end_beat) + TAIL_S)
    for label in HARMONY:
        start_beat = PLAN.section_start_beat(label)
        for beat, _, bar_chord in progression(HARMONY[label], CHORDS, start_beat, 3):
            play_bar(desk, label, beat, bar_chord)
        play_melody(desk, label, start_beat)
    play_ending(desk)
    return mix_down(desk)


def play_bar(desk: Desk, label: str, beat: float, bar_chord: Chord) -> None:
    """Bass on one, the chord on two and three, strings and brush once the tune is known."""
    fuller = label in ("second strain", "return")
    one_s = PLAN.clock.span_s(beat, 2.4)
    desk.play("bass", voices.round_bass(bar_chord.bass_hz, one_s), beat, gain=0.45)
    desk.play("piano", voices.piano(bar_chord.bass_hz * 2, one_s), beat, gain=0.42, pan=0.42)
    for count, gain in ((1, 0.20), (2, 0.165)):
        length_s = PLAN.clock.span_s(beat + count, 0.8)
        for index, pitch_hz in enumerate(bar_chord.notes_hz):
            note = voices.pluck(pitch_hz, length_s)
            desk.play("plucks", note, beat + count, gain=gain * 1.6, pan=0.58 + 0.1 * index)
            soft = voices.piano(pitch_hz, length_s)
            desk.play("piano", soft, beat + count, gain=gain * 0.5, pan=0.4)
    if fuller:
        for count, gain in ((1, 0.16), (2, 0.12)):
            desk.play("brush", drums.shaker(), beat + count, gain=gain, pan=0.55)
        length_s = PLAN.clock.span_s(beat, 3) + 0.3
        for pitch_hz in bar_chord.notes_hz:
            desk.play("strings", voices.pad_note(pitch_hz, length_s, 1100), beat, gain=0.11)


def play_melody(desk: Desk, label: str, start_beat: float) -> None:
    for note in melody(MELODY[label], start_beat, 3):
        length_s = PLAN.clock.span_s(note.beat, note.length_beats) + 0.25
        on_one = 1.0 if note.beat % 3 == 0 else 0.82
        sound = voices.piano(note.frequency_hz, length_s)
        desk.play("melody", sound, note.beat, gain=0.62 * on_one, pan=0.47)
        if label == "return":
            bell = voices.bell(note.frequency_hz * 2, 1.4)
            desk.play("melody", bell, note.beat, gain=0.12 * on_one, pan=0.68)
        if label == "second strain":
            low = voices.pluck(note.frequency_hz, length_s)
            desk.play("melody", low, note.beat, gain=0.3 * on_one, pan=0.35)


def play_ending(desk: Desk) -> None:
    beat = PLAN.last_struck_beat
    desk.play("bass", voices.round_bass(note_hz("G1"), 3.4), beat, gain=0.45)
    for index, name in enumerate(("G2", "D3", "B3", "D4", "G4", "B4", "G5")):
        sound = voices.piano(note_hz(name), 3.8)
        desk.play("piano", sound, beat, gain=0.34, pan=0.38 + 0.04 * index)
    for pitch_hz in CHORDS["G"].notes_hz:
        desk.play("strings", voices.pad_note(pitch_hz, 3.8, 1100), beat, gain=0.09)
    desk.play("melody", voices.bell(note_hz("G6"), 2.0), beat, gain=0.1, pan=0.66)


def mix_down(desk: Desk) -> Channel:
    tune = desk.channel("melody")
    repeats = echoes(tune, PLAN.clock.span_s(0, 1), 0.3, repeats=3)
    send = 0.5 * tune + 0.35 * desk.channel("piano") + 0.4 * desk.channel("plucks")
    send += 0.6 * desk.channel("strings") + 0.2 * repeats
    mix = sum(desk.channels.values(), 0.2 * repeats + 0.5 * reverb(send, 0.4))
    return limit(np.tanh(0.8 * LOUDNESS_GAIN * mix) / 0.8, CEILING)
