"""petalbar relisten on beats that a text file gives: nothing is heard, so all is exact."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from composer.arrange import music
from composer.cli import build_group, run
from composer.files.edit_lock import EditLock
from composer.files.routine_file import load_routine, save_routine
from composer.score.routine import Part, Performer, Placement, Routine, TrackRef
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.tempo_map import Knot, TempoMap

FIRST_S, BEATS = 0.5, 96


def write_beats(path: Path, first_s: float = FIRST_S, upbeats: int = 0) -> None:
    """Beat b at first_s + b/2, the first of them after some upbeats a downbeat."""
    rows = [f"{first_s + b / 2} {(b - upbeats) % 4 + 1}" for b in range(BEATS)]
    path.write_text("\n".join(rows))


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    write_beats(tmp_path / "piece.beats")
    grid = MusicGrid(
        TempoMap((Knot(Fraction(0), FIRST_S), Knot(Fraction(BEATS), FIRST_S + BEATS / 2))),
        Fraction(BEATS),
        phrases=(
            Phrase(Fraction(0), "opening", locked=True),
            Phrase(Fraction(30), "mine", 0.5, True),
        ),
    )
    moves = (Placement(BeatSpan(Fraction(16), Fraction(8)), "extension"),)
    routine = Routine(
        "Piece", TrackRef("piece.beats"), grid, (Performer("Wren"),), (Part("Wren", moves),)
    )
    path = tmp_path / "piece.toml"
    save_routine(music.nudge(routine, 0.03), path)
    return path


def test_moves_corrections_and_locked_phrases_are_kept(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Beat 16 sounds at 0.5 + 8 + 0.03 s before and after."""
    before = load_routine(place)
    assert run(build_group(), ["relisten", str(place)]) == 0
    after, told = load_routine(place), capsys.readouterr().out
    assert after.parts == before.parts
    assert after.corrections == before.corrections
    assert after.grid.tempo_map.seconds(16) == pytest.approx(8.53, abs=1e-6)
    kept = {p.name: (p.start_beat, p.locked) for p in after.grid.phrases}
    assert kept["opening"] == (0, True)
    assert kept["mine"] == (30, True)
    assert "1 correction applied again" in told
    assert "all beats 0.030 s later" in told
    assert after.track.sha256


def test_a_corrected_downbeat_holds_against_one_that_is_heard_elsewhere(place: Path) -> None:
    """The list now says that bars begin a beat later, at 1 s; she had set them to 0.5 s."""
    routine = replace(load_routine(place), corrections=())
    save_routine(music.count_one_here(routine, Fraction(0)), place)
    write_beats(place.parent / "piece.beats", upbeats=1)
    assert run(build_group(), ["relisten", str(place)]) == 0
    assert load_routine(place).grid.tempo_map.seconds(0) == pytest.approx(0.5, abs=1e-6)


def test_a_dry_run_writes_nothing(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = place.read_bytes()
    assert run(build_group(), ["relisten", str(place), "--dry-run"]) == 0
    assert place.read_bytes() == text
    assert "Nothing was written" in capsys.readouterr().out


def test_other_music_is_named_and_the_routine_keeps_its_bars(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The other file begins 0.12 s later: so do all beats, and so do the moves."""
    save_routine(replace(load_routine(place), corrections=()), place)
    assert run(build_group(), ["relisten", str(place)]) == 0
    other = str(place.parent / "other.beats")
    write_beats(Path(other), FIRST_S + 0.12)
    assert run(build_group(), ["relisten", str(place), "--track", other]) == 0
    routine = load_routine(place)
    assert routine.track.file == "other.beats"
    assert routine.grid.tempo_map.seconds(16) == pytest.approx(8.62, abs=1e-6)
    assert "is other music than the routine was made on" in capsys.readouterr().out


def test_a_routine_that_is_open_in_an_editor_is_not_written(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text, lock = place.read_bytes(), EditLock(place)
    assert lock.take()
    assert run(build_group(), ["relisten", str(place)]) == 2
    assert "is open in another editor" in capsys.readouterr().err
    assert place.read_bytes() == text
    lock.release()


def test_a_track_that_is_gone_is_told_in_one_line(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (place.parent / "piece.beats").unlink()
    assert run(build_group(), ["relisten", str(place)]) == 2
    assert capsys.readouterr().err.count("\n") == 1
