"""The floor in words: who stands where, which spot is moved, what is found, what a remedy does."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import zip_longest
from typing import TYPE_CHECKING

from composer.check.findings import Finding, Level
from composer.export.choice import View
from composer.export.floor_cells import ARROWS
from composer.score.floor import Standing, leaves_at, reach_m, spot_place, spots_of, standings
from composer.score.routine import Routine, Spot
from composer.score.stage_words import area_words, facing_words, place_words
from composer.timing.beats import beats_words
from tui.views.floor import floor_page, meeting_now
from tui.views.floor_edits import spot_here
from tui.views.going import phrase_at
from tui.views.marks import LEVEL_GLYPHS
from tui.views.paper import Line, LineWriter, Piece, plain, shortened

if TYPE_CHECKING:
    from composer.arrange.remedies import Remedy

LONG_CELLS = 62
"""From this width on places are told in whole words."""


def floor_findings_of(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Those about places and ways: nobody's moves."""
    return tuple(f for f in findings if not (f.moves or f.indexes or f.hand is not None))


def found_here(routine: Routine, findings: Sequence[Finding], beat: Fraction) -> list[Finding]:
    """The findings of the phrase that holds a beat, and of those whose circles meet on the beat.

    Circles may meet over several phrases; the finding bears the beat on which they are nearest.
    """
    span = phrase_at(routine.grid, beat)
    meeting = {frozenset(pair) for pair in meeting_now(routine, beat)}
    return [
        one
        for one in findings
        if span.contains(one.beat)
        or (one.rule == "circles meet" and frozenset(one.performers) in meeting)
    ]


def phrases_line(routine: Routine, beat: Fraction, width_cells: int) -> Line:
    """The phrases in order, the present one marked; those about it where not all fit."""
    names = [phrase.name for phrase in routine.grid.phrases]
    here = routine.grid.phrase_index_at(beat)
    if not names:
        return (Piece(" no phrases are known", "quiet"),)
    at = here or 0
    first, last = at, at + 1
    used = len(names[at]) + 6
    while first > 0 or last < len(names):
        for index in (last, first - 1):
            if 0 <= index < len(names) and not first <= index < last:
                used += len(names[index]) + 3
                if used <= width_cells:
                    first, last = min(first, index), max(last, index + 1)
        if used > width_cells:
            break
    pieces = [Piece(" " if first == 0 else " … ", "quiet")]
    for index in range(first, last):
        sign = "▸" if index == here else " "
        pieces.append(Piece(f"{sign}{names[index]} ", "strong" if index == here else "quiet"))
    return tuple(pieces)


def standing_lines(
    routine: Routine,
    beat: Fraction,
    findings: Sequence[Finding],
    selected: str,
    width_cells: int,
    view: View,
) -> tuple[Line, ...]:
    """A line for every performer: number, place, facing, and how grave what is found is."""
    there = {one.performer: one for one in standings(routine, beat)}
    gravest = _gravest(found_here(routine, findings, beat))
    longest = min(12, max(len(performer.name) for performer in routine.performers))
    lines = []
    for number, performer in enumerate(routine.performers, 1):
        name, one = performer.name, there.get(performer.name)
        writer = LineWriter(width_cells)
        chosen = name == selected
        writer.put(0, f"{'▸' if chosen else ' '}{number:>2}", "key" if number < 10 else "quiet")
        writer.put(4, shortened(name, longest), "ruler cursor" if chosen else "strong")
        at = 5 + longest
        told = "no spot yet" if one is None else _where(routine, one, view, width_cells)
        mark = gravest.get(name)
        writer.put(at, shortened(told, width_cells - at - 2), "")
        if mark is not None:
            writer.put(width_cells - 2, LEVEL_GLYPHS[mark], str(mark))
        lines.append(writer.line())
    return tuple(lines)


def _gravest(findings: Sequence[Finding]) -> Mapping[str, Level]:
    found: dict[str, Level] = {}
    for one in findings:
        for name in one.performers:
            found[name] = max(one.level, found.get(name, one.level))
    return found


def _where(routine: Routine, one: Standing, view: View, width_cells: int) -> str:
    stage = routine.stage
    if width_cells >= LONG_CELLS:
        facing = facing_words(one.facing_turns, stage)
        walking = ", walking" if one.walks_to else ""
        return f"{place_words(one.place, stage)}, facing {facing}{walking}"
    walking = "∙" if one.walks_to else " "
    turned = 0 if view is View.AUDIENCE else 4
    arrow = ARROWS[(round(float(one.facing_turns) * 8) + turned) % 8]
    if stage.in_the_round:
        return f"{arrow}{walking}{place_words(one.place, stage).removesuffix(' of the middle')}"
    side = "right" if one.place.x_m >= 0 else "left"
    place = f"{abs(one.place.x_m):5.2f} {side:<5} {one.place.y_m:5.2f} up"
    return f"{arrow}{walking}{place}"


def spot_sentence(routine: Routine, performer: str, beat: Fraction) -> str:
    """Which spot of hers the keys move here, and how she comes to it."""
    spot = spot_here(routine, performer, beat)
    if spot is None:
        return f"{performer} has no spot yet; s gives her one here."
    stage, grid = routine.stage, routine.grid
    place = f"{place_words(spot_place(spot), stage)} ({area_words(spot_place(spot), stage)})"
    words = [
        f"{performer}'s spot of {grid.meter_map.position(spot.beat)}: {place}, facing "
        f"{facing_words(spot.facing_turns, stage)}"
    ]
    walk = _walk_words(routine, spot)
    if walk:
        words.append(walk)
    return ", ".join(words) + "."


def _walk_words(routine: Routine, spot: Spot) -> str:
    earlier = [one for one in spots_of(routine.spots, spot.performer) if one.beat < spot.beat]
    if not earlier:
        return ""
    before = earlier[-1]
    distance = spot_place(before).distance_m(spot_place(spot))
    if not distance:
        return "where she stood before"
    leaves = leaves_at(spot, before)
    beats = spot.beat - leaves
    if not beats:
        return f"{distance:.2f} m with no time to walk"
    seconds = routine.grid.tempo_map.seconds(spot.beat) - routine.grid.tempo_map.seconds(leaves)
    return (
        f"{distance:.2f} m walked in {beats_words(beats)} from "
        f"{routine.grid.meter_map.position(leaves)} at {distance / seconds:.2f} m/s"
    )


def nearest_sentence(routine: Routine, performer: str, beat: Fraction) -> str:
    """Who is nearest to her on a beat, and how much is free between the circles; or empty."""
    there = {one.performer: one.place for one in standings(routine, beat)}
    if performer not in there or len(there) < 2:
        return ""
    reach = {one.name: reach_m(one) for one in routine.performers}
    free, other = min(
        (there[performer].distance_m(place) - reach[performer] - reach[name], name)
        for name, place in there.items()
        if name != performer
    )
    distance = there[performer].distance_m(there[other])
    room = f"{free:.2f} m free between the circles" if free >= 0 else f"circles {-free:.2f} m over"
    return f"Nearest on this beat: {other}, {distance:.2f} m away, {room}."


# ------------------------------------------------------------------ remedies, before and after

PREVIEW_ROWS = 12


def beside(left: Sequence[Line], right: Sequence[Line], width_cells: int) -> tuple[Line, ...]:
    """Two blocks of lines next to each other, the left one filled up to a width."""
    lines = []
    for one, other in zip_longest(left, right, fillvalue=()):
        gap = max(1, width_cells - len(plain(one)))
        lines.append((*one, Piece(" " * gap), *other))
    return tuple(lines)


def small_plan(
    routine: Routine, beat: Fraction, title: str, width_cells: int, selected: str = ""
) -> tuple[Line, ...]:
    """A plan of a few rows under a title."""
    page = floor_page(
        routine, beat, columns=max(24, width_cells), rows=PREVIEW_ROWS, selected=selected
    )
    return ((Piece(f" {title}", "title"),), *page.lines[2:-1])


def floor_preview(
    remedy: "Remedy", before: Routine, finding: Finding, width_cells: int
) -> tuple[Line, ...]:
    """What goes and comes, then the floor as it is and mended, side by side."""
    half = width_cells // 2
    who, beat = finding.performer, finding.beat
    return (
        _goes_line("takes away", remedy.removes, width_cells),
        _goes_line("brings", remedy.adds, width_cells),
        *beside(
            small_plan(before, beat, "as it is", half - 1, who),
            small_plan(remedy.routine, beat, "mended", half - 1, who),
            half,
        ),
    )


def _goes_line(title: str, findings: Sequence[Finding], width_cells: int) -> Line:
    if not findings:
        return (Piece(f" {title} nothing", "quiet"),)
    gravest = max(findings, key=lambda one: one.level)
    more = f" (+{len(findings) - 1})" if len(findings) > 1 else ""
    rule = f"{LEVEL_GLYPHS[gravest.level]} {gravest.rule}{more}"
    room = width_cells - len(title) - len(rule) - 4
    return (
        Piece(f" {title} ", "quiet"),
        Piece(rule, str(gravest.level)),
        Piece(f" {shortened(gravest.message, room)}", "quiet"),
    )
