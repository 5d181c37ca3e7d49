"""Where phrases begin, from likenesses and chances written by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from composer.audio import phrases
from composer.audio.phrases import phrase_starts


def bars_of(
    count: int, bar_s: float, alike: np.ndarray, odds: np.ndarray, patch: pytest.MonkeyPatch
) -> SimpleNamespace:
    """So many bars of a length, with chances of a turn as log odds."""
    patch.setattr(phrases, "turn_odds", lambda _: odds)
    starts_s = bar_s * np.arange(count)
    return SimpleNamespace(starts_s=starts_s, ends_s=starts_s + bar_s, alike=alike)


def in_blocks(lengths: list[int], within: float, beyond: float) -> np.ndarray:
    """Likeness of bars that are more alike inside stretches of the given lengths."""
    block = np.repeat(np.arange(len(lengths)), lengths)
    return np.where(block[:, None] == block, within, beyond)


@pytest.mark.parametrize("bpm", [70, 100, 174])
def test_phrases_begin_where_turns_are_clear(bpm: int, monkeypatch: pytest.MonkeyPatch) -> None:
    lengths = [8, 16, 8, 4, 16]
    starts = np.cumsum([0, *lengths[:-1]])
    odds = np.full(sum(lengths), -5.0)
    odds[starts] = 4.0
    bars = bars_of(len(odds), 240 / bpm, in_blocks(lengths, 0.9, 0.2), odds, monkeypatch)
    found, sure = phrase_starts(bars)  # type: ignore[arg-type]
    assert found == starts.tolist()
    assert sure == pytest.approx(1 / (1 + np.exp(-4.0)))


def test_a_faint_turn_ends_a_phrase_of_fourteen_seconds_but_not_one_of_five(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Four bars last 13.7 s at 70 bpm and 5.5 s at 174: so short a phrase needs more to be heard.

    Common practice, no source: phrases of dance music at such tempi are counted in eights.
    """
    alike = in_blocks([4] * 8, 0.62, 0.55)
    odds = np.full(32, -4.0)
    odds[::4] = 2.5
    odds[::8] = 3.0
    lengths = {}
    for bpm in (70, 174):
        bars = bars_of(32, 240 / bpm, alike, odds, monkeypatch)
        found, _ = phrase_starts(bars)  # type: ignore[arg-type]
        lengths[bpm] = set(np.diff([*found, 32]).tolist())
    assert lengths == {70: {4}, 174: {8}}


def test_odd_lengths_are_counted_only_where_they_are_clear(monkeypatch: pytest.MonkeyPatch) -> None:
    """A turn heard a bar early, in a fill, does not move the phrase; a sure one does."""
    alike = np.full((32, 32), 0.5)
    for early, due, expected in ((1.0, 2.0, 16), (6.0, -4.0, 15)):
        odds = np.full(32, -4.0)
        odds[[8, 24]] = 2.0
        odds[[15, 16]] = early, due
        bars = bars_of(32, 2.0, alike, odds, monkeypatch)
        assert expected in phrase_starts(bars)[0]  # type: ignore[arg-type]


def test_under_four_bars_are_one_phrase(monkeypatch: pytest.MonkeyPatch) -> None:
    bars = bars_of(3, 2.0, np.ones((3, 3)), np.full(3, 9.0), monkeypatch)
    assert phrase_starts(bars) == ([0], 0.0)  # type: ignore[arg-type]
