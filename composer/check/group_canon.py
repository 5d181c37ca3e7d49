"""Parts that follow others: canon and unison without holes, voices that enter evenly."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
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
    for canon in canons(routine):
        entries = [delay for _, delay in canon.voices]
        steps = [after - before for before, after in pairwise(entries)]
        if len(entries) > 2 and len(set(steps)) > 1:
            names = tuple(name for name, _ in canon.voices if name != canon.leader)
            told = ", ".join(str(entry) for entry in entries)
            yield Finding(
                "canon enters unevenly",
                Level.NOTE,
                names[0],
                canon.first_entry_beat,
                f"the voices of {canon.leader} come in after {told} beats",
                "Voices an equal way apart show one figure at evenly spread places of its cycle.",
                measured=float(max(steps) - min(steps)),
                unit="beats",
                others=(*names[1:], canon.leader),
            )


@dataclass(frozen=True, slots=True)
class Canon:
    """Voices that follow one leader in stretches that meet in time."""

    leader: str
    voices: tuple[tuple[str, Fraction], ...]
    """Everybody with her delay, by delay, the leader first at 0; of two at once one stands."""
    first_entry_beat: Fraction


def canons(routine: Routine) -> tuple[Canon, ...]:
    """Every canon of the piece: of one leader, one after another, as many as there are."""
    followed: dict[str, list[tuple[BeatSpan, str, Fraction]]] = {}
    for part in routine.parts:
        for one in part.following:
            if one.delay_beats > 0:
                span = one.span or _after(one.delay_beats, routine)
                followed.setdefault(one.performer, []).append(
                    (span, part.performer, one.delay_beats)
                )
    return tuple(
        _canon(leader, group)
        for leader, entries in followed.items()
        for group in _meeting(sorted(entries, key=lambda one: one[0].start_beat))
    )


def _after(delay_beats: Fraction, routine: Routine) -> BeatSpan:
    """The stretch of a voice that follows throughout: from its entry to the end of the music."""
    return BeatSpan(delay_beats, max(Fraction(1), routine.grid.end_beat - delay_beats))


def _meeting(
    entries: list[tuple[BeatSpan, str, Fraction]],
) -> Iterator[list[tuple[BeatSpan, str, Fraction]]]:
    """Entries in time order parted where nobody's stretch reaches over."""
    group: list[tuple[BeatSpan, str, Fraction]] = []
    end = Fraction(0)
    for entry in entries:
        if group and entry[0].start_beat >= end:
            yield group
            group = []
        end = max(end, entry[0].end_beat) if group else entry[0].end_beat
        group.append(entry)
    if group:
        yield group


def _canon(leader: str, entries: list[tuple[BeatSpan, str, Fraction]]) -> Canon:
    voices: dict[Fraction, str] = {Fraction(0): leader}
    for _, name, delay in entries:
        voices.setdefault(delay, name)
    ordered = tuple((voices[delay], delay) for delay in sorted(voices))
    return Canon(leader, ordered, entries[0][0].start_beat)


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
