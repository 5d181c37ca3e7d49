"""Sounds made by the program: on time, within full scale, told apart."""

import itertools
from typing import get_args

import numpy as np
import pytest

from composer.audio.clicks import CALL_TONES, Tone, call_sound, click, tone_pattern
from composer.score.cues import CueKind

RATES = [22050, 44100, 48000]


def strongest_hz(sound, sample_rate):
    spectrum = np.abs(np.fft.rfft(sound, 1 << 16))
    return np.argmax(spectrum) * sample_rate / (1 << 16)


@pytest.mark.parametrize("sample_rate", RATES)
@pytest.mark.parametrize("accented", [False, True])
def test_a_click_is_at_half_its_peak_within_two_milliseconds(sample_rate, accented):
    sound = click(sample_rate, accented=accented)
    first = np.argmax(np.abs(sound) > 0.5 * np.abs(sound).max())
    assert first / sample_rate < 0.002
    assert np.abs(sound).max() <= 1.0
    assert abs(sound[-1]) < 0.01


def test_the_downbeat_is_higher_and_louder():
    plain, accented = click(44100), click(44100, accented=True)
    assert strongest_hz(accented, 44100) > 1.4 * strongest_hz(plain, 44100)
    assert np.abs(accented).max() > 1.3 * np.abs(plain).max()


def test_every_kind_of_cue_has_a_pattern_of_its_own():
    kinds = get_args(CueKind)
    assert set(CALL_TONES) == set(kinds)
    for one, other in itertools.combinations(kinds, 2):
        assert CALL_TONES[one] != CALL_TONES[other]


@pytest.mark.parametrize("kind", list(CALL_TONES))
def test_a_call_is_short_enough_to_be_over_before_the_move(kind):
    """Called 1.3 s ahead or more; less than a choice reaction (0.3 s) before it is useless."""
    sound = call_sound(kind, 44100)
    assert len(sound) / 44100 < 1.0
    assert np.abs(sound).max() <= 0.5


def test_a_tone_sounds_at_its_pitch_for_its_length():
    sound = tone_pattern([Tone(440.0, 0.5, 0.25), Tone(880.0, 0.5)], 48000)
    assert len(sound) == 48000 * 1.25
    assert abs(strongest_hz(sound[:24000], 48000) - 440) < 1
    assert not sound[24000:36000].any()
    assert abs(strongest_hz(sound[36000:], 48000) - 880) < 1


def test_broken_requests_are_refused():
    with pytest.raises(ValueError, match="at least one tone"):
        tone_pattern([], 44100)
    with pytest.raises(ValueError, match="lies below 4000"):
        tone_pattern([Tone(5000.0, 0.1)], 8000)
    with pytest.raises(ValueError, match="sample rate"):
        click(100)
