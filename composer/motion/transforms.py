"""The same pattern seen otherwise: mirrored, backwards, turned, moved, entered later.

Pure functions Pattern -> Pattern; mirror and reverse undo themselves, turns and shifts add up.
"""

import cmath
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

from composer.motion.pattern import (
    TAU,
    Arc,
    HandPath,
    HeadMotion,
    Hold,
    Line,
    Pattern,
    Segment,
    Spin,
)

HALF = Fraction(1, 2)


def mirror(pattern: Pattern) -> Pattern:
    """Left and right exchanged about the upright axis through the plane's origin."""
    return _each(pattern, _mirror_path, _mirror_head)


def reverse(pattern: Pattern) -> Pattern:
    """The same figure run through backwards in time."""
    segments = tuple(
        Segment(s.share, _reverse_path(s.hand), _reverse_head(s.head))
        for s in reversed(pattern.segments)
    )
    return replace(pattern, segments=segments)


def rotate(pattern: Pattern, turns: Fraction) -> Pattern:
    """The whole figure turned about the plane's origin, counter-clockwise positive."""
    if turns == 0:
        return pattern
    spoke = cmath.rect(1.0, TAU * float(turns))

    def path(hand: HandPath) -> HandPath:
        match hand:
            case Hold():
                return Hold(hand.at_m * spoke)
            case Line():
                return replace(hand, start_m=hand.start_m * spoke, end_m=hand.end_m * spoke)
            case Arc():
                return replace(
                    hand, centre_m=hand.centre_m * spoke, start_turns=hand.start_turns + turns
                )

    def motion(head: HeadMotion) -> HeadMotion:
        if isinstance(head, Spin):
            return replace(head, start_turns=head.start_turns + turns)
        return replace(head, about_turns=head.about_turns + turns)

    return _each(pattern, path, motion)


def move_centre(pattern: Pattern, by_m: complex) -> Pattern:
    """The whole figure carried by a distance in its plane."""
    if by_m == 0:
        return pattern

    def path(hand: HandPath) -> HandPath:
        match hand:
            case Hold():
                return Hold(hand.at_m + by_m)
            case Line():
                return replace(hand, start_m=hand.start_m + by_m, end_m=hand.end_m + by_m)
            case Arc():
                return replace(hand, centre_m=hand.centre_m + by_m)

    return _each(pattern, path, lambda head: head)


def enter_at(pattern: Pattern, phase: Fraction) -> Pattern:
    """The same cycle begun at another phase; a segment that is cut is kept as its two parts."""
    phase = phase % 1
    if phase == 0:
        return pattern
    before: list[Segment] = []
    after: list[Segment] = []
    for start, segment in zip(pattern.starts, pattern.segments, strict=True):
        if start + segment.share <= phase:
            before.append(segment)
        elif start >= phase:
            after.append(segment)
        else:
            early, late = split(segment, (phase - start) / segment.share)
            before.append(early)
            after.append(late)
    return replace(pattern, segments=(*after, *before))


def split(segment: Segment, at: Fraction) -> tuple[Segment, Segment]:
    """A segment cut in two after the share ``at`` (0 < at < 1) of it.

    Raises
    ------
    ValueError
        If ``at`` is not inside the segment.
    """
    if not 0 < at < 1:
        raise ValueError(f"a segment is cut inside, between 0 and 1, not at {at}")
    hand_early, hand_late = _split_path(segment.hand, at)
    head_early, head_late = _split_head(segment.head, at)
    return (
        Segment(segment.share * at, hand_early, head_early),
        Segment(segment.share * (1 - at), hand_late, head_late),
    )


def _split_path(hand: HandPath, at: Fraction) -> tuple[HandPath, HandPath]:
    match hand:
        case Hold():
            return hand, hand
        case Arc():
            turned = hand.turns * at
            return replace(hand, turns=turned), replace(
                hand, start_turns=hand.start_turns + turned, turns=hand.turns - turned
            )
        case Line():
            if hand.eased:
                begin, finish = hand.part
                cut = begin + (finish - begin) * at
                return replace(hand, part=(begin, cut)), replace(hand, part=(cut, finish))
            middle = hand.start_m + (hand.end_m - hand.start_m) * float(at)
            return replace(hand, end_m=middle), replace(hand, start_m=middle)


def _split_head(head: HeadMotion, at: Fraction) -> tuple[HeadMotion, HeadMotion]:
    if isinstance(head, Spin):
        turned = head.turns * at
        return Spin(head.start_turns, turned), Spin(head.start_turns + turned, head.turns - turned)
    passed = head.cycles * at
    return replace(head, cycles=passed), replace(
        head, start=head.start + passed, cycles=head.cycles - passed
    )


def _each(
    pattern: Pattern,
    path: Callable[[HandPath], HandPath],
    motion: Callable[[HeadMotion], HeadMotion],
) -> Pattern:
    segments = tuple(Segment(s.share, path(s.hand), motion(s.head)) for s in pattern.segments)
    return replace(pattern, segments=segments)


def _mirror_place(place_m: complex) -> complex:
    return -place_m.conjugate()


def _mirror_path(hand: HandPath) -> HandPath:
    match hand:
        case Hold():
            return Hold(_mirror_place(hand.at_m))
        case Line():
            return replace(
                hand, start_m=_mirror_place(hand.start_m), end_m=_mirror_place(hand.end_m)
            )
        case Arc():
            return Arc(
                _mirror_place(hand.centre_m), hand.radius_m, HALF - hand.start_turns, -hand.turns
            )


def _mirror_head(head: HeadMotion) -> HeadMotion:
    if isinstance(head, Spin):
        return Spin(HALF - head.start_turns, -head.turns)
    return replace(head, about_turns=HALF - head.about_turns, start=head.start + HALF)


def _reverse_path(hand: HandPath) -> HandPath:
    match hand:
        case Hold():
            return hand
        case Line():
            begin, finish = hand.part
            return replace(
                hand, start_m=hand.end_m, end_m=hand.start_m, part=(1 - finish, 1 - begin)
            )
        case Arc():
            return replace(hand, start_turns=hand.start_turns + hand.turns, turns=-hand.turns)


def _reverse_head(head: HeadMotion) -> HeadMotion:
    if isinstance(head, Spin):
        return Spin(head.start_turns + head.turns, -head.turns)
    return replace(head, start=HALF - head.start - head.cycles)
