"""Marks on the count sheet: what is to be seen at a beat, as a glyph and words."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import groupby

from composer.check.findings import Finding, Level
from composer.motion.hands import Hand
from composer.score.parts import PlacedMove
from composer.score.routine import Routine

LEVEL_GLYPHS = {Level.ERROR: "✖", Level.WARNING: "▲", Level.NOTE: "○"}


@dataclass(frozen=True, slots=True)
class Mark:
    """Something to see at a beat. The glyph alone tells the level, the words tell what."""

    beat: Fraction
    glyph: str
    words: str
    role: str
    at: float = field(init=False, repr=False, compare=False)
    """The beat as a float: marks are put in order and dealt out at every edit."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", float(self.beat))


def finding_marks(findings: Iterable[Finding]) -> tuple[Mark, ...]:
    """Marks of one performer's findings, which come in time order, the gravest first on a beat.

    Both hands' findings of one rule make one mark; several notes on one beat are counted only.
    """
    marks: list[Mark] = []
    for (beat, level), group in groupby(
        findings, key=lambda finding: (finding.beat, finding.level)
    ):
        rules: dict[str, list[Hand | None]] = {}
        for finding in group:
            rules.setdefault(finding.rule, []).append(finding.hand)
        words = [rule + _hand_words(hands) for rule, hands in rules.items()]
        if level is Level.NOTE and len(words) > 1:
            words = [f"{len(words)} notes"]
        marks += [Mark(beat, LEVEL_GLYPHS[level], text, str(level)) for text in words]
    return tuple(marks)


def _hand_words(hands: list[Hand | None]) -> str:
    named = {hand for hand in hands if hand is not None}
    if not named:
        return ""
    return " (both)" if len(named) == 2 else f" ({next(iter(named))})"


def placed_marks(moves: Iterable[PlacedMove]) -> Iterator[Mark]:
    """Facing and notes of placements."""
    for move in moves:
        placement = move.placement
        words = []
        if placement.facing_turns:
            words.append(facing_words(placement.facing_turns))
        if placement.notes:
            words.append(" ".join(placement.notes.split()))
        if words:
            yield Mark(move.span.start_beat, "»", ", ".join(words), "remark")


def routine_marks(routine: Routine, performer: str) -> Iterator[Mark]:
    """Spots and cue notes of one performer."""
    for spot in routine.spots:
        if spot.performer == performer:
            side = "stage right" if spot.x_m >= 0 else "stage left"
            words = f"at spot {abs(spot.x_m):g} m {side}, {spot.y_m:g} m upstage"
            yield Mark(spot.beat, "»", words, "remark")
    for note in routine.notes:
        if note.performer in ("", performer):
            kind = "" if note.kind == "note" else f"{note.kind}: "
            yield Mark(note.beat, "»", kind + note.text, "remark")


def facing_words(turns: Fraction) -> str:
    """``"faces 1/4 turn left"``: counter-clockwise seen from above is to the performer's left."""
    wrapped = turns % 1
    if wrapped == 0:
        return "faces the audience"
    if wrapped == Fraction(1, 2):
        return "faces upstage"
    if wrapped < Fraction(1, 2):
        return f"faces {wrapped} turn left"
    return f"faces {1 - wrapped} turn right"
