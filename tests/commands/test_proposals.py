"""follow, fill, settle and readiness on the command line, on the shipped routine."""

import datetime
import json
from fractions import Fraction
from pathlib import Path

import pytest

from composer.commands.places import bars_typed, beat_typed
from composer.errors import ComposerError
from composer.files.routine_file import load_routine
from composer.timing.grid import MusicGrid
from composer.timing.meter import Meter, MeterChange, MeterMap
from composer.timing.tempo_map import steady_tempo_map

from .conftest import Shell


def grid() -> MusicGrid:
    """Two bars of four, then bars of three."""
    meters = MeterMap(
        (MeterChange(Fraction(0), Meter(4, 4)), MeterChange(Fraction(8), Meter(3, 4)))
    )
    return MusicGrid(steady_tempo_map(120), Fraction(20), meters)


@pytest.mark.parametrize(
    ("text", "beat"),
    [("1", 0), ("1.1", 0), ("2.4", 7), ("3", 8), ("4.3", 13), ("2.5/2", Fraction(11, 2))],
)
def test_places_are_typed_as_bar_and_count(text: str, beat: Fraction) -> None:
    assert beat_typed(grid(), text) == beat


@pytest.mark.parametrize("text", ["", "0", "-1", "7", "3.4", "3.0", "x", "1.5/0", "1.1.1", "9" * 9])
def test_a_place_the_music_does_not_have_is_refused(text: str) -> None:
    with pytest.raises(ComposerError):
        beat_typed(grid(), text)


def test_bars_run_to_the_end_of_the_last_one() -> None:
    span = bars_typed(grid(), 2, 3)
    assert (span.start_beat, span.end_beat) == (4, 11)
    with pytest.raises(ComposerError, match="lies before"):
        bars_typed(grid(), 3, 2)


def test_what_can_follow_is_listed_with_reasons(petalbar: Shell, mine: Path) -> None:
    lines = petalbar("follow", mine, "--at", "22", "--count", 5).splitlines()
    assert lines[0].startswith("Lantern Quay, bar 22, count 1 (0:40.4)")
    assert len(lines) == 6
    rows = json.loads(petalbar("follow", mine, "--at", "22", "--json"))["options"]
    assert len(rows) == 12
    assert [row["cost"] for row in rows] == sorted(row["cost"] for row in rows)
    assert all(row["reasons"] for row in rows)
    petalbar("follow", mine, "--at", "22", "--keep", "unit-circle", "--hand", "right")


def test_free_bars_are_filled_and_saved_and_the_rest_of_the_file_stays(
    petalbar: Shell, mine: Path
) -> None:
    text = mine.read_text(encoding="utf-8")
    kept = [line for line in text.splitlines() if '{at = "32"' not in line]
    mine.write_text("\n".join(kept) + "\n", encoding="utf-8")
    rows = json.loads(petalbar("fill", mine, "--from", 9, "--to", 12, "--json"))["fillings"]
    assert len(rows) >= 5
    petalbar("fill", mine, "--from", 9, "--to", 12, "--apply", 2)
    placed = load_routine(mine).part("Wren").placements
    inside = [p for p in placed if 32 <= p.span.start_beat < 48]
    assert [(p.move, str(p.span.start_beat)) for p in inside] == [
        (row["move"], row["at"]) for row in rows[1]["moves"]
    ]
    saved = mine.read_text(encoding="utf-8").splitlines()
    assert [line for line in saved if line in kept] == kept


def test_bars_that_are_taken_are_not_filled(petalbar: Shell, mine: Path) -> None:
    petalbar("fill", mine, "--from", 9, "--to", 12, status=2)
    assert "mirrored figure eights stands there, from bar 9" in petalbar.error
    petalbar("fill", mine, "--from", 1, "--to", 99, status=2)
    assert "no bar 99" in petalbar.error


def test_settling_lowers_the_cost_and_saves_only_when_asked(petalbar: Shell, mine: Path) -> None:
    before = mine.read_bytes()
    row = json.loads(petalbar("settle", mine, "--from", 1, "--to", 46, "--json"))
    assert row["cost"] < row["cost_as_written"]
    assert row["not_smooth"]
    assert mine.read_bytes() == before
    petalbar("settle", mine, "--from", 1, "--to", 46, "--apply")
    again = json.loads(petalbar("settle", mine, "--from", 1, "--to", 46, "--json"))
    assert again["changed"] == []
    assert "no other entry or turn costs less" in petalbar("settle", mine, "--from", 1, "--to", 46)


def test_a_repertoire_beside_the_routine_is_held_against_the_date(
    petalbar: Shell, mine: Path
) -> None:
    mine.with_name("mine.repertoire.toml").write_text(
        'format = 1\n[[performer]]\nname = "Wren"\n'
        'moves = [{move = "mirrored diamonds", firmness = "ready for the stage"}]\n',
        encoding="utf-8",
    )
    text = mine.read_text(encoding="utf-8")
    for days, expected in ((2, True), (300, False), (-2, False)):
        date = datetime.date.today() + datetime.timedelta(days=days)
        mine.write_text(text.replace("2027-06-19", date.isoformat()), encoding="utf-8")
        told = json.loads(petalbar("check", mine, "--json", "--fail-on", "error"))["findings"]
        not_ready = [one["moves"] for one in told if one["rule"] == "not ready"]
        assert bool(not_ready) is expected
        assert ["mirrored diamonds"] not in not_ready


def test_a_repertoire_that_cannot_be_read_is_one_line(petalbar: Shell, mine: Path) -> None:
    mine.with_name("mine.repertoire.toml").write_text("format = 7\n", encoding="utf-8")
    for command in (("check",), ("follow", "--at", 9), ("fill", "--from", 1, "--to", 2)):
        petalbar(command[0], mine, *command[1:], status=2)
        assert petalbar.error.count("\n") == 1
        assert "mine.repertoire.toml, format" in petalbar.error
