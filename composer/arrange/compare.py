"""What changed between two versions of a routine, in words, part by part."""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, fields
from fractions import Fraction
from typing import Any, TypeVar

from composer.arrange.moved import moved_lines
from composer.score.floor import spot_place
from composer.score.routine import (
    CueNote,
    Cut,
    Following,
    Performer,
    Placement,
    Routine,
    Spot,
)
from composer.score.stage_words import facing_words, place_words
from composer.timing.beats import BeatSpan, beats_words, rate_words
from composer.timing.grid import MusicGrid

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that is otherwise than before."""

    performer: str
    """Empty for what belongs to the whole piece."""
    beat: Fraction | None
    words: str


def changes(before: Routine, after: Routine) -> tuple[Change, ...]:
    """Everything that differs: first of the whole piece, then of each performer, in time order."""
    found = [*_of_the_piece(before, after)]
    names = dict.fromkeys(p.name for p in (*before.performers, *after.performers))
    for name in names:
        own = list(_of_performer(before, after, name))
        found += sorted(own, key=lambda one: (one.beat is not None, one.beat or 0))
    return tuple(found)


# ------------------------------------------------------------------ the whole piece


def _of_the_piece(before: Routine, after: Routine) -> Iterator[Change]:
    if before.title != after.title:
        yield _piece(f'the title is "{after.title}", it was "{before.title}"')
    if before.performance_date != after.performance_date:
        yield _piece(f"the date is {after.performance_date or 'open'}")
    if before.track != after.track:
        other = " (other music)" if before.track.sha256 != after.track.sha256 else ""
        yield _piece(f"the track is {after.track.file}, it was {before.track.file}{other}")
    if before.grid != after.grid or before.corrections != after.corrections:
        yield from (_piece(f"the music: {line}") for line in _music_lines(before, after))
    if before.stage != after.stage:
        yield from (_piece(f"the stage: {line}") for line in _stage_lines(before, after))
    if before.cut != after.cut:
        yield _piece(_cut_words(after.cut))
    yield from _notes(before, after, "")


def _piece(words: str) -> Change:
    return Change("", None, words)


def _music_lines(before: Routine, after: Routine) -> Iterator[str]:
    if before.grid == after.grid:
        yield "what was put right about it is told otherwise, its beats are the same"
        return
    yield from (line for line in moved_lines(before, after) if not line.endswith("as before"))
    if before.grid.end_beat != after.grid.end_beat:
        yield f"it ends on beat {after.grid.end_beat}, it ended on {before.grid.end_beat}"
    if before.grid.accents != after.grid.accents:
        yield f"{len(after.grid.accents)} accents, there were {len(before.grid.accents)}"


def _stage_lines(before: Routine, after: Routine) -> Iterator[str]:
    for field in fields(before.stage):
        old, new = getattr(before.stage, field.name), getattr(after.stage, field.name)
        if old != new and field.name == "obstacles":
            yield from _obstacle_lines(old, new)
        elif old != new:
            yield f"{field.name} is {_plain(new)}, it was {_plain(old)}"


def _plain(value: object) -> str:
    return "not given" if value is None else str(value)


def _obstacle_lines(old: Sequence[Any], new: Sequence[Any]) -> Iterator[str]:
    gone, come = _differing(old, new)
    yield from (f"{one.name} is no longer marked where it was" for one in gone)
    yield from (f"{one.name} is marked at x {one.x_m:g} m, y {one.y_m:g} m" for one in come)


def _cut_words(cut: Cut | None) -> str:
    if cut is None:
        return "the music is no longer cut"
    kept = ", ".join(f"{span.start_beat} to {span.end_beat}" for span in cut.keep)
    return f"the music is cut: beats {kept} are kept"


def _notes(before: Routine, after: Routine, performer: str) -> Iterator[Change]:
    old, new = ([n for n in r.notes if n.performer == performer] for r in (before, after))
    gone, come = _differing(old, new)
    for note in gone:
        yield Change(performer, note.beat, f"{_note(before, note)} is gone")
    for note in come:
        yield Change(performer, note.beat, f"{_note(after, note)} is new")


def _note(routine: Routine, note: CueNote) -> str:
    return f'{_at(routine.grid, note.beat)}: {note.kind} "{note.text}"'


# ------------------------------------------------------------------ one performer


def _of_performer(before: Routine, after: Routine, name: str) -> Iterator[Change]:
    there = [name in {p.name for p in r.performers} for r in (before, after)]
    if there == [False, True]:
        count = len(after.part(name).placements)
        yield Change(name, None, f"is new, with {count} moves of her own")
        return
    if there == [True, False]:
        yield Change(name, None, "is no longer in the piece")
        return
    old, new = before.performer(name), after.performer(name)
    if old != new:
        yield from (Change(name, None, line) for line in _performer_lines(old, new))
    yield from _followings(before, after, name)
    yield from _placements(before, after, name)
    yield from _spots(before, after, name)
    yield from _notes(before, after, name)


def _performer_lines(old: Performer, new: Performer) -> Iterator[str]:
    for field in fields(old):
        was, now = getattr(old, field.name), getattr(new, field.name)
        if was == now:
            continue
        if field.name in ("body", "right_prop", "left_prop"):
            parts = [f.name for f in fields(was) if getattr(was, f.name) != getattr(now, f.name)]
            told = (f"{part} {getattr(now, part)} (was {getattr(was, part)})" for part in parts)
            yield f"{field.name.replace('_', ' ')}: {', '.join(told)}"
        else:
            yield f"{field.name}: {_plain(now)} (was {_plain(was)})"


def _followings(before: Routine, after: Routine, name: str) -> Iterator[Change]:
    gone, come = _differing(before.part(name).following, after.part(name).following)
    for one in gone:
        yield Change(name, _start(one), f"no longer {following_words(one, before.grid)}")
    for one in come:
        yield Change(name, _start(one), f"now {following_words(one, after.grid)}")


def _start(following: Following) -> Fraction | None:
    return None if following.span is None else following.span.start_beat


def following_words(following: Following, grid: MusicGrid) -> str:
    """``"follows Wren mirrored, 4 beats later, from bar 5, count 1 to bar 9, count 1"``."""
    words = [f"follows {following.performer} {following.likeness}"]
    if following.delay_beats:
        words.append(f"{beats_words(following.delay_beats)} later")
    if following.span is not None:
        words.append(_from_to(following.span, grid))
    return ", ".join(words)


def _from_to(span: BeatSpan, grid: MusicGrid) -> str:
    return f"from {_at(grid, span.start_beat)} to {_at(grid, span.end_beat)}"


def _placements(before: Routine, after: Routine, name: str) -> Iterator[Change]:
    gone, come = _differing(before.part(name).placements, after.part(name).placements)
    grids = before.grid, after.grid
    for old, new in _paired(gone, come, _in_its_place):
        place = _at(grids[1], new.span.start_beat)
        yield Change(name, new.span.start_beat, f"{place}: {_otherwise(old, new)}")
    for old, new in _paired(gone, come, lambda a, b: a.move == b.move):
        told = _otherwise(old, new)
        more = f", {told}" if told else ""
        places = _at(grids[0], old.span.start_beat), _at(grids[1], new.span.start_beat)
        words = f"{old.move} moved from {places[0]} to {places[1]}{more}"
        yield Change(name, new.span.start_beat, words)
    for old in gone:
        words = f"{old.move} is gone, {beats_words(old.span.length_beats)}"
        yield Change(name, old.span.start_beat, f"{_at(grids[0], old.span.start_beat)}: {words}")
    for new in come:
        words = f"{new.move} is new, {beats_words(new.span.length_beats)}"
        yield Change(name, new.span.start_beat, f"{_at(grids[1], new.span.start_beat)}: {words}")


def _in_its_place(old: Placement, new: Placement) -> bool:
    same = old.span.start_beat == new.span.start_beat
    return same and not set(old.hands).isdisjoint(new.hands)


def _otherwise(old: Placement, new: Placement) -> str:
    """How a placement differs, its start aside."""
    words = []
    if old.move != new.move:
        words.append(f"{new.move} instead of {old.move}")
    elif old.span.start_beat == new.span.start_beat:
        words.append(new.move)
    if old.span.length_beats != new.span.length_beats:
        lengths = beats_words(new.span.length_beats), beats_words(old.span.length_beats)
        words.append(f"{lengths[0]} instead of {lengths[1]}")
    if old.rate != new.rate:
        words.append(f"at {rate_words(new.rate)} instead of {rate_words(old.rate)}")
    for field in fields(old.style):
        was, now = getattr(old.style, field.name), getattr(new.style, field.name)
        if was != now:
            words.append(_style_words(field.name, now))
    if old.facing_turns != new.facing_turns:
        words.append(f"facing {new.facing_turns} turn instead of {old.facing_turns}")
    if old.notes != new.notes:
        words.append(f'note "{new.notes}"' if new.notes else "its note taken out")
    if old.pinned != new.pinned:
        words.append("pinned" if new.pinned else "no longer pinned")
    return ", ".join(words)


def _style_words(name: str, now: object) -> str:
    match name:
        case "mirrored" | "swapped":
            done = "mirrored" if name == "mirrored" else "with the hands swapped"
            return done if now else f"no longer {done}"
        case "entry":
            return f"entered on its downbeat {now}"
        case "orientation_turns":
            return f"turned by {now} turn"
        case "relation":
            return "hands as the move has them" if now is None else f"hands {now}"
        case "hand":
            return f"{now} hand{'s' if now == 'both' else ''}"
        case _:
            return f"{name} {'as usual' if now is None else now}"


def _spots(before: Routine, after: Routine, name: str) -> Iterator[Change]:
    gone, come = _differing(*([s for s in r.spots if s.performer == name] for r in (before, after)))
    for old, new in _paired(gone, come, lambda a, b: a.beat == b.beat):
        yield Change(
            name, new.beat, f"{_at(after.grid, new.beat)}: {_spot_change(old, new, after)}"
        )
    for old, new in _paired(gone, come, lambda a, b: spot_place(a) == spot_place(b)):
        places = _at(before.grid, old.beat), _at(after.grid, new.beat)
        words = f"the spot {spot_words(new, after)} is reached at {places[1]}, not at {places[0]}"
        yield Change(name, new.beat, words)
    for old in gone:
        words = f"{_at(before.grid, old.beat)}: the spot {spot_words(old, before)} is gone"
        yield Change(name, old.beat, words)
    for new in come:
        words = f"{_at(after.grid, new.beat)}: a new spot, {spot_words(new, after)}"
        yield Change(name, new.beat, words)


def spot_words(spot: Spot, routine: Routine) -> str:
    return place_words(spot_place(spot), routine.stage)


def _spot_change(old: Spot, new: Spot, after: Routine) -> str:
    words = []
    if spot_place(old) != spot_place(new):
        distance = spot_place(old).distance_m(spot_place(new))
        words.append(f"the spot moved {distance:.2f} m, to {spot_words(new, after)}")
    if old.facing_turns != new.facing_turns:
        words.append(f"facing {facing_words(new.facing_turns, after.stage)}")
    if old.travel_beats != new.travel_beats:
        beats = beats_words(new.travel_beats), beats_words(old.travel_beats)
        words.append(f"walked to in {beats[0]} instead of {beats[1]}")
    return ", ".join(words)


# ------------------------------------------------------------------ what differs


def _differing(old: Sequence[T], new: Sequence[T]) -> tuple[list[T], list[T]]:
    """What is only in the one and only in the other, in their orders; equal ones pair off."""
    return _without(old, new), _without(new, old)


def _without(some: Sequence[T], others: Sequence[T]) -> list[T]:
    left = Counter(others)
    kept = []
    for one in some:
        if left[one] > 0:
            left[one] -= 1
        else:
            kept.append(one)
    return kept


def _paired(gone: list[T], come: list[T], alike: Callable[[T, T], bool]) -> list[tuple[T, T]]:
    """What belongs together, taken out of both lists."""
    pairs = []
    for old in list(gone):
        for new in come:
            if alike(old, new):
                pairs.append((old, new))
                gone.remove(old)
                come.remove(new)
                break
    return pairs


def _at(grid: MusicGrid, beat: Fraction) -> str:
    return str(grid.meter_map.position(beat))
