"""The curve a head draws about an evenly circling hand: its closed-form measures.

Head z(t) = R e^(it) + L e^(int), t the hand's angle: an epi- or hypotrochoid. n = p/q in lowest
terms is the head's turns for each hand turn, in the hand's own direction, counted in the room; the
curve closes after q hand turns. Elliptic integrals take the parameter m = k^2, as scipy does.

References
----------
J. D. Lawrence, A Catalog of Special Plane Curves, 1972. E. W. Weisstein, MathWorld: Epitrochoid,
Hypotrochoid, Rose Curve, Limacon. Facts without a name beside them follow from the definition.
"""

import cmath
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from math import isclose, pi

from composer.motion.pattern import Arc, Hold, Pattern, Segment, Spin

SAME_M = 1e-9
"""Lengths closer than this are one length: a nanometre."""


class Outline(StrEnum):
    """What the head does where it is nearest to or furthest from the middle."""

    CUSP = "cusp"
    """It stops for an instant and comes back."""
    LOOP = "loop"
    WAVE = "wave"
    """It never turns back on itself."""


class Limacon(StrEnum):
    """Shapes of the one-petal in-spin, n = 2 (MathWorld, Limacon)."""

    INNER_LOOP = "inner loop"
    CARDIOID = "cardioid"
    DIMPLE = "dimple"
    CONVEX = "convex"


@dataclass(frozen=True, slots=True)
class Trochoid:
    """The shape of a pattern whose hand and head both turn evenly; a held hand has radius 0.

    ``direction`` is the hand's (a held hand's: the head's), ``closures`` how often the curve
    closes in one cycle of the pattern.
    """

    ratio: Fraction
    radius_m: float
    tether_m: float
    hand_start_turns: Fraction
    tether_start_turns: Fraction
    direction: int = 1
    centre_m: complex = 0j
    closures: int = 1

    # ------------------------------------------------------------------ counting, exact

    @property
    def hand_turns(self) -> int:
        """Turns of the hand in the pattern's cycle, without their sign."""
        return self.ratio.denominator * self.closures

    @property
    def closing_turns(self) -> int:
        """Hand turns until the curve closes: q."""
        return closing_turns(self.ratio)

    @property
    def downbeats(self) -> int:
        """Times the tether passes straight down until the curve closes: |p|."""
        return abs(self.ratio.numerator)

    @property
    def petals(self) -> int:
        """Outermost points in one closure: |p - q|; 0 where the distance never changes."""
        return petals(self.ratio) if self.radius_m > SAME_M else 0

    @property
    def tip_phases(self) -> tuple[Fraction, ...]:
        """Shares of one closure at which tether and hand point one way, rising."""
        count = self.petals
        if not count:
            return ()
        behind = self.direction * (self.hand_start_turns - self.tether_start_turns)
        first = behind / (self.ratio - 1)  # hand turns, up to whole petals
        step = 1 / abs(self.ratio - 1)
        closing = self.ratio.denominator
        return tuple(sorted((first + k * step) % closing / closing for k in range(count)))

    @property
    def tip_directions(self) -> tuple[Fraction, ...]:
        """Directions of the petal tips in turns, in [0, 1), in the order they are drawn."""
        closing = self.direction * self.ratio.denominator
        return tuple((self.hand_start_turns + closing * phase) % 1 for phase in self.tip_phases)

    @property
    def tip_order(self) -> tuple[int, ...]:
        """The tips as they are drawn, numbered around from the first: 0, 2, 4, 1, 3 for n = -3/2.

        Numbered in the hand's direction (H. S. M. Coxeter, Introduction to Geometry, 1969, 2.8).
        """
        directions = self.tip_directions
        if not directions:
            return ()
        around = [self.direction * (turns - directions[0]) % 1 for turns in directions]
        rank = {turns: index for index, turns in enumerate(sorted(around))}
        return tuple(rank[turns] for turns in around)

    @property
    def star_step(self) -> int:
        """k of the star {petals/k}: how many tips on the next one drawn lies, the shorter way."""
        if self.petals < 2:
            return 0
        step = self.ratio.denominator % self.petals
        return min(step, self.petals - step) if step else 0

    @property
    def symmetry_order(self) -> int:
        """The curve looks the same after 1/order turn; 0 for a circle about its middle."""
        return self.petals

    # ------------------------------------------------------------------ sizes, closed form

    @property
    def outer_m(self) -> float:
        """Furthest the head comes from the middle."""
        return self._furthest(1)

    @property
    def inner_m(self) -> float:
        return self._furthest(-1)

    def _furthest(self, sign: int) -> float:
        if self.ratio == 1:  # tether and hand keep one angle between them
            return abs(complex(self.radius_m, 0) + self.tether_m * self._offset())
        return abs(self.radius_m + sign * self.tether_m)

    def _offset(self) -> complex:
        return cmath.exp(2j * pi * float(self.tether_start_turns - self.hand_start_turns))

    @property
    def path_length_m(self) -> float:
        """Way of the head in one closure: 4 q (R + |n| L) E(m), m = 4 R |n| L / (R + |n| L)^2.

        The perimeter of the ellipse with half-axes R + |n| L and |R - |n| L|, q times.
        """
        from scipy.special import ellipe  # scipy takes long to import and shapes are wanted early

        if self.ratio == 1:
            return 2 * pi * self.outer_m
        lead = abs(float(self.ratio)) * self.tether_m
        total = self.radius_m + lead

        return float(4 * self.closing_turns * total * ellipe(4 * self.radius_m * lead / total**2))

    @property
    def signed_area_m2(self) -> float:
        """Area swept round in one closure: q pi (R^2 + n L^2), positive counter-clockwise."""
        if self.ratio == 1:
            return self.direction * pi * self.outer_m**2
        n = float(self.ratio)
        swept = self.closing_turns * pi * (self.radius_m**2 + n * self.tether_m**2)
        return self.direction * swept

    def head_speed_range(self, hand_turns_per_s: float) -> tuple[float, float]:
        """Slowest and fastest of the head in m/s: w |R -+ |n| L|."""
        omega = 2 * pi * abs(hand_turns_per_s)
        if self.ratio == 1:
            return omega * self.outer_m, omega * self.outer_m
        lead = abs(float(self.ratio)) * self.tether_m
        return omega * abs(self.radius_m - lead), omega * (self.radius_m + lead)

    # ------------------------------------------------------------------ shape words

    @property
    def outline(self) -> Outline | None:
        """Cusp, loop or wave: by R against |n| L. None for a circle, which has no petals.

        A head-led curve that turns once only (|p| = 1, an ellipse for one) has nothing to loop
        round: seen with hand and head exchanged it is a wave.
        """
        if not self.petals:
            return None
        lead = abs(float(self.ratio)) * self.tether_m
        if isclose(self.radius_m, lead, rel_tol=0, abs_tol=SAME_M):
            return Outline.CUSP
        return Outline.LOOP if lead > self.radius_m and self.downbeats > 1 else Outline.WAVE

    @property
    def passes_through_centre(self) -> bool:
        """Whether the head runs through the middle of the hand's circle: R = L (a rose)."""
        return self.inner_m <= SAME_M

    @property
    def is_straight_sided(self) -> bool:
        """Whether the curve is flat at its inner points, where curvature is zero: R = n^2 L."""
        flat = float(self.ratio) ** 2 * self.tether_m
        return self.petals > 1 and isclose(self.radius_m, flat, rel_tol=0, abs_tol=SAME_M)

    @property
    def winding(self) -> int | None:
        """Turns of the head about the middle in one closure, counter-clockwise positive.

        q if the hand leads (R > L), p if the head does (R < L), None through the middle.
        """
        if self.ratio == 1:
            return None if self.outer_m <= SAME_M else self.direction
        if isclose(self.radius_m, self.tether_m, rel_tol=0, abs_tol=SAME_M):
            return None
        hand_led = self.radius_m > self.tether_m
        return self.direction * (self.ratio.denominator if hand_led else self.ratio.numerator)

    @property
    def turning_number(self) -> int | None:
        """Turns of the head's heading in one closure: p if |n| L > R, q if less, None at cusps."""
        outline = self.outline
        if outline is None:
            return self.winding
        if outline is Outline.CUSP:
            return None
        head_led = abs(float(self.ratio)) * self.tether_m > self.radius_m
        return self.direction * (self.ratio.numerator if head_led else self.ratio.denominator)

    @property
    def limacon(self) -> Limacon | None:
        """Which limacon an n = 2 flower is; None for other ratios."""
        if self.ratio != 2 or not self.petals:
            return None
        radius, tether = self.radius_m, self.tether_m
        if isclose(radius, 2 * tether, rel_tol=0, abs_tol=SAME_M):
            return Limacon.CARDIOID
        if radius < 2 * tether:
            return Limacon.INNER_LOOP
        convex = radius > 4 * tether or isclose(radius, 4 * tether, rel_tol=0, abs_tol=SAME_M)
        return Limacon.CONVEX if convex else Limacon.DIMPLE

    @property
    def rose_ratio(self) -> Fraction | None:
        """k of the rose r = a cos(k theta), a = 2R; None unless R = L (MathWorld, Rose Curve)."""
        equal = isclose(self.radius_m, self.tether_m, rel_tol=0, abs_tol=SAME_M)
        if not equal or self.ratio in (1, -1):
            return None
        return abs((self.ratio - 1) / (self.ratio + 1))


def closing_turns(ratio: Fraction) -> int:
    """Hand turns after which a head turning p/q times for each hand turn is back: q."""
    return ratio.denominator


def petals(ratio: Fraction) -> int:
    """Outermost points in one closure: turns of the head against the hand, |p - q|."""
    return abs(ratio.numerator - ratio.denominator)


# ------------------------------------------------------------------ from and to patterns


def trochoid_of(pattern: Pattern) -> Trochoid | None:
    """The shape of a pattern in which hand and head turn evenly all through; otherwise None."""
    if not pattern.is_one_rule:
        return None
    first = pattern.segments[0]
    head = first.head
    if not isinstance(head, Spin):
        return None
    head_turns = pattern.head_turns
    match first.hand:
        case Hold(at_m=centre):
            return _static(pattern, centre, head.start_turns)
        case Arc(centre_m=centre, radius_m=radius) if radius <= SAME_M:
            return _static(pattern, centre, head.start_turns)
        case Arc(centre_m=centre, radius_m=radius, start_turns=start):
            hand_turns = pattern.hand_turns
            if hand_turns == 0 or hand_turns.denominator != 1 or head_turns.denominator != 1:
                return None
            ratio = head_turns / hand_turns
            return Trochoid(
                ratio=ratio,
                radius_m=radius,
                tether_m=pattern.tether_m,
                hand_start_turns=start,
                tether_start_turns=head.start_turns,
                direction=1 if hand_turns > 0 else -1,
                centre_m=centre,
                closures=abs(int(hand_turns)) // ratio.denominator,
            )
        case _:
            return None


def _static(pattern: Pattern, centre_m: complex, start_turns: Fraction) -> Trochoid | None:
    turns = pattern.head_turns
    if turns == 0 or turns.denominator != 1:
        return None
    return Trochoid(
        ratio=Fraction(1),
        radius_m=0.0,
        tether_m=pattern.tether_m,
        hand_start_turns=start_turns,
        tether_start_turns=start_turns,
        direction=1 if turns > 0 else -1,
        centre_m=centre_m,
        closures=abs(int(turns)),
    )


def trochoid_pattern(shape: Trochoid) -> Pattern:
    """One closure of a shape as a pattern, begun at its start angles."""
    hand = Fraction(shape.direction * shape.ratio.denominator)
    head = Fraction(shape.direction * shape.ratio.numerator)
    path = (
        Arc(shape.centre_m, shape.radius_m, shape.hand_start_turns, hand)
        if shape.radius_m > SAME_M
        else Hold(shape.centre_m)
    )
    segment = Segment(Fraction(1), path, Spin(shape.tether_start_turns, head))
    return Pattern((segment,), tether_m=shape.tether_m)
