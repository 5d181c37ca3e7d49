"""Who performs: name, arm, props and stage date typed on the screen, checks made anew for them."""

import datetime
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import pytest

from composer.arrange.performers import change_performer
from composer.errors import ComposerError, UnknownName
from composer.files.move_library import load_library
from composer.files.repertoire_file import load_repertoires
from composer.motion.body import ARM_TO_STATURE, Body, Prop
from composer.score.repertoire import Firmness
from composer.score.routine import CueNote, Following, Part, Performer, Spot
from tui.views.measures import MEASURES, Who, metres_typed

from .driving import Opened, desk_of, moves_of, press, settled, shown

LIBRARY = load_library()


def typed(who: Who, name: str, text: str) -> Who:
    return next(one for one in MEASURES if one.name == name).typed(who, text)


def test_everything_that_names_a_performer_follows_her_new_name(piece: SimpleNamespace) -> None:
    routine = replace(
        piece.routine_of(piece.placed(0, 8, "extension")),
        parts=(
            Part("Wren", (piece.placed(0, 8, "extension"),)),
            Part("Ash", following=(Following("Wren"),)),
        ),
        spots=(Spot("Wren", Fraction(0), 1.0, 2.0),),
        notes=(CueNote(Fraction(4), "blue", "light", "Wren"),),
    )
    changed = change_performer(routine, "Wren", Performer("Finch"))
    assert [one.name for one in changed.performers] == ["Finch", "Ash"]
    assert changed.part("Finch").placements == routine.part("Wren").placements
    assert changed.part("Ash").following == (Following("Finch"),)
    assert changed.spots[0].performer == changed.notes[0].performer == "Finch"
    assert change_performer(changed, "Finch", routine.performers[0]) == routine


def test_a_name_that_is_taken_or_unknown_is_refused(piece: SimpleNamespace) -> None:
    with pytest.raises(ComposerError, match='called "Ash" already'):
        change_performer(piece.routine_of(), "Wren", Performer("Ash"))
    with pytest.raises(UnknownName):
        change_performer(piece.routine_of(), "Nobody", Performer("Finch"))


def test_what_follows_from_stature_follows_it_unless_it_was_typed() -> None:
    who = typed(Who(Performer("Wren")), "stature", "1.80")
    assert who.performer.body == Body(stature_m=1.80)
    assert who.performer.body.arm_m == pytest.approx(ARM_TO_STATURE * 1.80)
    own = typed(typed(Who(Performer("Wren")), "arm", "61 cm"), "stature", "1,75")
    assert own.performer.body.arm_m == pytest.approx(0.61)
    assert own.performer.body.stature_m == pytest.approx(1.75)


def test_props_of_both_hands_and_the_day() -> None:
    who = typed(typed(Who(Performer("Wren")), "tether", "0.48"), "props", "Staff")
    assert who.performer.props == (Prop("staff", 0.48), Prop("staff", 0.48))
    dated = typed(who, "stage date", "2027-05-30")
    assert dated.date == datetime.date(2027, 5, 30)
    assert typed(dated, "stage date", " ").date is None


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("name", "  ", "needs a name"),
        ("stature", "tall", "0.6 to 2.5 m"),
        ("arm", "nan", "0.2 to 1.2 m"),
        ("tether", "52", "0.05 to 3 m"),
        ("props", "sword", "props are poi, staff"),
        ("stage date", "30 May", "a day is written like"),
    ],
)
def test_what_cannot_be_is_one_line(name: str, text: str, words: str) -> None:
    with pytest.raises(ComposerError, match=words):
        typed(Who(Performer("Wren")), name, text)


@pytest.mark.parametrize(
    ("text", "metres"), [("0.52", 0.52), ("0,52", 0.52), ("52 cm", 0.52), ("0.52 m", 0.52)]
)
def test_lengths_are_typed_in_metres_or_centimetres(text: str, metres: float) -> None:
    assert metres_typed(text, 0.05, 3.0) == pytest.approx(metres)


async def test_she_types_her_name_and_tether_and_undo_gives_the_old_ones_back(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    app = opened(piece.routine_of(piece.placed(0, 8, "extension")))
    async with app.run_test(size=(80, 24)) as pilot:
        desk = desk_of(pilot)
        desk.having.mark(tmp_path / "piece.toml", LIBRARY, "Wren", "extension", Firmness.READY)
        await press(pilot, "B", "enter", *"Finch", "enter")
        await press(pilot, "down", "down", "down", "down", "enter", *"52", "enter")
        assert "0.05 to 3 m" in shown(pilot)
        await press(pilot, "enter", *"52 cm", "enter", "t")
        await settled(pilot)
        performer = desk.routine.performer("Finch")
        assert performer.right_prop.length_m == performer.left_prop.length_m == 0.52
        assert "Finch" in shown(pilot)
        assert moves_of(pilot, "Finch") == [(0, 8, "extension")]
        kept = load_repertoires(tmp_path / "piece.repertoire.toml", LIBRARY)
        assert kept["Finch"].of_move("extension") is Firmness.READY
        await press(pilot, "u")
        assert desk.performer == "Wren"
        assert moves_of(pilot) == [(0, 8, "extension")]
        await press(pilot, "U")
        assert desk.performer == "Finch"


async def test_a_taken_name_is_told_and_escape_changes_nothing(
    piece: SimpleNamespace, opened: Opened
) -> None:
    routine = piece.routine_of()
    async with opened(routine).run_test(size=(80, 24)) as pilot:
        before = desk_of(pilot).routine
        await press(pilot, "B", "enter", *"Ash", "enter", "t")
        assert 'called "Ash" already' in shown(pilot)
        await press(pilot, "B", "enter", *"Finch", "enter", "escape")
        assert desk_of(pilot).routine is before


async def test_a_near_date_brings_what_is_not_ready(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    app = opened(piece.routine_of(piece.placed(0, 8, "extension")))
    async with app.run_test(size=(80, 24)) as pilot:
        desk = desk_of(pilot)
        desk.having.mark(tmp_path / "piece.toml", LIBRARY, "Wren", "isolation", Firmness.READY)
        tomorrow = datetime.date.today() + datetime.timedelta(days=1)
        await press(pilot, "B", *["down"] * 5, "enter", *tomorrow.isoformat(), "enter", "t")
        await settled(pilot)
        assert any("not in her repertoire" in f.message for f in desk.found.findings)
        await press(pilot, "asterisk", "asterisk", "asterisk")  # learning, reliable, ready
        await settled(pilot)
        assert not any("repertoire" in f.message for f in desk.found.findings)
