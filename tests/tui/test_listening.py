"""Listening beside the screen: sound marks of a track not heard before, hearing anew, the cut."""

import os
import time
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import soundfile
from textual.pilot import Pilot

from composer.audio.clicks import click
from composer.audio.cut import cut_length_s
from composer.errors import ComposerError
from composer.files.routine_file import save_routine
from composer.playback.device import open_silent_device
from composer.score.routine import Cut, Routine
from composer.timing.beats import BeatSpan
from composer.timing.grid import Phrase
from tui.apart import Apart, progress_words
from tui.app import PetalbarApp
from tui.opening import open_routine
from tui.screens.compose import ComposeScreen
from tui.screens.listen import Waiting
from tui.screens.music import MusicScreen
from tui.screens.music_cut import CutMusic, seconds_typed
from tui.views.cutting import cut_plan, plan_lines, stretch_row
from tui.views.paper import plain

from .driving import Opened, compose_screen, press, settled, shown
from .held import Hold

RATE_HZ = 8000

# ------------------------------------------------------------------ work in another process


def halves(count: int, told: Callable[[float], None]) -> int:
    told(0.5)
    return count // 2


def refused(_told: Callable[[float], None]) -> int:
    raise ComposerError("that track is not there")


def faulty(_told: Callable[[float], None]) -> int:
    raise ZeroDivisionError("by 0")


def endless(told: Callable[[float], None]) -> int:
    told(0.25)
    while True:
        pass


def finished(apart: Apart[int]) -> Apart[int]:
    for _ in range(600):
        if apart.done:
            return apart
        time.sleep(0.05)
    raise AssertionError("the work did not end")


def test_work_apart_gives_its_answer_and_its_share() -> None:
    apart = finished(Apart(halves, 10))
    assert apart.result() == 5
    assert apart.share == 0.5
    apart.end()


@pytest.mark.parametrize(
    ("work", "words"), [(refused, "that track is not there"), (faulty, "could not be done: by 0")]
)
def test_work_that_fails_is_one_line(work: Callable[..., int], words: str) -> None:
    apart = finished(Apart(work))
    with pytest.raises(ComposerError, match=words):
        apart.result()
    apart.end()


def is_alive(process_id: int) -> bool:
    try:
        os.kill(process_id, 0)
    except ProcessLookupError:
        return False
    return True


def test_work_is_ended_at_once_though_it_never_would_end() -> None:
    apart = Apart(endless)
    for _ in range(600):
        if apart.share is not None:
            break
        time.sleep(0.05)
    assert apart.share == 0.25
    (process_id,) = apart._pool._processes
    apart.end()
    finished(apart)
    for _ in range(100):
        if not is_alive(process_id):
            break
        time.sleep(0.05)
    assert not is_alive(process_id)
    with pytest.raises(ComposerError, match="ended from outside"):
        apart.result()


def test_progress_in_words() -> None:
    assert progress_words(None, 3) == "3 s"
    assert progress_words(0.347, 12) == "35 %, 12 s"


# ------------------------------------------------------------------ sound marks of a new track


def clicks_at_120(path: Path, seconds: float = 40.0, late_s: float = 0.0) -> None:
    """A click every half second, the first of four louder, as the piece's grid has them."""
    sound = np.zeros(round(seconds * RATE_HZ), np.float32)
    for beat in range(round(seconds * 2)):
        start = round((beat / 2 + late_s) * RATE_HZ)
        one = click(RATE_HZ, accented=beat % 4 == 0)[: max(0, len(sound) - start)]
        sound[start : start + len(one)] += one * (1.0 if beat % 4 == 0 else 0.5)
    soundfile.write(path, sound, RATE_HZ, format="wav")


@pytest.fixture
def with_track(piece: SimpleNamespace, tmp_path: Path) -> PetalbarApp:
    """A routine on a track that was never listened to on this machine."""
    clicks_at_120(tmp_path / "evening.ogg")
    routine = piece.routine_of(piece.placed(0, 8, "extension"))
    save_routine(routine, tmp_path / "piece.toml")
    return PetalbarApp(open_routine(tmp_path / "piece.toml", tmp_path / "journals"))


async def heard(pilot: Pilot[int]) -> None:
    """Until the track has been listened to."""
    for _ in range(1200):
        await pilot.pause(0.05)
        if compose_screen(pilot).sound is not None:
            return
    raise AssertionError("nothing was heard")


async def test_a_track_not_heard_before_is_listened_to_beside_the_screen(
    with_track: PetalbarApp, held: Hold
) -> None:
    async with with_track.run_test(size=(120, 24)) as pilot:
        await held.begun(pilot)
        await settled(pilot)
        assert "listening" in shown(pilot)
        await press(pilot, "plus")  # she works on meanwhile
        assert "extension lasts 9 beats" in shown(pilot)
        await press(pilot, "M")
        assert "the sound is not drawn yet" in shown(pilot)
        held.let_go()
        await heard(pilot)
        await pilot.pause(0.3)
        assert "is struck" in shown(pilot), "the open music screen has it too"
        await press(pilot, "q")
        await settled(pilot)
        assert "listening" not in shown(pilot)
        rows = [line for line in shown(pilot).splitlines() if line[1:6] == "    1"]
        assert any(mark in rows[0] for mark in "▁▂▃▄▅▆▇█")


async def test_listening_is_stopped_and_begun_again(with_track: PetalbarApp, held: Hold) -> None:
    async with with_track.run_test(size=(120, 24)) as pilot:
        await held.begun(pilot)
        await settled(pilot)
        await press(pilot, "L")
        assert "listening stopped" in shown(pilot)
        assert compose_screen(pilot)._apart is None
        held.let_go()
        await press(pilot, "L")
        await heard(pilot)
        await press(pilot, "L")
        assert "the sound is drawn already" in shown(pilot)


async def test_without_the_track_listening_says_so(piece: SimpleNamespace, opened: Opened) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "L")
        assert "evening.ogg is not there" in shown(pilot)
        await press(pilot, "M", "A")
        assert "evening.ogg is not there" in shown(pilot)


async def test_hearing_anew_shows_what_would_move_and_changes_it_in_one_step(
    piece: SimpleNamespace, tmp_path: Path
) -> None:
    """The clicks come 40 ms after the routine's beats: hearing anew finds them there."""
    clicks_at_120(tmp_path / "evening.ogg", late_s=0.04)
    save_routine(piece.routine_of(piece.placed(0, 8, "extension")), tmp_path / "piece.toml")
    app = PetalbarApp(open_routine(tmp_path / "piece.toml", tmp_path / "journals"))
    async with app.run_test(size=(120, 40)) as pilot:
        await press(pilot, "L", "M", "A")
        for _ in range(1200):
            await pilot.pause(0.05)
            if not isinstance(pilot.app.screen, Waiting | MusicScreen):
                break
        await pilot.pause(0.2)
        before = compose_screen(pilot).desk.routine
        assert "this is what would change" in shown(pilot)
        assert "Take it: moves keep their beats" in shown(pilot)
        await press(pilot, "enter")
        after = compose_screen(pilot).desk.routine
        moved_s = after.grid.tempo_map.seconds(0) - before.grid.tempo_map.seconds(0)
        assert moved_s % 0.5 == pytest.approx(0.04, abs=0.006), "which click begins a bar is open"
        assert after.parts == before.parts
        await press(pilot, "u")
        assert compose_screen(pilot).desk.routine == before


# ------------------------------------------------------------------ the cut


def of_four(piece: SimpleNamespace) -> Routine:
    """Four phrases of 16 s each; a move in the second; the third is the strongest."""
    routine: Routine = piece.routine_of(piece.placed(32, 8, "extension"), beats=128)
    phrases = tuple(
        replace(phrase, energy=energy)
        for phrase, energy in zip(routine.grid.phrases, (0.3, 0.5, 1.0, 0.4), strict=True)
    )
    return replace(routine, grid=replace(routine.grid, phrases=phrases))


def span(start: int, beats: int) -> BeatSpan:
    return BeatSpan(Fraction(start), Fraction(beats))


def test_dropping_and_repeating_make_spans_in_order(piece: SimpleNamespace) -> None:
    plan = cut_plan(of_four(piece)).kept_or_dropped(1).played(2, 1)
    assert plan.spans == (span(0, 32), span(64, 32), span(64, 64))
    assert plan.length_s == pytest.approx(64.0)  # four phrases of 16 s
    routine = plan.applied(of_four(piece))
    assert routine.cut == Cut(plan.spans)
    assert cut_plan(routine).times == (1, 0, 2, 1), "it is read back as it was"


def test_a_suggestion_keeps_the_ends_and_the_strongest(piece: SimpleNamespace) -> None:
    plan = cut_plan(of_four(piece)).suggested(48.0)
    assert plan.times == (1, 0, 1, 1)
    assert cut_length_s(plan.grid, plan.spans) == pytest.approx(48.0)
    assert "plays 0:48.0 of 1:04.0, wanted 0:48.0" in plain(plan_lines(plan, 1)[0])
    assert "1 join · silence 0 s, fade 0 s · ▲ 1 moves fall out" in plain(plan_lines(plan, 1)[1])


def test_silence_before_counts_into_the_wanted_length(piece: SimpleNamespace) -> None:
    plan = cut_plan(of_four(piece)).with_edges(lead_in_s=16.0, fade_out_s=0.0).suggested(64.0)
    assert plan.length_s == pytest.approx(64.0)
    assert sum(plan.times) == 3


def test_nothing_kept_and_edges_out_of_bounds_are_refused(piece: SimpleNamespace) -> None:
    plan = cut_plan(of_four(piece))
    for index in range(4):
        plan = plan.kept_or_dropped(index)
    with pytest.raises(ComposerError, match="keep one phrase"):
        plan.applied(of_four(piece))
    with pytest.raises(ComposerError, match="0 to 60 s"):
        plan.with_edges(lead_in_s=-1.0, fade_out_s=0.0)


def test_all_kept_once_is_no_cut(piece: SimpleNamespace) -> None:
    routine = cut_plan(of_four(piece)).kept_or_dropped(0).applied(of_four(piece))
    assert cut_plan(routine).whole().applied(routine).cut is None


def test_a_cut_written_otherwise_is_told(piece: SimpleNamespace) -> None:
    backwards = replace(of_four(piece), cut=Cut((span(64, 32), span(0, 32))))
    inside = replace(of_four(piece), cut=Cut((span(8, 32),)))
    for routine in (backwards, inside):
        plan = cut_plan(routine)
        assert plan.times == (1, 1, 1, 1)
        assert "begins anew" in plan.notice


def test_music_before_the_first_phrase_is_a_stretch_too(piece: SimpleNamespace) -> None:
    routine = of_four(piece)
    grid = replace(routine.grid, phrases=(Phrase(Fraction(8), "verse"),))
    plan = cut_plan(replace(routine, grid=grid))
    assert [one.name for one in plan.stretches] == ["before it", "verse"]
    assert plan.stretches[0].span == span(0, 8)
    assert plain(stretch_row(plan, 0, 0)).startswith("✓ keep  before it")


def test_music_without_phrases_says_what_to_do(piece: SimpleNamespace) -> None:
    routine = of_four(piece)
    with pytest.raises(ComposerError, match="no phrases"):
        cut_plan(replace(routine, grid=replace(routine.grid, phrases=())))


@pytest.mark.parametrize(("text", "seconds"), [("2:30", 150), ("150", 150), ("0:05,5", 5.5)])
def test_a_length_is_typed_as_a_clock_has_it(text: str, seconds: float) -> None:
    assert seconds_typed(text) == seconds


@pytest.mark.parametrize("text", ["", "2:75", "-3", "two", "1e9", "٣"])
def test_what_is_no_length_is_told(text: str) -> None:
    with pytest.raises(ComposerError, match="is written like 2:30"):
        seconds_typed(text)


@pytest.mark.parametrize("size", [(80, 24), (200, 50)])
async def test_the_music_is_cut_to_a_wanted_length_by_keys(
    piece: SimpleNamespace, opened: Opened, size: tuple[int, int]
) -> None:
    async with opened(of_four(piece)).run_test(size=size) as pilot:
        await press(pilot, "M", "k")
        await press(pilot, "w", *"0:48", "enter")
        assert "plays 0:48.0 of 1:04.0, wanted 0:48.0" in shown(pilot)
        assert "1 moves fall out" in shown(pilot)
        await press(pilot, "f", *"4", "enter", "s", *"2", "enter")
        assert "silence 2 s, fade 4 s" in shown(pilot)
        await press(pilot, "w", *"soon", "enter")
        assert 'a length is written like 2:30 or 150, not "soon"' in shown(pilot)
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, MusicScreen)
        assert "cut to 0:50.0: 3 of 4 phrases are played" in shown(pilot)
        assert "cut for the stage" in shown(pilot)
        cut = compose_screen(pilot).desk.routine.cut
        assert cut == Cut((span(0, 32), span(64, 64)), fade_out_s=4.0, lead_in_s=2.0)
        await press(pilot, "k", "down", "space", "x", "plus", "minus", "a")
        dialog = pilot.app.screen
        assert isinstance(dialog, CutMusic)
        assert dialog.plan.times == (1, 1, 1, 1)
        await press(pilot, "escape", "u")
        assert compose_screen(pilot).desk.routine.cut is None
        await press(pilot, "q")
        assert isinstance(pilot.app.screen, ComposeScreen)


def test_when_a_phrase_sounds_in_the_cut(piece: SimpleNamespace) -> None:
    """Phrases of 16 s: the first twice, the second dropped, 2 s of silence before."""
    plan = cut_plan(of_four(piece)).played(0, 1).kept_or_dropped(1)
    plan = plan.with_edges(lead_in_s=2.0, fade_out_s=0.0)
    assert [plan.start_s(index) for index in range(4)] == pytest.approx([2.0, 34.0, 34.0, 50.0])


async def test_the_joins_are_heard_before_the_cut_is_taken(
    piece: SimpleNamespace, tmp_path: Path
) -> None:
    """Without the second phrase the third begins 16 s into the cut; it is heard from 12 s on."""
    clicks_at_120(tmp_path / "evening.ogg", seconds=64.0)
    save_routine(of_four(piece), tmp_path / "piece.toml")
    opened = open_routine(tmp_path / "piece.toml", tmp_path / "journals")
    app = PetalbarApp(opened, open_device=open_silent_device)
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "L", "M", "k", "down", "space", "down", "h")
        await settled(pilot)
        dialog = pilot.app.screen
        assert isinstance(dialog, CutMusic)
        player = dialog.sound.player
        assert player is not None
        assert player.duration_s == pytest.approx(48.0, abs=0.01)
        assert 11.5 <= player.position_s() <= 15.0
        assert "h stops" in shown(pilot)
        await press(pilot, "h")
        assert dialog.sound.player is None
        await press(pilot, "h")
        await settled(pilot)
        await press(pilot, "space")
        assert dialog.sound.player is None, "another cut is another sound"


async def test_without_the_music_the_cut_is_not_heard_but_made(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(of_four(piece)).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M", "k", "h")
        await settled(pilot)
        assert "the cut cannot be heard" in shown(pilot)
