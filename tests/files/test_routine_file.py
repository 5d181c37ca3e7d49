"""A routine file keeps what the user wrote, is never torn, and says what is wrong in one line."""

import datetime
import os
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import get_args

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from composer.arrange import edits
from composer.errors import RoutineFileError
from composer.files.atomic import write_atomic
from composer.files.routine_file import (
    load_routine,
    routine_from_text,
    routine_to_text,
    save_routine,
)
from composer.files.routine_schema import routine_json_schema
from composer.motion.plane import Plane
from composer.moves.model import relation_from_text
from composer.moves.perform import Style
from composer.score.routine import (
    CueNote,
    Cut,
    Following,
    Likeness,
    Obstacle,
    Part,
    Performer,
    Placement,
    Routine,
    Spot,
    Stage,
    TrackRef,
)
from composer.timing.beats import BeatSpan
from composer.timing.corrections import Correction, CorrectionKind
from composer.timing.grid import Accent, MusicGrid, Phrase
from composer.timing.meter import Meter, MeterChange, MeterMap
from composer.timing.tempo_map import Knot, TempoMap

WRITTEN = """\
# For the harbour night. Ask about the quay lights!
format = 1
title = "Lanterns" # working title

[track]
file = "lanterns.ogg"
sha256 = "ab"
duration_s = 92.5

[music]
end_beat = "64"
tempo = [
    { beat = "0", at_s = 0.35 }, # by ear
    { beat = "64", at_s = 30.826 },
]
phrases = [
    { beat = "0", name = "intro" },
    { beat = "32", name = "verse", energy = 0.7, locked = true }, # keep!
]

[[performer]]
name = "Wren"
stature_m = 1.68
right_prop = { kind = "poi", length_m = 0.52 }

[[part]]
performer = "Wren"
moves = [
    # the opening, slow
    { at = "0", beats = "16", move = "extension", entry = 1 }, # breathe
    { at = "16", beats = "8", move = "isolation" },

    # she likes this one
    { at = "24", beats = "8", move = "triquetra", rate = "1/2", hands = "split opposite" },
]
"""


def test_reading_what_a_person_wrote() -> None:
    routine = routine_from_text(WRITTEN, "x.toml")
    assert routine.title == "Lanterns"
    assert routine.grid.tempo_map.seconds(0) == 0.35
    assert routine.performers[0].right_prop.length_m == 0.52
    third = routine.parts[0].placements[2]
    assert third.span == BeatSpan(Fraction(24), Fraction(8))
    assert third.rate == Fraction(1, 2)
    assert third.style.relation == relation_from_text("split opposite")


def test_saving_unchanged_changes_no_character() -> None:
    assert routine_to_text(routine_from_text(WRITTEN, "x"), WRITTEN) == WRITTEN


def test_an_edit_touches_its_own_line_only() -> None:
    routine = routine_from_text(WRITTEN, "x")
    shorter = edits.resize(routine, "Wren", 1, Fraction(4))
    lines = routine_to_text(shorter, WRITTEN).splitlines()
    changed = [
        i for i, (a, b) in enumerate(zip(WRITTEN.splitlines(), lines, strict=True)) if a != b
    ]
    assert len(changed) == 1
    assert 'beats = "4"' in lines[changed[0]]


def test_placing_and_removing_keeps_comments_and_the_users_explicit_defaults() -> None:
    routine = routine_from_text(WRITTEN, "x")
    new = Placement(BeatSpan(Fraction(20), Fraction(2)), "stall")
    text = routine_to_text(edits.remove(edits.place(routine, "Wren", new), "Wren", 3), WRITTEN)
    for kept in ("Ask about the quay", "working title", "by ear", "keep!", "breathe", "entry = 1"):
        assert kept in text
    assert [p.move for p in routine_from_text(text, "x").parts[0].placements] == [
        "extension",
        "isolation",
        "stall",
    ]


def everything() -> Routine:
    """A routine that uses every row of the file."""
    grid = MusicGrid(
        TempoMap((Knot(Fraction(-1), 0.1), Knot(Fraction(0), 0.6), Knot(Fraction(60), 30.6))),
        Fraction(60),
        MeterMap(
            (MeterChange(Fraction(0), Meter(3, 4)), MeterChange(Fraction(30), Meter(6, 8, 6)))
        ),
        (Phrase(Fraction(0), "A", 0.25), Phrase(Fraction(24), "B", 1.0, True)),
        (Accent(12.5, "drop", 0.75),),
    )
    style = Style(
        entry=2,
        relation=relation_from_text("quarter same"),
        orientation_turns=Fraction(1, 8),
        mirrored=True,
        swapped=True,
        centre=0.25 - 0.5j,
        plane=Plane.WHEEL,
    )
    own = Placement(
        BeatSpan(Fraction(7, 2), Fraction(5, 3)),
        "extension",
        Fraction(2, 3),
        style,
        Fraction(1, 4),
        'a "quoted", word',
        True,
    )
    overhead = Style(centre="overhead")
    named = Placement(BeatSpan(Fraction(9), Fraction(3)), "stall", style=overhead)
    following = Following(
        "Wren", Likeness.MIRRORED, Fraction(4), BeatSpan(Fraction(0), Fraction(9))
    )
    return Routine(
        title="Alles — 灯 🎐",
        track=TrackRef("a b.ogg", "00ff", 31.25),
        grid=grid,
        performers=(Performer("Wren", limits=(("hand speed", 4.0),), fire=True), Performer("Jay")),
        parts=(Part("Wren", (own, named)), Part("Jay", (), (following,))),
        performance_date=datetime.date(2027, 6, 18),
        stage=Stage(10, 7, True, 0.4, 6.0, (Obstacle("mast", 1, 2, 0.3),)),
        spots=(Spot("Jay", Fraction(8), -1.5, 2.0, Fraction(1, 2), Fraction(2)),),
        notes=(CueNote(Fraction(6), "dark", "light", "Jay"),),
        cut=Cut((BeatSpan(Fraction(0), Fraction(12)),), 1.5, 0.5),
        corrections=(
            Correction("tempo level", bpm=123.456),
            Correction("downbeat", time_s=0.6),
            Correction("bars from here", time_s=8.1),
            Correction("metre", time_s=15.6, meter=Meter(6, 8, 6)),
            Correction("time shift", time_s=-0.015),
            Correction("taps", taps_s=(1.0, 1.5, 2.0, 2.5)),
            Correction("taps all along", taps_s=(0.5, 1.0, 1.5, 2.0, 2.5)),
            Correction("phrase", time_s=12.6, name="B"),
            Correction("no phrase", time_s=4.25),
            Correction("lock", time_s=3.0, taps_s=(3.0, 3.25)),
        ),
    )


def test_everything_holds_every_kind_of_correction() -> None:
    assert {c.kind for c in everything().corrections} == set(get_args(CorrectionKind))


def test_corrections_as_a_person_would_write_them() -> None:
    """Times are told as places in the track, but for a shift, which is told as a distance."""
    rows = """corrections = [
    { kind = "time shift", by_s = 0.02 }, # the other encoder
    { kind = "metre", at_s = 16.35, meter = "3/4" },
]
"""
    text = WRITTEN.replace("[[performer]]", rows + "\n[[performer]]", 1)
    routine = routine_from_text(text, "x")
    assert routine.corrections == (
        Correction("time shift", time_s=0.02),
        Correction("metre", time_s=16.35, meter=Meter(3, 4)),
    )
    assert routine_to_text(routine, text) == text


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ('kind = "sideways"', "corrections 1, kind"),
        ('kind = "taps", taps_s = [1.0, 1.5]', "corrections 1 (taps): taps_s needs at least 4"),
        ('kind = "metre", at_s = 1.0', "corrections 1 (metre): a metre needs meter"),
        ('kind = "tempo level", bpm = 900.0', "bpm lies between 20 and 400"),
        ('kind = "downbeat", at = 1.0', "this key is not known"),
    ],
)
def test_a_correction_that_says_too_little_is_told_with_its_place(row: str, words: str) -> None:
    text = WRITTEN.replace("[[performer]]", f"corrections = [{{ {row} }}]\n\n[[performer]]", 1)
    with pytest.raises(RoutineFileError) as caught:
        routine_from_text(text, "x")
    assert words in str(caught.value)


def test_every_field_survives_the_file(tmp_path: Path) -> None:
    routine = everything()
    path = tmp_path / "all.toml"
    save_routine(routine, path)
    assert load_routine(path) == routine
    save_routine(routine, path)
    assert load_routine(path) == routine


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_any_run_of_edits_is_read_back_as_it_was_saved(data: st.DataObject) -> None:
    routine, text = routine_from_text(WRITTEN, "x"), WRITTEN
    for _ in range(data.draw(st.integers(1, 6))):
        count = len(routine.parts[0].placements) if routine.parts else 0
        act = data.draw(st.sampled_from(["place", "remove", "shift", "resize", "style"]))
        index = data.draw(st.integers(0, max(0, count - 1)))
        length = data.draw(st.fractions(Fraction(1, 4), 16, max_denominator=4))
        if act == "place" or not count:
            start = data.draw(st.fractions(0, 60, max_denominator=3))
            routine = edits.place(routine, "Wren", Placement(BeatSpan(start, length), "stall"))
        elif act == "remove":
            routine = edits.remove(routine, "Wren", index)
        elif act == "shift":
            routine = edits.shift(routine, "Wren", index, length - 8)
        elif act == "resize":
            routine = edits.resize(routine, "Wren", index, length)
        else:
            routine = edits.restyle(routine, "Wren", index, mirrored=data.draw(st.booleans()))
        text = routine_to_text(routine, text)
        assert routine_from_text(text, "x") == routine
    assert "Ask about the quay" in text


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("format = 1", "format = 9", "format 9"),
        ("format = 1\n", "", "format = 1"),
        ('beats = "16"', "beats = 0.5", "part 1 (Wren), moves 1, beats"),
        ('beats = "16"', 'beats = "0"', "part 1 (Wren), moves 1: length_beats must be positive"),
        ('beats = "16"', 'beats = "99999999999"', "out of range"),
        ('beats = "16"', 'beets = "16"', "moves 1, beets: this key is not known"),
        ('hands = "split opposite"', 'hands = "sideways"', "moves 3: a relation is written like"),
        ("at_s = 0.35", "at_s = nan", "tempo 1, at_s"),
        ("at_s = 0.35", "at_s = 99.0", "music: knots must rise"),
        ("energy = 0.7", "energy = 7", "phrases 2"),
        ('performer = "Wren"', 'performer = "Jay"', 'a part belongs to "Jay"'),
        ("stature_m = 1.68", "stature_m = 9.0", "performer 1 (Wren): a stature"),
        ('end_beat = "64"', "end_beat = [", "is not a whole TOML file"),
        ("length_m = 0.52", "length_m = 0.0", "length_m"),
    ],
)
def test_what_is_wrong_is_told_in_one_line_with_its_place(old: str, new: str, words: str) -> None:
    assert old in WRITTEN
    with pytest.raises(RoutineFileError) as caught:
        routine_from_text(WRITTEN.replace(old, new, 1), "mine.toml")
    assert words in str(caught.value)
    assert str(caught.value).startswith("mine.toml")
    assert "\n" not in str(caught.value)


@settings(max_examples=150)
@given(st.integers(0, len(WRITTEN)), st.sampled_from(["", "]", "{", '"', "\x00", "é", "[[a]]\n"]))
def test_a_torn_or_scribbled_file_is_read_or_refused_in_one_line(at: int, scribble: str) -> None:
    for text in (WRITTEN[:at], WRITTEN[:at] + scribble + WRITTEN[at:]):
        refused = ""
        try:
            routine_from_text(text, "x.toml")
        except RoutineFileError as error:
            refused = str(error)
        assert "\n" not in refused


def test_ten_thousand_placements_are_read() -> None:
    row = '    {{ at = "{0}", beats = "1", move = "extension" }},\n'
    rows = "".join(row.format(i) for i in range(10_000))
    head = WRITTEN[: WRITTEN.index("moves = [")]
    routine = routine_from_text(head + "moves = [\n" + rows + "]\n", "x")
    assert len(routine.parts[0].placements) == 10_000


def test_files_that_are_no_routine(tmp_path: Path) -> None:
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe\x00")
    (tmp_path / "empty.toml").write_text("")
    for name, words in (
        ("none.toml", "is not there"),
        (".", "is a folder"),
        ("bytes.toml", "not text"),
        ("empty.toml", "format = 1"),
    ):
        with pytest.raises(RoutineFileError, match=words):
            load_routine(tmp_path / name)


def test_nothing_is_overwritten_unasked(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(WRITTEN)
    with pytest.raises(RoutineFileError, match="exists already"):
        save_routine(routine_from_text(WRITTEN, "x"), path, overwrite=False)
    assert path.read_text() == WRITTEN


def test_a_failed_write_leaves_the_old_file_and_no_rubbish(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(WRITTEN)

    def full(_descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    routine = replace(routine_from_text(WRITTEN, "x"), title="Other")
    with pytest.raises(RoutineFileError, match="No space left"):
        save_routine(routine, path)
    assert path.read_text() == WRITTEN
    assert os.listdir(tmp_path) == ["mine.toml"]


def test_an_atomic_write_keeps_mode_and_link(tmp_path: Path) -> None:
    real, link = tmp_path / "real.toml", tmp_path / "link.toml"
    real.write_text("old")
    real.chmod(0o640)
    link.symlink_to(real)
    write_atomic(link, b"new")
    assert link.is_symlink()
    assert real.read_text() == "new"
    assert real.stat().st_mode & 0o777 == 0o640


def test_the_schema_describes_the_file_for_editors() -> None:
    schema = routine_json_schema()
    assert schema["additionalProperties"] is False
    assert {"title", "track", "music", "performer"} <= set(schema["required"])
