"""A routine: who performs which moves on which beats of which track.

Everything is a frozen value; an edit is a function Routine -> Routine, so undo is a list.
"""

import datetime
from dataclasses import dataclass, field, replace
from enum import StrEnum
from fractions import Fraction
from typing import Literal

from composer.errors import UnknownName
from composer.motion.body import Body, Prop
from composer.motion.hands import Hand
from composer.moves.perform import Style
from composer.timing.beats import BeatSpan
from composer.timing.corrections import Correction
from composer.timing.grid import MusicGrid


@dataclass(frozen=True, slots=True)
class TrackRef:
    """Which music file the routine is made on, and how to know it again."""

    file: str
    """Path as written, relative to the routine file unless absolute."""
    sha256: str = ""
    duration_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Placement:
    """A move on the timeline: what, when, how fast, in which of its ways."""

    span: BeatSpan
    move: str
    rate: Fraction = Fraction(1)
    """Downbeats of the busier hand for each beat."""
    style: Style = field(default_factory=Style)
    facing_turns: Fraction = Fraction(0)
    """Where the body faces: 0 to the audience, counter-clockwise seen from above."""
    notes: str = ""
    pinned: bool = False
    """A highlight the performer has set on this moment: no proposal moves it."""

    def __post_init__(self) -> None:
        if self.rate <= 0:
            raise ValueError(f"a rate must be positive, got {self.rate}")
        if not self.move:
            raise ValueError("a placement needs the name of a move")

    @property
    def hands(self) -> tuple[Hand, ...]:
        """The hands this placement occupies."""
        match self.style.hand:
            case "right":
                return (Hand.RIGHT,)
            case "left":
                return (Hand.LEFT,)
            case _:
                return (Hand.RIGHT, Hand.LEFT)


@dataclass(frozen=True, slots=True)
class Performer:
    """One person: body, a prop for each hand, and her own limits for findings."""

    name: str
    body: Body = field(default_factory=Body)
    right_prop: Prop = field(default_factory=Prop)
    left_prop: Prop = field(default_factory=Prop)
    limits: tuple[tuple[str, float], ...] = ()
    """Limits of checks, by name, that replace the shipped ones for this performer."""
    fire: bool = False

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise ValueError("a performer needs a name")

    @property
    def props(self) -> tuple[Prop, Prop]:
        """Right, left."""
        return self.right_prop, self.left_prop

    def prop(self, hand: Hand) -> Prop:
        return self.right_prop if hand is Hand.RIGHT else self.left_prop


class Likeness(StrEnum):
    """How a part is taken from another performer's."""

    UNISON = "unison"
    MIRRORED = "mirrored"
    HANDS_SWAPPED = "hands swapped"


@dataclass(frozen=True, slots=True)
class Following:
    """A stretch of a part that is another performer's, so many beats later."""

    performer: str
    likeness: Likeness = Likeness.UNISON
    delay_beats: Fraction = Fraction(0)
    span: BeatSpan | None = None
    """Only inside this stretch of the follower's own time; None: throughout."""


@dataclass(frozen=True, slots=True)
class Part:
    """What one performer does: her own placements, and stretches that follow another's.

    Own placements win over followed ones where they meet.
    """

    performer: str
    placements: tuple[Placement, ...] = ()
    following: tuple[Following, ...] = ()

    def __post_init__(self) -> None:
        starts = [p.span.start_beat for p in self.placements]
        if starts != sorted(starts):
            ordered = sorted(self.placements, key=lambda p: (p.span.start_beat, p.style.hand))
            object.__setattr__(self, "placements", tuple(ordered))


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a performer stands from a beat on: metres from the middle of the front edge.

    x runs to the right of a performer who faces the audience (stage right); y is the distance
    upstage of the front edge. She travels to the spot during the ``travel_beats`` that end on
    ``beat``.
    """

    performer: str
    beat: Fraction
    x_m: float
    y_m: float
    facing_turns: Fraction = Fraction(0)
    travel_beats: Fraction = Fraction(4)


@dataclass(frozen=True, slots=True)
class Obstacle:
    """Something on the floor to keep away from: a round of a given radius."""

    name: str
    x_m: float
    y_m: float
    radius_m: float


@dataclass(frozen=True, slots=True)
class Stage:
    """The floor: width and depth in metres, and whether the audience sits all round."""

    width_m: float = 8.0
    depth_m: float = 6.0
    in_the_round: bool = False
    margin_m: float = 0.3
    audience_distance_m: float | None = None
    """From the front edge to the audience; with fire it must be typed, there is no default."""
    obstacles: tuple[Obstacle, ...] = ()


NoteKind = Literal["accent", "light", "costume", "release", "note"]


@dataclass(frozen=True, slots=True)
class CueNote:
    """Something to call on a beat that is not a move: a light, a costume, a release, a word."""

    beat: Fraction
    text: str
    kind: NoteKind = "note"
    performer: str = ""
    """Empty: for everybody."""


@dataclass(frozen=True, slots=True)
class Cut:
    """The music cut to stage length: stretches of the source kept, in order, and the ends."""

    keep: tuple[BeatSpan, ...]
    fade_out_s: float = 0.0
    lead_in_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Routine:
    """The whole piece. Beats everywhere are those of ``grid``."""

    title: str
    track: TrackRef
    grid: MusicGrid
    performers: tuple[Performer, ...]
    parts: tuple[Part, ...] = ()
    performance_date: datetime.date | None = None
    stage: Stage = field(default_factory=Stage)
    spots: tuple[Spot, ...] = ()
    notes: tuple[CueNote, ...] = ()
    cut: Cut | None = None
    corrections: tuple[Correction, ...] = ()
    """What the user put right about the beats, in order, to be applied to another analysis. The
    grid holds them already; phrases she set are locked in the grid instead."""

    def __post_init__(self) -> None:
        names = [performer.name for performer in self.performers]
        if not names:
            raise ValueError("a routine needs at least one performer")
        if len(set(names)) != len(names):
            raise ValueError(f"every performer needs a name of her own, got {', '.join(names)}")
        parts = [part.performer for part in self.parts]
        if len(set(parts)) != len(parts):
            raise ValueError("a performer has one part")
        named = [("a part belongs to", name) for name in parts]
        named += [("a spot is for", spot.performer) for spot in self.spots]
        named += [("a part follows", f.performer) for part in self.parts for f in part.following]
        for words, name in named:
            if name not in names:
                raise ValueError(f'{words} "{name}", who is not among the performers')

    def performer(self, name: str) -> Performer:
        for performer in self.performers:
            if performer.name == name:
                return performer
        known = ", ".join(p.name for p in self.performers)
        raise UnknownName(f'no performer is called "{name}": the routine has {known}')

    def part(self, name: str) -> Part:
        """The performer's part as written; an empty one if none is."""
        for part in self.parts:
            if part.performer == name:
                return part
        self.performer(name)
        return Part(name)

    def with_part(self, part: Part) -> "Routine":
        """The routine with this part in place of the performer's old one."""
        self.performer(part.performer)
        others = {p.performer: p for p in self.parts} | {part.performer: part}
        order = [p.name for p in self.performers]
        return replace(self, parts=tuple(others[name] for name in order if name in others))
