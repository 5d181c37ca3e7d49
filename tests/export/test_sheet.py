"""Printed sheets: rows of eights, numbered findings, and the PDF as another reader sees it."""

import io
import re
from dataclasses import replace
from fractions import Fraction

import pypdf
import pytest

from composer.check.findings import Finding, Level
from composer.export.choice import WHOLE, Choice, View
from composer.export.sheet import PAGES, sheet_data, sheet_pdf
from composer.export.sheet_rows import eights
from composer.export.thumbnail import thumbnail_svg
from composer.motion.hands import Hand
from composer.moves.perform import Style, perform
from composer.timing.meter import Meter, MeterChange, MeterMap

from .conftest import span

A4_POINTS = (595.28, 841.89)
"""ISO 216: 210 x 297 mm, at 72 points an inch of 25.4 mm."""
LETTER_POINTS = (612.0, 792.0)
"""ANSI/ASME Y14.1: 8.5 x 11 inches."""


def finding(beat: int, level: Level, rule: str = "spin reverses", **more) -> Finding:
    return Finding(rule, level, "Wren", Fraction(beat), "the head turns back", "It pulls.", **more)


def data(routine, library, findings=(), choice=WHOLE, pages=PAGES):
    return sheet_data(routine, library, findings, choice, paper="a4", pages=pages)


def reader(pdf: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(pdf))


def metred(routine, *changes: tuple[int, int, int]):
    meters = MeterMap(tuple(MeterChange(Fraction(b), Meter(n, d)) for b, n, d in changes))
    return replace(routine, grid=replace(routine.grid, meter_map=meters))


@pytest.mark.parametrize(
    ("meter", "starts"),
    [
        ((4, 4), [0, 8, 16, 24]),  # two bars of four: an eight
        ((3, 4), [0, 6, 12, 18, 24, 30]),  # two bars of three: a waltz is counted in six
        ((2, 4), [0, 8, 16, 24]),
        ((6, 8), [0, 8, 16, 24]),  # counted in two
        ((5, 4), [0, 5, 10, 15, 20, 25, 30]),
    ],
)
def test_rows_are_as_many_whole_bars_as_make_up_to_eight_counts(solo, meter, starts):
    rows = list(eights(metred(solo, (0, *meter)), span(0, 32)))
    assert [row.start_beat for row in rows] == starts
    assert rows[-1].end_beat == 32


def test_a_row_ends_where_the_metre_changes(solo):
    rows = list(eights(metred(solo, (0, 4, 4), (12, 3, 4)), span(0, 18)))
    assert [(row.start_beat, row.length_beats) for row in rows] == [(0, 8), (8, 4), (12, 6)]


def test_a_move_longer_than_a_row_goes_on_in_the_next(solo, library):
    part = solo.parts[0]
    long = replace(part.placements[0], span=span(4, 8))
    sheet = data(solo.with_part(replace(part, placements=(long,))), library)
    first, second = sheet["parts"][0]["sections"][0]["eights"][:2]
    assert [(b["start_beats"], b["end_beats"], b["begins"]) for b in first["boxes"]] == [
        (4.0, 8.0, True)
    ]
    assert [(b["start_beats"], b["end_beats"], b["begins"]) for b in second["boxes"]] == [
        (0.0, 4.0, False)
    ]
    assert second["boxes"][0]["picture"] is None


def test_a_transition_is_marked_where_the_same_hand_goes_on(solo, library):
    rows = data(solo, library)["parts"][0]["sections"][0]["eights"]
    boxes = [box for row in rows for box in row["boxes"]]
    assert [(box["name"], box["flows"]) for box in boxes] == [
        ("extension", False), ("triquetra", True),
    ]  # fmt: skip


def test_findings_bear_one_number_in_the_box_and_below_the_phrase(solo, library):
    found = (finding(8, Level.ERROR, hand=Hand.RIGHT), finding(16, Level.WARNING))
    first, second = data(solo, library, found)["parts"][0]["sections"]
    assert first["eights"][1]["boxes"][0]["findings"] == ((1, "error"),)
    number, level, words = first["findings"][0]
    assert (number, level) == (1, "error")
    assert words == "bar 3, count 1: right hand, the head turns back. It pulls."
    # the reason was given above, so it is not printed again
    assert second["findings"] == ((2, "warning", "bar 5, count 1: the head turns back."),)


def test_notes_and_other_performers_findings_stay_off_the_sheet(duo, library):
    found = (
        finding(8, Level.NOTE),
        replace(finding(8, Level.ERROR), performer=duo.performers[1].name),
    )
    wren, other = data(duo, library, found)["parts"]
    assert wren["sections"][0]["findings"] == ()
    assert len(other["sections"][0]["findings"]) == 1


def test_spots_and_lights_stand_on_their_counts(solo, library):
    """She travels for the four beats before beat 20: beat 16, count 1 of its row."""
    eights_of_lift = data(solo, library)["parts"][0]["sections"][1]["eights"]
    assert [(r["at_beats"], r["text"]) for r in eights_of_lift[0]["remarks"]] == [
        (0.0, "travel to 1.5 m stage right, 3 m upstage")
    ]
    assert [(r["at_beats"], r["text"]) for r in eights_of_lift[1]["remarks"]] == [
        (4.0, "light: blue wash")
    ]


@pytest.mark.parametrize(("paper", "points"), [("a4", A4_POINTS), ("letter", LETTER_POINTS)])
def test_pages_have_the_size_of_the_paper(solo, library, paper, points):
    pages = reader(sheet_pdf(solo, library, paper=paper)).pages
    sizes = [(float(p.mediabox.width), float(p.mediabox.height)) for p in pages]
    assert sizes[0] == pytest.approx(points[::-1], rel=0, abs=0.01)  # the overview lies across
    for size in sizes[1:]:
        assert size == pytest.approx(points, rel=0, abs=0.01)


def test_the_overview_is_one_page_however_much_there_is(solo, library):
    """A hundred phrases with four moves each."""
    from composer.score.routine import Part
    from composer.timing.grid import Phrase

    from .conftest import moves

    phrases = tuple(Phrase(Fraction(16 * k), f"part {k}") for k in range(100))
    rows = [(4 * k, 4, "triquetra") for k in range(400)]
    grid = replace(solo.grid, end_beat=Fraction(1600), phrases=phrases)
    long = replace(solo, grid=grid, parts=(Part("Wren", moves(*rows)),))
    assert len(reader(sheet_pdf(long, library, pages=("overview",))).pages) == 1


def words_at(page: pypdf.PageObject) -> list[tuple[float, str]]:
    """Pieces of text as they were written, with their height above the page's foot in points."""
    found: list[tuple[float, str]] = []

    def seen(text, to_page, to_text, *_more):
        if text.strip():
            found.append((to_page[5] + to_page[3] * to_text[5], text.strip()))

    page.extract_text(visitor_text=seen)
    return found


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("phrases", [5, 7, 9, 11])
def test_the_overview_s_table_ends_above_the_cautions(solo, library, paper, phrases):
    """Four performers, so that the cautions too take room; columns of long names break lines."""
    from composer.score.routine import Part
    from composer.timing.grid import Phrase

    from .conftest import moves

    names = ("Wren", "Lark", "Tern", "Finch")
    rows = [(4 * k, 4, "wheel extension") for k in range(4 * phrases)]
    group = replace(
        solo,
        grid=replace(
            solo.grid,
            end_beat=Fraction(16 * phrases),
            phrases=tuple(Phrase(Fraction(16 * k), f"part {k + 1}") for k in range(phrases)),
        ),
        performers=tuple(replace(solo.performers[0], name=name) for name in names),
        parts=tuple(Part(name, moves(*rows)) for name in names),
    )
    (page,) = reader(sheet_pdf(group, library, paper=paper, pages=("overview",))).pages
    pieces = words_at(page)
    last = next(index for index, (_, text) in enumerate(pieces) if text.startswith("Take care"))
    table = [y for y, text in pieces[:last] if "extension" in text or text.startswith("bars ")]
    assert len(table) > 4 * phrases
    assert min(table) > pieces[last][0] + 8


@pytest.mark.parametrize("before", range(8, 20))
def test_a_phrase_s_name_never_stands_alone_at_the_foot_of_a_cue_sheet(solo, library, before):
    """So many cues ahead of the second phrase that its name comes to the foot of the page."""
    from composer.score.routine import Part
    from composer.timing.grid import Phrase

    from .conftest import moves

    rows = [(4 * k, 4, "triquetra") for k in range(before + 4)]
    phrases = (Phrase(Fraction(0), "first"), Phrase(Fraction(4 * before), "second"))
    grid = replace(solo.grid, end_beat=Fraction(4 * before + 16), phrases=phrases)
    long = replace(solo, grid=grid, parts=(Part("Wren", moves(*rows)),), notes=(), spots=())
    for page in reader(sheet_pdf(long, library, pages=("cues",))).pages:
        pieces = words_at(page)
        for at in (y for y, text in pieces if text == "second"):
            assert any(y < at - 10 and "triquetra" in text for y, text in pieces)


@pytest.mark.parametrize("sheet", ["overview", "counts", "cues"])
def test_a_word_wider_than_its_column_is_broken_and_stays_on_the_page(solo, library, sheet):
    first, *others = solo.grid.phrases
    grid = replace(solo.grid, phrases=(replace(first, name="x" * 180), *others))
    (page,) = reader(sheet_pdf(replace(solo, grid=grid), library, pages=(sheet,))).pages
    lines = {round(y) for y, text in words_at(page) if "xxxx" in text}
    assert len(lines) >= 2
    assert page.extract_text().count("x") >= 180


def test_words_of_every_kind_are_printed_and_none_is_taken_for_markup(solo, library):
    """Typst's own markup characters, quotes and braces in names, notes and title."""
    awkward = 'Wr#en "q" *b* _i_ $x$ [c] @ref <t> \\ `r` ~ // {z}'
    routine = replace(
        solo,
        title=f"{awkward} #panic()",
        performers=(replace(solo.performers[0], name=awkward),),
        parts=(replace(solo.parts[0], performer=awkward),),
        spots=(),
    )
    text = "".join(page.extract_text() for page in reader(sheet_pdf(routine, library)).pages)
    plain = re.sub(r"\s+", "", text)
    assert re.sub(r"\s+", "", awkward) in plain
    assert "#panic()" in plain


def test_right_to_left_names_and_emoji_do_not_stop_the_printer(duo, library):
    pages = reader(sheet_pdf(duo, library)).pages
    assert len(pages) >= 5


def test_each_sheet_bears_the_cautions_and_none_says_safe(duo, library):
    pages = [re.sub(r"\s+", " ", p.extract_text()) for p in reader(sheet_pdf(duo, library)).pages]
    cautioned = sum("Take care." in page for page in pages)
    assert cautioned == 6  # overview, floor, and two for each of two
    assert not any(re.search(r"\bsafe\b", page) for page in pages)


def test_only_the_sheets_and_the_performer_asked_for_are_printed(duo, library):
    pdf = sheet_pdf(duo, library, choice=Choice("Wren"), pages=("cues",))
    text = "".join(page.extract_text() for page in reader(pdf).pages)
    assert "Wren, cue sheet" in text
    assert "count sheet" not in text
    assert "Ash" not in text


def test_sheets_are_grey(solo, library):
    """Every colour in the pictures and on the pages is one grey level, or has three equal parts."""
    content = b"".join(page_content(page) for page in reader(sheet_pdf(solo, library)).pages)
    told = re.findall(rb"((?:[\d.]+\s+)+)(?:rg|RG|scn|SCN|sc|SC|g|G|k|K)\b", content)
    levels = [tuple(map(float, parts.split())) for parts in told]
    assert {len(set(parts)) for parts in levels} == {1}
    assert not any(len(parts) == 4 for parts in levels)
    assert len({parts[0] for parts in levels}) > 3


def page_content(page) -> bytes:
    """What a page draws, the pictures that stand on it too."""
    drawn, waiting = [page.get_contents().get_data()], [page["/Resources"]]
    while waiting:
        for thing in (waiting.pop().get("/XObject") or {}).values():
            form = thing.get_object()
            assert form["/Subtype"] == "/Form", (
                "a picture of dots, whose colours were not looked at"
            )
            drawn.append(form.get_data())
            waiting.append(form.get("/Resources", {}))
    return b"\n".join(drawn)


def test_a_picture_s_views_are_mirror_images_in_the_wall_plane(solo, library):
    """A mirrored x in one view is the other's: the audience sees the performer's mirror image."""
    body = solo.performers[0].body
    show = perform(library.get("triquetra"), Style(hand="right"), body, solo.performers[0].props)
    points = {}
    for view in View:
        svg = thumbnail_svg(show, body, 1.2, view)
        # body lines are the faint ones, the trail the black one
        trail = re.search(r'<polyline points="([^"]*)" stroke="#000000"', svg)
        assert trail
        points[view] = [tuple(map(float, p.split(","))) for p in trail.group(1).split()]
    middle = points[View.PERFORMER][0][0] + points[View.AUDIENCE][0][0]
    for (x, y), (other_x, other_y) in zip(*points.values(), strict=True):
        assert x + other_x == pytest.approx(middle, rel=0, abs=0.0021)
        assert y - other_y == pytest.approx(
            points[View.PERFORMER][0][1] - points[View.AUDIENCE][0][1], rel=0, abs=0.0021
        )
