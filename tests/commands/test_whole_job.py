"""The main job by command line, on the shipped track: listen, place, check, cue, take away.

The track's truth was written by the script that made it, from the tempo it was made with.
"""

import json
import tomllib
from pathlib import Path

import jsonschema
import mir_eval
import numpy as np
import pretty_midi
import pytest

from composer.cli import build_group
from composer.files.routine_file import load_routine

from .conftest import ROOT, ROUTINE, TRACK, Shell

WALTZ = ROOT / "demo_tracks" / "tidewater_waltz.ogg"


def truth(track: Path) -> tuple[np.ndarray, np.ndarray]:
    """Beats and downbeats, in seconds."""
    rows = np.loadtxt(track.with_suffix(".beats.txt"))
    return rows[:, 0], rows[rows[:, 1] == 1, 0]


@pytest.mark.parametrize(("track", "bpm", "meter"), [(TRACK, 126.0, "4/4"), (WALTZ, 108.0, "3/4")])
def test_beats_and_bars_of_the_shipped_tracks_are_heard(
    petalbar: Shell, track: Path, bpm: float, meter: str
) -> None:
    """F-measure at 70 ms: Davies, Degara, Plumbley, QMUL C4DM-TR-09-06 (2009), by mir_eval."""
    heard = json.loads(petalbar("listen", track, "--json"))
    beats, downbeats = truth(track)
    assert heard["bpm"] == pytest.approx(bpm, abs=bpm * 0.001)
    assert heard["meter"] == meter
    inside = [t for t in heard["beats"] if t <= beats[-1] + 0.1]
    assert mir_eval.beat.f_measure(beats, np.array(inside)) > 0.95
    inside = [t for t in heard["downbeats"] if t <= downbeats[-1] + 0.1]
    assert mir_eval.beat.f_measure(downbeats, np.array(inside)) > 0.95
    matched = mir_eval.util.match_events(beats, np.array(heard["beats"]), 0.07)
    late_ms = np.median([heard["beats"][j] - beats[i] for i, j in matched]) * 1000
    assert abs(late_ms) < 5


def test_from_a_track_to_a_checked_routine_and_its_sheets(petalbar: Shell, tmp_path: Path) -> None:
    mine = tmp_path / "mine.toml"
    said = petalbar("new", TRACK, "-o", mine, "--performer", "Wren", "--tether", "0.52")
    assert "126.00 beats a minute" in said
    assert load_routine(mine).performers[0].right_prop.length_m == 0.52

    moves = """
[[part]]
performer = "Wren"
moves = [
    { at = "0", beats = "8", move = "static spins at both sides" }, # breathe
    { at = "8", beats = "8", move = "mirrored diamonds" },
]
"""
    mine.write_text(mine.read_text() + moves)
    found = json.loads(petalbar("check", mine, "--json", status=1))["findings"]
    rules = {one["rule"] for one in found}
    assert "does not close" in rules, "8 beats are 2 2/3 cycles of 3 downbeats (arithmetic)"

    petalbar("check", mine, "--apply", "all")
    assert "# breathe" in mine.read_text()
    left = json.loads(petalbar("check", mine, "--json"))["findings"]
    assert "does not close" not in {one["rule"] for one in left}

    cues = json.loads(petalbar("cues", mine, "--json"))["cues"]
    beats, _ = truth(TRACK)
    assert cues[0]["text"] == "static spins at both sides"
    assert cues[0]["time_s"] == pytest.approx(beats[0], abs=0.01)
    second = next(cue for cue in cues if cue["beat"] == "8")
    assert second["time_s"] == pytest.approx(beats[8], abs=0.01)
    assert second["call_time_s"] == pytest.approx(beats[4], abs=0.01)
    assert "mirrored diamonds" in petalbar("cues", mine)

    midi = tmp_path / "mine.mid"
    petalbar("export", mine, "--as", "midi", "-o", midi)
    read = pretty_midi.PrettyMIDI(str(midi))
    first_bar = read.get_downbeats()[1]
    heard = read.get_beats()[read.get_beats() > first_bar - 0.01][:100]
    assert np.abs(heard - beats[:100]).max() < 0.005
    petalbar("export", mine, "--as", "midi", "-o", midi, status=2)
    assert "exists already" in petalbar.error


def test_the_demo_routine_has_its_two_faults_and_no_more(petalbar: Shell) -> None:
    found = json.loads(petalbar("check", ROUTINE, "--json", status=1))["findings"]
    grave = [(one["rule"], one["bar"]) for one in found if one["level"] != "note"]
    assert grave == [("does not close", 22), ("spin reverses without a stall", 37)]
    petalbar("check", ROUTINE, "--fail-on", "error")


def test_a_program_can_ask_for_everything_about_a_move(petalbar: Shell) -> None:
    names = {row["name"] for row in json.loads(petalbar("moves", "--json"))["moves"]}
    assert {"triquetra", "isolation", "pendulum"} <= names
    triquetra = petalbar("move", "triquetra", "--bpm", "120")
    assert "petal" in triquetra
    petalbar("move", "triqetra", status=2)
    assert "triquetra" in petalbar.error


def one_line(text: str) -> bool:
    return len(text.strip().splitlines()) == 1


@pytest.mark.parametrize("name", ["missing.ogg", "folder", "empty.ogg", "text.mp3", "short.wav"])
@pytest.mark.parametrize("command", ["listen", "new"])
def test_what_is_no_music_is_told_in_one_line(
    petalbar: Shell, tmp_path: Path, command: str, name: str
) -> None:
    from scipy.io import wavfile

    (tmp_path / "folder").mkdir()
    (tmp_path / "empty.ogg").touch()
    (tmp_path / "text.mp3").write_text("this is no music\n" * 50)
    wavfile.write(tmp_path / "short.wav", 44100, np.zeros(4410, dtype=np.int16))
    more = ["-o", tmp_path / "new.toml"] if command == "new" else []
    petalbar(command, tmp_path / name, *more, status=2)
    assert one_line(petalbar.error)
    assert name in petalbar.error
    assert not (tmp_path / "new.toml").exists()


def test_silence_is_no_music_to_place_moves_on(petalbar: Shell, tmp_path: Path) -> None:
    from scipy.io import wavfile

    silent = tmp_path / "silent.wav"
    wavfile.write(silent, 44100, np.zeros(44100 * 10, dtype=np.int16))
    petalbar("new", silent, "-o", tmp_path / "new.toml", status=2)
    assert one_line(petalbar.error)
    assert "silent" in petalbar.error
    assert not (tmp_path / "new.toml").exists()


def test_a_routine_goes_on_without_its_track(petalbar: Shell, tmp_path: Path) -> None:
    moved = tmp_path / "moved.toml"
    moved.write_text(ROUTINE.read_text())
    petalbar("cues", moved)
    petalbar("check", moved, status=1)
    petalbar("export", moved, "--as", "stage-audio", "-o", tmp_path / "x.wav", status=2)
    assert "harbour_lanterns.ogg" in petalbar.error
    assert not (tmp_path / "x.wav").exists()


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["chekc"], 'did you mean "check"?'),
        (["check"], "Missing argument"),
        (["check", "nowhere.toml"], "petalbar new"),
        (["cues", ROUTINE, "--performer", "Nobody"], "Wren"),
        (["cues", ROUTINE, "--lead", "soon"], "fraction"),
        (["export", ROUTINE, "--as", "waffle"], "waffle"),
        (["move", "hexagram of one hand"], "hexagram"),
    ],
)
def test_a_wrong_call_is_one_line_and_status_2(
    petalbar: Shell, args: list[object], words: str
) -> None:
    petalbar(*args, status=2)
    assert words in petalbar.error
    assert one_line(petalbar.error)


def test_help_teaches_by_example(petalbar: Shell) -> None:
    top = petalbar("--help")
    assert "petalbar check mine.toml" in top
    for name in build_group().list_commands(None):  # type: ignore[arg-type]
        assert "Example" in petalbar(name, "--help"), name


def test_the_shipped_routine_obeys_the_schema_that_is_given_to_editors(petalbar: Shell) -> None:
    """JSON Schema draft 2020-12, by the reference library jsonschema."""
    schema = json.loads(petalbar("new", "--schema"))
    rows = tomllib.loads(ROUTINE.read_text())
    rows["performance_date"] = rows["performance_date"].isoformat()
    jsonschema.validate(rows, schema)
    rows["part"][0]["moves"][0]["beets"] = "4"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(rows, schema)


def test_the_words_of_the_trade_are_explained(capsys: pytest.CaptureFixture[str]) -> None:
    """Words that the help of the commands uses without a sentence about them."""
    from composer.cli import run
    from tui.main import COMMANDS

    group = build_group(COMMANDS)
    assert run(group, ["words", "Entry", "split"]) == 0
    said = capsys.readouterr().out.splitlines()
    assert said[0] == "entry"
    assert "split" in said
    assert run(group, ["words"]) == 0
    everything = capsys.readouterr().out
    for word in ("downbeat", "hybrid", "relation", "rate", "plane", "closes", "tether", "phrase"):
        assert f"\n{word}" in everything
    assert run(group, ["words", "zzz"]) == 2
    assert capsys.readouterr().err.count("\n") == 1
