"""Beats and bars of tracker songs, against what their rows come to by hand.

A tick lasts 2.5 s divided by the tempo, and four rows of six ticks are a beat (tracker formats,
common practice, from memory): at tempo 125 a row lasts 0.12 s and a beat 0.48 s.
"""

import ctypes
import struct
import sys

import numpy as np
import pytest

from composer.audio.fit import __main__ as fitting
from composer.audio.fit import tracker_music
from composer.audio.fit.tracker_music import LIBRARY, Rows, leave_songs, played, truth_in
from composer.audio.fit.truth import tracks_in, truth_of

TICK_S = 2.5 / 125


def song(pattern_rows: list[int], ticks: list[int]) -> Rows:
    """Patterns one after the other; the ticks of their rows repeat."""
    numbers = np.concatenate([np.arange(count) for count in pattern_rows])
    order = np.repeat(np.arange(len(pattern_rows)), pattern_rows)
    lasting = np.resize(ticks, len(numbers))
    at_s = np.concatenate([[0.0], np.cumsum(lasting * TICK_S)[:-1]])
    return Rows(at_s, order, numbers, lasting)


@pytest.mark.parametrize(("ticks", "rows_a_beat"), [([6], 4), ([3], 8), ([7, 5], 4), ([2], 12)])
def test_a_beat_is_24_ticks_however_many_rows(ticks, rows_a_beat):
    truth = truth_in(song([rows_a_beat * 16] * 4, ticks))
    assert truth is not None
    assert truth.beats_s == pytest.approx(np.arange(64) * 0.48)
    assert truth.downbeats_s == pytest.approx(np.arange(16) * 1.92)


def test_each_pattern_begins_a_bar_also_after_one_that_was_cut_short():
    truth = truth_in(song([64] * 10 + [56] + [64] * 10, [6]))
    assert truth is not None
    later = truth.downbeats_s[truth.downbeats_s > 10 * 7.68 + 6.5]
    assert later == pytest.approx(10 * 7.68 + 6.72 + 1.92 * np.arange(40))


@pytest.mark.parametrize(
    ("patterns", "ticks"),
    [
        ([64] * 4, [4]),  # six rows a beat: 64 rows are no whole bars
        ([80] * 4, [5]),  # no whole number of rows a beat
        ([24] * 8, [6]),  # bars of six beats, or of three
        ([64] * 4, [6] * 128 + [3] * 128),  # twice the rows to a beat from the middle on
        ([4], [6]),  # one beat
    ],
)
def test_songs_whose_rows_do_not_tell_their_bars_are_left_out(patterns, ticks):
    assert truth_in(song(patterns, ticks)) is None


def test_a_song_that_changes_its_tempo_is_left_out():
    steady = song([64] * 4, [6])
    assert truth_in(steady) is not None
    later_s = np.maximum(0.0, steady.at_s - 2 * 7.68)
    slowed = Rows(steady.at_s + 0.25 * later_s, steady.order, steady.number, steady.ticks)
    assert truth_in(slowed) is None


def clicks_on_every_beat(tempo: int = 125) -> bytes:
    """A song of the MOD kind: four channels, one pattern eight times, a click on every beat."""
    set_tempo = bytes([0, 0, 0x0F, tempo])
    click = bytes([127, 129] * 40)
    none = bytes(22) + struct.pack(">HBBHH", 0, 0, 0, 0, 1)
    first = bytes(22) + struct.pack(">HBBHH", len(click) // 2, 0, 64, 0, 1)
    orders = bytes([8, 127, *[0] * 128])
    note = bytes([0x01, 0xAC, 0x10, 0x00])
    rows = [(note if row % 4 == 0 else bytes(4)) + set_tempo + bytes(8) for row in range(64)]
    return bytes(20) + first + none * 30 + orders + b"M.K." + b"".join(rows) + click


@pytest.fixture
def libopenmpt():
    try:
        ctypes.CDLL(LIBRARY)
    except OSError:
        pytest.skip("libopenmpt, which plays tracker songs, is not installed")


@pytest.mark.usefixtures("libopenmpt")
def test_a_song_is_played_with_its_rows_where_its_notes_sound(tmp_path):
    path = tmp_path / "clicks.mod"
    path.write_bytes(clicks_on_every_beat())
    samples, rows = played(path)
    assert len(samples) / 44_100 == pytest.approx(8 * 64 * 0.12, abs=0.002)
    assert rows.at_s == pytest.approx(np.arange(512) * 0.12, abs=0.0016)
    loud = np.flatnonzero(np.abs(samples) > 0.3 * np.abs(samples).max()) / 44_100
    sounds = loud[np.diff(loud, prepend=-1.0) > 0.2]
    assert sounds == pytest.approx(np.arange(128) * 0.48, abs=0.003)
    damaged = tmp_path / "notes.mod"
    damaged.write_text("no song")
    assert leave_songs([path, damaged, path], tmp_path / "out") == 1
    (track,) = tracks_in(tmp_path / "out")
    assert truth_of(track).downbeats_s == pytest.approx(np.arange(32) * 1.92, abs=0.0016)


@pytest.mark.usefixtures("libopenmpt")
@pytest.mark.parametrize("tempo", [100, 125, 130, 140, 155])
def test_the_first_row_is_not_told_again_at_the_end(tempo, tmp_path):
    path = tmp_path / "clicks.mod"
    path.write_bytes(clicks_on_every_beat(tempo))
    samples, rows = played(path)
    assert (len(rows.at_s), rows.number[-1]) == (8 * 64, 63)
    # A player may round each tick to whole samples.
    assert len(samples) / 44_100 == pytest.approx(512 * 6 * 2.5 / tempo, rel=1e-3)


@pytest.mark.parametrize(("name", "told"), [("song.mod", "libnone.so.7"), ("no.mod", "no.mod")])
def test_what_is_missing_is_told_in_one_line(name, told, monkeypatch, tmp_path, capsys):
    (tmp_path / "song.mod").write_bytes(b"")
    monkeypatch.setattr(tracker_music, "LIBRARY", "libnone.so.7")
    monkeypatch.setattr(
        sys, "argv", ["fit", "tracker", str(tmp_path / "songs"), str(tmp_path / name)]
    )
    with pytest.raises(SystemExit) as ended:
        fitting.main()
    assert ended.value.code == 2
    line = capsys.readouterr().err
    assert told in line
    assert line.count("\n") == 1
