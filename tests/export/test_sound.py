"""Sound files and practice sound: lengths, places of clicks and tags, as other readers hear."""

import io
from dataclasses import replace
from fractions import Fraction

import av
import numpy as np
import pytest
import soundfile

from composer.audio.stretch import stretched
from composer.errors import ExportError
from composer.export import practice
from composer.export.choice import Choice
from composer.export.encode import CODINGS, encoded
from composer.export.practice import MUSIC_GAIN, Practice, practice_sound

from .conftest import RATE_HZ, played_tempo_map


def decoded(data: bytes) -> tuple[np.ndarray, int, dict[str, str]]:
    with av.open(io.BytesIO(data)) as container:
        stream = container.streams.audio[0]
        tags = {**container.metadata, **stream.metadata}
        resampler = av.AudioResampler(format="fltp", layout="stereo", rate=stream.rate)
        blocks = [b.to_ndarray() for f in container.decode(stream) for b in resampler.resample(f)]
        return np.concatenate(blocks, axis=1).T, stream.rate, tags


def onsets_s(mono: np.ndarray, rate: int, threshold: float) -> np.ndarray:
    """First sample of each burst louder than a threshold, bursts at least 100 ms apart."""
    loud = np.flatnonzero(np.abs(mono) > threshold)
    first = np.concatenate([[True], np.diff(loud) > 0.1 * rate])
    return loud[first] / rate


def silence(seconds: float) -> np.ndarray:
    return np.zeros((round(seconds * RATE_HZ), 2), np.float32)


@pytest.mark.parametrize("suffix", CODINGS)
def test_a_click_keeps_its_place_in_every_coding(suffix):
    """Within a millisecond of half a second, and the length within a coding's block of 26 ms."""
    samples = silence(1.0)
    samples[RATE_HZ // 2 : RATE_HZ // 2 + 40] = 0.9
    heard, rate, _ = decoded(encoded(samples, RATE_HZ, suffix))
    assert np.argmax(np.abs(heard[:, 0])) / rate == pytest.approx(0.5, rel=0, abs=0.002)
    assert len(heard) / rate == pytest.approx(1.0, rel=0, abs=0.027)


@pytest.mark.parametrize("suffix", [".wav", ".flac"])
def test_full_quality_is_24_bits_to_the_sample(suffix):
    """Read back by libsndfile: every 24-bit value comes back as it was."""
    steps = np.arange(-(2**23), 2**23, 9973, dtype=np.int64)
    samples = (steps / 2**23).astype(np.float32)[:, None].repeat(2, axis=1)
    back, rate = soundfile.read(io.BytesIO(encoded(samples, 96_000, suffix)), dtype="float64")
    assert rate == 96_000
    np.testing.assert_allclose(back, samples, rtol=0, atol=2**-23)


@pytest.mark.parametrize("suffix", CODINGS)
def test_tags_come_back_in_every_script(suffix):
    tags = {"title": 'Ünïcode 🔥 "q" ערב', "artist": "Wren,\nAsh"}
    _, _, found = decoded(encoded(silence(0.5), RATE_HZ, suffix, tags=tags))
    assert found["title"] == tags["title"]
    assert found["artist"] == "Wren, Ash"


def test_one_channel_stays_one_and_six_become_two():
    for channels, expected in ((1, 1), (6, 2)):
        data = encoded(np.zeros((4800, channels), np.float32), 48_000, ".wav")
        assert soundfile.info(io.BytesIO(data)).channels == expected


@pytest.mark.parametrize("speed", [0.5, 0.75, 1.0, 1.1])
def test_clicks_stand_on_the_stretched_beats(solo, speed):
    """Silent music of 17 s: what is heard are the clicks, at (0.35 + k/2) / speed after the lead.

    Four counts in of 0.5 s end on beat 0 at 0.35 s, so the sound begins 1.65 s before the track.
    """
    made = practice_sound(solo, silence(17.0), RATE_HZ, practice=Practice(speed, calls=False))
    beats = np.arange(-4, 32)
    expected_s = (1.65 + 0.35 + 0.5 * beats) / speed
    got_s = onsets_s(made[:, 0], RATE_HZ, 0.02)
    np.testing.assert_allclose(got_s, expected_s, rtol=0, atol=0.002)
    assert len(made) / RATE_HZ == pytest.approx((17.0 + 1.65) / speed, rel=0, abs=0.001)


def test_the_music_is_in_step_with_its_clicks(solo, sound):
    """The track clicks on every beat: at 75 % it does so where the overlaid clicks would."""
    made = practice_sound(
        solo, sound.samples, RATE_HZ, practice=Practice(0.75, clicks=False, calls=False)
    )
    got_s = onsets_s(made[:, 0], RATE_HZ, 0.15)[4:]  # the first four are the count-in
    expected_s = (1.65 + 0.35 + 0.5 * np.arange(33)) / 0.75
    np.testing.assert_allclose(got_s, expected_s, rtol=0, atol=0.010)


def test_slowed_music_keeps_its_pitch(solo):
    """A tone of 440 Hz at half speed: the strongest line of its spectrum stays within 1 Hz."""
    time_s = np.arange(17 * RATE_HZ) / RATE_HZ
    tone = (0.5 * np.sin(2 * np.pi * 440 * time_s)).astype(np.float32)[:, None].repeat(2, axis=1)
    made = practice_sound(
        solo, tone, RATE_HZ, practice=Practice(0.5, clicks=False, calls=False, count_in_beats=0)
    )
    stretch = made[5 * RATE_HZ : 15 * RATE_HZ, 0]
    spectrum = np.abs(np.fft.rfft(stretch * np.hanning(len(stretch))))
    assert np.argmax(spectrum) / 10 == pytest.approx(440, rel=0, abs=1)


def test_calls_sound_ahead_of_their_moves(solo):
    """The call for beat 8 comes a bar earlier, on beat 4: 0.35 + 2 s, after 1.65 s of lead."""
    made = practice_sound(solo, silence(17.0), RATE_HZ, practice=Practice(clicks=False))
    got_s = onsets_s(made[:, 0], RATE_HZ, 0.02)
    assert np.abs(got_s - (1.65 + 0.35 + 2.0)).min() < 0.003


def test_phrases_are_counted_in_one_by_one_with_gaps(solo):
    """Two phrases of 16 beats at 120: (2 s counted in + 8 s + 3 s) each, clicks at both starts."""
    practice = Practice(calls=False, by_phrase=True)
    made = practice_sound(solo, silence(17.0), RATE_HZ, practice=practice)
    assert len(made) / RATE_HZ == pytest.approx(26.0, rel=0, abs=0.001)
    got_s = onsets_s(made[:, 0], RATE_HZ, 0.02)
    expected_s = np.concatenate([0.5 * np.arange(20), 13 + 0.5 * np.arange(20)])
    np.testing.assert_allclose(got_s, expected_s, rtol=0, atol=0.002)


def test_a_phrase_of_a_played_track_keeps_its_own_beats(solo):
    tempo_map = played_tempo_map(0.5, 32)
    grid = replace(solo.grid, tempo_map=tempo_map)
    practice = Practice(calls=False, count_in_beats=0)
    made = practice_sound(
        replace(solo, grid=grid), silence(18.0), RATE_HZ, Choice(phrase=1), practice
    )
    times_s = np.array([knot.time_s for knot in tempo_map.knots])
    got_s = onsets_s(made[:, 0], RATE_HZ, 0.02)
    np.testing.assert_allclose(got_s, times_s[16:32] - times_s[16], rtol=0, atol=0.002)


def test_loud_music_with_clicks_stays_within_full_scale(solo):
    loud = np.ones((17 * RATE_HZ, 2), np.float32)
    made = practice_sound(solo, loud, RATE_HZ)
    assert np.abs(made).max() <= 1.0
    assert MUSIC_GAIN < 1


@pytest.mark.parametrize(
    "wrong",
    [{"speed": 0.49}, {"speed": 1.11}, {"gap_s": -1.0}, {"count_in_beats": 65}],
)
def test_what_is_out_of_bounds_is_refused_in_one_line(wrong):
    with pytest.raises(ExportError) as told:
        Practice(**wrong)
    assert "\n" not in str(told.value)


def test_an_hour_of_practice_sound_is_refused_before_work_begins(solo):
    hour = np.broadcast_to(np.zeros((1, 2), np.float32), (3600 * 4000, 2))
    grid = replace(solo.grid, end_beat=Fraction(7200))
    with pytest.raises(ExportError, match="60 minutes"):
        practice_sound(replace(solo, grid=grid), hour, 4000)


def test_of_an_hour_only_the_phrase_that_is_wanted_is_worked_on(solo, monkeypatch):
    """Beats 16 to 32 at 120: 8 s, and half a second at both ends for the blocks' overlap."""
    hour = np.broadcast_to(np.zeros((1, 2), np.float32), (3600 * 4000, 2))
    worked_on = []

    def watched(samples, *more):
        worked_on.append(len(samples) / 4000)
        return stretched(samples, *more)

    monkeypatch.setattr(practice, "stretched", watched)
    made = practice_sound(solo, hour, 4000, Choice(phrase=1), Practice(0.5, calls=False))
    assert worked_on == [9.0]
    assert len(made) / 4000 == pytest.approx((8.0 + 2.0) / 0.5, rel=0, abs=0.001)


def test_the_music_of_one_phrase_is_in_step_with_its_beats(solo, sound):
    """Clicks of the track at beats 16 to 31, played at 75 % after four counts in."""
    wanted = Practice(0.75, clicks=False, calls=False)
    made = practice_sound(solo, sound.samples, RATE_HZ, Choice(phrase=1), wanted)
    got_s = onsets_s(made[:, 0], RATE_HZ, 0.15)[4:20]
    expected_s = 0.5 * np.arange(4, 20) / 0.75
    np.testing.assert_allclose(got_s, expected_s, rtol=0, atol=0.010)
