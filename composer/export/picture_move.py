"""A move as a long exposure: light trails of both heads square to the plane of the move.

The right head draws a whole line, the left one the dots of a light that flashes at even times, so
the two differ without colour, and dots that stand far apart say fast. A line is brighter where the
head is slow, as on film.
"""

from fractions import Fraction

import numpy as np

from composer.export.picture import (
    HAND_INK,
    LEFT_INK,
    MARK_INK,
    MEETING_INK,
    NIGHT,
    RIGHT_INK,
    Anchor,
    Dot,
    Ink,
    Shape,
    Stroke,
    Words,
)
from composer.export.picture_body import body_shapes
from composer.export.picture_lens import Lens
from composer.motion.approach import meetings
from composer.motion.body import Body
from composer.motion.hands import Hand
from composer.motion.kinematics import Floats
from composer.motion.plane import Plane
from composer.moves.measure_words import count_words
from composer.moves.perform import Performance

SAMPLES_PER_TURN = 180
LIGHTS_PER_BEAT = 32
"""Flashes of the left light for each beat at one downbeat a beat."""
INKS: dict[Hand, Ink] = {Hand.RIGHT: RIGHT_INK, Hand.LEFT: LEFT_INK}
BRIGHTNESS_STEPS = 6
DIMMEST = 0.35
FAR_SIDE = 0.55
"""Share of the light that is left when a head is on the far side of the body."""


def move_shapes(
    performance: Performance, body: Body, lens: Lens, *, numbered: bool, light: float = 1.0
) -> list[Shape]:
    """Body, hands' paths, trails and marks, in drawing order. ``light`` scales the line widths."""
    shapes: list[Shape] = body_shapes(performance, body, lens)
    hands = sorted(performance.tracks, key=lambda hand: hand is Hand.LEFT)  # dots over the line
    for hand in hands:
        shapes += _hand_path(performance, hand, lens, light)
        shapes += _trail(performance, hand, lens, light)
    for hand in hands:
        shapes += _start(performance, hand, lens, light)
        shapes += _arrows(performance, hand, lens, light)
        shapes += _downbeats(performance, hand, lens, light, numbered=numbered)
    shapes += _meetings(performance, lens, light)
    return shapes


# ------------------------------------------------------------------ light


def _shares(performance: Performance) -> Floats:
    turns = max(1.0, float(performance.cycle_length_beats))
    return np.linspace(0, 1, int(SAMPLES_PER_TURN * turns) + 1)


def _trail(performance: Performance, hand: Hand, lens: Lens, light: float) -> list[Shape]:
    passed = _shares(performance)
    _, head = performance.room_places_m(hand, passed)
    points, seen = lens.page(head), _seen(head, lens)
    ink = INKS[hand]
    shapes: list[Shape] = [Stroke(points, ink, 15 * light, 0.55, glow=True)]
    brightness = _exposure(points) * seen
    if hand is Hand.LEFT:
        shapes.append(Stroke(points, ink, 0.8 * light, 0.4))
        count = max(12, round(LIGHTS_PER_BEAT * float(performance.cycle_length_beats)))
        which = np.round(np.linspace(0, len(passed) - 1, count + 1)).astype(int)[:-1]
        for index in which:
            x, y = points[index]
            shapes.append(
                Dot(
                    float(x), float(y), 2.7 * light, ink, max(0.75 * seen[index], brightness[index])
                )
            )
        return shapes
    levels = np.clip(np.ceil(brightness * BRIGHTNESS_STEPS), 1, BRIGHTNESS_STEPS).astype(int)
    edges = np.flatnonzero(np.diff(levels[:-1])) + 1
    for part in np.split(np.arange(len(points) - 1), edges):
        run = points[part[0] : part[-1] + 2]
        shapes.append(Stroke(run, ink, 2.8 * light, float(levels[part[0]]) / BRIGHTNESS_STEPS))
    return shapes


def _exposure(points: Floats) -> Floats:
    """Brightness along a trail, from DIMMEST where fastest to 1 where slowest, shape=(n,)."""
    steps = np.linalg.norm(np.gradient(points, axis=0), axis=1)
    span = float(steps.max() - steps.min())
    if span < 1e-3 * float(steps.max() or 1.0):
        return np.ones(len(points))
    return np.asarray(1 - (1 - DIMMEST) * (steps - steps.min()) / span)


def _seen(head_m: Floats, lens: Lens) -> Floats:
    """1 where a head is on the viewer's side of the body, FAR_SIDE where it is beyond; shape=(n,).

    In the wall plane beyond means behind her back, whoever looks; from above nothing is hidden.
    """
    match lens.plane:
        case Plane.WHEEL:
            return np.where(lens.nearness(head_m) < -0.02, FAR_SIDE, 1.0)
        case Plane.WALL:
            return np.where(head_m[:, 1] < -0.02, FAR_SIDE, 1.0)
        case Plane.FLOOR:
            return np.ones(len(head_m))


def _hand_path(performance: Performance, hand: Hand, lens: Lens, light: float) -> list[Shape]:
    places, _ = performance.room_places_m(hand, _shares(performance))
    points = lens.page(places)
    if float(np.ptp(points, axis=0).max()) < 1.0:
        return []
    return [Stroke(points, HAND_INK, 1.2 * light, 0.75 if hand is Hand.RIGHT else 0.5)]


# ------------------------------------------------------------------ marks


def _start(performance: Performance, hand: Hand, lens: Lens, light: float) -> list[Shape]:
    """Hand, tether and head at the instant the move begins."""
    places, heads = performance.room_places_m(hand, [0.0])
    points = lens.page(np.concatenate([places, heads]))
    (hand_x, hand_y), (head_x, head_y) = points
    head_px = max(3.0 * light, performance.tracks[hand].pattern.tether_m * lens.scale * 0.045)
    shapes: list[Shape] = [
        Stroke(points, INKS[hand], 1.4 * light, 0.85),
        Dot(float(hand_x), float(hand_y), 4.2 * light, HAND_INK),
    ]
    if hand is Hand.RIGHT:
        shapes.append(Dot(float(head_x), float(head_y), head_px, RIGHT_INK))
    else:
        shapes.append(Dot(float(head_x), float(head_y), head_px, NIGHT))
        shapes.append(Dot(float(head_x), float(head_y), head_px, LEFT_INK, ring_width=2 * light))
    return shapes


def _arrows(performance: Performance, hand: Hand, lens: Lens, light: float) -> list[Shape]:
    """Chevrons that fly with the head, spread evenly in time and off the downbeats."""
    count = max(2, min(8, round(float(performance.cycle_length_beats))))
    shift = 0.30 if hand is Hand.RIGHT else 0.70
    shapes: list[Shape] = []
    for index in range(count):
        passed = (index + shift) / count + np.array([-2e-3, 2e-3])
        _, head = performance.room_places_m(hand, passed)
        before, after = lens.page(head)
        way = after - before
        length = float(np.linalg.norm(way))
        if length < 0.2:
            continue
        shapes.append(_chevron((before + after) / 2, way / length, 11 * light, INKS[hand], light))
    return shapes


def _chevron(at: Floats, way: Floats, size: float, ink: Ink, light: float) -> Stroke:
    aside = np.array([-way[1], way[0]])
    back = at - way * size
    corners = np.array(
        [back + aside * size * 0.6, at + way * size * 0.35, back - aside * size * 0.6]
    )
    return Stroke(corners, ink, 2.4 * light)


def _downbeats(
    performance: Performance, hand: Hand, lens: Lens, light: float, *, numbered: bool
) -> list[Shape]:
    """A triangle (right) or a square (left) at the head when the tether points down."""
    counts: dict[tuple[int, int], list[str]] = {}
    for passed in performance.tracks[hand].downbeats:
        _, head = performance.room_places_m(hand, [float(passed)])
        x, y = (round(float(value)) for value in lens.page(head)[0])
        beat = 1 + passed * performance.cycle_length_beats
        counts.setdefault((x, y), []).append(count_words(beat))
    shapes: list[Shape] = [_downbeat_mark(x, y, hand, light) for x, y in counts]
    if numbered:
        aside = (11 if hand is Hand.RIGHT else -11) * light
        anchor: Anchor = "start" if hand is Hand.RIGHT else "end"
        for (x, y), words in counts.items():
            shapes.append(
                Words(x + aside, y + 16 * light, ", ".join(words), 13 * light, MARK_INK, anchor)
            )
    return shapes


def _downbeat_mark(x: float, y: float, hand: Hand, light: float) -> Stroke:
    sides, start = (3, 0.25) if hand is Hand.RIGHT else (4, 0.125)
    angle = 2 * np.pi * (start + np.arange(sides) / sides)
    corners = np.stack([np.cos(angle), np.sin(angle)], 1) * 6.5 * light + np.array([x, y])
    return Stroke(corners, MARK_INK, 1.6 * light, closed=True, fill=NIGHT)


def meeting_beats(performance: Performance) -> tuple[Fraction, ...]:
    """Counts from 1, at rate 1, on which the heads meet in their planes."""
    room = performance.room_pair
    if room is None:
        return ()
    return tuple(1 + passed * performance.cycle_length_beats for passed in meetings(room))


def _meetings(performance: Performance, lens: Lens, light: float) -> list[Shape]:
    shapes: list[Shape] = []
    for beat in meeting_beats(performance):
        passed = (beat - 1) / performance.cycle_length_beats
        _, head = performance.room_places_m(Hand.RIGHT, [float(passed)])
        x, y = (float(value) for value in lens.page(head)[0])
        reach = 9 * light
        shapes.append(Dot(x, y, reach, MEETING_INK, ring_width=1.8 * light))
        for way in (1, -1):
            cross = np.array(
                [[x - reach / 2, y - way * reach / 2], [x + reach / 2, y + way * reach / 2]]
            )
            shapes.append(Stroke(cross, MEETING_INK, 1.8 * light))
    return shapes
