"""Harbour Lanterns as played: 126 beats a minute in 4/4, D minor, ending on D major."""

import drums
import numpy as np
import voices
from desk import Channel, Desk, duck, echoes, hush, limit, reverb
from harbour_lanterns_score import (
    BASS_STEPS,
    CHORDS,
    DRUMS,
    HARMONY,
    MELODY,
    PLAN,
    STABS,
    STOP_BEATS,
)
from notation import Chord, Note, melody, progression, steps
from sound import note_hz

__all__ = ["PLAN", "render"]

TAIL_S = 1.0
LOUDNESS_GAIN = 0.55
"""Chosen so that the whole track measures about -16 LUFS (ITU-R BS.1770)."""
CEILING = 10 ** (-1.7 / 20)
"""The encoder overshoots by up to 0.6 dB, which leaves about 1 dB below full scale."""

KIT = {"kick": drums.kick, "soft kick": drums.soft_kick, "clap": drums.clap,
       "snare": drums.snare, "hat": drums.closed_hat, "open hat": drums.open_hat,
       "shaker": drums.shaker, "rim": drums.rim}  # fmt: skip
KIT_GAIN = {"kick": 0.48, "soft kick": 0.4, "clap": 0.85, "snare": 0.8, "hat": 0.6,
            "open hat": 0.5, "shaker": 0.7, "rim": 0.5}  # fmt: skip
KIT_PAN = {"hat": 0.6, "open hat": 0.58, "shaker": 0.36, "rim": 0.64}

DUCK_DEPTH = {"bass": 0.75, "pads": 0.6, "stabs": 0.55, "plucks": 0.3, "lead": 0.2,
              "effects": 0.4}  # fmt: skip
REVERB_SHARE = {"pads": 0.5, "stabs": 0.35, "drums": 0.1, "effects": 0.3}


def render() -> Channel:
    """The whole track, shape (n, 2)."""
    desk = Desk(PLAN.clock, PLAN.clock.seconds(PLAN.end_beat) + TAIL_S)
    play_drums(desk)
    play_bass(desk)
    play_pads(desk)
    play_stabs(desk)
    play_arpeggios(desk)
    play_melodies(desk)
    play_risers(desk)
    play_ending(desk)
    return mix_down(desk)


def sections(*labels: str) -> list[tuple[str, int, int]]:
    """(label, start beat, bars) of some sections."""
    bars = {section.label: section.bars for section in PLAN.sections}
    return [(label, PLAN.section_start_beat(label), bars[label]) for label in labels]


def harmony(label: str) -> list[tuple[float, float, Chord]]:
    return progression(HARMONY[label], CHORDS, PLAN.section_start_beat(label), 4)


def kick_times_s() -> list[float]:
    """Where the full kick falls: the ducking follows it."""
    return [PLAN.clock.seconds(beat) for beat, _ in drum_hits("kick")]


def drum_hits(drum: str) -> list[tuple[float, float]]:
    hits = []
    for label, start_beat, bars in sections(*DRUMS):
        rows = DRUMS[label].get(drum, ["...."])
        for bar in range(bars):
            hits += steps(rows[bar % len(rows)], start_beat + 4 * bar)
    return hits


def play_drums(desk: Desk) -> None:
    for drum, sound in KIT.items():
        channel = "kick" if "kick" in drum else "drums"
        for beat, strength in drum_hits(drum):
            gain = KIT_GAIN[drum] * strength
            desk.play(channel, sound(), beat, gain=gain, pan=KIT_PAN.get(drum, 0.5))
    for start_beat in (64, 80, 144, 160, 176):
        desk.play("drums", drums.crash(), start_beat, gain=0.6)
    for index, pitch_hz in enumerate((196, 165, 131, 110)):
        for fill_beat in (110, 126):
            desk.play("drums", drums.tom(pitch_hz), fill_beat + index / 2, gain=0.5,
                      pan=0.3 + 0.13 * index)  # fmt: skip


def play_bass(desk: Desk) -> None:
    for label, pattern in BASS_STEPS.items():
        for start_beat, length_beats, harmony_chord in harmony(label):
            for beat, strength in steps(pattern, start_beat):
                if beat >= start_beat + length_beats or is_stopped(beat):
                    continue
                up = 2 if strength < 0.7 and label in ("drop", "finale") else 1
                length_s = PLAN.clock.span_s(beat, 0.46)
                note = voices.bass(harmony_chord.bass_hz * up, length_s)
                desk.play("bass", note, beat, gain=0.34 * (0.6 + 0.4 * strength))
    for beat, _, harmony_chord in harmony("break"):
        note = voices.round_bass(harmony_chord.bass_hz * 2, PLAN.clock.span_s(beat, 3.6))
        desk.play("bass", note, beat, gain=0.26)


def is_stopped(beat: float) -> bool:
    return any(stop_beat <= beat < stop_beat + 1 for stop_beat in STOP_BEATS)


def play_pads(desk: Desk) -> None:
    brightness_hz = {"intro": 900, "verse": 700, "build": 1100, "drop": 900, "break": 1500,
                     "lift": 1700, "finale": 1100}  # fmt: skip
    gain = {"intro": 0.2, "verse": 0.17, "build": 0.2, "drop": 0.2, "break": 0.2,
            "lift": 0.22, "finale": 0.21}  # fmt: skip
    for label in HARMONY:
        for beat, length_beats, harmony_chord in harmony(label):
            length_s = PLAN.clock.span_s(beat, length_beats) + 0.3
            for note_pitch_hz in harmony_chord.notes_hz:
                note = voices.pad_note(note_pitch_hz, length_s, brightness_hz[label])
                desk.play("pads", note, beat, gain=0.5 * gain[label])


def play_stabs(desk: Desk) -> None:
    """Wide chords on the motif's rhythm, brighter and brighter in the build."""
    for label, start_beat, bars in sections("build", "drop", "lift", "finale"):
        for chord_beat, length_beats, harmony_chord in harmony(label):
            for beat, strength in steps(STABS, chord_beat):
                if beat >= chord_beat + length_beats or is_stopped(beat):
                    continue
                way = (beat - start_beat) / (4 * bars)
                rising = label in ("build", "lift")
                brightness_hz = 500 + 250 * round(8 * way) if rising else 3000
                loudness = 0.14 + 0.16 * way if rising else 0.27
                for pitch_hz in harmony_chord.notes_hz:
                    note = voices.saw_chord_note(pitch_hz, 0.3, brightness_hz)
                    desk.play("stabs", note, beat, gain=loudness * (0.5 + 0.5 * strength))


def play_arpeggios(desk: Desk) -> None:
    order = (0, 2, 1, 3, 2, 1, 3, 2)
    gain = {"intro": 0.25, "verse": 0.15, "build": 0.24, "break": 0.15, "lift": 0.25,
            "finale": 0.16}  # fmt: skip
    for label, loudness in gain.items():
        for chord_beat, length_beats, harmony_chord in harmony(label):
            for index in range(int(2 * length_beats)):
                beat = chord_beat + index / 2
                if is_stopped(beat):
                    continue
                octave = 4 if label == "finale" else 2
                pitch_hz = harmony_chord.notes_hz[order[index % 8]] * octave
                accent = 1.0 if index % 2 == 0 else 0.6
                desk.play("plucks", voices.pluck(pitch_hz, 0.7), beat, gain=loudness * accent,
                          pan=0.3 + 0.4 * (index % 2))  # fmt: skip


def play_melodies(desk: Desk) -> None:
    for label, start_beat, _ in sections(*MELODY):
        for note in melody(MELODY[label], start_beat, 4):
            play_melody_note(desk, label, note)


def play_melody_note(desk: Desk, label: str, note: Note) -> None:
    length_s = PLAN.clock.span_s(note.beat, note.length_beats) * 0.92
    if label == "verse":
        desk.play("lead", voices.lead(note.frequency_hz, length_s, 1500), note.beat, gain=0.3)
        desk.play("plucks", voices.pluck(note.frequency_hz, 1.0), note.beat, gain=0.26)
    elif label == "break":
        desk.play("plucks", voices.piano(note.frequency_hz, 2.0), note.beat, gain=0.24)
        desk.play("plucks", voices.bell(note.frequency_hz * 2, 1.5), note.beat, gain=0.06, pan=0.65)
    else:
        brightness_hz = 1600 if label == "lift" else 2600
        sung = voices.lead(note.frequency_hz, length_s, brightness_hz)
        desk.play("lead", sung, note.beat, gain=0.28 if label == "lift" else 0.42)
    if label == "finale":
        desk.play("plucks", voices.bell(note.frequency_hz * 2, 1.2), note.beat, gain=0.16, pan=0.4)


def play_risers(desk: Desk) -> None:
    """Long ones into the stops, short faint ones into other phrases."""
    for start_beat, length_beats, gain in ((48, 15, 0.5), (128, 15, 0.5), (12, 4, 0.15),
                                           (92, 4, 0.18), (156, 4, 0.15)):  # fmt: skip
        length_s = PLAN.clock.span_s(start_beat, length_beats)
        desk.play("effects", drums.riser(length_s), start_beat, gain=gain)
    for beat in (64, 144):
        desk.play("effects", drums.falling_wash(3.2), beat, gain=0.6)


def play_ending(desk: Desk) -> None:
    """The last chord, struck once and left to ring, with the motif's first notes far away."""
    beat = PLAN.last_struck_beat
    last = CHORDS["D"]
    desk.play("kick", drums.kick(), beat, gain=KIT_GAIN["kick"])
    desk.play("bass", voices.round_bass(last.bass_hz, 3.6), beat, gain=0.45)
    for pitch_hz in last.notes_hz:
        desk.play("pads", voices.pad_note(pitch_hz, 3.8, 1500), beat, gain=0.12)
        desk.play("plucks", voices.piano(pitch_hz, 3.8), beat, gain=0.28)
        desk.play("stabs", voices.saw_chord_note(pitch_hz, 0.5, 2600), beat, gain=0.22)
    desk.play("lead", voices.lead(note_hz("D5"), 1.6, 2200), beat, gain=0.3)


def mix_down(desk: Desk) -> Channel:
    kicks_s = kick_times_s()
    for name, depth in DUCK_DEPTH.items():
        duck(desk.channel(name), kicks_s, depth=depth, recover_s=0.3)
    sung = desk.channel("lead") + 0.8 * desk.channel("plucks")
    repeats = echoes(sung, PLAN.clock.span_s(0, 0.75), 0.42)
    send = 0.4 * sung + 0.3 * repeats
    for name, share in REVERB_SHARE.items():
        send += share * desk.channel(name)
    mix = sum(desk.channels.values(), 0.45 * repeats + 0.5 * reverb(send, 0.32))
    for stop_beat in STOP_BEATS:
        hush(mix, PLAN.clock.seconds(stop_beat), PLAN.clock.seconds(stop_beat + 1))
    return limit(np.tanh(0.9 * LOUDNESS_GAIN * mix) / 0.9, CEILING)
