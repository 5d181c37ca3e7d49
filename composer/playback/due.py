"""Which cues are called when: pure functions of times, and the small memory that folds them.

A call is due in the half-open stretch [from_s, to_s) of heard track time that holds it, so
stretches that touch neither lose nor double it. After a jump, calls whose place was passed over
but whose moment is still to come are made at once. In a loop, calls for its first moments are
made before it comes round, and calls for what follows the loop are left out.
"""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol

from composer.playback.timeline import Entry, Loop, Piece
from composer.timing.tempo_map import TempoMap

SLACK_S = 0.001
"""Places are rounded to frames: two that differ by less are the same place."""


Key = tuple[Fraction, str, str, str, str]


class TimedCue(Protocol):
    """What is called, and when; the score's cues are such."""

    @property
    def beat(self) -> Fraction: ...
    @property
    def call_beat(self) -> Fraction: ...
    @property
    def performer(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def text(self) -> str: ...
    @property
    def hand(self) -> str: ...


@dataclass(frozen=True, slots=True)
class Call:
    """A cue with its times: called at ``time_s`` for the moment ``cue_s``."""

    time_s: float
    cue_s: float
    cue: TimedCue
    next_pass: bool = False
    """Made at the end of a loop for a moment after its return."""

    @property
    def key(self) -> Key:
        """What makes it the same call, however long before the moment it is made."""
        cue = self.cue
        return (cue.beat, cue.performer, cue.kind, cue.text, cue.hand)


@dataclass(frozen=True, slots=True)
class Announced:
    """A call that was made, and the track time at which it was."""

    call: Call
    at_s: float


def calls_of(cues: Iterable[TimedCue], tempo_map: TempoMap) -> tuple[Call, ...]:
    """Every cue with its times, in the order of the calls."""
    calls = [
        Call(tempo_map.seconds(cue.call_beat), tempo_map.seconds(cue.beat), cue) for cue in cues
    ]
    return _in_order(calls)


def due(calls: Sequence[Call], from_s: float, to_s: float) -> Sequence[Call]:
    """Calls whose time lies in [from_s, to_s); ``calls`` must be in order of time."""
    first = bisect_left(calls, from_s, key=_time)
    return calls[first : bisect_left(calls, to_s, lo=first, key=_time)]


def passed_over(calls: Sequence[Call], at_s: float) -> list[Call]:
    """Calls whose time is before ``at_s`` though their moment is not, soonest moment first."""
    earlier = calls[: bisect_left(calls, at_s, key=_time)]
    ahead = [call for call in earlier if call.next_pass or call.cue_s >= at_s - SLACK_S]
    return sorted(ahead, key=lambda call: (call.next_pass, call.cue_s))


def calls_in_loop(calls: Sequence[Call], loop: Loop) -> tuple[Call, ...]:
    """The calls as they are made while a loop goes round.

    A moment just after the loop's start is called as long before the return as it would be in
    the run of the music; if the loop is shorter than that, as soon as it has passed. What
    follows the loop is not called. What leads up to it is, for playing into it.
    """
    entry_s = loop.start_s - loop.breath_s
    kept = [call for call in calls if call.cue_s < loop.end_s - SLACK_S]
    around = [
        Call(_time_before_return(call, loop), call.cue_s, call.cue, next_pass=True)
        for call in kept
        if call.cue_s >= loop.start_s - SLACK_S and call.time_s < entry_s + SLACK_S
    ]
    return _in_order([*kept, *around])


def _time_before_return(call: Call, loop: Loop) -> float:
    lead_s = loop.start_s - loop.breath_s - call.time_s
    after_its_moment_s = max(loop.end_s - lead_s, call.cue_s + SLACK_S)
    return min(after_its_moment_s, loop.end_s - SLACK_S / 2)


def next_due_s(calls: Sequence[Call], after_s: float) -> float | None:
    """When the first call after a track time is due; None after the last."""
    index = bisect_left(calls, after_s, key=_time)
    return calls[index].time_s if index < len(calls) else None


def _in_order(calls: Iterable[Call]) -> tuple[Call, ...]:
    return tuple(sorted(calls, key=lambda call: (call.time_s, call.cue_s)))


def _time(call: Call) -> float:
    return call.time_s


class Caller:
    """Makes each call once for each time its moment comes, along the pieces of a timeline."""

    def __init__(self, calls: Sequence[Call] = ()) -> None:
        self._all = tuple(calls)
        self._listed = self._all
        self._loop: Loop | None = None
        self._called: dict[Key, float] = {}
        self._called_ahead: dict[Key, float] = {}
        self._catch_up = True

    @property
    def listed(self) -> Sequence[Call]:
        """The calls in force: those of the loop while there is one."""
        return self._listed

    def replace(self, calls: Sequence[Call]) -> None:
        """Go on with other calls (another lead, other cues); none made is made again."""
        self._all = tuple(calls)
        self._list_for(self._loop)

    def announce(self, piece: Piece) -> list[Announced]:
        """The calls due in a piece, in the order of their times."""
        if piece.span.loop != self._loop:
            self._list_for(piece.span.loop)
        if piece.entry is Entry.JUMP:
            self._called.clear()
            self._called_ahead.clear()
            self._catch_up = True
        elif piece.entry is Entry.WRAP:
            self._called, self._called_ahead = self._called_ahead, {}
        if piece.span.still:
            return []
        made = []
        if self._catch_up:
            late = passed_over(self._listed, piece.from_s)
            made += [Announced(call, piece.from_s) for call in late if self._take(call, piece)]
            self._catch_up = False
        for call in due(self._listed, piece.from_s, piece.to_s):
            if self._take(call, piece):
                made.append(Announced(call, call.time_s))
        self._forget(piece.to_s)
        return made

    def _list_for(self, loop: Loop | None) -> None:
        self._loop = loop
        self._listed = calls_in_loop(self._all, loop) if loop else self._all
        self._called_ahead.clear()
        self._catch_up = True

    def _take(self, call: Call, piece: Piece) -> bool:
        """Note a call as made, unless it was, or its moment falls in the silent run-up."""
        made = self._called_ahead if call.next_pass else self._called
        if call.key in made:
            return False
        if call.cue_s < piece.span.goal_s - SLACK_S and not call.next_pass:
            return False
        made[call.key] = call.cue_s
        return True

    def _forget(self, before_s: float) -> None:
        for key in [key for key, cue_s in self._called.items() if cue_s < before_s - SLACK_S]:
            del self._called[key]
