"""Frames of the moving picture: stick performers, trails, move names and counts at one instant."""

import itertools
from collections.abc import Iterator
from fractions import Fraction
from functools import cached_property, lru_cache
from math import ceil, floor

import numpy as np
from PIL import Image, ImageDraw

from composer.export.cast import Cast, Place, cast_of, places_in
from composer.export.choice import Choice, chosen_names, chosen_span, one_line
from composer.export.labels import Ink, label_pictures
from composer.export.picture import ARM_INK, BODY_INK, LEFT_INK, NIGHT, RIGHT_INK, mixed
from composer.export.trails import Figure, Floats, figure, flat_m, trails
from composer.motion.hands import Hand
from composer.moves.library import Library
from composer.score.routine import Routine

FINER = 2
"""Drawn so many times larger and then reduced: smooth edges."""
TAIL_BEATS = 0.6
TAIL_PIECES = 24
INKS = {Hand.RIGHT: RIGHT_INK, Hand.LEFT: LEFT_INK}
WORDS: Ink = (240, 242, 246)
QUIET: Ink = (152, 160, 178)
REST_ARM = 0.92
"""Ours: with nothing placed the hands hang at this share of the arm's length."""
BODY: Ink = mixed(BODY_INK, 0.7, (128, 140, 166))
ARM: Ink = mixed(ARM_INK, 0.5, (150, 160, 184))


class FrameMaker:
    """Draws any instant of a routine at one size; what stands still is drawn once and kept."""

    def __init__(
        self, routine: Routine, library: Library, choice: Choice, size: tuple[int, int]
    ) -> None:
        self.routine, self.choice = routine, choice
        self.width, self.height = size
        self.cast = [
            cast_of(routine, name, choice, library) for name in chosen_names(routine, choice)
        ]
        self.places = places_in(self.width, self.height, len(self.cast))
        self._ground = lru_cache(maxsize=64)(self._drawn_ground)

    def frame(self, time_s: float) -> Image.Image:
        """The picture at a time of the track, RGB."""
        beat = self.routine.grid.tempo_map.beat_at(time_s)
        under_way = tuple(one.now(beat) for one in self.cast)
        fine = self._ground(under_way).copy()
        pen = ImageDraw.Draw(fine)
        for one, place, moves in zip(self.cast, self.places, under_way, strict=True):
            self._draw_hands(pen, one, place, moves, beat)
        picture = fine.reduce(FINER)
        self._write(picture, beat, under_way)
        return picture

    # ------------------------------------------------------------------ drawing

    def _scale(self, one: Cast, place: Place) -> float:
        """Pixels of the finer picture for each metre."""
        return min(place.width / (2 * one.half_m), place.figure_height / one.tall_m) * FINER

    def _page(self, one: Cast, place: Place, places_m: Floats) -> list[tuple[float, float]]:
        """Flat metres as pixels of the finer picture."""
        scale = self._scale(one, place)
        x = (place.x + place.width / 2) * FINER
        y = place.y * FINER + scale * one.above_m
        middle = one.person.body.shoulder_height_m
        flat = np.atleast_2d(places_m)
        pairs = np.stack([x + scale * flat[:, 0], y - scale * (flat[:, 1] - middle)], axis=1)
        return [(float(a), float(b)) for a, b in pairs]

    def _drawn_ground(self, under_way: tuple[tuple[int, ...], ...]) -> Image.Image:
        """What does not move while the same moves are under way: bodies and whole trails."""
        fine = Image.new("RGB", (self.width * FINER, self.height * FINER), NIGHT)
        pen = ImageDraw.Draw(fine)
        for one, place, moves in zip(self.cast, self.places, under_way, strict=True):
            self._draw_body(pen, one, place, self._figure(one, moves))
            for index in moves:
                move = one.moves[index]
                if move.performance is None:
                    continue
                facing = move.placed.placement.facing_turns
                for trail in trails(move.performance, self.choice.view, facing):
                    ink = mixed(INKS[trail.hand], 0.4)
                    points = self._page(one, place, trail.head_m)
                    if trail.hand is Hand.RIGHT:
                        pen.line(points, fill=ink, width=2 * FINER, joint="curve")
                    else:
                        _dots(pen, points, 2.0 * FINER, ink)
        return fine

    def _figure(self, one: Cast, moves: tuple[int, ...]) -> Figure:
        placements = [one.moves[index].placed.placement for index in moves]
        facing = placements[0].facing_turns if placements else Fraction(0)
        return figure(one.person.body, self.choice.view, facing)

    def _draw_body(self, pen: ImageDraw.ImageDraw, one: Cast, place: Place, stick: Figure) -> None:
        ink = BODY
        width = 4 * FINER
        for line in (
            [stick.shoulders[Hand.RIGHT], stick.shoulders[Hand.LEFT]],
            [stick.neck, stick.hips],
            [stick.feet[Hand.RIGHT], stick.hips, stick.feet[Hand.LEFT]],
        ):
            pen.line(self._page(one, place, np.array(line)), fill=ink, width=width)
        scale = self._scale(one, place)
        (head,) = self._page(one, place, stick.head_m)
        _disc(pen, head, stick.head_radius_m * scale, ink)

    def _draw_hands(
        self,
        pen: ImageDraw.ImageDraw,
        one: Cast,
        place: Place,
        moves: tuple[int, ...],
        beat: float,
    ) -> None:
        stick = self._figure(one, moves)
        for hand in (Hand.LEFT, Hand.RIGHT):
            # the left is broader and drawn first: where both go together, both are seen
            ink, width = INKS[hand], (4 if hand is Hand.RIGHT else 9) * FINER
            tail = self._tail(one, moves, hand, beat)
            hand_m, head_m = tail if tail is not None else self._at_rest(one, hand)
            shoulder, at = self._page(one, place, np.array([stick.shoulders[hand], hand_m[-1]]))
            head = self._page(one, place, head_m)
            pen.line([shoulder, at], fill=ARM, width=3 * FINER)
            for step, (a, b) in enumerate(itertools.pairwise(head)):
                share = (step + 1) / len(head)
                pen.line([a, b], fill=mixed(ink, 0.35 + 0.65 * share), width=width)
            pen.line([at, head[-1]], fill=ink, width=FINER)
            _disc(pen, at, 3 * FINER, ARM)
            if hand is Hand.LEFT:
                _disc(pen, head[-1], 9 * FINER, ink)
                _disc(pen, head[-1], 6.5 * FINER, NIGHT)
            else:
                _disc(pen, head[-1], 6 * FINER, ink)

    def _tail(
        self, one: Cast, moves: tuple[int, ...], hand: Hand, beat: float
    ) -> tuple[Floats, Floats] | None:
        """Where hand and head just were and are, flat; None if the hand takes no part."""
        for index in moves:
            move = one.moves[index]
            first = max(beat - TAIL_BEATS, float(move.placed.span.start_beat))
            places = move.places_m(
                hand, np.linspace(first, beat, TAIL_PIECES + 1), self.choice.view
            )
            if places is not None:
                hand_m, head_m = places
                return flat_m(hand_m, self.choice.view), flat_m(head_m, self.choice.view)
        return None

    def _at_rest(self, one: Cast, hand: Hand) -> tuple[Floats, Floats]:
        """Arm and prop hanging down beside her."""
        body, prop = one.person.body, one.person.prop(hand)
        side = body.shoulder_breadth_m * (0.7 if hand is Hand.RIGHT else -0.7)
        up = body.shoulder_height_m - REST_ARM * body.arm_m
        places = np.array([[side, 0.0, up], [side, 0.0, max(0.05, up - prop.length_m)]])
        flat = flat_m(places, self.choice.view)
        return flat[:1], flat[1:]

    # ------------------------------------------------------------------ words

    def _write(
        self, picture: Image.Image, beat: float, under_way: tuple[tuple[int, ...], ...]
    ) -> None:
        self._paste(picture, self._title, self.width // 60, self.height // 60)
        self._paste(picture, self._count(beat), self.width - self.width // 60, self.height // 60, 1)
        self._draw_counts(picture, beat)
        for one, place, moves in zip(self.cast, self.places, under_way, strict=True):
            middle, top = place.x + place.width // 2, place.y + place.figure_height
            labels = (
                self._name(one, place),
                self._now(one, place, moves),
                self._next(one, place, beat),
            )
            for line, label in enumerate(labels):
                self._paste(picture, label, middle, top + line * place.line, 0.5)

    def _draw_counts(self, picture: Image.Image, beat: float) -> None:
        """A dot for each count of the bar, the one that sounds filled."""
        pen = ImageDraw.Draw(picture)
        meters = self.routine.grid.meter_map
        bar = meters.position(Fraction(floor(beat)))
        length = ceil(meters.bar_length_beats(bar.bar))
        radius = max(3, self.height // 90)
        x, y = self.width // 2 - (length - 1) * 2 * radius, self.height // 22
        for count in range(1, length + 1):
            box = [x - radius, y - radius, x + radius, y + radius]
            if count == floor(bar.count):
                pen.ellipse(box, fill=WORDS)
            else:
                pen.ellipse(box, outline=QUIET, width=1)
            x += 4 * radius

    def _paste(
        self,
        picture: Image.Image,
        label: tuple[str, int, int, Ink],
        x: int,
        y: int,
        anchor: float = 0.0,
    ) -> None:
        words = self._labels.get(label)
        if words is not None:
            words = words.crop((0, 0, min(words.width, label[2]), words.height))
            picture.paste(words, (round(x - anchor * words.width), y), words)

    @property
    def _title(self) -> tuple[str, int, int, Ink]:
        return one_line(self.routine.title), self.height // 24, self.width // 3, QUIET

    def _count(self, beat: float) -> tuple[str, int, int, Ink]:
        place = self.routine.grid.meter_map.position(Fraction(floor(beat)))
        words = f"bar {place.bar}, count {floor(place.count)}"
        return words, self.height // 20, self.width // 3, WORDS

    def _name(self, one: Cast, place: Place) -> tuple[str, int, int, Ink]:
        return one_line(one.person.name), place.line * 2 // 3, place.width - place.line, QUIET

    def _now(self, one: Cast, place: Place, moves: tuple[int, ...]) -> tuple[str, int, int, Ink]:
        names = [one_line(one.moves[index].placed.placement.move) for index in moves]
        return ", ".join(names), place.line * 3 // 4, place.width - place.line, WORDS

    def _next(self, one: Cast, place: Place, beat: float) -> tuple[str, int, int, Ink]:
        upcoming = one.upcoming(beat)
        words = f"in {upcoming[1]}: {upcoming[0]}" if upcoming else ""
        return words, place.line * 2 // 3, place.width - place.line, RIGHT_INK

    @cached_property
    def _labels(self) -> dict[tuple[str, int, int, Ink], Image.Image]:
        return label_pictures(self._all_labels())

    def _all_labels(self) -> Iterator[tuple[str, int, int, Ink]]:
        """Every label that any instant of the stretch can show."""
        yield self._title
        span = chosen_span(self.routine, self.choice)
        beats = [float(b) for b in range(floor(span.start_beat) - 1, ceil(span.end_beat) + 9)]
        for beat in beats:
            yield self._count(beat)
        for one, place in zip(self.cast, self.places, strict=True):
            yield self._name(one, place)
            changes = {float(m.placed.span.start_beat) for m in one.moves}
            changes |= {float(m.placed.span.end_beat) for m in one.moves}
            changes |= {float(cue.beat) - back for cue in one.cues for back in range(40)}
            for beat in sorted(changes | set(beats)):
                yield self._now(one, place, one.now(beat))
                yield self._next(one, place, beat)


def _disc(pen: ImageDraw.ImageDraw, place: tuple[float, float], radius: float, ink: Ink) -> None:
    x, y = place
    pen.ellipse([x - radius, y - radius, x + radius, y + radius], fill=ink)


def _dots(
    pen: ImageDraw.ImageDraw, points: list[tuple[float, float]], radius: float, ink: Ink
) -> None:
    """A trail as dots at even steps along it: told from a line without its colour."""
    places = np.array(points)
    steps = np.linalg.norm(np.diff(places, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    for at in np.arange(0.0, along[-1], 5 * radius):
        x = float(np.interp(at, along, places[:, 0]))
        y = float(np.interp(at, along, places[:, 1]))
        _disc(pen, (x, y), radius, ink)
