"""What stands against a proposal, part by part: where stretches end, how moves stand there."""

from fractions import Fraction
from types import SimpleNamespace

import pytest

from composer.arrange.costs import (
    CLOSING_COST,
    ENDING_COST,
    Closing,
    Comfort,
    Ending,
    closing_of,
    comfort_of,
    ending_of,
)
from composer.check.fit import fit
from composer.check.performed import performed
from composer.timing.beats import BeatSpan


@pytest.mark.parametrize(
    ("start", "length", "ends"),
    [
        (0, 32, Ending.PHRASE),
        (32, 32, Ending.PHRASE),  # with the music, where no phrase begins any more
        (0, 16, Ending.BAR),
        (0, 6, Ending.INSIDE),
        (28, 8, Ending.OVER),
        (60, 8, Ending.BEYOND),
        (20, 60, Ending.BEYOND),
    ],
)
def test_where_a_stretch_ends_in_the_music(
    kit: SimpleNamespace, start: int, length: int, ends: Ending
) -> None:
    """64 beats of 4/4 in phrases of 32: by hand."""
    grid = kit.piece(beats=64).grid
    assert ending_of(BeatSpan(Fraction(start), Fraction(length)), grid) is ends


@pytest.mark.parametrize(
    ("move", "beats", "stands"),
    [
        ("diamond", 12, Closing.CLOSES),
        ("triquetra", Fraction(2, 3), Closing.TURNED),  # a third of a dihedral figure of three
        ("pendulum", 1, Closing.MIRRORED),  # half a swing is its mirror image
        ("diamond", 4, Closing.OPEN),  # 1 1/3 cycles of a figure of four
    ],
)
def test_how_a_move_stands_at_its_end(
    kit: SimpleNamespace, move: str, beats: object, stands: Closing
) -> None:
    """The symmetries of the figures (derivation), as the fit has them."""
    routine = kit.piece(kit.placed(0, beats, move))
    placement = routine.part("Wren").placements[0]
    fitted = fit(placement, kit.library, routine.performers[0], routine.grid)
    assert closing_of(fitted) is stands


def test_costs_rise_from_what_suits_to_what_does_not() -> None:
    """Their order is what is meant; their sizes are ours."""
    assert list(ENDING_COST.values()) == sorted(set(ENDING_COST.values()))
    assert CLOSING_COST[Closing.CLOSES] < CLOSING_COST[Closing.TURNED] < CLOSING_COST[Closing.OPEN]
    assert CLOSING_COST[Closing.TURNED] == CLOSING_COST[Closing.MIRRORED]


def test_within_her_limits_a_move_costs_no_comfort_and_beyond_them_the_square_of_its_strain(
    kit: SimpleNamespace,
) -> None:
    """A static spin at one turn a second is nothing; at 5.5 the head turns too often: 5 a second is
    an error (strain 3), beyond it 3 * 5.5 / 5 = 3.3."""
    assert Comfort(0.9, "").cost == 0
    assert Comfort(2.5, "a rule").cost == pytest.approx(6.25, abs=1e-12)
    routine = kit.piece(kit.placed(0, 4, "static spin"))
    who = routine.performers[0]
    done = performed(routine.part("Wren").placements[0], who, kit.library)
    calm, quick = (
        comfort_of(done, who, Fraction(1), (beat_s, beat_s)) for beat_s in (1.0, 1 / 5.5)
    )
    assert (calm.cost, calm.is_comfortable) == (0, True)
    assert quick.rule == "head turns too often"
    assert quick.strain == pytest.approx(3.3, abs=1e-9)
    assert not quick.is_comfortable
