"""Edits that might mend a finding. Each is only a proposal: remedies.py tries it in place.

The words say what the performer would do; the weight how much it changes what she wrote.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from difflib import get_close_matches
from fractions import Fraction
from functools import lru_cache
from itertools import product

import numpy as np

from composer.arrange import edits
from composer.check.fit import RATES, Fit, fit
from composer.check.performed import CannotEnter, performed
from composer.errors import UnknownName
from composer.motion.hands import Hand
from composer.motion.kinematics import motion_at
from composer.motion.plane import Plane
from composer.moves.library import Library
from composer.moves.model import Relation
from composer.moves.perform import CENTRES, Style
from composer.score.routine import Performer, Placement, Routine
from composer.score.same import Same
from composer.timing.beats import BeatSpan, beats_words, rate_words

RELATIONS = tuple(
    Relation(Fraction(timing, 2), direction)  # type: ignore[arg-type]
    for timing, direction in product((0, 1), ("same", "opposite"))
)
TURNS = (Fraction(1, 4), Fraction(1, 2), Fraction(3, 4))
BRIDGE_BEATS = (Fraction(2), Fraction(4), Fraction(1), Fraction(3))


@dataclass(frozen=True, slots=True)
class Candidate:
    """A routine that may be better, and the words for how it differs."""

    kind: str
    words: str
    weight: float
    routine: Routine


@dataclass(frozen=True, slots=True)
class Seat:
    """A placement in its part, with what it takes to change it."""

    routine: Routine
    library: Library
    performer: Performer
    index: int

    @property
    def placement(self) -> Placement:
        return edits.placement_at(self.routine, self.performer.name, self.index)

    @property
    def name(self) -> str:
        return self.placement.move

    def changed(self, **fields: object) -> Routine:
        new = replace(self.placement, **fields)  # type: ignore[arg-type]
        return edits.change(self.routine, self.performer.name, self.index, new)

    def restyled(self, **choices: object) -> Routine:
        return self.changed(style=replace(self.placement.style, **choices))  # type: ignore[arg-type]

    def fit(self) -> Fit | None:
        try:
            return fit(self.placement, self.library, self.performer, self.routine.grid)
        except (UnknownName, CannotEnter):
            return None


# ------------------------------------------------------------------ the move itself


def restyles(seat: Seat) -> Iterator[Candidate]:
    """Other ways to do the same move at the same time."""
    style, name = seat.placement.style, seat.name
    fitted = seat.fit()
    entries = range(1, fitted.entries + 1) if fitted else range(1, 2)
    for entry in entries:
        if entry != style.entry:
            words = f"enter {name} on its downbeat {entry}"
            yield Candidate("entry", words, 1.0, seat.restyled(entry=entry))
    for entry, (kind, words, weight, choices) in product(entries, _other_ways(style)):
        on = f", on its downbeat {entry}" if entry != style.entry else ""
        more = 0.5 if on else 0.0
        yield Candidate(
            kind, f"{name} {words}{on}", weight + more, seat.restyled(entry=entry, **choices)
        )


def _other_ways(style: Style) -> Iterator[tuple[str, str, float, dict[str, object]]]:
    yield (
        "mirror",
        "mirrored" if not style.mirrored else "not mirrored",
        2.0,
        {"mirrored": not style.mirrored},
    )
    yield "hands", "with the hands swapped", 2.0, {"swapped": not style.swapped}
    if style.hand == "both":
        for relation in RELATIONS:
            if relation != style.relation:
                yield "relation", f"with the hands {relation}", 2.5, {"relation": relation}
    for turns in TURNS:
        turned = (style.orientation_turns + turns) % 1
        yield "orientation", f"turned by {turns} turn", 2.5, {"orientation_turns": turned}
    for centre in CENTRES:
        if centre != (style.centre or "chest"):
            yield (
                "centre",
                f"centred at the {centre}",
                3.0,
                {"centre": None if centre == "chest" else centre},
            )


def rates(seat: Seat) -> Iterator[Candidate]:
    """Other rates: first those that close in the same beats."""
    fitted = seat.fit()
    closing = fitted.closing_rates if fitted else ()
    for rate in RATES:
        if rate != seat.placement.rate:
            words = f"{seat.name} at {rate_words(rate)}"
            weight = 3.0 if rate in closing else 5.0
            yield Candidate("rate", words, weight, seat.changed(rate=rate))


def body_turns(seat: Seat) -> Iterator[Candidate]:
    """The same move with the body turned a quarter, which renames the planes of the room."""
    for turns, side in ((Fraction(1, 4), "left"), (Fraction(-1, 4), "right")):
        words = f"turn the body a quarter to the {side} for {seat.name}"
        facing = seat.placement.facing_turns + turns
        yield Candidate("facing", words, 3.0, seat.changed(facing_turns=facing))


def other_names(seat: Seat) -> Iterator[Candidate]:
    """The nearest names for a move that the library does not have."""
    for name in get_close_matches(seat.name, seat.library.names(), n=3, cutoff=0.4):
        yield Candidate("name", f"{name} instead of {seat.name}", 1.0, seat.changed(move=name))
    if seat.placement.style.entry > 1:
        yield Candidate(
            "entry", f"enter {seat.name} on its downbeat 1", 1.0, seat.restyled(entry=1)
        )


# ------------------------------------------------------------------ lengths and order


def lengths(seat: Seat, *, with_filler: bool = True) -> Iterator[Candidate]:
    """Whole lengths; what that leaves free is taken by the next move or filled."""
    fitted = seat.fit()
    if fitted is None:
        return
    span = seat.placement.span
    wanted = dict.fromkeys((*fitted.closing_lengths, *fitted.bar_closing_lengths))
    for length in wanted:
        if length <= 0:
            continue
        words = f"{seat.name} for {beats_words(length)}"
        yield from _with_next_moved(seat, BeatSpan(span.start_beat, length), words)
        if length < span.length_beats and with_filler:
            shorter = seat.changed(span=BeatSpan(span.start_beat, length))
            free = BeatSpan(span.start_beat + length, span.length_beats - length)
            yield from fillers(shorter, seat, free, f"{words}, then ")


def _with_next_moved(seat: Seat, span: BeatSpan, words: str) -> Iterator[Candidate]:
    """The move with another end, and the move that followed it at once begun there."""
    resized = seat.changed(span=span)
    following = _index_of_next(seat)
    if following is None:
        yield Candidate("length", words, 3.0, resized)
        return
    after = edits.placement_at(seat.routine, seat.performer.name, following)
    left = after.span.end_beat - span.end_beat
    if left > 0 and not after.pinned:
        moved = replace(after, span=BeatSpan(span.end_beat, left))
        both = edits.change(resized, seat.performer.name, following, moved)
        yield Candidate(
            "length", f"{words}, {after.move} for the {beats_words(left)} that follow", 3.5, both
        )


def _index_of_next(seat: Seat) -> int | None:
    """The performer's own next placement on one of the same hands, where it follows at once."""
    placed = seat.placement
    for index, other in enumerate(seat.routine.part(seat.performer.name).placements):
        if other.span.start_beat == placed.span.end_beat and set(other.hands) & set(placed.hands):
            return index
    return None


def shared_boundary(before: Seat, after: Seat) -> Iterator[Candidate]:
    """The boundary between two moves a few beats earlier or later."""
    first, second = before.placement.span, after.placement.span
    if first.end_beat != second.start_beat:
        return
    for by in (-1, 1, -2, 2, -4, 4):
        lengths_beats = first.length_beats + by, second.length_beats - by
        if min(lengths_beats) > 0:
            moved = before.changed(span=BeatSpan(first.start_beat, lengths_beats[0]))
            later = replace(
                after.placement, span=BeatSpan(second.start_beat + by, lengths_beats[1])
            )
            both = edits.change(moved, after.performer.name, after.index, later)
            side = "earlier" if by < 0 else "later"
            words = f"go from {before.name} to {after.name} {beats_words(Fraction(abs(by)))} {side}"
            yield Candidate("length", words, 3.0 + abs(by) / 2, both)


def swapped_order(before: Seat, after: Seat) -> Iterator[Candidate]:
    """The two moves in the other order, each in the other's place."""
    one, two = before.placement, after.placement
    if one.hands != two.hands or one.move == two.move:
        return
    name = before.performer.name
    swapped = edits.change(before.routine, name, before.index, replace(two, span=one.span))
    swapped = edits.change(swapped, name, after.index, replace(one, span=two.span))
    yield Candidate("order", f"{two.move} first, then {one.move}", 4.0, swapped)


def cut_back(seat: Seat, end_beat: Fraction, why: str) -> Iterator[Candidate]:
    """The move ended earlier."""
    span = seat.placement.span
    if span.start_beat < end_beat < span.end_beat:
        length = end_beat - span.start_beat
        shorter = seat.changed(span=BeatSpan(span.start_beat, length))
        words = f"end {seat.name} {why}, after {beats_words(length)}"
        yield Candidate("length", words, 2.0, shorter)
        free = BeatSpan(end_beat, span.end_beat - end_beat)
        yield from fillers(shorter, seat, free, f"{words}, then ")


def begin_later(seat: Seat, start_beat: Fraction) -> Iterator[Candidate]:
    span = seat.placement.span
    if span.start_beat < start_beat < span.end_beat:
        later = BeatSpan(start_beat, span.end_beat - start_beat)
        words = f"begin {seat.name} {beats_words(start_beat - span.start_beat)} later"
        yield Candidate("length", words, 2.0, seat.changed(span=later))


def lengthened(seat: Seat, end_beat: Fraction) -> Iterator[Candidate]:
    """The move carried on to a later end."""
    span = seat.placement.span
    if end_beat > span.end_beat:
        longer = BeatSpan(span.start_beat, end_beat - span.start_beat)
        words = f"carry {seat.name} on for {beats_words(end_beat - span.end_beat)}"
        yield Candidate("length", words, 2.0, seat.changed(span=longer))


# ------------------------------------------------------------------ bridges and fillers


def bridges(before: Seat, after: Seat) -> Iterator[Candidate]:
    """One to four beats of a move with quiet hands, cut out of one of the two moves."""
    first, second = before.placement, after.placement
    for beats in BRIDGE_BEATS:
        if first.span.length_beats > beats and first.span.end_beat == second.span.start_beat:
            short = BeatSpan(first.span.start_beat, first.span.length_beats - beats)
            room = BeatSpan(short.end_beat, beats)
            words = f"for the last {beats_words(beats)} of {first.move} "
            yield from fillers(before.changed(span=short), before, room, words, kind="bridge")
        if second.span.length_beats > beats and not second.pinned:
            late = BeatSpan(second.span.start_beat + beats, second.span.length_beats - beats)
            room = BeatSpan(second.span.start_beat, beats)
            words = f"for the first {beats_words(beats)} of {second.move} "
            yield from fillers(after.changed(span=late), after, room, words, kind="bridge")


def fillers(
    routine: Routine, like: Seat, room: BeatSpan, words: str, *, kind: str = "filler"
) -> Iterator[Candidate]:
    """A free stretch taken by each quiet move that closes in it."""
    placed = like.placement
    weight = 5.0 + float(room.length_beats) / 8
    quiets, plane = quiet_placements(like.library, like.performer), _plane(placed, like)
    for quiet, rate in product(quiets, dict.fromkeys((placed.rate, Fraction(1)))):
        filled = replace(
            quiet,
            span=room,
            rate=rate,
            style=replace(quiet.style, hand=placed.style.hand),
            facing_turns=placed.facing_turns,
        )
        if _plane(filled, like) == plane and _closes(filled, like):
            style = filled.style
            said = quiet.move if style.relation is None else f"{quiet.move}, hands {style.relation}"
            said += f" from its downbeat {style.entry}" if style.entry > 1 else ""
            yield Candidate(
                kind, f"{words}{said}", weight, edits.place(routine, like.performer.name, filled)
            )


def _plane(placement: Placement, like: Seat) -> Plane | None:
    try:
        return performed(placement, like.performer, like.library).performance.plane
    except (UnknownName, CannotEnter):
        return None


def _closes(placement: Placement, like: Seat) -> bool:
    try:
        fitted = fit(placement, like.library, like.performer, like.routine.grid)
    except (UnknownName, CannotEnter):
        return False
    return fitted.closes or fitted.closes_turned or fitted.closes_mirrored


def quiet_placements(library: Library, performer: Performer) -> tuple[Placement, ...]:
    """Moves to bridge with: hands almost still, two beats or less, in every entry and relation."""
    return _quiet_placements(Same(library), performer)


@lru_cache(maxsize=32)
def _quiet_placements(kept: Same[Library], performer: Performer) -> tuple[Placement, ...]:
    library = kept.value
    found = []
    for name in library.names():
        base = Placement(BeatSpan(Fraction(0), Fraction(1)), name)
        if not _is_quiet(base, library, performer):
            continue
        both = library.get(name) in library.one_hand()
        for relation, entry in product((*RELATIONS,) if both else (None,), (1, 2)):
            styled = replace(base, style=Style(entry=entry, relation=relation))
            if _can_be_performed(styled, library, performer):
                found.append(styled)
    return tuple(found)


def _can_be_performed(placement: Placement, library: Library, performer: Performer) -> bool:
    try:
        performed(placement, performer, library)
    except (UnknownName, CannotEnter):
        return False
    return True


def _is_quiet(placement: Placement, library: Library, performer: Performer) -> bool:
    try:
        done = performed(placement, performer, library)
    except (UnknownName, CannotEnter):
        return False
    if done.performance.cycle_length_beats > 2:
        return False
    phases = np.linspace(0.0, 1.0, 33)
    for hand in Hand:
        track = done.performance.tracks[hand]
        places = motion_at(track.pattern, phases).hand_m
        if np.abs(places - places.mean()).max() > track.pattern.tether_m * 0.6:
            return False
    return True
