"""Playing: what comes out, to the sample, and what happens when the device goes."""

import itertools
import time

import numpy as np
import pytest

from composer.errors import DeviceError
from composer.playback.device import HandDevice, SystemDevice, open_silent_device
from composer.playback.mixer import Beeper
from composer.playback.player import FADE_FRAMES, KEEP_S, LOST_AFTER_S, Player, PlayState
from composer.playback.timeline import Entry, Loop

RATE = 8000


def noise(seconds=10.0, channels=2):
    random = np.random.default_rng(3)
    return random.uniform(-0.5, 0.5, (round(seconds * RATE), channels)).astype(np.float32)


def played(samples, **kwargs):
    device = HandDevice()
    return Player(samples, RATE, lambda *_: device, **kwargs), device


def pull(device, frames, lump=160):
    return np.concatenate([device.pull(lump).copy() for _ in range(frames // lump)])


def test_the_track_comes_out_to_the_last_bit():
    track = noise()
    player, device = played(track)
    player.play()
    np.testing.assert_array_equal(pull(device, 8000), track[:8000])


@pytest.mark.parametrize("lump", [160, 441, 1024])
def test_the_loop_seam_is_sample_exact(lump):
    """Frames 2000..3999 over and over, without a frame between, whatever the device asks."""
    track = noise()
    player, device = played(track)
    player.set_loop(Loop(0.25, 0.5))
    player.seek(0.25)
    player.play()
    out = pull(device, lump * 40, lump)
    np.testing.assert_array_equal(out, np.resize(track[2000:4000], out.shape))


def test_a_breath_is_so_many_silent_frames_before_each_return():
    track = noise()
    player, device = played(track)
    player.set_loop(Loop(0.25, 0.5, 0.1))
    player.seek(0.25)
    player.play()
    out = pull(device, 4800)
    np.testing.assert_array_equal(out[2000:2800], 0)
    np.testing.assert_array_equal(out[2800:4800], track[2000:4000])


def test_a_run_up_is_silent_and_the_clock_counts_up_to_the_start(make_machine):
    machine = make_machine(noise())
    player = machine.player
    player.seek(3.0, 2.0)
    player.play()
    machine.run(1.5)
    assert abs(player.position_s() - 2.5) < 0.021
    machine.run(1.0)
    sound = machine.sound
    np.testing.assert_array_equal(sound[:16000], 0)
    np.testing.assert_array_equal(sound[16000:16800], noise()[24000:24800])


def test_the_loop_of_a_slowed_copy_is_cut_at_the_same_place_in_the_music():
    half = noise(20.0)
    player, device = played(noise(10.0))
    player.set_rendition(0.5, half)
    player.set_loop(Loop(1.0, 2.0))
    player.seek(1.0)
    player.play()
    out = pull(device, 24000)
    np.testing.assert_array_equal(out[:16000], half[16000:32000])
    np.testing.assert_array_equal(out[16000:24000], half[16000:24000])


@pytest.mark.parametrize(("end_s", "entry"), [(2.0, Entry.WRAP), (1.0, Entry.JUMP)])
def test_a_loop_set_behind_the_place_is_a_jump_and_its_own_end_a_return(make_machine, end_s, entry):
    """Heard up to 1.5 s: a loop that ends at 2 s comes round there, one that ended at 1 s is gone
    to at once, as to any other place."""
    machine = make_machine(noise(10.0))
    pieces = machine.player.follow()
    machine.player.play()
    machine.run(1.5)
    machine.player.set_loop(Loop(0.5, end_s))
    machine.run(1.0)
    returned = [piece for piece in pieces() if piece.entry is not Entry.ON and piece.from_s < 0.6]
    first = next(piece for piece in returned if abs(piece.from_s - 0.5) < 1e-6)
    assert first.entry is entry


def test_a_change_of_speed_stays_at_its_place_in_the_music(make_machine, make_track):
    machine = make_machine(make_track(20.0))
    machine.player.play()
    machine.run(2.0)
    slow = make_track(40.0)
    slow[:, 0] *= 0.5
    machine.player.set_rendition(0.5, slow)
    machine.run(2.0)
    times_s = machine.sound[:, 0] / np.maximum(machine.sound[:, 1], 1e-9)
    audible = machine.sound[:, 1] > 1e-6  # the fade has two silent frames in its middle
    assert np.diff(times_s[audible]).max() < 4.0 / RATE
    assert abs(machine.player.position_s() - 3.0) < 0.05


def test_samples_of_another_length_than_the_speed_asks_are_refused():
    player, _ = played(noise(10.0))
    with pytest.raises(ValueError, match="needs 160000 frames"):
        player.set_rendition(0.5, noise(10.0))


def test_a_pause_and_a_jump_fade_instead_of_cracking():
    """Full-scale steady samples: no step between neighbours beyond the fade's own slope."""
    player, device = played(np.ones((RATE * 5, 1), dtype=np.float32))
    player.play()
    parts = [pull(device, 800)]
    player.pause()
    parts.append(pull(device, 800))
    player.play()
    parts.append(pull(device, 800))
    player.seek(2.0)
    parts.append(pull(device, 1600))
    out = np.concatenate(parts)[:, 0]
    assert np.abs(np.diff(out)).max() <= 2 / FADE_FRAMES
    assert out[-1] == 1.0


def test_a_pause_keeps_the_place(make_machine):
    machine = make_machine(noise())
    machine.player.play()
    machine.run(1.0)
    machine.player.pause()
    machine.run(0.5)
    place_s = machine.player.position_s()
    assert machine.player.state is PlayState.READY
    machine.run(5.0)
    assert machine.player.position_s() == place_s
    assert abs(place_s - 1.0) < 0.08


def test_the_end_of_the_track_is_told(make_machine):
    machine = make_machine(noise(1.0))
    machine.player.play()
    machine.run(1.5)
    assert machine.player.state is PlayState.READY
    assert machine.player.position_s() == 1.0


def test_clicks_begin_on_their_sample_and_only_where_they_belong():
    player, device = played(np.zeros((RATE * 4, 1), dtype=np.float32))
    tick = np.array([1.0, 0.5], dtype=np.float32)
    player.set_layer("click", Beeper([1.0, 1.5, 2.0], [tick] * 3, in_music=True))
    player.set_layer("count", Beeper([0.5, 1.5], [tick * 0.1] * 2, in_music=False))
    player.seek(1.0, 0.75)
    player.play()
    out = pull(device, 16000)[:, 0]
    assert np.flatnonzero(out > 0.5).tolist() == [6000, 10000, 14000]
    assert np.flatnonzero((out > 0) & (out < 0.2)).tolist() == [2000, 2001]


def test_clicks_keep_their_beat_when_the_music_is_slowed():
    """At half speed a beat of half a second lasts a second."""
    player, device = played(np.zeros((RATE * 4, 1), dtype=np.float32))
    tick = np.ones(1, dtype=np.float32)
    player.set_layer("click", Beeper([0.0, 0.5, 1.0, 1.5], [tick] * 4, in_music=True))
    player.set_rendition(0.5, np.zeros((RATE * 8, 1), dtype=np.float32))
    player.play()
    assert np.flatnonzero(pull(device, 32000)[:, 0]).tolist() == [0, 8000, 16000, 24000]


def test_gains_mute_the_music(make_machine):
    machine = make_machine(noise())
    machine.player.set_gains(music=0.0)
    machine.player.play()
    machine.run(1.0)
    assert not machine.sound.any()


# -- devices that fail ------------------------------------------------------------------------


def test_a_device_that_stops_asking_is_noticed_within_a_second_and_the_place_is_kept(make_machine):
    machine = make_machine(noise(20.0), latency_s=0.04)
    machine.player.play()
    machine.run(3.0)
    machine.alive = False
    notices = []
    machine.run(1.0, 0.05, lambda: notices.append((machine.now_s, machine.player.check())))
    first_s = next(now_s for now_s, notice in notices if notice)
    assert first_s - 103.0 < 1.0
    assert machine.player.state is PlayState.LOST
    assert "lost" in machine.player.notice
    place_s = machine.player.position_s()
    assert 2.9 < place_s < 3.1
    machine.run(30.0)
    assert machine.player.position_s() == place_s


def test_a_machine_that_stood_still_has_not_lost_its_device(make_machine):
    """A sleep or a heavy load of 0.8 s, the screen awake before the device asks again."""
    machine = make_machine(noise(20.0))
    machine.player.play()
    machine.run(3.0)
    machine.now_s += 0.8
    assert machine.player.check() == ""
    machine.run(1.0, 0.05, machine.player.check)
    assert machine.player.state is PlayState.PLAYING


def test_after_a_loss_playing_goes_on_where_it_was_heard_last(make_machine, make_track):
    machine = make_machine(make_track(20.0), latency_s=0.04)
    player = machine.player
    pieces = player.follow()
    player.play()
    machine.run(3.0)
    machine.alive = False
    machine.run(1.0, 0.05, player.check)
    place_s = player.position_s()
    first = len(machine.sound)
    machine.alive = True
    assert player.resume()
    assert player.state is PlayState.PLAYING
    machine.run(2.0)
    resumed = machine.sound[first:]
    assert abs(resumed[0, 0] - place_s) < 0.001
    heard = pieces()
    for before, after in itertools.pairwise(heard):
        assert before.to_s == after.from_s


def test_a_late_request_of_the_lost_device_gets_silence(make_machine):
    machine = make_machine(noise(20.0))
    machine.player.play()
    machine.run(1.0)
    machine.alive = False
    machine.run(1.0, 0.05, machine.player.check)
    place_s = machine.player.position_s()
    assert not machine.devices[0].pull(160).any()
    assert machine.player.position_s() == place_s


def test_a_busy_device_is_a_notice_and_the_next_try_may_succeed():
    tries = []

    def open_device(*_):
        tries.append(1)
        if len(tries) < 3:
            raise DeviceError("no sound device could be opened (busy); free one")
        return HandDevice()

    player = Player(noise(), RATE, open_device)
    player.seek(2.0)
    player.play()
    assert (player.state, player.position_s()) == (PlayState.LOST, 2.0)
    assert "busy" in player.notice
    assert not player.resume()
    assert player.resume()
    player.play()
    assert player.state is PlayState.PLAYING


def test_a_fault_while_filling_is_kept_and_told(make_machine):
    class Broken:
        def starts(self, _piece):
            raise RuntimeError("out of tune")

    machine = make_machine(noise())
    machine.player.set_layer("broken", Broken())
    machine.player.play()
    machine.run(0.1)
    assert "out of tune" in machine.player.check()
    machine.player.set_layer("broken", None)
    assert machine.player.resume()
    machine.run(1.0)
    assert machine.player.check() == ""


def test_a_system_without_sound_is_one_clear_line(monkeypatch):
    import miniaudio

    def refuse(**_):
        raise miniaudio.MiniaudioError("failed to init device", -1)

    monkeypatch.setattr(miniaudio, "PlaybackDevice", refuse)
    with pytest.raises(DeviceError, match="failed to init device"):
        SystemDevice(44100, 2)


def test_the_silent_device_keeps_real_time_and_closes():
    player = Player(noise(), RATE, open_silent_device)
    player.play()
    deadline_s = time.monotonic() + 10
    while player.position_s() < 0.2 and time.monotonic() < deadline_s:
        time.sleep(0.01)
    assert player.position_s() >= 0.2
    assert player.check() == ""
    player.close()


def test_thirty_minutes_of_loops_leave_memory_flat(make_machine):
    """The timeline holds what was played in the last while and nothing else grows."""
    machine = make_machine(noise(4.0, channels=1)[::8].copy(), sample_rate=1000)
    machine.player.set_loop(Loop(1.0, 2.0, 0.25))
    machine.player.play()
    sizes = []
    for _ in range(30):
        machine.run(60.0, 0.1, machine.player.check)
        machine.heard.clear()
        sizes.append(len(machine.player._timeline))
    assert max(sizes[2:]) <= 2 * (KEEP_S / 1.25) + 4
    assert max(sizes[2:]) - min(sizes[2:]) <= 2
    assert LOST_AFTER_S < 1
