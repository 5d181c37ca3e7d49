"""A rehearsal as the screen uses it, on simulated time."""

import datetime
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
import pytest

from composer.audio.clicks import call_sound
from composer.playback.device import HandDevice
from composer.playback.player import PlayState
from composer.playback.practice import (
    Passage,
    SpeedLadder,
    from_here,
    phrase_passage,
    transition_passage,
)
from composer.playback.rehearsal import Rehearsal, RehearsalSettings
from composer.score.passes import Transition
from composer.timing.grid import MusicGrid, Phrase
from composer.timing.meter import Meter, MeterChange, MeterMap
from composer.timing.tempo_map import Knot, TempoMap, steady_tempo_map

RATE = 8000
GRID = MusicGrid(
    steady_tempo_map(120),
    Fraction(64),
    phrases=(Phrase(Fraction(0), "A"), Phrase(Fraction(32), "B")),
)
QUIET = RehearsalSettings(calls="text", count_in_bars=0)
NOW = datetime.datetime(2026, 5, 20, tzinfo=datetime.UTC)


@dataclass(frozen=True)
class Cue:
    beat: Fraction
    call_beat: Fraction
    performer: str = "Ada"
    kind: str = "move"
    text: str = "flower"
    hand: str = "both"


def cue(beat, lead=4, **words):
    return Cue(Fraction(beat), Fraction(beat) - lead, **words)


class Room:
    """A rehearsal whose time moves when told, with everything it said."""

    def __init__(self, cues=(), *, grid=GRID, settings=QUIET, transitions=(), seconds=40):
        self.now_s = 0.0
        self.device = HandDevice()
        samples = np.zeros((seconds * RATE, 1), dtype=np.float32)
        self.desk = Rehearsal(
            samples,
            RATE,
            grid,
            cues,
            lambda *_: self.device,
            transitions=transitions,
            now=lambda: self.now_s,
            settings=settings,
        )
        self.called = []
        self.counts = []
        self.out = []
        self.moment = self.desk.tick()

    def run(self, seconds):
        for _ in range(round(seconds * 100)):
            self.out.append(self.device.pull(RATE // 100).copy())
            self.now_s += 0.01
            self.moment = self.desk.tick()
            self.called += [(round(self.now_s, 2), a.call.cue.text) for a in self.moment.calls]
            count = (self.moment.counting, self.moment.bar, self.moment.count)
            if not self.counts or self.counts[-1] != count:
                self.counts.append(count)
        return self.moment

    @property
    def sound(self):
        return np.concatenate(self.out)[:, 0]


def onsets(sound, threshold=0.05):
    """First samples of bursts parted by 50 ms of quiet, in seconds."""
    loud = np.flatnonzero(np.abs(sound) > threshold)
    first = np.diff(loud, prepend=-RATE) > RATE // 20
    return loud[first] / RATE


def test_a_phrase_begins_after_one_bar_counted_and_on_its_beat():
    room = Room(settings=replace(QUIET, count_in_bars=1))
    room.desk.rehearse(phrase_passage(GRID, 1))
    room.run(2.6)
    assert room.counts == [
        *((True, 8, k) for k in (1, 2, 3, 4)),
        *((False, 9, k) for k in (1, 2)),
    ]
    np.testing.assert_allclose(onsets(room.sound), [0.0, 0.5, 1.0, 1.5], rtol=0, atol=0.002)
    assert abs(room.moment.beat - 33.2) < 0.05


def test_the_count_in_keeps_the_tempo_and_metre_that_follow():
    """Beat 12 is bar 5, in four at 120; what comes before it is in three at 60."""
    grid = MusicGrid(
        TempoMap((Knot(Fraction(0), 0.0), Knot(Fraction(12), 12.0), Knot(Fraction(64), 38.0))),
        Fraction(64),
        MeterMap((MeterChange(Fraction(0), Meter(3, 4)), MeterChange(Fraction(12), Meter(4, 4)))),
    )
    room = Room(grid=grid, settings=replace(QUIET, count_in_bars=1))
    room.desk.rehearse(from_here(grid, Fraction(12)))
    room.run(2.1)
    assert [count for counting, _, count in room.counts if counting] == [1, 2, 3, 4]
    np.testing.assert_allclose(onsets(room.sound), [0, 0.5, 1.0, 1.5], rtol=0, atol=0.002)
    assert room.moment.bar == 5


def test_going_on_after_a_pause_counts_in_from_the_count_reached():
    room = Room(settings=replace(QUIET, count_in_bars=1))
    room.desk.rehearse(from_here(GRID, Fraction(0)))
    room.run(2 + 3.3)
    room.desk.toggle()
    paused = room.run(1.0)
    assert paused.state is PlayState.READY
    room.desk.toggle()
    first = len(room.counts)
    room.run(3.2)
    assert [c for c in room.counts[first:] if c[0]] == [(True, 1, k) for k in (1, 2, 3, 4)] + [
        (True, 2, 1),
        (True, 2, 2),
    ]
    assert not room.run(0.1).counting
    assert room.moment.bar == 2


def test_calls_come_as_text_when_due_and_the_alarm_is_set_for_the_next():
    room = Room([cue(8), cue(16, text="cat-eye")])
    room.desk.rehearse(from_here(GRID, Fraction(0)))
    room.run(1.5)
    assert room.moment.wake_in_s == pytest.approx(0.5, abs=0.03)
    room.run(4.9)
    assert room.called == [
        (pytest.approx(2.0, abs=0.021), "flower"),
        (pytest.approx(6.0, abs=0.021), "cat-eye"),
    ]


def test_calls_as_tones_are_heard_on_their_sample_over_lowered_music():
    room = Room([cue(8)], settings=RehearsalSettings(calls="tones", count_in_bars=0))
    room.desk.rehearse(from_here(GRID, Fraction(0)))
    room.run(3.0)
    pattern = call_sound("move", RATE)
    np.testing.assert_allclose(room.sound[16000 : 16000 + len(pattern)], pattern, atol=1e-6)
    assert not room.sound[:16000].any()


def test_music_is_lowered_under_a_call_and_comes_back():
    room = Room([cue(8)], settings=RehearsalSettings(calls="tones", count_in_bars=0))
    room.desk.player._original[:] = 0.5
    room.desk.rehearse(from_here(GRID, Fraction(0)))
    room.run(4.0)
    pattern = call_sound("move", RATE)
    under = room.sound[16000 + 800 : 16000 + len(pattern)] - pattern[800:]
    np.testing.assert_allclose(under, 0.5 * 0.35, atol=1e-3)
    np.testing.assert_array_equal(room.sound[1000:15000], 0.5)
    np.testing.assert_array_equal(room.sound[-4000:], 0.5)


def test_calls_as_words_and_spoken_counts():
    words, one_two = np.full(400, 0.3, np.float32), [np.full(200, 0.2, np.float32)] * 8
    room = Room([cue(8)], settings=RehearsalSettings(calls="words", count_in_bars=1))
    room.desk.use_voice({cue(8): words}, one_two)
    room.desk.rehearse(from_here(GRID, Fraction(0)))
    room.run(6.0)
    assert onsets(room.sound).tolist() == [0.0, 0.5, 1.0, 1.5, 4.0]


@pytest.mark.parametrize(("length_s", "begins_s"), [(0.5, 2.0), (1.5, 2.0), (2.0, 1.5)])
def test_long_words_begin_earlier_so_that_they_end_a_beat_before_the_move(length_s, begins_s):
    """The move on beat 8, at 4 s, is called four beats ahead; a beat is half a second. Called
    words are taken in at three a second (BBC R&D 2015), so long ones must not run into the move."""
    words = np.full(round(length_s * RATE), 0.3, np.float32)
    room = Room([cue(8)], settings=RehearsalSettings(calls="words", count_in_bars=0))
    room.desk.use_voice({cue(8): words})
    room.desk.rehearse(from_here(GRID, Fraction(0)))
    room.run(4.5)
    assert onsets(room.sound).tolist() == [begins_s]
    assert [at for at, _ in room.called] == [pytest.approx(2.0, abs=0.021)]


def test_counts_aloud_run_in_eights_over_the_music():
    """Each number is a sound of its own length: read back which was said on which beat."""
    numbers = [np.full(100 + 40 * k, 0.2, np.float32) for k in range(8)]
    room = Room(settings=replace(QUIET, count_aloud=True))
    room.desk.use_voice({}, numbers)
    room.desk.rehearse(from_here(GRID, Fraction(4)))
    room.run(4.5)
    assert onsets(room.sound).tolist() == [k / 2 for k in range(9)]
    lengths = [np.count_nonzero(room.sound[k * 4000 : (k + 1) * 4000]) for k in range(9)]
    assert [(length - 100) // 40 + 1 for length in lengths] == [5, 6, 7, 8, 1, 2, 3, 4, 5]


def test_a_muted_hand_is_not_called_but_both_hands_are():
    cues = [cue(8, hand="left", text="l"), cue(8, hand="right", text="r"), cue(8, text="b")]
    room = Room(cues, settings=replace(QUIET, muted_hands=frozenset({"left"})))
    room.desk.rehearse(from_here(GRID, Fraction(0)))
    room.run(3.0)
    assert sorted(text for _, text in room.called) == ["b", "r"]


def test_the_click_marks_the_beats_on_top_of_the_music():
    room = Room(settings=replace(QUIET, click=True))
    room.desk.rehearse(from_here(GRID, Fraction(0)))
    room.run(2.2)
    np.testing.assert_allclose(onsets(room.sound), [0, 0.5, 1, 1.5, 2], rtol=0, atol=0.002)
    peaks = [np.abs(room.sound[k * 4000 : k * 4000 + 400]).max() for k in range(5)]
    assert peaks[0] == peaks[4]
    assert peaks[0] > 1.3 * max(peaks[1:4])


def test_a_transition_loops_with_a_breath_and_its_first_call_comes_before_the_return():
    """Beats 12 to 20 and two beats of breath: 5 s a round. The move on beat 14 is called four
    beats ahead, at the start of the breath... which is beat 10."""
    room = Room([cue(14, text="in"), cue(20, text="after")])
    room.desk.rehearse(transition_passage(GRID, Fraction(16), "t"))
    room.run(15.5)
    assert room.moment.passes == 3
    assert [text for _, text in room.called] == ["in"] * 4
    gaps = np.diff([at for at, _ in room.called])
    np.testing.assert_allclose(gaps, [4.0, 5.0, 5.0], rtol=0, atol=0.03)


def test_stopping_the_loop_plays_on_and_calls_what_follows():
    room = Room([cue(20, text="after")])
    room.desk.rehearse(transition_passage(GRID, Fraction(16), "t"))
    room.run(3.0)
    assert room.called == []
    room.desk.stop_looping()
    room.run(2.0)
    assert [text for _, text in room.called] == ["after"]
    assert room.moment.beat > 20


def test_marks_belong_to_the_transition_heard_and_raise_the_speed():
    into = Transition("Ada", Fraction(16), "cascade", "flower")
    room = Room(transitions=[into], settings=replace(QUIET, ladder=SpeedLadder()))
    room.desk.set_speed(70, np.zeros((round(40 * RATE / 0.7), 1), dtype=np.float32))
    room.desk.rehearse(transition_passage(GRID, into.beat, into.words))
    room.run(1.0)
    assert room.desk.mark(True, NOW) is None
    for _ in range(3):
        assert room.desk.next_percent == 70
        room.run(5 / 0.7)
        logged = room.desk.mark(True, NOW)
        assert logged is not None
        assert (logged.transition, logged.clean, logged.percent) == (into, True, 70)
    assert room.desk.next_percent == 75
    room.desk.set_speed(75, np.zeros((round(40 * RATE / 0.75), 1), dtype=np.float32))
    room.run(0.1)
    assert (room.desk.percent, room.desk.next_percent) == (75, 75)


def test_moving_the_place_out_of_the_loop_ends_it():
    room = Room()
    room.desk.rehearse(phrase_passage(GRID, 1))
    room.run(0.5)
    room.desk.go_to(Fraction(8))
    room.run(0.5)
    assert abs(room.moment.beat - 9) < 0.15
    assert not room.desk.passage.loops


def test_at_the_end_it_is_told_and_the_key_begins_again():
    room = Room(seconds=33)
    room.desk.rehearse(Passage(Fraction(62), Fraction(64), "end", loops=False))
    room.run(3.0)
    assert room.moment.ended
    room.desk.toggle()
    assert not room.run(0.2).ended
    assert room.moment.state is PlayState.PLAYING


def test_the_offset_moves_the_place_heard():
    """A device 200 ms late: the place is 0.4 beats further back."""
    room = Room(settings=replace(QUIET, offset_ms=200.0))
    room.desk.rehearse(from_here(GRID, Fraction(0)))
    assert abs(room.run(2.0).time_s - 1.8) < 0.02


def test_a_lost_device_is_a_notice_and_one_key_goes_on():
    room = Room([cue(8)])
    room.desk.rehearse(from_here(GRID, Fraction(0)))
    room.run(1.0)
    for _ in range(8):
        room.now_s += 0.1
        moment = room.desk.tick()
    assert moment.state is PlayState.LOST
    assert "lost" in moment.notice
    assert abs(moment.beat - 2.0) < 0.1
    room.desk.toggle()
    room.run(2.0)
    assert room.moment.state is PlayState.PLAYING
    assert [text for _, text in room.called] == ["flower"]


def test_other_cues_may_be_called_from_now_on():
    """Bo's instead of Ada's, in mid-play: hers that are still ahead are not called."""
    room = Room([cue(8, text="hers"), cue(12, text="hers too")])
    room.desk.rehearse(from_here(GRID, Fraction(0)))
    room.run(2.5)
    room.desk.use_cues([cue(16, performer="Bo", text="his")])
    room.run(4.0)
    assert [text for _, text in room.called] == ["hers", "his"]
