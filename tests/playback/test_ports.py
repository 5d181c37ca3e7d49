"""MIDI ports, OSC and the voice of the system: there, missing or failing."""

import builtins
import socket
import sys
import types
import wave
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np
import pytest

from composer.errors import DeviceError
from composer.playback.device import open_silent_device
from composer.playback.player import Player
from composer.playback.ports import midi_port_names, open_midi_port, open_osc_target
from composer.playback.sync import MidiClockOutput, OscOutput, SyncThread
from composer.playback.voice import find_voice, spoken_calls, spoken_counts
from composer.timing.grid import MusicGrid
from composer.timing.tempo_map import steady_tempo_map

GRID = MusicGrid(steady_tempo_map(120), Fraction(64))


@dataclass(frozen=True)
class Cue:
    beat: Fraction
    call_beat: Fraction
    performer: str = "Ada"
    kind: str = "move"
    text: str = "flower"
    hand: str = "both"


@pytest.fixture
def without(monkeypatch):
    """Make a library look as if it were not installed."""
    real = builtins.__import__

    def forget(library):
        def refuse(name, *args, **kwargs):
            if name.split(".")[0] == library:
                raise ImportError(name)
            return real(name, *args, **kwargs)

        monkeypatch.setattr(builtins, "__import__", refuse)

    return forget


class FakeLibrary(types.ModuleType):
    """What of the MIDI library is used."""

    def __init__(self, names, *, busy=False):
        super().__init__("rtmidi2")
        sent = self.sent = []

        class MidiOut:
            def open_port(self, index):
                if busy:
                    raise RuntimeError("port is busy")
                self.index = index

            def send_raw(self, *message):
                if sent is None or message == (0xFF,):
                    raise RuntimeError("gone")
                sent.append((self.index, bytes(message)))

            def close_port(self):
                sent.append("closed")

        self.MidiOut = MidiOut
        self.get_out_ports = lambda: names


def test_without_the_midi_library_one_line_says_what_to_install(without):
    without("rtmidi2")
    with pytest.raises(DeviceError, match=r"rtmidi2; install it with"):
        open_midi_port()


def test_a_port_is_found_by_part_of_its_name_and_sends_whole_messages(monkeypatch):
    library = FakeLibrary(["Desk 1", "Lights In"])
    monkeypatch.setitem(sys.modules, "rtmidi2", library)
    assert midi_port_names() == ["Desk 1", "Lights In"]
    port = open_midi_port("lights")
    port.send(bytes.fromhex("F2 0A 00"))
    port.close()
    assert library.sent == [(1, b"\xf2\x0a\x00"), "closed"]


def test_missing_busy_and_lost_ports_are_one_line_each(monkeypatch):
    monkeypatch.setitem(sys.modules, "rtmidi2", FakeLibrary(["Desk 1"]))
    with pytest.raises(DeviceError, match=r'no MIDI output is called "lights".*Desk 1'):
        open_midi_port("lights")
    with pytest.raises(DeviceError, match='"Desk 1" was lost'):
        open_midi_port().send(b"\xff")
    monkeypatch.setitem(sys.modules, "rtmidi2", FakeLibrary([]))
    with pytest.raises(DeviceError, match="no MIDI output was found"):
        open_midi_port()
    monkeypatch.setitem(sys.modules, "rtmidi2", FakeLibrary(["Desk 1"], busy=True))
    with pytest.raises(DeviceError, match="could not be opened"):
        open_midi_port()


def test_a_system_without_midi_is_one_line(monkeypatch):
    library = FakeLibrary([])

    def none_here():
        raise RuntimeError("no sequencer")

    library.get_out_ports = none_here
    monkeypatch.setitem(sys.modules, "rtmidi2", library)
    with pytest.raises(DeviceError, match="offers no MIDI"):
        midi_port_names()


# -- OSC ------------------------------------------------------------------------------------------


def test_without_the_osc_library_one_line_says_what_to_install(without):
    without("pythonosc")
    with pytest.raises(DeviceError, match="python-osc; install it with"):
        open_osc_target("127.0.0.1", 9000)


def test_osc_bytes_are_those_of_the_standards_example():
    """Open Sound Control 1.0, examples: the float 440.0 to /oscillator/4/frequency."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as receiver:
        receiver.bind(("127.0.0.1", 0))
        receiver.settimeout(5)
        target = open_osc_target("127.0.0.1", receiver.getsockname()[1])
        target.send("/oscillator/4/frequency", [440.0])
        assert receiver.recv(100) == bytes.fromhex(
            "2f6f7363 696c6c61 746f722f 342f6672 65717565 6e637900 2c660000 43dc0000"
        )


def test_a_port_number_that_is_none_is_refused():
    with pytest.raises(DeviceError, match="1 to 65535"):
        open_osc_target("127.0.0.1", 70000)


@dataclass
class FakeTarget:
    sent: list = field(default_factory=list)

    def send(self, address, arguments):
        self.sent.append((address, *arguments))

    def of(self, address):
        return [row[1:] for row in self.sent if row[0] == address]


def test_osc_tells_beats_calls_and_cues_once_each(make_machine, make_track):
    machine = make_machine(make_track(20.0))
    target = FakeTarget()
    output = OscOutput(GRID, [Cue(Fraction(6), Fraction(2))], target, machine.sample_rate)
    pieces = machine.player.follow()
    machine.player.play()
    machine.run(4.1, 0.007, lambda: [output.hear(piece) for piece in pieces()])
    assert target.of("/petalbar/play") == [(0.0, 1.0)]
    assert target.of("/petalbar/beat") == [(k // 4 + 1, k % 4 + 1, 120.0) for k in range(9)]
    assert target.of("/petalbar/call") == [("Ada", "move", "flower", 4.0)]
    assert target.of("/petalbar/cue") == [("Ada", "move", "flower")]
    addresses = [row[0] for row in target.sent]
    assert addresses.index("/petalbar/call") < addresses.index("/petalbar/cue")


def test_osc_tells_stopping_and_the_tempo_as_heard(make_machine, make_track):
    machine = make_machine(make_track(20.0))
    target = FakeTarget()
    output = OscOutput(GRID, [], target, machine.sample_rate)
    pieces = machine.player.follow()
    machine.player.set_rendition(0.5, make_track(40.0))
    machine.player.play()
    machine.run(2.1, 0.01, lambda: [output.hear(piece) for piece in pieces()])
    machine.player.pause()
    machine.run(0.2, 0.01, lambda: [output.hear(piece) for piece in pieces()])
    assert target.of("/petalbar/beat") == [(1, 1, 60.0), (1, 2, 60.0), (1, 3, 60.0)]
    assert len(target.of("/petalbar/stop")) == 1


class Slot:
    """A port that keeps what it is sent, until it is told to fail."""

    def __init__(self):
        self.sent, self.fails = [], False

    def send(self, message):
        if self.fails:
            raise DeviceError("the MIDI output was lost; connect it")
        self.sent.append(message)

    def close(self):
        pass


def wait_for(condition):
    import time

    deadline_s = time.monotonic() + 10
    while not condition() and time.monotonic() < deadline_s:
        time.sleep(0.005)
    assert condition()


def test_the_sync_thread_sends_by_itself_and_ends_with_stop():
    player = Player(np.zeros((8000 * 20, 1), np.float32), 8000, open_silent_device)
    port = Slot()
    thread = SyncThread(player, [MidiClockOutput(GRID, port)])
    player.play()
    wait_for(lambda: len(port.sent) > 20)
    thread.close()
    player.close()
    assert port.sent[0] == b"\xfa"
    assert set(port.sent[1:-1]) == {b"\xf8"}
    assert port.sent[-1] == b"\xfc"


def test_a_port_lost_in_mid_play_is_a_notice_and_the_music_goes_on():
    player = Player(np.zeros((8000 * 20, 1), np.float32), 8000, open_silent_device)
    port = Slot()
    thread = SyncThread(player, [MidiClockOutput(GRID, port)])
    player.play()
    wait_for(lambda: len(port.sent) > 5)
    port.fails = True
    wait_for(lambda: thread.notice != "")
    assert "connect it" in thread.notice
    before_s = player.position_s()
    wait_for(lambda: player.position_s() > before_s)
    thread.close()
    player.close()


# -- the voice ------------------------------------------------------------------------------------


def a_voice(spoken, *, silent_s=0.3, rate=22050):
    """Stands in for the program: half a second of tone after some silence."""

    def run(command, text):
        spoken.append((command, text))
        path = command[command.index("-w" if "-w" in command else "-o") + 1]
        t = np.arange(rate // 2) / rate
        wave_form = np.concatenate([np.zeros(round(silent_s * rate)), np.sin(2 * np.pi * 300 * t)])
        with wave.open(path, "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(rate)
            file.writeframes((wave_form * 20000).astype("<i2").tobytes())

    return run


@pytest.mark.parametrize("program", ["espeak-ng", "say"])
def test_words_begin_with_their_first_sound_at_the_rate_of_the_track(program):
    spoken = []
    voice = find_voice(lambda name: f"/bin/{name}" if name == program else None, a_voice(spoken))
    words = voice.speak("-v is not an option here", 44100)
    assert abs(len(words) / 44100 - 0.5) < 0.01
    assert 0.3 < np.abs(words).max() <= 1.0
    assert np.argmax(np.abs(words) > 0.3) / 44100 < 0.005
    [(command, text)] = spoken
    assert command[0] == f"/bin/{program}"
    assert text == "-v is not an option here"
    assert text not in command


def test_each_words_are_spoken_once():
    spoken = []
    voice = find_voice(lambda name: f"/bin/{name}", a_voice(spoken))
    cues = [Cue(Fraction(b), Fraction(b)) for b in range(5)]
    assert len(spoken_calls(cues, voice, 44100)) == 5
    assert len(spoken) == 1
    assert len(spoken_counts(voice, 44100)) == 8
    assert [text for _, text in spoken[1:3]] == ["one", "two"]


def test_without_a_voice_one_line_says_what_to_install():
    with pytest.raises(DeviceError, match=r"no voice was found.*tones"):
        find_voice(lambda _name: None)


def test_a_voice_that_fails_is_one_line():
    def fail(_command, _text):
        raise OSError("no such file")

    voice = find_voice(lambda name: f"/bin/{name}", fail)
    with pytest.raises(DeviceError, match='could not say "one"'):
        voice.speak("one", 44100)


def test_a_voice_that_says_nothing_gives_no_samples():
    def run(command, _text):
        with wave.open(command[-1], "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(22050)

    voice = find_voice(lambda name: f"/bin/{name}", run)
    assert len(voice.speak("", 44100)) == 0
