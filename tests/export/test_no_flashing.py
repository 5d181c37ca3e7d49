"""Nothing that is shown flashes: WCAG 2.x, SC 2.3.1, on rendered frames of a quick routine."""

from dataclasses import replace

import numpy as np
import pytest

from composer.export.choice import Choice
from composer.export.frames import FrameMaker
from composer.timing.tempo_map import steady_tempo_map

FPS = 30
FIELD_SHARE = 21_824 / (1024 * 768)
"""A quarter of any field of 10 degrees, as the standard's own note puts it in pixels (from memory):
so much of a screen may flash as often as it likes."""


def relative_luminance(frame: np.ndarray) -> np.ndarray:
    """WCAG 2.x, "relative luminance", of 8-bit sRGB."""
    share = frame / 255
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    return linear @ np.array([0.2126, 0.7152, 0.0722])


def flashes(luminance: np.ndarray) -> np.ndarray:
    """Pairs of opposing changes of 10 % and more whose darker side is below 0.80, of each pixel.

    shape=(frames, pixels); a change is counted from one turning point to the next.
    """
    turned = np.zeros(luminance.shape[1], dtype=int)
    extreme, rising = luminance[0].copy(), np.zeros(luminance.shape[1], dtype=int)
    for row in luminance[1:]:
        change = row - extreme
        counts = (np.abs(change) >= 0.10) & (np.minimum(row, extreme) < 0.80)
        opposed = counts & (np.sign(change) != rising)
        turned += opposed
        rising = np.where(opposed, np.sign(change).astype(int), rising)
        extreme = np.where(opposed | (np.sign(change) == rising), row, extreme)
    return turned // 2


def test_what_flashes_is_counted_as_the_standard_defines_it():
    """A square wave of 4 Hz is four flashes a second; one of 5 % or above 0.80 is none."""
    at = np.arange(FPS + 1) / FPS
    square = (np.floor(8 * at) % 2)[:, None]
    assert flashes(square).tolist() == [4]
    assert flashes(0.05 * square).tolist() == [0]
    assert flashes(0.82 + 0.15 * square).tolist() == [0]
    assert flashes(at[:, None]).tolist() == [0], "a change one way is no flash"


@pytest.mark.parametrize("bpm", [120.0, 200.0])
def test_no_more_of_a_film_flashes_than_may(solo, library, bpm):
    """At most three flashes in any second, or less than a quarter of a field of 10 degrees."""
    grid = replace(solo.grid, tempo_map=steady_tempo_map(bpm))
    maker = FrameMaker(replace(solo, grid=grid), library, Choice(), (480, 270))
    frames = [maker.frame(2.0 + k / FPS) for k in range(FPS + 1)]
    told = np.stack([relative_luminance(np.array(one)).ravel() for one in frames])
    assert np.ptp(told, axis=0).max() > 0.2, "something moves"
    assert np.mean(flashes(told) > 3) < FIELD_SHARE
