"""Pictures of moves: well-formed files that show head, hand, body and marks where they are."""

import io
import struct
import zlib
from fractions import Fraction
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from composer.export.choice import View
from composer.export.picture import LEFT_INK, NIGHT, RIGHT_INK, Dot, Stroke, Words
from composer.export.picture_body import UPPER_ARM, arm_m
from composer.export.picture_lens import Box, extent_m, fitted_lens, view_words
from composer.export.picture_move import meeting_beats
from composer.export.picture_page import move_picture
from composer.export.picture_png import picture_png
from composer.export.picture_sheet import contact_sheet
from composer.export.picture_svg import picture_svg
from composer.motion.body import Body, Prop
from composer.motion.hands import Hand
from composer.moves.library import shipped_library
from composer.moves.perform import Style, perform

BODY, PROPS = Body(), (Prop(), Prop())
LIBRARY = shipped_library()
SVG = "{http://www.w3.org/2000/svg}"


def performed(name, **style):
    return perform(LIBRARY.get(name), Style(**style), BODY, PROPS)


def picture(name, view=View.PERFORMER, **style):
    return move_picture(LIBRARY.get(name), performed(name, **style), BODY, view)


@pytest.mark.parametrize("move", LIBRARY.moves.values(), ids=lambda move: move.name)
def test_every_move_draws_inside_its_page(move):
    """Finite, on the page, and well-formed XML (W3C SVG 1.1: title and desc for who cannot see)."""
    drawn = move_picture(move, perform(move, Style(), BODY, PROPS), BODY)
    for shape in drawn.shapes:
        if isinstance(shape, Stroke):
            assert np.all(np.isfinite(shape.points))
            assert shape.points.min() > -20
            assert np.all(shape.points.max(axis=0) < np.array([drawn.width, drawn.height]) + 20)
    root = ElementTree.fromstring(picture_svg(drawn))
    assert root.tag == f"{SVG}svg"
    assert root.find(f"{SVG}title").text == move.name
    assert root.find(f"{SVG}desc").text.startswith(move.words)


def test_words_with_markup_stay_words():
    from dataclasses import replace

    move = replace(LIBRARY.get("triquetra"), name='<a> & "b"')
    root = ElementTree.fromstring(picture_svg(move_picture(move, performed("triquetra"), BODY)))
    assert root.find(f"{SVG}title").text == '<a> & "b"'
    assert '<a> & "b"' in {text.text for text in root.iter(f"{SVG}text")}


def test_the_png_is_one_of_its_size():
    """PNG (ISO/IEC 15948): signature, IHDR with width and height, CRC of each chunk."""
    drawn = picture("triquetra")
    data = picture_png(drawn)
    assert data[:8] == bytes.fromhex("89 50 4E 47 0D 0A 1A 0A")
    length, kind = struct.unpack(">I4s", data[8:16])
    assert (length, kind) == (13, b"IHDR")
    assert struct.unpack(">II", data[16:24]) == (drawn.width, drawn.height)
    assert struct.unpack(">I", data[29:33])[0] == zlib.crc32(data[12:29])


def test_the_trails_are_where_the_heads_go():
    """Light along the extension's circle of R + L, dark well outside it."""
    performance = performed("extension", hand="right")
    drawn = move_picture(LIBRARY.get("extension"), performance, BODY)
    image = np.asarray(Image.open(io.BytesIO(picture_png(drawn))).convert("L"), dtype=float)
    extent = extent_m(performance, BODY, View.PERFORMER)
    lens = fitted_lens(performance, View.PERFORMER, Box(0, 110, 900, 790), extent)
    turns = np.linspace(0, 1, 60, endpoint=False) + 0.01
    for radius, bright in ((0.65 * BODY.arm_m + 0.55, True), (0.65 * BODY.arm_m + 0.63, False)):
        ring = radius * np.exp(2j * np.pi * turns)
        room = np.stack([ring.real, np.full(60, 0.25), BODY.shoulder_height_m + ring.imag], axis=1)
        x, y = np.round(lens.page(room)).astype(int).T
        near = [image[b - 1 : b + 2, a - 1 : a + 2].max() for a, b in zip(x, y, strict=True)]
        assert (min(near) > 120) if bright else (np.median(near) < 40)


def test_the_audience_sees_the_mirror_image():
    """x runs the other way; the words say whose view it is."""
    performer, audience = (picture("triquetra pointing right", view, hand="right") for view in View)
    trails = [
        np.concatenate(
            [s.points for s in shown.shapes if isinstance(s, Stroke) and s.ink == RIGHT_INK]
        )
        for shown in (performer, audience)
    ]
    middle = performer.width / 2
    assert trails[0][:, 0].max() - middle == pytest.approx(
        middle - trails[1][:, 0].min(), rel=0, abs=1.0
    )
    texts = [
        {s.text for s in shown.shapes if isinstance(s, Words)} for shown in (performer, audience)
    ]
    assert any("performer's view" in text for text in texts[0])
    assert any("mirror image" in text for text in texts[1])


def test_left_and_right_differ_without_colour():
    """A whole line against dots, and different brightness (relative luminance, ITU-R BT.709)."""

    def luminance(ink):
        return 0.2126 * ink[0] + 0.7152 * ink[1] + 0.0722 * ink[2]

    assert luminance(RIGHT_INK) - luminance(LEFT_INK) > 40
    assert luminance(LEFT_INK) - luminance(NIGHT) > 100
    drawn = picture("extension with triquetra")
    dots = [
        s for s in drawn.shapes if isinstance(s, Dot) and s.ink == LEFT_INK and not s.ring_width
    ]
    assert len(dots) > 40
    assert not [
        s for s in drawn.shapes if isinstance(s, Dot) and s.ink == RIGHT_INK and s.radius < 4
    ]


def test_dots_of_the_left_light_are_even_in_time():
    """The slower the head the nearer the dots: a static spin's are evenly spaced."""
    drawn = picture("static spin", hand="left")
    places = np.array(
        [
            (s.x, s.y)
            for s in drawn.shapes
            if isinstance(s, Dot) and s.ink == LEFT_INK and not s.ring_width
        ]
    )
    gaps = np.linalg.norm(np.diff(places, axis=0), axis=1)
    np.testing.assert_allclose(gaps, gaps.mean(), rtol=0, atol=0.15 * gaps.mean())


def test_downbeats_are_counted_and_meetings_ringed():
    drawn = picture("extension with triquetra")
    words = [s.text for s in drawn.shapes if isinstance(s, Words)]
    assert {"1", "2", "2 1/2"} <= set(words)
    rings = [s for s in drawn.shapes if isinstance(s, Dot) and s.ring_width and s.radius == 9]
    assert len(rings) == 3
    assert meeting_beats(performed("extension with triquetra")) == (
        Fraction(3, 2),
        Fraction(13, 6),
        Fraction(17, 6),
    )
    assert any("1 1/2, 2 1/6, 2 5/6" in text for text in words)


def test_the_figure_is_to_scale():
    """Feet to crown is the stature; the bar says half a metre."""
    performance = performed("static spin", hand="right")
    drawn = move_picture(LIBRARY.get("static spin"), performance, BODY)
    lens = fitted_lens(
        performance,
        View.PERFORMER,
        Box(0, 110, 900, 790),
        extent_m(performance, BODY, View.PERFORMER),
    )
    crown, floor = lens.page(np.array([[0, 0, BODY.stature_m], [0, 0, 0]]))
    assert floor[1] - crown[1] == pytest.approx(BODY.stature_m * lens.scale, rel=0, abs=1e-9)
    bar = [s for s in drawn.shapes if isinstance(s, Stroke) and len(s.points) == 2][-1]
    assert np.ptp(bar.points[:, 0]) == pytest.approx(lens.scale / 2, rel=0, abs=1e-9)


@pytest.mark.parametrize("grip", [(0.5, 0.25, 1.3), (0.1, 0.3, 1.7), (-0.3, 0.25, 1.2)])
def test_the_elbow_keeps_both_bones_long(grip):
    shoulder, elbow, hand = arm_m(BODY, Hand.RIGHT, np.array(grip))
    assert np.linalg.norm(elbow - shoulder) == pytest.approx(
        UPPER_ARM * BODY.arm_m, rel=0, abs=1e-9
    )
    assert np.linalg.norm(hand - elbow) == pytest.approx(
        (1 - UPPER_ARM) * BODY.arm_m, rel=0, abs=1e-9
    )


@pytest.mark.parametrize("grip", [(0.5, 0.25, 1.3), (0.1, 0.3, 1.7), (-0.3, 0.25, 1.2)])
def test_the_left_arm_is_the_mirror_image_of_the_right(grip):
    """Anatomy: both elbows hang outwards."""
    mirror = np.array([-1.0, 1.0, 1.0])
    right = arm_m(BODY, Hand.RIGHT, np.array(grip))
    left = arm_m(BODY, Hand.LEFT, np.array(grip) * mirror)
    for one, other in zip(right, left, strict=True):
        np.testing.assert_allclose(other, one * mirror, rtol=0, atol=1e-12)


def test_the_upper_arm_is_the_longer_part():
    """Upper arm 0.186, forearm 0.146 and half a hand 0.054 of stature: Drillis and Contini 1966, as
    printed in Winter, Biomechanics (from memory)."""
    assert pytest.approx(0.186 / 0.386, rel=0, abs=0.02) == UPPER_ARM


@pytest.mark.parametrize("name", ["two-beat weave", "floor spin overhead", "windmill"])
def test_planes_other_than_the_wall_say_from_where_they_are_seen(name):
    texts = {s.text for s in picture(name).shapes if isinstance(s, Words)}
    assert view_words(performed(name).plane, View.PERFORMER) in texts


def test_a_contact_sheet_names_every_move_once_and_gives_performers_one_size():
    names = ("static spin", "extension", "triquetra", "diamond", "two-beat weave")
    shown = [(LIBRARY.get(name), performed(name, hand="right")) for name in names]
    sheet = contact_sheet(shown, BODY, columns=3)
    texts = [s.text for s in sheet.shapes if isinstance(s, Words)]
    for name in names:
        assert texts.count(name) == 1
    heads = [s.radius for s in sheet.shapes if isinstance(s, Dot) and s.radius > 8]
    assert len(set(np.round(heads[:4], 6))) == 1
    ElementTree.fromstring(picture_svg(sheet))
    assert Image.open(io.BytesIO(picture_png(sheet))).size == (sheet.width, sheet.height)


def test_an_empty_sheet_is_refused():
    with pytest.raises(ValueError, match="at least one move"):
        contact_sheet([], BODY)
