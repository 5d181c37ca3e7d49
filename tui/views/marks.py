"""Marks on the count sheet: what is to be seen at a beat, as a glyph and words."""

from collections.abc import Iterable, Iterator
from fractions import Fraction
from itertools import groupby
from typing import NamedTuple

from composer.check.findings import Finding, Level
from composer.motion.hands import Hand
from composer.score.parts import PlacedMove
from composer.score.routine import Routine

LEVEL_GLYPHS = {Level.ERROR: "✖", Level.WARNING: "▲", Level.NOTE: "○"}


class Mark(NamedTuple):
    """Something to see at a beat. The glyph alone tells the level, the words tell what."""

    at: float
    """The beat; a float, as marks are put in order and dealt out to rows at every edit."""
    glyph: str
    words: str
    role: str


def finding_marks(findings: Iterable[Finding]) -> tuple[Mark, ...]:
    """Marks of one performer's findings, which come in time order, the gravest first on a beat.

    Both hands' findings of one rule make one mark; several notes on one beat are counted only.
    """
    marks: list[Mark] = []
    for (at, level), group in groupby(
        findings, key=lambda finding: (float(finding.beat), finding.level)
    ):
        hands: dict[str, set[Hand | None]] = {}
        for finding in group:
            hands.setdefault(finding.rule, set()).add(finding.hand)
        if level is Level.NOTE and len(hands) > 1:
            words = [f"{len(hands)} notes"]
        else:
            words = [rule + _hand_words(named) for rule, named in hands.items()]
        glyph, role = LEVEL_GLYPHS[level], str(level)
        marks += [Mark(at, glyph, text, role) for text in words]
    return tuple(marks)


def _hand_words(hands: set[Hand | None]) -> str:
    named = hands - {None}
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
            yield Mark(float(move.span.start_beat), "»", ", ".join(words), "remark")


def routine_marks(routine: Routine, performer: str) -> Iterator[Mark]:
    """Spots and cue notes of one performer."""
    for spot in routine.spots:
        if spot.performer == performer:
            side = "stage right" if spot.x_m >= 0 else "stage left"
            words = f"at spot {abs(spot.x_m):g} m {side}, {spot.y_m:g} m upstage"
            yield Mark(float(spot.beat), "»", words, "remark")
    for note in routine.notes:
        if note.performer in ("", performer):
            kind = "" if note.kind == "note" else f"{note.kind}: "
            yield Mark(float(note.beat), "»", kind + note.text, "remark")


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
