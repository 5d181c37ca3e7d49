"""Patterns assembled by hand for the tests, from their words in the trade."""

from fractions import Fraction as F

from composer.motion.pattern import DOWN, Arc, Hold, Line, Pattern, Segment, Spin, Swing

L = 0.5


def pendulum(*, amplitude: F = F(1, 4), tether: float = L) -> Pattern:
    return Pattern((Segment(F(1), Hold(), Swing(DOWN, amplitude, F(0), F(1))),), tether)


def travelling_pendulum(*, way: float = 0.6) -> Pattern:
    """The hand runs to and fro across, at rest at both ends, and the head swings about down."""
    there, back = complex(-way / 2), complex(way / 2)
    return Pattern(
        (
            Segment(F(1, 2), Line(there, back, eased=True), Swing(DOWN, F(1, 8), F(1, 4), F(1, 2))),
            Segment(F(1, 2), Line(back, there, eased=True), Swing(DOWN, F(1, 8), F(3, 4), F(1, 2))),
        ),
        L,
    )


def three_petal_composite(*, radius: float = 0.3) -> Pattern:
    """Lower half circle of a box four-petal anti-spin, then straight across the top, one petal.

    The head's rate is the same all along, so the half circle takes 3/4 of the cycle.
    """
    return Pattern(
        (
            Segment(F(3, 4), Arc(0j, radius, F(1, 2), F(1, 2)), Spin(F(1, 4), F(-3, 2))),
            Segment(F(1, 4), Line(complex(radius), complex(-radius)), Spin(F(3, 4), F(-1, 2))),
        ),
        L,
    )


def continuous_assembly(*, radius: float = 0.3) -> Pattern:
    """In-spin arcs and anti-spin arcs of one circle in turn: the hand goes half round and back."""
    return Pattern(
        (
            Segment(F(1, 2), Arc(0j, radius, F(1, 2), F(1, 2)), Spin(F(1, 2), F(3, 2))),
            Segment(F(1, 2), Arc(0j, radius, F(0), F(-1, 2)), Spin(F(0), F(3, 2))),
        ),
        L,
    )


def figure_eight(*, radius: float = 0.3) -> Pattern:
    """From one circle into the neighbouring one through their common point."""
    return Pattern(
        (
            Segment(F(1, 2), Arc(complex(radius), radius, F(1, 2), F(1)), Spin(DOWN, F(1))),
            Segment(F(1, 2), Arc(complex(-radius), radius, F(0), F(-1)), Spin(DOWN, F(1))),
        ),
        L,
    )
