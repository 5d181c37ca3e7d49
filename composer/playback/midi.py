"""MIDI messages that keep other machines in time: clock, song position, time code.

Bytes as in the MIDI 1.0 Detailed Specification (system common and real-time messages) and MIDI
Time Code, its supplement of 12 February 1987.
"""

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from math import floor

CLOCK, START, CONTINUE, STOP = b"\xf8", b"\xfa", b"\xfb", b"\xfc"
CLOCKS_PER_QUARTER = 24
SIXTEENTHS_PER_QUARTER = 4
LAST_SIXTEENTH = 0x3FFF
EVERYONE = 0x7F


def song_position(sixteenths: int) -> bytes:
    """F2 with the number of sixteenth notes since the song began, low seven bits first.

    Raises
    ------
    ValueError
        If it does not fit fourteen bits.
    """
    if not 0 <= sixteenths <= LAST_SIXTEENTH:
        raise ValueError(f"a song position is 0 to {LAST_SIXTEENTH}, got {sixteenths}")
    return bytes((0xF2, sixteenths & 0x7F, sixteenths >> 7))


class FrameRate(Enum):
    """Frames a second of a time code, and its code in the message."""

    FILM_24 = (0, 24, Fraction(24))
    VIDEO_25 = (1, 25, Fraction(25))
    DROP_30 = (2, 30, Fraction(30000, 1001))
    FULL_30 = (3, 30, Fraction(30))

    @property
    def code(self) -> int:
        return self.value[0]

    @property
    def counted(self) -> int:
        """Frame numbers in a second."""
        return self.value[1]

    @property
    def exact(self) -> Fraction:
        """Frames that pass in a second."""
        return self.value[2]


@dataclass(frozen=True, slots=True)
class TimeCode:
    hours: int
    minutes: int
    seconds: int
    frames: int
    rate: FrameRate

    def __str__(self) -> str:
        mark = ";" if self.rate is FrameRate.DROP_30 else ":"
        return f"{self.hours:02}:{self.minutes:02}:{self.seconds:02}{mark}{self.frames:02}"


def time_code(frame: int, rate: FrameRate) -> TimeCode:
    """The time code of the frame so many frames after midnight.

    In drop-frame code the numbers 0 and 1 are left out at the start of every minute that is not
    a multiple of ten, so that it keeps clock time at 29.97 frames a second (SMPTE 12M).

    Raises
    ------
    ValueError
        If the frame is negative.
    """
    if frame < 0:
        raise ValueError(f"time code begins at frame 0, got {frame}")
    if rate is FrameRate.DROP_30:
        frame = _numbered_with_drops(frame)
    seconds, frames = divmod(frame, rate.counted)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return TimeCode(hours % 24, minutes, seconds, frames, rate)


def frames_in_hour(rate: FrameRate) -> int:
    """Frames from one full hour of the code to the next; drop-frame code leaves out 108."""
    return 3600 * rate.counted - (108 if rate is FrameRate.DROP_30 else 0)


def _numbered_with_drops(frame: int) -> int:
    in_minute, in_ten_minutes = 60 * 30 - 2, 10 * 60 * 30 - 18
    tens, rest = divmod(frame, in_ten_minutes)
    later_minutes = max(0, (rest - 2) // in_minute)
    return frame + 18 * tens + 2 * later_minutes


def quarter_frame(piece: int, code: TimeCode) -> bytes:
    """F1 with one of the eight pieces of a time code: low and high parts of frames, seconds,
    minutes, hours; the last also holds the kind of frame rate.

    Raises
    ------
    ValueError
        If the piece is not 0 to 7.
    """
    if not 0 <= piece <= 7:
        raise ValueError(f"a time code has pieces 0 to 7, got {piece}")
    hours = code.hours | code.rate.code << 5
    value = (code.frames, code.seconds, code.minutes, hours)[piece // 2]
    nibble = value >> 4 if piece % 2 else value & 0x0F
    return bytes((0xF1, piece << 4 | nibble))


def full_frame(code: TimeCode) -> bytes:
    """The whole time code in one message, for jumps: F0 7F 7F 01 01 hours minutes seconds
    frames F7."""
    hours = code.hours | code.rate.code << 5
    place = (hours, code.minutes, code.seconds, code.frames)
    return bytes((0xF0, 0x7F, EVERYONE, 0x01, 0x01, *place, 0xF7))


def frame_at(time_s: float, rate: FrameRate) -> int:
    """The frame that a track time lies in; a time within a microsecond of one counts as it."""
    return floor(time_s * float(rate.exact) + 1e-6 * float(rate.exact))
