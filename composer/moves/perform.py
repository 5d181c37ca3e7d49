"""A move as somebody performs it: her arms, her props, and the choices made where it is placed."""

import cmath
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property, lru_cache, partial
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal, NamedTuple

from composer.motion.body import Body, Prop
from composer.motion.hands import Hand, HandTrack, TwoHands
from composer.motion.pattern import TAU, Pattern
from composer.motion.plane import Plane
from composer.motion.relate import relate
from composer.motion.transforms import mirror, move_centre, rotate
from composer.moves.lengths import MIDDLE, Length, Place
from composer.moves.model import (
    Depth,
    Hybrid,
    Move,
    OneHandMove,
    Relation,
    Use,
)
from composer.moves.recipe import build

if TYPE_CHECKING:  # numbers of motion take long to load, and are not wanted to begin with
    from numpy.typing import ArrayLike

    from composer.motion.approach import RoomPair
    from composer.motion.kinematics import Floats
    from composer.motion.placed_plane import PlacedPlane

WhichHand = Literal["both", "right", "left"]

CENTRES: Mapping[str, Place] = MappingProxyType(
    {
        "chest": MIDDLE,
        "right side": Place(across=Length(shoulders=1.0)),
        "left side": Place(across=Length(shoulders=-1.0)),
        "overhead": Place(up=Length(arm=0.5)),
        "low": Place(up=Length(arm=-0.5)),
    }
)
"""Plain names for where a figure is centred, from the middle of the chest at shoulder height."""

FORWARD_M = 0.25
"""Ours: how far in front of the chest the wall plane stands."""
TO_THE_SIDE = 0.75
"""Ours: how far to its own side a hand's wheel plane stands, in shoulder breadths."""


@dataclass(frozen=True, slots=True)
class Style:
    """The performer's choices where she places a move.

    Raises
    ------
    ValueError
        If the entry is below 1 or a centre has no such name.
    """

    entry: int = 1
    """Enters on its k-th downbeat of the busier hand, from 1."""
    relation: Relation | None = None
    """Of the left hand against the right; None: the move's own."""
    orientation_turns: Fraction = Fraction(0)
    """The whole figure turned about its middle, counter-clockwise."""
    mirrored: bool = False
    """The mirror image: left and right exchanged in space and in the hands."""
    swapped: bool = False
    """Each hand does the other's part, at the same places."""
    centre: complex | str | None = None
    """Metres in the plane from the middle of the chest at shoulder height, or one of CENTRES."""
    plane: Plane | None = None
    hand: WhichHand = "both"

    def __post_init__(self) -> None:
        if self.entry < 1:
            raise ValueError(f"entries are counted from 1, got {self.entry}")
        if isinstance(self.centre, str) and self.centre not in CENTRES:
            known = ", ".join(CENTRES)
            raise ValueError(
                f'a centre is a place in metres or one of {known}, not "{self.centre}"'
            )
        if self.hand not in ("both", "right", "left"):
            raise ValueError(f'a hand is "both", "right" or "left", not "{self.hand}"')


class DepthMetres(NamedTuple):
    """A share of the cycle over which a hand goes out of its plane, in metres."""

    share: float
    start_m: float
    end_m: float


@dataclass(frozen=True)
class Performance:
    """A move in metres, both hands over one common cycle, begun where the placement begins."""

    tracks: Mapping[Hand, HandTrack]
    """Only the hands that take part; offsets are the phases at the start of the placement."""
    plane: Plane
    tilt_turns: float
    cycle_length_beats: Fraction
    """Beats of the common cycle at rate 1: its downbeats, or the move's own where it has none."""
    depths: Mapping[Hand, tuple[DepthMetres, ...]] = field(default_factory=dict)
    origins_m: Mapping[Hand, tuple[float, float, float]] = field(default_factory=dict)
    """Where each hand's plane has its origin, from the floor under the performer, facing 0."""

    @cached_property
    def downbeats_per_cycle(self) -> int:
        """Downbeats of the busier hand in the common cycle; 0 for a move held without any."""
        return max(track.downbeat_count for track in self.tracks.values())

    @property
    def two_hands(self) -> TwoHands | None:
        """Both hands as a pair, or None where only one takes part."""
        if len(self.tracks) < 2:
            return None
        return TwoHands(self.tracks[Hand.RIGHT], self.tracks[Hand.LEFT])

    @property
    def room_pair(self) -> "RoomPair | None":
        """Both hands' ways through the room, out of their planes too; None for one hand."""
        from composer.motion.approach import RoomPair, room_pair

        two = self.two_hands
        if two is None:
            return None
        return RoomPair(
            partial(self.room_places_m, Hand.RIGHT),
            partial(self.room_places_m, Hand.LEFT),
            room_pair(two).samples,
        )

    def cycle_beats(self, rate: Fraction) -> Fraction:
        """Beats the common cycle takes at a rate (downbeats of the busier hand for each beat)."""
        if rate <= 0:
            raise ValueError(f"a rate must be positive, got {rate}")
        return self.cycle_length_beats if rate == 1 else self.cycle_length_beats / rate

    def phase_at(self, hand: Hand, beats_from_start: Fraction, rate: Fraction) -> Fraction:
        """Phase in [0, 1) of one hand's own pattern, so many beats after the placement's start."""
        return self.tracks[hand].phase_at(beats_from_start / self.cycle_beats(rate))

    def placed_plane(self, hand: Hand, facing_turns: Fraction = Fraction(0)) -> "PlacedPlane":
        """Where a hand's plane stands in the room, for a performer at the origin."""
        from composer.motion.placed_plane import PlacedPlane

        across, forward, up = self.origins_m[hand]
        turned = complex(across, forward) * cmath.exp(1j * TAU * float(facing_turns))
        return PlacedPlane(
            self.plane, facing_turns, self.tilt_turns, (turned.real, turned.imag, up)
        )

    def room_places_m(
        self, hand: Hand, passed: "ArrayLike", facing_turns: Fraction = Fraction(0)
    ) -> "tuple[Floats, Floats]":
        """Hand and head in the room after shares of the common cycle, each shape=(n, 3)."""
        from composer.motion.kinematics import track_motion

        track, placed = self.tracks[hand], self.placed_plane(hand, facing_turns)
        motion = track_motion(track, passed)
        outwards = self.depth_m(hand, passed)[:, None] * placed.normal
        if self.plane is Plane.WALL or (self.plane is Plane.WHEEL and hand is Hand.LEFT):
            outwards = -outwards
        return placed.place(motion.hand_m) + outwards, placed.place(motion.head_m) + outwards

    def depth_m(self, hand: Hand, passed: "ArrayLike") -> "Floats":
        """How far a hand is out of its plane after shares of the common cycle, shape=(n,).

        To its own side in the wheel plane, forward in the wall plane, up in the floor plane.
        """
        from composer.moves.depth import depth_at

        return depth_at(self.depths.get(hand, ()), self.tracks[hand], passed)


def perform(move: Move, style: Style, body: Body, props: tuple[Prop, Prop]) -> Performance:
    """The move in metres as this performer does it with these props (right, left).

    Raises
    ------
    ValueError
        If the entry is beyond the downbeats of the busier hand, or a length comes out negative.
    """
    return _perform(move, style, body, tuple(props))


@lru_cache(maxsize=20_000)
def _perform(move: Move, style: Style, body: Body, props: tuple[Prop, Prop]) -> Performance:
    plane = style.plane or move.plane
    hands, uses = _hands_and_uses(move, style)
    held = [props[0 if hand is Hand.RIGHT else 1] for hand in hands]
    first = drawn(uses[0], body, held[0])
    alike = uses[0] == uses[1] and held[0] == held[1]
    related = _related(move, style, first, first if alike else drawn(uses[1], body, held[1]))
    tracks: dict[Hand, HandTrack] = {}
    for hand, use, prop, track in zip(
        hands, uses, held, (related.right, related.left), strict=True
    ):
        placed = move_centre(track.pattern, use.centre.metres_for(body, prop))
        placed = rotate(placed, style.orientation_turns)
        placed = move_centre(placed, _centre_m(style, plane, body, prop))
        if style.mirrored and plane is not Plane.WHEEL:
            placed = mirror(placed)
        tracks[hand] = replace(track, pattern=placed)
    kept = _kept(tracks, style.hand)
    return Performance(
        tracks=MappingProxyType(_entered(kept, hands[0], style.entry, move)),
        plane=plane,
        tilt_turns=move.tilt_turns if style.plane in (None, move.plane) else 0.0,
        cycle_length_beats=_cycle_length_beats(kept, dict(zip(hands, uses, strict=True))),
        depths=MappingProxyType(
            {
                hand: _depth_metres(use.move.depth, body, prop)
                for hand, use, prop in zip(hands, uses, held, strict=True)
                if hand in kept
            }
        ),
        origins_m=MappingProxyType({hand: _origin_m(hand, style, plane, body) for hand in kept}),
    )


def _hands_and_uses(move: Move, style: Style) -> tuple[tuple[Hand, Hand], tuple[Use, Use]]:
    """Which hand does the first part and which the second, and the parts themselves."""
    exchanged = style.mirrored != style.swapped
    first = Hand.LEFT if exchanged else Hand.RIGHT
    uses = (move.right, move.left) if isinstance(move, Hybrid) else (Use(move),) * 2
    return (first, first.other), uses


@lru_cache(maxsize=2_000)
def drawn(use: Use, body: Body, prop: Prop) -> Pattern:
    """The pattern of one part of a hybrid, about the middle, before it is related or placed.

    One object for all styles of the move, so that its downbeats are counted once.
    """
    pattern = build(use.move.recipe, body, prop)
    return rotate(mirror(pattern) if use.mirrored else pattern, use.orientation_turns)


def _related(move: Move, style: Style, first: Pattern, second: Pattern) -> TwoHands:
    """Both parts over one cycle. A move held still without a downbeat has nothing to relate."""
    relation = style.relation or move.hands
    cycles = move.cycles if isinstance(move, Hybrid) else None
    if isinstance(move, OneHandMove) and not first.downbeats:
        held = mirror(second) if relation.direction == "opposite" else second
        return TwoHands(HandTrack(first), HandTrack(held))
    try:
        return relate(
            first,
            second,
            relation.timing,
            relation.direction,
            entry=move.left_entry - 1,
            cycles=cycles,
        )
    except ValueError as error:
        raise ValueError(f'"{move.name}", hands {relation}: {error}') from None


def _kept(tracks: Mapping[Hand, HandTrack], which: WhichHand) -> dict[Hand, HandTrack]:
    """The hands that take part; one alone runs its own cycle once."""
    if which == "both":
        return dict(tracks)
    return {Hand(which): replace(tracks[Hand(which)], cycles=1)}


def _entered(
    tracks: Mapping[Hand, HandTrack], first: Hand, entry: int, move: Move
) -> dict[Hand, HandTrack]:
    """The tracks begun at the k-th downbeat of the busier hand; of the first part's where equal."""
    busier = min(tracks, key=lambda hand: (-tracks[hand].downbeat_count, hand is not first))
    downbeats = tracks[busier].downbeats or (Fraction(0),)
    if entry > len(downbeats):
        raise ValueError(
            f'"{move.name}" can be entered on {len(downbeats)} downbeats of its cycle, '
            f"not on number {entry}"
        )
    passed = downbeats[entry - 1]
    return {hand: replace(track, offset=track.phase_at(passed)) for hand, track in tracks.items()}


def _cycle_length_beats(tracks: Mapping[Hand, HandTrack], uses: Mapping[Hand, Use]) -> Fraction:
    downbeats = max(track.downbeat_count for track in tracks.values())
    if downbeats:
        return Fraction(downbeats)
    told = [uses[hand].move.beats for hand in tracks]
    return max((beats for beats in told if beats is not None), default=Fraction(1))


def _centre_m(style: Style, plane: Plane, body: Body, prop: Prop) -> complex:
    if style.centre is None:
        return 0j
    if isinstance(style.centre, str):
        place = CENTRES[style.centre].metres_for(body, prop)
        return complex(0, place.imag) if plane is Plane.WHEEL else place
    return style.centre


def _origin_m(hand: Hand, style: Style, plane: Plane, body: Body) -> tuple[float, float, float]:
    height = body.shoulder_height_m
    match plane:
        case Plane.WALL:
            return (0.0, FORWARD_M, height)
        case Plane.FLOOR:
            return (0.0, 0.0, height)
        case Plane.WHEEL:
            if isinstance(style.centre, str):
                across = CENTRES[style.centre].across.metres_for(body, Prop())
                return (-across if style.mirrored else across, 0.0, height)
            side = TO_THE_SIDE * body.shoulder_breadth_m
            return (side if hand is Hand.RIGHT else -side, 0.0, height)


def way_aside(
    move: OneHandMove, hand: Hand, track: HandTrack, body: Body, prop: Prop
) -> "Callable[[Floats], Floats] | None":
    """How far a hand doing a move is out of the plane both share, after shares of the cycle.

    As :func:`perform` lays it with nothing chosen: forward in the wall plane, up in the floor
    plane, to the right in the wheel plane. None where both hands stay in one plane throughout.
    """
    steps = _depth_metres(move.depth, body, prop)
    wheel = move.plane is Plane.WHEEL
    if not steps and not wheel:
        return None
    sense = -1.0 if wheel and hand is Hand.LEFT else 1.0
    origin_m = _origin_m(hand, Style(), move.plane, body)[0] if wheel else 0.0
    from composer.moves.depth import depth_at

    return lambda passed: origin_m + sense * depth_at(steps, track, passed)


def _depth_metres(steps: tuple[Depth, ...], body: Body, prop: Prop) -> tuple[DepthMetres, ...]:
    return tuple(
        DepthMetres(
            float(step.share), step.start.metres_for(body, prop), step.end.metres_for(body, prop)
        )
        for step in steps
    )
