"""Cutting music: times by arithmetic on the beats kept, joins measured on the samples."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_music import RATE_HZ, Plan, clicks, make

from composer.audio.cut import (
    cut_grid,
    cut_length_s,
    joined_spans,
    render_cut,
    spans_of_bars,
    strongest_phrase,
    suggest_cut,
)
from composer.timing.beats import BeatSpan
from composer.timing.grid import Accent, MusicGrid, Phrase
from composer.timing.meter import Meter, MeterChange, MeterMap
from composer.timing.tempo_map import Knot, TempoMap, steady_tempo_map


def grid(beats: int = 128, bpm: float = 120, first_s: float = 0.5) -> MusicGrid:
    starts = range(0, beats, 32)
    names = ["intro", "verse", "drop", "end"]
    energies = [0.2, 0.6, 1.0, 0.4]
    phrases = tuple(
        Phrase(Fraction(s), n, e) for s, n, e in zip(starts, names, energies, strict=False)
    )
    return MusicGrid(steady_tempo_map(bpm, first_s), Fraction(beats), phrases=phrases)


def span(start: int, length: int) -> BeatSpan:
    return BeatSpan(Fraction(start), Fraction(length))


def test_bars_1_to_16_of_four_four_are_64_beats():
    assert spans_of_bars(grid(), [(1, 16), (25, 28)]) == (span(0, 64), span(96, 16))


@pytest.mark.parametrize("bars", [(5, 4), (40, 44)])
def test_bars_backwards_or_outside_the_music_are_refused(bars):
    with pytest.raises(ValueError, match="bars"):
        spans_of_bars(grid(), [bars])


def test_spans_that_follow_each_other_are_one():
    assert joined_spans([span(0, 16), span(16, 16), span(64, 8)]) == (span(0, 32), span(64, 8))


def test_a_cut_lasts_as_long_as_its_beats():
    """64 + 16 beats at 120 bpm: 40 s."""
    assert cut_length_s(grid(), (span(0, 64), span(96, 16))) == pytest.approx(40.0, abs=1e-9)


def test_the_grid_of_a_cut_counts_on_through_the_join():
    """Kept: beats 0-64 and 96-112; beat 64 of the cut is beat 96 of the source."""
    source = MusicGrid(
        grid().tempo_map,
        Fraction(128),
        phrases=grid().phrases,
        accents=(Accent(48.5, "drop"), Accent(40.0, "hit")),
    )
    cut = cut_grid(source, (span(0, 64), span(96, 16)), lead_in_s=2.0)
    assert cut.tempo_map.seconds(0) == pytest.approx(2.0, abs=1e-9)
    assert cut.tempo_map.seconds(70) == pytest.approx(37.0, abs=1e-9)
    assert cut.end_beat == 80
    assert [(p.name, p.start_beat) for p in cut.phrases] == [
        ("intro", 0),
        ("verse", 32),
        ("end", 64),
    ]
    assert [a.time_s for a in cut.accents] == pytest.approx([34.0])  # 32 s of music + 2 s lead-in


def test_a_cut_through_a_tempo_and_metre_change_keeps_both():
    """Three-four from beat 32 at 60 bpm: 16 beats there last 16 s."""
    tempo = TempoMap((Knot(Fraction(0), 0.0), Knot(Fraction(32), 16.0), Knot(Fraction(92), 76.0)))
    meters = MeterMap(
        (MeterChange(Fraction(0), Meter(4, 4)), MeterChange(Fraction(32), Meter(3, 4)))
    )
    source = MusicGrid(tempo, Fraction(92), meters)
    cut = cut_grid(source, (span(16, 28), span(56, 6)))
    assert cut.tempo_map.seconds(16) == pytest.approx(8.0, abs=1e-9)
    assert cut.tempo_map.seconds(28) == pytest.approx(20.0, abs=1e-9)
    assert cut.tempo_map.seconds(34) == pytest.approx(26.0, abs=1e-9)
    assert cut.meter_map.meter_at(Fraction(15)) == Meter(4, 4)
    assert cut.meter_map.meter_at(Fraction(30)) == Meter(3, 4)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 28), st.integers(1, 8)), min_size=1, max_size=6))
def test_the_grid_of_any_cut_is_as_long_as_its_spans(bars):
    spans = tuple(span(4 * start, 4 * count) for start, count in bars)
    cut = cut_grid(grid(256), spans)
    assert cut.end_beat == sum(s.length_beats for s in spans)
    assert cut.tempo_map.seconds(cut.end_beat) == pytest.approx(
        cut_length_s(grid(256), spans), abs=1e-9
    )


def test_the_beats_of_a_rendered_cut_sound_where_its_grid_says():
    """Clicks on every beat of 127 bpm: each click of the cut begins within one sample of a beat."""
    source = grid(256, bpm=127, first_s=0.3)
    samples = clicks(source.tempo_map.seconds_of(np.arange(256)), 123.0)[:, None]
    spans = (span(8, 32), span(100, 60), span(8, 16))
    out = render_cut(samples, RATE_HZ, source, spans, lead_in_s=1.0)
    cut = cut_grid(source, spans, lead_in_s=1.0)
    loud = np.flatnonzero(np.abs(out[:, 0]) > 0.6)
    begins = loud[np.concatenate([[True], np.diff(loud) > RATE_HZ // 10])]
    expected = cut.tempo_map.seconds_of(np.arange(int(cut.end_beat))) * RATE_HZ
    assert len(begins) == len(expected)
    assert np.max(np.abs(begins - expected)) <= 1.5


def test_a_join_makes_no_click():
    """No step between two samples at a join is larger than the steps of the music around it."""
    made = make(Plan(126, style="rock"))
    source = MusicGrid(steady_tempo_map(126, 0.5), Fraction(160))
    spans = (span(0, 32), span(64, 32), span(128, 16))
    out = render_cut(made.samples[:, None], RATE_HZ, source, spans)[:, 0]
    steps = np.abs(np.diff(out))
    cut = cut_grid(source, spans)
    for join_beat in (32, 64):
        at = int(cut.tempo_map.seconds(join_beat) * RATE_HZ)
        before = slice(at - int(0.07 * RATE_HZ), at - 20)
        around = np.concatenate([steps[at - RATE_HZ : before.start], steps[at + 20 : at + RATE_HZ]])
        assert steps[before].max() <= around.max()


def test_equal_power_where_the_sides_differ_and_no_bump_where_they_are_alike():
    """Noise keeps its power through a join within 1.5 dB, a tone joined in phase within 0.5 dB."""
    rng = np.random.default_rng(2)
    source = MusicGrid(steady_tempo_map(120), Fraction(64))
    t = np.arange(40 * RATE_HZ) / RATE_HZ
    for sound, limit_db in (
        (0.2 * rng.standard_normal(len(t)), 1.5),
        (0.5 * np.sin(400 * np.pi * t), 0.5),
    ):
        out = render_cut(
            sound[:, None].astype(np.float32), RATE_HZ, source, (span(0, 16), span(32, 16))
        )
        at = 8 * RATE_HZ
        join = out[at - int(0.07 * RATE_HZ) : at, 0].astype(float)
        level = 10 * np.log10(np.mean(join**2) / np.mean(sound**2))
        assert abs(level) < limit_db


def test_lead_in_is_silent_and_the_fade_out_ends_in_silence():
    sound = np.full((60 * RATE_HZ, 2), 0.5, np.float32)
    out = render_cut(sound, RATE_HZ, grid(), (span(4, 16),), lead_in_s=3.0, fade_out_s=2.0)
    assert not out[: int(2.98 * RATE_HZ)].any()
    assert np.abs(out[-3:]).max() < 0.001
    middle = out[len(out) - RATE_HZ, 0]
    assert middle == pytest.approx(0.5 * np.cos(np.pi / 4), abs=0.01)


def test_nothing_kept_or_a_negative_time_is_refused():
    sound = np.zeros((RATE_HZ, 1), np.float32)
    with pytest.raises(ValueError, match="at least one span"):
        render_cut(sound, RATE_HZ, grid(), ())
    with pytest.raises(ValueError, match="negative"):
        render_cut(sound, RATE_HZ, grid(), (span(0, 4),), fade_out_s=-1)


def test_the_suggestion_keeps_beginning_drop_and_end():
    """Four phrases of 16 s; 48 s wanted: the verse goes, the drop has most energy."""
    assert suggest_cut(grid(), 48.0) == (span(0, 32), span(64, 64))
    assert strongest_phrase(grid()) == 2


def test_a_track_that_is_short_enough_stays_whole():
    assert suggest_cut(grid(), 300.0) == (span(0, 128),)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.integers(1, 16), min_size=6, max_size=14), st.floats(0.4, 0.95))
def test_the_suggested_length_is_within_one_phrase_of_the_wish(bars, share):
    """Phrases of any length; the first, the last and the strongest may already be too long."""
    starts = np.concatenate([[0], np.cumsum(bars)]) * 4
    energies = np.random.default_rng(sum(bars)).uniform(0.3, 1, len(bars))
    source = MusicGrid(
        steady_tempo_map(120),
        Fraction(int(starts[-1])),
        phrases=tuple(
            Phrase(Fraction(int(s)), "x", float(e))
            for s, e in zip(starts[:-1], energies, strict=True)
        ),
    )
    must = {0, len(bars) - 1, strongest_phrase(source)}
    least = 2.0 * sum(bars[i] for i in must)
    wanted = max(share * 2.0 * sum(bars), least)
    got = cut_length_s(source, suggest_cut(source, wanted))
    assert least - 1e-6 <= got
    assert abs(got - wanted) <= 2.0 * max(bars) + 1
