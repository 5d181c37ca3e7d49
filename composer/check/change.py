"""What both hands and the body have to change at a boundary, held against limits."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple, TypeAlias

from composer.check.findings import Level
from composer.check.hand_change import Figure, HandChange, TimeAllowed, hand_change
from composer.check.limits import Limit
from composer.check.moment import Moment, Vector, dot, length, minus
from composer.motion.hands import Hand

Kind: TypeAlias = Literal["smooth", "noticeable", "abrupt"]


class Judged(NamedTuple):
    """A figure held against its limit; ``hand`` is None where both or the body are meant."""

    limit: Limit
    measured: float
    hand: Hand | None
    level: Level | None
    """None while it stays inside the limit."""


@dataclass(frozen=True)
class Change:
    """Both hands and the body across a boundary, held against limits."""

    time: TimeAllowed
    hands: Mapping[Hand, HandChange]
    body_turns: float
    """How far the body turns, 0 to 1/2."""
    judged: tuple[Judged, ...]
    """Every figure that is not 0, within its limit or not."""

    @property
    def level(self) -> Level | None:
        """The gravest level of any figure; None where everything stays inside the limits."""
        return max((one.level for one in self.judged if one.level), default=None)

    @property
    def kind(self) -> Kind:
        match self.level:
            case None:
                return "smooth"
            case Level.NOTE:
                return "noticeable"
            case _:
                return "abrupt"

    @property
    def cost(self) -> float:
        """For ranking: the sum of the squared strains of all figures; 0 is unbroken."""
        return sum(one.limit.strain(one.measured) ** 2 for one in self.judged)

    @property
    def hardest(self) -> Judged | None:
        """The figure that decides, hardest against its limit; None where nothing changes."""
        return max(
            self.judged,
            key=lambda one: (one.level or 0, one.limit.strain(one.measured)),
            default=None,
        )


FACING_FRONT: Vector = (1.0, 0.0, 0.0)


def change(
    moments: Mapping[Hand, tuple[Moment, Moment]],
    time: TimeAllowed,
    facing_turns: float,
    limits: Mapping[str, Limit],
    *,
    across: tuple[Vector, Vector] = (FACING_FRONT, FACING_FRONT),
) -> Change:
    """Judge the states left and entered, before and after, of one or both hands.

    Parameters
    ----------
    facing_turns : float
        How far the body turns in between; the shorter way is taken.
    across : (vector, vector)
        The performer's right in the room, before and after.
    """
    hands = {hand: hand_change(*pair, time) for hand, pair in moments.items()}
    body_turns = abs(facing_turns - round(facing_turns))
    figures: list[tuple[Hand | None, Figure]] = [
        (hand, figure) for hand, one in hands.items() for figure in one.figures()
    ]
    if body_turns:
        figures.append((None, Figure("body turn", body_turns / time.beats)))
    if len(moments) == 2:
        both = _both_hands(moments, across, limits["hands apart"])
        figures += [(None, figure) for figure in both]
    judged = tuple(_judge(limits[name], measured, hand) for hand, (name, measured) in figures)
    return Change(time, hands, body_turns, judged)


def _judge(limit: Limit, measured: float, hand: Hand | None) -> Judged:
    return Judged(limit, measured, hand, limit.level(measured))


def _both_hands(
    moments: Mapping[Hand, tuple[Moment, Moment]], across: tuple[Vector, Vector], apart: Limit
) -> Iterator[Figure]:
    """What only both hands together show: that arms come to cross, that hands meet on the way."""
    right, left = moments[Hand.RIGHT], moments[Hand.LEFT]
    between = [minus(one.hand_m, other.hand_m) for one, other in zip(right, left, strict=True)]
    sides = [dot(way, right_hand) for way, right_hand in zip(between, across, strict=True)]
    if (crossed := min(sides[0], -sides[1])) > 0:
        yield Figure("arms cross", crossed)
    ends = min(length(between[0]), length(between[1]))
    nearest = _nearest_m(between[0], between[1])
    if nearest < ends - 1e-6 and not apart.level(ends):
        yield Figure("hands apart", nearest)


def _nearest_m(before: Vector, after: Vector) -> float:
    """Least distance of two hands that reach straight and alike, from their two differences."""
    way = minus(after, before)
    span = dot(way, way)
    if span == 0:
        return length(before)
    share = min(1.0, max(0.0, -dot(before, way) / span))
    return length(
        (before[0] + share * way[0], before[1] + share * way[1], before[2] + share * way[2])
    )
