"""An electronic synthesiser for invented songs: every song has its own voices, mix and effects."""

import itertools
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import scipy.signal

from composer.audio.features import SAMPLE_HZ
from composer.audio.fit.practice_dance import ARP, BASS, CHORDS, LEAD, PAD, RISER
from composer.audio.fit.practice_voices import (
    Sound,
    Voice,
    draw_bass,
    draw_chip,
    draw_lead,
    draw_pad,
    drum_sounds,
    filtered,
    riser,
)
from composer.audio.fit.practice_writer import DRUM_CHANNEL, Song

TAIL_S = 1.5
KICKS, SNARES = (35, 36), (38, 39, 40)
CHIP_STYLES = {"chiptune": 0.9, "tracker": 0.25, "swung game": 0.5}
DUSTY_STYLES = {"lo-fi": 0.6, "hip-hop": 0.2, "downtempo": 0.1}
LEVELS_DB = {
    "kick": (-9.0, 3.0),
    "snare": (-13.0, 3.5),
    "drums": (-20.0, 5.0),
    "bass": (-12.0, 4.0),
    "chords": (-17.0, 4.0),
    "arp": (-18.0, 5.0),
    "lead": (-15.0, 4.0),
    "pad": (-20.0, 5.0),
    "riser": (-19.0, 4.0),
}
"""Usual level of each bus where it sounds, and how widely it is drawn about it."""
CHANNEL_BUS = {LEAD: "lead", CHORDS: "chords", BASS: "bass", PAD: "pad", ARP: "arp", RISER: "riser"}


@dataclass(frozen=True)
class Note:
    start_s: float
    length_s: float
    channel: int
    pitch: int
    velocity: int


def machine_sound(song: Song, rng: np.random.Generator, longest_s: float) -> Sound:
    """The song as synthesised voices play it: one channel at SAMPLE_HZ, within full scale.

    The same generator gives the same samples. At most ``longest_s`` seconds are made.
    """
    notes = [n for n in notes_of(song) if n.start_s < longest_s]
    end_s = max((n.start_s + n.length_s for n in notes), default=0.0) + TAIL_S
    count = round(min(longest_s, end_s) * SAMPLE_HZ)
    buses = _levelled(rng, _played(song, notes, rng, count))
    kicks_s = [n.start_s for n in notes if n.channel == DRUM_CHANNEL and n.pitch in KICKS]
    _duck(song, rng, buses, kicks_s)
    _sweep(song, rng, buses)
    mix = np.zeros(count, np.float32)
    wet = np.zeros(count, np.float32)
    for name in sorted(buses):
        bus = buses.pop(name)
        mix += bus
        send = 0.0 if name in ("kick", "bass") else float(rng.choice([0.0, 0.1, 0.3, 0.6]))
        if send:
            wet += np.float32(send) * bus
    mix += _echoes(song, rng, wet)
    return _mastered(song, rng, mix)


def notes_of(song: Song) -> list[Note]:
    """The notes of the song's file, in seconds."""
    now_s = 0.0
    open_notes: dict[tuple[int, int], list[tuple[float, int]]] = {}
    out: list[Note] = []
    for message in song.midi:
        now_s += message.time
        if message.type not in ("note_on", "note_off"):
            continue
        key = (message.channel, message.note)
        if message.type == "note_on" and message.velocity:
            open_notes.setdefault(key, []).append((now_s, message.velocity))
        elif open_notes.get(key):
            start_s, velocity = open_notes[key].pop(0)
            out.append(Note(start_s, now_s - start_s, *key, velocity))
    return sorted(out, key=lambda n: (n.start_s, n.channel, n.pitch))


def _played(
    song: Song, notes: list[Note], rng: np.random.Generator, count: int
) -> dict[str, Sound]:
    """Each bus with its notes; a note that comes again is synthesised once."""
    voices, kit = _voices(song, rng), drum_sounds(rng)
    buses: dict[str, Sound] = {}
    made: dict[tuple[int, int, int], Sound] = {}
    for note in notes:
        if note.channel == DRUM_CHANNEL:
            name, sound = _drum_bus(note.pitch), kit(note.pitch)
        else:
            name = CHANNEL_BUS.get(note.channel, "lead")
            hundredths = max(2, round(note.length_s * 50) * 2)
            key = (note.channel, note.pitch, hundredths)
            if key not in made:
                length_s = min(hundredths / 100, 12.0)
                voice = voices.get(note.channel, voices[LEAD])
                made[key] = voice(note.pitch, length_s)
            sound = made[key]
        bus = buses.setdefault(name, np.zeros(count, np.float32))
        start = round(note.start_s * SAMPLE_HZ)
        fitting = sound[: max(0, count - start)] * np.float32((note.velocity / 127) ** 1.5)
        place = slice(start, start + len(fitting))
        # A kick cuts off the one before.
        bus[place] = fitting if name == "kick" else bus[place] + fitting
    return buses


def _voices(song: Song, rng: np.random.Generator) -> dict[int, Callable[[int, float], Sound]]:
    chip = rng.random() < CHIP_STYLES.get(song.style, 0.04)

    def draw(plucked: float) -> Voice:
        return draw_chip(rng) if chip else draw_lead(rng, plucked)

    return {
        LEAD: draw(0.3).play,
        CHORDS: draw(0.5).play,
        BASS: (draw_chip(rng) if chip else draw_bass(rng)).play,
        PAD: draw_pad(rng).play,
        ARP: draw(0.75).play,
        RISER: lambda _, length_s: riser(rng, length_s),
    }


def _drum_bus(pitch: int) -> str:
    return "kick" if pitch in KICKS else "snare" if pitch in SNARES else "drums"


def _levelled(rng: np.random.Generator, buses: dict[str, Sound]) -> dict[str, Sound]:
    """Each bus at a drawn level; in some songs the kick is weak and something else leads."""
    offsets = dict.fromkeys(LEVELS_DB, 0.0)
    if rng.random() < 0.25:
        offsets["kick"] = -float(rng.uniform(4, 12))
        leader = str(rng.choice(["drums", "bass", "bass", "chords", "arp", "snare"]))
        offsets[leader] = float(rng.uniform(3, 9))
    for name in sorted(buses):
        middle, spread = LEVELS_DB[name]
        level_db = float(rng.normal(middle, spread)) + offsets[name]
        level_db = float(np.clip(level_db, middle - 13, middle + 10))
        buses[name] *= np.float32(10 ** (level_db / 20) / (_loudness(buses[name]) + 1e-9))
    return buses


def _loudness(bus: Sound) -> float:
    """Level of the loud parts, over 50 ms."""
    block = round(0.05 * SAMPLE_HZ)
    power = np.square(bus[: len(bus) // block * block]).reshape(-1, block).mean(axis=1)
    sounding = power[power > 1e-4 * power.max(initial=0.0)]
    return float(np.sqrt(np.percentile(sounding, 85))) if len(sounding) else 0.0


def _duck(
    song: Song, rng: np.random.Generator, buses: dict[str, Sound], kicks_s: list[float]
) -> None:
    """Push the tones down at every kick, or at every beat, as a sidechain compressor does."""
    even = _every_beat(song, kicks_s)
    if rng.random() > (0.6 if even else 0.2):
        return
    depth = float(rng.uniform(0.3, 0.98))
    recover_s = 60 / song.bpm * float(rng.uniform(0.25, 0.8))
    at_s = song.beats_s if even and rng.random() < 0.4 else kicks_s
    t = np.arange(round(2 * recover_s * SAMPLE_HZ)) / SAMPLE_HZ
    # Down within 4 ms and back along half a cosine.
    dip = (
        depth
        * np.minimum(1, t / 0.004)
        * (0.5 + 0.5 * np.cos(np.pi * np.minimum(1, t / recover_s)))
    )
    count = len(next(iter(buses.values()))) if buses else 0
    gain = np.ones(count, np.float32)
    for moment_s in at_s:
        start = round(moment_s * SAMPLE_HZ)
        part = gain[start : start + len(dip)]
        np.minimum(part, 1 - dip[: len(part)], out=part, casting="unsafe")
    for name in ("bass", "chords", "arp", "lead", "pad", "riser"):
        if name in buses and rng.random() < 0.85:
            buses[name] *= gain


def _every_beat(song: Song, kicks_s: list[float]) -> bool:
    """Whether kicks come mostly one beat apart."""
    beat_s = 60 / song.bpm
    return bool(kicks_s) and abs(float(np.median(np.diff([0.0, *kicks_s]))) - beat_s) < 0.1 * beat_s


def _sweep(song: Song, rng: np.random.Generator, buses: dict[str, Sound]) -> None:
    """Open or close a filter along some sections, on one bus or on all the tones."""
    edges = [*(round(s * SAMPLE_HZ) for s in song.sections_s), 1 << 40]
    for name in ("chords", "arp", "pad", "lead", "bass", "drums"):
        if name not in buses or rng.random() > 0.35:
            continue
        bus = buses[name]
        dark = filtered(bus, "lowpass", float(rng.choice([300, 600, 1200])))
        for first, last in itertools.pairwise(edges):
            last = min(last, len(bus))
            if first >= last or rng.random() > 0.4:
                continue
            start, end = (0.0, 1.0) if rng.random() < 0.75 else (1.0, 0.0)
            open_share = np.linspace(start, end, last - first, dtype=np.float32) ** 2
            part = slice(first, last)
            bus[part] = open_share * bus[part] + (1 - open_share) * dark[part]


def _echoes(song: Song, rng: np.random.Generator, wet: Sound) -> Sound:
    """Repeats at a note value and a room, of what is sent to them."""
    out = np.zeros_like(wet)
    beat_s = 60 / song.bpm
    if rng.random() < 0.45:
        gap = round(beat_s * float(rng.choice([0.75, 0.75, 0.5, 1.0, 0.25])) * SAMPLE_HZ)
        feedback = float(rng.uniform(0.2, 0.65))
        dull = filtered(wet, "lowpass", float(rng.uniform(1500, 8000)), order=1)
        for k in range(1, 6):
            if k * gap < len(out):
                out[k * gap :] += feedback**k * dull[: len(out) - k * gap]
    if rng.random() < 0.7:
        decay_s = float(np.exp(rng.uniform(np.log(0.08), np.log(0.7))))
        t = np.arange(round(3.5 * decay_s * SAMPLE_HZ)) / SAMPLE_HZ
        tail = rng.normal(0, 1, len(t)) * np.exp(-t / decay_s)
        tail[: round(0.008 * SAMPLE_HZ)] = 0
        room = filtered(tail.astype(np.float32), "bandpass", (250, float(rng.uniform(2500, 9000))))
        room *= float(rng.uniform(0.3, 1.2)) / np.sqrt(np.square(room).sum())
        out += scipy.signal.oaconvolve(wet, room)[: len(out)].astype(np.float32)
    return out


def _mastered(song: Song, rng: np.random.Generator, mix: Sound) -> Sound:
    """Bus filters, dust, a soft limit at a drawn drive, and full scale never passed."""
    if rng.random() < 0.3:
        mix = mix + float(rng.uniform(-0.6, 1.0)) * filtered(mix, "lowpass", 180, order=1)
    if rng.random() < 0.3:
        mix = mix + float(rng.uniform(-0.7, 1.2)) * filtered(mix, "highpass", 3000, order=1)
    if rng.random() < 0.12:
        mix = filtered(mix, "lowpass", float(rng.uniform(2500, 8000)), order=1)
    if rng.random() < 0.08:
        mix = filtered(mix, "highpass", float(rng.uniform(60, 250)), order=1)
    loud = float(np.percentile(np.abs(mix[::16]), 99.5)) + 1e-9 if len(mix) else 1.0
    if rng.random() < DUSTY_STYLES.get(song.style, 0.02):
        mix = mix + _dust(rng, len(mix)) * np.float32(loud)
    drive = float(rng.choice([0.05, 0.15, 0.3, 0.5, 0.8, 1.5, 3.0]))
    mix = np.tanh(mix * (drive / loud))
    peak = float(rng.uniform(0.4, 1.0)) / (float(np.abs(mix).max(initial=0.0)) + 1e-9)
    return np.asarray(mix * peak, np.float32)


def _dust(rng: np.random.Generator, count: int) -> Sound:
    """Hiss and crackle of a worn record."""
    hiss = np.asarray(rng.normal(0, float(rng.uniform(0.001, 0.01)), count), np.float32)
    clicks = rng.integers(0, max(1, count), int(count / SAMPLE_HZ * rng.uniform(1, 12)))
    hiss[clicks] += rng.exponential(0.08, len(clicks)).astype(np.float32)
    return filtered(hiss, "bandpass", (150, 7000), order=1)
