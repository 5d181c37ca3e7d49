"""Ropewalk Round: 120 beats a minute in 4/4, A minor, a round whose tune comes in line by line.

Four bars of harmony go round and round, and each of the three lines of the tune goes with them, so
that any of them sound together.
"""

import drums
import numpy as np
import voices
from desk import Channel, Desk, duck, echoes, hush, limit, reverb
from notation import Chord, chord, melody, progression, steps
from sound import note_hz
from timing import Accent, Clock, Plan, Section

PLAN = Plan(
    name="ropewalk_round",
    clock=Clock(bpm=120, first_downbeat_s=0.4),
    beats_per_bar=4,
    sections=(
        Section("intro", 4),
        Section("first round", 8),
        Section("second round", 8),
        Section("climb", 4),
        Section("high tide", 8),
        Section("slack water", 8),
        Section("crossing", 8),
        Section("gathering", 4),
        Section("all hands", 8),
        Section("ending", 2),
    ),
    last_struck_beat=240,
    accents=(
        Accent(95, "stop"),
        Accent(96, "drop"),
        Accent(207, "stop"),
        Accent(208, "drop"),
        Accent(240, "hit"),
    ),
)
STOP_BEATS = (95, 207)
TAIL_S = 1.0
LOUDNESS_GAIN = 0.62
CEILING = 10 ** (-1.7 / 20)

CHORDS = {
    "Am": chord("A1", "A3 C4 E4"),
    "F": chord("F1", "A3 C4 F4"),
    "C": chord("C2", "G3 C4 E4"),
    "G": chord("G1", "G3 B3 D4"),
    "Dm": chord("D2", "A3 D4 F4"),
    "E": chord("E2", "G#3 B3 E4"),
    "A": chord("A1", "A3 C#4 E4"),
}
ROUND, SLACK, CLIMB = "Am | F | C | G", "Dm | Am | F | E", "F | G | Am | E"
HARMONY = {
    "intro": ROUND,
    "first round": f"{ROUND} | {ROUND}",
    "second round": f"{ROUND} | {ROUND}",
    "climb": CLIMB,
    "high tide": f"{ROUND} | {ROUND}",
    "slack water": f"{SLACK} | {SLACK}",
    "crossing": f"{ROUND} | {ROUND}",
    "gathering": CLIMB,
    "all hands": f"{ROUND} | {ROUND}",
}

LINES = (
    "A4:1 C5:1 E5:1.5 D5:.5 | C5:1 A4:1 F4:2 | G4:1 C5:1 E5:1 C5:1 | D5:1.5 C5:.5 B4:2",
    "E5:.5 E5:.5 D5:.5 C5:.5 E5:2 | F5:.5 E5:.5 D5:.5 C5:.5 A4:2 |"
    "E5:.5 D5:.5 C5:.5 G4:.5 C5:2 | D5:.5 C5:.5 B4:.5 A4:.5 G4:2",
    "A5:2 G5:1 E5:1 | F5:3 E5:1 | G5:2 E5:2 | D5:2 B4:1 G4:1",
)
SLOW_LINE = "D5:2 F5:2 | E5:3 C5:1 | A4:2 C5:2 | B4:4"
RISING_LINE = "F4:2 A4:2 | G4:2 B4:2 | A4:1 C5:1 E5:2 | E5:1 G#5:1 B5:1 r:1"
VOICES = {
    "intro": (),
    "first round": ((0, 0, "pluck"), (16, 0, "bell"), (16, 1, "pluck")),
    "second round": ((0, 1, "pluck"), (0, 0, "bell"), (16, 2, "lead"), (16, 1, "pluck"),
                     (16, 0, "bell")),
    "high tide": ((0, 0, "lead"), (0, 1, "pluck"), (16, 2, "lead"), (16, 1, "pluck")),
    "crossing": ((0, 0, "piano"), (4, 0, "bell"), (16, 1, "piano"), (20, 1, "bell")),
    "all hands": ((0, 0, "lead"), (0, 1, "pluck"), (0, 0, "bell"), (16, 2, "lead"),
                  (16, 1, "pluck"), (16, 0, "bell")),
}  # fmt: skip
"""(beats into the section, line of the tune, instrument)."""

FOUR = "X...|X...|X...|X..."
DRUMS: dict[str, dict[str, list[str]]] = {
    "intro": {"rim": ["x...|....|x...|...."], "shaker": ["..,.|..,.|..,.|..,."]},
    "first round": {
        "soft kick": ["X...|....|X...|...."],
        "rim": ["....|x...|....|x..."],
        "shaker": ["x.,.|o.,.|x.,.|o.,."],
    },
    "second round": {
        "kick": ["X...|....|X..o|...."],
        "clap": ["....|x...|....|x..."],
        "hat": ["x.o.|x.o.|x.o.|x.o."],
    },
    "climb": {
        "kick": [FOUR] * 3 + ["X...|X...|X...|...."],
        "snare": ["o...|o...|o...|o...", "o.o.|o.o.|o.o.|o.o.", "x.o.|x.o.|xoxo|xoxo",
                  "xoxo|xxxx|X...|...."],
    },
    "high tide": {
        "kick": [FOUR],
        "clap": ["....|X...|....|X..."],
        "open hat": ["..o.|..o.|..o.|..o."],
        "hat": ["x.,.|x.,.|x.,.|x.,."],
    },
    "slack water": {"soft kick": ["X...|....|....|...."], "rim": ["x...|o...|x...|o..."]},
    "crossing": {
        "soft kick": ["X...|....|X...|...."],
        "rim": ["x...|x...|x...|x..."],
        "shaker": ["x,o,|x,o,|x,o,|x,o,"],
    },
    "gathering": {
        "kick": [FOUR] * 3 + ["X...|X...|X...|...."],
        "snare": ["....", "o...|o...|o...|o...", "o.o.|o.o.|x.x.|x.xo", "X...|X...|X...|...."],
    },
    "all hands": {
        "kick": [FOUR],
        "clap": ["....|X...|....|X..."],
        "open hat": ["..o.|..o.|..o.|..o."],
        "hat": ["x.,.|x.,.|x.,.|x.,."],
        "shaker": [".o,o|.o,o|.o,o|.o,o"],
    },
}  # fmt: skip
KIT = {"kick": (drums.kick, 0.5), "soft kick": (drums.soft_kick, 0.42), "clap": (drums.clap, 0.8),
       "snare": (drums.snare, 0.75), "hat": (drums.closed_hat, 0.5),
       "open hat": (drums.open_hat, 0.42), "shaker": (drums.shaker, 0.55),
       "rim": (drums.rim, 0.55)}  # fmt: skip
BASS_STEPS = {
    "first round": "X.......|x.......",
    "second round": "X.....x.|x.....x.",
    "climb": "x.o.x.o.|x.o.x.o.",
    "high tide": "X.x...x.|X.x...xo",
    "gathering": "x.o.x.o.|x.o.x.o.",
    "all hands": "X.x...x.|X.x...xo",
}


def render() -> Channel:
    """The whole track, shape (n, 2)."""
    desk = Desk(PLAN.clock, PLAN.clock.seconds(PLAN.end_beat) + TAIL_S)
    play_drums(desk)
    for section in PLAN.sections[:-1]:
        start_beat = PLAN.section_start_beat(section.label)
        for beat, length_beats, here in progression(HARMONY[section.label], CHORDS, start_beat, 4):
            play_harmony(desk, section.label, beat, length_beats, here)
        play_tune(desk, section.label, start_beat)
    play_ending(desk)
    return mix_down(desk)


def play_drums(desk: Desk) -> None:
    for drum, (sound, gain) in KIT.items():
        for beat, strength in drum_hits(drum):
            desk.play("kick" if "kick" in drum else "drums", sound(), beat, gain=gain * strength)
    for beat in (96, 112, 208, 224, 240):
        desk.play("drums", drums.crash(), beat, gain=0.5)
    for start_beat in (80, 192):
        rise_s = PLAN.clock.span_s(start_beat, 15)
        desk.play("effects", drums.riser(rise_s), start_beat, gain=0.45)
        desk.play("effects", drums.falling_wash(3.0), start_beat + 16, gain=0.5)


def drum_hits(drum: str) -> list[tuple[float, float]]:
    """(beat, strength) of every hit of one drum."""
    hits = []
    for section in PLAN.sections:
        rows = DRUMS.get(section.label, {}).get(drum, ["...."])
        start_beat = PLAN.section_start_beat(section.label)
        for bar in range(section.bars):
            hits += steps(rows[bar % len(rows)], start_beat + 4 * bar)
    return hits


def is_stopped(beat: float) -> bool:
    return any(stop <= beat < stop + 1 for stop in STOP_BEATS)


def play_harmony(desk: Desk, label: str, beat: float, length_beats: float, here: Chord) -> None:
    """Bass, pads, and a broken chord where the round is thin."""
    if label in BASS_STEPS:
        for step_beat, strength in steps(BASS_STEPS[label], beat):
            if not is_stopped(step_beat):
                note = voices.bass(here.bass_hz * 2, PLAN.clock.span_s(step_beat, 0.46))
                desk.play("bass", note, step_beat, gain=0.3 * (0.6 + 0.4 * strength))
    else:
        note = voices.round_bass(here.bass_hz * 2, PLAN.clock.span_s(beat, 3.6))
        desk.play("bass", note, beat, gain=0.28)
    length_s = PLAN.clock.span_s(beat, length_beats) + 0.3
    for pitch_hz in here.notes_hz:
        desk.play("pads", voices.pad_note(pitch_hz, length_s, 1000), beat, gain=0.1)
    if label in ("intro", "slack water", "crossing"):
        for index in range(8):
            pitch_hz = here.notes_hz[(0, 1, 2, 1, 2, 1, 0, 1)[index]] * 2
            note = voices.pluck(pitch_hz, 0.7)
            desk.play("plucks", note, beat + index / 2, gain=0.2 if index % 2 == 0 else 0.13,
                      pan=0.3 + 0.4 * (index % 2))  # fmt: skip


def play_tune(desk: Desk, label: str, start_beat: float) -> None:
    for into, line, instrument in VOICES.get(label, ()):
        for note in melody(LINES[line], start_beat + into, 4):
            if note.beat < start_beat + 32:
                play_note(desk, instrument, note.frequency_hz, note.beat, note.length_beats)
    if label == "slack water":
        for into in (0, 16):
            for note in melody(SLOW_LINE, start_beat + into, 4):
                play_note(desk, "piano", note.frequency_hz, note.beat, note.length_beats)
    if label in ("climb", "gathering"):
        for note in melody(RISING_LINE, start_beat, 4):
            play_note(desk, "lead", note.frequency_hz, note.beat, note.length_beats)


def play_note(
    desk: Desk, instrument: str, pitch_hz: float, beat: float, length_beats: float
) -> None:
    length_s = PLAN.clock.span_s(beat, length_beats) * 0.95
    match instrument:
        case "pluck":
            desk.play("plucks", voices.pluck(pitch_hz, 0.9), beat, gain=0.34, pan=0.36)
        case "bell":
            desk.play("plucks", voices.bell(pitch_hz * 2, 1.2), beat, gain=0.17, pan=0.66)
        case "piano":
            desk.play("plucks", voices.piano(pitch_hz, length_s + 0.6), beat, gain=0.3)
        case _:
            desk.play("lead", voices.lead(pitch_hz, length_s, 1900), beat, gain=0.3)


def play_ending(desk: Desk) -> None:
    """The last chord, struck once and left to ring."""
    beat, last = PLAN.last_struck_beat, CHORDS["A"]
    desk.play("kick", drums.kick(), beat, gain=0.5)
    desk.play("bass", voices.round_bass(last.bass_hz * 2, 3.6), beat, gain=0.45)
    for pitch_hz in last.notes_hz:
        desk.play("pads", voices.pad_note(pitch_hz, 3.6, 1500), beat, gain=0.13)
        desk.play("plucks", voices.piano(pitch_hz * 2, 3.6), beat, gain=0.3)
    desk.play("lead", voices.lead(note_hz("A4"), 1.6, 2000), beat, gain=0.28)


def mix_down(desk: Desk) -> Channel:
    kicks_s = [PLAN.clock.seconds(beat) for beat, _ in drum_hits("kick")]
    for name, depth in {"bass": 0.7, "pads": 0.55, "plucks": 0.2, "lead": 0.2}.items():
        duck(desk.channel(name), kicks_s, depth=depth, recover_s=0.3)
    sung = desk.channel("lead") + 0.8 * desk.channel("plucks")
    repeats = echoes(sung, PLAN.clock.span_s(0, 0.75), 0.35, repeats=4)
    send = 0.4 * sung + 0.3 * repeats + 0.4 * desk.channel("pads")
    mix = sum(desk.channels.values(), 0.3 * repeats + 0.45 * reverb(send, 0.32))
    for stop_beat in STOP_BEATS:
        hush(mix, PLAN.clock.seconds(stop_beat), PLAN.clock.seconds(stop_beat + 1))
    return limit(np.tanh(0.9 * LOUDNESS_GAIN * mix) / 0.9, CEILING)
