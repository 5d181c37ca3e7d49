"""Where sync messages go: a MIDI port or an address on the network. Both are extras."""

from collections.abc import Sequence
from typing import Any, Protocol

from composer.errors import DeviceError

INSTALL = 'install it with: pip install "petalbar[sync]"'


class MidiPort(Protocol):
    """Sends whole messages."""

    def send(self, message: bytes) -> None: ...

    def close(self) -> None: ...


class OscTarget(Protocol):
    """Sends one message to an address pattern; arguments are int, float or str."""

    def send(self, address: str, arguments: Sequence[int | float | str]) -> None: ...


def midi_port_names() -> list[str]:
    """The MIDI outputs of this machine.

    Raises
    ------
    DeviceError
        If the MIDI library is missing or the system has no MIDI.
    """
    return [str(name) for name in _midi_outputs(_rtmidi2())]


def open_midi_port(name: str = "") -> MidiPort:
    """Open the output whose name contains ``name``; the first one if that is empty.

    Raises
    ------
    DeviceError
        If the library is missing, there is no such port, or it cannot be opened.
    """
    rtmidi2 = _rtmidi2()
    names = [str(found) for found in _midi_outputs(rtmidi2)]
    matching = [i for i, found in enumerate(names) if name.lower() in found.lower()]
    if not matching:
        there = ", ".join(names) or "none; connect one"
        wanted = f'no MIDI output is called "{name}"' if name else "no MIDI output was found"
        raise DeviceError(f"{wanted}; this machine has: {there}")
    try:
        port = rtmidi2.MidiOut()
        port.open_port(matching[0])
    except Exception as error:  # the library raises bare exceptions of several kinds
        raise DeviceError(
            f'the MIDI output "{names[matching[0]]}" could not be opened ({error}); '
            "see whether another program holds it"
        ) from None
    return _LibraryPort(port, names[matching[0]])


def open_osc_target(host: str, port: int) -> OscTarget:
    """Messages by UDP to a machine on the network.

    Raises
    ------
    DeviceError
        If the OSC library is missing or the address is none.
    """
    try:
        from pythonosc.udp_client import SimpleUDPClient
    except ImportError:
        raise DeviceError(f"sending OSC needs the library python-osc; {INSTALL}") from None
    if not 1 <= port <= 65535:
        raise DeviceError(f"an OSC port is a number from 1 to 65535, not {port}")
    try:
        return _UdpTarget(SimpleUDPClient(host, port), f"{host}:{port}")
    except OSError as error:
        raise DeviceError(
            f"the OSC address {host}:{port} cannot be reached ({error}); check its name"
        ) from None


class _LibraryPort:
    def __init__(self, port: Any, name: str) -> None:
        self._port, self._name = port, name

    def send(self, message: bytes) -> None:
        try:
            self._port.send_raw(*message)
        except Exception as error:  # the library raises bare exceptions of several kinds
            raise DeviceError(
                f'the MIDI output "{self._name}" was lost ({error}); connect it and switch '
                "sync on again"
            ) from None

    def close(self) -> None:
        self._port.close_port()


class _UdpTarget:
    def __init__(self, client: Any, place: str) -> None:
        self._client, self._place = client, place

    def send(self, address: str, arguments: Sequence[int | float | str]) -> None:
        try:
            self._client.send_message(address, list(arguments))
        except OSError as error:
            raise DeviceError(
                f"OSC to {self._place} failed ({error}); check the network and switch sync on again"
            ) from None


def _rtmidi2() -> Any:
    try:
        import rtmidi2
    except ImportError:
        raise DeviceError(f"sending MIDI needs the library rtmidi2; {INSTALL}") from None
    return rtmidi2


def _midi_outputs(rtmidi2: Any) -> Sequence[str]:
    try:
        return list(rtmidi2.get_out_ports())
    except Exception as error:  # the library raises bare exceptions of several kinds
        raise DeviceError(f"this machine offers no MIDI ({error})") from None
