"""The performer's figure to scale, from the front, the side or above, reaching for her props."""

import numpy as np

from composer.export.picture import ARM_INK, BODY_INK, Dot, Shape, Stroke
from composer.export.picture_lens import Lens
from composer.motion.body import Body
from composer.motion.hands import Hand
from composer.motion.kinematics import Floats
from composer.motion.plane import Plane
from composer.moves.perform import Performance

# Shares of stature: hip height 0.530, knee 0.285, head 0.130 from R. Drillis and R. Contini, Body
# Segment Parameters, 1966, as printed in D. A. Winter, Biomechanics (from memory); breadths ours.
HIP_HEIGHT, KNEE_HEIGHT, HEAD_HEIGHT = 0.530, 0.285, 0.130
HIP_BREADTH, STANCE_BREADTH, NECK_BREADTH = 0.17, 0.24, 0.06
LEG_BREADTH, ARM_BREADTH = 0.060, 0.042
UPPER_ARM = 0.186 / (0.186 + 0.146 + 0.054)
"""Upper arm as a share of shoulder to grip: upper arm 0.186, forearm 0.146, half a hand 0.054."""


def body_shapes(performance: Performance, body: Body, lens: Lens) -> list[Shape]:
    """Legs, trunk and head, then an arm to each hand where the move begins."""
    tall = body.stature_m
    legs = [
        Stroke(lens.page(joints), BODY_INK, LEG_BREADTH * tall * lens.scale)
        for joints in _legs(body)
    ]
    (x, y), *_ = lens.page(np.array([[0, 0, tall * (1 - HEAD_HEIGHT / 2)]]))
    ink = ARM_INK if lens.plane is Plane.FLOOR else BODY_INK
    head = Dot(float(x), float(y), HEAD_HEIGHT / 2 * tall * lens.scale, ink)
    arms = [
        Stroke(lens.page(joints), ARM_INK, ARM_BREADTH * tall * lens.scale)
        for joints in _arms(performance, body)
    ]
    return [*legs, _trunk(body, lens), head, *arms]


def skeleton(performance: Performance, body: Body) -> list[Floats]:
    """The figure in thin lines through room points, each shape=(n, 3)."""
    tall, height = body.stature_m, body.shoulder_height_m
    half = body.shoulder_breadth_m / 2
    turns = np.linspace(0, 2 * np.pi, 25)
    radius = HEAD_HEIGHT / 2 * tall
    round_head = np.stack(
        [
            radius * np.cos(turns),
            0 * turns,
            tall - radius + radius * np.sin(turns),
        ],
        axis=1,
    )
    shoulders = np.array([[-half, 0, height], [half, 0, height]])
    spine = np.array([[0, 0, height], [0, 0, HIP_HEIGHT * tall]])
    return [round_head, shoulders, spine, *_legs(body), *_arms(performance, body)]


def _arms(performance: Performance, body: Body) -> list[Floats]:
    grips = {hand: performance.room_places_m(hand, [0.0])[0][0] for hand in performance.tracks}
    return [np.array(arm_m(body, hand, grip)) for hand, grip in grips.items()]


def arm_m(body: Body, hand: Hand, grip_m: Floats) -> tuple[Floats, Floats, Floats]:
    """Shoulder, elbow and grip in the room; the elbow hangs down where the arm is bent.

    A grip beyond the reach gets a straight arm that is too long, as it would have to be.
    """
    shoulder = np.array([body.shoulder_m(hand.value).real, 0.0, body.shoulder_height_m])
    way = grip_m - shoulder
    apart = float(np.linalg.norm(way))
    upper, fore = UPPER_ARM * body.arm_m, (1 - UPPER_ARM) * body.arm_m
    if apart >= upper + fore or apart < 1e-6:
        return shoulder, shoulder + way * UPPER_ARM, grip_m
    along = (apart**2 + upper**2 - fore**2) / (2 * apart)
    aside = max(0.0, upper**2 - along**2) ** 0.5
    direction = way / apart
    outwards = np.array([0.5 if hand is Hand.RIGHT else -0.5, 0.0, -1.0])
    bend = outwards - (outwards @ direction) * direction
    size = float(np.linalg.norm(bend))
    bend = bend / size if size > 1e-6 else np.array([0.0, 1.0, 0.0])
    return shoulder, shoulder + along * direction + aside * bend, grip_m


def _legs(body: Body) -> list[Floats]:
    return [
        body.stature_m
        * np.array(
            [
                [sense * HIP_BREADTH / 2 * 0.6, 0, HIP_HEIGHT],
                [sense * (HIP_BREADTH + STANCE_BREADTH) / 4, 0.01, KNEE_HEIGHT],
                [sense * STANCE_BREADTH / 2, 0, LEG_BREADTH / 2],
            ]
        )
        for sense in (1, -1)
    ]


def _trunk(body: Body, lens: Lens) -> Stroke:
    """Outline from the neck over shoulders to hips, about 0.14 of stature deep."""
    tall, height = body.stature_m, body.shoulder_height_m
    half, hip, neck = body.shoulder_breadth_m / 2, HIP_BREADTH * tall / 2, NECK_BREADTH * tall / 2
    front = [(neck, height + 0.05 * tall), (half, height), (hip, HIP_HEIGHT * tall)]
    depth = 0.055 * tall
    corners = [
        (sense * x, way, z)
        for sense, way, points in (
            (1, depth, front),
            (-1, depth, front[::-1]),
            (-1, -depth, front),
            (1, -depth, front[::-1]),
        )
        for x, z in points
    ]
    outline = _hull(lens.page(np.array(corners)))
    return Stroke(outline, BODY_INK, 0.02 * tall * lens.scale, closed=True, fill=BODY_INK)


def _hull(points: Floats) -> Floats:
    """Convex hull, by A. M. Andrew's monotone chain (Information Processing Letters 9, 1979)."""
    ordered = sorted({(float(x), float(y)) for x, y in points})

    def chain(run: list[tuple[float, float]]) -> list[tuple[float, float]]:
        kept: list[tuple[float, float]] = []
        for point in run:
            while len(kept) > 1 and _turn(kept[-2], kept[-1], point) <= 0:
                kept.pop()
            kept.append(point)
        return kept[:-1]

    return np.array(chain(ordered) + chain(ordered[::-1]))


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
