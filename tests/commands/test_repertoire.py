"""What a performer has is told from the command line and kept beside the routine."""

import datetime
from pathlib import Path

import pytest

from composer.cli import build_group, run
from composer.files.repertoire_file import load_repertoires, repertoire_path
from composer.moves.library import shipped_library
from composer.score.repertoire import Firmness

ROUTINE = Path(__file__).parents[2] / "routines" / "lantern_quay.toml"


@pytest.fixture
def routine(tmp_path: Path) -> Path:
    path = tmp_path / "quay.toml"
    path.write_text(ROUTINE.read_text())
    return path


def told(routine: Path, *args: str) -> int:
    return run(build_group(), ["repertoire", str(routine), *args])


def kept(routine: Path) -> object:
    return load_repertoires(repertoire_path(routine), shipped_library())["Wren"]


def test_firmness_is_told_changed_and_taken_out(routine: Path, capsys) -> None:
    assert told(routine, "--move", "triquetra", "--as", "reliable") == 0
    assert told(routine, "--move", "diamond", "--from", "triquetra", "--as", "learning") == 0
    had = kept(routine)
    assert had.of_move("triquetra") is Firmness.RELIABLE
    assert had.transitions == {("triquetra", "diamond"): Firmness.LEARNING}
    printed = capsys.readouterr().out
    assert "triquetra into diamond" in printed
    assert "mirrored pendulums" in printed, "in the routine, but not told of"
    assert told(routine, "--move", "triquetra", "--forget") == 0
    assert kept(routine).moves == {}
    assert kept(routine).transitions == {}, "a way needs its moves"


@pytest.mark.parametrize(
    "args",
    [
        ("--move", "triqetra", "--as", "reliable"),
        ("--move", "triquetra"),
        ("--move", "triquetra", "--as", "perfect"),
        ("--as", "reliable"),
        ("--move", "triquetra", "--as", "reliable", "--forget"),
    ],
)
def test_a_wrong_call_is_one_line_and_changes_nothing(routine: Path, capsys, args) -> None:
    assert told(routine, *args) == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1
    assert not repertoire_path(routine).exists()


def test_what_is_being_learnt_is_found_when_the_date_is_near(routine: Path, capsys) -> None:
    """A move still being learnt two days before the stage is told by the check."""
    near = datetime.date.today() + datetime.timedelta(days=2)
    routine.write_text(routine.read_text().replace("2027-06-19", near.isoformat()))
    told(routine, "--move", "mirrored pendulums", "--as", "learning")
    run(build_group(), ["check", str(routine)])
    assert "not ready" in capsys.readouterr().out
