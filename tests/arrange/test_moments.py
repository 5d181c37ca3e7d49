"""The strong moments of a track: accents on their beats, phrases of high energy, ranked."""

from fractions import Fraction

import pytest

from composer.arrange.moments import strong_moments
from composer.timing.grid import Accent, MusicGrid, Phrase
from composer.timing.tempo_map import steady_tempo_map


def grid(*accents: Accent, phrases: tuple[Phrase, ...] = ()) -> MusicGrid:
    """120 bpm from 1 s on: beat b sounds at 1 + b/2 s; 64 beats."""
    return MusicGrid(steady_tempo_map(120, 1.0), Fraction(64), phrases=phrases, accents=accents)


def told(on: MusicGrid) -> list[tuple[int, str, float]]:
    return [(int(one.beat), one.words, round(one.strength, 9)) for one in strong_moments(on)]


def test_a_drop_is_stronger_than_a_stop_and_a_stop_than_a_hit() -> None:
    """The order is what is meant; the sizes are ours."""
    on = grid(Accent(3.0, "hit"), Accent(5.0, "stop"), Accent(9.0, "drop"))
    assert [(beat, words) for beat, words, _ in told(on)] == [(16, "drop"), (8, "stop"), (4, "hit")]


@pytest.mark.parametrize(("off_s", "heard"), [(0.12, True), (-0.12, True), (0.13, False)])
def test_what_sounds_within_a_quarter_of_a_beat_is_meant_for_it(off_s: float, heard: bool) -> None:
    """A quarter of half a second is 0.125 s."""
    assert [beat for beat, _, _ in told(grid(Accent(3.0 + off_s, "hit")))] == [4] * heard


def test_what_falls_on_one_beat_counts_together() -> None:
    loud = Phrase(Fraction(16), "chorus", 0.9)
    both = told(grid(Accent(9.0, "drop"), phrases=(loud,)))
    alone = told(grid(Accent(9.0, "drop"))), told(grid(phrases=(loud,)))
    assert both == [(16, "chorus begins, drop", alone[0][0][2] + alone[1][0][2])]


def test_quiet_phrases_and_what_lies_outside_the_music_are_no_moments() -> None:
    quiet = Phrase(Fraction(16), "break", 0.3)
    assert told(grid(Accent(0.5, "hit"), Accent(33.0, "drop"), phrases=(quiet,))) == []


def test_no_more_are_told_than_asked_for_and_the_strongest_stay() -> None:
    on = grid(*(Accent(1.0 + k, "hit", strength=k / 20) for k in range(1, 20)))
    assert [one.beat for one in strong_moments(on, most=3)] == [38, 36, 34]
