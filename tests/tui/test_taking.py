"""To take away: every kind chosen by keys, made in another process, never written over unasked."""

import os
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import mido
import pytest
from textual.pilot import Pilot

from composer.commands.export import usual_name
from composer.errors import ComposerError
from composer.export.choice import View
from composer.export.kinds import KINDS
from composer.score.routine import Cut
from composer.timing.beats import BeatSpan
from tui.screens.asking import Pick
from tui.screens.compose import ComposeScreen
from tui.screens.export import EXPORT_KEYS, ExportScreen
from tui.views.paper import plain
from tui.views.taking import NAMES, TakePlan, kind_row, plan_rows, size_words

from .driving import Opened, compose_screen, press, shown
from .held import Hold

PATH = Path("/pieces/evening.toml")


def plan_of(piece: SimpleNamespace, kind: str = "pdf") -> TakePlan:
    return TakePlan(piece.routine_of(piece.placed(0, 8, "extension")), PATH).of_kind(kind)


def told(plan: TakePlan) -> str:
    return "\n".join(plain(line) for line in plan_rows(plan, has_track=True))


# ------------------------------------------------------------------ choosing, as values


def test_every_kind_can_be_chosen_and_names_its_file_beside_the_routine(
    piece: SimpleNamespace,
) -> None:
    for name in NAMES:
        plan = plan_of(piece, name)
        assert plan.target.parent == PATH.parent
        assert plan.target.name == usual_name(PATH, plan.choice, name)
        assert plan.target.name.endswith(KINDS[name].suffixes[0])
        assert plain(kind_row(name)).startswith(name)
        assert str(plan.target) in told(plan)


def test_performers_phrases_views_and_formats_come_round_again(piece: SimpleNamespace) -> None:
    plan = plan_of(piece, "practice-audio")
    assert [plan.next_performer().choice.performer,
            plan.next_performer().next_performer().choice.performer] == ["Wren", "Ash"]  # fmt: skip
    assert plan.next_performer().next_performer().next_performer() == plan
    assert plan.next_phrase(1).choice.phrase == 0
    assert plan.next_phrase(-1).choice.phrase == 1
    assert plan.next_phrase(1).next_phrase(-1) == plan
    assert plan.other_view().choice.view is View.PERFORMER
    around = plan
    for ending in (*KINDS["practice-audio"].suffixes[1:], KINDS["practice-audio"].suffixes[0]):
        around = around.next_format()
        assert around.target.suffix == ending


def test_the_name_tells_whom_and_what(piece: SimpleNamespace) -> None:
    plan = plan_of(piece, "midi").next_performer().next_phrase(1)
    assert plan.target.name == "evening-Wren-1.mid"
    assert "of      phrase 1, phrase 1" in told(plan)


def test_practice_stays_between_half_speed_and_a_tenth_over(piece: SimpleNamespace) -> None:
    plan = plan_of(piece, "practice-audio")
    assert plan.faster(9).percent == 110
    assert plan.faster(-99).percent == 50
    assert "95 %" in told(plan.faster(-1))


def test_clicks_calls_and_pieces_of_practice(piece: SimpleNamespace) -> None:
    plan = plan_of(piece, "practice-audio")
    assert "clicks and calls, in one go" in told(plan)
    bare = plan.other_clicks().other_calls().other_pieces()
    assert "the music alone, phrase by phrase" in told(bare)
    practice = bare.wishes.practice
    assert (practice.clicks, practice.calls, practice.by_phrase) == (False, False, True)
    assert "no clicks" in told(plan_of(piece, "midi").other_clicks())
    assert "with" not in told(plan_of(piece, "pdf"))


def test_only_what_concerns_the_kind_is_asked(piece: SimpleNamespace) -> None:
    assert "paper" in told(plan_of(piece, "pdf"))
    assert "paper" not in told(plan_of(piece, "midi"))
    assert "speed" not in told(plan_of(piece, "stage-audio"))
    assert "seen by" in told(plan_of(piece, "animation"))


def test_a_cut_is_told_and_its_phrases_are_those_that_are_left(piece: SimpleNamespace) -> None:
    routine = replace(piece.routine_of(), cut=Cut((BeatSpan(Fraction(32), Fraction(32)),)))
    plan = TakePlan(routine, PATH, "midi")
    assert "the whole piece, cut as for the stage" in told(plan)
    assert "phrase 1, phrase 2" in told(plan.next_phrase(1))
    assert plan.next_phrase(1).next_phrase(1) == plan


def test_a_name_of_ones_own_lies_beside_the_routine_and_is_forgotten_for_another_kind(
    piece: SimpleNamespace,
) -> None:
    plan = plan_of(piece, "midi").into("for Ash.mid")
    assert plan.target == Path("/pieces/for Ash.mid")
    assert plan_of(piece).into("/elsewhere/x.pdf").target == Path("/elsewhere/x.pdf")
    assert plan.of_kind("pdf").target == Path("/pieces/evening.pdf")
    with pytest.raises(ComposerError, match="a file needs a name"):
        plan.into("  ")


@pytest.mark.parametrize(
    ("count", "words"), [(812, "812 bytes"), (14_240, "14.2 kB"), (3_100_000, "3.1 MB")]
)
def test_sizes_in_words(count: int, words: str) -> None:
    assert size_words(count) == words


# ------------------------------------------------------------------ making it


async def made(pilot: Pilot[int]) -> str:
    """Until nothing is being made; what was told at its end."""
    for _ in range(1200):
        if compose_screen(pilot).making is None:
            await pilot.pause(0.3)
            return compose_screen(pilot).made_words
        await pilot.pause(0.05)
    raise AssertionError("it was never made")


@pytest.mark.parametrize("size", [(80, 24), (200, 50)])
async def test_midi_is_made_by_keys_of_what_is_on_the_screen_saved_or_not(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path, size: tuple[int, int]
) -> None:
    app = opened(piece.routine_of(piece.placed(0, 8, "extension")))
    async with app.run_test(size=size) as pilot:
        await press(pilot, "m", "X")
        assert isinstance(pilot.app.screen, ExportScreen)
        await press(pilot, *["up"] * 9, "p", "enter")
        words = await made(pilot)
        target = tmp_path / "piece-Wren.mid"
        assert words == f"written: {target}, {size_words(target.stat().st_size)}"
        assert "written:" in shown(pilot)
        markers = [
            message.text
            for track in mido.MidiFile(target).tracks
            for message in track
            if message.type == "cue_marker"
        ]
        assert any("mirrored" in text for text in markers), "the edit not saved yet is in it"
        await press(pilot, "q")
        assert isinstance(pilot.app.screen, ComposeScreen)


async def test_a_file_that_is_there_is_not_written_over_unasked(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    there = tmp_path / "piece.csv"
    there.write_text("mine")
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "X", "up", "up", "enter")
        assert isinstance(pilot.app.screen, Pick)
        assert "piece.csv exists already" in shown(pilot)
        await press(pilot, "escape")
        assert there.read_text() == "mine"
        await press(pilot, "enter", "enter")  # type another name, which is offered first
        await press(pilot, *["backspace"] * 3, *"txt", "enter", "enter")
        assert "csv is written as .csv" in shown(pilot)
        await press(pilot, "enter")
        assert there.read_text() == "mine"
        await press(pilot, "down", "up", "enter", "up", "enter")
        await made(pilot)
        assert there.read_text() != "mine"


async def test_what_fails_is_one_line_and_leaves_no_file(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "X", "down")
        assert "the music is not there" in shown(pilot)
        await press(pilot, "enter")
        words = await made(pilot)
        assert "piece.html" in words
        assert "evening.ogg" in words
        assert not (tmp_path / "piece.html").exists()
        await press(pilot, "up", "e", *["backspace"] * 120, *"/nowhere/x.pdf", "enter", "enter")
        assert "/nowhere" in shown(pilot)
        assert compose_screen(pilot).making is None
        await press(
            pilot, "e", *["backspace"] * 120, *"piece.toml", "enter", "enter", "up", "enter"
        )
        assert "choose another name" in shown(pilot)


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is closed to the superuser")
async def test_a_folder_that_cannot_be_written_is_told(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        tmp_path.chmod(0o500)
        await press(pilot, "X", *["up"] * 9, "enter")
        words = await made(pilot)
        tmp_path.chmod(0o700)
        assert "cannot be written" in words


async def test_it_goes_on_when_its_screen_is_left_and_is_cancelled_from_there(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path, held: Hold
) -> None:
    target = tmp_path / "piece.pdf"
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "X", "enter")
        assert "making piece.pdf" in shown(pilot)
        await press(pilot, "enter")
        assert "wait for it or cancel it first" in shown(pilot)
        await press(pilot, "q")
        assert "making piece.pdf" in shown(pilot)
        held.let_go()
        words = await made(pilot)
        assert "written:" in words
        assert "written:" in shown(pilot), "told on the composing screen"
        await press(pilot, "X", "x")
        assert "nothing is being made" in shown(pilot)
        target.unlink()
        held.hold()
        await press(pilot, "enter")
        await held.begun(pilot)
        await press(pilot, "x")
        assert "piece.pdf was cancelled; nothing is written" in shown(pilot)
        held.let_go()
        await pilot.pause(0.5)
        assert not held.went_on, "the process is ended, not only forgotten"
        assert not target.exists()


@pytest.mark.parametrize("size", [(60, 16), (80, 24), (200, 50)])
async def test_what_is_chosen_is_seen_at_any_size(
    piece: SimpleNamespace, opened: Opened, size: tuple[int, int]
) -> None:
    async with opened(piece.routine_of()).run_test(size=size) as pilot:
        await press(pilot, "X", "down", "down", "down", "down")
        await pilot.pause()
        text = shown(pilot)
        assert "▸ practice-audio" in text
        assert "clicks and calls" in text
        assert ".flac" in text


async def test_help_and_the_key_line_name_every_key(piece: SimpleNamespace, opened: Opened) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "X")
        text = shown(pilot)
        for action in EXPORT_KEYS.actions:
            assert action.short in text, action.name
        await press(pilot, "question_mark")
        await pilot.pause(0.1)
        assert "saved or not" in shown(pilot)
        await press(pilot, "escape", "escape")
        assert isinstance(pilot.app.screen, ComposeScreen)
