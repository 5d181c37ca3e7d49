"""Small trail pictures for printed sheets: readable in grey, all of one scale.

The right head's trail is a thin black line, the left's a broad grey one beneath it, so two trails
that lie on each other both stay to be seen. A dot marks where each begins, an arrow which way.
"""

from fractions import Fraction

import numpy as np

from composer.export.choice import View
from composer.export.trails import Figure, Floats, Trail, figure, trails
from composer.motion.body import Body
from composer.motion.hands import Hand
from composer.moves.perform import Performance

BLACK, GREY, FAINT = "#000000", "#a8a8a8", "#d8d8d8"
WIDTHS = {Hand.RIGHT: 0.028, Hand.LEFT: 0.085}
COLOURS = {Hand.RIGHT: BLACK, Hand.LEFT: GREY}


MARGIN_M = 0.1


def thumbnail_svg(
    performance: Performance,
    body: Body,
    half_m: float,
    view: View,
    facing_turns: Fraction = Fraction(0),
) -> str:
    """A square picture of one cycle, ``half_m`` either way of mid-chest; its units are metres."""
    half, middle = half_m + MARGIN_M, body.shoulder_height_m
    drawn = {trail.hand: trail for trail in trails(performance, view, facing_turns)}
    forward_m = max(origin[1] for origin in performance.origins_m.values())
    parts = [_body(figure(body, view, facing_turns, forward_m=forward_m))]
    for hand in (Hand.LEFT, Hand.RIGHT):
        if hand in drawn:
            parts.append(_path(drawn[hand].head_m, WIDTHS[hand], COLOURS[hand]))
    parts += [_start(drawn[hand]) for hand in (Hand.LEFT, Hand.RIGHT) if hand in drawn]
    box = f"{-half:.3f} {-middle - half:.3f} {2 * half:.3f} {2 * half:.3f}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" stroke-linejoin="round" '
        f'stroke-linecap="round" fill="none">{"".join(parts)}</svg>'
    )


def _body(stick: Figure) -> str:
    right, left = stick.shoulders[Hand.RIGHT], stick.shoulders[Hand.LEFT]
    head = _point(stick.head_m)
    return (
        _path(np.array([right, left]), 0.05, FAINT)
        + _path(np.array([stick.neck, stick.hips]), 0.05, FAINT)
        + f'<circle cx="{head[0]}" cy="{head[1]}" r="{stick.head_radius_m:.3f}" fill="{FAINT}"/>'
    )


def _point(place_m: Floats) -> tuple[str, str]:
    return f"{place_m[0]:.3f}", f"{-place_m[1]:.3f}"


def _path(places_m: Floats, width_m: float, colour: str) -> str:
    points = " ".join(",".join(_point(place)) for place in places_m)
    return f'<polyline points="{points}" stroke="{colour}" stroke-width="{width_m}"/>'


def _start(trail: Trail) -> str:
    """A dot where the head begins and an arrow head a little further on."""
    place = trail.head_m
    x, y = _point(place[0])
    fill, radius_m = (BLACK, 0.055) if trail.hand is Hand.RIGHT else ("#ffffff", 0.09)
    dot = (
        f'<circle cx="{x}" cy="{y}" r="{radius_m}" fill="{fill}" stroke="{BLACK}" '
        'stroke-width="0.03"/>'
    )
    steps = np.linalg.norm(np.diff(place, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    if along[-1] < 0.3:
        return dot
    at = int(np.searchsorted(along, 0.28))
    back = int(np.searchsorted(along, 0.20))
    way = place[at] - place[back]
    size = float(np.linalg.norm(way))
    if size < 1e-6:
        return dot
    way = way / size * (0.16 if trail.hand is Hand.RIGHT else 0.22)
    side = np.array([-way[1], way[0]]) * 0.55
    tip, tail = place[at] + way / 2, place[at] - way / 2
    corners = " ".join(",".join(_point(p)) for p in (tip, tail + side, tail - side))
    return dot + (
        f'<polygon points="{corners}" fill="{fill}" stroke="{BLACK}" stroke-width="0.03"/>'
    )
