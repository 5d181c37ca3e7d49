"""Around the sheet: first screen, tour, help, commands, own keys, recovery, locks, sound."""

import os
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from textual.filter import Monochrome
from textual.widgets import Input

from composer.arrange import edits
from composer.errors import ComposerError, RoutineFileError
from composer.files.journal import Journal
from composer.files.keys_file import load_keys
from composer.files.routine_file import load_routine, save_routine
from composer.playback.device import open_silent_device
from tui.actions import ACTIONS, BY_NAME
from tui.app import PetalbarApp
from tui.keys import bound_keys, own_keys
from tui.opening import is_routine, open_routine, openable, place_for
from tui.screens.compose import EDITS, ComposeScreen
from tui.screens.first import FirstScreen
from tui.views.glossary import GLOSSARY
from tui.views.help_text import help_lines
from tui.views.paper import plain
from tui.views.tour import TOUR, next_stop
from tui.widgets.pick_list import PickList
from tui.work import when_words

from .driving import Opened, compose_screen, desk_of, press, settled, shown

# ------------------------------------------------------------------ the table of actions


def test_every_action_can_be_done_and_has_a_name_and_keys_of_its_own() -> None:
    assert len(BY_NAME) == len(ACTIONS)
    keys = [key for action in ACTIONS for key in action.keys.split(",")]
    assert len(keys) == len(set(keys))
    assert set(EDITS) <= set(BY_NAME)


async def test_no_action_of_the_table_fails_on_an_empty_routine(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        for action in ACTIONS:
            if action.name != "quit":
                pilot.app.screen.action_act(action.name)
                await pilot.pause()
                if not isinstance(pilot.app.screen, ComposeScreen):
                    await press(pilot, "escape")
        assert isinstance(pilot.app.screen, ComposeScreen)


# ------------------------------------------------------------------ findings and remedies


def wrong(piece: SimpleNamespace) -> object:
    """A triquetra needs two beats to close at one downbeat a beat; seven leave it open."""
    return piece.routine_of(piece.placed(0, 7, "triquetra"), piece.placed(8, 8, "triquetra"))


async def test_findings_arrive_and_n_jumps_to_the_next(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(wrong(piece)).run_test(size=(200, 50)) as pilot:
        await settled(pilot)
        desk = desk_of(pilot)
        assert any(f.rule == "does not close" for f in desk.found.findings)
        await press(pilot, "home", "n")
        assert desk.cursor_beat in {f.beat for f in desk.found.findings}
        assert "does not close" in shown(pilot)


async def test_a_remedy_is_shown_before_and_after_and_taken_with_enter(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(wrong(piece)).run_test(size=(200, 50)) as pilot:
        await settled(pilot)
        desk = desk_of(pilot)
        target = next(f for f in desk.found.findings if f.rule == "does not close")
        pilot.app.screen.go_to(target.beat)
        await press(pilot, "i")
        await settled(pilot)
        text = shown(pilot)
        assert "as it is" in text
        assert "mended" in text
        await press(pilot, "enter")
        await settled(pilot)
        assert all(f.key != target.key for f in desk.found.findings)
        await press(pilot, "u")
        assert desk.routine == load_routine(pilot.app.screen.work.path)


# ------------------------------------------------------------------ recovery, lock, read-only


def edited_unsaved(piece: SimpleNamespace, tmp_path: Path) -> Path:
    path = tmp_path / "piece.toml"
    routine = piece.routine_of()
    save_routine(routine, path)
    routine = load_routine(path)
    journal = Journal(tmp_path / ".piece.toml.journal")
    journal.record(edits.place(routine, "Wren", piece.placed(0, 8, "extension")), "placed it")
    journal.close()
    return path


async def test_edits_of_a_killed_sitting_are_offered_and_taken_up(
    piece: SimpleNamespace, tmp_path: Path
) -> None:
    path = edited_unsaved(piece, tmp_path)
    async with PetalbarApp(open_routine(path)).run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert "1 edit was not saved" in shown(pilot)
        await press(pilot, "enter")
        assert len(desk_of(pilot).routine.part("Wren").placements) == 1
        assert "not saved" in shown(pilot)


async def test_edits_set_aside_are_not_offered_again_but_are_not_lost(
    piece: SimpleNamespace, tmp_path: Path
) -> None:
    path = edited_unsaved(piece, tmp_path)
    async with PetalbarApp(open_routine(path)).run_test(size=(80, 24)) as pilot:
        await press(pilot, "down", "enter")
        assert desk_of(pilot).routine.part("Wren").placements == ()
    assert not (tmp_path / ".piece.toml.journal").exists()
    assert (tmp_path / ".piece.toml.journal.aside").exists()


def test_a_second_editor_of_one_file_is_refused(piece: SimpleNamespace, tmp_path: Path) -> None:
    path = tmp_path / "piece.toml"
    save_routine(piece.routine_of(), path)
    first = open_routine(path)
    with pytest.raises(RoutineFileError, match="open in another editor"):
        open_routine(path)
    first.work.close()
    open_routine(path).work.close()


async def test_where_nothing_can_be_written_it_says_so_and_saves_elsewhere(
    piece: SimpleNamespace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    media = tmp_path / "media"
    media.mkdir()
    path = media / "piece.toml"
    save_routine(piece.routine_of(), path)
    real_open, real_access = os.open, os.access

    def open_elsewhere(name: object, flags: int, *more: int, **named: object) -> int:
        if str(name).startswith(str(media)) and flags & (os.O_WRONLY | os.O_RDWR):
            raise PermissionError(30, "Read-only file system")
        return real_open(name, flags, *more, **named)  # type: ignore[call-overload]

    def access_elsewhere(name: object, mode: int) -> bool:
        return real_access(str(name), mode) and not str(name).startswith(str(media))

    monkeypatch.setattr(os, "open", open_elsewhere)
    monkeypatch.setattr(os, "access", access_elsewhere)
    async with PetalbarApp(open_routine(path)).run_test(size=(100, 30)) as pilot:
        assert "cannot be written" in shown(pilot)
        await press(pilot, "1", "ctrl+s")
        await settled(pilot)
        assert "cannot be written" in shown(pilot)
        await press(pilot, "ctrl+e")
        pilot.app.screen.query_one(Input).value = str(tmp_path / "mine")
        await press(pilot, "enter")
        await settled(pilot)
        assert "saved mine.toml" in shown(pilot)
        assert load_routine(tmp_path / "mine.toml") == desk_of(pilot).routine


async def test_leaving_with_unsaved_edits_asks_first(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "1", "q")
        assert "unsaved edits" in shown(pilot)
        await press(pilot, "escape")
        assert isinstance(pilot.app.screen, ComposeScreen)
        await press(pilot, "q", "enter")
        await settled(pilot)
    assert len(load_routine(tmp_path / "piece.toml").part("Wren").placements) == 1


# ------------------------------------------------------------------ ways in


async def test_the_first_screen_offers_demo_tour_and_opening(tmp_path: Path) -> None:
    async with PetalbarApp().run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert isinstance(pilot.app.screen, FirstScreen)
        text = shown(pilot)
        assert "tour of two minutes" in text
        assert "The demo" in text
        pilot.app.open_path(tmp_path / "nothing.toml")
        await pilot.pause()
        assert "is not there" in " ".join(shown(pilot).split())


def test_routines_and_music_of_a_folder_are_found_the_newest_first(
    piece: SimpleNamespace, tmp_path: Path
) -> None:
    save_routine(piece.routine_of(), tmp_path / "piece.toml")
    for name in ("song.OGG", "notes.txt", "piece.repertoire.toml", "pyproject.toml", ".x.ogg"):
        (tmp_path / name).write_text("[project]\n")
    os.utime(tmp_path / "song.OGG", (1, 1))
    assert [path.name for path in openable(tmp_path)] == ["piece.toml", "song.OGG"]
    assert openable(tmp_path / "nowhere") == ()


async def test_what_is_in_the_folder_is_picked_to_open(
    piece: SimpleNamespace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    save_routine(piece.routine_of(), tmp_path / "piece.toml")
    monkeypatch.chdir(tmp_path)
    async with PetalbarApp().run_test(size=(80, 24)) as pilot:
        await press(pilot, "down", "down", "enter")
        assert "piece.toml" in shown(pilot)
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, ComposeScreen)
        assert "Evening piece" in shown(pilot)


async def test_a_path_typed_on_the_first_screen_is_opened(
    piece: SimpleNamespace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    save_routine(piece.routine_of(), tmp_path / "piece.toml")
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    async with PetalbarApp().run_test(size=(80, 24)) as pilot:
        await press(pilot, "down", "down", "enter")
        pilot.app.screen.query_one(Input).value = str(tmp_path / "piece.toml")
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, ComposeScreen)
        assert "Evening piece" in shown(pilot)


def test_a_routine_is_known_by_its_ending_and_a_track_by_being_there(tmp_path: Path) -> None:
    (tmp_path / "song.ogg").write_bytes(b"x")
    assert is_routine(tmp_path / "mine.toml")
    assert not is_routine(tmp_path / "song.ogg")
    assert is_routine(tmp_path / "gone.ogg")
    assert place_for(tmp_path / "song.ogg") == tmp_path / "song.toml"


async def test_the_tour_goes_on_with_each_step_that_was_tried(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(piece.routine_of(), tour=True).run_test(size=(80, 24)) as pilot:
        assert "tour, 1 of" in shown(pilot)
        await press(pilot, "right")
        assert "tour, 1 of" in shown(pilot)
        await press(pilot, "down")
        assert "tour, 2 of" in shown(pilot)
        await press(pilot, "ctrl+t")
        assert "tour," not in shown(pilot)


def test_the_tour_asks_only_for_actions_that_exist_and_ends() -> None:
    stop: int | None = 0
    for number, step in enumerate(TOUR):
        assert stop == number
        assert set(step.actions) <= set(BY_NAME)
        stop = next_stop(number, step.actions[0])
    assert stop is None


# ------------------------------------------------------------------ help and commands


def test_help_tells_every_action_and_every_trade_word() -> None:
    text = "\n".join(plain(line) for line in help_lines({"save": "f2"}, 76))
    for action in ACTIONS:
        if not action.name.startswith("place-"):
            assert action.words in text
    assert "f2" in text
    for word in GLOSSARY:
        assert f"\n  {word}\n" in text
    assert all(len(line) <= 80 for line in text.splitlines() if "(" not in line)


async def test_help_narrows_to_what_is_typed(piece: SimpleNamespace, opened: Opened) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "question_mark")
        await pilot.pause()
        await press(pilot, *"isolation")
        rows = [plain(row) for row in pilot.app.screen.query_one(PickList).rows]
        assert rows == ["  isolation"]
        await press(pilot, "escape")
        assert isinstance(pilot.app.screen, ComposeScreen)


async def test_the_command_list_finds_an_action_and_does_it(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "ctrl+p")
        await press(pilot, *"next phrase")
        await pilot.pause(0.5)
        await press(pilot, "enter")
        await pilot.pause(0.2)
        assert desk_of(pilot).cursor_beat == 32


# ------------------------------------------------------------------ own keys


def test_own_keys_hold_and_what_is_wrong_with_them_is_told() -> None:
    found = own_keys({"save": "f2", "longer": "*", "sav": "f3", "undo": "f2"})
    assert found.keys == {"save": "f2", "longer": "asterisk", "undo": "f2"}
    assert found.notices[0] == 'keys file: nothing is called "sav"; did you mean "save"?'
    assert "f2" in found.notices[1]


def test_a_sign_may_be_written_as_it_is() -> None:
    assert own_keys({"later": "]", "next-phrase": ">"}).keys == {
        "later": "right_square_bracket",
        "next-phrase": "greater_than_sign",
    }


@pytest.mark.parametrize("text", ["save = 3", "save = []", "save = ", "\xff"])
def test_a_broken_keys_file_is_one_clear_line(tmp_path: Path, text: str) -> None:
    path = tmp_path / "keys.toml"
    path.write_text(text, encoding="latin-1")
    with pytest.raises(ComposerError, match=r"keys\.toml.*the usual keys hold"):
        load_keys(path)


async def test_a_key_of_ones_own_does_what_it_is_set_to(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    folder = tmp_path / "config" / "petalbar"
    folder.mkdir(parents=True)
    (folder / "keys.toml").write_text('next-phrase = "f5"\n')
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "f5")
        assert desk_of(pilot).cursor_beat == 32
        await press(pilot, "right_square_bracket")
        assert desk_of(pilot).cursor_beat == 32


# ------------------------------------------------------------------ panes, sound, odds and ends


async def test_in_a_narrow_window_tab_shows_one_pane_after_another(
    piece: SimpleNamespace, opened: Opened
) -> None:
    app = opened(piece.routine_of(piece.placed(0, 8, "extension")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for title in ("what can follow", "motion", "findings"):
            await press(pilot, "tab")
            await settled(pilot)
            assert f"─ {title} " in shown(pilot) or f"━ {title} " in shown(pilot)
        await press(pilot, "tab")
        assert "findings ─" not in shown(pilot)


async def test_the_list_of_what_can_follow_places_with_enter(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(piece.routine_of()).run_test(size=(200, 50)) as pilot:
        while not compose_screen(pilot).follow:  # ranked once the cursor has stood still
            await pilot.pause(0.05)
        await settled(pilot)
        second = pilot.app.screen.follow[1]  # type: ignore[attr-defined]
        await press(pilot, "tab", "down", "enter")
        placements = desk_of(pilot).routine.part("Wren").placements
        assert placements == (second.placement,)


async def test_playing_moves_the_play_position_and_stopping_leaves_the_cursor_there(
    piece: SimpleNamespace, tmp_path: Path
) -> None:
    """At 120 beats a minute half a second is one beat; a silent device keeps real time."""
    import wave

    with wave.open(str(tmp_path / "evening.ogg"), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(8000)
        out.writeframes(np.zeros(8000 * 20, dtype="<i2").tobytes())
    save_routine(piece.routine_of(), tmp_path / "piece.toml")
    app = PetalbarApp(open_routine(tmp_path / "piece.toml"), open_device=open_silent_device)
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "space")
        await settled(pilot)
        await pilot.pause(1.5)
        assert "♪" in shown(pilot)
        await press(pilot, "space")
        assert "♪" not in shown(pilot)
        assert 1 <= desk_of(pilot).cursor_beat <= 6


async def test_without_the_music_playing_says_what_to_do(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "space")
        assert "evening.ogg is not there" in shown(pilot)


@pytest.mark.parametrize(
    ("ago_s", "words"),
    [(5, "just now"), (60, "1 minute ago"), (7_300, "2 hours ago"), (200_000, "2 days ago")],
)
def test_times_past_are_told_in_whole_units(ago_s: float, words: str) -> None:
    assert when_words(1e9 - ago_s, 1e9) == words


async def test_no_colour_is_needed_to_read_the_screen(
    piece: SimpleNamespace, opened: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same text is there, and Textual greys every cell (no-color.org)."""
    monkeypatch.setenv("NO_COLOR", "1")
    app = opened(piece.routine_of(piece.placed(0, 7, "triquetra"), piece.placed(8, 8, "triquetra")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        text = shown(pilot)
        for sign in ("┠triquetra", "▶", "[1]", "does not close", "▲ 2 warnings"):
            assert sign in text
        assert any(isinstance(one, Monochrome) for one in app._filters)


async def test_a_rehearsal_begins_at_the_cursor_and_comes_back_to_the_sheet(
    piece: SimpleNamespace, tmp_path: Path
) -> None:
    save_routine(piece.routine_of(piece.placed(0, 8, "extension")), tmp_path / "piece.toml")
    app = PetalbarApp(open_routine(tmp_path / "piece.toml"), open_device=open_silent_device)
    async with app.run_test(size=(100, 30)) as pilot:
        await settled(pilot)
        await press(pilot, "ctrl+r")
        await settled(pilot)
        assert type(pilot.app.screen).__name__ == "RehearseScreen"
        await press(pilot, "q")
        assert isinstance(pilot.app.screen, ComposeScreen)


async def test_a_key_of_the_music_screen_is_ones_own_too(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    folder = tmp_path / "config" / "petalbar"
    folder.mkdir(parents=True)
    (folder / "keys.toml").write_text('music-later = "f6"\ncut-whole = "f7"\n')
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M", "f6")
        assert "bars a beat later" in shown(pilot)
        assert "f6" in shown(pilot), "the key line shows it"
        await press(pilot, "question_mark")
        await pilot.pause(0.1)
        await press(pilot, *"music-later")
        rows = [plain(row) for row in pilot.app.screen.query_one(PickList).rows]
        assert len(rows) == 1
        assert rows[0].split()[0] == "f6"


async def test_the_command_list_of_the_music_screen_does_what_is_asked(
    piece: SimpleNamespace, opened: Opened
) -> None:
    async with opened(piece.routine_of()).run_test(size=(80, 24)) as pilot:
        await press(pilot, "M", "ctrl+p")
        await press(pilot, *"cut the music")
        await pilot.pause(0.5)
        await press(pilot, "enter")
        await pilot.pause(0.2)
        assert "The music cut to stage length" in shown(pilot)


def test_every_key_of_every_screen_has_a_name_of_its_own_and_holds_once() -> None:
    bound = bound_keys()
    names = [name for keys in bound.values() for name in keys if name != "dialog-back"]
    assert len(names) == len(set(names)), "only the way out of dialogs is one for all"
    for screen, keys in bound.items():
        used = [key.strip() for text in keys.values() for key in text.split(",")]
        assert len(used) == len(set(used)), screen


def test_a_key_wanted_twice_is_told_within_one_screen_only() -> None:
    assert own_keys({"music-tap": "n"}).notices == (), "n is free on the music screen"
    assert own_keys({"music-tap": "m"}).notices == (
        'keys file: "m" is wanted by music-tap and by music-metre',
    )
