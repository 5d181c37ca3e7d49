"""The music screen: each correction by its keys, read from the screen and from the routine."""

import wave
from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from textual.pilot import Pilot

from composer.files.journal import recover
from composer.files.routine_file import load_routine, save_routine
from composer.playback.device import HandDevice, open_silent_device
from composer.playback.player import Player
from composer.score.routine import Routine
from composer.timing.beats import BeatSpan
from composer.timing.corrections import Correction
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.tempo_map import Knot, TempoMap
from tui.app import PetalbarApp
from tui.opening import open_routine
from tui.screens.compose import ComposeScreen
from tui.screens.music import MusicScreen
from tui.views.key_lines import key_help, key_lines
from tui.views.music import (
    Standing,
    music_block,
    music_view,
    standing,
    standing_words,
    strokes,
    tapped_words,
)
from tui.views.music_keys import MUSIC_ACTIONS, MUSIC_KEYS
from tui.views.paper import plain
from tui.views.rows import Zoom
from tui.views.sheet import GUTTER_CELLS
from tui.views.sound import Sound
from tui.widgets.music_sheet import MusicSheet
from tui.widgets.pick_list import PickList

from .driving import press, shown

Opened = Callable[..., PetalbarApp]
RATE_HZ = 50.0


def sound_struck(*times_s: float, length_s: float = 40.0) -> Sound:
    """A stroke of full strength at each time, a triangle of 40 ms to either side."""
    at_s = np.arange(int(length_s * RATE_HZ)) / RATE_HZ
    shape = np.zeros(len(at_s))
    for time_s in times_s:
        shape = np.maximum(shape, np.clip(1 - np.abs(at_s - time_s) / 0.04, 0, 1))
    return Sound(np.full(len(at_s), -20, np.float32), shape.astype(np.float32), RATE_HZ)


def steady(bpm: float = 120.0, first_s: float = 1.0, beats: int = 64) -> MusicGrid:
    return MusicGrid(
        TempoMap((Knot(Fraction(0), first_s), Knot(Fraction(beats), first_s + 60 * beats / bpm))),
        Fraction(beats),
        phrases=(Phrase(Fraction(0), "A"), Phrase(Fraction(32), "B", locked=True)),
    )


# ------------------------------------------------------------------ what is drawn


@pytest.mark.parametrize("width", [79, 199])
def test_a_stroke_on_a_beat_stands_over_that_beats_sign(width: int) -> None:
    """Beat b of this grid sounds at 1 + b/2 s; only beats 0 and 5 are struck."""
    view = music_view(steady(), width, Zoom.EIGHTS, sound_struck(1.0, 3.5))
    row = next(r for r in view.rows if r.span.start_beat == 0)
    struck = strokes(view, row)
    for beat in range(8):
        column = view.geometry.column(row, Fraction(beat)) - GUTTER_CELLS
        assert (struck[column] == "█") == (beat in (0, 5))


def test_a_late_grid_shows_its_strokes_to_the_left_of_the_signs() -> None:
    """The grid is 125 ms late: a quarter of a beat, 5 of the 22 columns of a beat here."""
    view = music_view(steady(first_s=1.125), 199, Zoom.EIGHTS, sound_struck(1.5))
    row = next(r for r in view.rows if r.span.start_beat == 0)
    sign = view.geometry.column(row, Fraction(1)) - GUTTER_CELLS
    peak = strokes(view, row).index("█")
    assert sign - peak in (5, 6)


def test_bars_counts_phrases_metres_and_tempi_are_written() -> None:
    base = steady()
    knots = (*base.tempo_map.knots[:1], Knot(Fraction(32), 17.0), Knot(Fraction(64), 41.0))
    view = music_view(replace(base, tempo_map=TempoMap(knots)), 79, Zoom.EIGHTS, None)
    index = next(i for i, r in enumerate(view.rows) if r.span.start_beat == 32)
    heading, _, counts = (plain(line) for line in music_block(view, index))
    assert "B · bars 9-16 · 32 beats · locked" in heading
    assert "┃1" in counts
    assert "╵2" in counts
    assert "♩=80.0 ┃1♩" in counts  # 32 beats in 24 s
    assert counts.lstrip().startswith("0:17.00")


def test_what_lies_before_beat_0_is_shown_with_its_time() -> None:
    view = music_view(steady(first_s=1.0), 79, Zoom.EIGHTS, None)
    assert view.rows[0].span.start_beat == -4
    assert plain(music_block(view, 0)[-1]).lstrip().startswith("-0:01.00")


@pytest.mark.parametrize("late_ms", [-30, -7, 0, 12, 40])
def test_how_far_strokes_lie_from_the_beats_is_measured(late_ms: int) -> None:
    """Strokes are drawn every 20 ms; a parabola finds the top between to within 3 ms."""
    grid = steady()
    struck = [1 + b / 2 + late_ms / 1000 for b in range(32)]
    found = standing(grid, sound_struck(*struck), BeatSpan(Fraction(0), Fraction(32)))
    assert found is not None
    assert found.late_ms == pytest.approx(late_ms, abs=3)
    assert found.beats == 32


def test_silence_and_few_strokes_are_not_measured_by() -> None:
    span = BeatSpan(Fraction(0), Fraction(32))
    assert standing(steady(), sound_struck(), span) is None
    assert standing(steady(), sound_struck(1.0, 1.5), span) is None
    assert "too few" in standing_words(None, "A")
    words = standing_words(Standing(-6.2, 3.0, 30, 32), "A")
    assert words == "A is struck 6 ms before the beats, half within 3 ms (30 of 32 beats)"


@pytest.mark.parametrize(
    ("taps_s", "words"),
    [
        ((), "0 taps"),
        ((1.0,), "1 tap; four or more"),
        ((1.0, 1.5, 2.0, 2.5), "4 taps: 120.0 beats a minute, half within 0 ms"),
        ((1.0, 1.0, 1.0, 1.0), "4 taps at once make no tempo"),
    ],
)
def test_taps_so_far_in_words(taps_s: tuple[float, ...], words: str) -> None:
    assert words in tapped_words(taps_s)


# ------------------------------------------------------------------ keys


def test_no_two_actions_share_a_key_or_a_name() -> None:
    names = [action.name for action in MUSIC_ACTIONS]
    keys = [key for action in MUSIC_ACTIONS for key in action.keys.split(",")]
    assert len(set(names)) == len(names)
    assert len(set(keys)) == len(keys)


def test_help_names_every_action_and_own_keys_show() -> None:
    text = "\n".join(plain(line) for line in key_help(MUSIC_KEYS, {}))
    for action in MUSIC_ACTIONS:
        assert action.words in text
    tap = next(action for action in MUSIC_ACTIONS if action.name == "tap")
    assert "j tap" in plain(key_lines(MUSIC_KEYS, {MUSIC_KEYS.own_name(tap): "j"}, 80)[0])


def test_the_way_back_and_help_are_on_the_key_lines_of_a_narrow_window() -> None:
    text = " ".join(plain(line) for line in key_lines(MUSIC_KEYS, {}, 80))
    assert "q back" in text
    assert "? help" in text
    assert all(len(plain(line)) <= 80 for line in key_lines(MUSIC_KEYS, {}, 80))


def music_screen(pilot: Pilot[int]) -> MusicScreen:
    screen = pilot.app.screen
    assert isinstance(screen, MusicScreen)
    return screen


def routine_of(pilot: Pilot[int]) -> Routine:
    return music_screen(pilot).desk.routine


def start_s(pilot: Pilot[int], beat: int = 0) -> float:
    return routine_of(pilot).grid.tempo_map.seconds(beat)


@pytest.fixture
def routine(piece: SimpleNamespace) -> Routine:
    """120 to the minute from 0 s, phrases of 32 beats, moves on beats 0 and 32."""
    made: Routine = piece.routine_of(
        piece.placed(0, 8, "extension"), piece.placed(32, 8, "extension")
    )
    return made


@pytest.mark.parametrize(
    ("keys", "first_s", "told"),
    [
        (["greater_than_sign"], 0.5, "bars a beat later: 2 moves sound 0.50 s later"),
        (["less_than_sign"], -0.5, "2 moves sound 0.50 s earlier"),
        (["h"], 0.25, "2 moves sound 0.25 s later"),
        (["full_stop", "full_stop"], 0.01, "beats 5 ms later: 2 moves sound 0.005 s later"),
        (["comma"], -0.005, "2 moves sound 0.005 s earlier"),
        (["right", "1"], 0.5, "count 1 is here: 2 moves sound 0.50 s later"),
        (["o", *"40", "enter"], 0.04, "beats 40 ms later"),
        (["o", *"-40", "enter"], -0.04, "beats 40 ms earlier"),
        (["plus"], 0.0, "tempo doubled: 1 of 2 moves sound 8.00 s earlier"),
        (["minus"], 0.0, "1 move now after the music"),
    ],
)
async def test_beats_are_put_right_and_what_moved_is_told(
    routine: Routine, opened: Opened, keys: list[str], first_s: float, told: str
) -> None:
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M", *keys)
        assert start_s(pilot) == pytest.approx(first_s, abs=1e-6)
        assert told in " ".join(shown(pilot).split())
        assert routine_of(pilot).parts == routine.parts
        assert routine_of(pilot).corrections
        await press(pilot, *["u"] * (2 if keys[0] == "full_stop" else 1))
        assert routine_of(pilot).grid == routine.grid
        assert routine_of(pilot).corrections == ()


async def test_a_metre_all_along_from_a_bar_and_in_a_phrase(
    routine: Routine, opened: Opened
) -> None:
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M", "m", "down", "enter", "enter")
        assert str(routine_of(pilot).grid.meter_map.meter_at(Fraction(0))) == "3/4"
        await press(pilot, "u", "right_square_bracket", "m", "down", "enter", "down", "enter")
        meters = routine_of(pilot).grid.meter_map
        assert [str(meters.meter_at(Fraction(b))) for b in (31, 32)] == ["4/4", "3/4"]
        await press(pilot, "u", "home", "m", "down", "enter", "down", "down", "enter")
        meters = routine_of(pilot).grid.meter_map
        assert [str(meters.meter_at(Fraction(b))) for b in (0, 31, 32)] == ["3/4", "3/4", "4/4"]


async def test_the_tempo_is_split_at_the_cursor(routine: Routine, opened: Opened) -> None:
    """From beat 32 (16 s) at 60: beat 40 sounds at 24 s instead of 20 s."""
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M", "right_square_bracket", "s", *["backspace"] * 8, *"60", "enter")
        assert start_s(pilot, 31) == pytest.approx(15.5, abs=1e-6)
        assert start_s(pilot, 40) == pytest.approx(24.0, abs=1e-6)
        assert "♩=60.0" in shown(pilot)


async def test_what_is_no_number_or_no_tempo_is_told(routine: Routine, opened: Opened) -> None:
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M", "s", *["backspace"] * 8, *"fast", "enter")
        assert "a number of beats a minute is wanted" in shown(pilot)
        await press(pilot, "s", *["backspace"] * 8, *"4000", "enter")
        assert "between 20 and 400" in shown(pilot)
        await press(pilot, "o", *"nan", "enter")
        assert "a minute at most" in shown(pilot)
        assert routine_of(pilot).grid == routine.grid


async def test_phrases_are_begun_named_moved_locked_and_removed(
    routine: Routine, opened: Opened
) -> None:
    def phrases(pilot: Pilot[int]) -> list[tuple[str, int, bool]]:
        return [(p.name, int(p.start_beat), p.locked) for p in routine_of(pilot).grid.phrases]

    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M", "g", *"5", "enter", "p", *"break", "enter")
        assert phrases(pilot)[1] == ("break", 16, True)
        await press(pilot, "right_parenthesis")
        assert phrases(pilot)[1] == ("break", 17, True)
        assert 'phrase "break" begins at bar 5, count 2 (0:08.5)' in shown(pilot)
        await press(pilot, "right_curly_bracket")
        assert phrases(pilot)[1] == ("break", 20, True)
        await press(pilot, "left_curly_bracket", "left_parenthesis")
        assert phrases(pilot)[1] == ("break", 15, True)
        await press(pilot, "l")
        assert phrases(pilot)[1] == ("break", 15, False)
        await press(pilot, "e", "end", *" two", "enter")
        assert phrases(pilot)[1] == ("break two", 15, True)
        await press(pilot, "L")
        assert all(locked for _, _, locked in phrases(pilot))
        await press(pilot, "x")
        assert [name for name, _, _ in phrases(pilot)] == ["phrase 1", "phrase 2"]
        await press(pilot, *["u"] * 9)
        assert routine_of(pilot).grid == routine.grid


async def test_a_phrase_begins_with_the_bar_its_heading_is_dragged_to(
    routine: Routine, opened: Opened
) -> None:
    """Eights of two lines: phrase 2 on beat 32 stands under four of them and its neighbour's
    heading; the row of bars 7 and 8, beats 24 to 32, is the one above."""
    async with opened(routine).run_test(size=(80, 40)) as pilot:
        await press(pilot, "M")
        await pilot.pause()
        heading = next(
            y for y, text in enumerate(shown(pilot).splitlines()) if text.startswith("══ phrase 2")
        )
        sheet = pilot.app.screen.query_one(MusicSheet)
        line = heading - sheet.region.y
        await pilot.mouse_down(MusicSheet, offset=(10, line))
        await pilot.mouse_up(MusicSheet, offset=(17, line - 1))
        await pilot.pause()
        assert [p.start_beat for p in routine_of(pilot).grid.phrases] == [0, 24]
        assert 'phrase "phrase 2" begins at bar 7' in shown(pilot)
        await pilot.mouse_down(MusicSheet, offset=(10, 0))  # the first, past the second
        await pilot.mouse_up(MusicSheet, offset=(10, 20))
        await pilot.pause()
        assert [p.start_beat for p in routine_of(pilot).grid.phrases] == [0, 24]
        await press(pilot, "u")
        assert [p.start_beat for p in routine_of(pilot).grid.phrases] == [0, 32]


async def test_a_phrase_does_not_pass_its_neighbour(routine: Routine, opened: Opened) -> None:
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M", "right", "p", "enter", *["left_parenthesis"] * 2)
        assert "a phrase cannot move past its neighbour" in shown(pilot)


async def test_names_and_locks_of_a_routine_survive_a_change_of_the_bars(
    routine: Routine, opened: Opened
) -> None:
    named = replace(
        routine,
        grid=replace(
            routine.grid,
            phrases=(Phrase(Fraction(0), "intro", 0.2, True), Phrase(Fraction(32), "lift")),
        ),
    )
    async with opened(named).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M", "greater_than_sign", "minus", "full_stop")
        kept = [(p.name, p.locked) for p in routine_of(pilot).grid.phrases]
        assert kept == [("intro", True), ("lift", False)]


async def test_what_was_put_right_is_listed_and_written(
    routine: Routine, opened: Opened, tmp_path: Path
) -> None:
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M", "y")
        assert "nothing was put right yet" in shown(pilot)
        await press(pilot, "right", "1", "f", "y")
        assert "count 1 at 0:00.5" in shown(pilot)
        assert "beats held from" in shown(pilot)
        await press(pilot, "escape", "q", "ctrl+s")
        await pilot.app.workers.wait_for_complete()
        await pilot.pause()
        written = load_routine(tmp_path / "piece.toml")
        assert written.corrections[0] == Correction("downbeat", time_s=0.5)
        assert written.corrections[1].kind == "lock"


async def test_every_correction_reaches_the_journal_at_once(
    routine: Routine, opened: Opened, tmp_path: Path
) -> None:
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M", "right", "1")
        found = recover(tmp_path / ".piece.toml.journal")
        assert found is not None
        assert found.routine == routine_of(pilot)
        assert found.routine.corrections


async def test_leaving_shows_the_moves_on_the_corrected_music(
    routine: Routine, opened: Opened
) -> None:
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M", "right", "1", "q")
        assert isinstance(pilot.app.screen, ComposeScreen)
        assert "bar 1, count 1 (0:00.5)" in shown(pilot)
        assert "not saved" in shown(pilot)
        await press(pilot, "u")
        assert pilot.app.screen.desk.routine.grid == routine.grid


@pytest.mark.parametrize("size", [(60, 16), (80, 24), (200, 50)])
async def test_it_reads_as_plain_text_at_any_size(
    routine: Routine, opened: Opened, size: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with opened(routine).run_test(size=size) as pilot:
        await press(pilot, "M")
        text = shown(pilot)
        for words in ("beats as heard", "phrase 1 · bars 1-8 · 32 beats", "┃1┠", "▶", "space play"):
            assert words in text
        assert "bar 1, count 1 (0:00.0) · phrase 1" in text


async def test_a_window_that_is_too_small_says_so(routine: Routine, opened: Opened) -> None:
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M")
        await pilot.resize_terminal(40, 10)
        await pilot.pause()
        lines = [line for line in shown(pilot).splitlines() if line.strip()]
        assert len(lines) == 1
        assert lines[0].startswith("petalbar needs 60")


async def test_zoom_cursor_and_help(routine: Routine, opened: Opened) -> None:
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M", "down")
        assert music_screen(pilot).desk.cursor_beat == 8
        await press(pilot, "z", "down", "shift+right", "end")
        assert "a bar a row" in shown(pilot) or music_screen(pilot).zoom is Zoom.BARS
        assert music_screen(pilot).desk.cursor_beat == 63
        await press(pilot, "question_mark")
        assert "how strongly something" in shown(pilot)
        await press(pilot, *"half a beat")
        assert "Bars begin half a beat later" in shown(pilot)


async def test_enter_pressed_twice_at_once_closes_one_dialog_only(
    routine: Routine, opened: Opened
) -> None:
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M")
        kept = pilot.app.screen
        await press(pilot, "right", "1", "y")
        asked = pilot.app.screen.query_one(PickList)
        asked.action_pick()
        asked.action_pick()
        await pilot.pause()
        assert pilot.app.screen is kept


# ------------------------------------------------------------------ heard


class Hand:
    """A player moved by hand: whoever holds it says how much is heard."""

    def __init__(self, length_s: float = 40.0, rate: int = 8000) -> None:
        self.now_s = 0.0
        self.rate = rate
        self.device = HandDevice()
        samples = np.zeros((int(length_s * rate), 1), np.float32)
        self.player = Player(
            samples, rate, lambda _rate, _channels: self.device, now=lambda: self.now_s
        )

    def hear(self, seconds: float) -> np.ndarray:
        blocks = []
        for _ in range(round(seconds / 0.01)):
            blocks.append(self.device.pull(self.rate // 100))
            self.now_s += 0.01
        return np.concatenate(blocks)[:, 0]


@pytest.fixture
def hand() -> Iterator[Hand]:
    made = Hand()
    yield made
    made.player.close()


async def test_the_click_is_on_the_beats_and_the_first_of_a_bar_is_louder(
    routine: Routine, opened: Opened, hand: Hand
) -> None:
    """At 120 a click each half second from 0 s; every fourth of them louder."""
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M")
        screen = music_screen(pilot)
        screen.player = hand.player
        screen.lay_click()
        await press(pilot, "space")
        sound = np.abs(hand.hear(4.2))
        starts = np.flatnonzero(sound > 0.02)
        starts = starts[np.diff(starts, prepend=-8000) > 2000] / hand.rate
        assert starts == pytest.approx(np.arange(9) / 2, abs=0.002)
        peaks = [sound[int(t * 8000) : int(t * 8000) + 400].max() for t in np.arange(9) / 2]
        assert min(peaks[0], peaks[4], peaks[8]) > max(peaks[1:4] + peaks[5:8])


async def test_corrections_are_heard_at_once_and_1_takes_the_beat_that_is_heard(
    routine: Routine, opened: Opened, hand: Hand
) -> None:
    """Heard at 1.46 s with the lead of tapping, 50 ms: beat 3 at 1.5 s is meant."""
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M")
        music_screen(pilot).player = hand.player
        await press(pilot, "space")
        hand.hear(1.46)
        await press(pilot, "1")
        assert start_s(pilot) == pytest.approx(-0.5, abs=1e-6)  # beat 3: by a beat, the short way
        sound = np.abs(hand.hear(0.1))
        assert sound.max() > 0.4  # the downbeat at 1.5 s


async def test_taps_fit_a_passage_their_lead_taken_off(
    routine: Routine, opened: Opened, hand: Hand
) -> None:
    """Tapped every 0.48 s from 0.47 s; 50 ms of lead make it beats at 0.52 + 0.48 k, 125 a minute.

    The first tap is nearest to beat 1, so that beat now sounds at 0.52 s.
    """
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M")
        music_screen(pilot).player = hand.player
        await press(pilot, "t")
        hand.hear(0.47)
        for _ in range(17):
            await press(pilot, "space")
            hand.hear(0.48)
        assert "17 taps: 125.0 beats a minute" in shown(pilot)
        await press(pilot, "enter")
        assert "only where I tapped" in shown(pilot)
        await press(pilot, "down", "down", "enter")
        grid = routine_of(pilot).grid
        assert grid.tempo_map.bpm_at(Fraction(8)) == pytest.approx(125, abs=0.1)
        assert grid.tempo_map.seconds(1) == pytest.approx(0.52, abs=0.011)
        assert routine_of(pilot).corrections[-1].kind == "taps all along"


async def test_too_few_taps_and_leaving_change_nothing(
    routine: Routine, opened: Opened, hand: Hand
) -> None:
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M")
        music_screen(pilot).player = hand.player
        await press(pilot, "t")
        hand.hear(0.5)
        await press(pilot, "space", "enter")
        assert "at least four taps are needed" in shown(pilot)
        await press(pilot, "t", "space", "space", "escape")
        assert routine_of(pilot) == routine


async def test_playing_on_a_silent_device_leaves_the_cursor_where_it_was_heard(
    routine: Routine, tmp_path: Path
) -> None:
    with wave.open(str(tmp_path / "evening.ogg"), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(8000)
        out.writeframes(np.zeros(8000 * 20, dtype="<i2").tobytes())
    save_routine(routine, tmp_path / "piece.toml")
    app = PetalbarApp(open_routine(tmp_path / "piece.toml"), open_device=open_silent_device)
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "M", "space")
        await app.workers.wait_for_complete()
        await pilot.pause(1.5)
        assert "♪" in shown(pilot)
        await press(pilot, "c")
        assert "the click alone" in shown(pilot)
        await press(pilot, "space")
        assert "♪" not in shown(pilot)
        assert 1 <= music_screen(pilot).desk.cursor_beat <= 6
        await press(pilot, "r")
        assert "phrase 1 again and again" in shown(pilot)
        await press(pilot, "r", "space")
        assert "♪" not in shown(pilot)


async def test_without_the_music_playing_and_tapping_say_what_to_do(
    routine: Routine, opened: Opened
) -> None:
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        for key in ("space", "t", "r"):
            await press(pilot, "M", key)
            assert "evening.ogg is not there" in shown(pilot)
            await press(pilot, "q")


async def test_beats_are_set_on_what_is_struck(routine: Routine, opened: Opened) -> None:
    """Strokes 12 ms after each beat: a moves the beats there, to 3 ms."""
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M", "a")
        assert "too few clear strokes" in shown(pilot)
        music_screen(pilot).sound = sound_struck(*[0.012 + b / 2 for b in range(64)])
        await press(pilot, "a")
        assert start_s(pilot) == pytest.approx(0.012, abs=0.003)
