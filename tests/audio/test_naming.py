"""Names of phrases. Which part a change of energy makes: common practice, no source."""

import numpy as np
import pytest

from composer.audio.naming import phrase_names, phrase_roles


@pytest.mark.parametrize(
    ("energy", "roles"),
    [
        ([0.1, 0.6, 0.7, 0.2], ["intro", None, None, "ending"]),
        ([0.2, 0.5, 1.0, 0.3, 0.9], ["intro", "build", "peak", "break", "peak"]),
        (
            [0.1, 0.9, 0.8, 0.3, 0.6, 1.0, 0.1],
            ["intro", "peak", None, "break", "build", "peak", "ending"],
        ),
    ],
)
def test_parts_that_the_energy_shows_plainly(energy, roles) -> None:
    assert phrase_roles(energy) == roles


@pytest.mark.parametrize("energy", [[0.5], [0.1, 0.9], [0.5, 0.6, 0.55, 0.65, 0.5], [1.0] * 6])
def test_even_or_short_music_has_letters_only(energy) -> None:
    assert set(phrase_roles(energy)) == {None}


def test_phrases_alike_share_a_letter_and_a_mark_tells_them_apart() -> None:
    """Phrases of three kinds in the order 1 2 1 3 1: by the letters' definition A B A' C A3."""
    kinds = np.repeat([1, 2, 1, 3, 1], 4)
    bar = np.arange(20) % 4
    alike = 0.5 * (kinds[:, None] == kinds) + 0.4 * (bar[:, None] == bar)
    names = phrase_names(alike, [0, 4, 8, 12, 16], [0.5] * 5)
    assert names == ["A", "B", "A'", "C", "A3"]


def test_a_part_that_comes_again_is_marked_too() -> None:
    alike = np.full((20, 20), 0.5) + 0.4 * np.eye(20)
    names = phrase_names(alike, [0, 4, 8, 12, 16], [0.2, 1.0, 0.3, 1.0, 0.3])
    assert names == ["intro", "peak", "break", "peak'", "ending"]
