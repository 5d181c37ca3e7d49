"""What is found about the group: the floor, parts that follow others, and who lands together."""

from collections.abc import Iterator, Mapping
from fractions import Fraction
from functools import lru_cache

from composer.check.findings import Finding, Level
from composer.check.group_canon import canon_findings
from composer.check.landing import MovesInOrder, closes_at
from composer.check.limits import limits_for
from composer.check.spacing import exact_beat, together
from composer.check.spacing_mirror import askew_turns
from composer.check.spacing_walks import names_words
from composer.check.spacing_words import floor_findings, piece_span
from composer.moves.library import Library
from composer.score.floor import Way, ways
from composer.score.parts import PlacedMove
from composer.score.routine import Likeness, Performer, Routine
from composer.score.same import Same
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid


def group_findings(
    routine: Routine, parts: dict[str, tuple[PlacedMove, ...]], library: Library
) -> tuple[Finding, ...]:
    """Everything that is found about the group, without anybody's own moves.

    Parameters
    ----------
    parts : dict
        Everybody's performed moves.
    """
    return (
        *where_they_stand(routine, parts),
        *canon_findings(routine, parts),
        *_phrase_ends(routine, parts, library),
    )


def where_they_stand(
    routine: Routine, parts: dict[str, tuple[PlacedMove, ...]]
) -> tuple[Finding, ...]:
    """What is found about spots and ways alone: the part of it that other spots can mend."""
    return (*floor_findings(routine, parts), *_mirrors(routine))


# ------------------------------------------------------------------ mirrored partners


def _mirrors(routine: Routine) -> Iterator[Finding]:
    """Partners who do each other's mirror image while they stand so that no mirror is seen."""
    found = ways(routine)
    for part in routine.parts:
        for following in part.following:
            pair = part.performer, following.performer
            mirrored = following.likeness is Likeness.MIRRORED and following.delay_beats == 0
            if mirrored and all(name in found for name in pair):
                span = following.span or piece_span(routine, found)
                yield from _askew(routine, pair, (found[pair[0]], found[pair[1]]), span)


def _askew(
    routine: Routine, names: tuple[str, str], two: tuple[Way, Way], span: BeatSpan
) -> Iterator[Finding]:
    limit = limits_for(routine.performer(names[0]))["mirror askew"]
    for beat, turns in _mirror_stands(Same(two[0]), Same(two[1]), span):
        level = limit.level(turns)
        if level is not None:
            yield Finding(
                "mirror stands askew",
                level,
                names[0],
                beat,
                f"{names[0]} mirrors {names[1]}, but where they stand her mirror image would face "
                f"{turns * 360:.0f} degrees away from where she faces",
                "A mirror is seen where both face it alike, side by side or face to face.",
                measured=turns,
                limit=limit.at(level),
                unit=limit.unit,
                others=(names[1],),
            )


@lru_cache(maxsize=1_000)
def _mirror_stands(
    one: Same[Way], other: Same[Way], span: BeatSpan
) -> tuple[tuple[Fraction, float], ...]:
    """While both stand: from which beat on, and by how many turns they miss the mirror."""
    found = []
    for start, _, mine, hers in together(one.value, other.value, span):
        if not (mine.walks or hers.walks):
            beat = exact_beat(start)
            facings = (way.value.stretch_at(beat).start_facing_turns for way in (one, other))
            found.append((beat, askew_turns(mine.start, hers.start, *facings)))
    return tuple(found)


# ------------------------------------------------------------------ phrase ends


def _phrase_ends(
    routine: Routine, parts: Mapping[str, tuple[PlacedMove, ...]], library: Library
) -> Iterator[Finding]:
    """Ends of phrases where some close and others are part-way through a cycle."""
    if len(routine.performers) < 2:
        return
    grid = routine.grid
    closing = {
        name: _closing(Same(moves), Same(routine.performer(name)), Same(library), Same(grid))
        for name, moves in parts.items()
    }
    for index, (phrase, end) in enumerate(
        zip(grid.phrases, _phrase_end_beats(Same(grid)), strict=True)
    ):
        open_ = tuple(name for name, told in closing.items() if told[index] is False)
        closed = [name for name, told in closing.items() if told[index]]
        if open_ and len(closed) + len(open_) > 1:
            yield _open_end(phrase.name, end, closed, open_)


@lru_cache(maxsize=200)
def _closing(
    moves: Same[tuple[PlacedMove, ...]],
    performer: Same[Performer],
    library: Same[Library],
    grid: Same[MusicGrid],
) -> tuple[bool | None, ...]:
    """For the end of every phrase whether one performer closes; None where she rests."""
    ordered, found = MovesInOrder(moves.value), []
    for end in _phrase_end_beats(grid):
        here = ordered.up_to(end)
        told = (closes_at(p, performer.value, library.value, grid.value, end) for p in here)
        found.append(all(told) if here else None)
    return tuple(found)


@lru_cache(maxsize=64)
def _phrase_end_beats(grid: Same[MusicGrid]) -> tuple[Fraction, ...]:
    return tuple(grid.value.phrase_span(k).end_beat for k in range(len(grid.value.phrases)))


def _open_end(phrase: str, beat: Fraction, closing: list[str], open_: tuple[str, ...]) -> Finding:
    who = (
        f"{names_words(closing)} close{'s' if len(closing) == 1 else ''}"
        if closing
        else "nobody closes"
    )
    verb = "is" if len(open_) == 1 else "are"
    return Finding(
        "not everybody closes",
        Level.NOTE,
        open_[0],
        beat,
        f'at the end of "{phrase}" {who}; {names_words(open_)} {verb} part-way through',
        "Where the music closes, a group that closes together is seen to.",
        measured=float(len(open_)),
        unit="performers",
        others=open_[1:],
    )
