"""What may stand in a routine file: the pydantic model behind the TOML text, and its JSON Schema.

Beats, turns and rates are exact text such as "7/2"; seconds, metres and kilograms are numbers.
"""

import datetime
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    WithJsonSchema,
)

from composer.moves.written import lines, one_line
from composer.timing.beats import beats_text, exact_beats
from composer.timing.corrections import CorrectionKind

FORMAT = 1
LONGEST_BEATS = 100_000
MOST_PLACEMENTS = 20_000
MOST_TAPS = 20_000
FASTEST_RATE = 64
"""Ours: downbeats a beat; four are more than a hand can do at any dance tempo."""


def _fraction(value: object) -> Fraction:
    try:
        number = value if isinstance(value, Fraction) else exact_beats(value)
    except TypeError:
        raise ValueError(f'write it as a fraction in quotes, such as "7/2", not {value}') from None
    if abs(number) > LONGEST_BEATS or number.denominator > LONGEST_BEATS:
        raise ValueError(f"{value} is out of range (up to {LONGEST_BEATS})")
    return number


Exact = Annotated[
    Fraction,
    BeforeValidator(_fraction),
    PlainSerializer(beats_text, return_type=str),
    WithJsonSchema({"type": ["string", "integer"], "pattern": r"^\s*-?\d+(/\d+)?\s*$"}),
]
Metres = Annotated[float, Field(allow_inf_nan=False, ge=-1000, le=1000)]
Seconds = Annotated[float, Field(allow_inf_nan=False, ge=-100_000, le=100_000)]


Name = Annotated[str, Field(min_length=1, max_length=200), AfterValidator(one_line)]
Words = Annotated[str, Field(max_length=10_000), AfterValidator(lines)]
"""Free text, of several lines if need be."""


def _rate(rate: Fraction) -> Fraction:
    if not Fraction(1, FASTEST_RATE) <= rate <= FASTEST_RATE:
        raise ValueError(f"a rate lies from 1/{FASTEST_RATE} to {FASTEST_RATE}, not {rate}")
    return rate


Rate = Annotated[Exact, AfterValidator(_rate)]


class Row(BaseModel):
    """Base of every table: unknown keys are refused, so a misspelling is seen."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


class TrackRow(Row):
    file: Annotated[str, Field(min_length=1, max_length=4096), AfterValidator(one_line)]
    sha256: str = ""
    duration_s: Seconds = 0.0


class TempoRow(Row):
    beat: Exact
    at_s: Seconds


class MeterRow(Row):
    beat: Exact = Fraction(0)
    meter: Name


class PhraseRow(Row):
    beat: Exact
    name: Name
    energy: Annotated[float, Field(ge=0, le=1)] = 0.5
    locked: bool = False


class AccentRow(Row):
    at_s: Seconds
    kind: Literal["hit", "stop", "drop"]
    strength: Annotated[float, Field(ge=0, le=1)] = 1.0


class CorrectionRow(Row):
    """What was put right about the beats: ``at_s`` and ``taps_s`` are places in the track."""

    kind: CorrectionKind
    at_s: Seconds = 0.0
    by_s: Seconds = 0.0
    """How much later every beat sounds, for a "time shift"."""
    bpm: Annotated[float, Field(ge=0, le=1000, allow_inf_nan=False)] = 0.0
    meter: str = ""
    name: Annotated[str, Field(max_length=200), AfterValidator(one_line)] = ""
    taps_s: Annotated[list[Seconds], Field(max_length=MOST_TAPS)] = []


class MusicRow(Row):
    """Tempo: a row for each beat whose time is known, at least two."""

    end_beat: Exact
    tempo: Annotated[list[TempoRow], Field(min_length=2)]
    meters: list[MeterRow] = [MeterRow(meter="4/4")]
    phrases: list[PhraseRow] = []
    accents: list[AccentRow] = []
    corrections: list[CorrectionRow] = []


class PropRow(Row):
    kind: Literal["poi", "staff", "club", "hoop", "fan"] = "poi"
    length_m: Annotated[float, Field(gt=0, le=5, allow_inf_nan=False)] = 0.55
    head_mass_kg: Annotated[float, Field(gt=0, le=20, allow_inf_nan=False)] = 0.10
    head_radius_m: Annotated[float, Field(gt=0, le=2, allow_inf_nan=False)] = 0.04
    handle_m: Annotated[float, Field(ge=0, le=5, allow_inf_nan=False)] = 0.0


class PerformerRow(Row):
    name: Name
    stature_m: Metres | None = None
    arm_m: Metres | None = None
    shoulder_height_m: Metres | None = None
    shoulder_breadth_m: Metres | None = None
    comfort: dict[str, float] = {}
    right_prop: PropRow = PropRow()
    left_prop: PropRow = PropRow()
    limits: dict[str, float] = {}
    fire: bool = False


class MoveRow(Row):
    at: Exact
    beats: Exact
    move: Name
    rate: Rate = Fraction(1)
    entry: Annotated[int, Field(ge=1, le=1000)] = 1
    hands: str | None = None
    """Relation of the hands, such as "split opposite"; the move's own if absent."""
    hand: Literal["both", "right", "left"] = "both"
    turned: Exact = Fraction(0)
    """Turns by which the whole figure is turned."""
    mirrored: bool = False
    swapped: bool = False
    centre: str | Annotated[list[Metres], Field(min_length=2, max_length=2)] | None = None
    plane: Literal["wall", "wheel", "floor"] | None = None
    facing: Exact = Fraction(0)
    pinned: bool = False
    notes: Words = ""


class FollowingRow(Row):
    performer: Name
    likeness: Literal["unison", "mirrored", "hands swapped"] = "unison"
    delay: Exact = Fraction(0)
    at: Exact | None = None
    beats: Exact | None = None


class PartRow(Row):
    performer: Name
    following: list[FollowingRow] = []
    moves: Annotated[list[MoveRow], Field(max_length=MOST_PLACEMENTS)] = []


class ObstacleRow(Row):
    name: Name
    x_m: Metres
    y_m: Metres
    radius_m: Annotated[float, Field(gt=0, le=100)]


class StageRow(Row):
    width_m: Annotated[float, Field(gt=0, le=1000)] = 8.0
    depth_m: Annotated[float, Field(gt=0, le=1000)] = 6.0
    in_the_round: bool = False
    margin_m: Annotated[float, Field(ge=0, le=100)] = 0.3
    audience_distance_m: Annotated[float, Field(ge=0, le=1000)] | None = None
    obstacles: list[ObstacleRow] = []


class SpotRow(Row):
    performer: Name
    beat: Exact
    x_m: Metres
    y_m: Metres
    facing: Exact = Fraction(0)
    travel: Exact = Fraction(4)


class NoteRow(Row):
    beat: Exact
    text: Name
    kind: Literal["accent", "light", "costume", "release", "note"] = "note"
    performer: str = ""


class CutRow(Row):
    keep: list[Annotated[list[Exact], Field(min_length=2, max_length=2)]]
    """Stretches of the source, each [start beat, end beat)."""
    fade_out_s: Annotated[Seconds, Field(ge=0, le=60)] = 0.0
    lead_in_s: Annotated[Seconds, Field(ge=0, le=60)] = 0.0


class RoutineFile(Row):
    """The whole file."""

    format: Literal[1] = 1
    title: Name
    performance_date: datetime.date | None = None
    track: TrackRow
    music: MusicRow
    performer: Annotated[list[PerformerRow], Field(min_length=1, max_length=12)]
    part: list[PartRow] = []
    stage: StageRow = StageRow()
    spots: list[SpotRow] = []
    notes: list[NoteRow] = []
    cut: CutRow | None = None


def routine_json_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of a routine file, for editors that check TOML against it."""
    return RoutineFile.model_json_schema()
