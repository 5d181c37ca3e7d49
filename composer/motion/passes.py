"""When a turning or swinging tether points in a direction: exact where the instant is rational."""

from fractions import Fraction
from math import asin, sin

from composer.motion.segment import TAU, HeadMotion, Spin, Swing


def passes(head: HeadMotion, direction: Fraction) -> list[tuple[Fraction, int]]:
    """Shares in [0, 1) of the segment at which the moving tether points in a direction; sense."""
    if isinstance(head, Spin):
        sense = 1 if head.turns > 0 else -1
        return [(passed, sense) for passed in _spin_passes(head, direction)]
    return _swing_passes(head, direction)


def is_at_rest(head: HeadMotion) -> bool:
    """Whether the tether keeps one direction all through."""
    if isinstance(head, Spin):
        return head.turns == 0
    return head.amplitude_turns == 0 or head.cycles == 0


def _spin_passes(head: Spin, direction: Fraction) -> list[Fraction]:
    if is_at_rest(head):
        return []
    ahead = direction - head.start_turns if head.turns > 0 else head.start_turns - direction
    first, speed = ahead % 1, abs(head.turns)
    return [(first + k) / speed for k in range(max(0, -(-(speed - first) // 1)))]


def _swing_passes(head: Swing, direction: Fraction) -> list[tuple[Fraction, int]]:
    if is_at_rest(head):
        return []
    reach = abs(head.amplitude_turns)
    offset = (direction - head.about_turns + Fraction(1, 2)) % 1 - Fraction(1, 2)
    levels = [
        offset + k for k in range(-int(reach) - 1, int(reach) + 2) if abs(offset + k) <= reach
    ]
    rising = 1 if (head.amplitude_turns > 0) == (head.cycles > 0) else -1
    passes: dict[Fraction, int] = {}
    for level in levels:
        rise = _arcsine_cycles(level / head.amplitude_turns)
        turning = abs(level) == reach
        for angle, sense in ((rise, rising), (Fraction(1, 2) - rise, -rising)):
            for passed in _cycle_passes(angle, head.start, head.cycles):
                passes[passed] = 0 if turning else sense
    return sorted(passes.items())


def _cycle_passes(angle: Fraction, start: Fraction, cycles: Fraction) -> list[Fraction]:
    """Shares in [0, 1) at which start + cycles * share equals the angle, whole cycles apart."""
    low, high = min(start, start + cycles), max(start, start + cycles)
    first = angle + -(-(low - angle) // 1)
    passes = []
    while first <= high:
        share = (first - start) / cycles
        if 0 <= share < 1:
            passes.append(share)
        first += 1
    return passes


_EXACT_ARCSINES = {
    Fraction(0): Fraction(0),
    Fraction(1, 2): Fraction(1, 12),
    Fraction(-1, 2): Fraction(-1, 12),
    Fraction(1): Fraction(1, 4),
    Fraction(-1): Fraction(-1, 4),
}


def _arcsine_cycles(sine: Fraction) -> Fraction:
    """Angle in cycles, in [-1/4, 1/4]; exact where it is rational (Niven's theorem)."""
    exact = _EXACT_ARCSINES.get(sine)
    if exact is not None:
        return exact
    return Fraction(asin(float(sine)) / TAU).limit_denominator(10**12)


# --------------------------------------------------------------------------- in motion


def tether_at(head: HeadMotion, passed: Fraction) -> tuple[Fraction, int]:
    """Direction of the tether after an exact share, and the sense in which it turns.

    Exact in a spin, and in a swing at its middle, half way out (sine 1/2) and ends; elsewhere to
    1e-12 of a turn.
    """
    if isinstance(head, Spin):
        return head.start_turns + head.turns * passed, _sign(head.turns)
    angle = (head.start + head.cycles * passed) % 1
    sine = _EXACT_SINES.get(angle)
    if sine is None:
        sine = Fraction(sin(TAU * float(angle))).limit_denominator(10**12)
    rising = 0 if angle in _TURNING_POINTS else 1 if angle < _TURNING_POINTS[0] else -1
    if angle > _TURNING_POINTS[1]:
        rising = 1
    return (
        head.about_turns + head.amplitude_turns * sine,
        rising * _sign(head.amplitude_turns) * _sign(head.cycles),
    )


_TURNING_POINTS = (Fraction(1, 4), Fraction(3, 4))
_EXACT_SINES = {
    Fraction(k, 12): Fraction(sine, 2)
    for k, sine in ((0, 0), (1, 1), (3, 2), (5, 1), (6, 0), (7, -1), (9, -2), (11, -1))
}


def _sign(value: Fraction) -> int:
    return (value > 0) - (value < 0)
