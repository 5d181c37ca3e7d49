"""Edits outlive the program that made them."""

import json
import os
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from composer.arrange import edits
from composer.errors import RoutineFileError
from composer.files.atomic import sweep_abandoned
from composer.files.edit_lock import EditLock, stamp_of
from composer.files.journal import Journal, journal_path, recover
from composer.score.routine import Part, Performer, Placement, Routine, TrackRef
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid
from composer.timing.tempo_map import steady_tempo_map


def placement(at: int, move: str = "extension") -> Placement:
    return Placement(BeatSpan(Fraction(at), Fraction(4)), move)


def routine(*placements: Placement) -> Routine:
    return Routine(
        "Piece",
        TrackRef("piece.ogg"),
        MusicGrid(steady_tempo_map(120), Fraction(256)),
        (Performer("Wren"), Performer("Ash")),
        (Part("Wren", placements), Part("Ash", (placement(0, "isolation"),))),
    )


@pytest.fixture
def journal(tmp_path: Path) -> Journal:
    return Journal(tmp_path / ".piece.toml.journal")


def test_what_was_recorded_is_recovered_edit_by_edit(journal: Journal) -> None:
    steps = [routine()]
    steps.append(edits.place(steps[-1], "Wren", placement(0)))
    steps.append(edits.place(steps[-1], "Wren", placement(8, "isolation")))
    steps.append(edits.shift(steps[-1], "Wren", 1, Fraction(-1, 2)))
    steps.append(edits.place(steps[-1], "Ash", placement(4)))
    steps.append(edits.remove(steps[-1], "Wren", 0))
    steps.append(replace(steps[-1], title="Another title"))
    steps.append(edits.place(steps[-1], "Wren", placement(16)))
    for number, step in enumerate(steps):
        journal.record(step, f"edit {number}")
        found = recover(journal.path)
        assert found is not None
        assert found.routine == step
        assert found.edits == tuple(f"edit {i}" for i in range(number + 1))


def test_no_journal_and_an_empty_one_hold_nothing(tmp_path: Path) -> None:
    assert recover(tmp_path / "none.journal") is None
    (tmp_path / "empty.journal").write_bytes(b"")
    assert recover(tmp_path / "empty.journal") is None


def test_a_small_edit_is_a_small_record(journal: Journal) -> None:
    """The whole routine is written once; an edit of one of 400 moves then costs under 1 kB."""
    long = routine(*(placement(4 * i) for i in range(400)))
    journal.record(long, "opened")
    before = journal.path.stat().st_size
    journal.record(edits.shift(long, "Wren", 200, Fraction(1)), "shifted")
    assert journal.path.stat().st_size - before < 1000


def test_moves_added_or_taken_away_at_either_end_are_small_records_too(journal: Journal) -> None:
    long = routine(*(placement(4 * i) for i in range(1, 400)))
    journal.record(long, "opened")
    steps = [
        edits.place(long, "Wren", placement(0)),
        edits.place(long, "Wren", placement(1600)),
        edits.remove(long, "Wren", 0),
        edits.remove(long, "Wren", 398),
    ]
    for step in steps:
        before = journal.path.stat().st_size
        journal.record(step, "an edit")
        assert journal.path.stat().st_size - before < 1000
        found = recover(journal.path)
        assert found is not None
        assert found.routine == step
        journal.record(long, "undone")


@pytest.mark.parametrize("cut", [1, 5, 20, 60])
def test_a_record_that_was_cut_short_is_left_out(journal: Journal, cut: int) -> None:
    first = edits.place(routine(), "Wren", placement(0))
    journal.record(routine(), "opened")
    journal.record(first, "placed")
    whole = journal.path.read_bytes()
    journal.record(edits.place(first, "Wren", placement(8)), "placed again")
    journal.path.write_bytes(journal.path.read_bytes()[:-cut])
    assert len(journal.path.read_bytes()) > len(whole)
    found = recover(journal.path)
    assert found is not None
    assert found.routine == first


def test_what_follows_a_damaged_record_is_not_built_on(journal: Journal) -> None:
    first = edits.place(routine(), "Wren", placement(0))
    second = edits.place(first, "Wren", placement(8))
    for step, words in ((routine(), "opened"), (first, "a"), (second, "b")):
        journal.record(step, words)
    lines = journal.path.read_bytes().split(b"\n")
    lines[2] = lines[2][:-1] + b"x"
    journal.path.write_bytes(b"\n".join(lines))
    found = recover(journal.path)
    assert found is not None
    assert found.routine == routine()


def test_after_a_failed_write_the_whole_routine_is_written_again(
    journal: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = edits.place(routine(), "Wren", placement(0))
    second = edits.place(first, "Wren", placement(8))
    journal.record(routine(), "opened")
    with monkeypatch.context() as full:
        full.setattr(os, "write", lambda _handle, data: len(data) // 2)
        with pytest.raises(OSError, match="disk is full"):
            journal.record(first, "placed")
    journal.record(second, "placed again")
    found = recover(journal.path)
    assert found is not None
    assert found.routine == second


def test_every_record_is_one_line_with_its_checksum(journal: Journal) -> None:
    """CRC-32 of "123456789" is cbf43926 in every catalogue of checksums; ours is of the JSON."""
    import zlib

    assert f"{zlib.crc32(b'123456789'):08x}" == "cbf43926"
    journal.record(routine(), "opened")
    _, line = journal.path.read_bytes().split(b"\n")
    checksum, text = line.split(b" ", 1)
    assert int(checksum, 16) == zlib.crc32(text)
    assert json.loads(text)["words"] == "opened"


def test_saving_clears_and_the_next_edit_begins_anew(journal: Journal) -> None:
    journal.record(routine(), "opened")
    journal.clear()
    assert not journal.path.exists()
    journal.record(edits.place(routine(), "Wren", placement(0)), "placed")
    found = recover(journal.path)
    assert found is not None
    assert found.edits == ("placed",)


def test_the_journal_stands_beside_the_file_unless_its_folder_cannot_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "piece.toml"
    assert journal_path(path, tmp_path / "else") == tmp_path / ".piece.toml.journal"
    monkeypatch.setattr(os, "access", lambda *_: False)
    assert journal_path(path, tmp_path / "else").parent == tmp_path / "else"


def test_a_journal_of_something_else_is_refused_in_one_line(journal: Journal) -> None:
    import zlib

    text = b'{"n":1,"time":0,"words":"","whole":{"format":1}}'
    journal.path.write_bytes(b"\n%08x %s" % (zlib.crc32(text), text))
    with pytest.raises(RoutineFileError, match="no usable routine"):
        recover(journal.path)


# ------------------------------------------------------------------ lock and stamp


def test_a_second_editor_is_refused_and_told_who_holds_the_file(tmp_path: Path) -> None:
    path = tmp_path / "piece.toml"
    first = EditLock(path)
    assert first.take()
    with pytest.raises(RoutineFileError, match=f"another editor .process {os.getpid()}"):
        EditLock(path).take()
    first.release()
    second = EditLock(path)
    assert second.take()
    second.release()
    assert not second.path.exists()


def test_a_lock_left_behind_by_a_dead_program_does_not_hold(tmp_path: Path) -> None:
    path = tmp_path / "piece.toml"
    EditLock(path).path.write_text("process 1 on nowhere")
    lock = EditLock(path)
    assert lock.take()
    lock.release()


def test_a_stamp_tells_when_the_bytes_changed_and_only_then(tmp_path: Path) -> None:
    path = tmp_path / "piece.toml"
    assert stamp_of(path).still_holds(path)
    path.write_text("one")
    stamp = stamp_of(path)
    os.utime(path, ns=(1, 1))
    assert stamp.still_holds(path)
    path.write_text("two")
    assert not stamp.still_holds(path)
    path.unlink()
    assert not stamp.still_holds(path)


# ------------------------------------------------------------------ what is left lying


def test_edits_set_aside_do_not_replace_those_set_aside_before(journal: Journal) -> None:
    kept = []
    for number in range(3):
        journal.record(edits.place(routine(), "Wren", placement(number)), f"edit {number}")
        kept.append(journal.set_aside())
    assert len(set(kept)) == 3
    for number, path in enumerate(kept):
        found = recover(path)
        assert found is not None
        assert found.edits == (f"edit {number}",)


def test_temporary_files_of_killed_programs_are_swept_and_fresh_ones_left(tmp_path: Path) -> None:
    path = tmp_path / "piece.toml"
    old, fresh, other = (
        tmp_path / name
        for name in (".piece.toml.a.part", ".piece.toml.b.part", ".else.toml.a.part")
    )
    for one in (path, old, fresh, other):
        one.write_text("")
    for one in (old, other):
        os.utime(one, (1, 1))
    sweep_abandoned(path)
    assert not old.exists()
    assert path.exists()
    assert fresh.exists()
    assert other.exists()


def test_a_lock_file_removed_between_opening_and_locking_is_taken_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever lets go removes the file: a lock on a file without a name would hold nobody off."""
    path = tmp_path / "piece.toml"
    first = EditLock(path)
    real_open = os.open
    opened = []

    def open_and_lose(name: object, flags: int, *more: int) -> int:
        handle = real_open(name, flags, *more)  # type: ignore[call-overload]
        opened.append(handle)
        if len(opened) == 1:
            os.unlink(str(name))
        return int(handle)

    monkeypatch.setattr(os, "open", open_and_lose)
    assert first.take()
    assert len(opened) == 2
    with pytest.raises(RoutineFileError, match="another editor"):
        EditLock(path).take()
    first.release()


def test_records_go_down_to_the_disk_once_and_outlive_the_journal_being_closed(
    journal: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    flushed = []
    monkeypatch.setattr(os, "fsync", lambda handle: flushed.append(os.fstat(handle).st_ino))
    assert journal.flush() is None
    journal.record(routine(), "opened")
    flush = journal.flush()
    assert flush is not None
    assert journal.flush() is None, "nothing is new"
    place = journal.path.stat().st_ino
    journal.close()
    flushed.clear()
    flush()
    assert flushed == [place]
