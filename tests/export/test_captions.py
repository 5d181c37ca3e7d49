"""W3C WebVTT: its timestamp grammar and cue text, read back by a small parser of that grammar."""

import re
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.export.captions import call_captions, chapters, escaped, timestamp
from composer.export.choice import Choice
from composer.timing.tempo_map import steady_tempo_map

STAMP = re.compile(r"(?:(\d{2,}):)?([0-5]\d):([0-5]\d)\.(\d{3})")
"""The specification's "WebVTT timestamp"."""


def blocks(text: str) -> list[tuple[float, float, str]]:
    head, *rest = text.rstrip("\n").split("\n\n")
    assert head == "WEBVTT"
    found = []
    for block in rest:
        _, times, *lines = block.split("\n")
        start, arrow, end = times.partition(" --> ")
        assert arrow
        assert len(lines) == 1
        found.append((seconds(start), seconds(end), lines[0]))
    return found


def seconds(stamp: str) -> float:
    match = STAMP.fullmatch(stamp)
    assert match, stamp
    hours, minutes, whole, thousandths = match.groups()
    return int(hours or 0) * 3600 + int(minutes) * 60 + int(whole) + int(thousandths) / 1000


@pytest.mark.parametrize(
    ("time_ms", "text"),
    [
        (0, "00:00:00.000"),
        (3_599_999, "00:59:59.999"),
        (3_600_000, "01:00:00.000"),  # "60:00.000" is an error by the grammar
        (359_999_999, "99:59:59.999"),
        (360_000_000, "100:00:00.000"),
    ],
)
def test_timestamps_follow_the_grammar(time_ms, text):
    assert timestamp(time_ms) == text


@given(st.integers(0, 10**9))
def test_every_timestamp_reads_back(time_ms):
    assert round(seconds(timestamp(time_ms)) * 1000) == time_ms


def test_a_time_before_the_start_is_refused():
    with pytest.raises(ValueError, match="not negative"):
        timestamp(-1)


@given(st.text())
def test_cue_text_holds_no_arrow_no_tag_and_one_line(text):
    out = escaped(text)
    assert "-->" not in out
    assert "<" not in out
    assert not re.search(r"[\n\r\0]", out)


def test_markup_characters_are_escaped_as_the_specification_says():
    assert escaped("a --> b & <i>") == "a --&gt; b &amp; &lt;i&gt;"


def test_a_call_stands_from_its_call_to_its_beat(solo):
    """Beat 8 of 120 bpm from 0.35 s sounds at 4.35 s; the call comes a bar of 2 s earlier."""
    assert (2.35, 4.35, "triquetra") in blocks(call_captions(solo))


def test_a_call_before_the_track_is_shown_from_its_start(solo):
    first = blocks(call_captions(solo))[0]
    assert first == (0.0, 0.35, "extension")


def test_times_are_rounded_before_they_are_split(solo):
    """Beat 0 at 3599.9996 s rounds to the full hour; "00:59:60.000" would be an error."""
    grid = replace(solo.grid, tempo_map=steady_tempo_map(120, 3599.9996))
    text = chapters(replace(solo, grid=grid))
    assert "01:00:00.000 --> " in text
    blocks(text)


def test_each_end_is_after_its_start(duo):
    for start_s, end_s, _ in blocks(call_captions(duo)):
        assert end_s > start_s


def test_chapters_follow_each_other_through_the_whole_music(duo):
    """32 beats at 120 bpm from 0.35 s, and the follower's last four beats after them."""
    rows = blocks(chapters(duo))
    assert [row[2] for row in rows] == ["a --&gt; b &amp; &lt;i&gt;", "ליפט"]
    assert [row[0] for row in rows[1:]] == [row[1] for row in rows[:-1]]
    assert rows[0][0] == 0.35
    assert rows[1][1] == pytest.approx(0.35 + 0.5 * 35.5, rel=0, abs=0.0011)


def test_a_group_s_calls_name_whom_they_are_for(duo):
    texts = [text for _, _, text in blocks(call_captions(duo))]
    assert "<v Wren>Wren: triquetra</v>" in texts
    assert any(text.startswith('<v Ash "the, comma" --&gt; ערב 🔥>') for text in texts)


def test_a_call_bears_its_kind_unless_its_words_tell_it(solo):
    said = call_captions(solo)
    assert "\nlight: blue wash\n" in said
    assert "\ntriquetra\n" in said
    assert "move:" not in said


def test_a_phrase_has_its_own_clock_and_only_its_calls(solo):
    rows = blocks(call_captions(solo, Choice(phrase=1)))
    assert rows[0] == (0.0, pytest.approx(0.001), "triquetra, hands split same")
    assert all(start_s <= 8 for start_s, _, _ in rows)
    assert Fraction(16) == solo.grid.phrases[1].start_beat
