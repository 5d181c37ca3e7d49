"""The points of difficulty keep the orders that were published; their sizes are ours."""

from fractions import Fraction
from math import acos, pi

import pytest

from composer.motion.body import Body, Prop
from composer.moves.difficulty import difficulty, ratio_points, timing_points
from composer.moves.library import shipped_library
from composer.moves.model import relation_from_text
from composer.moves.perform import Style, perform

BODY, PROPS = Body(), (Prop(), Prop())


def points(name, relation=None, *, hz=None, hand="both"):
    asked = relation_from_text(relation) if relation else None
    performance = perform(
        shipped_library().get(name), Style(relation=asked, hand=hand), BODY, PROPS
    )
    return difficulty(performance, downbeats_hz=hz).points


def test_together_is_easier_than_split_and_split_than_quarter():
    """Haken, Kelso, Bunz, Biol. Cybern. 51 (1985) 347: V = -a cos f - b cos 2f, here a = b.

    Heights above V(0) by hand: V(0) = -2, V(1/2) = 0, V(1/4) = 1, so 0, 2 and 3.
    """
    timings = [Fraction(0), Fraction(1, 2), Fraction(1, 4), Fraction(3, 4)]
    expected = [0, 2, 3, 3]
    assert [timing_points(t) for t in timings] == pytest.approx(expected, rel=0, abs=1e-12)


def test_split_hands_are_a_hollow_of_their_own_and_quarters_are_a_ridge():
    """Haken, Kelso, Bunz: with a = b anti-phase is stable, V''(pi) = -a + 4b = 3 (b/a > 1/4); in
    phase V''(0) = a + 4b = 5; between them, where sin f = 0 or cos f = -a/4b, the ridge."""
    step = 1e-3

    def bend(turns: float) -> float:
        high, here, low = (timing_points(turns + k * step) for k in (1, 0, -1))
        return (high - 2 * here + low) / (2 * pi * step) ** 2

    assert bend(0.0) == pytest.approx(5, rel=0, abs=1e-3)
    assert bend(0.5) == pytest.approx(3, rel=0, abs=1e-3)
    ridge = acos(-1 / 4) / (2 * pi)
    assert bend(ridge) < 0
    tops = [timing_points(k / 1000) for k in range(501)]
    assert tops.index(max(tops)) == pytest.approx(1000 * ridge, rel=0, abs=1)


def test_unequal_rates_are_ranked_as_they_are_learnt():
    """1:1 < 2:1 < 3:2 < 4:3 < 5:3: Percept. Mot. Skills 88 (1999) 1160."""
    ranked = [Fraction(1), Fraction(2), Fraction(3, 2), Fraction(4, 3), Fraction(5, 3)]
    found = [ratio_points(ratio) for ratio in ranked]
    assert found == sorted(set(found))
    assert found == [0, 1, 3, 5, 6], "p + q - 2: harder with larger p + q"


@pytest.mark.parametrize("name", ["extension", "triquetra", "pentagram"])
def test_mirrored_hands_are_the_easiest_relation(name):
    """Symmetric circles are the stabler ones: Semjen, Summers, Cattaert, JEP:HPP 21 (1995) 1139."""
    mirrored = points(name, "together opposite")
    for other in ("together same", "split same", "split opposite", "quarter same"):
        assert points(name, other) > mirrored


def test_in_the_wheel_plane_running_alike_is_the_mirror_image():
    """The midline of the body lies in the wheel plane: both forward is symmetric (derivation)."""
    assert points("forward spin", "together same") < points("forward spin", "together opposite")


@pytest.mark.parametrize(
    ("easier", "harder"),
    [
        ("static spin", "isolation"),
        ("extension", "vertical cat-eye"),
        ("vertical cat-eye", "triquetra"),
        ("triquetra", "diamond"),
        ("diamond", "five-petal anti-spin"),
        ("one-petal in-spin", "triquetra"),
        ("triquetra", "pentagram"),
        ("pentagram", "seven-pointed star"),
        ("pendulum", "travelling pendulum"),
        ("triquetra", "three-petal composite"),
        ("forward spin", "three-beat weave"),
        ("mirrored triquetras", "split triquetras"),
        ("mirrored pentagrams", "split pentagrams"),
        ("static spin with triquetra", "static spin with pentagram"),
        ("extension with isolation, together", "extension with isolation, head-to-hand"),
        ("extension with triquetra", "triquetra with diamond"),
        ("triquetra with diamond", "diamond with five-petal anti-spin"),
    ],
)
def test_what_the_trade_learns_first_has_fewer_points(easier, harder):
    """Order of learning: common practice, no source."""
    assert points(easier) < points(harder)


def test_a_split_rhythm_grows_harder_above_two_a_second():
    """Anti-phase gives way at about 2 Hz: Kelso, Am. J. Physiol. 246 (1984) R1000."""
    assert points("extension", "split same", hz=2.0) == points("extension", "split same")
    assert points("extension", "split same", hz=3.0) == pytest.approx(
        points("extension", "split same") + 1, rel=0, abs=1e-12
    )
    assert points("extension", "together opposite", hz=3.0) == points(
        "extension", "together opposite"
    )


def test_the_reasons_add_up_and_speak():
    performance = perform(shipped_library().get("extension with triquetra"), Style(), BODY, PROPS)
    found = difficulty(performance)
    assert found.points == sum(reason.points for reason in found.reasons)
    assert "2 downbeats against 1" in {reason.words for reason in found.reasons}
