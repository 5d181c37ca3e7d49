"""Decoding, MIDI files and beat lists: what goes in, and one clear line for what cannot."""

import struct
import wave
from fractions import Fraction

import av
import mido
import numpy as np
import pytest
import soundfile
from made_music import clicks

from composer.errors import TrackError
from composer.files.analysis_cache import analysis_of
from composer.files.beat_list import read_beat_list
from composer.files.midi_track import read_midi_track
from composer.files.track import decode_track


@pytest.fixture(autouse=True)
def own_cache(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


def save_wav(path, samples, rate):
    data = np.round(np.clip(samples, -1, 1) * 32767).astype("<i2")
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1 if data.ndim == 1 else data.shape[1])
        out.setsampwidth(2)
        out.setframerate(rate)
        out.writeframes(data.tobytes())
    return path


def encode(path, codec, samples, rate, layout="mono"):
    """Encode with FFmpeg's encoders (PyAV), Vorbis with libsndfile."""
    if codec == "vorbis":
        soundfile.write(path, samples, rate, format="OGG", subtype="VORBIS")
        return path
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=rate, layout=layout)
        resampler = av.AudioResampler(
            format=stream.codec_context.format,
            layout=layout,
            rate=rate,
            frame_size=stream.codec_context.frame_size or None,
        )
        data = samples.reshape(len(samples), -1).T.astype(np.float32)
        frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(data), format="fltp", layout=layout)
        frame.sample_rate = rate
        done = 0
        for part in (*resampler.resample(frame), *resampler.resample(None)):
            part.pts, part.time_base = done, Fraction(1, rate)
            done += part.samples
            container.mux(stream.encode(part))
        container.mux(stream.encode(None))
    return path


def first_click_s(track):
    loud = np.abs(track.samples[:, 0])
    return int(np.argmax(loud > 0.35 * loud.max())) / track.sample_rate_hz


@pytest.mark.parametrize(
    ("name", "codec", "rate", "within_s"),
    [
        ("a.flac", "flac", 44100, 0.0005),
        ("a.ogg", "vorbis", 44100, 0.002),
        ("a.mp3", "libmp3lame", 44100, 0.002),
        ("a.m4a", "aac", 44100, 0.002),
        ("a.opus", "libopus", 48000, 0.002),
        ("a.wav", "pcm_s16le", 8000, 0.0005),
        ("b.flac", "flac", 192000, 0.0005),
    ],
)
def test_every_kind_is_decoded_with_its_sound_in_place(tmp_path, name, codec, rate, within_s):
    """Clicks at 1.0 and 2.5 s; encoder delays that the file declares are taken off."""
    made = clicks([1.0, 2.5], 4.0, rate)
    track = decode_track(encode(tmp_path / name, codec, made, rate))
    assert track.sample_rate_hz == rate
    assert track.duration_s == pytest.approx(4.0, abs=0.06)
    assert first_click_s(track) == pytest.approx(1.0, abs=within_s)
    assert len(track.sha256) == 64


def test_plain_aac_frames_are_read_too(tmp_path):
    """ADTS declares no encoder delay, so only the length and the sound are checked."""
    track = decode_track(encode(tmp_path / "a.aac", "aac", clicks([1.0], 3.0, 44100), 44100))
    assert track.duration_s == pytest.approx(3.0, abs=0.1)
    assert np.abs(track.samples).max() > 0.3


@pytest.mark.parametrize("channels", [1, 2, 4, 6, 8])
def test_channels_are_kept_apart(tmp_path, channels):
    samples = np.zeros((8000, channels), np.float32)
    for c in range(channels):
        samples[:, c] = 0.1 * (c + 1)
    track = decode_track(save_wav(tmp_path / "c.wav", samples, 8000))
    assert track.samples.shape == (8000, channels)
    assert track.samples[4000] == pytest.approx(0.1 * np.arange(1, channels + 1), abs=1e-4)


def test_mono_decoding_is_the_mean_of_the_channels(tmp_path):
    samples = np.stack([np.full(8000, 0.2), np.full(8000, 0.6)], axis=1)
    track = decode_track(save_wav(tmp_path / "m.wav", samples, 8000), mono=True)
    assert track.samples == pytest.approx(np.full((8000, 1), 0.4), abs=1e-4)


def test_a_file_that_breaks_off_gives_what_is_there(tmp_path):
    whole = encode(tmp_path / "a.mp3", "libmp3lame", clicks([1.0], 8.0, 44100), 44100)
    part = tmp_path / "part.mp3"
    part.write_bytes(whole.read_bytes()[: whole.stat().st_size // 2])
    assert 3.0 < decode_track(part).duration_s < 5.0


def test_what_is_no_music_is_refused_in_one_line(tmp_path):
    (tmp_path / "empty.mp3").write_bytes(b"")
    (tmp_path / "text.mp3").write_text("a list of things to bring\n" * 50)
    (tmp_path / "noise.mp3").write_bytes(np.random.default_rng(1).bytes(20_000))
    save_wav(tmp_path / "short.wav", np.zeros(800), 8000)
    (tmp_path / "torn.wav").write_bytes(struct.pack("<4sI4s", b"RIFF", 100, b"WAVE"))
    for name in ("missing.mp3", "", "empty.mp3", "text.mp3", "noise.mp3", "short.wav", "torn.wav"):
        with pytest.raises(TrackError) as refused:
            decode_track(tmp_path / name)
        assert "\n" not in str(refused.value)
        assert str(tmp_path) in str(refused.value)


def midi_file(path, events, ticks=480):
    track = mido.MidiTrack()
    for delta, message in events:
        track.append(message.copy(time=delta))
    midi = mido.MidiFile(ticks_per_beat=ticks)
    midi.tracks.append(track)
    midi.save(path)
    return path


NOTE_ON, NOTE_OFF = mido.Message("note_on", note=60), mido.Message("note_off", note=60)


def test_a_midi_file_gives_its_tempo_map_exactly(tmp_path):
    """Standard MIDI Files 1.0: 16 quarters at 500 000 us, then 16 at 468 750 us (128 bpm)."""
    path = midi_file(
        tmp_path / "a.mid",
        [
            (0, mido.MetaMessage("set_tempo", tempo=500_000)),
            (0, NOTE_ON),
            (16 * 480, mido.MetaMessage("set_tempo", tempo=468_750)),
            (0, mido.MetaMessage("marker", text="drop")),
            (16 * 480, NOTE_OFF),
        ],
    )
    analysis = read_midi_track(path)
    seconds = analysis.grid.tempo_map.seconds
    assert seconds(16) == pytest.approx(8.0, abs=1e-9)
    assert seconds(32) == pytest.approx(15.5, abs=1e-9)
    assert len(analysis.beats_s) == 32
    assert [(p.name, p.start_beat) for p in analysis.grid.phrases] == [("drop", 16)]
    assert analysis.confidence.bars == 1.0


def test_six_eight_in_a_midi_file_is_counted_in_dotted_quarters(tmp_path):
    """At 120 quarters a minute a dotted quarter lasts 0.75 s; no tempo event means 120."""
    path = midi_file(
        tmp_path / "a.mid",
        [
            (0, mido.MetaMessage("time_signature", numerator=6, denominator=8)),
            (0, NOTE_ON),
            (24 * 240, mido.MetaMessage("time_signature", numerator=3, denominator=4)),
            (12 * 480, NOTE_OFF),
        ],
    )
    grid = read_midi_track(path).grid
    assert grid.tempo_map.seconds(1) == pytest.approx(0.75, abs=1e-9)
    assert grid.meter_map.meter_at(Fraction(8)).numerator == 3
    assert grid.tempo_map.seconds(9) - grid.tempo_map.seconds(8) == pytest.approx(0.5, abs=1e-9)
    assert grid.bar_count == 4 + 4


def test_a_broken_or_empty_midi_file_is_refused(tmp_path):
    (tmp_path / "a.mid").write_bytes(b"MThd\x00\x00")
    (tmp_path / "b.mid").write_text("no midi")
    midi_file(tmp_path / "c.mid", [(0, NOTE_ON)])
    for name in "abc":
        with pytest.raises(TrackError):
            read_midi_track(tmp_path / f"{name}.mid")


def test_a_list_of_beats_with_places_in_the_bar(tmp_path):
    """Three-four at 90 bpm from 2 s with one upbeat, written to the millisecond."""
    path = tmp_path / "beats.csv"
    rows = [f"{2 + k * 2 / 3:.3f},{(k + 2) % 3 + 1}" for k in range(40)]
    path.write_text("time,count\n" + "\n".join(rows) + "\n")
    analysis = read_beat_list(path)
    grid = analysis.grid
    assert str(grid.meter_map.meter_at(Fraction(0))) == "3/4"
    assert grid.tempo_map.seconds(0) == pytest.approx(2 + 2 / 3, abs=0.001)
    assert analysis.bpm == pytest.approx(90.0, abs=0.01)
    assert analysis.steady


def test_beats_that_breathe_keep_their_own_times(tmp_path):
    times = 1.0 + np.cumsum(0.5 + 0.1 * np.sin(np.arange(30)))
    (tmp_path / "b.txt").write_text("# by hand\n\n" + "\n".join(f"{t:.6f}" for t in times))
    grid = read_beat_list(tmp_path / "b.txt").grid
    assert grid.tempo_map.seconds_of(np.arange(30)) == pytest.approx(times, abs=2e-6)


@pytest.mark.parametrize(
    "text", ["", "1.0\n", "one\ntwo\n", "1.0\n0.5\n", "1.0\nnan\n", "1.0\nx\n"]
)
def test_what_is_no_list_of_beats_is_refused(tmp_path, text):
    (tmp_path / "b.txt").write_text(text)
    with pytest.raises(TrackError):
        read_beat_list(tmp_path / "b.txt")


def test_an_analysis_is_found_again_by_content_under_another_name(tmp_path, monkeypatch):
    beats = 0.4 + 0.5 * np.arange(40)
    first = save_wav(tmp_path / "one.wav", clicks(beats, 21.0), 22050)
    track, analysis = analysis_of(first)
    assert track is not None
    second = tmp_path / "two.wav"
    second.write_bytes(first.read_bytes())

    def no_listening(*_args, **_kwargs):
        raise AssertionError("listened again")

    monkeypatch.setattr("composer.audio.analyse.analyse", no_listening)
    none, again = analysis_of(second, samples=False)
    assert none is None
    assert again.grid == analysis.grid
    assert np.array_equal(again.beats_s, analysis.beats_s)
    with pytest.raises(AssertionError, match="listened again"):
        analysis_of(second, fresh=True)


def test_a_damaged_cache_is_passed_over(tmp_path):
    path = save_wav(tmp_path / "one.wav", clicks(0.4 + 0.5 * np.arange(40), 21.0), 22050)
    _, analysis = analysis_of(path)
    for kept in (tmp_path / "cache").rglob("*.npz"):
        kept.write_bytes(b"PK\x03\x04 not an archive")
    _, again = analysis_of(path)
    assert again.grid == analysis.grid
