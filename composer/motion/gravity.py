"""Weight on a tether: how fast it swings and turns of itself, and what keeps the tether taut.

Formulas are those of mechanics textbooks unless a source is named. Elliptic integrals take the
parameter m = k^2. Amplitudes and leans are turns from straight down: a quarter is level.
"""

from dataclasses import dataclass
from math import acos, cos, pi, sqrt

G = 9.80665
"""Standard gravity, m/s^2: 3rd General Conference on Weights and Measures, 1901."""

LEVEL = 0.25
"""A tether that swings higher than level goes slack before it turns back."""


# ------------------------------------------------------------------ swinging


def small_swing_s(length_m: float, *, g: float = G) -> float:
    """Period of a small swing: 2 pi sqrt(L/g)."""
    return 2 * pi * sqrt(_positive(length_m, "length") / g)


def length_for_small_swing_m(period_s: float, *, g: float = G) -> float:
    """Tether whose small swing takes a period: 0.9936 m for 2 s."""
    return g * (_positive(period_s, "period") / (2 * pi)) ** 2


def swing_s(length_m: float, amplitude_turns: float, *, g: float = G) -> float:
    """Period of a free swing of any amplitude: 4 sqrt(L/g) K(m), m = sin^2(A/2) (DLMF 22.19).

    Raises
    ------
    ValueError
        If the amplitude is not between 0 and half a turn.
    """
    if not 0 <= amplitude_turns < 0.5:
        raise ValueError(f"a swing is smaller than half a turn each way, got {amplitude_turns}")
    return small_swing_s(length_m, g=g) * _slowing(amplitude_turns)


def amplitude_for_slowing_turns(ratio: float) -> float:
    """Amplitude at which a swing takes ``ratio`` times as long as a small one; 2: 159.75 degrees.

    Raises
    ------
    ValueError
        If the ratio is below 1: no amplitude makes a swing quicker.
    """
    from scipy.optimize import brentq

    if ratio < 1:
        raise ValueError(f"a wider swing is never quicker: the ratio is at least 1, got {ratio}")
    if ratio == 1:
        return 0.0

    return float(brentq(lambda a: _slowing(a) - ratio, 0.0, 0.5 - 1e-12, xtol=1e-15, rtol=1e-14))


def _slowing(amplitude_turns: float) -> float:
    from scipy.special import ellipkm1  # here, because scipy takes long to import

    return float(2 / pi * ellipkm1(cos(pi * amplitude_turns) ** 2))


@dataclass(frozen=True, slots=True)
class SwingFit:
    """Whether a free swing keeps a wanted period, and how wide it must be for that."""

    small_swing_s: float
    wanted_s: float
    amplitude_turns: float | None
    """None if no swing up to level keeps it: the hand must drive it."""

    @property
    def is_free(self) -> bool:
        return self.amplitude_turns is not None

    @property
    def ratio(self) -> float:
        """Wanted over natural: below 1 the music is quicker than the tether."""
        return self.wanted_s / self.small_swing_s


def fit_swing(length_m: float, wanted_s: float, *, is_tether: bool = True) -> SwingFit:
    """The free swing that takes a wanted period, a full one there and back.

    A tether swings no higher than level; a rigid prop may.
    """
    natural = small_swing_s(length_m)
    ratio = _positive(wanted_s, "period") / natural
    widest = LEVEL if is_tether else 0.499
    fits = 1.0 <= ratio <= _slowing(widest)
    return SwingFit(natural, wanted_s, amplitude_for_slowing_turns(ratio) if fits else None)


# ------------------------------------------------------------------ level and leaning circles


def cone_s(length_m: float, lean_turns: float, *, g: float = G) -> float:
    """Period of a conical pendulum leaning out from straight down: 2 pi sqrt(L cos(lean)/g)."""
    _check_lean(lean_turns)
    return small_swing_s(length_m, g=g) * sqrt(cos(2 * pi * lean_turns))


def cone_pull_n(mass_kg: float, lean_turns: float, *, g: float = G) -> float:
    """Pull in the tether of a conical pendulum: m g / cos(lean)."""
    _check_lean(lean_turns)
    return mass_kg * g / cos(2 * pi * lean_turns)


def cone_lean_turns(length_m: float, turns_per_s: float, *, g: float = G) -> float | None:
    """How far an overhead or floor-plane circle leans out at a rate; None if too slow to lean.

    The faster, the flatter; it is never quite level. There is no cone for w^2 < g/L.
    """
    cosine = g / ((2 * pi * turns_per_s) ** 2 * _positive(length_m, "length"))
    return acos(cosine) / (2 * pi) if cosine <= 1 else None


def _check_lean(lean_turns: float) -> None:
    if not 0 <= lean_turns < LEVEL:
        raise ValueError(f"a cone leans out by less than a quarter turn, got {lean_turns}")


# ------------------------------------------------------------------ upright circles, hand still


@dataclass(frozen=True, slots=True)
class LoopSpeeds:
    """Least speeds of a free full circle in an upright plane, m/s."""

    top: float
    side: float
    bottom: float


def least_loop_speeds(length_m: float, *, is_tether: bool = True, g: float = G) -> LoopSpeeds:
    """v^2 at least gL, 3gL, 5gL at top, side, bottom on a tether; 0, 2gL, 4gL on a rigid prop."""
    top = 1 if is_tether else 0
    pace = g * _positive(length_m, "length")
    return LoopSpeeds(sqrt(top * pace), sqrt((top + 2) * pace), sqrt((top + 4) * pace))


def circle_pull_n(
    mass_kg: float, speed_m_s: float, length_m: float, from_bottom_turns: float, *, g: float = G
) -> float:
    """Pull in a tether on a still hand: m (v^2/L + g cos(angle from the bottom))."""
    toward = speed_m_s**2 / _positive(length_m, "length") + g * cos(2 * pi * from_bottom_turns)
    return mass_kg * toward


def slowest_even_turning_hz(length_m: float, *, g: float = G) -> float:
    """Slowest even rate that stays taut at the top with the hand still: sqrt(g/L)/(2 pi)."""
    return 1 / small_swing_s(length_m, g=g)


def slowest_free_loop_s(length_m: float, *, g: float = G) -> float:
    """Time of the slowest full turn that is let run free: 4 K(0.8)/sqrt(5) sqrt(L/g).

    Energy is kept and the tether is just taut at the top. Even turning can go a little slower,
    because it is helped; the truth of a practised hand lies between the two.
    """
    from scipy.special import ellipkm1

    return float(4 * ellipkm1(0.2) / sqrt(5)) * sqrt(_positive(length_m, "length") / g)


def kinetic_energy_j(mass_kg: float, speed_m_s: float) -> float:
    """m v^2 / 2: a figure to respect, not a verdict."""
    return mass_kg * speed_m_s**2 / 2


def _positive(value: float, name: str) -> float:
    if not 0 < value < float("inf"):
        raise ValueError(f"a {name} must be positive, got {value}")
    return value
