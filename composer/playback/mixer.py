"""Music and the sounds laid over it, mixed into one block of samples."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from composer.playback.due import Caller, TimedCue
from composer.playback.timeline import Entry, Piece

Samples = NDArray[np.float32]
"""Shape (frames, channels) for music, (frames,) for the sounds laid over it."""

DUCK_DOWN_S, DUCK_UP_S = 0.04, 0.3


@dataclass(frozen=True, slots=True)
class Start:
    """A sound that begins on an output frame."""

    out_frame: int
    sound: Samples
    ducks: bool = False
    """Whether the music is lowered while it sounds."""


class Layer(Protocol):
    """Something that puts sounds over the music."""

    def starts(self, piece: Piece) -> list[Start]: ...


class Beeper:
    """Sounds at fixed track times: the click on top of the music, the count before it."""

    def __init__(
        self, times_s: Sequence[float], sounds: Sequence[Samples], *, in_music: bool
    ) -> None:
        if len(times_s) != len(sounds):
            raise ValueError(f"{len(times_s)} times need as many sounds, got {len(sounds)}")
        order = np.argsort(times_s, kind="stable")
        self._times_s = np.asarray(times_s, dtype=float)[order]
        self._sounds = [sounds[i] for i in order]
        self._in_music = in_music

    def starts(self, piece: Piece) -> list[Start]:
        """Sounds in [from_s, to_s): in the music, or else only in silent run-ups to it."""
        if piece.span.still or piece.span.sounding != self._in_music:
            return []
        first, last = np.searchsorted(self._times_s, (piece.from_s, piece.to_s), side="left")
        return [
            Start(round(piece.out_frame_at(float(self._times_s[i]))), self._sounds[i])
            for i in range(int(first), int(last))
        ]


class SpokenCues:
    """Sounds of the calls, one after another when several are due at once."""

    def __init__(self, caller: Caller, sounds: dict[TimedCue, Samples], pause_frames: int) -> None:
        self.caller = caller
        self._sounds = sounds
        self._pause_frames = pause_frames
        self._free_frame = 0

    def starts(self, piece: Piece) -> list[Start]:
        found = []
        if piece.entry is Entry.JUMP:
            self._free_frame = 0
        for made in self.caller.announce(piece):
            sound = self._sounds.get(made.call.cue)
            if sound is not None:
                frame = max(round(piece.out_frame_at(made.at_s)), self._free_frame)
                self._free_frame = frame + len(sound) + self._pause_frames
                found.append(Start(frame, sound, ducks=True))
        return found


@dataclass
class Mixer:
    """Adds running sounds to blocks of music and lowers the music under those that ask."""

    sample_rate: int
    music_gain: float = 1.0
    duck_gain: float = 0.35
    """About -9 dB."""
    _running: list[Start] = field(default_factory=list)
    _duck: float = 1.0

    def add(self, start: Start) -> None:
        self._running.append(start)

    def fall_silent(self) -> None:
        self._running.clear()

    def mix(self, block: Samples, out_frame: int) -> None:
        """Lower and add in place; ``block`` starts at ``out_frame``.

        With nothing to lower or add, the block stays as it is, to the last bit.
        """
        end = out_frame + len(block)
        self._lower(block, any(s.ducks and s.out_frame < end for s in self._running))
        for start in self._running:
            _add(block, start, out_frame)
        self._running = [s for s in self._running if s.out_frame + len(s.sound) > end]

    def _lower(self, block: Samples, ducked: bool) -> None:
        goal = self.duck_gain if ducked else 1.0
        if self._duck == goal == 1.0:
            if self.music_gain != 1.0:
                block *= np.float32(self.music_gain)
            return
        seconds = DUCK_DOWN_S if ducked else DUCK_UP_S
        step = (goal - self._duck) and np.copysign(
            (1.0 - self.duck_gain) / (seconds * self.sample_rate), goal - self._duck
        )
        ramp = self._duck + step * np.arange(1, len(block) + 1)
        ramp = np.clip(ramp, min(self._duck, goal), max(self._duck, goal))
        self._duck = float(ramp[-1])
        block *= (ramp * self.music_gain).astype(np.float32)[:, None]


def _add(block: Samples, start: Start, out_frame: int) -> None:
    offset = start.out_frame - out_frame
    into, from_ = max(offset, 0), max(-offset, 0)
    count = min(len(block) - into, len(start.sound) - from_)
    if count > 0:
        block[into : into + count] += start.sound[from_ : from_ + count, None]
