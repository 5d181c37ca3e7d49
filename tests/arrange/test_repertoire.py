"""Repertoires: the file, comments kept, bad files told in one line; readiness by the days left."""

import datetime
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.check.findings import Level
from composer.check.readiness import level_of, readiness_findings
from composer.errors import RoutineFileError
from composer.files.repertoire_file import (
    load_repertoires,
    repertoire_path,
    repertoires_from_text,
    repertoires_to_text,
    save_repertoires,
)
from composer.moves.library import shipped_library
from composer.score.repertoire import Firmness, Repertoire, firmness_from_text
from composer.score.routine import Following, Part, Performer, Routine

LIBRARY = shipped_library()
DATE = datetime.date(2027, 6, 19)
TEXT = """\
# What Wren has.
format = 1

[[performer]]
name = "Wren"
moves = [
    {move = "mirrored diamonds", firmness = "ready for the stage"}, # since spring
    {move = "cat-eye", firmness = "Learning"},
]
transitions = [
    {from = "mirrored diamonds", to = "vertical cat-eye", firmness = "reliable"},
]
"""


def wren(**moves: Firmness) -> Repertoire:
    return Repertoire("Wren", {name.replace("_", " "): told for name, told in moves.items()})


# ------------------------------------------------------------------ the file


def test_a_file_is_read_with_moves_by_any_of_their_names() -> None:
    found = repertoires_from_text(TEXT, "show", LIBRARY)["Wren"]
    assert found.of_move("mirrored diamonds") is Firmness.READY
    assert found.of_move("vertical cat-eye") is Firmness.LEARNING  # called cat-eye in the file
    assert found.of_move("diamond") is None


def test_a_transition_is_never_firmer_than_its_moves() -> None:
    found = repertoires_from_text(TEXT, "show", LIBRARY)["Wren"]
    assert found.of_transition("mirrored diamonds", "vertical cat-eye") is Firmness.LEARNING
    assert found.of_transition("vertical cat-eye", "mirrored diamonds") is None


def test_saving_keeps_comments_and_whatever_stays_the_same(tmp_path: Path) -> None:
    path = tmp_path / "show.repertoire.toml"
    path.write_text(TEXT, encoding="utf-8")
    found = load_repertoires(path, LIBRARY)["Wren"]
    firmer = found.with_move("mirrored diamonds", Firmness.RELIABLE)
    firmer = firmer.with_move("triquetra", Firmness.LEARNING)
    save_repertoires([firmer, Repertoire("Ash", {"static spin": Firmness.READY})], path)
    text = path.read_text(encoding="utf-8")
    assert "# What Wren has." in text
    assert '{move = "mirrored diamonds", firmness = "reliable"}, # since spring' in text
    again = load_repertoires(path, LIBRARY)
    assert again["Wren"] == firmer
    assert again["Ash"].moves == {"static spin": Firmness.READY}


def test_taking_a_move_out_takes_its_transitions_too() -> None:
    found = repertoires_from_text(TEXT, "show", LIBRARY)["Wren"]
    without = found.with_move("vertical cat-eye", None)
    text = repertoires_to_text([without], TEXT)
    assert repertoires_from_text(text, "show", LIBRARY)["Wren"] == without
    assert without.transitions == {}
    assert "cat-eye" not in text


names = st.sampled_from(LIBRARY.names())
firm = st.sampled_from(Firmness)


@given(st.dictionaries(names, firm), st.dictionaries(st.tuples(names, names), firm))
def test_whatever_is_written_is_read_back(
    moves: dict[str, Firmness], transitions: dict[tuple[str, str], Firmness]
) -> None:
    repertoire = Repertoire("Wren", moves, transitions)
    for old in (None, TEXT):
        text = repertoires_to_text([repertoire], old)
        assert repertoires_from_text(text, "show", LIBRARY)["Wren"] == repertoire


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("format = 1\n[[performer]", "not a whole TOML file"),
        ("[[performer]]\nname = 'Wren'", "format: this must be given"),
        ("format = 2", "format: "),
        (TEXT.replace("ready for the stage", "perfect"), "performer 1 (Wren), moves 1, firmness: "),
        (TEXT.replace("mirrored diamonds", "mirrored diamnds"), 'no move is called "mirrored di'),
        (
            TEXT.replace("move = ", "mvoe = "),
            "performer 1 (Wren), moves 1, mvoe: this key",
        ),
        (TEXT + "\n[[performer]]\nname = 'Wren'\n", "Wren stands there twice"),
        ("format = 1\nperformer = 3", "performer: "),
        ("format = 1\n[[performer]]\nname = 'Wren'\nmoves = ['diamond']", "moves 1: "),
    ],
)
def test_a_bad_file_is_told_in_one_line_with_its_place(text: str, told: str) -> None:
    with pytest.raises(RoutineFileError) as error:
        repertoires_from_text(text, "show.repertoire.toml", LIBRARY)
    assert str(error.value).startswith("show.repertoire.toml")
    assert told in str(error.value)
    assert "\n" not in str(error.value).split("TOML file:")[0]


def test_no_file_is_no_repertoire_and_an_unreadable_one_is_told(tmp_path: Path) -> None:
    path = repertoire_path(tmp_path / "show.toml")
    assert path.name == "show.repertoire.toml"
    assert load_repertoires(path, LIBRARY) == {}
    path.write_bytes(b"\xff\xfe")
    with pytest.raises(RoutineFileError, match="not text in UTF-8"):
        load_repertoires(path, LIBRARY)
    path.unlink()
    path.mkdir()
    with pytest.raises(RoutineFileError, match="is a folder; name the repertoire inside it"):
        load_repertoires(path, LIBRARY)


@pytest.mark.parametrize("firmness", Firmness)
def test_firmness_is_read_as_it_is_written(firmness: Firmness) -> None:
    assert firmness_from_text(f"  {str(firmness).upper()} ") is firmness
    with pytest.raises(ValueError, match="learning, reliable, ready for the stage"):
        firmness_from_text("nearly")


# ------------------------------------------------------------------ readiness


@pytest.mark.parametrize(
    ("days", "levels"),
    [  # not in the repertoire, learning, reliable, ready for the stage
        (43, (None, None, None, None)),
        (42, (Level.NOTE, Level.NOTE, None, None)),
        (11, (Level.NOTE, Level.NOTE, None, None)),
        (10, (Level.WARNING, Level.WARNING, Level.NOTE, None)),
        (4, (Level.WARNING, Level.WARNING, Level.NOTE, None)),
        (3, (Level.WARNING, Level.WARNING, Level.WARNING, None)),
        (0, (Level.WARNING, Level.WARNING, Level.WARNING, None)),
    ],
)
def test_the_nearer_the_date_the_firmer_it_must_be(
    days: int, levels: tuple[Level | None, ...]
) -> None:
    assert tuple(level_of(told, days) for told in (None, *Firmness)) == levels


def found(
    kit: SimpleNamespace, routine: Routine, *repertoires: Repertoire, days: int = 5
) -> list[tuple[str, str, Fraction]]:
    today = DATE - datetime.timedelta(days=days)
    by_name = {one.performer: one for one in repertoires}
    told = readiness_findings(routine, by_name, kit.library, today)
    return [(one.rule, one.performer, one.beat) for one in told]


def test_each_move_is_told_once_where_it_stands_first(kit: SimpleNamespace) -> None:
    routine = kit.piece(
        kit.placed(0, 8, "static spin"),
        kit.placed(8, 8, "diamond"),
        kit.placed(16, 8, "static spin"),
        kit.placed(24, 8, "diamond"),
        performance_date=DATE,
    )
    firm = wren(static_spin=Firmness.READY, diamond=Firmness.LEARNING)
    assert found(kit, routine, firm) == [("not ready", "Wren", 8)]
    assert found(kit, routine, firm, days=60) == []
    assert found(kit, routine, firm, days=0) == [("not ready", "Wren", 8)]  # today
    assert found(kit, routine, firm, days=-1) == []  # it is over


def test_a_way_in_that_lags_behind_its_moves_is_told_too(kit: SimpleNamespace) -> None:
    routine = kit.piece(
        kit.placed(0, 8, "static spin"), kit.placed(8, 8, "diamond"), performance_date=DATE
    )
    firm = wren(static_spin=Firmness.READY, diamond=Firmness.READY)
    lagging = firm.with_transition(("static spin", "diamond"), Firmness.LEARNING)
    assert found(kit, routine, firm) == []
    assert found(kit, routine, lagging) == [("way in not ready", "Wren", 8)]
    both = lagging.with_move("diamond", Firmness.LEARNING)
    assert found(kit, routine, both) == [("not ready", "Wren", 8)], "the move itself is the news"


def test_without_a_date_or_a_repertoire_nothing_is_judged(kit: SimpleNamespace) -> None:
    routine = kit.piece(kit.placed(0, 8, "static spin"), performance_date=DATE)
    assert found(kit, routine) == []
    undated = kit.piece(kit.placed(0, 8, "static spin"))
    assert found(kit, undated, wren()) == []
    assert found(kit, routine, wren()) == [("not ready", "Wren", 0)]


def test_who_follows_another_needs_the_moves_as_well(kit: SimpleNamespace) -> None:
    """Ash follows Wren four beats later and is still learning what Wren has ready."""
    solo = kit.piece(kit.placed(0, 8, "diamond"), performance_date=DATE)
    following = Following("Wren", delay_beats=Fraction(4))
    duo = Routine(
        "Duo",
        solo.track,
        solo.grid,
        (*solo.performers, Performer("Ash")),
        (*solo.parts, Part("Ash", following=(following,))),
        performance_date=DATE,
    )
    ash = Repertoire("Ash", {"diamond": Firmness.LEARNING})
    told = found(kit, duo, wren(diamond=Firmness.READY), ash)
    assert told == [("not ready", "Ash", 4)]
