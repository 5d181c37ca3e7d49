"""The rehearsal page without a browser: one file, nothing from outside, light, well escaped."""

import base64
import hashlib
import io
import json
import re
from dataclasses import replace
from fractions import Fraction
from html.parser import HTMLParser

import av
import numpy as np
import pytest

from composer.errors import ExportError
from composer.export.choice import Choice
from composer.export.page import LIGHT_BYTES, rehearsal_page
from composer.timing.tempo_map import steady_tempo_map

from .conftest import RATE_HZ


class Parts(HTMLParser):
    """Elements with their attributes and the text right behind their opening tag."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.found.append((tag, dict(attrs)))
        self.texts.append("")

    def handle_data(self, data):
        if self.texts:
            self.texts[-1] += data

    def data(self) -> dict:
        """What the page's script reads."""
        pairs = zip(self.found, self.texts, strict=True)
        return json.loads(next(text for (_, has), text in pairs if has.get("id") == "routine"))


@pytest.fixture(scope="module")
def page(duo, library, sound) -> str:
    return rehearsal_page(duo, library, sound.samples, RATE_HZ)


@pytest.fixture(scope="module")
def inside(page) -> dict:
    return Parts(page).data()


def test_nothing_in_the_page_points_outside(page):
    """No attribute that loads (src, href, action, poster) leads anywhere but to data."""
    for tag, attributes in Parts(page).found:
        for name in ("src", "href", "action", "poster", "srcset", "data"):
            value = attributes.get(name)
            assert value is None or value.startswith("data:"), (tag, name, value)
    assert not re.search(r"url\(|@import|\bfetch\(|XMLHttpRequest|WebSocket|importScripts", page)


def test_the_policy_allows_only_this_script_and_style(page):
    """Content Security Policy level 2: hash sources are base64 of SHA-256 of the element's text."""
    parts = Parts(page)
    policy = next(
        attributes["content"]
        for tag, attributes in parts.found
        if tag == "meta" and attributes.get("http-equiv") == "Content-Security-Policy"
    )
    assert policy is not None
    assert policy.startswith("default-src 'none';")
    assert "unsafe" not in policy
    script = page.rsplit("<script>", 1)[1].split("</script>")[0]
    style = page.split("<style>", 1)[1].split("</style>")[0]
    for text in (script, style):
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert f"'sha256-{digest}'" in policy


def test_words_cannot_break_out_of_the_data(duo, library, sound):
    evil = "</script><script>alert(1)</script>\u2028<!--"
    routine = replace(duo, title=evil)
    page = rehearsal_page(routine, library, sound.samples, RATE_HZ)
    assert page.count("<script") == 2
    assert "alert(1)</script>" not in page
    data = Parts(page).data()
    assert data["title"] == "</script><script>alert(1)</script> <!--"


def test_four_minutes_of_music_stay_under_twelve_megabytes(solo, library):
    """Noise, the hardest thing to code: 240 s in two channels."""
    noise = np.random.default_rng(1).uniform(-0.5, 0.5, (240 * RATE_HZ, 2)).astype(np.float32)
    grid = replace(solo.grid, tempo_map=steady_tempo_map(126, 0.35), end_beat=Fraction(504))
    page = rehearsal_page(replace(solo, grid=grid), library, noise, RATE_HZ)
    assert len(page.encode()) < 12_000_000
    assert LIGHT_BYTES == 12_000_000


def test_the_sound_inside_is_the_track(inside):
    """AAC in MPEG-4, 17 s, its loudest clicks where the track has them."""
    with av.open(io.BytesIO(base64.b64decode(inside["sound"]))) as container:
        stream = container.streams.audio[0]
        assert stream.codec_context.name == "aac"
        blocks = [frame.to_ndarray() for frame in container.decode(stream)]
        rate = stream.rate
    mono = np.abs(np.concatenate(blocks, axis=1)[0])
    assert len(mono) / rate == pytest.approx(17.0, rel=0, abs=0.027)
    beat_8 = mono[round(4.3 * rate) : round(4.4 * rate)]
    assert 4.3 + np.argmax(beat_8 > 0.3) / rate == pytest.approx(4.35, rel=0, abs=0.003)


def test_calls_bars_and_phrases_are_the_routine_s(inside):
    wren = inside["parts"][0]
    assert {"beat": 8.0, "called": 4.0, "text": "triquetra"} in wren["calls"]
    assert [(p["name"], p["start"], p["end"]) for p in inside["phrases"]] == [
        ("a --> b & <i>", 0.0, 16.0), ("ליפט", 16.0, 35.5),
    ]  # fmt: skip
    assert inside["meters"] == [{"beat": 0.0, "bar": 1, "length": 4}]


def test_trails_are_the_curves_of_their_moves(inside, duo):
    """A triquetra's head is R + L from the middle at its three tips: the law of cosines."""
    move = next(m for m in inside["parts"][0]["moves"] if m["name"] == "triquetra")
    head = np.array(inside["trails"][move["trail"]]["right"]["head"]).reshape(-1, 3)
    body = duo.performers[0].body
    from_middle = head[:, [0, 2]] - [0, 1000 * body.shoulder_height_m]
    furthest = 1000 * (0.65 * body.arm_m + 0.55)
    distances = np.linalg.norm(from_middle, axis=1)
    assert distances.max() == pytest.approx(furthest, rel=0, abs=2)
    near = distances[:-1] > furthest - 5
    assert np.count_nonzero(near & ~np.roll(near, 1)) == 3


def test_a_phrase_alone_has_its_own_clock_and_sound(solo, library, sound):
    page = rehearsal_page(solo, library, sound.samples, RATE_HZ, Choice(phrase=1))
    data = Parts(page).data()
    assert data["zero_s"] == pytest.approx(8.35, rel=0, abs=1e-9)
    with av.open(io.BytesIO(base64.b64decode(data["sound"]))) as container:
        stream = container.streams.audio[0]
        length_s = float(stream.duration * stream.time_base)
    assert length_s == pytest.approx(8.0, rel=0, abs=0.027)


def test_music_too_long_for_a_phone_is_refused_in_one_line(solo, library):
    two_hours = np.broadcast_to(np.zeros((1, 2), np.float32), (2 * 3600 * 4000, 2))
    with pytest.raises(ExportError, match="phrase by phrase"):
        rehearsal_page(solo, library, two_hours, 4000)


def test_the_page_bears_the_cautions_and_never_says_safe(inside, page):
    assert any("licensed practice" in words for words in inside["cautions"])
    assert any("85 dBA" in words for words in inside["cautions"])
    assert not re.search(r"\bsafe\b(?!-area)", re.sub(r'"sound":"[^"]*"', "", page))
