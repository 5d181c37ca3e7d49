"""Whatever is typed or stands in a file: the right answer, or one line and status 2."""

import errno
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import click
import pytest

from composer import cli
from composer.cli import build_group, run
from composer.errors import ComposerError, RoutineFileError
from composer.files import atomic, edit_lock
from composer.files.edit_lock import EditLock
from composer.files.keys_file import load_keys
from composer.files.routine_file import load_routine, save_routine
from composer.files.settings_file import load_settings

from .conftest import GROUP, ROOT, TRACK, Shell


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["new", TRACK, "--tether", "nan"], "nan is no number"),
        (["new", TRACK, "--stature", "9"], "0.6 to 2.5"),
        (["new", TRACK, "--stature", "tall"], "'tall' is not a valid number"),
        (["new", TRACK, "--date", "2027-13-40"], "like 2027-06-19"),
        (["new", TRACK, "--performer", ""], "needs a name"),
        (["new", TRACK, "--performer", "Wren", "--performer", "Wren"], 'are called "Wren"'),
        (["new", TRACK, "-o", "mine.mid"], "ends in .toml"),
        (["new", TRACK, "-o", "nowhere/mine.toml"], "nowhere is not there"),
        (["new", TRACK, "-o", "x.toml", "--title", "x" * 201], "at most 200 characters"),
        (["cut", TRACK, "--keep", "1-8", "--lead-in", "nan"], "nan is no number"),
        (["cut", TRACK, "--keep", "1-9999"], "which has 47 bars"),
        (["cut", TRACK, "--keep", "1-8", "-o", "x.txt"], 'not as ".txt"'),
        (["cut", TRACK, "--keep", "1-8", "-o", "nowhere/x.wav"], "nowhere is not there"),
        (["cut", TRACK, "--keep", "1-8", "-o", TRACK, "--force"], "is made from"),
        (["form", GROUP, "--as", "line", "--at", "3", "--apart", "nan"], "nan is no number"),
        (["cues", GROUP, "--lead", "1e99999999"], "such as"),
        (["cues", GROUP, "--lead", "-1"], "0 to 256 beats"),
        (["cues", GROUP, "--lead", "9999999"], "0 to 256 beats"),
        (["follow", GROUP, "--performer", "Wren", "--at", "9", "--beats", "1e9"], "such as"),
        (["check", GROUP, "--apply", "2.1"], "nothing is found that a remedy could mend"),
        (["check", GROUP, "--apply", "soon"], 'takes "all", 2 or 2.3'),
        (["draw", "triquetra", "-o", "x.txt"], ".svg or .png"),
        (["draw", "triquetra", "-o", "nowhere/x.svg"], "nowhere is not there"),
        (["floor", GROUP, "-o", "nowhere/x.svg"], "nowhere is not there"),
        (["export", GROUP, "--as", "pdf", "-o", "x.txt"], "written as .pdf"),
        (["export", GROUP, "--as", "practice-audio", "--speed", "nan"], "nan is no number"),
    ],
)
def test_a_request_that_cannot_be_met_is_one_line(
    petalbar: Shell, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, args: list[str], words: str
) -> None:
    monkeypatch.chdir(tmp_path)
    assert words in petalbar.refuses(*args)
    assert not list(tmp_path.iterdir())


BROKEN = {
    "of thousands of digits": b"x = " + b"9" * 5000,
    "nested": b"x = " + b"[" * 3000 + b"]" * 3000,
    "is not text in UTF-8": b"\xff\xfe\x00",
    "name": b"\xef\xbb\xbf\x00",
}


@pytest.mark.parametrize(("words", "data"), BROKEN.items())
@pytest.mark.parametrize("kind", ["routine", "moves", "repertoire", "keys", "settings"])
def test_every_file_that_people_write_is_refused_in_one_line(
    petalbar: Shell, mine: Path, kind: str, words: str, data: bytes
) -> None:
    """Numbers and nesting on which the TOML reader itself gives up, and text that is none."""
    place = mine.with_name("broken.toml")
    place.write_bytes(data)
    if kind == "routine":
        said = petalbar.refuses("check", place)
    elif kind == "moves":
        said = petalbar.refuses("moves", "--moves", place)
    elif kind == "repertoire":
        place.rename(mine.with_suffix(".repertoire.toml"))
        said = petalbar.refuses("repertoire", mine)
    else:
        with pytest.raises(ComposerError) as refused:
            (load_keys if kind == "keys" else load_settings)(place)
        said = str(refused.value)
    assert words in said or "TOML" in said


@pytest.mark.parametrize(
    "row", ["count_in_bars = 1000000", "offset_ms = nan", "offset_ms = 1e300", 'calls = "loud"']
)
def test_settings_out_of_bounds_are_told_with_their_name(tmp_path: Path, row: str) -> None:
    place = tmp_path / "rehearsal.toml"
    place.write_text(row)
    with pytest.raises(
        ComposerError, match=rf"rehearsal\.toml, {row.split()[0]}: .*mend or delete"
    ):
        load_settings(place)


def test_a_byte_order_mark_of_a_text_editor_does_no_harm(petalbar: Shell, mine: Path) -> None:
    """Unicode 15, section 2.13: a leading U+FEFF marks UTF-8 text and is no part of it."""
    mine.write_bytes(b"\xef\xbb\xbf" + mine.read_bytes())
    assert "Wren" in petalbar("cues", mine)
    save_routine(load_routine(mine), mine)
    assert "Wren" in petalbar("cues", mine)


def test_nothing_is_saved_that_could_not_be_opened_again(mine: Path) -> None:
    from dataclasses import replace

    before = mine.read_bytes()
    routine = replace(load_routine(mine), title="x" * 201)
    with pytest.raises(RoutineFileError, match="title: this should have at most 200 characters"):
        save_routine(routine, mine)
    assert mine.read_bytes() == before


def test_numbers_that_would_fill_memory_are_refused_at_once(petalbar: Shell, mine: Path) -> None:
    mine.write_text(mine.read_text().replace('beats = "8"', 'beats = "1e999999999"', 1))
    assert "must be a fraction" in petalbar.refuses("check", mine)


@pytest.mark.parametrize("rows", ["0.5,inf\n1.0,2\n1.5,3\n", "0.5\nnan\n1.5\n", "1.0\n"])
def test_a_beat_list_with_what_is_no_time_is_refused(
    petalbar: Shell, tmp_path: Path, rows: str
) -> None:
    (tmp_path / "x.txt").write_text(rows)
    petalbar("listen", tmp_path / "x.txt", status=2)
    assert petalbar.error.count("\n") == 1


def test_a_cut_replaces_a_file_only_by_force(petalbar: Shell, tmp_path: Path) -> None:
    made = tmp_path / "short.flac"
    made.write_bytes(b"mine")
    asked = ["cut", TRACK, "--keep", "1-2", "-o", made]
    assert "--force" in petalbar.refuses(*asked)
    assert made.read_bytes() == b"mine"
    petalbar(*asked, "--force")
    assert made.read_bytes().startswith(b"fLaC")


def test_a_cut_longer_than_the_track_says_so(petalbar: Shell) -> None:
    assert "the track lasts 1:29.0: nothing need be cut out" in petalbar(
        "cut", TRACK, "--to", "9:00"
    )


def test_silence_does_not_take_the_place_of_the_music(
    petalbar: Shell, mine: Path, tmp_path: Path
) -> None:
    import numpy as np
    import soundfile

    soundfile.write(tmp_path / "silent.wav", np.zeros(44_100 * 10), 44_100)
    before = mine.read_bytes()
    assert "is silent" in petalbar.refuses("relisten", mine, "--track", tmp_path / "silent.wav")
    assert mine.read_bytes() == before


def test_what_she_does_not_have_cannot_be_taken_out(petalbar: Shell, mine: Path) -> None:
    asked = ["repertoire", mine, "--move", "pentagram", "--forget"]
    assert 'no "pentagram"' in petalbar.refuses(*asked)
    assert "no way from" in petalbar.refuses(*asked, "--from", "triquetra")
    assert not mine.with_suffix(".repertoire.toml").exists()


@pytest.mark.parametrize(
    "asked",
    [
        ["check", "--apply", "all"],
        ["settle", "--from", "1", "--to", "8", "--apply"],
        ["fill", "--from", "5", "--to", "6", "--apply", "1"],
        ["relisten"],
    ],
)
def test_a_routine_that_an_editor_holds_is_not_changed_behind_its_back(
    petalbar: Shell, mine: Path, asked: list[str]
) -> None:
    text = mine.read_text().replace("../demo_tracks", str(ROOT / "demo_tracks"))
    lines = [line for line in text.splitlines() if 'at = "16"' not in line]
    mine.write_text("\n".join(lines) + "\n")
    before = mine.read_bytes()
    lock = EditLock(mine)
    lock.take()
    try:
        petalbar(asked[0], mine, *asked[1:], status=2)
    finally:
        lock.release()
    assert "open in another editor" in petalbar.error
    assert mine.read_bytes() == before


def test_a_full_disk_leaves_the_routine_as_it_was(
    petalbar: Shell, mine: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_args: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    before = mine.read_bytes()
    monkeypatch.setattr(atomic.os, "fsync", full)
    monkeypatch.setattr(edit_lock.os, "write", full)
    petalbar("check", mine, "--apply", "all", status=2)
    assert "No space left" in petalbar.error
    assert petalbar.error.count("\n") == 1
    assert mine.read_bytes() == before
    assert [path.name for path in mine.parent.iterdir()] == ["mine.toml"]


def test_what_the_system_refuses_is_told_and_is_no_fault(
    capsys: pytest.CaptureFixture[str],
) -> None:
    @click.command()
    def failing() -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    group = build_group()
    group.get_command = lambda _context, _name: failing  # type: ignore[method-assign]
    assert run(group, ["moves"]) == 2
    said = capsys.readouterr().err
    assert said == "petalbar: the output cannot be written: No space left on device\n"


@pytest.mark.parametrize(
    ("written", "instead", "words"),
    [
        ('rate = "1/2"', 'rate = "99999"', "a rate lies from 1/64 to 64"),
        ('rate = "1/2"', 'rate = "0"', "a rate lies from 1/64 to 64"),
        ("[track]", "[cut]\nkeep = []\nlead_in_s = 9999\n[track]", "less than or equal to 60"),
        ('beats = "8"', 'beats = "-8"', "must be positive"),
        ('beats = "8"', 'beats = "99999999999999999999"', "out of range"),
        ('beats = "8"', "beats = 0.5", "a fraction in quotes"),
        ('move = "mirrored pendulums"', "move = 3", "write it in quotes"),
        ('performer = "Wren"', 'performer = "Nobody"', "not among the performers"),
        ("entry = 2", "entri = 2", "check its spelling"),
    ],
)
def test_what_stands_wrong_in_a_routine_is_told_with_its_place(
    petalbar: Shell, mine: Path, written: str, instead: str, words: str
) -> None:
    text = mine.read_text()
    assert written in text
    mine.write_text(text.replace(written, instead, 1))
    said = petalbar.refuses("check", mine)
    assert "mine.toml, " in said
    assert words in said


def test_more_memory_than_there_is_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    @click.command()
    def greedy() -> None:
        raise MemoryError

    group = build_group()
    group.get_command = lambda _context, _name: greedy  # type: ignore[method-assign]
    assert run(group, ["moves"]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_without_a_word_the_help_is_shown(petalbar: Shell) -> None:
    assert petalbar() == petalbar("--help")


# ------------------------------------------------------------------ a process of its own


def started(*args: object, **more: object) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "tui.main", *map(str, args)],
        cwd=ROOT,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        **more,  # type: ignore[call-overload]
    )


@pytest.mark.parametrize("args", [["moves"], ["--help"], ["new", "--schema"], ["check", GROUP]])
def test_nobody_reading_on_is_no_failure(args: list[object]) -> None:
    """As in ``petalbar moves | head -1``: POSIX write, EPIPE."""
    process = started(*args)
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    said = process.stderr.read()
    assert process.wait(60) == 0
    assert said == b""


@pytest.mark.parametrize("encoding", ["latin-1", "cp1252", "utf-8"])
def test_a_terminal_without_unicode_gets_every_word(encoding: str) -> None:
    """What its letters lack is spelt out; the trail of a move is drawn in plain characters."""
    more = {**os.environ, "PYTHONIOENCODING": encoding}
    for args in (["check", ROOT / "routines" / "lantern_quay.toml"], ["move", "triquetra"]):
        process = started(*args, env=more)
        out, err = process.communicate(timeout=60)
        assert process.returncode in (0, 1)
        assert err == b""
        assert ("⠉" in out.decode(encoding)) == (encoding == "utf-8" and args[0] == "move")
        assert b"\\u28" not in out


@pytest.mark.parametrize("columns", [40, 80, 200])
def test_sentences_are_as_wide_as_the_terminal_and_no_wider_than_96(
    petalbar: Shell, monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    said = petalbar("check", ROOT / "routines" / "lantern_quay.toml", status=1).splitlines()
    sentences = [line for line in said if line.startswith("    ")]
    widest = max(map(len, sentences))
    assert min(columns, 96) - 12 < widest <= min(columns, 96)


def test_a_full_output_is_one_line() -> None:
    if not Path("/dev/full").exists():
        pytest.skip("this system has no device that is always full")
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "tui.main", "moves"], cwd=ROOT, stdout=full, stderr=-1
        )
    assert done.returncode == 2
    assert done.stderr == b"petalbar: the output cannot be written: No space left on device\n"


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
def test_ctrl_c_in_the_middle_is_one_line_and_leaves_no_half_file(tmp_path: Path) -> None:
    """128 + 2 is the status that shells give a program ended by SIGINT (POSIX, 2.8.2)."""
    routine = tmp_path / "mine.toml"
    text = (ROOT / "routines" / "lantern_quay.toml").read_text()
    routine.write_text(text.replace("../demo_tracks/", ""))
    shutil.copy(TRACK, tmp_path)
    made = tmp_path / "film.mp4"
    # a process started in the background may have been told to ignore the signal
    heed = lambda: signal.signal(signal.SIGINT, signal.default_int_handler)  # noqa: E731
    process = started("export", routine, "-o", made, preexec_fn=heed, start_new_session=True)
    time.sleep(2.5)  # a film of a minute and a half is far from done
    os.killpg(process.pid, signal.SIGINT)
    _, said = process.communicate(timeout=60)
    assert process.returncode == 130
    assert said.strip() == b"petalbar: stopped"
    assert sorted(path.name for path in tmp_path.iterdir()) == [TRACK.name, "mine.toml"]


def test_a_fault_of_its_own_is_kept_for_whoever_mends_it(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.gettempdir", lambda: str(tmp_path))

    def broken(*_args: object) -> object:
        raise ZeroDivisionError("a fault")

    group = build_group()
    group.get_command = broken  # type: ignore[method-assign, assignment]
    assert cli.run(group, ["moves"]) == 3
    (report,) = tmp_path.iterdir()
    assert str(report) in capsys.readouterr().err
    assert "ZeroDivisionError: a fault" in report.read_text()


@pytest.mark.parametrize("letter", ["\n", "\x1b", "\x07", "\x9b", "\u2028"])
@pytest.mark.parametrize("where", ["title", "performer", "phrase", "note", "track"])
def test_names_that_could_steer_a_terminal_are_refused(
    petalbar: Shell, mine: Path, where: str, letter: str
) -> None:
    """ECMA-48: ESC and CSI begin sequences that move the cursor or clear the screen."""
    escaped = f"\\u{ord(letter):04x}"
    begins = {
        "title": "Lantern Quay",
        "performer": "Wren",
        "phrase": "finale",
        "note": "half light",
        "track": "../demo_tracks/harbour",
    }
    word = begins[where]
    text = mine.read_text()
    assert f'"{word}' in text
    mine.write_text(text.replace(f'"{word}', f'"{word}{escaped}'))
    said = petalbar.refuses("check", mine)
    assert "one line, without control characters" in said
    assert letter.strip() == "" or letter not in said


def test_notes_may_have_lines_but_no_escapes(petalbar: Shell, mine: Path) -> None:
    text = mine.read_text()
    mine.write_text(text.replace("the big one, arms wide", "the big one\\n\\tarms wide"))
    petalbar("cues", mine)
    mine.write_text(text.replace("the big one, arms wide", "the big one \\u001b[2J"))
    assert "control characters" in petalbar.refuses("cues", mine)


def test_markers_of_a_midi_file_become_names_of_one_line(petalbar: Shell, tmp_path: Path) -> None:
    """UTF-8 as sequencers write it, and Latin-1 as RP-001 has it; 200 letters at most."""
    import mido

    file = mido.MidiFile(charset="latin-1")
    words = ["ערב 🔥".encode().decode("latin-1"), "caf\xe9", "two\nlines\x1b", "x" * 300]
    track = [mido.MetaMessage("marker", text=text, time=1920) for text in words]
    file.tracks.append(mido.MidiTrack([*track, mido.MetaMessage("marker", text="end", time=1920)]))
    file.tracks[0].append(mido.MetaMessage("end_of_track", time=1920))
    file.save(tmp_path / "song.mid")
    petalbar("new", tmp_path / "song.mid", "-o", tmp_path / "song.toml")
    names = [phrase.name for phrase in load_routine(tmp_path / "song.toml").grid.phrases]
    assert [name for name in names if name in ("ערב 🔥", "café", "two lines", "x" * 200)] == [
        "ערב 🔥", "café", "two lines", "x" * 200,
    ]  # fmt: skip


def test_the_tempo_of_a_new_routine_is_that_of_its_middle(petalbar: Shell, tmp_path: Path) -> None:
    """A file whose first beat is shorter, as where a sequencer leads in: 171 there, 126 after."""
    import mido

    rows = [mido.MetaMessage("set_tempo", tempo=350_000, time=0)]
    rows.append(mido.MetaMessage("set_tempo", tempo=round(60e6 / 126), time=480))
    rows.append(mido.MetaMessage("end_of_track", time=480 * 64))
    file = mido.MidiFile(ticks_per_beat=480)
    file.tracks.append(mido.MidiTrack(rows))
    file.save(tmp_path / "song.mid")
    said = petalbar("new", tmp_path / "song.mid", "-o", tmp_path / "song.toml")
    assert "at 126.00 beats a minute" in said
