"""RFC 4180, section 2, and cells that a spreadsheet must not run."""

import csv
import io
import re
from dataclasses import replace
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from composer.export.table import COLUMNS, cue_csv, decimal, harmless
from composer.score.routine import CueNote


def rows(text: str) -> list[dict[str, str]]:
    assert text.startswith("\ufeff")
    return list(csv.DictReader(io.StringIO(text[1:], newline=""), strict=True))


def test_records_end_in_crlf_and_have_every_field(duo):
    text = cue_csv(duo)
    assert text.endswith("\r\n")
    assert not re.search(r"(?<!\r)\n", text)
    counts = {len(row) for row in csv.reader(io.StringIO(text[1:], newline=""), strict=True)}
    assert counts == {len(COLUMNS)}


def test_names_with_commas_and_quotes_come_back(duo):
    names = {row["performer"] for row in rows(cue_csv(duo))}
    assert names == {"Wren", 'Ash "the, comma" --> ערב 🔥'}


def test_a_move_s_record_tells_where_and_when_it_is(solo):
    """Beat 8 in 4/4 is bar 3, count 1; at 120 bpm from 0.35 s it sounds at 4.350 s."""
    row = next(r for r in rows(cue_csv(solo)) if r["move"] == "triquetra")
    assert (row["bar"], row["count"], row["beat"]) == ("3", "1", "8")
    assert (row["time_s"], row["call_time_s"], row["end_time_s"]) == ("4.350", "2.350", "8.350")
    assert (row["phrase"], row["length_beats"], row["hand"]) == ("opening", "8", "both")


def test_a_light_on_the_beat_of_a_move_is_no_move(solo):
    """Both stand on beat 8; what the move is like stands in its own record only."""
    note = CueNote(Fraction(8), "amber", "light")
    found = [r for r in rows(cue_csv(replace(solo, notes=(note,)))) if r["beat"] == "8"]
    told = {r["kind"]: (r["what"], r["move"], r["length_beats"]) for r in found}
    assert told == {"move": ("triquetra", "triquetra", "8"), "light": ("amber", "", "")}


def test_a_formula_in_a_note_stays_text(solo):
    note = CueNote(solo.grid.end_beat - 1, '=HYPERLINK("x")', "note")
    found = rows(cue_csv(replace(solo, notes=(note,))))
    assert [r["what"] for r in found if r["kind"] == "note"] == ['\'=HYPERLINK("x")']


@given(st.text())
def test_no_text_cell_starts_like_a_formula(text):
    assert not harmless(text).startswith(("=", "+", "-", "@", "\t", "\r", "\n"))


def test_beats_are_decimals_a_spreadsheet_cannot_take_for_a_date():
    assert decimal(Fraction(7, 2)) == "3.5"
    assert decimal(Fraction(-1, 3)) == "-0.333333"
    assert decimal(Fraction(120)) == "120"
