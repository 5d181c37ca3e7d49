"""A move seen from the front: the room laid flat for sheets, pages and moving pictures.

The picture is a cabinet projection: the wall plane keeps its true shape, and what lies away from
the viewer is set off to one side at half its depth, so wheel and floor planes read as depth.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike, NDArray

from composer.export.choice import View
from composer.motion.body import Body
from composer.motion.hands import Hand
from composer.moves.perform import Performance

Floats = NDArray[np.float64]

DEPTH_TURNS = 1 / 12
"""Direction in which depth is drawn, from the horizontal."""
DEPTH_SHARE = 0.5
"""Cabinet projection: depth at half its length."""
SAMPLES_PER_DOWNBEAT = 48
FEWEST_SAMPLES, MOST_SAMPLES = 96, 960


@dataclass(frozen=True)
class Trail:
    """One hand and its head through one common cycle, flat: (across, up) in metres."""

    hand: Hand
    hand_m: Floats
    """shape=(n + 1, 2); the last place is the first again."""
    head_m: Floats


def flat_m(places_m: ArrayLike, view: View) -> Floats:
    """Room points, shape=(n, 3), as the viewer sees them, shape=(n, 2): across to her right, up.

    The performer's view looks from behind her to the audience; the audience's is its mirror image
    across, and what is near to one is far from the other.
    """
    x, y, z = np.moveaxis(np.asarray(places_m, dtype=float), -1, 0)
    if view is View.AUDIENCE:
        x, y = -x, -y
    angle = 2 * np.pi * DEPTH_TURNS
    across = x + DEPTH_SHARE * np.cos(angle) * y
    return np.stack([across, z + DEPTH_SHARE * np.sin(angle) * y], axis=-1)


def trails(
    performance: Performance, view: View, facing_turns: Fraction = Fraction(0)
) -> tuple[Trail, ...]:
    """Each hand's trail over one common cycle, begun where the placement begins.

    She sees her own planes turn with her, so her view leaves the facing out.
    """
    facing = facing_turns if view is View.AUDIENCE else Fraction(0)
    passed = cycle_shares(performance)
    found = []
    for hand in (Hand.RIGHT, Hand.LEFT):
        if hand in performance.tracks:
            hand_m, head_m = performance.room_places_m(hand, passed, facing)
            found.append(Trail(hand, flat_m(hand_m, view), flat_m(head_m, view)))
    return tuple(found)


def cycle_shares(performance: Performance) -> Floats:
    """Shares of the common cycle close enough for a smooth drawing, both ends included."""
    count = SAMPLES_PER_DOWNBEAT * performance.downbeats_per_cycle
    return np.linspace(0, 1, min(max(count, FEWEST_SAMPLES), MOST_SAMPLES) + 1)


@dataclass(frozen=True)
class Figure:
    """The fixed points of a stick performer, flat, in metres: what arms are drawn from."""

    shoulders: dict[Hand, Floats]
    neck: Floats
    head_m: Floats
    head_radius_m: float
    hips: Floats
    feet: dict[Hand, Floats]


HEAD_TO_STATURE = 0.13
HIP_TO_STATURE = 0.53
FOOT_TO_STATURE = 0.07
"""Ours, for the drawing only."""


def figure(
    body: Body, view: View, facing_turns: Fraction = Fraction(0), *, forward_m: float = 0.0
) -> Figure:
    """A stick performer of these measures, feet on the floor at the origin.

    ``forward_m`` sets her forward, into the plane of a move, so that the picture of that move
    shows where on her body it is centred.
    """
    turn = 2 * np.pi * float(facing_turns if view is View.AUDIENCE else 0)

    def at(across_m: float, up_m: float) -> Floats:
        place = complex(across_m, forward_m) * np.exp(1j * turn)
        return flat_m([place.real, place.imag, up_m], view)

    half, tall = body.shoulder_breadth_m / 2, body.stature_m
    radius = HEAD_TO_STATURE * tall / 2
    return Figure(
        shoulders={
            Hand.RIGHT: at(half, body.shoulder_height_m),
            Hand.LEFT: at(-half, body.shoulder_height_m),
        },
        neck=at(0.0, body.shoulder_height_m),
        head_m=at(0.0, tall - radius),
        head_radius_m=radius,
        hips=at(0.0, HIP_TO_STATURE * tall),
        feet={
            Hand.RIGHT: at(FOOT_TO_STATURE * tall, 0.0),
            Hand.LEFT: at(-FOOT_TO_STATURE * tall, 0.0),
        },
    )


def extent_m(drawn: Iterable[Trail], body: Body) -> float:
    """How far from mid-chest, across or up, any of these trails comes."""
    middle = np.array([0.0, body.shoulder_height_m])
    return max((float(np.abs(trail.head_m - middle).max()) for trail in drawn), default=0.0)
