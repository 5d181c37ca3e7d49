"""The count sheet as text: what a performer reads on paper, worked out without a terminal."""

import itertools
from fractions import Fraction
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from composer.check.findings import Finding, Level
from composer.motion.hands import Hand
from composer.moves.library import shipped_library
from composer.score.parts import performed_part
from composer.score.routine import Routine
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.tempo_map import steady_tempo_map
from tui.views.marks import facing_words, finding_marks, placed_marks
from tui.views.paper import LineWriter, plain, shortened
from tui.views.performed import MoveDrawer
from tui.views.rows import Zoom, row_index_at, sheet_rows
from tui.views.sheet import GUTTER_CELLS, Geometry, block, block_height, heading_words
from tui.views.sheet_view import SheetView, blank_sheet, filled_sheet
from tui.views.sound import Sound


def sheet_of(routine: Routine, zoom: Zoom = Zoom.EIGHTS, width: int = 80) -> SheetView:
    grid, performer = routine.grid, routine.performers[0]
    moves = performed_part(routine, performer.name)
    rows = sheet_rows(grid, zoom)
    drawn = MoveDrawer(shipped_library()).draw(moves, performer)
    marks = sorted(placed_marks(moves), key=lambda mark: mark.at)
    blank = blank_sheet(grid, rows, None)
    return filled_sheet(blank, drawn, marks, Geometry(width, zoom))


def text_of(view: SheetView) -> list[str]:
    return [plain(line) for content in view.contents for line in block(content, view.geometry)]


# ------------------------------------------------------------------ rows


def test_a_row_of_eights_is_two_bars_of_four(piece: SimpleNamespace) -> None:
    """Trade counts go in eights, two bars of 4/4 (common practice, no source)."""
    rows = sheet_rows(piece.grid_of(64), Zoom.EIGHTS)
    assert [row.label for row in rows] == ["1", "3", "5", "7", "9", "11", "13", "15"]
    assert {row.span.length_beats for row in rows} == {8}


def test_bars_of_three_stand_two_on_a_row(piece: SimpleNamespace) -> None:
    rows = sheet_rows(piece.grid_of(24, meter="3/4", phrase=24), Zoom.EIGHTS)
    assert [(row.label, row.span.length_beats) for row in rows] == [
        ("1", 6), ("3", 6), ("5", 6), ("7", 6),
    ]  # fmt: skip


def test_a_phrase_begins_on_a_row_of_its_own() -> None:
    """One from bar 4 parts bars 3 and 4; one inside bar 6 parts the eight of bars 6 and 7 there."""
    phrases = (
        Phrase(Fraction(0), "a"), Phrase(Fraction(12), "b"), Phrase(Fraction(22), "c"),
    )  # fmt: skip
    grid = MusicGrid(steady_tempo_map(120), Fraction(32), phrases=phrases)
    rows = sheet_rows(grid, Zoom.EIGHTS)
    assert [row.label for row in rows] == ["1", "3", "4", "6", "6.3", "8"]
    assert [row.phrase for row in rows] == [0, None, 1, None, 2, None]


def test_the_whole_routine_fits_the_lines_there_are() -> None:
    """Ten minutes at 120 are 300 bars: 16 a row take 300 / 16 = 19 of 20 lines, 8 a row 38."""
    grid = MusicGrid(steady_tempo_map(120), Fraction(1200))
    rows = sheet_rows(grid, Zoom.WHOLE, lines=20)
    assert len(rows) == 19
    assert rows[0].cells == 16


def test_a_beat_in_the_upbeat_gets_rows_before_bar_one(piece: SimpleNamespace) -> None:
    rows = sheet_rows(piece.grid_of(32), Zoom.BARS, first_beat=Fraction(-1))
    assert rows[0].label == "0"
    assert rows[0].span.start_beat == -4


def test_counts_are_rows_of_quarters(piece: SimpleNamespace) -> None:
    rows = sheet_rows(piece.grid_of(8), Zoom.COUNTS)
    assert [row.label for row in rows[:5]] == ["1.1", "1.2", "1.3", "1.4", "2.1"]
    assert rows[0].own_cells == 4


@given(
    starts=st.lists(st.integers(1, 120), unique=True, max_size=6),
    zoom=st.sampled_from(list(Zoom)),
    meter=st.sampled_from(["4/4", "3/4", "6/8", "7/8", "2/4"]),
)
def test_rows_cover_every_beat_once(starts: list[int], zoom: Zoom, meter: str) -> None:
    from composer.timing.meter import MeterChange, MeterMap, meter_from_text

    phrases = tuple(Phrase(Fraction(s), str(s)) for s in sorted(starts))
    meters = MeterMap((MeterChange(Fraction(0), meter_from_text(meter)),))
    grid = MusicGrid(steady_tempo_map(120), Fraction(128), meters, phrases)
    rows = sheet_rows(grid, zoom, lines=16)
    assert rows[0].span.start_beat == 0
    assert rows[-1].span.end_beat >= 128
    for before, after in itertools.pairwise(rows):
        assert before.span.end_beat == after.span.start_beat
    for index, phrase in enumerate(phrases):
        row = rows[row_index_at(rows, phrase.start_beat)]
        assert (row.phrase, row.span.start_beat) == (index, phrase.start_beat)


# ------------------------------------------------------------------ moves and downbeats


def test_a_name_stands_where_its_move_begins(piece: SimpleNamespace) -> None:
    """At 80 columns a count is (80 - 16) / 8 = 8 cells wide: count 5 begins at column 48."""
    view = sheet_of(piece.routine_of(piece.placed(4, 4, "extension"), beats=8))
    move_line = text_of(view)[1]
    assert move_line.index("extension") == GUTTER_CELLS + 4 * 8 + 1
    assert move_line.lstrip().startswith("1")
    assert move_line.rstrip().endswith("┤")


def test_a_move_that_goes_on_is_named_again_on_the_next_row(piece: SimpleNamespace) -> None:
    lines = text_of(sheet_of(piece.routine_of(piece.placed(0, 12, "extension"), beats=16)))
    assert "┠extension" in lines[1]
    assert "┄ extension " in lines[3]


def test_an_extension_has_its_downbeat_on_every_count_for_both_hands(
    piece: SimpleNamespace,
) -> None:
    """One downbeat a turn, hands together, one a beat: a B every 8 cells, and no other letter."""
    lines = text_of(sheet_of(piece.routine_of(piece.placed(0, 8, "extension"), beats=8)))
    letters = [(column, sign) for column, sign in enumerate(lines[2]) if sign in "BRL"]
    assert letters == [(GUTTER_CELLS + 8 * count, "B") for count in range(8)]


def test_hands_that_differ_have_a_line_each(piece: SimpleNamespace) -> None:
    routine = piece.routine_of(
        piece.placed(0, 8, "extension", "right"), piece.placed(0, 8, "isolation", "left"), beats=8
    )
    lines = text_of(sheet_of(routine))
    assert lines[1][GUTTER_CELLS - 1 :].startswith("R┠extension")
    assert lines[2][GUTTER_CELLS - 1 :].startswith("L┠isolation")


def test_both_hands_are_ditto_on_the_left_line_where_lines_are_split(
    piece: SimpleNamespace,
) -> None:
    routine = piece.routine_of(
        piece.placed(0, 4, "extension"), piece.placed(4, 4, "isolation", "left"), beats=8
    )
    assert text_of(sheet_of(routine))[2][GUTTER_CELLS - 1 :].startswith('L┠"')


def test_a_move_the_library_lacks_is_told(piece: SimpleNamespace) -> None:
    lines = text_of(sheet_of(piece.routine_of(piece.placed(0, 8, "moon hop"), beats=8)))
    assert "moon hop (not in the library)" in lines[1]


def test_half_rate_puts_a_downbeat_on_every_other_count(piece: SimpleNamespace) -> None:
    routine = piece.routine_of(piece.placed(0, 8, "extension", rate=Fraction(1, 2)), beats=8)
    columns = [c for c, sign in enumerate(text_of(sheet_of(routine))[2]) if sign == "B"]
    assert columns == [GUTTER_CELLS + 16 * turn for turn in range(4)]


def test_a_row_is_as_high_as_its_block(piece: SimpleNamespace) -> None:
    routine = piece.routine_of(
        piece.placed(0, 12, "extension", notes="look up"),
        piece.placed(12, 4, "isolation", "left", pinned=True),
    )
    for zoom in Zoom:
        view = sheet_of(routine, zoom)
        for content, height in zip(view.contents, view.heights, strict=True):
            assert len(block(content, view.geometry)) == height
            assert block_height(content, view.geometry) == height


def test_unchanged_rows_are_the_same_values_after_an_edit(piece: SimpleNamespace) -> None:
    from composer.arrange import edits

    routine = piece.routine_of(*(piece.placed(8 * i, 8, "extension") for i in range(8)))
    later = edits.restyle(routine, "Wren", 3, mirrored=True)
    drawer = MoveDrawer(shipped_library())
    blank = blank_sheet(routine.grid, sheet_rows(routine.grid, Zoom.EIGHTS), None)
    geometry, performer = Geometry(80, Zoom.EIGHTS), routine.performers[0]
    first = filled_sheet(
        blank, drawer.draw(performed_part(routine, "Wren"), performer), (), geometry
    )
    second = filled_sheet(
        blank,
        drawer.draw(performed_part(later, "Wren"), performer),
        (),
        geometry,
        first,
    )
    same = [a is b for a, b in zip(first.contents, second.contents, strict=True)]
    assert same == [row != 3 for row in range(8)]


# ------------------------------------------------------------------ marks


def finding(beat: object, rule: str, level: Level, hand: Hand | None = None) -> Finding:
    return Finding(rule, level, "Wren", Fraction(str(beat)), "what", "why", hand=hand)


def marked_lines(piece: SimpleNamespace, *found: Finding) -> list[str]:
    grid = piece.grid_of(8, phrase=8)
    rows = sheet_rows(grid, Zoom.EIGHTS)
    blank = blank_sheet(grid, rows, None)
    return text_of(filled_sheet(blank, (), finding_marks(found), Geometry(80, Zoom.EIGHTS)))[3:]


def test_a_finding_stands_under_its_count_as_a_glyph_and_its_rule(piece: SimpleNamespace) -> None:
    (line,) = marked_lines(piece, finding(2, "hand jumps", Level.ERROR, Hand.LEFT))
    assert line.index("✖") == GUTTER_CELLS + 2 * 8
    assert "✖ hand jumps (left)" in line


def test_both_hands_make_one_mark(piece: SimpleNamespace) -> None:
    found = [finding(2, "hand jumps", Level.ERROR, hand) for hand in Hand]
    (line,) = marked_lines(piece, *found)
    assert line.count("✖") == 1
    assert "hand jumps (both)" in line


def test_words_run_to_the_left_near_the_end_of_a_row(piece: SimpleNamespace) -> None:
    (line,) = marked_lines(piece, finding(7, "the downbeats miss the beat", Level.WARNING))
    assert line.index("▲") == GUTTER_CELLS + 7 * 8
    assert "the downbeats miss the beat ▲" in line


def test_marks_never_overwrite_each_other(piece: SimpleNamespace) -> None:
    found = [finding(beat, f"rule number {beat}", Level.WARNING) for beat in range(4)]
    text = "\n".join(marked_lines(piece, *found))
    assert all(f"rule number {beat}" in text for beat in range(4))


def test_more_marks_than_lines_are_counted(piece: SimpleNamespace) -> None:
    lines = marked_lines(piece, *(finding(0, f"rule {i}", Level.ERROR) for i in range(6)))
    assert len(lines) == 4
    assert lines[-1].startswith("+2 more")


def test_several_notes_on_a_beat_are_counted(piece: SimpleNamespace) -> None:
    (line,) = marked_lines(piece, *(finding(1, f"rule {i}", Level.NOTE) for i in range(3)))
    assert line.rstrip().endswith("○ 3 notes")


def test_the_gravest_come_first_at_one_beat() -> None:
    """Checks give them so; marks keep that order, each level under its own glyph."""
    found = [finding(1, "b", Level.ERROR), finding(1, "a", Level.NOTE)]
    assert [(mark.glyph, mark.role) for mark in finding_marks(found)] == [
        ("✖", "error"), ("○", "note"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("turns", "words"),
    [("0", "faces the audience"), ("1/4", "faces 1/4 turn left"), ("1/2", "faces upstage"),
     ("-1/4", "faces 1/4 turn right"), ("7/8", "faces 1/8 turn right")],
)  # fmt: skip
def test_facing_is_counter_clockwise_from_above_so_a_quarter_is_to_her_left(
    turns: str, words: str
) -> None:
    """x to her right, y to the audience: turning (0, 1) counter-clockwise gives (-1, 0), left."""
    assert facing_words(Fraction(turns)) == words


# ------------------------------------------------------------------ headings, sound, lines


def test_a_heading_tells_the_bars_and_length_of_its_phrase(piece: SimpleNamespace) -> None:
    assert heading_words(piece.grid_of(64), 1) == "phrase 2 · bars 9-16 · 32 beats"


def test_loudness_rises_with_level_and_silence_outside_the_track_is_blank() -> None:
    ramp = np.linspace(-60, 0, 500, dtype=np.float32)
    sound = Sound(ramp, np.zeros(500, dtype=np.float32), 50.0)
    marks = sound.loudness_marks(np.linspace(0, 10, 9))
    assert list(marks) == sorted(marks)
    assert (marks[0], marks[-1]) == ("▁", "█")
    assert sound.loudness_marks(np.array([11.0, 12.0])) == " "


def test_an_onset_marks_the_count_it_falls_on() -> None:
    strength = np.zeros(500, dtype=np.float32)
    strength[100] = 1.0  # 2.0 s
    sound = Sound(np.zeros(500, dtype=np.float32), strength, 50.0)
    assert sound.onset_marks(np.array([1.0, 1.5, 2.0, 2.5, 3.0])) == "  ● "


def test_an_empty_track_has_no_marks() -> None:
    sound = Sound(np.zeros(0, dtype=np.float32), np.zeros(0, dtype=np.float32), 50.0)
    assert sound.loudness_marks(np.array([0.0, 1.0])) == " "
    assert sound.onset_marks(np.array([0.0, 1.0])) == " "


def test_a_line_keeps_later_text_and_drops_what_is_outside() -> None:
    writer = LineWriter(6)
    writer.put(0, "abcdef", "a")
    writer.put(2, "XY", "b")
    writer.put(5, "zzz", "c")
    assert plain(writer.line()) == "abXYez"
    assert [piece.role for piece in writer.line()] == ["a", "b", "a", "c"]


@pytest.mark.parametrize(("width", "text"), [(9, "extension"), (5, "exte…"), (1, "…"), (0, "")])
def test_text_is_cut_with_an_ellipsis(width: int, text: str) -> None:
    assert shortened("extension", width) == text


@given(st.text(alphabet="a b\u00e9\u0301\u4e2d\U0001f525\u05d0-", max_size=12), st.integers(-3, 12))
def test_a_line_keeps_its_width_whatever_is_written_on_it(text: str, at_cell: int) -> None:
    """Widths by Unicode's East Asian Width (UAX 11): two cells for wide signs, none for accents."""
    writer = LineWriter(10)
    writer.put(2, "\u4e2d\u4e2d\u4e2d", "name")
    writer.put(at_cell, text, "mark")
    assert cell_len(plain(writer.line())) == 10


def test_wide_signs_are_written_whole_or_not_at_all() -> None:
    writer = LineWriter(5)
    writer.put(0, "\U0001f525ab\u4e2d")
    assert plain(writer.line()) == "\U0001f525ab "
    writer.put(1, "x")
    assert plain(writer.line()) == " xab "
    assert shortened("\u4e2d\u6587\u5b57", 5) == "\u4e2d\u6587\u2026"
    assert shortened("\u4e2d\u6587\u5b57", 4) == "\u4e2d\u2026"
    assert shortened("\u4e2d\u6587\u5b57", 6) == "\u4e2d\u6587\u5b57"
