"""How long a 4-minute routine of two performers takes to be taken out, kind by kind."""

import time
from dataclasses import replace
from fractions import Fraction

import numpy as np

from composer.check.checks import check_routine
from composer.export.choice import Choice
from composer.export.kinds import KINDS, Material, Sound, Wishes
from composer.export.practice import Practice
from composer.moves.library import shipped_library
from composer.score.routine import (
    Following,
    Likeness,
    Part,
    Performer,
    Placement,
    Routine,
    Spot,
    TrackRef,
)
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.tempo_map import steady_tempo_map

RATE_HZ = 44_100
MINUTES = 4
BPM = 126
ALL_BUT_VIDEO_S = 10.0


def routine() -> Routine:
    beats = MINUTES * BPM
    names = shipped_library().names()
    phrases = tuple(Phrase(Fraction(32 * k), f"phrase {k + 1}") for k in range(beats // 32 + 1))
    placements = tuple(
        Placement(BeatSpan(Fraction(8 * k), Fraction(8)), names[k % len(names)])
        for k in range(beats // 8)
    )
    return Routine(
        "bench",
        TrackRef("bench.wav"),
        MusicGrid(steady_tempo_map(BPM, 0.35), Fraction(beats), phrases=phrases),
        (Performer("Wren"), Performer("Ash")),
        (
            Part("Wren", placements),
            Part("Ash", following=(Following("Wren", Likeness.MIRRORED),)),
        ),
        spots=tuple(
            Spot(name, phrase.start_beat, side * (1.8 + 0.2 * (number % 3)), 2.0 + number % 4)
            for number, phrase in enumerate(phrases)
            for name, side in (("Wren", 1), ("Ash", -1))
        ),
    )


def sound() -> Sound:
    """Noise shaped by a beat, in two channels: nothing that is easy to code."""
    count = MINUTES * 60 * RATE_HZ
    pulse = np.abs(np.sin(np.pi * np.arange(count) / RATE_HZ * BPM / 60)).astype(np.float32)
    noise = np.random.default_rng(1).normal(0, 0.1, (count, 2)).astype(np.float32)
    return Sound(noise * pulse[:, None], RATE_HZ)


def seconds(name: str, material: Material) -> tuple[float, float, int]:
    """Processor time, time on the clock, and bytes made."""
    kind = KINDS[name]
    begun, began = time.process_time(), time.perf_counter()
    made = kind.make(replace(material, suffix=kind.suffixes[0]))
    return time.process_time() - begun, time.perf_counter() - began, len(made)


def test_everything_but_video_in_ten_seconds():
    piece, library = routine(), shipped_library()
    begun = time.process_time()
    findings = check_routine(piece, library)
    total_s = time.process_time() - begun
    print(f"\nchecks for the sheets  {total_s:6.2f} s of processor")
    wishes = Wishes(practice=Practice(speed=0.75))
    material = Material(piece, library, findings, sound(), wishes=wishes)
    for name in KINDS:
        if name != "animation":
            took_s, clock_s, size = seconds(name, material)
            total_s += took_s
            print(f"{name:<22} {took_s:6.2f} s of processor, {clock_s:6.2f} s, {size:>11,} bytes")
    print(f"{'together':<22} {total_s:6.2f} s")
    assert total_s < ALL_BUT_VIDEO_S


def test_video_faster_than_it_plays():
    material = Material(routine(), shipped_library(), sound=sound(), choice=Choice(phrase=1))
    length_s = 32 * 60 / BPM
    took_s, clock_s, size = seconds("animation", material)
    print(
        f"\nvideo of {length_s:.1f} s: {took_s:.2f} s of processor, {clock_s:.2f} s, {size:,} bytes"
    )
    assert took_s < length_s
