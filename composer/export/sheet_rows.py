"""What stands on the printed sheets, as plain values: eights, boxes, cues and numbered findings."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from composer.arrange.following import leader_words
from composer.check.findings import Finding, Level
from composer.export.choice import Choice, Section, chosen_span, sections, told_words
from composer.export.staging import StagedMove
from composer.score.cues import Cue, cue_list, move_words
from composer.score.parts import PlacedMove
from composer.score.routine import Routine
from composer.timing.beats import BeatSpan, beats_text, beats_words
from composer.timing.grid import clock_text

COUNTS_PER_ROW = 8
"""Dancers count in eights (common practice): as many whole bars a row as fit."""
MOST_NUMBERS = 4
"""Findings numbered in one box of the count sheet."""
QUIET_KINDS = ("move", "end", "phrase")
"""Cues that the boxes and headings already show."""


@dataclass(frozen=True, slots=True)
class Box:
    """A move, or the part of it that falls in one row; beats from the row's start."""

    lane: str
    """"both", "right" or "left"."""
    start_beats: float
    end_beats: float
    name: str
    detail: str
    beats: str
    """How long the whole move lasts."""
    picture: int | None
    begins: bool
    """False where it goes on from the row before."""
    flows: bool
    """Whether it follows another move of the same hand without a gap."""
    findings: tuple[tuple[int, str], ...] = ()
    """Number and level of what was found where it begins."""


@dataclass(frozen=True, slots=True)
class Remark:
    """Something on a beat of the row that is not a move."""

    at_beats: float
    text: str


@dataclass(frozen=True, slots=True)
class Eight:
    """A row of the count sheet."""

    bar: str
    time: str
    length_beats: float
    counts: tuple[tuple[float, str, bool], ...]
    """Place in beats, numeral, and whether a bar begins there."""
    boxes: tuple[Box, ...]
    remarks: tuple[Remark, ...]


@dataclass(frozen=True, slots=True)
class SheetSection:
    """A phrase of the count sheet."""

    name: str
    number: int
    extent: str
    energy: float
    eights: tuple[Eight, ...]
    findings: tuple[tuple[int, str, str], ...] = ()
    """Number, level, and the finding in words."""


@dataclass(frozen=True, slots=True)
class CueRow:
    """A row of the cue sheet."""

    place: str
    time: str
    ahead: str
    what: str
    kind: str
    picture: int | None
    phrase: str
    """Name of the phrase, on the first cue in it only."""


@dataclass(frozen=True)
class Numbered:
    """Findings of one performer in time order with the numbers they bear on her sheet."""

    findings: tuple[Finding, ...]

    def within(self, span: BeatSpan) -> Iterator[tuple[int, Finding]]:
        for number, finding in enumerate(self.findings, 1):
            if span.contains(finding.beat):
                yield number, finding


def numbered_findings(
    routine: Routine, performer: str, choice: Choice, findings: tuple[Finding, ...]
) -> Numbered:
    """Her own findings and the group's, notes left out: the sheet is for what needs care."""
    span = chosen_span(routine, choice)
    wanted = [
        finding
        for finding in findings
        if finding.is_about(performer)
        and finding.level > Level.NOTE
        and (choice.phrase is None or span.contains(finding.beat))
    ]
    return Numbered(tuple(sorted(wanted, key=lambda finding: finding.beat)))


def sheet_sections(
    routine: Routine,
    performer: str,
    choice: Choice,
    moves: tuple[StagedMove, ...],
    pictures: Mapping[int, int],
    numbered: Numbered,
) -> tuple[SheetSection, ...]:
    """The count sheet of a performer. ``pictures`` tells each move's picture by its place."""
    cues = [cue for cue in cue_list(routine, performer) if cue.kind not in QUIET_KINDS]
    found = []
    explained: set[str] = set()
    for section in sections(routine, choice):
        rows = tuple(
            _eight(routine, span, moves, pictures, cues, numbered)
            for span in eights(routine, section.span)
        )
        notes = tuple(_notes(routine, section, numbered, explained))
        extent = section_extent(routine, section)
        found.append(
            SheetSection(section.name, section.number, extent, section.energy, rows, notes)
        )
    return tuple(found)


def _notes(
    routine: Routine, section: Section, numbered: Numbered, explained: set[str]
) -> Iterator[tuple[int, str, str]]:
    """What was found in a phrase; the reason of a rule is given once on the whole sheet."""
    for number, finding in numbered.within(section.span):
        why = finding.why not in explained
        explained.add(finding.why)
        yield number, str(finding.level), _finding_words(routine, finding, why=why)


def eights(routine: Routine, span: BeatSpan) -> Iterator[BeatSpan]:
    """A stretch cut into rows: as many whole bars as make up to eight counts."""
    meters = routine.grid.meter_map
    beat = span.start_beat
    while beat < span.end_beat:
        bars = max(1, COUNTS_PER_ROW // meters.meter_at(beat).beats_per_bar)
        end = meters.bar_start_beat(meters.position(beat).bar + bars)
        end = min(
            [end, span.end_beat, *(c.start_beat for c in meters.changes if c.start_beat > beat)]
        )
        yield BeatSpan(beat, end - beat)
        beat = end


def section_extent(routine: Routine, section: Section) -> str:
    """``"bars 5 to 8, 16 beats, from 0:08.4"``."""
    meters = routine.grid.meter_map
    first = meters.position(section.span.start_beat).bar
    end = meters.position(section.span.end_beat)
    last = max(first, end.bar - (end.count == 1))
    bars = f"bars {first} to {last}" if last > first else f"bar {first}"
    start = clock_text(routine.grid.tempo_map.seconds(section.span.start_beat))
    return f"{bars}, {beats_words(section.span.length_beats)}, from {start}"


def _eight(
    routine: Routine,
    span: BeatSpan,
    moves: tuple[StagedMove, ...],
    pictures: Mapping[int, int],
    cues: list[Cue],
    numbered: Numbered,
) -> Eight:
    meters = routine.grid.meter_map
    first = ceil(span.start_beat)
    counts = tuple(
        (
            float(beat - span.start_beat),
            str(beat - first + 1),
            meters.is_downbeat(Fraction(beat)),
        )
        for beat in range(first, ceil(span.end_beat))
    )
    boxes = tuple(
        _box(routine, span, index, moves, pictures, numbered)
        for index, move in enumerate(moves)
        if span.intersects(move.placed.span)
    )
    remarks = tuple(
        Remark(float(cue.beat - span.start_beat), told_words(cue.kind, cue.text))
        for cue in cues
        if span.contains(cue.beat)
    )
    return Eight(
        str(meters.position(span.start_beat).bar),
        clock_text(routine.grid.tempo_map.seconds(span.start_beat)),
        float(span.length_beats),
        counts,
        boxes,
        remarks,
    )


def _box(
    routine: Routine,
    span: BeatSpan,
    index: int,
    moves: tuple[StagedMove, ...],
    pictures: Mapping[int, int],
    numbered: Numbered,
) -> Box:
    placed = moves[index].placed
    begins = placed.span.start_beat >= span.start_beat
    return Box(
        lane=placed.placement.style.hand,
        start_beats=float(max(placed.span.start_beat, span.start_beat) - span.start_beat),
        end_beats=float(min(placed.span.end_beat, span.end_beat) - span.start_beat),
        name=placed.placement.move,
        detail=move_detail(routine, moves[index]),
        beats=beats_words(placed.span.length_beats),
        picture=pictures.get(index) if begins else None,
        begins=begins,
        flows=begins and _flows(index, moves),
        findings=_gravest(span, placed, numbered),
    )


def _gravest(span: BeatSpan, placed: PlacedMove, numbered: Numbered) -> tuple[tuple[int, str], ...]:
    """Numbers of what was found in a move within a row, the gravest that there is room for."""
    found = [
        (number, finding)
        for number, finding in numbered.within(span)
        if placed.span.contains(finding.beat)
        and (finding.hand is None or finding.hand in placed.placement.hands)
    ]
    kept = sorted(found, key=lambda pair: (-pair[1].level, pair[0]))[:MOST_NUMBERS]
    return tuple((number, str(finding.level)) for number, finding in sorted(kept))


def _flows(index: int, moves: tuple[StagedMove, ...]) -> bool:
    here = moves[index].placed
    return any(
        other.placed.span.end_beat == here.span.start_beat
        and set(other.placed.placement.hands) & set(here.placement.hands)
        for other in moves[:index]
    )


def move_detail(routine: Routine, move: StagedMove) -> str:
    """What is particular about a placement, and with whom it is done, without the move's name."""
    placement = move.placed.placement
    words = move_words(move.placed).removeprefix(placement.move).removeprefix(", ")
    extras = [words, beats_words(placement.span.length_beats), leader_words(routine, move.placed)]
    if placement.facing_turns:
        extras.append(f"facing {beats_text(placement.facing_turns % 1)} turn")
    extras += ["pinned"] if placement.pinned else []
    extras += [placement.notes] if placement.notes else []
    return ", ".join(extra for extra in extras if extra)


def _finding_words(routine: Routine, finding: Finding, *, why: bool) -> str:
    """Where, what, and the reason where it has not been given on this sheet yet."""
    place = routine.grid.meter_map.position(finding.beat)
    told = finding.hand is None or str(finding.hand) in finding.message
    hand = "" if told else f"{finding.hand} hand, "
    words = f"{place}: {hand}{finding.message.rstrip('.')}."
    return f"{words} {finding.why.rstrip('.')}." if why else words


def cue_rows(
    routine: Routine,
    performer: str,
    choice: Choice,
    moves: tuple[StagedMove, ...],
    pictures: Mapping[int, int],
) -> tuple[CueRow, ...]:
    """The cue sheet of a performer: place, time, how far ahead it is called, what."""
    span, grid = chosen_span(routine, choice), routine.grid
    by_start: dict[tuple[Fraction, str], int | None] = {
        (move.placed.span.start_beat, move.placed.placement.style.hand): pictures.get(index)
        for index, move in enumerate(moves)
    }
    phrases = sections(routine, choice)
    rows, last = [], ""
    for cue in cue_list(routine, performer):
        if choice.phrase is not None and not span.contains(cue.beat):
            continue
        phrase = next((s.name for s in phrases if s.span.contains(cue.beat)), "")
        position = grid.meter_map.position(cue.beat)
        rows.append(
            CueRow(
                place=f"{position.bar}.{beats_text(position.count)}",
                time=clock_text(grid.tempo_map.seconds(cue.beat)),
                ahead=beats_text(cue.beat - cue.call_beat),
                what=told_words(cue.kind, cue.text),
                kind=cue.kind,
                picture=by_start.get((cue.beat, cue.hand)) if cue.kind == "move" else None,
                phrase=phrase if phrase != last else "",
            )
        )
        last = phrase
    return tuple(rows)
