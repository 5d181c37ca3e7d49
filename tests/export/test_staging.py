"""Moves worked out for drawing: a turned body, seen by the audience and by herself."""

from dataclasses import replace
from fractions import Fraction

import numpy as np

from composer.export.choice import Choice, View
from composer.export.staging import staged_moves
from composer.motion.hands import Hand
from composer.score.routine import Part


def test_the_audience_sees_her_turned_and_she_sees_her_planes_before_her(solo, library):
    """A quarter turn to her left takes (x, y) to (-y, x): her right is forward then. For herself
    nothing turns."""
    plain = solo.parts[0].placements[0]
    turned = replace(plain, facing_turns=Fraction(1, 4))
    front, aside = (
        staged_moves(replace(solo, parts=(Part("Wren", (one,)),)), "Wren", Choice(), library)[0]
        for one in (plain, turned)
    )
    beats = np.linspace(0, 2, 17)
    for hand in Hand:
        before, _ = front.places_m(hand, beats, View.AUDIENCE)
        seen, _ = aside.places_m(hand, beats, View.AUDIENCE)
        quarter = np.stack([-before[:, 1], before[:, 0], before[:, 2]], axis=1)
        np.testing.assert_allclose(seen, quarter, rtol=0, atol=1e-9)
        own, _ = aside.places_m(hand, beats, View.PERFORMER)
        np.testing.assert_allclose(own, before, rtol=0, atol=1e-9)
