"""MIDI bytes as the standard gives them, and when they are sent."""

from dataclasses import dataclass, field
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.playback.midi import (
    FrameRate,
    TimeCode,
    frame_at,
    frames_in_hour,
    full_frame,
    quarter_frame,
    song_position,
    time_code,
)
from composer.playback.sync import MidiClockOutput, QuarterCount, TimeCodeOutput
from composer.playback.timeline import Loop
from composer.timing.grid import MusicGrid
from composer.timing.meter import Meter, MeterChange, MeterMap
from composer.timing.tempo_map import steady_tempo_map

GRID = MusicGrid(steady_tempo_map(120), Fraction(64))


@dataclass
class FakePort:
    machine: object
    sent: list = field(default_factory=list)

    def send(self, message):
        self.sent.append((self.machine.now_s - 100.0, message))

    def close(self):
        pass

    @property
    def bytes(self):
        return b"".join(message for _, message in self.sent)


def follow(machine, output):
    """Tell the output what is heard, every millisecond of simulated time."""
    pieces = machine.player.follow()
    machine.player.play()

    def listen():
        for piece in pieces():
            output.hear(piece)

    return lambda seconds: machine.run(seconds, 0.001, listen)


@pytest.mark.parametrize(
    ("sixteenths", "message"),
    [(0, "F2 00 00"), (10, "F2 0A 00"), (128, "F2 00 01"), (16383, "F2 7F 7F")],
)
def test_song_position_is_low_seven_bits_then_high(sixteenths, message):
    """MIDI 1.0 Detailed Specification, Song Position Pointer: F2 lsb msb, 14 bits."""
    assert song_position(sixteenths) == bytes.fromhex(message)


def test_song_positions_beyond_fourteen_bits_are_refused():
    for wrong in (-1, 16384):
        with pytest.raises(ValueError, match="0 to 16383"):
            song_position(wrong)


def test_the_bytes_are_those_of_a_reference_library():
    mido = pytest.importorskip("mido")
    assert bytes(mido.Message("songpos", pos=1000).bytes()) == song_position(1000)
    code = time_code(123456, FrameRate.VIDEO_25)
    for piece in range(8):
        value = quarter_frame(piece, code)[1] & 0x0F
        message = mido.Message("quarter_frame", frame_type=piece, frame_value=value)
        assert bytes(message.bytes()) == quarter_frame(piece, code)


def test_the_eight_pieces_of_a_time_code():
    """MIDI Time Code 1987, quarter frame messages: 01:37:52:16 at 30 frames a second, not drop,
    is sent as F1 00, 11, 24, 33, 45, 52, 61, 76."""
    code = TimeCode(1, 37, 52, 16, FrameRate.FULL_30)
    pieces = [quarter_frame(piece, code)[1] for piece in range(8)]
    assert pieces == [0x00, 0x11, 0x24, 0x33, 0x45, 0x52, 0x61, 0x76]


def test_a_full_message():
    """MIDI Time Code 1987, full message: F0 7F chan 01 01 hr mn sc fr F7, hr = 0yyzzzzz."""
    assert full_frame(TimeCode(1, 2, 3, 4, FrameRate.VIDEO_25)) == bytes.fromhex(
        "F0 7F 7F 01 01 21 02 03 04 F7"
    )


@pytest.mark.parametrize(
    ("frame", "text"),
    [
        (1799, "00:00:59;29"),
        (1800, "00:01:00;02"),
        (17981, "00:09:59;29"),
        (17982, "00:10:00;00"),
        (107892, "01:00:00;00"),
    ],
)
def test_drop_frame_code_leaves_out_two_numbers_a_minute_but_the_tenth(frame, text):
    """SMPTE 12M: 1800 - 2 numbers in a minute, 17982 frames in ten, 107892 in an hour."""
    assert str(time_code(frame, FrameRate.DROP_30)) == text


@given(st.integers(0, 2_500_000))
def test_drop_frame_code_stays_within_two_frames_of_the_clock(frame):
    """That is what it is for: 29.97 frames a second of 30 numbers. (SMPTE 12M, within an hour
    the error stays under two frames.)"""
    code = time_code(frame, FrameRate.DROP_30)
    shown_s = (code.hours * 60 + code.minutes) * 60 + code.seconds + code.frames / 30
    hours = frame / 107892
    assert abs(shown_s - frame * 1001 / 30000) < 0.0834 + 0.004 * hours


@pytest.mark.parametrize("rate", list(FrameRate))
def test_an_hour_of_frames_reads_one_hour(rate):
    assert str(time_code(frames_in_hour(rate), rate))[:8] == "01:00:00"


def test_frames_of_a_time():
    assert frame_at(1.0, FrameRate.VIDEO_25) == 25
    assert frame_at(0.0399, FrameRate.VIDEO_25) == 0
    assert frame_at(0.04, FrameRate.VIDEO_25) == 1


# -- when they are sent ---------------------------------------------------------------------------


def test_from_the_top_start_then_24_clocks_a_quarter(make_machine, make_track):
    """20.8333 ms between clocks at 120 beats a minute; two seconds are four quarters."""
    machine = make_machine(make_track(20.0))
    port = FakePort(machine)
    follow(machine, MidiClockOutput(GRID, port))(2.0)
    assert port.sent[0][1] == b"\xfa"
    clocks = [at for at, message in port.sent if message == b"\xf8"]
    assert len(clocks) == 96
    assert port.bytes == b"\xfa" + b"\xf8" * 96
    assert max(abs(at - k * 0.5 / 24) for k, at in enumerate(clocks)) < 0.0015


def test_from_the_middle_position_and_continue_and_the_clock_on_the_sixteenth(
    make_machine, make_track
):
    """1.3 s is 10.4 sixteenths at 120: position 11, whose clock comes at 1.375 s."""
    machine = make_machine(make_track(20.0))
    port = FakePort(machine)
    machine.player.seek(1.3)
    follow(machine, MidiClockOutput(GRID, port))(0.5)
    assert port.bytes.startswith(bytes.fromhex("F2 0B 00 FB F8"))
    first_clock = next(at for at, message in port.sent if message == b"\xf8")
    assert abs(first_clock - 0.075) < 0.0015


def test_pause_stops_and_going_on_continues(make_machine, make_track):
    machine = make_machine(make_track(20.0))
    port = FakePort(machine)
    run = follow(machine, MidiClockOutput(GRID, port))
    run(1.0)
    machine.player.pause()
    run(1.0)
    assert port.bytes.endswith(b"\xfc")
    machine.player.play()
    run(0.2)
    after = port.bytes[port.bytes.index(b"\xfc") + 1 :]
    assert after[:1] == b"\xf2"
    assert after[3:4] == b"\xfb"


def test_a_loop_sends_its_position_at_each_return(make_machine, make_track):
    """Beats 4 to 8, a breath of a second: stop in the breath, then position 16."""
    machine = make_machine(make_track(20.0))
    port = FakePort(machine)
    machine.player.set_loop(Loop(2.0, 4.0, 1.0))
    machine.player.seek(2.0)
    follow(machine, MidiClockOutput(GRID, port))(6.5)
    one_pass = b"\xf2\x10\x00\xfb" + b"\xf8" * 96 + b"\xfc"
    assert port.bytes.startswith(one_pass * 2 + b"\xf2\x10\x00\xfb")


def test_slowed_music_has_a_slower_clock(make_machine, make_track):
    machine = make_machine(make_track(20.0))
    machine.player.set_rendition(0.5, make_track(40.0))
    port = FakePort(machine)
    follow(machine, MidiClockOutput(GRID, port))(2.0)
    assert port.bytes.count(b"\xf8") == 48


def test_a_beat_of_six_eight_in_two_has_36_clocks():
    """A dotted quarter is 3/2 quarters of 24 clocks."""
    meters = MeterMap(
        (MeterChange(Fraction(0), Meter(6, 8)), MeterChange(Fraction(4), Meter(4, 4)))
    )
    count = QuarterCount(MusicGrid(steady_tempo_map(60), Fraction(64), meters))
    assert count.quarter_at(4.0) == 6.0
    assert count.quarter_at(5.0) == 7.0
    assert count.time_s(Fraction(3, 2)) == 1.0
    assert count.time_s(Fraction(7)) == 5.0


def test_quarters_go_on_counting_through_every_change_of_metre():
    """Four dotted beats are 6 quarters, four plain ones 10 in all, two dotted ones 13."""
    meters = MeterMap(
        tuple(
            MeterChange(Fraction(beat), meter)
            for beat, meter in ((0, Meter(6, 8)), (4, Meter(4, 4)), (8, Meter(6, 8)))
        )
    )
    count = QuarterCount(MusicGrid(steady_tempo_map(60), Fraction(64), meters))
    assert [count.quarter_at(float(beat)) for beat in (2, 4, 8, 10)] == [3, 6, 10, 13]
    assert [count.time_s(Fraction(quarter)) for quarter in (3, 6, 10, 13)] == [2, 4, 8, 10]


@pytest.mark.parametrize("bpm", [97.3, 113.0, 128.7, 174.0])
def test_a_beat_that_is_met_but_for_rounding_is_met(make_machine, make_track, bpm):
    """From a beat on, whose time is a float, the position is that beat's own: 4 sixteenths each."""
    tempo = steady_tempo_map(bpm, 0.31)
    machine = make_machine(make_track(1.0))
    for beat in range(1, 60):
        port = FakePort(machine)
        MidiClockOutput(MusicGrid(tempo, Fraction(64)), port)._locate(tempo.seconds(beat))
        assert port.bytes == song_position(4 * beat) + b"\xfb"


def test_time_code_runs_from_the_hour_with_100_messages_a_second(make_machine, make_track):
    """25 frames a second, four quarter frames each (MIDI Time Code 1987)."""
    machine = make_machine(make_track(20.0))
    port = FakePort(machine)
    follow(machine, TimeCodeOutput(port, FrameRate.VIDEO_25, first_hour=1))(1.0)
    assert port.sent[0][1] == bytes.fromhex("F0 7F 7F 01 01 21 00 00 00 F7")
    pieces = [message for _, message in port.sent[1:]]
    assert len(pieces) == 100
    assert [message[1] >> 4 for message in pieces] == [k % 8 for k in range(100)]
    assert [message[1] & 15 for message in pieces[8:16]] == [2, 0, 0, 0, 0, 0, 1, 2]


def test_time_code_in_the_middle_begins_on_an_even_frame(make_machine, make_track):
    """3.05 s is in frame 76; the next code of two frames begins at frame 78, 3.12 s."""
    machine = make_machine(make_track(20.0))
    port = FakePort(machine)
    machine.player.seek(3.05)
    follow(machine, TimeCodeOutput(port, FrameRate.VIDEO_25, first_hour=0))(0.5)
    assert port.sent[0][1] == bytes.fromhex("F0 7F 7F 01 01 20 00 03 01 F7")
    at, message = port.sent[1]
    assert message == bytes.fromhex("F1 03")
    assert abs(at - 0.07) < 0.0015


def test_an_hour_that_is_none_is_refused(make_machine, make_track):
    with pytest.raises(ValueError, match="0 to 22"):
        TimeCodeOutput(FakePort(make_machine(make_track(1.0))), first_hour=23)
