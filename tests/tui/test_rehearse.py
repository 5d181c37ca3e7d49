"""The rehearsal screen: the next move is called on the beat, passes are marked, speeds change.

The track is the shipped one, decoded; the device is one that the test pulls samples out of.
"""

import datetime
import socket
from fractions import Fraction
from pathlib import Path
from threading import Event

import numpy as np
import pytest

from composer.errors import ComposerError
from composer.files.practice_log import practice_log_path, read_log
from composer.files.routine_file import load_routine
from composer.files.settings_file import Settings, load_settings, save_settings
from composer.moves.library import shipped_library
from composer.playback.device import HandDevice
from composer.playback.plan import DayTally
from composer.score.cues import cue_list
from composer.score.parts import performed_part
from tui.rehearsal_app import RehearsalApp
from tui.rehearsing import open_sync, rehearse_screen
from tui.screens.practice_plan import PracticePlan
from tui.screens.rehearse import RehearseScreen
from tui.screens.rehearse_practising import SETTLED_S
from tui.views.paper import plain
from tui.views.planning import day_chart
from tui.views.rehearse_keys import REHEARSE_ACTIONS
from tui.views.rehearsing import phrase_line, stage_lines, standing
from tui.widgets.lines import Lines, Picture
from tui.widgets.pick_list import PickList

ROOT = Path(__file__).parents[2]
ROUTINE = ROOT / "routines" / "lantern_quay.toml"
LIBRARY = shipped_library()


@pytest.fixture
def routine_path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the demo routine beside which a log can be written, with settings of its own."""
    for name in ("XDG_CONFIG_HOME", "XDG_CACHE_HOME", "XDG_STATE_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name))
    path = tmp_path / "quay.toml"
    track = ROOT / "demo_tracks" / "harbour_lanterns.ogg"
    path.write_text(ROUTINE.read_text().replace("../demo_tracks/harbour_lanterns.ogg", str(track)))
    return path


class Desk:
    """The screen with a device under the test's hand: music moves only when it is pulled."""

    def __init__(self, path: Path) -> None:
        self.device = HandDevice()
        self.time_s = 100.0
        self.screen: RehearseScreen = rehearse_screen(
            load_routine(path),
            path,
            LIBRARY,
            open_device=lambda _rate, _channels: self.device,
            clock=lambda: self.time_s,
        )
        self.app = RehearsalApp(self.screen)

    def hear(self, seconds: float) -> None:
        rate = self.screen.track.sample_rate_hz
        for _ in range(round(seconds * 10)):
            self.device.pull(rate // 10)
            self.time_s += 0.1

    def text(self) -> str:
        shown = [*self.screen.query(Lines), *self.screen.query(Picture)]
        return "\n".join(plain(line) for widget in shown for line in widget.lines)


def here(beat: float) -> object:
    routine = load_routine(ROUTINE)
    return standing(
        routine.grid,
        performed_part(routine, "Wren"),
        cue_list(routine, "Wren"),
        beat,
        bar=1,
        count=1,
        counting=False,
    )


def test_what_is_on_and_what_comes_at_a_beat() -> None:
    """Read off the demo routine by hand: static spins for 8 beats, then pendulums for 8."""
    seen = here(0.0)
    assert (seen.now, seen.now_left_beats) == ("static spins at both sides", 8)
    assert (seen.next, seen.next_in_beats, seen.called) == ("mirrored pendulums", 8, False)
    assert (seen.phrase, seen.phrase_passed, seen.phrase_beats) == ("intro", 0, 16)
    seen = here(4.0)
    assert (seen.next_in_beats, seen.called) == (4, True), "called a bar ahead"
    seen = here(7.9)
    assert seen.next_in_beats == 1
    seen = here(8.0)
    assert (seen.now, seen.next) == ("mirrored pendulums", "mirrored one-and-a-halves")


def test_after_the_last_move_nothing_comes() -> None:
    seen = here(186.0)
    assert (seen.now, seen.next, seen.next_in_beats) == ("", "", None)
    assert "the end" in "\n".join(plain(line) for line in stage_lines(seen, 20, 8))


@pytest.mark.parametrize(("columns", "rows"), [(60, 11), (80, 18), (200, 44)])
def test_the_large_part_fits_its_room(columns: int, rows: int) -> None:
    for beat in (0.0, 30.0, 64.0, 186.0):
        lines = stage_lines(here(beat), columns, rows)
        assert len(lines) <= rows
        assert all(len(plain(line)) <= columns for line in lines)
        assert len(plain(phrase_line(here(beat), columns))) <= columns


def test_a_chart_is_low_where_it_failed_and_high_where_it_was_clean() -> None:
    day = datetime.date(2027, 1, 1)
    assert day_chart([DayTally(day, 0, 3), DayTally(day, 3, 0)]) == "▁█"


async def test_from_play_to_a_marked_pass(routine_path: Path) -> None:
    desk = Desk(routine_path)
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await pilot.pause(0.2)
        assert "paused" in desk.text()
        await pilot.press("space")
        desk.hear(3.0)
        await pilot.pause(0.2)
        assert "playing" in desk.text()
        desk.screen.rehearsal.go_to(Fraction(6))
        desk.hear(0.5)
        await pilot.pause(0.2)
        assert "next, called" in desk.text()

        await pilot.press("d")
        assert desk.screen.rehearsal.passage.loops
        desk.hear(8.0)
        await pilot.press("c")
        await pilot.pause(0.1)
        log = read_log(practice_log_path(routine_path)).passes
        assert [(one.clean, one.percent) for one in log] == [(True, 100)], desk.text()
        assert "clean: " in desk.text()

        await pilot.press("g")
        await pilot.pause(0.3)
        assert isinstance(desk.app.screen, PracticePlan)
        await pilot.press("escape")
        await pilot.press("q")
    assert desk.app.return_code == 0


async def test_settings_are_kept_for_the_next_time(routine_path: Path, tmp_path: Path) -> None:
    desk = Desk(routine_path)
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await pilot.press("s", "1", "w", "w")
        await pilot.pause(0.1)
    kept = load_settings(tmp_path / "XDG_CONFIG_HOME" / "petalbar" / "rehearsal.toml")
    assert kept == Settings(calls="text", count_in_bars=2, click=True)


async def test_a_lost_device_is_told_and_resumed_in_place(routine_path: Path) -> None:
    desk = Desk(routine_path)
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await pilot.press("space")
        desk.hear(4.0)
        for _ in range(8):  # noticed within a second
            desk.time_s += 0.1
            await pilot.pause(0.06)
        assert "sound lost" in desk.text()
        before = desk.screen.rehearsal.tick().beat
        await pilot.press("enter")
        desk.hear(0.1)
        await pilot.pause(0.1)
        assert desk.screen.rehearsal.tick().beat == pytest.approx(before, abs=1.0)


async def test_without_track_and_device_the_rehearsal_goes_on_silently(routine_path: Path) -> None:
    text = routine_path.read_text()
    routine_path.write_text(text.replace("harbour_lanterns.ogg", "gone.ogg"))
    desk = Desk(routine_path)
    assert not desk.screen.track.samples.any()
    assert desk.screen.track.duration_s > 87
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await pilot.pause(0.2)
        assert "gone.ogg" in desk.text()


async def test_a_small_terminal_gets_one_clear_line(routine_path: Path) -> None:
    desk = Desk(routine_path)
    async with desk.app.run_test(size=(40, 10)) as pilot:
        await pilot.pause(0.2)
        assert "at least 60 by 16" in plain(desk.screen.query_one("#too-small", Lines).lines[0])


def test_settings_that_are_none_are_refused_in_one_line(tmp_path: Path) -> None:
    wrong = tmp_path / "rehearsal.toml"
    assert load_settings(wrong) == Settings()
    wrong.write_text('calls = "shouted"\n')
    with pytest.raises(ComposerError, match="mend or delete"):
        load_settings(wrong)
    save_settings(Settings(offset_ms=120.0), tmp_path / "new" / "rehearsal.toml")
    assert load_settings(tmp_path / "new" / "rehearsal.toml").offset_ms == 120.0


def test_a_stand_in_for_the_track_is_as_long_as_the_music(routine_path: Path) -> None:
    desk = Desk(routine_path)
    assert np.abs(desk.screen.track.samples).max() > 0.1


def test_a_cue_reaches_another_machine_when_it_is_heard(routine_path: Path) -> None:
    """Over UDP on this machine; the message's layout is that of OSC 1.0: address, types, values."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as there:
        there.bind(("127.0.0.1", 0))
        there.settimeout(5)
        desk = Desk(routine_path)
        sync = open_sync(desk.screen, osc=f"127.0.0.1:{there.getsockname()[1]}")
        assert sync is not None
        try:
            desk.screen.rehearsal.rehearse(desk.screen.rehearsal.passage)
            desk.hear(4.0)
            heard = {there.recv(1024).split(b"\0")[0] for _ in range(3)}
        finally:
            sync.close()
            desk.screen.rehearsal.close()
    assert b"/petalbar/play" in heard
    assert heard <= {b"/petalbar/play", b"/petalbar/beat", b"/petalbar/call", b"/petalbar/cue"}


@pytest.mark.parametrize("address", ["nowhere", "127.0.0.1:", "127.0.0.1:99999", ":9000"])
def test_an_address_that_is_none_is_one_line(routine_path: Path, address: str) -> None:
    desk = Desk(routine_path)
    with pytest.raises(ComposerError) as caught:
        open_sync(desk.screen, osc=address)
    assert "\n" not in str(caught.value)
    assert open_sync(desk.screen) is None


async def test_steps_of_speed_add_up_and_are_made_once(
    routine_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from composer.playback import slowdown

    made: list[int] = []
    let_go = Event()

    def slowed(samples: np.ndarray, _rate: int, _sha: str, percent: int, *_: object, **__: object):
        made.append(percent)
        assert let_go.wait(60)
        return np.zeros((round(len(samples) * 100 / percent), samples.shape[1]), np.float32)

    monkeypatch.setattr(slowdown, "slowed", slowed)
    desk = Desk(routine_path)
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await pilot.press(*["down"] * 6)
        assert "making 70 %" in desk.text()
        await pilot.pause(SETTLED_S + 0.2)
        let_go.set()
        await pilot.app.workers.wait_for_complete()
        await pilot.pause()
        assert (made, desk.screen.rehearsal.percent) == ([70], 70)
        await pilot.press(*["up"] * 6)
        assert desk.screen.rehearsal.percent == 100
    assert made == [70], "full speed is the track itself"


async def test_every_key_is_in_the_help_and_in_its_place(routine_path: Path) -> None:
    desk = Desk(routine_path)
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await pilot.press("question_mark")
        await pilot.pause(0.1)
        rows = desk.app.screen.query_one(PickList).rows
        text = "\n".join(plain(row) for row in rows)
        for action in REHEARSE_ACTIONS:
            assert action.words in text
        assert max(len(plain(row).partition("  (")[0]) for row in rows) <= 74
    bound = {one.id: one.key for one in RehearseScreen.BINDINGS}
    assert bound == {f"rehearse-{one.name}": one.keys for one in REHEARSE_ACTIONS}


async def test_lateness_is_not_measured_where_nothing_sounds(routine_path: Path) -> None:
    desk = Desk(routine_path)
    desk.screen.has_sound = False
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await pilot.press("v")
        await pilot.pause(0.1)
        assert desk.app.screen is desk.screen
        assert "no sound here" in desk.text()


async def test_the_plan_says_its_reason_in_full(routine_path: Path) -> None:
    desk = Desk(routine_path)
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await pilot.press("g")
        await pilot.pause(0.3)
        plan = desk.app.screen
        why = "\n".join(plain(line) for line in plan.query_one("#why", Lines).lines)
        assert "into" in why
        assert "not practised yet" in why
        await pilot.press("down")
        await pilot.pause(0.1)
        after = "\n".join(plain(line) for line in plan.query_one("#why", Lines).lines)
        assert after != why


async def test_passes_are_counted_while_the_plan_lies_over_the_screen(routine_path: Path) -> None:
    desk = Desk(routine_path)
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await pilot.press("f", "g")
        await pilot.pause(0.1)
        assert isinstance(desk.app.screen, PracticePlan)
        for _ in range(20):  # phrase of 16 beats at 126: about 7.6 s, and what leads into it
            desk.hear(1.0)
            await pilot.pause(0.06)
        await pilot.press("escape")
        await pilot.pause(0.2)
        assert "loop, pass 1" not in desk.text()
        assert "loop, pass" in desk.text()
