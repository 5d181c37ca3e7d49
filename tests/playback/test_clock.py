"""The clock: interpolated and smoothed between the device's lumpy requests."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from composer.playback.clock import FrameClock

RATE = 44100
PERIOD = 882  # 20 ms


def running(jitter_s, seconds, seed=1, latency_s=0.04):
    """Time, frame heard and true frame at odd moments of a device that asks late at random."""
    random = np.random.default_rng(seed)
    clock, rows = FrameClock(RATE), []
    clock.restart(0, latency_s)
    for k in range(round(seconds * RATE / PERIOD)):
        due_s = k * PERIOD / RATE
        clock.report(k * PERIOD, PERIOD, due_s + jitter_s * random.random())
        for share in (0.5, 0.95):
            now_s = due_s + share * PERIOD / RATE + jitter_s
            rows.append((now_s, clock.heard_frame(now_s), (now_s - latency_s) * RATE))
    return np.array(rows)


def test_without_jitter_the_clock_is_exact_between_requests():
    rows = running(0.0, 5.0)
    later = rows[rows[:, 0] > 0.04]
    assert np.abs(later[:, 1] - later[:, 2]).max() < 1e-3


def test_jitter_of_5_ms_is_smoothed_to_under_1_ms():
    """The mean lateness, half the jitter, is a constant that the user's offset takes away."""
    rows = running(0.005, 20.0)
    error_ms = (rows[:, 1] - rows[:, 2])[len(rows) // 4 :] / RATE * 1000
    assert error_ms.std() < 1.0
    assert abs(error_ms.mean() + 2.5) < 1.0


def test_half_an_hour_against_a_device_100_parts_in_a_million_fast():
    """The clock follows the samples, not the computer's seconds: within 2 ms all along."""
    clock, true_rate = FrameClock(RATE), RATE * (1 + 100e-6)
    clock.restart(0, 0.0)
    worst_ms = 0.0
    for k in range(1800 * RATE // PERIOD):
        now_s = k * PERIOD / true_rate
        clock.report(k * PERIOD, PERIOD, now_s)
        error_frames = clock.heard_frame(now_s + 0.01) - (k * PERIOD + 0.01 * true_rate)
        worst_ms = max(worst_ms, abs(error_frames) / RATE * 1000)
    assert worst_ms < 2.0


@given(st.lists(st.floats(0, 0.3), min_size=2, max_size=60))
def test_never_backwards_and_never_past_what_was_delivered(waits_s):
    clock, now_s, last = FrameClock(RATE), 0.0, 0.0
    clock.restart(0, 0.01)
    for k, wait_s in enumerate(waits_s):
        clock.report(k * PERIOD, PERIOD, now_s)
        for step in (0.0, wait_s / 2, wait_s):
            frame = clock.heard_frame(now_s + step)
            assert last <= frame <= (k + 1) * PERIOD
            last = frame
        now_s += wait_s


def test_after_a_gap_in_the_sound_the_clock_takes_up_the_new_place_at_once():
    clock = FrameClock(RATE)
    clock.restart(0, 0.0)
    for k in range(100):
        clock.report(k * PERIOD, PERIOD, k * 0.02)
    clock.report(100 * PERIOD, PERIOD, 60.0)
    assert abs(clock.heard_frame(60.01) - (100 * PERIOD + 441)) < 1


def test_a_hurried_first_filling_of_the_buffer_does_not_mislead():
    """Three requests at once, then one each 20 ms: frames are heard two periods after asking."""
    clock = FrameClock(RATE)
    clock.restart(0, 0.04)
    for k in range(40):
        clock.report(k * PERIOD, PERIOD, max(0, k - 2) * 0.02)
    assert abs(clock.heard_frame(37 * 0.02 + 0.01) - (37 * PERIOD + 441)) < 0.001 * RATE
