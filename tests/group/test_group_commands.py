"""The commands of a troupe lead, through the command line."""

import json
import re
import shutil
from pathlib import Path

import pytest
from pieces import FOUR_FILE

from composer.cli import build_group, run


@pytest.fixture
def piece(tmp_path: Path) -> Path:
    return Path(shutil.copy(FOUR_FILE, tmp_path / "four.toml"))


def edited(piece: Path, name: str, old: str, new: str) -> Path:
    text = piece.read_text(encoding="utf-8")
    assert old in text
    changed = piece.with_name(name)
    changed.write_text(text.replace(old, new), encoding="utf-8")
    return changed


LARK = 'performer = "Lark", beat = "96", x_m = 1.5, y_m = 6'


def petalbar(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str, str]:
    status = run(build_group(), [str(word) for word in words])
    out, err = capsys.readouterr()
    return status, out, err


def test_a_lead_moves_a_spot_sees_the_finding_and_applies_a_remedy(
    piece: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert petalbar(capsys, "check", piece)[0] == 0
    close = edited(piece, "close.toml", LARK, LARK.replace("1.5, y_m = 6", "2.6, y_m = 4.4"))
    status, out, _ = petalbar(capsys, "check", close, "--remedies")
    assert status == 1
    assert "circles meet" in out
    assert "remedy 1.1" in out
    assert petalbar(capsys, "check", close, "--apply", "1")[0] == 0
    assert petalbar(capsys, "check", close)[0] == 0


def test_both_of_a_pair_are_told(piece: Path, capsys: pytest.CaptureFixture[str]) -> None:
    close = edited(piece, "close.toml", LARK, LARK.replace("1.5, y_m = 6", "2.6, y_m = 4.4"))
    for name, concerned in (("Wren", True), ("Lark", True), ("Finch", False)):
        _, out, _ = petalbar(capsys, "check", close, "--performer", name)
        assert ("circles meet" in out) is concerned
    _, out, _ = petalbar(capsys, "check", close, "--json")
    told = [one for one in json.loads(out)["findings"] if one["rule"] == "circles meet"]
    assert [(one["performer"], one["others"]) for one in told] == [("Wren", ["Lark"])]


def test_floor_prints_draws_and_lists(piece: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = petalbar(capsys, "floor", piece, "--at", "42", "--plain")
    assert status == 0
    assert "Wren: 2.2 m stage right, 5 m upstage" in out
    svg = piece.with_name("plan.svg")
    assert petalbar(capsys, "floor", piece, "--phrase", "all hands", "-o", svg)[0] == 0
    assert svg.read_text(encoding="utf-8").startswith("<?xml")
    status, _, err = petalbar(capsys, "floor", piece, "-o", svg)
    assert status == 2
    assert "exists already" in err
    _, out, _ = petalbar(capsys, "floor", piece, "--json")
    times = json.loads(out)["floor"]
    assert [time["beat"] for time in times][:2] == ["0", "48"]
    assert times[2]["performers"][0]["area"] == "downstage right"


def test_the_floor_is_exported_as_a_picture_or_says_what_is_missing(
    piece: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for ending, first in ((".svg", b"<?xml"), (".png", b"\x89PNG")):
        target = piece.with_name(f"plans{ending}")
        assert petalbar(capsys, "export", piece, "--as", "floor", "-o", target)[0] == 0
        assert target.read_bytes().startswith(first)
    spotless = re.sub(r"spots = \[.*?\n\]\n", "", piece.read_text("utf-8"), flags=re.DOTALL)
    piece.write_text(spotless, encoding="utf-8")
    status, _, err = petalbar(capsys, "export", piece, "--as", "floor", "-o", "none.svg")
    assert status == 2
    assert "nobody has a spot" in err


def test_landing_says_where_all_close(piece: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = petalbar(capsys, "landing", piece, "--json")
    assert status == 0
    told = json.loads(out)
    closing = {row["bar"] for row in told["bars"] if row["all_close"]}
    assert closing >= {5, 13, 21, 25, 33, 41, 53, 61, 63}
    assert closing.isdisjoint({6, 7, 8})
    assert told["unison"][-1]["performers"] == ["Wren", "Lark", "Tern", "Finch"]
    _, out, _ = petalbar(capsys, "landing", piece, "--together")
    assert "    6 " not in out


def test_two_people_s_changes_go_into_one_file_with_comments_kept(
    piece: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mine = edited(piece, "mine.toml", LARK, LARK.replace("1.5", "1.6"))
    mine.write_text("# the wide version\n" + mine.read_text("utf-8"), encoding="utf-8")
    hers = edited(piece, "hers.toml", "mirrored diamonds", "diamond and box")
    both = piece.with_name("both.toml")
    status, out, _ = petalbar(capsys, "merge", piece, mine, hers, "-o", both)
    assert (status, "1 change of" in out) == (0, True)
    assert both.read_text(encoding="utf-8").startswith("# the wide version")
    status, out, _ = petalbar(capsys, "compare", piece, both)
    assert status == 1
    assert "Wren:" in out
    assert "diamond and box instead of mirrored diamonds" in out
    assert "Lark:" in out
    assert "the spot moved 0.10 m" in out
    assert petalbar(capsys, "compare", both, both)[:2] == (0, "nothing changed\n")


def test_comments_of_both_stand_where_they_belong_after_a_merge(
    piece: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    diamonds = '    {at = "208", beats = "12", move = "mirrored diamonds"'
    mine = edited(piece, "mine.toml", diamonds, "    # wide, and slow it down\n" + diamonds)
    hers = edited(piece, "hers.toml", LARK, LARK.replace("1.5", "1.6"))
    text = hers.read_text("utf-8").replace("[stage]\n", "[stage]  # the town hall's\n")
    hers.write_text(text.replace("# Four on the Quay, two", "# Five on the Quay, two"), "utf-8")
    both = piece.with_name("both.toml")
    assert petalbar(capsys, "merge", piece, mine, hers, "-o", both)[0] == 0
    lines = both.read_text("utf-8").splitlines()
    place = lines.index("    # wide, and slow it down")
    assert lines[place + 1].startswith(diamonds)
    assert "[stage]  # the town hall's" in lines
    assert sum(line.startswith("# Five on the Quay") for line in lines) == 1
    assert not any(line.startswith("# Four on the Quay") for line in lines)


def test_a_comment_whose_place_is_gone_goes_to_the_end_and_is_told(
    piece: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One takes the bow out, the other wrote beside it what it is to be like."""
    bow = '    {beat = "247", text = "bow"},\n'
    mine = edited(piece, "mine.toml", bow, "")
    hers = edited(piece, "hers.toml", bow, bow.rstrip() + "  # deep\n")
    both = piece.with_name("both.toml")
    status, out, _ = petalbar(capsys, "merge", piece, mine, hers, "-o", both)
    assert status == 0
    assert "at its end, as its place is gone: # deep" in out
    assert both.read_text("utf-8").endswith("merged:\n# deep\n")
    assert petalbar(capsys, "check", both)[0] == 0


def test_a_conflict_writes_nothing_until_a_side_is_preferred(
    piece: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mine = edited(piece, "mine.toml", LARK, LARK.replace("1.5", "1.6"))
    hers = edited(piece, "hers.toml", LARK, LARK.replace("1.5", "1.7"))
    both = piece.with_name("both.toml")
    status, _, err = petalbar(capsys, "merge", piece, mine, hers, "-o", both)
    assert status == 1
    assert "conflict at bar 25, count 1, Lark" in err
    assert not both.exists()
    status, _, err = petalbar(capsys, "merge", piece, mine, hers, "-o", both, "--prefer", "other")
    assert status == 1
    assert "conflict at bar 25" in err
    assert "x_m = 1.7" in both.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("floor", "{}", "--at", "999"), "no bar 999"),
        (("floor", "{}", "--phrase", "polka"), "no phrase"),
        (("floor", "{}", "-o", "plan.pdf"), ".svg or .png"),
        (("compare", "{}", "missing.toml"), "not there"),
        (("compare", "{}", "{}", "--performer", "Nobody"), "Nobody"),
        (("merge", "{}", "{}", "missing.toml", "-o", "x.toml"), "not there"),
        (("merge", "{}", "{}", "{}", "-o", "{}"), "exists already"),
        (("landing", "missing.toml"), "not there"),
    ],
)
def test_what_cannot_be_done_is_told_in_one_line(
    piece: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], told: str
) -> None:
    status, _, err = petalbar(capsys, *(word.format(piece) for word in words))
    assert status == 2
    assert told in err
    assert len(err.strip().splitlines()) == 1


@pytest.mark.parametrize("name", ["floor", "landing", "compare", "merge"])
def test_every_command_shows_an_example(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = petalbar(capsys, name, "--help")
    assert status == 0
    assert f"petalbar {name} " in out.partition("Example")[2]
