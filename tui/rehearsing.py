"""Opening a rehearsal: routine, track, device and settings put together."""

import time
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np

from composer.check.checks import check_routine
from composer.check.findings import Finding
from composer.errors import ComposerError
from composer.files.analysis_cache import cache_folder
from composer.files.keys_file import user_folder
from composer.files.routine_track import find_track
from composer.files.settings_file import SETTINGS_FILE, Settings, load_settings
from composer.files.track import Track, decode_track
from composer.moves.library import Library
from composer.playback.clock import TimeSource
from composer.playback.device import OpenDevice, open_silent_device, open_system_device
from composer.playback.ports import open_midi_port, open_osc_target
from composer.playback.sync import (
    MidiClockOutput,
    OscOutput,
    SyncOutput,
    SyncThread,
    TimeCodeOutput,
)
from composer.score.routine import Routine
from tui.screens.rehearse import RehearseScreen

SILENT_HZ = 8000
HEARING = "hearing: 85 dB(A) for 8 hours at most, half as long for every 3 dB more (NIOSH)"
"""Shown until something else is said; the level itself is not measured."""


@dataclass(frozen=True, slots=True)
class Music:
    """The sound of a routine; silence of the right length where the track is gone."""

    track: Track
    notice: str = ""


def music_of(routine: Routine, path: Path) -> Music:
    """Decode the routine's track, or stand in for it so that the rehearsal goes on silently."""
    found = find_track(routine, path)
    if found.path is not None:
        return Music(decode_track(found.path), found.notice)
    length_s = routine.grid.tempo_map.seconds(routine.grid.end_beat) + 2
    frames = round(max(length_s, routine.track.duration_s) * SILENT_HZ)
    silence = np.zeros((frames, 1), dtype=np.float32)
    return Music(Track(path, silence, SILENT_HZ, "silence"), found.notice)


class DeviceOrSilence:
    """Opens this machine's sound device; where there is none, time runs on without sound."""

    def __init__(self, wanted: OpenDevice = open_system_device) -> None:
        self._wanted = wanted
        self.notice = ""

    def __call__(self, sample_rate: int, channels: int):  # type: ignore[no-untyped-def]
        try:
            return self._wanted(sample_rate, channels)
        except ComposerError as error:
            self.notice = f"going on without sound: {error}"
            return open_silent_device(sample_rate, channels)


def rehearse_screen(
    routine: Routine,
    path: Path,
    library: Library,
    *,
    performer: str = "",
    start_beat: Fraction = Fraction(0),
    findings: Sequence[Finding] | None = None,
    open_device: OpenDevice = open_system_device,
    clock: TimeSource = time.monotonic,
) -> RehearseScreen:
    """A screen ready to be shown.

    Raises
    ------
    ComposerError
        If the track is there but cannot be decoded, or there is no such performer.
    """
    music = music_of(routine, path)
    device = DeviceOrSilence(open_device)
    probe = device(music.track.sample_rate_hz, music.track.samples.shape[1])
    probe.close()
    settings, wrong = _settings()
    return RehearseScreen(
        routine,
        library,
        music.track,
        device,
        routine_path=path,
        cache=cache_folder().parent / "slowed",
        performer=performer,
        findings=tuple(check_routine(routine, library) if findings is None else findings),
        settings=settings,
        start_beat=start_beat,
        has_sound=not device.notice,
        notice=music.notice or device.notice or wrong or HEARING,
        clock=clock,
    )


def _settings() -> tuple[Settings, str]:
    try:
        return load_settings(user_folder() / SETTINGS_FILE), ""
    except ComposerError as error:
        return Settings(), str(error)


def open_sync(
    screen: RehearseScreen,
    *,
    midi_clock: str | None = None,
    time_code: str | None = None,
    osc: str | None = None,
) -> SyncThread | None:
    """Keep other machines in time with what the screen plays; None where none is asked for.

    Raises
    ------
    ComposerError
        If a library or a port is missing, or an address is none.
    """
    grid, outputs = screen.routine.grid, list[SyncOutput]()
    if midi_clock is not None:
        outputs.append(MidiClockOutput(grid, open_midi_port(midi_clock)))
    if time_code is not None:
        outputs.append(TimeCodeOutput(open_midi_port(time_code)))
    if osc is not None:
        host, _, port = osc.rpartition(":")
        if not host or not port.isdecimal():
            raise ComposerError(f"an OSC address is written like 192.0.2.7:9000, not {osc}")
        target = open_osc_target(host, int(port))
        outputs.append(OscOutput(grid, screen.cues, target, screen.track.sample_rate_hz))
    return SyncThread(screen.rehearsal.player, outputs) if outputs else None
