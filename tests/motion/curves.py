"""Curves of a circle carried on a circle for the tests, by our code and by their definition."""

from fractions import Fraction
from math import pi

import numpy as np
from hypothesis import strategies as st

from composer.motion.flower import flower
from composer.motion.trochoid import Trochoid, trochoid_of

F = Fraction

ratios = (
    st.tuples(st.integers(-7, 7), st.integers(1, 4))
    .map(lambda pq: F(*pq))
    .filter(lambda n: n not in (0, 1))
)
lengths = st.floats(0.05, 1.5)


def shape_of(n: Fraction, radius: float, tether: float, *, direction: int = 1) -> Trochoid:
    shape = trochoid_of(flower(n, radius_m=radius, tether_m=tether, direction=direction))
    assert shape is not None
    return shape


def drawn(n: Fraction, radius: float, tether: float, count: int) -> np.ndarray:
    """z(t) = R e^(it) + L e^(int) over one closure, by its definition and not by our code."""
    t = np.linspace(0, 2 * pi * n.denominator, count, endpoint=False)
    return radius * np.exp(1j * t) + tether * np.exp(1j * float(n) * t)
