"""Parts that follow others: canon and unison without holes, voices that enter evenly."""

from collections.abc import Iterator, Mapping
from fractions import Fraction
from itertools import pairwise

from composer.check.findings import Finding, Level
from composer.score.parts import PlacedMove, as_followed
from composer.score.routine import Following, Placement, Routine
from composer.timing.beats import BeatSpan, beats_words


def canon_findings(
    routine: Routine, parts: Mapping[str, tuple[PlacedMove, ...]]
) -> Iterator[Finding]:
    """Where followed parts have holes, are interrupted, or come in unevenly."""
    for part in routine.parts:
        for following in part.following:
            if following.performer in parts:
                yield from _left_out(routine, part.performer, following, parts)
                yield from _interrupted(part.performer, following, parts)
    yield from _uneven(routine)


def _left_out(
    routine: Routine,
    name: str,
    following: Following,
    parts: Mapping[str, tuple[PlacedMove, ...]],
) -> Iterator[Finding]:
    """Moves of the leader that reach over an end of the stretch: nobody performs that part."""
    if following.span is None:
        return
    span, done = following.span, parts[name]
    for move in parts[following.performer]:
        meant = as_followed(move.placement, following)
        inside = meant.span.intersects(span)
        within = span.start_beat <= meant.span.start_beat and meant.span.end_beat <= span.end_beat
        if not inside or within:
            continue
        first = max(meant.span.start_beat, span.start_beat)
        empty = _nothing_placed(
            meant, BeatSpan(first, min(meant.span.end_beat, span.end_beat) - first), done
        )
        if empty:
            place = routine.grid.meter_map.position(meant.span.start_beat)
            yield Finding(
                "followed move is left out",
                Level.WARNING,
                name,
                first,
                f"{name} follows {following.performer} only from beat {span.start_beat} to "
                f"{span.end_beat}; {meant.move} from {place} does not fit in whole, so nothing is "
                f"placed for {beats_words(empty)}",
                "A canon or unison with a hole in it looks like somebody lost.",
                moves=(meant.move,),
                measured=float(empty),
                unit="beats",
                others=(following.performer,),
            )


def _nothing_placed(meant: Placement, room: BeatSpan, done: tuple[PlacedMove, ...]) -> Fraction:
    """Beats of a stretch in which no move has any of the hands that a placement wants."""
    taken = sorted(
        (max(m.span.start_beat, room.start_beat), min(m.span.end_beat, room.end_beat))
        for m in done
        if m.span.intersects(room) and set(m.placement.hands) & set(meant.hands)
    )
    empty, at = Fraction(0), room.start_beat
    for start, end in taken:
        empty += max(Fraction(0), start - at)
        at = max(at, end)
    return empty + max(Fraction(0), room.end_beat - at)


def _interrupted(
    name: str, following: Following, parts: Mapping[str, tuple[PlacedMove, ...]]
) -> Iterator[Finding]:
    """A canon is the leader some beats later: moves of her own in its middle break it."""
    if not following.delay_beats:
        return
    own = [move for move in parts[name] if move.written_by == name]
    if not own:
        return
    source = [as_followed(move.placement, following) for move in parts[following.performer]]
    if following.span is not None:
        source = [p for p in source if following.span.contains(p.span.start_beat)]
    broken = [
        (move, meant)
        for move in own
        for meant in source
        if move.span.intersects(meant.span) and set(move.placement.hands) & set(meant.hands)
    ]
    if broken:
        move, meant = broken[0]
        yield Finding(
            "canon is interrupted",
            Level.NOTE,
            name,
            move.span.start_beat,
            f"{name} has {move.placement.move} of her own where she would follow "
            f"{following.performer} {beats_words(following.delay_beats)} later with {meant.move}",
            "The ear and the eye wait for the voice that was to come.",
            moves=(move.placement.move, meant.move),
            others=(following.performer,),
        )


def _uneven(routine: Routine) -> Iterator[Finding]:
    """Voices of one leader that do not come in at equal distances."""
    for leader, voices in canon_entries(routine).items():
        entries = [delay for _, delay in voices]
        steps = [after - before for before, after in pairwise(entries)]
        if len(entries) > 2 and len(set(steps)) > 1:
            off = max(steps) - min(steps)
            names = tuple(name for name, _ in voices if name != leader)
            told = ", ".join(str(entry) for entry in entries)
            yield Finding(
                "canon enters unevenly",
                Level.NOTE,
                names[0],
                _first_entry(routine, leader, names[0]),
                f"the voices of {leader} come in after {told} beats",
                "Voices an equal way apart show one figure at evenly spread places of its cycle.",
                measured=float(off),
                unit="beats",
                others=(*names[1:], leader),
            )


def canon_entries(routine: Routine) -> dict[str, tuple[tuple[str, Fraction], ...]]:
    """By leader: everybody who follows her later than at once, by delay, herself first at 0."""
    found: dict[str, dict[Fraction, str]] = {}
    for part in routine.parts:
        for following in part.following:
            if following.delay_beats > 0:
                voices = found.setdefault(following.performer, {Fraction(0): following.performer})
                voices.setdefault(following.delay_beats, part.performer)
    return {
        leader: tuple((voices[delay], delay) for delay in sorted(voices))
        for leader, voices in found.items()
    }


def canon_phases(entries: tuple[Fraction, ...], loop_beats: Fraction) -> tuple[Fraction, ...]:
    """Where in a loop each voice stands when the first one begins it anew, as shares of it.

    Voice k is the first voice ``entries[k]`` beats later (definition of a canon), so N entries a
    loop / N apart stand 1/N apart for ever.

    Raises
    ------
    ValueError
        If the loop has no length.
    """
    if loop_beats <= 0:
        raise ValueError(f"a loop lasts some beats, got {loop_beats}")
    return tuple(-entry / loop_beats % 1 for entry in entries)


def _first_entry(routine: Routine, leader: str, name: str) -> Fraction:
    beats = [
        following.span.start_beat if following.span is not None else following.delay_beats
        for following in routine.part(name).following
        if following.performer == leader and following.delay_beats > 0
    ]
    return min(beats)
