"""Between the rows of a routine file and the values of a Routine, both ways."""

from dataclasses import asdict, fields
from typing import Any

from composer.errors import RoutineFileError
from composer.files.routine_schema import (
    FORMAT,
    CorrectionRow,
    FollowingRow,
    MoveRow,
    MusicRow,
    PartRow,
    PerformerRow,
    RoutineFile,
)
from composer.motion.body import Body, Comfort, Prop
from composer.motion.plane import Plane
from composer.moves.model import relation_from_text
from composer.moves.perform import Style
from composer.score.routine import (
    CueNote,
    Cut,
    Following,
    Likeness,
    Obstacle,
    Part,
    Performer,
    Placement,
    Routine,
    Spot,
    Stage,
    TrackRef,
)
from composer.timing.beats import BeatSpan, beats_text
from composer.timing.corrections import Correction
from composer.timing.grid import Accent, MusicGrid, Phrase
from composer.timing.meter import MeterChange, MeterMap, meter_from_text
from composer.timing.regrid import TEMPO_LIMITS_BPM
from composer.timing.tempo_map import Knot, TempoMap


def routine_of(file: RoutineFile, source: str) -> Routine:
    """The routine that a validated file describes.

    Raises
    ------
    RoutineFileError
        If values contradict each other: phrases out of order, a part without a performer.
    """
    try:
        return Routine(
            title=file.title,
            track=TrackRef(file.track.file, file.track.sha256, file.track.duration_s),
            grid=_within("music", lambda: _grid(file.music)),
            performers=tuple(
                _within(f"performer {i} ({row.name})", lambda row=row: _performer(row))
                for i, row in enumerate(file.performer, 1)
            ),
            parts=tuple(_part(i, row) for i, row in enumerate(file.part, 1)),
            performance_date=file.performance_date,
            stage=_stage(file),
            spots=tuple(
                Spot(s.performer, s.beat, s.x_m, s.y_m, s.facing, s.travel) for s in file.spots
            ),
            notes=tuple(CueNote(n.beat, n.text, n.kind, n.performer) for n in file.notes),
            cut=_within("cut", lambda: _cut(file)),
            corrections=tuple(
                _within(f"music, corrections {i} ({row.kind})", lambda row=row: _correction(row))
                for i, row in enumerate(file.music.corrections, 1)
            ),
        )
    except ValueError as error:
        raise RoutineFileError(f"{source}, {error}") from None


def _within(place: str, build: Any) -> Any:
    """Build a value; what is wrong with it is told with its place in the file."""
    try:
        return build()
    except (ValueError, TypeError) as error:
        raise ValueError(f"{place}: {error}") from None


def _grid(row: MusicRow) -> MusicGrid:
    return MusicGrid(
        tempo_map=TempoMap(tuple(Knot(t.beat, t.at_s) for t in row.tempo)),
        end_beat=row.end_beat,
        meter_map=MeterMap(
            tuple(MeterChange(m.beat, meter_from_text(m.meter)) for m in row.meters)
        ),
        phrases=tuple(Phrase(p.beat, p.name, p.energy, p.locked) for p in row.phrases),
        accents=tuple(Accent(a.at_s, a.kind, a.strength) for a in row.accents),
    )


FEWEST_TAPS = {"taps": 4, "taps all along": 4, "lock": 2}


def _correction(row: CorrectionRow) -> Correction:
    fewest = FEWEST_TAPS.get(row.kind, 0)
    low, high = TEMPO_LIMITS_BPM
    if len(row.taps_s) < fewest:
        raise ValueError(f"taps_s needs at least {fewest} times, got {len(row.taps_s)}")
    if row.kind == "tempo level" and not low <= row.bpm <= high:
        raise ValueError(f"bpm lies between {low:g} and {high:g}, got {row.bpm:g}")
    if row.kind == "metre" and not row.meter:
        raise ValueError('a metre needs meter, such as "3/4"')
    return Correction(
        kind=row.kind,
        time_s=row.by_s if row.kind == "time shift" else row.at_s,
        bpm=row.bpm,
        meter=meter_from_text(row.meter) if row.meter else None,
        name=row.name,
        taps_s=tuple(row.taps_s),
    )


def _performer(row: PerformerRow) -> Performer:
    known = {field.name for field in fields(Comfort)}
    for name in row.comfort:
        if name not in known:
            raise ValueError(f'comfort has no "{name}"; it knows {", ".join(sorted(known))}')
    measures = {
        name: value
        for name in ("stature_m", "arm_m", "shoulder_height_m", "shoulder_breadth_m")
        if (value := getattr(row, name)) is not None
    }
    return Performer(
        name=row.name,
        body=Body(**measures, comfort=Comfort(**row.comfort)),
        right_prop=Prop(**row.right_prop.model_dump()),
        left_prop=Prop(**row.left_prop.model_dump()),
        limits=tuple(sorted(row.limits.items())),
        fire=row.fire,
    )


def _part(number: int, row: PartRow) -> Part:
    place = f"part {number} ({row.performer})"
    return Part(
        performer=row.performer,
        placements=tuple(
            _within(f"{place}, moves {i}", lambda move=move: _placement(move))
            for i, move in enumerate(row.moves, 1)
        ),
        following=tuple(
            _within(f"{place}, following {i}", lambda f=f: _following(f))
            for i, f in enumerate(row.following, 1)
        ),
    )


def _placement(row: MoveRow) -> Placement:
    centre = complex(*row.centre) if isinstance(row.centre, list) else row.centre
    style = Style(
        entry=row.entry,
        relation=relation_from_text(row.hands) if row.hands is not None else None,
        orientation_turns=row.turned,
        mirrored=row.mirrored,
        swapped=row.swapped,
        centre=centre,
        plane=Plane(row.plane) if row.plane else None,
        hand=row.hand,
    )
    return Placement(
        span=BeatSpan(row.at, row.beats),
        move=row.move,
        rate=row.rate,
        style=style,
        facing_turns=row.facing,
        notes=row.notes,
        pinned=row.pinned,
    )


def _following(row: FollowingRow) -> Following:
    if (row.at is None) != (row.beats is None):
        raise ValueError('a stretch needs both "at" and "beats"')
    span = BeatSpan(row.at, row.beats) if row.at is not None and row.beats is not None else None
    return Following(row.performer, Likeness(row.likeness), row.delay, span)


def _stage(file: RoutineFile) -> Stage:
    row = file.stage
    return Stage(
        width_m=row.width_m,
        depth_m=row.depth_m,
        in_the_round=row.in_the_round,
        margin_m=row.margin_m,
        audience_distance_m=row.audience_distance_m,
        obstacles=tuple(Obstacle(o.name, o.x_m, o.y_m, o.radius_m) for o in row.obstacles),
    )


def _cut(file: RoutineFile) -> Cut | None:
    if file.cut is None:
        return None
    spans = tuple(BeatSpan(start, end - start) for start, end in file.cut.keep)
    return Cut(spans, file.cut.fade_out_s, file.cut.lead_in_s)


# ------------------------------------------------------------------ and back


def rows_of(routine: Routine) -> dict[str, Any]:
    """Plain rows as they stand in the file; what is usual is left out."""
    rows: dict[str, Any] = {"format": FORMAT, "title": routine.title}
    if routine.performance_date is not None:
        rows["performance_date"] = routine.performance_date
    track = routine.track
    rows["track"] = {
        "file": track.file,
        "sha256": track.sha256,
        "duration_s": round(track.duration_s, 6),
    }
    rows["music"] = _music_rows(routine)
    rows["performer"] = [_performer_rows(performer) for performer in routine.performers]
    if routine.parts:
        rows["part"] = [_part_rows(part) for part in routine.parts]
    for key, value in _floor_rows(routine).items():
        if value:
            rows[key] = value
    return _top_first(rows)


def _top_first(rows: dict[str, Any]) -> dict[str, Any]:
    """Plain values and inline rows before tables, as TOML needs them."""
    tables = ("track", "music", "performer", "part", "stage")
    return {k: v for k, v in rows.items() if k not in tables} | {
        k: rows[k] for k in tables if k in rows
    }


def _unusual(values: dict[str, Any], usual: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in values.items() if usual.get(key, ...) != value}


def _music_rows(routine: Routine) -> dict[str, Any]:
    grid = routine.grid
    rows: dict[str, Any] = {
        "end_beat": beats_text(grid.end_beat),
        "tempo": [
            {"beat": beats_text(k.beat), "at_s": round(k.time_s, 6)} for k in grid.tempo_map.knots
        ],
        "meters": [
            {"beat": beats_text(c.start_beat), "meter": str(c.meter)}
            for c in grid.meter_map.changes
        ],
    }
    phrases = [
        {"beat": beats_text(p.start_beat), "name": p.name, "energy": round(p.energy, 3)}
        | ({"locked": True} if p.locked else {})
        for p in grid.phrases
    ]
    accents = [
        {"at_s": round(a.time_s, 4), "kind": a.kind, "strength": round(a.strength, 3)}
        for a in grid.accents
    ]
    corrections = [_correction_rows(correction) for correction in routine.corrections]
    optional = {"phrases": phrases, "accents": accents, "corrections": corrections}
    return rows | {key: value for key, value in optional.items() if value}


def _correction_rows(correction: Correction) -> dict[str, Any]:
    shift = correction.kind == "time shift"
    row = CorrectionRow(
        kind=correction.kind,
        at_s=0.0 if shift else round(correction.time_s, 6),
        by_s=round(correction.time_s, 6) if shift else 0.0,
        bpm=round(correction.bpm, 6),
        meter=str(correction.meter) if correction.meter else "",
        name=correction.name,
        taps_s=[round(time_s, 6) for time_s in correction.taps_s],
    )
    return row.model_dump(exclude_defaults=True)


def _performer_rows(performer: Performer) -> dict[str, Any]:
    body = performer.body
    derived = Body(stature_m=body.stature_m)
    measures = {
        name: getattr(body, name)
        for name in ("arm_m", "shoulder_height_m", "shoulder_breadth_m")
        if getattr(body, name) != getattr(derived, name)
    }
    rows: dict[str, Any] = {"name": performer.name, "stature_m": body.stature_m} | measures
    comfort = _unusual(asdict(body.comfort), asdict(Comfort()))
    if comfort:
        rows["comfort"] = comfort
    for key, prop in (("right_prop", performer.right_prop), ("left_prop", performer.left_prop)):
        rows[key] = {"kind": prop.kind} | _unusual(
            asdict(prop), asdict(Prop()) | {"kind": prop.kind}
        )
    if performer.limits:
        rows["limits"] = dict(performer.limits)
    if performer.fire:
        rows["fire"] = True
    return rows


def _part_rows(part: Part) -> dict[str, Any]:
    rows: dict[str, Any] = {"performer": part.performer}
    if part.following:
        rows["following"] = [_following_rows(following) for following in part.following]
    if part.placements:
        rows["moves"] = [placement_rows(placement) for placement in part.placements]
    return rows


def _following_rows(following: Following) -> dict[str, Any]:
    rows: dict[str, Any] = {"performer": following.performer}
    if following.likeness is not Likeness.UNISON:
        rows["likeness"] = str(following.likeness)
    if following.delay_beats:
        rows["delay"] = beats_text(following.delay_beats)
    if following.span is not None:
        rows["at"] = beats_text(following.span.start_beat)
        rows["beats"] = beats_text(following.span.length_beats)
    return rows


def placement_rows(placement: Placement) -> dict[str, Any]:
    """One placement as it stands in the file, what is usual left out."""
    style = placement.style
    row = MoveRow(
        at=placement.span.start_beat,
        beats=placement.span.length_beats,
        move=placement.move,
        rate=placement.rate,
        entry=style.entry,
        hands=None if style.relation is None else str(style.relation),
        hand=style.hand,
        turned=style.orientation_turns,
        mirrored=style.mirrored,
        swapped=style.swapped,
        centre=(
            [style.centre.real, style.centre.imag]
            if isinstance(style.centre, complex)
            else style.centre
        ),
        plane=None if style.plane is None else style.plane.value,
        facing=placement.facing_turns,
        pinned=placement.pinned,
        notes=placement.notes,
    )
    return row.model_dump(exclude_defaults=True)


def _floor_rows(routine: Routine) -> dict[str, Any]:
    stage = _unusual(asdict(routine.stage), asdict(Stage()))
    if "obstacles" in stage:
        stage["obstacles"] = [asdict(obstacle) for obstacle in routine.stage.obstacles]
    spots = [
        {
            "performer": s.performer,
            "beat": beats_text(s.beat),
            "x_m": s.x_m,
            "y_m": s.y_m,
        }
        | ({"facing": beats_text(s.facing_turns)} if s.facing_turns else {})
        | ({"travel": beats_text(s.travel_beats)} if s.travel_beats != 4 else {})
        for s in routine.spots
    ]
    notes = [
        {"beat": beats_text(n.beat), "text": n.text}
        | _unusual({"kind": n.kind, "performer": n.performer}, {"kind": "note", "performer": ""})
        for n in routine.notes
    ]
    return {"spots": spots, "notes": notes, "cut": _cut_rows(routine.cut), "stage": stage}


def _cut_rows(cut: Cut | None) -> dict[str, Any]:
    if cut is None:
        return {}
    ends = {"fade_out_s": cut.fade_out_s, "lead_in_s": cut.lead_in_s}
    return {
        "keep": [[beats_text(s.start_beat), beats_text(s.end_beat)] for s in cut.keep]
    } | _unusual(ends, {"fade_out_s": 0.0, "lead_in_s": 0.0})
