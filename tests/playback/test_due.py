"""Cues: each called once for each time its moment comes, whatever the performer does."""

import itertools
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from composer.playback.due import (
    Call,
    Caller,
    calls_in_loop,
    calls_of,
    due,
    next_due_s,
    passed_over,
)
from composer.playback.timeline import Loop
from composer.timing.tempo_map import steady_tempo_map

LENGTH_S = 16
MS = 0.001


@dataclass(frozen=True)
class Cue:
    beat: Fraction
    call_beat: Fraction
    performer: str = "Ada"
    kind: str = "move"
    text: str = "flower"
    hand: str = "both"


def calls(*pairs):
    """Calls from (call time, moment), both in seconds."""
    grid = steady_tempo_map(60)
    cues = [Cue(Fraction(moment), Fraction(time)) for time, moment in pairs]
    return calls_of(cues, grid)


def moments(found):
    return [call.cue_s for call in found]


def test_due_is_half_open():
    listed = calls((1, 5), (2, 6), (3, 7))
    assert moments(due(listed, 1.0, 2.0)) == [5]
    assert moments(due(listed, 2.0, 2.0)) == []
    assert moments(due(listed, 0.0, 99.0)) == [5, 6, 7]


@given(st.lists(st.integers(0, 400), max_size=30), st.lists(st.integers(0, 400), max_size=20))
def test_touching_stretches_neither_lose_nor_double(times, cuts):
    """Definition of a partition into half-open stretches."""
    listed = calls(*((Fraction(t, 10), Fraction(t, 10) + 4) for t in times))
    edges = [0.0, *sorted(c / 10 for c in cuts), 41.0]
    found = [call for a, b in itertools.pairwise(edges) for call in due(listed, a, b)]
    assert found == list(listed)


def test_calls_take_their_times_from_the_tempo_map():
    """At 120 beats a minute a beat lasts half a second; a bar of four ahead is 2 s."""
    [call] = calls_of([Cue(Fraction(16), Fraction(12))], steady_tempo_map(120, 0.25))
    assert (call.time_s, call.cue_s) == (6.25, 8.25)


def test_passed_over_are_those_called_before_and_still_to_come():
    listed = calls((0, 4), (2, 6), (5, 9))
    assert moments(passed_over(listed, 5.0)) == [6]
    assert moments(passed_over(listed, 4.0)) == [4, 6]


def test_the_next_call_is_found_for_the_alarm_clock():
    listed = calls((1, 5), (3, 7))
    assert next_due_s(listed, 1.5) == 3
    assert next_due_s(listed, 3.0) == 3
    assert next_due_s(listed, 3.1) is None


def test_a_loop_calls_its_first_move_before_it_comes_round():
    """Loop over 8..16 s with a breath of 1 s; the move at 8 s is called 4 s ahead. The return
    takes 1 s, so the call stands 3 s before the loop's end; the move at 16 s is left out."""
    found = calls_in_loop(calls((4, 8), (6, 10), (12, 16), (10, 14)), Loop(8.0, 16.0, 1.0))
    ahead = [(call.time_s, call.cue_s) for call in found if call.next_pass]
    assert ahead == [(13, 8), (15, 10)]
    assert [(c.time_s, c.cue_s) for c in found if not c.next_pass] == [(4, 8), (6, 10), (10, 14)]


def test_in_a_loop_shorter_than_the_lead_the_call_follows_the_moment():
    [own, ahead] = calls_in_loop(calls((0, 9)), Loop(8.0, 10.0))
    assert not own.next_pass
    assert ahead.next_pass
    assert 9 < ahead.time_s < 9.01


# -- what a performer may do, in any order ---------------------------------------------------

QUARTERS = st.integers(0, LENGTH_S * 4 - 4).map(lambda q: q / 4)
CUES = st.lists(
    st.tuples(st.integers(1, LENGTH_S * 4 - 2), st.integers(0, 12)),
    max_size=8,
    unique_by=lambda p: p[0],
)
ACTIONS = st.lists(
    st.one_of(
        st.tuples(st.just("wait"), st.floats(0.05, 4)),
        st.tuples(st.just("pause"), st.floats(0.05, 1)),
        st.tuples(st.just("seek"), QUARTERS, st.sampled_from([0.0, 0.0, 1.0, 2.0])),
        st.tuples(st.just("loop"), QUARTERS, st.integers(1, 16), st.sampled_from([0.0, 0.25, 1.0])),
        st.tuples(st.just("unloop")),
        st.tuples(st.just("speed"), st.sampled_from([0.5, 0.75, 1.0, 1.1])),
    ),
    max_size=12,
)


class Rehearsing:
    """Carries out actions and records what was called, and what was really heard."""

    def __init__(self, machine, make_track, cues, poll_s):
        self.machine, self.player = machine, machine.player
        self.make_track = make_track
        self.calls = calls(*((Fraction(m - lead, 4), Fraction(m, 4)) for m, lead in cues))
        self.caller = Caller(self.calls)
        self.pieces = self.player.follow()
        self.poll_s = poll_s
        self.made: list[tuple[float, Call]] = []
        self.jump_frames: list[int] = []

    def listen(self):
        for piece in self.pieces():
            for announced in self.caller.announce(piece):
                frame = piece.out_frame_at(announced.at_s)
                self.made.append((frame, announced.call))

    def wait(self, seconds):
        self.machine.run(seconds, self.poll_s, self.listen)

    def act(self, name, *values):
        player = self.player
        if name in ("seek", "loop", "unloop"):
            self.jump_frames.append(len(self.machine.sound))
        match name:
            case "pause":
                player.pause()
                self.wait(values[0])
                player.play()
            case "seek":
                player.seek(*values)
            case "loop":
                start, quarters, breath = values
                player.set_loop(Loop(start, start + quarters / 4, breath))
            case "unloop":
                player.set_loop(None)
            case "speed":
                [rate] = values
                samples = self.make_track(LENGTH_S / rate)
                samples[:, 0] *= rate
                player.set_rendition(rate, samples)
        self.wait(values[0] if name == "wait" else 0.3)

    def passings(self, moment_s):
        """Output frames at which a moment of the track was heard, read off the samples.

        The quotient of the channels is the track time, whatever the fades did to both.
        """
        sound = self.machine.sound.astype(float)
        audible = np.flatnonzero(sound[:, 1] > 1e-6)
        times_s = sound[audible, 0] / sound[audible, 1]
        step_s = np.diff(times_s)
        at_s = moment_s - MS / 100
        met = (times_s[:-1] < at_s) & (times_s[1:] >= at_s) & (np.abs(step_s) < 3 * MS)
        begun = np.flatnonzero(np.abs(step_s) >= 3 * MS) + 1
        landed = begun[np.abs(times_s[begun] - moment_s) < MS] if len(begun) else begun
        first = [0] if len(times_s) and abs(times_s[0] - moment_s) < MS else []
        frames = audible[sorted({*first, *(np.flatnonzero(met) + 1), *landed})]
        one_passing = np.diff(frames, prepend=-99) > 2  # landed just before it, then met it
        return frames[one_passing]


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(cues=CUES, actions=ACTIONS, poll_s=st.sampled_from([0.005, 0.033, 0.5]))
def test_no_cue_is_lost_or_doubled(make_machine, make_track, cues, actions, poll_s):
    """Every moment heard was called once since it was last heard; and a cue is called again
    only after its moment was heard or the performer jumped."""
    run = Rehearsing(make_machine(make_track(LENGTH_S)), make_track, cues, poll_s)
    run.player.play()
    for action in actions:
        run.act(*action)
    run.wait(2.0)
    run.machine.alive = False  # so that all that was delivered is heard out
    run.machine.run(0.1)
    run.listen()
    for call in run.calls:
        made = [frame for frame, found in run.made if found.cue == call.cue]
        passed = run.passings(call.cue_s)
        before = -1e9
        for frame in passed:
            assert [m for m in made if before < m <= frame + 24], (call, frame, made)
            before = frame
        for first, second in itertools.pairwise(made):
            events = (*passed, *run.jump_frames)
            between = [f for f in events if first - 300 <= f <= second + 24]
            assert between, (call, first, second, passed)


def test_another_lead_in_mid_play_repeats_no_call(make_machine, make_track):
    machine = make_machine(make_track(LENGTH_S))
    caller, pieces = Caller(calls((1, 5), (4, 8))), machine.player.follow()
    machine.player.play()
    machine.run(2.0)
    assert moments(a.call for p in pieces() for a in caller.announce(p)) == [5]
    caller.replace(calls((Fraction(1, 2), 5), (Fraction(3, 2), 8)))
    machine.run(1.0)
    assert moments(a.call for p in pieces() for a in caller.announce(p)) == [8]


@pytest.mark.parametrize("breath_s", [0.0, 0.5])
def test_a_loop_calls_each_of_its_cues_once_a_pass(make_machine, make_track, breath_s):
    """Ten seconds of a loop of 2 s (and its breath): as many calls as whole passes begun."""
    machine = make_machine(make_track(LENGTH_S))
    caller, pieces = (
        Caller(calls((3, 5), (Fraction(9, 2), Fraction(11, 2)))),
        machine.player.follow(),
    )
    machine.player.set_loop(Loop(4.0, 6.0, breath_s))
    machine.player.seek(4.0, 2.0)
    machine.player.play()
    machine.run(2.0 + 4 * (2.0 + breath_s) - 0.05)
    made = [a.call.cue_s for p in pieces() for a in caller.announce(p)]
    assert made.count(5.5) == 4
    assert made.count(5.0) in (4, 5)  # the last may already be for the next return
