"""Sounds over the music: calls that are due at once are heard one after another."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import pytest

from composer.playback.due import Caller, calls_of
from composer.playback.mixer import Beeper, SpokenCues
from composer.timing.tempo_map import steady_tempo_map

RATE = 8000


@dataclass(frozen=True)
class Cue:
    beat: Fraction
    call_beat: Fraction
    text: str
    performer: str = "Ada"
    kind: str = "move"
    hand: str = "both"


def spoken(machine, *cues):
    """The samples of the calls over silence: words of 100 frames, each as loud as its number."""
    sounds = {cue: np.full(100, 0.1 * number, np.float32) for number, cue in enumerate(cues, 1)}
    caller = Caller(calls_of(cues, steady_tempo_map(60)))
    machine.player.set_layer("calls", SpokenCues(caller, sounds, pause_frames=20))
    machine.player.play()
    machine.run(2.5)
    return machine.sound[:, 0]


def test_two_calls_of_one_moment_follow_each_other_with_a_pause(make_machine):
    """Both due at 1 s, frame 8000: 100 frames, 20 of pause, 100 frames."""
    one, two = (Cue(Fraction(5), Fraction(1), text) for text in ("turn", "left hand"))
    heard = spoken(make_machine(np.zeros((4 * RATE, 2), np.float32)), one, two)
    assert np.flatnonzero(heard).tolist() == [*range(8000, 8100), *range(8120, 8220)]
    assert set(np.round(heard[[8000, 8120]], 6)) == {np.float32(0.1), np.float32(0.2)}


def test_calls_far_enough_apart_sound_on_their_own_frames(make_machine):
    one, two = Cue(Fraction(5), Fraction(1), "a"), Cue(Fraction(6), Fraction(2), "b")
    heard = spoken(make_machine(np.zeros((4 * RATE, 2), np.float32)), one, two)
    assert np.flatnonzero(heard).tolist() == [*range(8000, 8100), *range(16000, 16100)]


def test_times_and_sounds_go_together():
    with pytest.raises(ValueError, match="2 times need as many sounds, got 1"):
        Beeper([0.0, 1.0], [np.ones(1, np.float32)], in_music=True)
