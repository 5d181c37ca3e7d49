"""JSON of everything computed about a routine, laid out as :mod:`report_schema` publishes."""

from fractions import Fraction
from math import ceil
from typing import Literal

import numpy as np

from composer.check.findings import Finding, Level
from composer.export.cautions import cautions
from composer.export.choice import (
    WHOLE,
    Choice,
    chosen_names,
    chosen_span,
    sections,
)
from composer.export.report_schema import (
    AccentRow,
    CueRow,
    FindingRow,
    MeterRow,
    MotionRow,
    MoveRow,
    MusicRow,
    ObstacleRow,
    PerformerRow,
    PhraseRow,
    PlaceRow,
    PropRow,
    Report,
    SpotRow,
    StageRow,
    TrackRow,
)
from composer.export.staging import StagedMove, downbeats, staged_moves
from composer.motion.body import Prop
from composer.motion.hands import Hand
from composer.motion.kinematics import motion_at
from composer.moves.library import Library
from composer.score.cues import cue_list
from composer.score.floor import reach_m
from composer.score.routine import Routine, Stage
from composer.timing.beats import beats_text

LEVEL_WORDS: dict[Level, Literal["note", "warning", "error"]] = {
    Level.NOTE: "note",
    Level.WARNING: "warning",
    Level.ERROR: "error",
}
SPEED_SAMPLES = 720
"""Instants a cycle at which speeds are taken: a sine's peak is missed by under 0.001 %."""


def report_json(
    routine: Routine,
    library: Library,
    findings: tuple[Finding, ...] = (),
    choice: Choice = WHOLE,
) -> str:
    """The report as JSON text."""
    span = chosen_span(routine, choice)
    names = chosen_names(routine, choice)
    report = Report(
        title=routine.title,
        performance_date=routine.performance_date,
        track=TrackRow(
            file=routine.track.file,
            sha256=routine.track.sha256,
            duration_s=routine.track.duration_s,
        ),
        performer=choice.performer or None,
        phrase=None if choice.phrase is None else choice.phrase + 1,
        music=_music(routine, choice),
        stage=_stage(routine.stage),
        performers=[_performer(routine, name, choice, library) for name in names],
        findings=[
            _finding(routine, finding)
            for finding in findings
            if finding.is_about(*names) and (choice.phrase is None or span.contains(finding.beat))
        ],
        cautions=list(cautions(routine, library, names)),
    )
    return report.model_dump_json(indent=1) + "\n"


def _place(routine: Routine, beat: Fraction) -> PlaceRow:
    position = routine.grid.meter_map.position(beat)
    return PlaceRow(
        beat=beats_text(beat),
        bar=position.bar,
        count=beats_text(position.count),
        time_s=_rounded(routine.grid.tempo_map.seconds(beat)),
    )


def _rounded(value: float) -> float:
    """To a microsecond or micrometre: far below what any of it is known to."""
    return round(value, 6)


def _music(routine: Routine, choice: Choice) -> MusicRow:
    grid, span = routine.grid, chosen_span(routine, choice)
    first, last = ceil(span.start_beat), ceil(span.end_beat)
    return MusicRow(
        end_beat=beats_text(grid.end_beat),
        meters=[
            MeterRow(beat=beats_text(change.start_beat), meter=str(change.meter))
            for change in grid.meter_map.changes
        ],
        beats=[_place(routine, Fraction(beat)) for beat in range(first, last)],
        phrases=[
            PhraseRow(
                number=section.number,
                name=section.name,
                start=_place(routine, section.span.start_beat),
                end=_place(routine, section.span.end_beat),
                energy=section.energy,
            )
            for section in sections(routine, choice)
        ],
        accents=[
            AccentRow(
                time_s=accent.time_s,
                beat=_rounded(grid.tempo_map.beat_at(accent.time_s)),
                kind=accent.kind,
                strength=accent.strength,
            )
            for accent in grid.accents
        ],
    )


def _performer(routine: Routine, name: str, choice: Choice, library: Library) -> PerformerRow:
    person, span = routine.performer(name), chosen_span(routine, choice)
    return PerformerRow(
        name=name,
        reach_m=_rounded(reach_m(person)),
        stature_m=person.body.stature_m,
        arm_m=_rounded(person.body.arm_m),
        right_prop=_prop(person.right_prop),
        left_prop=_prop(person.left_prop),
        fire=person.fire,
        moves=[_move(routine, move) for move in staged_moves(routine, name, choice, library)],
        cues=[
            CueRow(
                kind=cue.kind,
                text=cue.text,
                hand=cue.hand,
                at=_place(routine, cue.beat),
                called=_place(routine, cue.call_beat),
            )
            for cue in cue_list(routine, name)
            if choice.phrase is None or span.contains(cue.beat)
        ],
        spots=[
            SpotRow(
                at=_place(routine, spot.beat),
                x_m=spot.x_m,
                y_m=spot.y_m,
                facing_turns=beats_text(spot.facing_turns),
                travel_beats=beats_text(spot.travel_beats),
            )
            for spot in routine.spots
            if spot.performer == name and (choice.phrase is None or span.contains(spot.beat))
        ],
    )


def _stage(stage: Stage) -> StageRow:
    return StageRow(
        width_m=stage.width_m,
        depth_m=stage.depth_m,
        in_the_round=stage.in_the_round,
        margin_m=stage.margin_m,
        audience_distance_m=stage.audience_distance_m,
        obstacles=[
            ObstacleRow(name=one.name, x_m=one.x_m, y_m=one.y_m, radius_m=one.radius_m)
            for one in stage.obstacles
        ],
    )


def _prop(prop: Prop) -> PropRow:
    return PropRow(
        kind=prop.kind,
        length_m=prop.length_m,
        head_mass_kg=prop.head_mass_kg,
        head_radius_m=prop.head_radius_m,
        handle_m=prop.handle_m,
    )


def _move(routine: Routine, staged: StagedMove) -> MoveRow:
    placement, style = staged.placed.placement, staged.placed.placement.style
    centre = style.centre
    return MoveRow(
        move=placement.move,
        start=_place(routine, placement.span.start_beat),
        end=_place(routine, placement.span.end_beat),
        length_beats=beats_text(placement.span.length_beats),
        rate=beats_text(placement.rate),
        hand=style.hand,
        relation=None if style.relation is None else str(style.relation),
        entry=style.entry,
        turned=beats_text(style.orientation_turns),
        mirrored=style.mirrored,
        swapped=style.swapped,
        centre=f"{centre.real:g} m, {centre.imag:g} m" if isinstance(centre, complex) else centre,
        plane=None if style.plane is None else str(style.plane),
        facing_turns=beats_text(placement.facing_turns),
        pinned=placement.pinned,
        notes=placement.notes,
        written_by=staged.placed.written_by,
        motion=_motion(routine, staged),
    )


def _motion(routine: Routine, staged: StagedMove) -> MotionRow | None:
    if staged.performance is None:
        return None
    cycles = staged.placed.span.length_beats / staged.cycle_beats
    found = downbeats(staged)
    hand_speed, head_speed = peak_speeds_m_s(routine, staged)
    return MotionRow(
        cycle_beats=beats_text(staged.cycle_beats),
        cycles=beats_text(cycles),
        closes=cycles.denominator == 1,
        right_downbeats=[beats_text(d.beat) for d in found if d.hand is Hand.RIGHT],
        left_downbeats=[beats_text(d.beat) for d in found if d.hand is Hand.LEFT],
        peak_hand_speed_m_s=_rounded(hand_speed),
        peak_head_speed_m_s=_rounded(head_speed),
    )


def peak_speeds_m_s(routine: Routine, staged: StagedMove) -> tuple[float, float]:
    """Fastest hand and fastest head in a placement, at the fastest tempo it meets; 0 if unknown."""
    if staged.performance is None:
        return 0.0, 0.0
    span = staged.placed.span
    beats = np.linspace(float(span.start_beat), float(span.end_beat), 65)
    times_s = routine.grid.tempo_map.seconds_of(beats)
    seconds_a_beat = float((np.diff(times_s) / np.diff(beats)).min())
    cycle_s = float(staged.cycle_beats) * seconds_a_beat
    phase = np.arange(SPEED_SAMPLES) / SPEED_SAMPLES
    fastest = np.zeros(2)
    for track in staged.performance.tracks.values():
        motion = motion_at(track.pattern, phase, cycle_s=cycle_s / track.cycles)
        speeds = [np.abs(motion.hand_velocity).max(), np.abs(motion.head_velocity).max()]
        fastest = np.maximum(fastest, speeds)
    return float(fastest[0]), float(fastest[1])


def _finding(routine: Routine, finding: Finding) -> FindingRow:
    return FindingRow(
        rule=finding.rule,
        level=LEVEL_WORDS[finding.level],
        performer=finding.performer,
        others=list(finding.others),
        at=_place(routine, finding.beat),
        message=finding.message,
        why=finding.why,
        moves=list(finding.moves),
        hand=None if finding.hand is None else str(finding.hand),
        measured=finding.measured,
        limit=finding.limit,
        unit=finding.unit,
    )
