"""The check command: what people read, what programs read, and the exit status."""

import json
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest

from composer.check.limits import LIMITS
from composer.cli import build_group, run
from composer.files.routine_file import save_routine
from composer.score.routine import Following, Part, Performer


@pytest.fixture
def check(kit, tmp_path, capsys):
    """Check a routine of these placements; gives exit status, standard output and error."""

    def go(*placements, options=(), on=None, performer=None, others=()):
        piece = kit.routine(
            *placements, on=on or kit.grid(bpm=80, phrases=(0, 16)), performer=performer or kit.wren
        )
        piece = replace(
            piece,
            performers=(*piece.performers, *(Performer(name) for name in others)),
            parts=(*piece.parts, *(Part(name, placements) for name in others)),
        )
        path = tmp_path / "piece.toml"
        save_routine(piece, path)
        status = run(build_group(), ["check", str(path), *options])
        return status, *capsys.readouterr()

    return go


@pytest.fixture
def clean(kit):
    return kit.placed("diamond", 0, 12), kit.placed("diamond", 12, 12)


@pytest.fixture
def broken(kit):
    """A note at beat 16, an error at 20."""
    return (
        kit.placed("static spin", 0, 16),
        kit.placed("static spin", 16, 4, rate=2),
        kit.placed("static spin", 20, 4, rate=2, mirrored=True),
    )


def test_a_clean_routine_is_exit_0_and_still_shows_the_cautions(check, clean, kit):
    status, out, err = check(*clean, on=kit.grid(bpm=80, phrases=(0, 12)))
    assert (status, err) == (0, "")
    assert out.startswith("test piece: nothing found\n")
    assert "heads run up to" in out
    assert "certify" in out


def test_the_exit_status_follows_the_level_asked_for(check, kit):
    """Doubling the rate is a note; a reversal at full speed an error."""
    note = kit.placed("static spin", 0, 4), kit.placed("static spin", 4, 4, rate=2)
    assert [check(*note, options=["--fail-on", level])[0] for level in ("note", "warning")] == [
        1,
        0,
    ]
    error = kit.placed("static spin", 0, 4), kit.placed("static spin", 4, 4, mirrored=True)
    assert [check(*error, options=["--fail-on", level])[0] for level in ("warning", "error")] == [
        1,
        1,
    ]
    assert check(*error)[0] == 1
    assert check(*note)[0] == 0


def test_people_read_phrase_place_level_figure_limit_and_reason(check, broken):
    status, out, _ = check(*broken)
    assert status == 1
    lines = out.splitlines()
    assert lines[0] == "test piece: 1 error, 1 note"
    second = lines.index("-- phrase 2 --")
    assert "-- phrase 1 --" not in lines
    assert lines[second + 1] == "○ note  bar 5, count 1 (0:12.0)  head's rate jumps"
    text = " ".join(out.split())
    assert "each head goes from 1.33 to 2.67 turns/s in 0.75 s" in text
    assert "(note from 0.4 of the slower rate)" in text
    assert "✖ error bar 6, count 1 (0:15.0) spin reverses without a stall" in text
    assert all(len(line) <= 100 for line in lines)


def test_programs_read_every_finding_with_its_place(check, broken):
    status, out, _ = check(*broken, options=["--json"])
    told = json.loads(out)
    assert status == 1
    assert (told["title"], told["worst"]) == ("test piece", "error")
    rate, reversal = told["findings"]
    assert rate["rule"] == "head's rate jumps"
    assert (rate["beat"], rate["bar"], rate["count"], rate["time_s"]) == ("16", 5, "1", 12.0)
    assert rate["indexes"] == [0, 1]
    assert rate["moves"] == ["static spin", "static spin"]
    assert (rate["level"], rate["hand"], rate["performer"]) == ("note", None, "Wren")
    assert rate["measured"] == pytest.approx(1.0, abs=1e-9)
    assert (reversal["level"], reversal["limit"], reversal["unit"]) == ("error", 4.0, "m/s")
    assert told["cautions"]


def test_one_performer_of_a_group(check, broken):
    _, out, _ = check(*broken, others=("Robin",), options=["--json"])
    assert {row["performer"] for row in json.loads(out)["findings"]} == {"Wren", "Robin"}
    _, out, _ = check(*broken, others=("Robin",), options=["--json", "--performer", "Robin"])
    told = json.loads(out)
    assert all("Robin" in (row["performer"], *row["others"]) for row in told["findings"])
    assert "Robin" in {row["performer"] for row in told["findings"]}
    assert not any(line.startswith("Wren") for line in told["cautions"])
    _, out, _ = check(*broken, others=("Robin",))
    assert "Robin: head's rate jumps" in out


def test_what_cannot_be_checked_is_one_line_and_exit_2(check, clean, tmp_path, capsys):
    status, out, err = check(*clean, options=["--performer", "Nobody"])
    assert (status, out) == (2, "")
    assert err == 'petalbar: no performer is called "Nobody": the routine has Wren\n'
    assert run(build_group(), ["check", str(tmp_path / "none.toml")]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    (tmp_path / "torn.toml").write_text("format = ", encoding="utf-8")
    assert run(build_group(), ["check", str(tmp_path / "torn.toml")]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert run(build_group(), ["check", str(tmp_path / "torn.toml"), "--fail-on", "hint"]) == 2


def test_parts_in_a_circle_are_one_line_that_names_the_chain(kit, tmp_path, capsys):
    """Read back from the file, for two, for three and for one who follows herself."""
    for names in (["Wren"], ["Wren", "Robin"], ["Wren", "Robin", "Lark"]):
        circle = [*names, names[0]]
        parts = tuple(
            Part(name, (), (Following(followed, delay_beats=Fraction(4)),))
            for name, followed in pairwise(circle)
        )
        piece = replace(kit.routine(), performers=tuple(map(Performer, names)), parts=parts)
        save_routine(piece, tmp_path / "circle.toml")
        assert run(build_group(), ["check", str(tmp_path / "circle.toml")]) == 2
        err = capsys.readouterr().err
        assert err.count("\n") == 1
        assert " follows ".join(circle) in err


def test_an_unknown_move_is_a_finding_not_a_failure(check, kit):
    status, out, err = check(kit.placed("pentagramm", 0, 12))
    assert (status, err) == (1, "")
    assert "unknown move" in out
    assert "pentagram" in out


def test_every_limit_is_printed_with_its_figures_and_source(capsys):
    """Without a routine: the table is the same for all."""
    assert run(build_group(), ["check", "--limits"]) == 0
    out = capsys.readouterr().out
    for name, limit in LIMITS.items():
        assert f"{name} ({limit.unit}): note " in out
    assert "hand way (m/s): note from 0.9, warning from 3, error from 5" in out
    assert "hands apart (m): note up to 0.15, warning up to 0.08" in out
    assert "Flash & Hogan" in out
