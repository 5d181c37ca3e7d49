"""What one hand and its head have to change from the state they leave to the state they enter.

True velocities are compared, not signs: a hand that runs from one circle into the neighbouring
one through their tangent point turns the other way afterwards and yet changes nothing here.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from composer.check.moment import (
    TAU,
    Moment,
    angle_about,
    angle_turns,
    cross,
    dot,
    length,
    line_angle_turns,
    minus,
    scaled,
)

MINIMUM_JERK_PEAK = 15 / 8
"""Peak speed of a minimum-jerk reach against its mean: Flash & Hogan, J. Neurosci. 5 (1985)."""
STILL_HAND_M_S = 0.3
STILL_HEAD_M_S = 0.5
"""Slower than this a hand or head has no heading worth comparing (ours)."""
STALLED = 0.15
"""A head whose turning is below this share of the other side's is at a stall (ours)."""
ONE_PLANE_TURNS = 1e-6
OPPOSED_TURNS = 1 / 3
"""Spin axes further apart than this are a reversal; nearer, the plane has turned (ours)."""
LEVEL_SHARE = 0.05
"""A head that moves less than this share up or down is moved by no gravity (ours)."""


class TimeAllowed(NamedTuple):
    """The stretch a performer has for a change."""

    beats: float
    seconds: float
    rest_beats: float
    """Beats between the two moves in which nothing is placed; 0 where they touch."""
    rest_s: float


class Figure(NamedTuple):
    """A measured figure, to be compared with the limit of that name."""

    limit: str
    measured: float


@dataclass(frozen=True, slots=True)
class HandChange:
    """One hand and head across a boundary; room metres, seconds, turns, without signs."""

    time: TimeAllowed
    gap_m: float
    """From where the hand is to where it should be."""
    velocity_jump_m_s: float
    hand_heading_turns: float | None
    """0 to 1/2; None where the hand hardly moves on one side."""
    head_heading_turns: float | None
    tether_gap_turns: float
    """Between the tether's two directions; across a rest, after it has turned on evenly."""
    spin_before_turns_s: float
    spin_after_turns_s: float
    plane_turns: float
    """Angle between the two planes in the room, 0 to 1/4."""
    tether_off_line_turns: float
    """How far the tether lies from the two planes' common line, 0 to 1/4; 0 in one plane."""
    opposed: bool
    """Whether the head turns the other way round afterwards."""
    lifted: bool
    """Whether a head at a stall has to be moved without gravity's help."""
    tether_m: float

    @property
    def at_stall(self) -> bool:
        """Whether the head hangs still, or nearly, on one side."""
        slow, fast = sorted((self.spin_before_turns_s, self.spin_after_turns_s))
        return slow < STALLED * fast or fast < 1e-9

    @property
    def way_m_s(self) -> float:
        """Peak speed of the reach that closes the gap within the time allowed."""
        return MINIMUM_JERK_PEAK * self.gap_m / self.time.seconds

    @property
    def turn_back_m_s2(self) -> float:
        """Mean acceleration that gives the hand its new velocity within the time allowed."""
        return self.velocity_jump_m_s / self.time.seconds

    @property
    def catch_up(self) -> float:
        """Turns the head has to gain or lose, a beat."""
        return self.tether_gap_turns / self.time.beats

    @property
    def turn_round_m_s(self) -> float:
        """Speed about the hand that is turned round; 0 where nothing reverses."""
        if not self.opposed or self.at_stall:
            return 0.0
        slower = min(self.spin_before_turns_s, self.spin_after_turns_s)
        return TAU * self.tether_m * slower

    @property
    def rate_jump(self) -> float:
        """Change of the head's rate as a share of the slower one; 0 at a stall or reversal."""
        if self.at_stall or self.opposed:
            return 0.0
        slow, fast = sorted((self.spin_before_turns_s, self.spin_after_turns_s))
        return fast / slow - 1

    @property
    def stall_push_m_s(self) -> float:
        """Speed about the hand given to or taken from a stalled head against gravity."""
        if not (self.at_stall and self.lifted):
            return 0.0
        return TAU * self.tether_m * max(self.spin_before_turns_s, self.spin_after_turns_s)

    def figures(self) -> Iterator[Figure]:
        """Everything that is held against a limit and is not 0."""
        for name, measured in (
            ("hand way", self.way_m_s),
            ("hand turn-back", self.turn_back_m_s2),
            ("tether catch-up", self.catch_up),
            ("head turn-round", self.turn_round_m_s),
            ("rate jump", self.rate_jump),
            ("plane change", self.plane_turns),
            ("stall push", self.stall_push_m_s),
            ("head heading", self.head_heading_turns),
        ):
            if measured:
                yield Figure(name, measured)


def hand_change(before: Moment, after: Moment, time: TimeAllowed) -> HandChange:
    """Compare the state a hand leaves with the state it enters.

    Over a rest the hand has the whole of it, and the tether is taken to turn on evenly at the
    mean of both rates; a heading is not compared there, for there is time to come round.
    """
    plane_turns = line_angle_turns(before.axis, after.axis)
    in_one_plane = plane_turns < ONE_PLANE_TURNS
    touching = time.rest_beats == 0
    spin_before, spin_after = before.spin_turns_s, after.spin_turns_s
    return HandChange(
        time=time,
        gap_m=length(minus(after.hand_m, before.hand_m)),
        velocity_jump_m_s=length(minus(after.hand_velocity, before.hand_velocity)),
        hand_heading_turns=_heading(before.hand_velocity, after.hand_velocity, STILL_HAND_M_S),
        head_heading_turns=_heading(before.head_velocity, after.head_velocity, STILL_HEAD_M_S)
        if touching
        else None,
        tether_gap_turns=_tether_gap(before, after, time, in_one_plane=in_one_plane),
        spin_before_turns_s=spin_before,
        spin_after_turns_s=spin_after,
        plane_turns=0.0 if in_one_plane else plane_turns,
        tether_off_line_turns=0.0 if in_one_plane else _off_line(before, after),
        opposed=spin_before > 0
        and spin_after > 0
        and angle_turns(before.spin, after.spin) > OPPOSED_TURNS,
        lifted=_is_lifted(before, after),
        tether_m=before.tether_m,
    )


def _heading(before: tuple[float, ...], after: tuple[float, ...], still: float) -> float | None:
    ax, ay, az = before
    bx, by, bz = after
    if length((ax, ay, az)) < still or length((bx, by, bz)) < still:
        return None
    return angle_turns((ax, ay, az), (bx, by, bz))


def _tether_gap(before: Moment, after: Moment, time: TimeAllowed, *, in_one_plane: bool) -> float:
    if not in_one_plane:
        return angle_turns(before.tether, after.tether)
    turned = angle_about(before.axis, before.tether, after.tether)
    mean = (dot(before.spin, before.axis) + dot(after.spin, before.axis)) / 2
    wanted = turned - mean * time.rest_s
    return abs(wanted - round(wanted))


def _off_line(before: Moment, after: Moment) -> float:
    line = cross(before.axis, after.axis)
    line = scaled(line, 1 / length(line))
    return max(line_angle_turns(before.tether, line), line_angle_turns(after.tether, line))


def _is_lifted(before: Moment, after: Moment) -> bool:
    """Whether the head leaves a stall other than downwards, or comes to it other than upwards."""
    if before.spin_turns_s <= after.spin_turns_s:
        moving, share = after, 1.0
    else:
        moving, share = before, -1.0
    about = cross(moving.spin, moving.tether)
    return share * about[2] > -LEVEL_SHARE * length(about)
