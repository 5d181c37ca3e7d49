"""Printed sheets as PDF: an overview, floor plans, and each performer's count and cue sheets.

The text of the template is ours; everything that a user wrote reaches it as data, never as markup.
"""

import json
from collections.abc import Mapping
from dataclasses import asdict
from fractions import Fraction
from importlib import resources
from typing import Any, Literal, TypeAlias

from composer.check.findings import Finding
from composer.export.cautions import cautions
from composer.export.choice import WHOLE, Choice, chosen_names, one_line, sections
from composer.export.floor_sheet import paper_plans, plan_key
from composer.export.sheet_rows import (
    cue_rows,
    numbered_findings,
    section_extent,
    sheet_sections,
)
from composer.export.staging import StagedMove, staged_moves
from composer.export.thumbnail import thumbnail_svg
from composer.export.trails import extent_m, trails
from composer.moves.library import Library
from composer.moves.perform import Performance
from composer.score.routine import Routine
from composer.timing.beats import beats_text
from composer.timing.grid import clock_text

Paper: TypeAlias = Literal["a4", "letter"]
Page: TypeAlias = Literal["overview", "floor", "counts", "cues"]
PAGES: tuple[Page, ...] = ("overview", "floor", "counts", "cues")
PAPERS: dict[Paper, str] = {"a4": "a4", "letter": "us-letter"}
"""Our names for papers, and the typesetter's."""


def sheet_pdf(
    routine: Routine,
    library: Library,
    findings: tuple[Finding, ...] = (),
    choice: Choice = WHOLE,
    *,
    paper: Paper = "a4",
    pages: tuple[Page, ...] = PAGES,
) -> bytes:
    """The sheets wanted, in grey, for the whole group or one performer."""
    import typst

    template = resources.files("composer.export").joinpath("sheet.typ").read_bytes()
    data = sheet_data(routine, library, findings, choice, paper=paper, pages=pages)
    return typst.compile(template, format="pdf", sys_inputs={"sheet": json.dumps(data)})


def sheet_data(
    routine: Routine,
    library: Library,
    findings: tuple[Finding, ...],
    choice: Choice,
    *,
    paper: Paper,
    pages: tuple[Page, ...],
) -> dict[str, Any]:
    """All that the template prints, as JSON values."""
    pictures: dict[str, int] = {}
    staged = {
        name: staged_moves(routine, name, choice, library) for name in chosen_names(routine, choice)
    }
    parts = [
        _part(routine, name, choice, findings, moves, pictures, pages)
        | {"cautions": list(cautions(routine, library, (name,)))}
        for name, moves in staged.items()
    ]
    return {
        "title": one_line(routine.title),
        "date": str(routine.performance_date or ""),
        "track": one_line(routine.track.file.replace("\\", "/").rsplit("/", 1)[-1]),
        "paper": PAPERS[paper],
        "view": str(choice.view),
        "pages": list(pages),
        "cautions": list(cautions(routine, library, tuple(staged))),
        "overview": _overview(routine, choice, staged) if "overview" in pages else [],
        "floor": [asdict(p) for p in paper_plans(routine, choice)] if "floor" in pages else [],
        "floor-key": plan_key(routine.stage),
        "parts": parts,
        "pictures": list(pictures),
    }


def _part(
    routine: Routine,
    name: str,
    choice: Choice,
    findings: tuple[Finding, ...],
    moves: tuple[StagedMove, ...],
    pictures: dict[str, int],
    pages: tuple[Page, ...],
) -> dict[str, Any]:
    if not {"counts", "cues"}.intersection(pages):
        return {"performer": one_line(name), "sections": [], "cues": []}
    drawn = _pictures(routine, name, choice, moves, pictures)
    numbered = numbered_findings(routine, name, choice, findings)
    counts = sheet_sections(routine, name, choice, moves, drawn, numbered)
    cues = cue_rows(routine, name, choice, moves, drawn)
    return {
        "performer": one_line(name),
        "sections": [asdict(section) for section in counts] if "counts" in pages else [],
        "cues": [asdict(row) for row in cues] if "cues" in pages else [],
    }


def _pictures(
    routine: Routine,
    name: str,
    choice: Choice,
    moves: tuple[StagedMove, ...],
    pictures: dict[str, int],
) -> Mapping[int, int]:
    """The picture of each move by its place in the part, each kept once; one scale for all."""
    body, view = routine.performer(name).body, choice.view
    shown: dict[tuple[int, Fraction], Performance] = {}
    for move in moves:
        if move.performance is not None:  # placements in one style share their performance
            shown[id(move.performance), move.placed.placement.facing_turns] = move.performance
    half_m = max(
        (extent_m(trails(show, view, key[1]), body) for key, show in shown.items()), default=1.0
    )
    drawn = {
        key: pictures.setdefault(thumbnail_svg(show, body, half_m, view, key[1]), len(pictures))
        for key, show in shown.items()
    }
    return {
        index: drawn[id(move.performance), move.placed.placement.facing_turns]
        for index, move in enumerate(moves)
        if move.performance is not None
    }


def _overview(
    routine: Routine, choice: Choice, staged: Mapping[str, tuple[StagedMove, ...]]
) -> list[dict[str, Any]]:
    """A row for each phrase: where it is, and in order what each performer does in it."""
    seconds = routine.grid.tempo_map.seconds
    rows = []
    for section in sections(routine, choice):
        start_s, end_s = seconds(section.span.start_beat), seconds(section.span.end_beat)
        columns = [
            [
                {
                    "name": one_line(move.placed.placement.move),
                    "beats": beats_text(move.placed.span.length_beats),
                    "hand": move.placed.placement.style.hand,
                    "pinned": move.placed.placement.pinned,
                }
                for move in moves
                if section.span.contains(move.placed.span.start_beat)
            ]
            for moves in staged.values()
        ]
        rows.append(
            {
                "number": section.number,
                "name": one_line(section.name),
                "extent": section_extent(routine, section),
                "time": clock_text(start_s),
                "seconds": max(end_s - start_s, 0.001),
                "energy": section.energy,
                "columns": columns,
            }
        )
    return rows
