"""The library on the command line: what is printed for people, for programs, and when it fails."""

import json
from fractions import Fraction

import pytest
from PIL import Image

from composer.cli import build_group, run
from composer.moves.library import library_from_text, shipped_library


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    """No moves of whoever runs the tests."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("TERM", "xterm")
    return tmp_path


def told(capsys, *args, status=0):
    assert run(build_group(), args) == status
    out = capsys.readouterr()
    return out.err if status else out.out


def as_json(capsys, *args):
    return json.loads(told(capsys, *args, "--json"))


def test_moves_lists_every_move_for_programs(capsys):
    rows = as_json(capsys, "moves")["moves"]
    assert {row["name"] for row in rows} == set(shipped_library().names())
    for row in rows:
        assert row["words"]
        assert row["difficulty_points"] >= 0
        assert Fraction(row["cycle_beats_at_rate_1"]) == max(row["downbeats"])


@pytest.mark.parametrize(
    ("options", "keeps"),
    [
        (["--hands", "two"], lambda row: row["hands"] == "two"),
        (["--downbeats", "3"], lambda row: max(row["downbeats"]) == 3),
        (["--family", "head to hand"], lambda row: "head to hand" in row["families"]),
        (["--max-difficulty", "2"], lambda row: row["difficulty_points"] <= 2),
        (["--plane", "wheel"], lambda row: row["plane"] == "wheel"),
        (
            ["--search", "pendulum petals"],
            lambda row: "petals" in row["words"] and "pendulum" in row["name"] + row["words"],
        ),
    ],
)
def test_moves_filters(capsys, options, keeps):
    everything = as_json(capsys, "moves")["moves"]
    found = as_json(capsys, "moves", *options)["moves"]
    assert [row["name"] for row in found] == [row["name"] for row in everything if keeps(row)]
    assert found


def test_moves_says_when_nothing_is_like_that(capsys):
    err = told(capsys, "moves", "--downbeats", "77", status=2)
    assert err.startswith("petalbar: no move is like that")


def test_move_tells_shape_timing_speed_and_cautions(capsys):
    text = told(capsys, "move", "extension with triquetra", "--bpm", "100", "--tether", "0.5")
    for part in (
        "heads meet",
        "on counts 1 1/2, 2 1/6, 2 5/6",
        "m/s at most",
        "closes after",
        "2 beats, 1.20 s",
        "Cautions",
        "performer's view",
    ):
        assert part in text
    assert any("⠀" < character <= "⣿" for character in text)


def test_a_staff_never_hangs_slack(capsys):
    """A rigid prop may push: only poi can go slack."""
    slow = ("move", "static spin", "--bpm", "30")
    assert "now slack" in told(capsys, *slow)
    assert "now slack" not in told(capsys, *slow, "--prop", "staff")


def test_a_plain_terminal_gets_plain_characters(capsys, monkeypatch):
    monkeypatch.setenv("TERM", "dumb")
    text = told(capsys, "move", "triquetra")
    assert not any("⠀" <= character <= "⣿" for character in text)
    assert "*" in text


def test_move_for_programs_is_exact_where_it_is(capsys):
    row = as_json(capsys, "move", "static spin with pentagram")
    assert row["measures"]["cycle_beats"] == "3"
    assert row["measures"]["pair"]["families"] == ["polyrhythm"]
    hands = {hand["hand"]: hand for hand in row["measures"]["hands"]}
    assert hands["left"]["head_turns"] == "-3" or hands["left"]["head_turns"] == "3"
    assert hands["left"]["downbeats"] == ["1", "2", "3"]


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (["move", "extenson"], 'the nearest are "extension"'),
        (["move", "triquetra", "--tether", "0"], "0.05 to 3.0"),
        (["move", "triquetra", "--tether", "nan"], "nan is no number"),
        (["move", "triquetra", "--bpm", "nan"], "nan is no number"),
        (["move", "triquetra", "--rate", "0"], "from 1/16 to 16"),
        (["move", "triquetra", "--rate", "1.5.1"], "fraction"),
        (["move", "pendulum", "--relation", "split same"], "never points 1/2 of a turn"),
        (["move", "box", "--relation", "apart"], "a relation is written like"),
        (["draw", "box", "-o", "box.gif"], "ends in .svg or .png"),
        (["draw", "-o", "box.png"], "give the names of moves, or --all"),
        (["draw", "box", "-o", "no/where/box.png"], "no/where"),
        (["explore", "crossed cat-eyes"], "is a hybrid"),
        (["explore", "extension", "floor spin overhead"], "one plane"),
        (["explore", "--turned", "1/17"], "sixteenths"),
        (["explore", "--relation", "near"], "a relation is written like"),
        (["explore", "--family", "body tracing"], "is not one of"),
        (["moves", "--moves", "none.toml"], "none.toml is not there"),
    ],
)
def test_bad_input_is_one_line_and_status_2(capsys, tmp_path, monkeypatch, args, says):
    monkeypatch.chdir(tmp_path)
    err = told(capsys, *args, status=2)
    assert says in err
    assert err.count("\n") == 1


def test_draw_writes_svg_and_png_and_does_not_replace(capsys, tmp_path):
    svg, png = tmp_path / "one.svg", tmp_path / "many.png"
    told(capsys, "draw", "triquetra", "-o", str(svg))
    assert svg.read_text(encoding="utf-8").startswith("<?xml")
    told(capsys, "draw", "triquetra", "crossed cat-eyes", "-o", str(png), "--view", "audience")
    assert Image.open(png).format == "PNG"
    assert "exists already" in told(capsys, "draw", "box", "-o", str(svg), status=2)
    told(capsys, "draw", "box", "-o", str(svg), "--force")


def test_explore_writes_moves_that_can_be_read_back(capsys, tmp_path):
    text = told(capsys, "explore", "pendulum", "extension", "--as-moves", "--limit", "12")
    library = library_from_text(text, "found.toml")
    assert len(library.names()) == len(shipped_library().names()) + 12
    own = tmp_path / "found.toml"
    own.write_text(text, encoding="utf-8")
    listed = as_json(capsys, "moves", "--moves", str(own), "--search", "pendulum with extension")
    assert listed["moves"]


def test_moves_in_the_own_folder_are_always_there(capsys, own_folder):
    folder = own_folder / "config" / "petalbar" / "moves"
    folder.mkdir(parents=True)
    (folder / "mine.toml").write_text(
        '[[one_hand]]\nname = "my star"\nwords = "x"\n'
        'flower = { head_turns = "-5/3", radius = "0.4 arm" }\n',
        encoding="utf-8",
    )
    assert "8 petals" in told(capsys, "move", "my star")


def test_explore_finds_equal_downbeat_flowers(capsys):
    found = as_json(capsys, "explore", "triquetra", "one-petal in-spin", "--downbeats", "2",
                    "--family", "equal-downbeat flowers")  # fmt: skip
    assert found["as_wanted"] == 8
    assert {row["relation"] for row in found["hybrids"]} == {
        "together same", "split same", "together opposite", "split opposite",
    }  # fmt: skip


def test_explore_says_what_to_learn_next(capsys):
    found = as_json(capsys, "explore", "--known", "extension", "--known", "triquetra")["next"]
    assert {"name": "diamond", "from": "triquetra", "change": "a petal more",
            "difficulty_points": 3} in found  # fmt: skip
    assert "triquetra: a petal more" in told(capsys, "explore", "--known", "triquetra")
