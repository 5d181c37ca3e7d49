"""Whatever a performer made outlives recovery put off, saves in a hurry and other names."""

import os
import threading
from pathlib import Path
from types import SimpleNamespace

import pytest
from textual.widgets import Input

from composer.arrange import edits
from composer.files.journal import Journal, recover
from composer.files.routine_file import load_routine, save_routine
from composer.score.routine import Routine
from tui.app import PetalbarApp
from tui.opening import begin_routine, is_begun, open_routine
from tui.work import Work

from .driving import compose_screen, moves_of, press, settled, shown

JOURNAL = ".piece.toml.journal"


def left_unsaved(piece: SimpleNamespace, tmp_path: Path) -> Path:
    """A file, and beside it the journal of a sitting that was killed after one edit."""
    path = tmp_path / "piece.toml"
    save_routine(piece.routine_of(), path)
    journal = Journal(tmp_path / JOURNAL)
    extension = piece.placed(0, 8, "extension")
    journal.record(edits.place(load_routine(path), "Wren", extension), "placed it")
    journal.close()
    return path


def kept_in(journal: Path) -> Routine:
    found = recover(journal)
    assert found is not None
    return found.routine


async def test_recovery_put_off_is_offered_again(piece: SimpleNamespace, tmp_path: Path) -> None:
    path = left_unsaved(piece, tmp_path)
    async with PetalbarApp(open_routine(path)).run_test(size=(80, 24)) as pilot:
        await press(pilot, "escape", "q")
    assert len(kept_in(tmp_path / JOURNAL).part("Wren").placements) == 1


async def test_an_edit_after_recovery_was_put_off_does_not_bury_the_old_ones(
    piece: SimpleNamespace, tmp_path: Path
) -> None:
    path = left_unsaved(piece, tmp_path)
    async with PetalbarApp(open_routine(path)).run_test(size=(80, 24)) as pilot:
        await press(pilot, "escape")
        await settled(pilot)
        await press(pilot, "end", "1", "ctrl+s")
        await settled(pilot)
        await press(pilot, "q")
    old = kept_in(tmp_path / f"{JOURNAL}.aside").part("Wren").placements
    assert [one.move for one in old] == ["extension"]
    assert not (tmp_path / JOURNAL).exists()


async def test_a_journal_that_cannot_be_used_is_told_and_kept(
    piece: SimpleNamespace, tmp_path: Path
) -> None:
    import zlib

    path = tmp_path / "piece.toml"
    save_routine(piece.routine_of(), path)
    text = b'{"n":1,"time":0,"words":"","whole":{"format":1}}'
    (tmp_path / JOURNAL).write_bytes(b"\n%08x %s" % (zlib.crc32(text), text))
    async with PetalbarApp(open_routine(path)).run_test(size=(120, 24)) as pilot:
        await pilot.pause()
        assert "no usable routine" in shown(pilot)
        await press(pilot, "q")
    assert text in (tmp_path / f"{JOURNAL}.aside").read_bytes()


async def test_a_routine_killed_before_its_first_save_opens_again(
    piece: SimpleNamespace, tmp_path: Path
) -> None:
    path = tmp_path / "piece.toml"
    assert not is_begun(path)
    song = tmp_path / "song.ogg"
    song.write_bytes(b"")
    opened = begin_routine(piece.routine_of(), path, song, tmp_path)
    app = PetalbarApp(opened)
    async with app.run_test(size=(120, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "1")
        before = moves_of(pilot)
        opened.work.lock.release()  # as the system does for a program that was killed
        app.exit(0)
    assert not path.exists()
    assert is_begun(path)
    async with PetalbarApp(open_routine(path)).run_test(size=(120, 24)) as pilot:
        await settled(pilot)
        assert moves_of(pilot) == before
        assert "never saved so far" in shown(pilot)
        assert "were not saved" not in shown(pilot)
        await press(pilot, "ctrl+s")
        await settled(pilot)
    assert len(load_routine(path).part("Wren").placements) == len(before)
    assert not (tmp_path / JOURNAL).exists()


async def test_a_save_asked_for_while_one_is_under_way_comes_after_it(
    piece: SimpleNamespace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two saves at once could leave the older one in the file."""
    path = tmp_path / "piece.toml"
    save_routine(piece.routine_of(), path)
    go_on, real_save, saved = threading.Event(), Work.save, []

    def slow_save(work: Work, routine: Routine) -> None:
        saved.append(len(routine.part("Wren").placements))
        assert go_on.wait(20)
        real_save(work, routine)

    monkeypatch.setattr(Work, "save", slow_save)
    async with PetalbarApp(open_routine(path)).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "1", "ctrl+s", "1", "ctrl+s")
        assert saved == [1]
        go_on.set()
        await settled(pilot)
        assert saved == [1, 2]
        assert "saved piece.toml" in shown(pilot)
    assert len(load_routine(path).part("Wren").placements) == 2
    assert not (tmp_path / JOURNAL).exists()


async def test_saved_under_another_name_the_first_file_has_nothing_left_to_offer(
    piece: SimpleNamespace, tmp_path: Path
) -> None:
    path, other = tmp_path / "piece.toml", tmp_path / "other.toml"
    save_routine(piece.routine_of(), path)
    async with PetalbarApp(open_routine(path)).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "1", "ctrl+e")
        pilot.app.screen.query_one(Input).value = str(other)
        await press(pilot, "enter")
        await settled(pilot)
        await press(pilot, "q")
    assert len(load_routine(other).part("Wren").placements) == 1
    assert load_routine(path) == piece.routine_of()
    assert not (tmp_path / JOURNAL).exists()
    open_routine(path).work.close()


async def test_a_name_that_is_taken_keeps_the_edits_with_the_first_file(
    piece: SimpleNamespace, tmp_path: Path
) -> None:
    path, other = tmp_path / "piece.toml", tmp_path / "other.toml"
    for one in (path, other):
        save_routine(piece.routine_of(), one)
    async with PetalbarApp(open_routine(path)).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "1", "ctrl+e")
        pilot.app.screen.query_one(Input).value = str(other)
        await press(pilot, "enter")
        await settled(pilot)
        assert "exists already" in shown(pilot)
    assert load_routine(other) == piece.routine_of()
    assert len(kept_in(tmp_path / JOURNAL).part("Wren").placements) == 1


async def test_a_disk_that_fails_under_the_journal_is_told_and_all_is_written_anew(
    piece: SimpleNamespace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "piece.toml"
    save_routine(piece.routine_of(), path)
    async with PetalbarApp(open_routine(path)).run_test(size=(80, 24)) as pilot:
        await settled(pilot)

        def fail(_handle: int) -> None:
            raise OSError(28, "No space left on device")

        with monkeypatch.context() as full:
            full.setattr(os, "fsync", fail)  # before the edit: the screen's clock may come first
            await press(pilot, "1")
            compose_screen(pilot).look_after_files()
            await settled(pilot)
        assert "edits are not kept" in shown(pilot)
        await press(pilot, "1")
        before = moves_of(pilot)
        last = (tmp_path / JOURNAL).read_bytes().splitlines()[-1]
        assert b'"whole"' in last
    assert len(kept_in(tmp_path / JOURNAL).part("Wren").placements) == len(before)
