"""What the JSON report holds. The JSON Schema that programs may rely on is made from these rows."""

import datetime
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict


class Row(BaseModel):
    model_config = ConfigDict(extra="forbid", use_attribute_docstrings=True)


class PlaceRow(Row):
    """A moment of the music: exactly in beats, as people count it, and in seconds."""

    beat: str
    """Beats from beat 0, the first downbeat, as an exact fraction such as "7/2"."""
    bar: int
    """From 1; the upbeat lies in bar 0 and below."""
    count: str
    """From 1 in its bar, as an exact fraction."""
    time_s: float
    """Seconds from the start of the decoded track; negative before it."""


class MeterRow(Row):
    beat: str
    meter: str


class PhraseRow(Row):
    number: int
    """From 1; 0 for music before the first phrase."""
    name: str
    start: PlaceRow
    end: PlaceRow
    """The first moment after the phrase."""
    energy: float


class AccentRow(Row):
    time_s: float
    beat: float
    """Measured, so not exact."""
    kind: Literal["hit", "stop", "drop"]
    strength: float


class MusicRow(Row):
    end_beat: str
    meters: list[MeterRow]
    beats: list[PlaceRow]
    """Every whole beat of the stretch reported."""
    phrases: list[PhraseRow]
    accents: list[AccentRow]


class PropRow(Row):
    kind: str
    length_m: float
    head_mass_kg: float
    head_radius_m: float
    handle_m: float


class MotionRow(Row):
    """What the move comes to with this performer's arms and props at this tempo."""

    cycle_beats: str
    """Beats after which both hands have closed."""
    cycles: str
    """Cycles in the placement, an exact fraction; whole when the move closes on its end."""
    closes: bool
    right_downbeats: list[str]
    """Beats on which the right tether passes straight down."""
    left_downbeats: list[str]
    peak_hand_speed_m_s: float
    peak_head_speed_m_s: float


class MoveRow(Row):
    move: str
    start: PlaceRow
    end: PlaceRow
    length_beats: str
    rate: str
    """Downbeats of the busier hand for each beat."""
    hand: Literal["both", "right", "left"]
    relation: str | None
    """Of the left hand against the right; null: the move's own."""
    entry: int
    turned: str
    mirrored: bool
    swapped: bool
    centre: str | None
    plane: str | None
    facing_turns: str
    pinned: bool
    notes: str
    written_by: str
    """Whose part holds the placement; another's name where this part follows hers."""
    motion: MotionRow | None
    """null where the library does not know the move or cannot perform it so."""


class CueRow(Row):
    kind: str
    text: str
    hand: str
    at: PlaceRow
    called: PlaceRow


class SpotRow(Row):
    at: PlaceRow
    x_m: float
    """From the middle, to stage right."""
    y_m: float
    """Upstage of the front edge."""
    facing_turns: str
    travel_beats: str


class PerformerRow(Row):
    name: str
    reach_m: float
    """Radius of her circle: arm, prop and head, of the longer of her props."""
    stature_m: float
    arm_m: float
    right_prop: PropRow
    left_prop: PropRow
    fire: bool
    moves: list[MoveRow]
    cues: list[CueRow]
    spots: list[SpotRow]


class FindingRow(Row):
    rule: str
    level: Literal["note", "warning", "error"]
    performer: str
    """Whom it is about first; empty: the whole group."""
    others: list[str]
    """Everybody else it is about, as where two meet."""
    at: PlaceRow
    message: str
    why: str
    moves: list[str]
    hand: str | None
    measured: float | None
    limit: float | None
    unit: str


class ObstacleRow(Row):
    name: str
    x_m: float
    y_m: float
    radius_m: float


class StageRow(Row):
    """The floor on which spots lie."""

    width_m: float
    depth_m: float
    in_the_round: bool
    margin_m: float
    """To be left free between circles of reach."""
    audience_distance_m: float | None
    """From the front edge; null where nobody has said it."""
    obstacles: list[ObstacleRow]


class TrackRow(Row):
    file: str
    sha256: str
    duration_s: float


class Report(Row):
    """Everything petalbar works out about a routine or a part of it."""

    model_config = ConfigDict(extra="forbid", title="petalbar report")

    report: Literal[1] = 1
    """Version of this layout."""
    title: str
    performance_date: datetime.date | None
    track: TrackRow
    performer: str | None
    """Whom the report was narrowed down to; null: the whole group."""
    phrase: int | None
    """Number of the phrase it was narrowed down to; null: the whole piece."""
    music: MusicRow
    stage: StageRow
    performers: list[PerformerRow]
    findings: list[FindingRow]
    cautions: list[str]


def report_schema() -> dict[str, Any]:
    """JSON Schema 2020-12 of the report."""
    schema = Report.model_json_schema(mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
