"""The music screen's sound: the track from the cursor on, with a click on every beat."""

from collections.abc import Callable
from fractions import Fraction
from math import floor
from pathlib import Path
from typing import TYPE_CHECKING

from textual.timer import Timer

from composer.errors import ComposerError
from composer.files.keys_file import user_folder
from composer.files.settings_file import SETTINGS_FILE, load_settings
from composer.playback.calibrate import TAP_LEAD_MS
from tui.screens.compose_sound import or_silent
from tui.screens.music_base import MusicBase
from tui.widgets.music_sheet import MusicSheet

if TYPE_CHECKING:
    from composer.playback.player import Player

FRAMES_PER_S = 20
PLACES_A_BEAT = 16
"""The play position is shown in such steps, so that little is drawn again."""
HEARD = ("music and click", "the click alone", "the music alone")


class HearsMusic(MusicBase):
    """Plays the track on a player of its own; the click follows every correction at once."""

    player: "Player | None" = None
    _heard: int = 0
    _play_timer: Timer | None = None

    @property
    def is_playing(self) -> bool:
        return self._play_timer is not None

    def with_player(self, then: Callable[["Player"], None]) -> None:
        """Do something with the player, once the music is decoded."""
        if self.player is not None:
            then(self.player)
        elif self.track is None:
            raise ComposerError(
                f"{self.desk.routine.track.file} is not there, so nothing can be heard; "
                "put the music beside the routine"
            )
        else:
            self.say("decoding the music")
            self._load(self.track, then)

    def _load(self, track: Path, then: Callable[["Player"], None]) -> None:
        def load() -> None:
            from composer.files.track import decode_track
            from composer.playback.player import Player

            try:
                decoded = decode_track(track)
            except ComposerError as error:
                self.from_thread(self.say, str(error))
                return
            player = Player(decoded.samples, decoded.sample_rate_hz, or_silent(self.open_device))
            self.from_thread(self._loaded, player, then)

        self.run_worker(load, name="music-player", group="player", thread=True, exclusive=True)

    def _loaded(self, player: "Player", then: Callable[["Player"], None]) -> None:
        if not self.is_mounted:
            return
        try:
            player.offset_ms = load_settings(user_folder() / SETTINGS_FILE).offset_ms
        except ComposerError as error:
            self.say(str(error))
        self.player = player
        self.lay_click()
        then(player)

    def lay_click(self) -> None:
        """A click on every beat as the grid has it now, the first of each bar accented."""
        if self.player is None:
            return
        from composer.audio.clicks import click
        from composer.playback.mixer import Beeper
        from composer.playback.practice import clicks

        grid, rate = self.desk.routine.grid, self.player.sample_rate
        accented, plain = click(rate, accented=True), click(rate)
        due = clicks(grid, floor(grid.tempo_map.beat_at(0.0)), grid.end_beat)
        beeper = Beeper(
            [time_s for time_s, _ in due],
            [accented if downbeat else plain for _, downbeat in due],
            in_music=True,
        )
        self.player.set_layer("click", None if self._heard == 2 else beeper)
        self.player.set_gains(music=0.0 if self._heard == 1 else 1.0)

    # ------------------------------------------------------------------ what the user asks for

    def do_play(self) -> None:
        if self.is_playing:
            self.stop_playing()
        else:
            self.with_player(self._play_from_cursor)

    def do_click(self) -> None:
        self._heard = (self._heard + 1) % len(HEARD)
        self.lay_click()
        self.say(HEARD[self._heard])

    def do_loop(self) -> None:
        """Repeat the phrase under the cursor; again, and the music plays on."""
        self.with_player(self._loop)

    def _loop(self, player: "Player") -> None:
        from composer.playback.timeline import Loop

        if player.loop is not None:
            player.set_loop(None)
            self.say("the music plays on")
            return
        grid, index = self.desk.routine.grid, self.phrase_here()
        span = grid.phrase_span(index)
        start_s, end_s = (grid.tempo_map.seconds(b) for b in (span.start_beat, span.end_beat))
        try:
            player.set_loop(Loop(max(0.0, start_s), min(end_s, player.duration_s)))
        except ValueError as error:
            self.say(str(error))
            return
        self.put_cursor(span.start_beat)
        self._play_from_cursor(player)
        self.say(f"{grid.phrases[index].name} again and again; r plays on, space stops")

    # ------------------------------------------------------------------ while it plays

    def _play_from_cursor(self, player: "Player") -> None:
        start_s = self.desk.routine.grid.tempo_map.seconds(self.desk.cursor_beat)
        player.seek(max(0.0, start_s))
        player.play()
        self.say(player.notice or f"playing {HEARD[self._heard]}; space stops")
        if self._play_timer is None:
            self._play_timer = self.set_interval(1 / FRAMES_PER_S, self._follow)

    def heard_beat(self) -> float:
        assert self.player is not None
        return self.desk.routine.grid.tempo_map.beat_at(self.player.position_s())

    def beat_meant(self) -> Fraction:
        """The cursor's beat; while playing, the one that is heard: keys come early as taps do."""
        if not self.is_playing or self.player is None:
            return self.desk.cursor_beat
        heard_s = self.player.position_s() + TAP_LEAD_MS / 1000
        return Fraction(round(self.desk.routine.grid.tempo_map.beat_at(heard_s)))

    def stop_playing(self) -> None:
        """Stop, and leave the cursor on the count that was heard last."""
        assert self.player is not None
        beat = self.heard_beat()
        self.player.pause()
        self.player.set_loop(None)
        self._end()
        self.put_cursor(Fraction(floor(beat)))

    def _end(self) -> None:
        if self._play_timer is not None:
            self._play_timer.stop()
        self._play_timer = None
        self.query_one(MusicSheet).set_play_beat(None)

    def _follow(self) -> None:
        from composer.playback.player import PlayState

        if self.player is None or not self.is_current:
            return
        notice = self.player.check()
        if notice or self.player.state is PlayState.READY:
            self.player.pause()
            self._end()
            self.say(notice or "the music has ended")
            return
        step = Fraction(floor(self.heard_beat() * PLACES_A_BEAT), PLACES_A_BEAT)
        self.query_one(MusicSheet).set_play_beat(step)

    def on_unmount(self) -> None:
        if self.player is not None:
            self.player.close()
