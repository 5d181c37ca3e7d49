"""petalbar export: files written whole or not at all, one clear line for what stands in the way."""

import errno
import io
import json
import os
from dataclasses import replace
from pathlib import Path

import av
import mido
import pytest
import soundfile

from composer.cli import build_group, run
from composer.export.kinds import KINDS
from composer.files import atomic
from composer.files.routine_file import save_routine
from composer.score.routine import TrackRef

from .conftest import RATE_HZ


@pytest.fixture
def routine_path(tmp_path, duo, sound) -> Path:
    """The routine on disk beside its track."""
    soundfile.write(tmp_path / "lanterns.wav", sound.samples, RATE_HZ)
    path = tmp_path / "mine.toml"
    save_routine(replace(duo, track=TrackRef("lanterns.wav")), path)
    return path


def export(*args: object) -> int:
    return run(build_group(), ["export", *map(str, args)])


STARTS = {
    "midi": b"MThd",
    "webvtt": b"WEBVTT\n",
    "chapters": b"WEBVTT\n",
    "csv": b"\xef\xbb\xbfperformer,",
    "json": b"{",
    "pdf": b"%PDF-",
    "html": b"<!doctype html>",
    "stage-audio": b"RIFF",
    "practice-audio": b"fLaC",
}
"""How files of each kind begin, by their own standards."""
CALLED = {"stage-audio": "-stage", "practice-audio": "-practice"}
"""Sound has its kind in its name: a track is often called as its routine is."""


@pytest.mark.parametrize("kind", STARTS)
def test_every_kind_is_written_under_its_usual_name(routine_path, kind, capsys):
    assert export(routine_path, "--as", kind, "--performer", "Wren") == 0
    made = routine_path.with_name(f"mine-Wren{CALLED.get(kind, '')}{KINDS[kind].suffixes[0]}")
    assert made.read_bytes().startswith(STARTS[kind])
    assert str(made) in capsys.readouterr().out
    assert not list(routine_path.parent.glob("*.part"))


def test_an_animation_of_a_phrase_is_written(routine_path, tmp_path):
    made = tmp_path / "lift.gif"
    assert export(routine_path, "--as", "animation", "--phrase", "2", "-o", made) == 0
    assert made.read_bytes().startswith(b"GIF89a")


@pytest.mark.parametrize(
    ("name", "kind"),
    [("a.mid", "midi"), ("a.vtt", "webvtt"), ("a.chapters.vtt", "chapters"), ("A.CSV", "csv")],
)
def test_the_ending_tells_the_kind(routine_path, tmp_path, name, kind):
    assert export(routine_path, "-o", tmp_path / name) == 0
    assert (tmp_path / name).read_bytes().startswith(STARTS[kind])


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["-o", "a.xyz"], "does not tell what to export"),
        (["-o", "a.flac"], "stage-audio or practice-audio"),
        (["--as", "practice-audio", "-o", "a.txt"], ".flac, .wav, .ogg, .m4a, .mp3"),
        (["--as", "midi", "--performer", "Nobody"], 'no performer is called "Nobody"'),
        (["--as", "midi", "--phrase", "9"], 'no phrase is called "9"'),
        (["--as", "practice-audio", "--speed", "20"], "50 to 110 %"),
        (["--as", "midi", "-o", "nowhere/a.mid"], "nowhere is not there"),
        (["--as", "midi", "-o", "."], "is a folder"),
        ([], "--as"),
    ],
)
def test_a_wrong_request_gets_one_line(routine_path, monkeypatch, capsys, options, told):
    monkeypatch.chdir(routine_path.parent)
    before = sorted(os.listdir())
    assert export(routine_path, *options) == 2
    error = capsys.readouterr().err
    assert told in error
    assert error.count("\n") == 1
    assert sorted(os.listdir()) == before


def test_a_file_that_is_there_is_replaced_only_by_force(routine_path, tmp_path, capsys):
    made = tmp_path / "a.vtt"
    made.write_text("mine")
    assert export(routine_path, "-o", made) == 2
    assert "--force" in capsys.readouterr().err
    assert made.read_text() == "mine"
    assert export(routine_path, "-o", made, "--force") == 0
    assert made.read_text().startswith("WEBVTT")


@pytest.mark.parametrize("name", ["mine.toml", "lanterns.wav"])
def test_what_it_is_made_from_is_never_replaced(routine_path, name, capsys):
    target = routine_path.with_name(name)
    before = target.read_bytes()
    assert export(routine_path, "--as", "stage-audio", "-o", target, "--force") == 2
    assert "is what the export is made from" in capsys.readouterr().err
    assert target.read_bytes() == before


def test_a_full_disk_leaves_the_old_file_and_no_rest(routine_path, tmp_path, monkeypatch, capsys):
    made = tmp_path / "a.pdf"
    made.write_bytes(b"old")

    def full(_handle):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(atomic.os, "fsync", full)
    assert export(routine_path, "-o", made, "--force") == 2
    assert "No space left on device" in capsys.readouterr().err
    assert made.read_bytes() == b"old"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.pdf", "lanterns.wav", "mine.toml"]


def test_a_folder_that_may_not_be_written_gets_one_line(
    routine_path, tmp_path, monkeypatch, capsys
):
    def refused(*_args, **_more):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(atomic.tempfile, "mkstemp", refused)
    assert export(routine_path, "-o", tmp_path / "a.mid") == 2
    error = capsys.readouterr().err
    assert "cannot be written: Permission denied" in error
    assert error.count("\n") == 1


def test_without_its_track_only_what_needs_sound_is_refused(routine_path, tmp_path, capsys):
    (tmp_path / "lanterns.wav").unlink()
    assert export(routine_path, "--as", "midi", "-o", tmp_path / "a.mid") == 0
    capsys.readouterr()
    assert export(routine_path, "--as", "html", "-o", tmp_path / "a.html") == 2
    error = capsys.readouterr().err
    assert "lanterns.wav: no such file" in error
    assert error.count("\n") == 1


def test_options_reach_what_is_made(routine_path, tmp_path):
    quiet, slow = tmp_path / "quiet.mid", tmp_path / "slow.wav"
    assert export(routine_path, "--as", "midi", "--no-clicks", "-o", quiet) == 0
    assert len(mido.MidiFile(quiet).tracks) == 3  # conductor and two performers
    asked = ["--as", "practice-audio", "--speed", "50", "--phrase", "1", "--count-in", "0"]
    assert export(routine_path, *asked, "-o", slow) == 0
    assert soundfile.info(slow).duration == pytest.approx(16.0, rel=0, abs=0.01)
    with av.open(io.BytesIO(slow.read_bytes())) as container:
        assert container.metadata["comment"] == "practice at 50 % with clicks and calls"


def test_what_was_made_is_told_and_no_more(routine_path, tmp_path, capsys):
    made = tmp_path / "only.pdf"
    assert export(routine_path, "-o", made, "--sheet", "counts", "--sheet", "cues") == 0
    assert capsys.readouterr().out == f"{made}: counts, cues\n"


def test_the_schema_is_printed_without_a_routine(capsys):
    assert export("--schema") == 0
    schema = json.loads(capsys.readouterr().out)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
