"""Slow-down with the pitch kept, measured on the file that is rendered and played."""

import wave

import numpy as np
import pytest

from composer.audio.stretch import stretched
from composer.errors import ComposerError
from composer.playback import slowdown
from composer.playback.slowdown import slowed, slowed_path

RATE = 44100
PERCENTS = [50, 75, 90, 110]


def click_track(seconds=8.0):
    """A click each half second from 1 s on: an impulse-like attack and a short decay."""
    samples = np.zeros((round(seconds * RATE), 2), dtype=np.float32)
    onsets = np.arange(RATE, len(samples) - RATE // 2, RATE // 2)
    decay = np.exp(-np.arange(400) / 60) * np.sin(np.arange(400) * 0.4) * 0.8
    for onset in onsets:
        samples[onset : onset + 400] += decay[:, None].astype(np.float32)
    return samples, onsets / RATE


def tone_hz(samples, near_hz):
    """Frequency of a steady tone by the phase it gains over a second, to far below a cent."""
    middle = samples[len(samples) // 4 : len(samples) * 3 // 4, 0].astype(float)
    t = np.arange(len(middle)) / RATE
    carrier = middle * np.exp(-2j * np.pi * near_hz * t)
    smooth = np.convolve(carrier, np.hanning(4410) / 2205, mode="valid")
    phase = np.unwrap(np.angle(smooth))
    return near_hz + np.polyfit(np.arange(len(phase)) / RATE, phase, 1)[0] / (2 * np.pi)


def rendered(samples, percent, folder):
    """The copy as it lies on disk."""
    slowed(samples, RATE, "track", percent, folder)
    with wave.open(str(slowed_path(folder, "track", percent))) as file:
        assert (file.getframerate(), file.getsampwidth(), file.getnchannels()) == (RATE, 2, 2)
        data = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2")
    return data.reshape(-1, 2) / 32768


@pytest.mark.parametrize("percent", PERCENTS)
def test_onsets_stay_within_2_ms_of_their_place(tmp_path, percent):
    samples, onsets_s = click_track()
    copy = rendered(samples, percent, tmp_path)
    assert len(copy) == round(len(samples) * 100 / percent)
    for onset_s in onsets_s:
        place = round(onset_s * 100 / percent * RATE)
        around = copy[place - 4410 : place + 4410, 0] ** 2
        energy = np.cumsum(around) / around.sum()
        found_s = (np.argmax(energy > 0.05) - 4410) / RATE
        true_s = 6 / RATE  # 5 % of a click's energy has come after some six samples
        assert abs(found_s - true_s) < 0.002


@pytest.mark.parametrize("percent", PERCENTS)
def test_a_tone_of_440_hz_stays_within_a_cent(tmp_path, percent):
    """A cent is a hundredth of an equal-tempered semitone: a ratio of 2 ** (1 / 1200)."""
    t = np.arange(RATE * 6) / RATE
    samples = np.stack([0.5 * np.sin(2 * np.pi * 440 * t)] * 2, axis=1).astype(np.float32)
    hz = tone_hz(rendered(samples, percent, tmp_path), 440.0)
    assert abs(1200 * np.log2(hz / 440)) < 1.0


@pytest.mark.parametrize("frames", [0, 1, 500, 9001])
def test_any_length_gives_the_length_that_the_speed_asks(frames):
    made = stretched(np.zeros((frames, 1), dtype=np.float32), RATE, 0.75)
    assert made.shape == (round(frames / 0.75), 1)
    assert not made.any()


@pytest.mark.parametrize("rate", [0.49, 1.11, 0.0, -1.0, float("nan")])
def test_speeds_outside_half_to_a_little_faster_are_refused(rate):
    with pytest.raises(ValueError, match="speed lies between"):
        stretched(np.zeros((10, 2), dtype=np.float32), RATE, rate)


def test_samples_of_another_shape_or_type_are_refused():
    with pytest.raises(ValueError, match="float32 of shape"):
        stretched(np.zeros(10, dtype=np.float32), RATE, 0.5)
    with pytest.raises(ValueError, match="float32 of shape"):
        stretched(np.zeros((10, 2)), RATE, 0.5)  # type: ignore[arg-type]


# -- the copy and its process -------------------------------------------------------------------


def test_a_copy_is_made_once_and_read_the_next_time(tmp_path, monkeypatch):
    samples, _ = click_track(3.0)
    shares = []
    first = slowed(samples, RATE, "abc", 80, tmp_path, progress=shares.append)
    monkeypatch.setattr(slowdown.sys, "executable", "/nowhere")
    again = slowed(samples, RATE, "abc", 80, tmp_path)
    np.testing.assert_array_equal(first, again)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert [p.name for p in tmp_path.iterdir()] == ["abc-80-v1.wav"]


def test_full_speed_is_the_track_itself(tmp_path):
    samples, _ = click_track(2.0)
    assert slowed(samples, RATE, "abc", 100, tmp_path) is samples


def test_a_cancelled_copy_leaves_nothing_behind(tmp_path):
    samples, _ = click_track(3.0)
    assert slowed(samples, RATE, "abc", 70, tmp_path, cancelled=lambda: True) is None
    assert list(tmp_path.iterdir()) == []


def test_a_process_that_dies_is_one_clear_line(tmp_path, monkeypatch):
    samples, _ = click_track(2.0)
    monkeypatch.setattr(slowdown.sys, "executable", "/bin/false")
    with pytest.raises(ComposerError, match=r"slowing the track to 70 % failed \(code 1\)"):
        slowed(samples, RATE, "abc", 70, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_damaged_copy_is_told_and_made_anew_the_next_time(tmp_path):
    samples, _ = click_track(2.0)
    slowed_path(tmp_path, "abc", 70).write_bytes(b"RIFF, or so it says")
    with pytest.raises(ComposerError, match="try again"):
        slowed(samples, RATE, "abc", 70, tmp_path)
    made = slowed(samples, RATE, "abc", 70, tmp_path)
    assert made is not None
    assert len(made) == round(len(samples) / 0.7)


def test_a_folder_that_cannot_be_written_is_one_clear_line(tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("not a folder")
    with pytest.raises(ComposerError, match="another cache folder"):
        slowed(click_track(2.0)[0], RATE, "abc", 70, blocked / "cache")


def test_old_copies_give_way_when_the_folder_is_full(tmp_path, monkeypatch):
    samples, _ = click_track(2.0)
    monkeypatch.setattr(slowdown, "KEEP_BYTES", 2_000_000)
    for name, age_s in (("old", 100), ("older", 200)):
        path = slowed_path(tmp_path, name, 60)
        path.write_bytes(bytes(900_000))
        slowdown.os.utime(path, (age_s, 1e9 - age_s))
    slowed(samples, RATE, "new", 60, tmp_path)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["new-60-v1.wav", "old-60-v1.wav"]


def test_a_speed_that_is_not_offered_is_refused(tmp_path):
    with pytest.raises(ValueError, match="50 to 110"):
        slowed(click_track(2.0)[0], RATE, "abc", 40, tmp_path)
