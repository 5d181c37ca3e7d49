"""Two people's versions of a routine made one: what each changed since they had the same.

Changes to different parts, or to different bars of one part, go together. Where both changed the
same thing in different ways, that is a conflict with its bar and performer; nothing is lost without
being told.
"""

from collections import Counter
from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from fractions import Fraction
from itertools import product
from typing import Any, Generic, Literal, TypeAlias, TypeVar

from composer.arrange.compare import following_words, spot_words
from composer.errors import ComposerError
from composer.score.routine import CueNote, Following, Part, Performer, Placement, Routine, Spot
from composer.timing.beats import BeatSpan, beats_words
from composer.timing.grid import MusicGrid

T = TypeVar("T", bound=Hashable)
Side: TypeAlias = Literal["one", "other"]


@dataclass(frozen=True, slots=True)
class Conflict:
    """Something that both changed, each in a way of her own."""

    performer: str
    """Empty for what belongs to the whole piece."""
    beat: Fraction | None
    words: str


@dataclass(frozen=True, slots=True)
class Merged:
    """Both versions in one; with conflicts, what was taken from the preferred side."""

    routine: Routine | None
    """None while there are conflicts and nobody's version is preferred."""
    conflicts: tuple[Conflict, ...]


def merge(base: Routine, one: Routine, other: Routine, prefer: Side | None = None) -> Merged:
    """Both versions' changes since ``base``, together.

    Parameters
    ----------
    prefer : "one" or "other", optional
        Whose version is taken where they conflict. The conflicts are told all the same.

    Raises
    ------
    ComposerError
        If what comes out does not hold together, such as a spot for who was taken out.
    """
    desk = _Desk(base, one, other, prefer)
    try:
        routine = desk.merged()
    except ValueError as error:
        raise ComposerError(
            f"the two versions do not go together: {error}; mend one of them and try again"
        ) from None
    conflicts = tuple(desk.conflicts)
    return Merged(routine if not conflicts or prefer else None, conflicts)


@dataclass(frozen=True)
class _Kind(Generic[T]):
    """Items of one sort: when two stand in each other's way, and how to tell of one."""

    clash: Callable[[T, T], bool]
    same_thing: Callable[[T, T], bool]
    """Whether an item may be what became of another that was taken out."""
    beat: Callable[[T], Fraction | None]
    words: Callable[[T], str]


_WHOLE = {
    "title": "the title",
    "track": "the track",
    "performance_date": "the date",
    "cut": "the cut of the music",
    "corrections": "what was put right about the beats",
}


class _Desk:
    """One merge under way."""

    def __init__(self, base: Routine, one: Routine, other: Routine, prefer: Side | None) -> None:
        self.base, self.one, self.other = base, one, other
        self.prefer = prefer
        self.conflicts: list[Conflict] = []
        self._only_in: dict[str, Routine] = {}
        """Who was taken out by one side and changed by the other, with that version of her."""

    @property
    def versions(self) -> tuple[Routine, Routine, Routine]:
        return self.base, self.one, self.other

    def merged(self) -> Routine:
        performers = tuple(self._performers())
        names = [performer.name for performer in performers]
        parts = [self._part(name) for name in names]
        whole = {
            field: self._value("", words, *(getattr(r, field) for r in self.versions))
            for field, words in _WHOLE.items()
        }
        return replace(
            self.base,
            **whole,
            grid=self._fields("", "the music", *(r.grid for r in self.versions)),
            stage=self._fields("", "the stage", *(r.stage for r in self.versions)),
            performers=performers,
            parts=tuple(part for part in parts if part.placements or part.following),
            spots=tuple(self._spots(names)),
            notes=tuple(self._notes(names)),
        )

    # -------------------------------------------------------------- single values

    def _value(self, performer: str, what: str, base: Any, one: Any, other: Any) -> Any:
        if other in (base, one):
            return one
        if one == base:
            return other
        self.conflicts.append(Conflict(performer, None, f"{what}: both changed it"))
        return other if self.prefer == "other" else one

    def _fields(self, performer: str, what: str, base: Any, one: Any, other: Any) -> Any:
        """A value with fields of its own: each goes with whoever changed it."""
        found = {}
        for field in fields(base):
            values = [getattr(value, field.name) for value in (base, one, other)]
            name = f"{what}, {field.name}"
            alike = all(is_dataclass(v) and type(v) is type(values[0]) for v in values)
            merged = self._fields if alike and field.name in ("body", "comfort") else self._value
            found[field.name] = merged(performer, name, *values)
        return replace(base, **found)

    # -------------------------------------------------------------- performers

    def _performers(self) -> Iterator[Performer]:
        people = [{p.name: p for p in routine.performers} for routine in self.versions]
        for name in dict.fromkeys(name for known in (people[1], people[2]) for name in known):
            base, one, other = (known.get(name) for known in people)
            if one is not None and other is not None:
                if base is None:
                    yield self._value(name, "both brought her in", base, one, other)
                else:
                    yield self._fields(name, "her measures and props", base, one, other)
            elif base is None or not self._taken_out(name, stays_in_one=other is None):
                found = one or other
                assert found is not None
                yield found

    def _taken_out(self, name: str, *, stays_in_one: bool) -> bool:
        """Whether a performer whom one side took out goes: not if the other went on with her."""
        stays = self.one if stays_in_one else self.other
        if _all_of(stays, name) == _all_of(self.base, name):
            return True
        self._only_in[name] = stays
        self.conflicts.append(
            Conflict(name, None, "one took her out of the piece, the other changed her part")
        )
        return self.prefer == ("other" if stays_in_one else "one")

    # -------------------------------------------------------------- parts, spots, notes

    def _part(self, name: str) -> Part:
        parts = [_part_of(routine, name) for routine in self.versions]
        placements = self._items(name, _PLACEMENTS, *(part.placements for part in parts))
        following = self._items(name, _followings(self.base.grid), *(p.following for p in parts))
        return Part(name, tuple(placements), tuple(following))

    def _spots(self, names: Sequence[str]) -> list[Spot]:
        found: list[Spot] = []
        for name in names:
            own = ([s for s in r.spots if s.performer == name] for r in self.versions)
            found += self._items(name, _spots(self.base), *own)
        order = {name: index for index, name in enumerate(names)}
        return sorted(found, key=lambda spot: (spot.beat, order[spot.performer]))

    def _notes(self, names: Sequence[str]) -> list[CueNote]:
        found: list[CueNote] = []
        for name in ("", *names):
            own = ([n for n in r.notes if n.performer == name] for r in self.versions)
            found += self._items(name, _NOTES, *own)
        return sorted(found, key=lambda note: note.beat)

    def _items(
        self,
        performer: str,
        kind: _Kind[T],
        base: Sequence[T],
        one: Sequence[T],
        other: Sequence[T],
    ) -> list[T]:
        """The items with what either side took out or brought in."""
        if performer in self._only_in:
            return list(one if self._only_in[performer] is self.one else other)
        mine, theirs = _edits(base, one), _edits(base, other)
        if mine == theirs:
            return list(one)
        clashing = _clashes(kind, mine, theirs)
        for here, there in _worth_telling(kind, clashing):
            self.conflicts.append(_conflict(performer, kind, here, there))
        if self.prefer == "other":
            mine = _apart_from(kind, mine, [here for here, _ in clashing])
        else:
            theirs = _apart_from(kind, theirs, [there for _, there in clashing])
        return _applied(base, mine, theirs)


@dataclass(frozen=True, slots=True)
class _Edit(Generic[T]):
    """An item taken out or brought in; ``nth`` tells equal items apart."""

    item: T
    out: bool
    nth: int


def _edits(base: Sequence[T], version: Sequence[T]) -> list[_Edit[T]]:
    old, new = Counter(base), Counter(version)
    out = [_Edit(item, True, n) for item, count in (old - new).items() for n in range(count)]
    come = [_Edit(item, False, n) for item, count in (new - old).items() for n in range(count)]
    return out + come


def _clashes(
    kind: _Kind[T], mine: list[_Edit[T]], theirs: list[_Edit[T]]
) -> list[tuple[_Edit[T], _Edit[T]]]:
    """Pairs of edits of both sides that cannot both be meant."""
    common = set(mine) & set(theirs)
    found = [
        (here, there)
        for here, there in product(mine, theirs)
        if not (here in common and there in common) and kind.clash(here.item, there.item)
    ]
    return list(dict.fromkeys(found + _moved_twice(kind, common, mine, theirs)))


def _worth_telling(
    kind: _Kind[T], clashing: list[tuple[_Edit[T], _Edit[T]]]
) -> list[tuple[_Edit[T], _Edit[T]]]:
    """What both brought in; of what was taken out only what is not told by that already."""
    told: list[tuple[_Edit[T], _Edit[T]]] = []
    for here, there in sorted(clashing, key=lambda pair: pair[0].out + pair[1].out):
        known = any(
            kind.clash(here.item, one.item) or kind.clash(there.item, other.item)
            for one, other in told
        )
        if not (known and (here.out or there.out)):
            told.append((here, there))
    return sorted(told, key=lambda pair: kind.beat(pair[0].item) or 0)


def _moved_twice(
    kind: _Kind[T], common: set[_Edit[T]], mine: list[_Edit[T]], theirs: list[_Edit[T]]
) -> list[tuple[_Edit[T], _Edit[T]]]:
    """Both took the same item out and put it elsewhere, each in a place of her own."""
    found = []
    for gone in sorted((e for e in common if e.out), key=lambda edit: kind.beat(edit.item) or 0):
        went = [
            [
                e
                for e in edits
                if not e.out and e not in common and kind.same_thing(gone.item, e.item)
            ]
            for edits in (mine, theirs)
        ]
        if went[0] and went[1]:
            found.append((went[0][0], went[1][0]))
    return found


def _apart_from(kind: _Kind[T], edits: list[_Edit[T]], dropped: list[_Edit[T]]) -> list[_Edit[T]]:
    """The edits without those dropped and without what hangs together with them."""
    gone, left = list(dropped), [edit for edit in edits if edit not in dropped]
    found = True
    while found:
        found = False
        for edit in list(left):
            if any(kind.clash(edit.item, one.item) for one in gone):
                gone.append(edit)
                left.remove(edit)
                found = True
    return left


def _applied(base: Sequence[T], mine: list[_Edit[T]], theirs: list[_Edit[T]]) -> list[T]:
    both = list(dict.fromkeys([*mine, *theirs]))
    out = Counter(edit.item for edit in both if edit.out)
    kept = []
    for item in base:
        if out[item] > 0:
            out[item] -= 1
        else:
            kept.append(item)
    return kept + [edit.item for edit in both if not edit.out]


def _conflict(performer: str, kind: _Kind[T], here: _Edit[T], there: _Edit[T]) -> Conflict:
    beats = [beat for edit in (here, there) if (beat := kind.beat(edit.item)) is not None]
    told = [f"{kind.words(e.item)}{' taken out' if e.out else ''}" for e in (here, there)]
    return Conflict(performer, min(beats, default=None), f"one has {told[0]}, the other {told[1]}")


# ------------------------------------------------------------------ what stands in whose way


def _placements_clash(one: Placement, other: Placement) -> bool:
    return one.span.intersects(other.span) and not set(one.hands).isdisjoint(other.hands)


_PLACEMENTS: _Kind[Placement] = _Kind(
    clash=_placements_clash,
    same_thing=lambda gone, come: gone.move == come.move,
    beat=lambda placed: placed.span.start_beat,
    words=lambda placed: f"{placed.move} for {beats_words(placed.span.length_beats)}",
)

_NOTES: _Kind[CueNote] = _Kind(
    clash=lambda one, other: one.beat == other.beat and one.kind == other.kind,
    same_thing=lambda gone, come: gone.text == come.text,
    beat=lambda note: note.beat,
    words=lambda note: f'{note.kind} "{note.text}"',
)


def _followings(grid: MusicGrid) -> _Kind[Following]:
    def clash(one: Following, other: Following) -> bool:
        if one.span is None or other.span is None:
            return True
        return one.span.intersects(other.span)

    return _Kind(
        clash=clash,
        same_thing=lambda gone, come: gone.performer == come.performer,
        beat=lambda one: None if one.span is None else one.span.start_beat,
        words=lambda one: following_words(one, grid),
    )


def _spots(routine: Routine) -> _Kind[Spot]:
    def clash(one: Spot, other: Spot) -> bool:
        """Whether they are reached on one beat, or walked to at one time."""
        if one.beat == other.beat:
            return True
        return min(one.travel_beats, other.travel_beats) > 0 and BeatSpan(
            one.beat - one.travel_beats, one.travel_beats
        ).intersects(BeatSpan(other.beat - other.travel_beats, other.travel_beats))

    return _Kind(
        clash=clash,
        same_thing=lambda _gone, _come: True,
        beat=lambda spot: spot.beat,
        words=lambda spot: f"a spot {spot_words(spot, routine)}",
    )


def _part_of(routine: Routine, name: str) -> Part:
    known = {part.performer: part for part in routine.parts}
    return known.get(name, Part(name))


def _all_of(routine: Routine, name: str) -> tuple[object, ...]:
    """Everything that a version says about one performer."""
    person = [performer for performer in routine.performers if performer.name == name]
    spots = [spot for spot in routine.spots if spot.performer == name]
    notes = [note for note in routine.notes if note.performer == name]
    return person, _part_of(routine, name), spots, notes
